"""How long the papers of a large school take: 300 different four-page sheets with their key.

Run with `make bench`. The time that counts is that of the machine's processor: it is printed beside
the time on the clock, and on a machine that does nothing else the two agree.
"""

from __future__ import annotations

import io
import resource
import time
from collections.abc import Callable
from dataclasses import replace

import pytest
from exercise_course import make_course
from pypdf import PdfReader

from builder.course import Course
from builder.papers import collect_tasks, count_students, draw_sheets, make_worksheets
from builder.papers.sheets import SheetTask

pytestmark = pytest.mark.benchmark

SHEETS = 300
PAGES = 4


def time_call(call: Callable[[], object]) -> tuple[float, float]:
    """Give seconds on the clock and of the processor, all threads together."""

    def spent() -> float:
        used = resource.getrusage(resource.RUSAGE_SELF)
        return used.ru_utime + used.ru_stime

    clock, used = time.perf_counter(), spent()
    call()
    return time.perf_counter() - clock, spent() - used


def widen(tasks: tuple[SheetTask, ...], copies: int) -> tuple[SheetTask, ...]:
    """Make a long sheet: each exercise several times, with ids and so variants of its own."""
    return tuple(
        replace(task, exercise=task.exercise.model_copy(update={"id": f"{task.exercise.id}-{n}"}))
        for n in range(copies)
        for task in tasks
    )


def test_three_hundred_sheets_of_four_pages_with_key() -> None:
    course = Course(make_course())
    tasks, title = collect_tasks(course, ["bench", "one-colour", "two-colours"])
    long = widen(tasks, 2)
    # Fonts are loaded and the course compiled once, as in any run of the command.
    make_worksheets(course, draw_sheets(course, long, title, count_students(1), "1"))
    files: dict[str, bytes] = {}

    def make() -> None:
        drawn = draw_sheets(course, long, title, count_students(SHEETS), "1")
        files.update(make_worksheets(course, drawn).files)

    clock, used = time_call(make)
    pages = len(PdfReader(io.BytesIO(files["worksheets.pdf"])).pages)
    size = sum(len(contents) for contents in files.values()) / 1e6
    print(
        f"\n{SHEETS} sheets, {pages} pages, key and JSON ({size:.1f} MB): "
        f"{clock:.2f} s on the clock, {used:.2f} s of processor"
    )
    assert pages == SHEETS * PAGES
    assert clock < 6 or used < 8, "on a busy machine, processor time over two cores decides"


def test_time_grows_with_the_number_of_sheets_and_no_faster() -> None:
    course = Course(make_course())
    tasks, title = collect_tasks(course, ["bench", "one-colour", "two-colours"])
    make_worksheets(course, draw_sheets(course, tasks, title, count_students(1), "1"))
    times: list[float] = []
    for count in (100, 400):
        drawn = draw_sheets(course, tasks, title, count_students(count), "1")
        _, used = time_call(lambda drawn=drawn: make_worksheets(course, drawn))  # type: ignore[misc]
        times.append(used)
        print(f"\n{count} sheets: {used:.2f} s of processor")
    assert times[1] < times[0] * 4 * 1.6
