"""Reading YAML: values, places, and the traps that become findings."""

from __future__ import annotations

import subprocess
import sys

import pytest

from builder.diagnostics import Diagnostic, Route
from builder.yaml_source import MAX_DEPTH, MAX_VALUES, Document, parse_yaml


def read(source: bytes | str) -> object:
    document, findings = parse_yaml("x.yml", source)
    assert findings == ()
    assert document is not None
    return document.value


def find(source: bytes | str) -> list[Diagnostic]:
    return parse_yaml("x.yml", source)[1]


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("a", "a"),
        ("2", 2),
        ("-17", -17),
        ("2.5", 2.5),
        ("1e3", 1000.0),
        ("true", True),
        ("false", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("2030-09-02", "2030-09-02"),
        ("113 g", "113 g"),
        ('"no"', "no"),
        ("'012'", "012"),
        ("1.2.3", "1.2.3"),
        ("[1, two]", [1, "two"]),
        ("{yes: 1, 2: two}", {"yes": 1, "2": "two"}),
        ("|-\n  1\n  2", "1\n2"),
        (">-\n  no\n  yes", "no yes"),
    ],
)
def test_plain_values(written: str, value: object) -> None:
    assert read(f"key: {written}\n") == {"key": value}
    assert type(read(f"key: {written}\n")["key"]) is type(value)  # type: ignore[index]


@pytest.mark.parametrize(
    ("word", "reading"),
    [
        ("no", "true or false"),
        ("Yes", "true or false"),
        ("on", "true or false"),
        ("OFF", "true or false"),
        ("y", "true or false"),
        ("True", "true or false"),
        ("1:30", "a number to base 60"),
        ("12:30:45", "a number to base 60"),
        ("012", "a number to base 8, 2 or 16, or one with gaps"),
        ("0x1F", "a number to base 8, 2 or 16, or one with gaps"),
        ("0o17", "a number to base 8, 2 or 16, or one with gaps"),
        ("1_000", "a number to base 8, 2 or 16, or one with gaps"),
        (".inf", "infinity or not a number"),
        (".NaN", "infinity or not a number"),
    ],
)
def test_words_with_two_readings_stay_text_and_are_reported(word: str, reading: str) -> None:
    document, findings = parse_yaml("x.yml", f"key: {word}\n")
    assert document is not None
    assert document.value == {"key": word}
    (found,) = findings
    assert found.rule == "yaml-ambiguous-scalar"
    assert found.message == f"{word} without quotes can be read as {reading}"
    assert found.hint.startswith(f'write "{word}" with quotes')
    assert (found.location.line, found.location.column) == (1, 6)


def test_a_doubled_key_keeps_the_first_and_shows_both() -> None:
    document, findings = parse_yaml("x.yml", "a: 1\nb:\n  c: 1\n  c: 2\na: 3\n")
    assert document is not None
    assert document.value == {"a": 1, "b": {"c": 1}}
    assert [(each.rule, each.location.line) for each in findings] == [
        ("yaml-duplicate-key", 4),
        ("yaml-duplicate-key", 5),
    ]
    assert [each.related[0].location.line for each in findings] == [3, 1]


SAMPLE = """\
steps:
  - title: One
    time: 5 min
  - title: Two
    actions: [{do: add}, {do: heat}]
empty:
last: |-
  text
"""


@pytest.mark.parametrize(
    ("route", "key", "place"),
    [
        ((), False, (1, 1)),
        (("steps",), True, (1, 1)),
        (("steps",), False, (2, 3)),
        (("steps", 0), False, (2, 5)),
        (("steps", 0, "time"), False, (3, 11)),
        (("steps", 0, "time"), True, (3, 5)),
        (("steps", 1, "actions", 1, "do"), False, (5, 31)),
        (("empty",), False, (6, 1)),
        (("last",), False, (7, 7)),
        (("steps", 1, "actions", 9), False, (5, 14)),
        (("steps", 1, "nothing", "deeper"), False, (4, 5)),
        (("steps", "word"), False, (2, 3)),
        (("nothing",), True, (1, 1)),
    ],
)
def test_a_route_becomes_line_and_column(route: Route, key: bool, place: tuple[int, int]) -> None:
    document, _ = parse_yaml("x.yml", SAMPLE)
    assert document is not None
    found = document.locate(route, key=key)
    assert (found.file, found.line, found.column) == ("x.yml", *place)


def test_an_empty_file_is_a_document_without_a_value() -> None:
    document, findings = parse_yaml("x.yml", "# only a comment\n")
    assert document == Document("x.yml", None, "")
    assert document.locate(("a", 1)).line == 1
    assert findings == ()


@pytest.mark.parametrize(
    ("source", "message", "line"),
    [
        ("a: b: c\n", "this is not YAML: mapping values are not allowed in this context", 1),
        ("a: 1\n\tb: 2\n", "this is not YAML: found a tab character that violates indentation", 2),
        ("a:\n\tb: 2\n", "this is not YAML: found a tab character where spaces belong", 2),
        ("a: [1, 2\n", "this is not YAML: did not find expected ',' or ']'", 2),
        ("a: 1\n---\nb: 2\n", "this is not YAML: but found another document", 2),
        ("a: *nobody\n", "this is not YAML: found undefined alias", 1),
        ('a: "open\n', "this is not YAML: found unexpected end of stream", 2),
        (b"name: caf\xe9\n", "the file is not UTF-8 text", 1),
        (b"ok: 1\nname: caf\xe9\n", "the file is not UTF-8 text", 2),
        ("a: @home\n", "this is not YAML: found character that cannot start any token", 1),
    ],
)
def test_what_is_not_yaml_is_one_finding(source: bytes | str, message: str, line: int) -> None:
    document, findings = parse_yaml("x.yml", source)
    assert document is None
    (found,) = findings
    assert (found.rule, found.message) == ("yaml-syntax", message)
    assert found.location.line == line


@pytest.mark.parametrize(
    ("source", "hint"),
    [
        ("a: b: c\n", "quote text that holds a colon followed by a space"),
        ("a: 1\n\tb: 2\n", "use spaces, not tabs, to indent"),
        ("a:\n\tb: 2\n", "use spaces, not tabs, to indent"),
        ("a: 1\nb\n", "check the indentation, and that each key ends in a colon"),
        ("a: 1\n b: 2\n", "quote text that holds a colon followed by a space"),
        ("a:\n  b: 1\n c: 2\n", "check the indentation of this line and the one above"),
        ("a: [1, 2\n", "close every bracket, and put commas between items"),
        ("a: 1\n---\nb: 2\n", "keep one document a file; remove the line of three dashes"),
        ("a: @home\n", "quote text that begins with a sign"),
        (b"name: caf\xe9\n", "save it again with encoding UTF-8"),
    ],
)
def test_the_common_slips_get_a_hint(source: bytes | str, hint: str) -> None:
    assert [each.hint for each in find(source)] == [hint]


def test_control_characters_are_refused() -> None:
    (found,) = find("a: \x00\n")
    assert found.rule == "yaml-syntax"
    assert "control characters are not allowed" in found.message


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm() -> None:
    document, findings = parse_yaml("x.yml", b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    assert findings == ()
    assert document is not None
    assert document.value == {"a": 1, "b": 2}
    assert document.locate(("b",)).line == 2


@pytest.mark.parametrize(
    "source",
    [
        "a: !!python/object/apply:os.system ['true']\n",
        "a: !custom 1\n",
        "a: !!set {x}\n",
        "base: &b {x: 1}\nc:\n  <<: *b\n",
        "? [1, 2]\n: value\n",
        "a: &a [*a]\n",
    ],
)
def test_yaml_that_a_course_does_not_use_is_reported(source: str) -> None:
    assert [each.rule for each in find(source)] == ["yaml-syntax"]


def test_nesting_has_an_end() -> None:
    deep = "[" * (MAX_DEPTH + 5) + "]" * (MAX_DEPTH + 5)
    assert any("nested" in each.message for each in find(f"a: {deep}\n"))
    assert find("a: " + "[" * (MAX_DEPTH - 2) + "]" * (MAX_DEPTH - 2) + "\n") == ()
    assert [each.rule for each in find("[" * 100_000)] == ["yaml-syntax"]


def test_aliases_that_multiply_are_refused_quickly() -> None:
    lines = ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]"]
    for level in range(1, 12):
        items = ", ".join([f"*a{level - 1}"] * 10)
        lines.append(f"a{level}: &a{level} [{items}]")
    document, findings = parse_yaml("x.yml", "\n".join(lines))
    assert document is None
    assert [each.message for each in findings] == [
        f"the file holds more than {MAX_VALUES} values once its aliases are written out"
    ]


def test_an_alias_used_twice_gives_the_value_twice() -> None:
    assert read("a: &x [1, 2]\nb: *x\n") == {"a": [1, 2], "b": [1, 2]}


def test_places_in_a_long_file_are_found_in_passing_time() -> None:
    # Each look-up used to walk the whole mapping: four times the keys took sixteen times as long.
    text = "".join(f"k{number}: {{a: 1}}\n" for number in range(2_000))
    document, _ = parse_yaml("x.yml", text)
    assert document is not None
    for number in range(2_000):
        assert document.locate((f"k{number}", "a")).line == number + 1


def test_a_list_of_two_million_items_is_refused_in_little_room() -> None:
    code = (
        "import resource, sys\n"
        "from builder.yaml_source import parse_yaml\n"
        "document, found = parse_yaml('kb/glossary.yml', b'- a\\n' * 2_000_000)\n"
        "assert document is None and 'more than' in found[0].message\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert ran.returncode == 0, ran.stderr
    assert int(ran.stdout) < 500
