"""From files to entries: where each kind is kept, what is left out, and what is said about it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml
from helpers import PRESSED_FLOWERS, check, complete, make_library, overlay, read_course

from builder.checks import check_library
from builder.diagnostics import render_text
from builder.library import build_library, collect_files, load_library, walk_references
from builder.model import KINDS, Lesson

TERM = "name: Term\ntext: Words.\n"


def messages(source: str) -> list[tuple[str, str, str]]:
    """Findings of the reader on files laid over the flower course: rule, entry, message."""
    return [(each.rule, each.entry, each.message) for each in make_library(overlay(source))[1]]


def test_the_flower_course_reads_without_a_finding() -> None:
    library, findings = load_library(PRESSED_FLOWERS)
    assert findings == []
    assert library.settings is not None
    assert library.settings.thing.many == "cards"
    assert list(library.lessons) == ["mounting", "pressing"]
    assert set(library.drawings) >= {"wavy", "damp", "brown"}
    assert library.broken == frozenset()


def test_reading_from_disk_and_from_memory_is_the_same() -> None:
    from_disk, _ = load_library(PRESSED_FLOWERS)
    from_memory, _ = build_library(read_course())
    assert from_disk.entries == from_memory.entries
    assert from_disk.drawings == from_memory.drawings


def test_what_has_the_name_of_an_entry_and_is_none_is_reported(tmp_path: Path) -> None:
    (tmp_path / "kb" / "fixes" / "wipe.yml").mkdir(parents=True)
    (tmp_path / "kb" / "drawings").mkdir()
    (tmp_path / "kb" / "drawings" / "Leaf.SVG").write_text("<svg/>")
    (tmp_path / "lessons").mkdir()
    (tmp_path / "lessons" / "notes.md").write_text("<script>alert(1)</script>")
    library, findings = load_library(tmp_path)
    assert {(found.location.file, str(found.severity)) for found in findings} == {
        ("kb/fixes/wipe.yml", "error"),
        ("kb/drawings/Leaf.SVG", "warning"),
        ("lessons/notes.md", "warning"),
        ("lessons/course.yml", "error"),
    }
    assert ("fix", "wipe") in library.broken


def test_only_yaml_and_drawings_outside_hidden_folders_are_collected(tmp_path: Path) -> None:
    for name in (
        "lessons/course.yml",
        "kb/terms.txt",
        "kb/drawings/a.svg",
        "kb/.hidden/b.yml",
        "kb/glossary/.c.yml",
        "kb/glossary/d.yaml",
        "other/e.yml",
        "f.yml",
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("x")
    (tmp_path / "kb" / "folder.yml").mkdir()
    assert list(collect_files(tmp_path)) == [
        "lessons/course.yml",
        "kb/drawings/a.svg",
        "kb/folder.yml",
        "kb/glossary/d.yaml",
    ]


def lay_course(folder: Path) -> None:
    for path, text in read_course().items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)


def test_links_that_lead_nowhere_or_to_a_folder_are_reported(tmp_path: Path) -> None:
    lay_course(tmp_path)
    (tmp_path / "kb" / "fixes" / "gone.yml").symlink_to("nowhere.yml")
    (tmp_path / "kb" / "fixes" / "round.yml").symlink_to("round.yml")
    (tmp_path / "lessons" / "loop").symlink_to(tmp_path / "lessons")
    (tmp_path / "kb" / ".hidden.yml").symlink_to("nowhere.yml")
    _, findings = load_library(tmp_path)
    assert [(each.rule, each.location.file, each.message) for each in findings] == [
        ("yaml-syntax", f"kb/fixes/{name}.yml", "this is a link to a file that is not there")
        for name in ("gone", "round")
    ] + [("yaml-syntax", "lessons/loop", "this is a link to a folder, which is not followed")]


def test_a_link_to_a_file_is_followed(tmp_path: Path) -> None:
    lay_course(tmp_path)
    (tmp_path / "kb" / "tools.yml").rename(tmp_path / "tools.yml")
    (tmp_path / "kb" / "tools.yml").symlink_to(tmp_path / "tools.yml")
    library, findings = load_library(tmp_path)
    assert findings == []
    assert library.tools


@pytest.mark.parametrize("path", ["kb/tools.yml", "kb/fixes/press-again.yml"])
def test_a_file_that_may_not_be_read_is_a_finding_and_nothing_more(
    path: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay_course(tmp_path)

    def refuse(file: str, *rest: object) -> object:
        if str(file) == str(tmp_path / path):
            raise PermissionError(13, "Permission denied", file)
        return open(file, *rest)  # type: ignore[call-overload]

    monkeypatch.setattr("builder.library.loader.open", refuse, raising=False)
    library, reading = load_library(tmp_path)
    found = [*reading, *check_library(library)]
    assert [str(each.location.file) for each in found] == [path]
    assert found[0].message == "this file cannot be read: permission denied"
    assert found[0].hint == "see to it that you may read this file, or remove it"


def test_a_folder_that_may_not_be_read_is_a_finding_and_nothing_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay_course(tmp_path)
    scan = os.scandir

    def refuse(path: str) -> object:
        if str(path) == str(tmp_path / "lessons" / "cards"):
            raise PermissionError(13, "Permission denied", path)
        return scan(path)

    monkeypatch.setattr("os.scandir", refuse)
    library, reading = load_library(tmp_path)
    found = [*reading, *check_library(library)]
    assert [(each.location.file, each.message) for each in found] == [
        ("lessons/cards", "this folder cannot be read: permission denied")
    ]


def test_a_course_that_is_a_draft_says_so() -> None:
    _, findings = build_library(overlay_draft_course())
    (found,) = findings
    assert found.message == "the course itself is a draft, so there is none"
    assert found.hint == 'take the line "draft: true" out'


def overlay_draft_course() -> dict[str, str]:
    course = dict(read_course())
    course["lessons/course.yml"] += "draft: true\n"
    return course


@pytest.mark.parametrize(
    ("file", "text", "message", "hint"),
    [
        (
            "lessons/one.yml",
            "citations: ['Big Id']",
            '"Big Id" is not a value for "item 1 of citations"',
            "an id is lower-case words joined by hyphens, such as first-layer",
        ),
        (
            "lessons/course.yml",
            "currency: eur",
            '"eur" is not a value for "currency"',
            "write the three capital letters of a currency, such as EUR",
        ),
        (
            "kb/materials/one.yml",
            "ghs: {revision: r, citation: s, statements: [{code: h225, text: Burns}]}",
            '"h225" is not a value for "code"',
            "write a code as on the label, such as H225, H360FD, H301+H311 or P210",
        ),
        (
            "kb/symptoms/one.yml",
            "label: one two three",
            '"one two three" is not a value for "label"',
            "write one word or two, with one space between",
        ),
        (
            "lessons/one.yml",
            "citations: [true]",
            '"item 1 of citations" is true; it must be text',
            "",
        ),
        (
            "lessons/classes/one.yml",
            "students: eight",
            "\"students\" is 'eight'; it must be a whole number",
            "write it in figures, for instance 8",
        ),
        (
            "lessons/classes/one.yml",
            "students: 0",
            '"students" is 0; it must be at least 1',
            "",
        ),
    ],
)
def test_what_does_not_fit_is_told_in_words(file: str, text: str, message: str, hint: str) -> None:
    _, findings = build_library(complete(f"# file: {file}\n{text}\n"))
    assert [(each.message, each.hint) for each in findings] == [(message, hint)]


def test_a_list_that_is_too_short_is_told_in_words() -> None:
    _, findings = build_library(
        {"kb/calculators/one.yml": "table: {input: a, values: ['1'], outputs: [b]}\n"}
    )
    said = [each.message for each in findings]
    assert '"values" holds only 1; it needs at least 2 items' in said


def test_a_decimal_comma_in_braces_is_recognised() -> None:
    text = "# file: lessons/one.yml\nmaterials: [{material: salt, amount: 0,4 g}]\n"
    _, findings = build_library(complete(text))
    told = [(each.message, each.hint) for each in findings if each.rule == "field-unknown"]
    assert told == [
        (
            '"4 g" seems to be the end of a number that a comma has cut in two',
            "write the number with a point, for instance 0.4 g",
        )
    ]


def test_a_folder_without_anything_lacks_its_course(tmp_path: Path) -> None:
    library, findings = load_library(tmp_path)
    assert library.settings is None
    assert [(each.rule, each.location.file) for each in findings] == [
        ("field-missing", "lessons/course.yml")
    ]


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.name != "course"])
def test_a_kind_is_kept_in_one_file_or_in_a_folder(kind: object) -> None:
    place = kind.place  # type: ignore[attr-defined]
    name = kind.name  # type: ignore[attr-defined]
    for file, text in ((f"{place}.yml", "one: {}\n"), (f"{place}/one.yml", "draft: true\n")):
        library, findings = build_library({file: text})
        assert (name, "one") in library.sources
        assert {each.entry for each in findings} <= {f"{name}:one", "course:course"}


def test_a_lesson_may_stand_in_a_folder_of_its_track() -> None:
    library, _ = build_library(read_course())
    lesson = library.lessons["pressing"]
    assert isinstance(lesson, Lesson)
    place = library.locate(lesson, ("steps", 1, "wait"))
    assert (place.file, place.line) == ("lessons/cards/pressing.yml", 24)


def test_entries_of_a_kind_come_in_order_of_id() -> None:
    library, _ = build_library(
        {"kb/glossary.yml": "b: {name: B, text: B.}\n", "kb/glossary/a.yml": TERM}
    )
    assert list(library.terms) == ["a", "b"]


def test_a_file_in_no_place_is_named() -> None:
    (finding,) = make_library(overlay("# file: kb/notes.yml\na: 1\n"))[1]
    assert (finding.rule, finding.severity, finding.location.file) == (
        "value-invalid",
        "warning",
        "kb/notes.yml",
    )


@pytest.mark.parametrize(
    ("source", "finding"),
    [
        (
            "# file: kb/tools/Big_Brush.yml\nname: Brush\nsummary: Wide.\n",
            ("value-invalid", "tool:Big_Brush", '"Big_Brush" is not an id'),
        ),
        (
            "# file: kb/tools/x.yml\n",
            ("value-invalid", "tool:x", 'tool "x" is empty'),
        ),
        (
            "# file: kb/tools/x.yml\n- a\n",
            ("value-invalid", "tool:x", 'tool "x" must be a mapping of fields to values'),
        ),
        (
            "# file: kb/glossary.yml\n- a\n",
            ("value-invalid", "", "this file must map each term's id to its fields"),
        ),
        (
            "# file: kb/tools/x.yml\nname: X\nsummary: X.\nheats: maybe\n",
            ("value-invalid", "tool:x", None),
        ),
        (
            "# file: kb/tools/x.yml\nname: 7\nsummary: X.\n",
            ("value-invalid", "tool:x", '"name" is 7; it must be text'),
        ),
        (
            "# file: kb/symptoms/x.yml\nname: X\nlabel: much too long\ntext: X.\npicture: wavy\n",
            ("value-invalid", "symptom:x", '"much too long" is not a value for "label"'),
        ),
        (
            "# file: kb/questions/x.yml\nask: X\nyes_otherwise: mostly\n",
            (
                "value-invalid",
                "question:x",
                '"mostly" does not say how often; write one of always, usually, often, '
                "sometimes, rarely, never, or a number between 0 and 1",
            ),
        ),
        (
            "# file: kb/questions/x.yml\nask: X\nyes_otherwise: 1\n",
            ("value-invalid", "question:x", None),
        ),
    ],
)
def test_what_is_wrong_is_said(source: str, finding: tuple[str, str, str | None]) -> None:
    (found,) = messages(source)
    assert found[:2] == finding[:2]
    if finding[2] is not None:
        assert found[2] == finding[2]


def test_one_run_reports_all_that_is_wrong_in_an_entry() -> None:
    found = messages("# file: kb/causes/x.yml\nnmae: X\nhow_common: 7\nfixes: 3\n")
    assert sorted(rule for rule, _, _ in found) == [
        "field-missing",
        "field-missing",
        "field-missing",
        "field-unknown",
        "value-invalid",
        "value-invalid",
    ]


def test_a_broken_entry_does_not_hide_the_others_nor_bring_findings_about_them() -> None:
    source = "# file: kb/causes/paste-too-hot.yml\nname: Paste too hot\n"
    library, findings = make_library(overlay(source))
    assert ("cause", "paste-too-hot") in library.broken
    assert "paste-too-hot" not in library.causes
    assert len(library.causes) == 2
    # Nothing is said on top about the defect, the fix and the links that name it.
    assert {each.entry for each in check(overlay(source))} == {"cause:paste-too-hot"}
    assert len(findings) == 3


@pytest.mark.parametrize(
    "path",
    [
        "kb/symptoms.yml",
        "kb/questions.yml",
        "kb/materials.yml",
        "kb/tools.yml",
        "kb/cautions.yml",
        "kb/glossary.yml",
        "kb/citations.yml",
        "kb/defects/wrinkled-sheet.yml",
        "kb/causes/flower-too-wet.yml",
        "kb/fixes/press-again.yml",
        "lessons/cards/pressing.yml",
        "lessons/cards/mounting.yml",
        "lessons/course.yml",
    ],
)
def test_a_file_that_cannot_be_read_is_one_finding(path: str) -> None:
    assert [
        (each.rule, each.location.file) for each in check(overlay(f"# file: {path}\na: [\n"))
    ] == [("yaml-syntax", path)]


def test_a_draft_is_left_out_and_a_reference_to_it_says_so() -> None:
    course = read_course()
    fix = course["kb/fixes/cool-the-paste.yml"] + "draft: true\n"
    found = check({**course, "kb/fixes/cool-the-paste.yml": fix})
    assert render_text(found) == (
        "kb/causes/paste-too-hot.yml:8:11: error: there is no fix with the id "
        '"cool-the-paste" [reference-unknown]\n'
        '  hint: fix "cool-the-paste" is a draft; take its line "draft: true" out\n'
        "  see: teaching/rules/#reference-unknown\n"
    )


def test_suggestions_name_the_nearest_id_or_some_that_exist() -> None:
    library, _ = build_library(read_course())
    assert library.suggest("fix", "press-agian") == (
        'did you mean "press-again"? (kb/fixes/press-again.yml:1)'
    )
    assert library.suggest("fix", "zzz") == (
        "a fix of this course is one of blot-first, cool-the-paste, press-again"
    )
    assert library.suggest("case", "zzz") == "there is no case in the course yet"


def test_every_reference_of_an_entry_is_walked() -> None:
    library, _ = build_library(read_course())
    found = list(walk_references(library.causes["flower-too-wet"]))
    assert found == [
        (("evidence", 0, "question"), "question", "picked-in-dew"),
        (("fixes", 0, "fix"), "fix", "blot-first"),
        (("lesson",), "lesson", "pressing"),
    ]


@pytest.mark.parametrize(
    "answers",
    ["answered_yes: [a]\nanswered_no: [b]", "yes: [a]\nno: [b]", "true: [a]\nfalse: [b]"],
)
def test_answers_of_a_case_survive_a_program_that_reads_yes_as_true(answers: str) -> None:
    text = f"summary: One.\nseen: [c]\nwas: [d]\n{answers}\n"
    for written in (text, yaml.safe_dump(yaml.safe_load(text), sort_keys=False)):
        library, findings = build_library({"kb/cases/one.yml": written})
        assert {each.rule for each in findings} <= {"field-missing"}, "the course itself"
        case = library.cases["one"]
        assert (case.answered_yes, case.answered_no) == (("a",), ("b",))
        place = library.locate(case, ("answered_no", 0))
        assert (place.line, written.splitlines()[place.line - 1].lstrip("- ")[:1]) != (1, "")
