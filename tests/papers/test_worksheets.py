"""Papers read back: what is printed, for whom, and that the key agrees with the sheets."""

from __future__ import annotations

import io
import json
import re
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from exercise_course import FILES, load_course, make_course
from golden import check_golden
from pypdf import PdfReader

from builder.course import Course
from builder.model import Level
from builder.papers import (
    Papers,
    Students,
    WorksheetError,
    collect_checkpoint,
    collect_tasks,
    count_students,
    draw_sheets,
    make_record,
    make_worksheets,
)
from builder.papers.data import describe_key, describe_sheets
from tests.pdf import read_pages

LESSONS = ("bench", "one-colour", "two-colours")
A4 = (595, 842)
LETTER = (612, 792)
CLASS = Students(("Ægir Þórðarson", "Наталья", "", "Ada"))


@dataclass(frozen=True)
class Printed:
    """Papers with what was read back from them."""

    papers: Papers
    answers: dict[str, Any]

    def pages(self, name: str) -> list[str]:
        """Give the text of each page, spaces of all kinds made plain."""
        return read_pages(self.papers.files[name])

    def read(self, name: str) -> PdfReader:
        """Open a PDF."""
        return PdfReader(io.BytesIO(self.papers.files[name]))


@cache
def print_sheets(
    students: Students = CLASS,
    lessons: tuple[str, ...] = LESSONS,
    seed: str = "1",
    paper: str = "a4",
    large: bool = False,
) -> Printed:
    course = Course(load_course())
    tasks, title = collect_tasks(course, lessons)
    drawn = draw_sheets(course, tasks, title, students, seed)
    papers = make_worksheets(course, drawn, paper=paper, large=large)
    return Printed(papers, json.loads(papers.files["answers.json"]))


def test_every_student_has_a_sheet_with_name_number_and_code() -> None:
    printed = print_sheets()
    pages = printed.pages("worksheets.pdf")
    starts = [page for page in pages if "Name:" in page]
    assert len(starts) == 4
    for sheet, page in zip(printed.answers["sheets"], starts, strict=True):
        assert f"Sheet {sheet['number']}, check code {sheet['code']}" in page
        assert f"Name: {sheet['name']}" in page
    footer = [re.search(r"Sheet (\d) (\w{5})(?: |$)", page) for page in pages]
    assert all(footer)
    codes = {sheet["code"]: sheet["number"] for sheet in printed.answers["sheets"]}
    assert all(found and codes[found[2]] == int(found[1]) for found in footer)
    assert all("Bench and pots, One colour, Two colours" in page for page in pages)


def test_every_exercise_is_on_every_sheet_with_its_own_values() -> None:
    printed = print_sheets()
    text = " ".join(printed.pages("worksheets.pdf"))
    sheets = re.split(r"check code \w{5}", text)[1:]
    for sheet, words in zip(printed.answers["sheets"], sheets, strict=True):
        for title in ("What comes first", "Heating up", "Read the bath", "How much stock"):
            assert title in words
        given = next(a["given"] for a in sheet["answers"] if a["exercise"] == "how-much-stock")
        asked = f"You have {given['yarn_mass']} of yarn and want a depth of {given['depth']}."
        assert asked.replace("\u00a0", " ") in words
        assert "Answer in mL, to the nearest whole number." in words
        assert "20 °C (68 °F)" in words


def test_no_answer_is_printed_on_a_sheet() -> None:
    printed = print_sheets()
    text = " ".join(printed.pages("worksheets.pdf"))
    for words in ("Steam needs a way out", "is the dry dye", "The column ends", "Because of"):
        assert words not in text


def test_cautions_stand_before_what_is_done_at_the_bench() -> None:
    pages = print_sheets().pages("worksheets.pdf")
    first = pages[0]
    told = "WARNING: Steam • Lift the lid away from you."
    assert first.index(told) < first.index("Read the bath")
    assert sum("WARNING: Steam" in page for page in pages) == 4


def test_a_danger_says_what_can_happen() -> None:
    caution = FILES["kb/cautions.yml"].replace("signal: Warning", "signal: Danger")
    course = Course(make_course(kb__cautions=caution))
    tasks, title = collect_tasks(course, ("bench",))
    papers = make_worksheets(course, draw_sheets(course, tasks, title, count_students(1), "1"))
    text = " ".join(Printed(papers, {}).pages("worksheets.pdf"))
    happens = "Steam from an opened pot burns hands and face."
    assert f"DANGER: Steam {happens} • Lift the lid away from you." in text


def test_drawings_are_on_the_page() -> None:
    """A thermometer, a plot and the drawing of a defect are vector pictures with words beside."""
    reader = print_sheets().read("worksheets.pdf")
    raw = b"".join(page.get_contents().get_data() for page in reader.pages[:2])
    # The drawing's own colours: the red column, the fill of the pot.
    red = rb"0\.603\d* 0\.247\d* 0\.101\d* (?:rg|scn|SCN|RG)"
    assert re.search(red, raw)
    alternatives = list(walk_alternatives(reader.trailer["/Root"]["/StructTreeRoot"]))
    assert any(words.startswith("A thermometer lying on its side.") for words in alternatives)
    assert any(words.startswith("A curve on squared paper") for words in alternatives)
    assert "A pot with a lid." in alternatives


def walk_alternatives(node: Any) -> Any:
    """Give the alternative texts of a tagged PDF."""
    node = node.get_object()
    if isinstance(node, list):
        for part in node:
            yield from walk_alternatives(part)
    elif isinstance(node, dict):
        if "/Alt" in node:
            yield str(node["/Alt"])
        if "/K" in node:
            yield from walk_alternatives(node["/K"])


@pytest.mark.parametrize("name", ["worksheets.pdf", "answers.pdf"])
def test_papers_are_tagged_and_say_that_they_keep_pdf_ua(name: str) -> None:
    root = print_sheets().read(name).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


def test_fonts_are_embedded() -> None:
    reader = print_sheets().read("worksheets.pdf")
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            (inner,) = font.get_object()["/DescendantFonts"]
            described = inner.get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(described)


def test_paper_sizes() -> None:
    for paper, size in (("a4", A4), ("letter", LETTER)):
        reader = print_sheets(paper=paper).read("worksheets.pdf")
        box = reader.pages[0].mediabox
        assert (round(box.width), round(box.height)) == size


def test_large_print_is_large() -> None:
    """Large print begins at 16 points by the usual guidance for clear print."""

    def sizes(large: bool) -> list[float]:
        found: list[float] = []

        def visit(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
            if text.strip():
                found.append(abs(size * tm[3] * cm[3]))

        print_sheets(large=large).read("worksheets.pdf").pages[0].extract_text(visitor_text=visit)
        return sorted(found)

    normal, large = sizes(False), sizes(True)
    assert normal[len(normal) // 2] == pytest.approx(11, abs=0.5)
    assert large[len(large) // 2] == pytest.approx(18, abs=0.5)


def test_the_key_has_a_line_for_each_sheet_and_a_row_for_each_variant() -> None:
    printed = print_sheets()
    key = " ".join(printed.pages("answers.pdf"))
    for sheet in printed.answers["sheets"]:
        assert f"{sheet['number']} {sheet['code']}" in key
        listed = [f"{a['question']}: {a['answer']}" for a in sheet["answers"]]
        assert " ".join(listed).replace("\u00a0", " ") in key
    assert "Right within 2 % of the answer" in key
    assert "(Dry dye) is the dry dye." in key or "(Dye) is the dry dye." in key
    for sheet in printed.answers["sheets"]:
        for answer in sheet["answers"]:
            if answer["exercise"] == "how-much-stock":
                slips = " ".join(slip["answer"] for slip in answer["slips"])
                row = f"{answer['answer']} {slips} {answer['work']}"
                assert row.replace("\u00a0", " ") in key


def test_answers_in_the_key_are_right_by_hand() -> None:
    """Yarn times depth over 0.01 g/mL, worked out here without any calculator of the course."""
    for sheet in print_sheets(count_students(15)).answers["sheets"]:
        for answer in sheet["answers"]:
            if answer["exercise"] == "how-much-stock":
                yarn_g, depth = (
                    float(answer["given"][name].split("\u00a0")[0])
                    for name in ("yarn_mass", "depth")
                )
                assert answer["value"] == pytest.approx(yarn_g * depth / 100 / 0.01)
                assert answer["answer"] == f"{yarn_g * depth:.0f}\u00a0mL"
                assert answer["tolerance"] == pytest.approx(answer["value"] * 0.02)


def test_neighbours_get_other_sheets_and_the_same_seed_the_same() -> None:
    one = print_sheets(count_students(12))
    sheets = [
        [(a["variant"], a["answer"]) for a in sheet["answers"]] for sheet in one.answers["sheets"]
    ]
    for left, right in pairwise(sheets):
        assert all(a[0] != b[0] for a, b in zip(left, right, strict=True))
    print_sheets.cache_clear()
    again = print_sheets(count_students(12))
    assert again.papers.files == one.papers.files
    other = print_sheets(count_students(12), seed="2")
    assert other.answers["sheets"] != one.answers["sheets"]


def test_a_name_no_font_can_print_leaves_a_line_and_a_note() -> None:
    printed = print_sheets(Students(("Ada", "B\U0010ef00")), ("bench",))
    assert printed.papers.notes == (
        "sheet 2: no font on this machine has the letters \U0010ef00 of B\U0010ef00; "
        "the name is left as a blank line",
    )
    assert printed.answers["sheets"][1]["name"] == "B\U0010ef00"
    text = " ".join(printed.pages("worksheets.pdf"))
    assert "Name: Ada" in text
    assert "\U0010ef00" not in text
    assert b"pdfuaid" in printed.read("worksheets.pdf").trailer["/Root"]["/Metadata"].get_data()


def test_names_act_as_no_markup() -> None:
    printed = print_sheets(Students(("#pagebreak() *x* <y>", "=1+1")), ("bench",))
    pages = printed.pages("worksheets.pdf")
    assert "Name: #pagebreak() *x* <y> Date:" in pages[0]
    assert "Name: =1+1" in " ".join(pages)


def test_a_checkpoint_covers_each_skill_of_a_level_once() -> None:
    course = Course(load_course())
    tasks, title, notes = collect_checkpoint(course, Level.BEGINNER, "1")
    assert title == "Checkpoint: beginner level"
    skills = [task.exercise.skill for task in tasks]
    assert sorted(skills) == ["judge", "lay-out", "read-dial", "weigh-dye"]
    assert notes == ()
    orders = {
        tuple(task.exercise.id for task in collect_checkpoint(course, Level.BEGINNER, str(seed))[0])
        for seed in range(20)
    }
    assert len(orders) > 5, "mixed anew by each seed"
    assert {name for order in orders for name in order} >= {"what-first", "heat-up"}


def test_a_checkpoint_says_what_it_cannot_ask() -> None:
    course = Course(load_course())
    with pytest.raises(WorksheetError, match="the advanced lessons have no exercises yet"):
        collect_checkpoint(course, Level.ADVANCED, "1")


def test_a_record_lists_every_skill_for_the_teacher_to_sign() -> None:
    course = Course(load_course())
    papers = make_record(course, Students(("Ada", "")))
    pages = read_pages(papers.files["record.pdf"])
    assert len(pages) == 2
    assert "Name: Ada" in pages[0]
    for page in pages:
        for lesson in load_course().lessons.values():
            assert lesson.title in page
            assert all(outcome.text in page for outcome in lesson.teaches)
        assert "Date Initials" in page
        assert "Teacher" in page
    assert pages[0].index("Beginner level") < pages[0].index("Advanced level")


@pytest.mark.parametrize(
    ("lessons", "message"),
    [
        (("bnch",), 'there is no lesson "bnch"; did you mean "bench"'),
        (("ikat",), "Ikat has no exercises yet"),
    ],
)
def test_what_cannot_be_printed_is_said_plainly(lessons: tuple[str, ...], message: str) -> None:
    with pytest.raises(WorksheetError, match=message):
        collect_tasks(Course(load_course()), lessons)


def test_what_a_sheet_and_its_key_show_is_as_kept(accept: bool) -> None:
    """The data of the templates, not the PDF: what it is about stands in the tests above."""
    course = Course(load_course())
    tasks, title = collect_tasks(course, ("bench", "one-colour"))
    drawn = draw_sheets(course, tasks, title, Students(("Ada",)), "1")
    sheets = describe_sheets(course.library, drawn, "a4", False)
    key = describe_key(course.library, drawn, "a4", False)
    assert sheets["sheets"][0]["name"] == key["sheets"][0]["name"] == "Ada"
    for name, data in (("worksheet.json", sheets), ("worksheet-key.json", key)):
        assert data.pop("words")["sheet"] == "Sheet {number}"
        check_golden(name, json.dumps(data, ensure_ascii=False, indent=1), accept)
