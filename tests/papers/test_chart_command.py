"""The chart command: what it writes, what stands on the paper, what it says where it cannot."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from builder.cli import main
from builder.course import Course
from builder.diagnosis.decision_tree import Split, list_leaves
from builder.diagnosis.decision_words import ChartWords
from builder.papers import WorksheetError
from builder.papers.decision_charts import make_chart_papers
from tests.chart_course import load_faded
from tests.helpers import PRESSED_FLOWERS

FILES = ["brown-petals.svg", "card.pdf", "charts.pdf", "wrinkled-sheet.svg"]


def run(*arguments: str, course: Path = PRESSED_FLOWERS) -> Result:
    """Run the command in a course."""
    return CliRunner().invoke(main, ["chart", "--course", str(course), *arguments])


def read_pages(pdf: bytes) -> list[str]:
    """Give the words of each page, with one space between."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def list_files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_charts_and_card_are_written(tmp_path: Path) -> None:
    out = tmp_path / "charts"
    done = run("--out", str(out))
    assert done.exit_code == 0, done.output
    assert list_files(out) == FILES
    assert done.stdout.splitlines() == [str(out / name) for name in FILES]
    assert "var(" not in (out / "brown-petals.svg").read_text(encoding="utf-8")


def test_json_is_one_object_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "charts"
    done = run("brown-petals", "--out", str(out), "--format", "json")
    assert done.exit_code == 0
    assert json.loads(done.stdout) == {"out": str(out), "files": FILES[:3], "notes": []}
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["brown-petal"], 'error: there is no defect "brown-petal"; did you mean "brown-petals"?'),
        (["zzz"], 'error: there is no defect "zzz"; a defect of this course is one of brown-'),
        (["--paper", "foolscap"], "'foolscap' is not one of"),
    ],
)
def test_wrong_use_is_said_plainly_and_ends_with_2(
    tmp_path: Path, arguments: list[str], message: str
) -> None:
    done = run(*arguments, "--out", str(tmp_path / "out"))
    assert done.exit_code == 2
    assert message in done.output
    assert "Traceback" not in done.output
    assert not (tmp_path / "out").exists()


def test_files_of_other_people_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "card.pdf").write_text("mine", encoding="utf-8")
    done = run("--out", str(tmp_path))
    assert done.exit_code == 2
    assert "card.pdf" in done.output
    assert list_files(tmp_path) == ["card.pdf"]
    assert (tmp_path / "card.pdf").read_text(encoding="utf-8") == "mine"


def test_a_course_with_errors_prints_nothing(tmp_path: Path) -> None:
    done = run("--out", str(tmp_path / "out"), course=tmp_path)
    assert done.exit_code == 1
    assert "Nothing was printed." in done.output
    assert not (tmp_path / "out").exists()


@pytest.fixture(scope="module")
def papers() -> dict[str, bytes]:
    return dict(make_chart_papers(Course(load_faded())).files)


def test_the_sheet_of_a_defect_reads_back_whole(papers: dict[str, bytes]) -> None:
    library = load_faded()
    (chart,) = Course(library).likelihoods.charts
    bench, sheet = read_pages(papers["charts.pdf"])
    words = ChartWords(library)
    wanted = {"Faded & dull <colour>", "May it still be used? It may be sent all the same."}
    for leaf in list_leaves(chart.root):
        wanted |= {library.causes[name].name for name, _ in leaf.causes}
        wanted |= {words.fix(leaf.now), words.fix(leaf.next)}
        wanted |= {library.questions[question].ask for question, _ in leaf.answers}
    for text in wanted:
        assert text in sheet
    assert "Paler than the day it was made: Faded & dull <colour>, page 2" in bench


def test_the_card_has_windows_rules_and_faults(papers: dict[str, bytes]) -> None:
    library = load_faded()
    front, back = read_pages(papers["card.pdf"])
    (chart,) = Course(library).likelihoods.charts
    assert "Windows" in front
    assert "In an emergency call the emergency service first." in front
    assert isinstance(chart.root, Split)
    for text in ("Faded & dull <colour>", "This card", "Next time"):
        assert text in back
    assert ChartWords(library).ask(chart.root) in back
    assert ChartWords(library).fix(chart.first.now) in back
    width, height = PdfReader(io.BytesIO(papers["card.pdf"])).pages[0].mediabox[2:]
    assert (round(width / 72 * 25.4), round(height / 72 * 25.4)) == (210, 148)  # ISO 216, A5


def test_the_papers_are_tagged_and_the_same_every_time(papers: dict[str, bytes]) -> None:
    assert papers == make_chart_papers(Course(load_faded())).files
    for name in ("charts.pdf", "card.pdf"):
        root: Any = PdfReader(io.BytesIO(papers[name])).trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        assert root["/Lang"] == "en"
    (chart,) = Course(load_faded()).likelihoods.charts
    said = ChartWords(load_faded()).say_chart(chart)
    assert said in _list_alternatives(PdfReader(io.BytesIO(papers["charts.pdf"])))


def _list_alternatives(reader: PdfReader) -> list[str]:
    found = []
    for number in range(1, len(reader.xref[0]) + len(reader.xref_objStm) + 1):
        value: Any = reader.get_object(number) if number < 5000 else None
        if isinstance(value, dict) and "/Alt" in value:
            found.append(str(value["/Alt"]))
    return found


def test_where_no_defect_has_a_cause_there_is_no_chart() -> None:
    library = load_faded()
    bare = {name: each.model_copy(update={"causes": ()}) for name, each in library.defects.items()}
    with pytest.raises(WorksheetError, match="no chart to make"):
        make_chart_papers(Course(replace(library, entries={**library.entries, "defect": bare})))
