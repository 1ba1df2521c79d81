"""`plan`: run sheets, shopping list and calendar, and what it says to people and programs."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar

from builder.cli import main
from tests.helpers import PRESSED_FLOWERS, overlay
from tests.pdf import read_pages

CLASS = """
# file: lessons/classes/autumn.yml
name: Autumn, =twice
summary: A class.
students: 3
notes: Bring a *cloth*.
sessions:
  - {date: 2030-09-02, start: "18:30", length: 30 min, lessons: [pressing]}
  - {date: 2030-09-09, start: "18:30", length: 2 h, lessons: [mounting]}
"""


@pytest.fixture
def course(tmp_path: Path) -> Path:
    folder = tmp_path / "course"
    for path, text in overlay(CLASS[1:]).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, encoding="utf-8")
    for extra in PRESSED_FLOWERS.rglob("*.svg"):
        place = folder / extra.relative_to(PRESSED_FLOWERS)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(extra.read_bytes())
    return folder


def run(course: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["plan", *words, "--course", str(course)])


NAMES = [
    "autumn-batch-record.pdf",
    "autumn-door-list.pdf",
    "autumn-labels.pdf",
    "autumn-run-sheet.pdf",
    "autumn-shopping.csv",
    "autumn-strips.pdf",
    "autumn-turns.pdf",
    "autumn.ics",
]


def read(out: Path, name: str) -> list[str]:
    return [" ".join(text.split()) for text in read_pages((out / name).read_bytes())]


def test_the_files_say_what_a_teacher_needs(course: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run(course, "autumn", "--out", str(out))
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in out.iterdir() if path.name[0] != ".") == NAMES
    sheets = read(out, "autumn-run-sheet.pdf")
    assert len(sheets) == 2, "one page a session"
    assert "Monday 2 September 2030, 18:30 to 19:00" in sheets[0]
    assert "Session 2 of 2" in sheets[1]
    assert "Hot plate: 1, 2, 3" in sheets[1]
    assert "HEAT" in sheets[1]
    assert "HEAT" not in sheets[0]
    assert "OPEN" in sheets[1], "varnish catches fire"
    details = " ".join(read(out, "autumn-turns.pdf"))
    assert "Bring a cloth" in details
    rows = list(csv.reader(io.StringIO((out / "autumn-shopping.csv").read_text("utf-8-sig"))))
    assert rows[0][:6] == ["material", "needed", "unit", "buy", "price", "currency"]
    assert len(rows) > 1
    assert done.output.splitlines()[-len(NAMES) :] == [str(out / name) for name in NAMES]


def test_the_other_papers(course: Path, tmp_path: Path) -> None:
    run(course, "autumn", "--out", str(tmp_path / "out"))
    door = read(tmp_path / "out", "autumn-door-list.pdf")
    assert "Clear varnish" in door[1]
    assert "flammable" in door[1]
    record = " ".join(read(tmp_path / "out", "autumn-batch-record.pdf"))
    assert "60–80 °C (140–176 °F)" in record
    assert "60 g" in record, "three students, 20 g each"
    labels = " ".join(read(tmp_path / "out", "autumn-labels.pdf"))
    assert labels.count("Student 1") == 2
    assert "Not before Monday 9 September 2030, 18:37" in labels
    assert "Take home." in labels
    strips = read(tmp_path / "out", "autumn-strips.pdf")
    assert strips[0].count("Leave it under the book") == 3


PEOPLE = "name,allergies,asthma,absent,waiting\nAnn,Lavender,,,\nBo,,yes,1,\nCy,,,,\nDi,,,,yes\n"


def test_people_come_on_paper_and_nowhere_else(course: Path, tmp_path: Path) -> None:
    listed = tmp_path / "people.csv"
    listed.write_text(PEOPLE, encoding="utf-8")
    done = run(course, "autumn", "--out", str(tmp_path / "out"), "--people", str(listed))
    assert done.exit_code == 0, done.output
    first, second = read(tmp_path / "out", "autumn-door-list.pdf")
    assert "Ann Lavender Lavender oil" in second
    assert "Bo asthma" in second
    assert "Clear varnish" in second.partition("Bo asthma")[2]
    assert "Absent" in first
    assert "Bo misses Press a flower (" in first
    assert "Room for it after the others are done: session 2." in first
    assert "Session 1: Bo misses Press a flower" in done.output
    assert "Waiting list 1. Di" in second
    assert "Cy" in read(tmp_path / "out", "autumn-strips.pdf")[0]
    for name in ("autumn.ics", "autumn-shopping.csv"):
        assert b"Ann" not in (tmp_path / "out" / name).read_bytes()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("who\nAnn\n", 'no column headed "name"'),
        ("name,absent\nAnn,often\n", 'line 2: absent is "often"'),
        ("name,asthma\n,yes\n", "line 2: there is no name"),
        ("name\n", "holds no names"),
    ],
)
def test_a_wrong_list_of_people_is_said_plainly(
    course: Path, tmp_path: Path, text: str, said: str
) -> None:
    (tmp_path / "people.csv").write_text(text, encoding="utf-8")
    done = run(course, "autumn", "--people", str(tmp_path / "people.csv"))
    assert done.exit_code == 2
    assert said in done.output


MOVED = """
# file: lessons/classes/autumn.yml
name: Autumn
summary: A class.
students: 1
timezone: Europe/Berlin
reminder: 1 day
sessions:
  - {date: 2026-10-18, start: "18:30", length: 2 h, lessons: [pressing]}
  - {date: 2026-DAY, start: "18:30", length: 2 h, lessons: [mounting]}
"""


def test_a_moved_session_moves_in_the_diary_across_the_change_of_clocks(
    course: Path, tmp_path: Path
) -> None:
    """Clocks go back on 25 October 2026 in Europe/Berlin: 18:30 is 16:30 UTC, then 17:30."""
    out = tmp_path / "out"
    events = []
    for day in ("10-25", "10-25", "11-01"):
        text = MOVED[1:].partition("\n")[2].replace("DAY", day)
        (course / "lessons" / "classes" / "autumn.yml").write_text(text, encoding="utf-8")
        done = run(course, "autumn", "--out", str(out))
        assert done.exit_code == 0, done.output
        calendar = Calendar.from_ical((out / "autumn.ics").read_bytes())
        events.append(
            [each for each in calendar.walk("VEVENT") if "-wait-" not in str(each["uid"])]
        )
    assert [[str(each["uid"]) for each in each_time] for each_time in events] == [
        ["autumn-1@benchlore.invalid", "autumn-2@benchlore.invalid"]
    ] * 3
    assert [[int(each["sequence"]) for each in each_time] for each_time in events] == [
        [0, 0],
        [0, 0],
        [0, 1],
    ]
    first, second = (each.decoded("dtstart") for each in events[0])
    assert str(first.astimezone(UTC)) == "2026-10-18 16:30:00+00:00"
    assert str(second.astimezone(UTC)) == "2026-10-25 17:30:00+00:00"
    assert calendar.walk("VTIMEZONE")
    assert calendar.walk("VALARM")


def test_the_calendar_reads_back(course: Path, tmp_path: Path) -> None:
    run(course, "autumn", "--out", str(tmp_path / "out"))
    body = (tmp_path / "out" / "autumn.ics").read_bytes()
    entries = Calendar.from_ical(body).walk("VEVENT")
    events = [event for event in entries if "-wait-" not in str(event["uid"])]
    waits = [event for event in entries if event not in events]
    assert [event.decoded("dtstart") for event in waits] == [
        datetime(2030, 9, 9, 18, 37),  # seven days after the last flower went under its book
        datetime(2030, 9, 10, 7, 30),
    ]
    assert [event.decoded("dtstart") for event in events] == [
        datetime(2030, 9, 2, 18, 30),
        datetime(2030, 9, 9, 18, 30),
    ]
    assert events[1].decoded("dtend") == datetime(2030, 9, 9, 20, 30)
    assert len({str(event["uid"]) for event in events}) == 2
    assert b"\r\n" in body


def test_the_same_class_gives_the_same_files(course: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        run(course, "autumn", "--out", str(tmp_path / name))
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()


def test_json_is_one_object(course: Path, tmp_path: Path) -> None:
    done = run(course, "autumn", "--out", str(tmp_path / "out"), "--format", "json")
    told = json.loads(done.output)
    assert {"sessions", "kit", "runs", "cost", "makespan"} <= set(told)
    assert told["files"] == NAMES
    assert {run["student"] for run in told["runs"]} == {1, 2, 3}


def test_wrong_use_is_said_plainly(course: Path, tmp_path: Path) -> None:
    done = run(course, "autum", "--out", str(tmp_path / "out"))
    assert done.exit_code == 2
    assert 'did you mean "autumn"?' in done.output
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "autumn-run-sheet.pdf").write_text("mine")
    done = run(course, "autumn", "--out", str(tmp_path / "letters"))
    assert done.exit_code == 2
    assert "holds autumn-run-sheet.pdf that was not made here" in done.output
    assert (tmp_path / "letters" / "autumn-run-sheet.pdf").read_text() == "mine"


def test_a_course_with_errors_gets_no_papers(course: Path, tmp_path: Path) -> None:
    path = course / "lessons" / "cards" / "mounting.yml"
    path.write_text(path.read_text().replace("time: 10 min", "time: ten"), encoding="utf-8")
    done = run(course, "autumn", "--out", str(tmp_path / "out"))
    assert done.exit_code == 1
    assert "Nothing was printed" in done.output
    assert not (tmp_path / "out").exists()


def test_half_a_minute_too_long_is_a_minute_everywhere(course: Path, tmp_path: Path) -> None:
    path = course / "lessons" / "classes" / "autumn.yml"
    text = path.read_text().replace("length: 30 min", "length: 390 s")  # the steps take 420 s
    path.write_text(text, encoding="utf-8")
    done = run(course, "autumn", "--out", str(tmp_path / "out"))
    assert "1 min too late" in done.output
    assert "note: session 1 is 1 min too short for its lessons" in done.output
