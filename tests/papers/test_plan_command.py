"""`plan`: run sheets, shopping list and calendar, and what it says to people and programs."""

from __future__ import annotations

import csv
import io
import json
from datetime import datetime
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


def test_the_files_say_what_a_teacher_needs(course: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run(course, "autumn", "--out", str(out))
    assert done.exit_code == 0, done.output
    names = ["autumn-run-sheet.pdf", "autumn-shopping.csv", "autumn.ics"]
    assert sorted(path.name for path in out.iterdir() if path.name[0] != ".") == names
    text = " ".join(read_pages((out / "autumn-run-sheet.pdf").read_bytes()))
    assert "Monday 2 September 2030, 18:30 to 19:00" in text
    assert "Hot plate" in text
    assert "Session 2 of 2" in text
    assert "Bring a cloth" in text
    rows = list(csv.reader(io.StringIO((out / "autumn-shopping.csv").read_text("utf-8-sig"))))
    assert rows[0] == ["material", "needed", "unit", "buy", "price", "currency"]
    assert len(rows) > 1
    assert done.output.splitlines()[-3:] == [str(out / name) for name in names]


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
    assert told["files"] == ["autumn-run-sheet.pdf", "autumn-shopping.csv", "autumn.ics"]
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
