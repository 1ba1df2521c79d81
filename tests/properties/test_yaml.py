"""Whatever stands in the files: findings or a library come out, never an exception."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

import yaml
from helpers import read_course
from hypothesis import example, given
from hypothesis import strategies as st

from builder.checks import check_library
from builder.diagnostics import Diagnostic, Location, render_json, render_text, sort_diagnostics
from builder.library import build_library
from builder.model import KINDS
from builder.text import _EVERY_LINK, _walk_links, parse_links
from builder.yaml_source import parse_yaml

FILES = st.sampled_from(
    [
        "lessons/course.yml",
        "lessons/cards/mounting.yml",
        "kb/defects/wrinkled-sheet.yml",
        "kb/causes/flower-too-wet.yml",
        "kb/fixes/press-again.yml",
        "kb/symptoms.yml",
        "kb/materials.yml",
        "kb/cautions.yml",
        "kb/calculators/area.yml",
        "kb/tables/papers.yml",
        "kb/cases/one.yml",
        "lessons/classes/autumn.yml",
    ]
)
WORDS = st.sampled_from(
    [
        *[
            "113 g",
            "60 degC",
            "57 to 63 degC",
            "2 %",
            "1 EUR",
            "1e400 g",
            "7",
            "-0 kg",
            "5 degC**2",
        ],
        *["often", "pressing", "press-again", "paste", "corrosive", "heat", "add", "pour"],
        *[
            "[a](javascript:b)",
            "[a](fix:b)",
            "![a](b)",
            "{9 zz}",
            "",
            " ",
            "no",
            "1:30",
            "\x85",
            "é",
        ],
    ]
)
KEYS = st.sampled_from(
    [
        *sorted({field for kind in KINDS.values() for field in kind.model.model_fields}),
        *["do", "vessel", "into", "material", "amount", "tool", "to", "text", "value", "citation"],
    ]
)
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.text(max_size=12),
    WORDS,
)
TREES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(KEYS | st.text(max_size=6), inner, max_size=5)
    ),
    max_leaves=25,
)


def run(files: dict[str, bytes | str]) -> tuple[Diagnostic, ...]:
    """Read and check as the command does, and render what was found both ways."""
    library, reading = build_library(files)
    found = sort_diagnostics([*reading, *check_library(library)])
    render_text(found)
    render_json(found)
    for each in found:
        assert isinstance(each.location, Location)
        assert each.location.line >= 1
        assert each.location.column >= 1
        assert each.message
    return found


@given(st.binary(max_size=200))
@example(b"\xff\xfea\x00")
@example(b"a: &a [*a, *a]")
@example(b"? ? ? a")
def test_any_bytes(source: bytes) -> None:
    document, findings = parse_yaml("x.yml", source)
    assert document is not None or findings


@given(st.text(alphabet="ab:-[]{}#&*!|>'\"%@` \n\t?,0.~", max_size=120))
def test_any_text_of_yaml_signs(source: str) -> None:
    document, findings = parse_yaml("x.yml", source)
    assert document is not None or findings
    if document is not None:
        document.locate(("a", 0, "b"), key=True)


@given(FILES, TREES)
@example("kb/materials.yml", {"paste": None, "": {}})
@example("kb/defects/wrinkled-sheet.yml", {"symptoms": [{"symptom": None}], "causes": [[], 3]})
@example(
    "lessons/cards/mounting.yml", {"steps": [{"actions": [{"do": "pour"}]}], "prerequisites": 3}
)
def test_any_tree_in_any_place(file: str, tree: Any) -> None:
    source = yaml.safe_dump(tree, allow_unicode=True)
    run({**read_course(), file: source})


@cache
def read_trees() -> dict[str, Any]:
    trees = {}
    for path, text in read_course().items():
        document, _ = parse_yaml(path, text)
        if path.endswith(".yml") and document is not None:
            trees[path] = document.value
    return trees


def list_places(tree: Any, route: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """List the routes to every value of a tree."""
    found = [route] if route else []
    items: list[tuple[str | int, Any]] = []
    if isinstance(tree, dict):
        items = list(tree.items())
    elif isinstance(tree, list):
        items = list(enumerate(tree))
    for key, value in items:
        found.extend(list_places(value, (*route, key)))
    return found


@given(st.data())
def test_a_good_course_with_one_value_changed(data: st.DataObject) -> None:
    trees = read_trees()
    path = data.draw(st.sampled_from(sorted(trees)))
    tree = copy.deepcopy(trees[path])
    *owner, last = data.draw(st.sampled_from(list_places(tree)))
    place = tree
    for part in owner:
        place = place[part]
    what = data.draw(st.sampled_from(["replace", "remove", "double"]))
    if what == "replace":
        place[last] = data.draw(TREES)
    elif what == "remove":
        del place[last]
    elif isinstance(place, list):
        place.append(place[last])
    else:
        place[data.draw(KEYS)] = place[last]
    run({**read_course(), path: yaml.safe_dump(tree, allow_unicode=True)})


@given(st.data())
def test_a_good_course_with_some_bytes_changed(data: st.DataObject) -> None:
    course = read_course()
    path = data.draw(st.sampled_from(sorted(each for each in course if each.endswith(".yml"))))
    source = course[path].encode()
    start = data.draw(st.integers(0, len(source)))
    end = data.draw(st.integers(start, min(start + 12, len(source))))
    run({**course, path: source[:start] + data.draw(st.binary(max_size=8)) + source[end:]})


@given(st.lists(st.tuples(FILES, TREES), max_size=3), st.randoms(use_true_random=False))
def test_what_is_found_does_not_depend_on_the_order_of_files(
    changed: list[tuple[str, Any]], chance: Any
) -> None:
    files: dict[str, bytes | str] = dict(read_course())
    files.update((file, yaml.safe_dump(tree)) for file, tree in changed)
    shuffled = list(files.items())
    chance.shuffle(shuffled)
    assert run(files) == run(dict(shuffled))


PIECES = st.sampled_from(
    [
        *[
            "[a](defect:b)",
            "[a b](term:c-d)",
            "![p](term:x)",
            "[x](javascript:y)",
            "\\",
            "`",
            "```\n",
        ],
        *[
            "[*a*](term:x)",
            "[a|b](term:x)",
            "| ",
            "|---|\n",
            "\n\n",
            "\n",
            "    ",
            "- ",
            "> ",
            "# ",
        ],
        *[
            "<b>",
            "&amp;",
            "~~~\n",
            "words",
            " ",
            "*",
            "_",
            "[",
            "]",
            "(",
            ")",
            "\t",
            "[r]: term:x\n",
        ],
        *[
            "[a](term:b 'title')",
            "[a]( term:b )",
            "[[a](term:b)](term:c)",
            "{60 degC}",
            "===\n",
            "1. ",
        ],
    ]
)


@given(st.lists(PIECES, max_size=9).map("".join))
@example("- [a](term:b)\n\n      [c](term:d)")
@example("-     [a](term:b)")
@example("| a |\n|---|\n| b | [x](term:y) |")
def test_the_short_way_to_links_finds_what_the_parser_finds(text: str) -> None:
    assert parse_links(text) == list(_walk_links(_EVERY_LINK.parse(text)))
