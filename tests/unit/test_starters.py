"""`new` writes files that read cleanly, and never over anything."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from builder.checks import check_library
from builder.cli import main
from builder.library import build_library
from builder.starters import STARTERS, StarterError, make_id, make_starter


def test_an_id_is_made_of_a_name() -> None:
    assert make_id("Second  Layer!") == "second-layer"
    assert make_id("Crème Brûlée") == "creme-brulee"
    with pytest.raises(StarterError, match="no id can be made"):
        make_id("!!!")


def start_course(name: str) -> dict[str, str]:
    """Give the files of a new course that the builder reads; the host's settings are its own."""
    files = make_starter("course", name, None)
    return {file: text for file, text in files.items() if file != "mkdocs.yml"}


def test_a_new_course_has_no_findings() -> None:
    files = start_course("Paper: flowers & 'folds'")
    library, findings = build_library(files)
    assert findings == []
    assert check_library(library) == []
    assert library.settings is not None
    assert library.settings.name == "Paper: flowers & 'folds'"


@pytest.mark.parametrize("kind", [kind for kind in STARTERS if kind != "course"])
@pytest.mark.parametrize("name", ["Torn petal", 'A "quoted": name', "plain"])
def test_a_new_entry_reads_cleanly_as_a_draft(kind: str, name: str) -> None:
    course = start_course("Paper flowers")
    library, _ = build_library(course)
    added = make_starter(kind, name, library)
    assert len(added) == 1
    both, findings = build_library({**course, **added})
    assert findings == []
    assert check_library(both) == []
    assert (kind, make_id(name)) in both.drafts


@pytest.mark.parametrize("kind", [kind for kind in STARTERS if kind != "course"])
def test_every_field_shown_in_a_comment_exists(kind: str) -> None:
    """Uncommenting the example lines must not lead to an unknown field."""
    course = start_course("Paper flowers")
    library, _ = build_library(course)
    ((file, text),) = make_starter(kind, "Torn petal", library).items()
    lines = []
    for line in text.splitlines():
        if line.startswith("#  "):  # an example line, ready to be uncommented
            lines.append(line[1:])
        else:
            lines.append(line.replace(": []", ":"))
    _, findings = build_library({**course, file: "\n".join(lines)})
    assert [found.message for found in findings if found.rule == "field-unknown"] == []


def test_nothing_is_written_over(tmp_path: Path) -> None:
    run = CliRunner()
    assert run.invoke(main, ["new", "course", "One", "--course", str(tmp_path)]).exit_code == 0
    root = tmp_path / "one"
    first = run.invoke(main, ["new", "cause", "Too dry", "--course", str(root)])
    assert first.exit_code == 0, first.output
    made = root / "kb" / "causes" / "too-dry.yml"
    made.write_text("mine")
    again = run.invoke(main, ["new", "cause", "too-dry", "--course", str(root)])
    assert again.exit_code == 2
    assert "is there already" in again.output
    assert made.read_text() == "mine"
    assert run.invoke(main, ["new", "course", "One", "--course", str(tmp_path)]).exit_code == 2


def test_a_name_without_latin_letters_is_given_an_id(tmp_path: Path) -> None:
    run = CliRunner()
    words = ["new", "course", "Бумага", "--course", str(tmp_path)]
    without = run.invoke(main, words)
    assert without.exit_code == 2
    assert "choose one with --id" in without.output
    assert run.invoke(main, [*words, "--id", "bumaga"]).exit_code == 0
    assert "Бумага" in (tmp_path / "bumaga" / "lessons" / "course.yml").read_text("utf-8")
    root = str(tmp_path / "bumaga")
    cause = ["new", "cause", "Сухо", "--course", root, "--id"]
    assert run.invoke(main, [*cause, "too-dry"]).exit_code == 0
    assert "is there already" in run.invoke(main, [*cause, "too-dry"]).output
    for wrong in ("Too Dry", "-dry", "../dry", "", "сухо"):
        refused = run.invoke(main, [*cause, wrong])
        assert refused.exit_code == 2, wrong
        assert "cannot be an id" in refused.output


@pytest.mark.parametrize("more", [(), ("--id", "seance")])
def test_a_name_that_is_not_utf8_gets_a_sentence(tmp_path: Path, more: tuple[str, ...]) -> None:
    name = os.fsdecode(b"S\xe9ance")  # as the system hands over bytes that are not UTF-8
    result = CliRunner().invoke(main, ["new", "course", name, "--course", str(tmp_path), *more])
    assert result.exit_code == 2
    assert "write it in UTF-8" in result.output
    assert list(tmp_path.iterdir()) == []
