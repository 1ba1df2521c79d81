"""How far plans are from the best: twenty classes against OR-Tools CP-SAT, the same model.

Printed by `make bench`. The gap is to the best plan that either found; the bound is CP-SAT's.
"""

from __future__ import annotations

import time
from typing import Any

import pytest

import builder.planning.sessions as sessions
from builder.library import load_library
from builder.planning.schedule import Room, Schedule, Task, place_tasks
from tests.schedule_oracle import solve_tasks
from tests.shipped import ROOT

pytestmark = pytest.mark.benchmark

LESSONS = (
    ("bench-and-safety", "first-plain-bar"),
    ("reading-temperature", "colour"),
    ("scent",),
    ("layers-that-hold", "swirl-pour"),
)
STUDENTS = (2, 4, 8, 12, 30)
SECONDS = 8.0


def collect(students: int, lessons: tuple[str, ...]) -> tuple[list[Task], Room, Schedule, float]:
    """Give the project of a session as the planner states it, its plan and the time it took."""
    library, _ = load_library(ROOT)
    planned = library.classes["millrace-autumn"]
    session = planned.sessions[0].model_copy(update={"lessons": lessons})
    update = {"students": students, "sessions": (session,)}
    seen: list[Any] = []

    def place(tasks: list[Task], room: Room, *, work: int) -> Schedule:
        begun = time.perf_counter()
        found = place_tasks(tasks, room, work=work)
        seen.append((tasks, room, found, time.perf_counter() - begun))
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sessions, "place_tasks", place)
        sessions.plan_sessions(library, planned.model_copy(update=update))
    return seen[0]  # type: ignore[no-any-return]


def test_the_gap_to_the_best() -> None:
    gaps = []
    for lessons in LESSONS:
        for students in STUDENTS:
            tasks, room, found, took = collect(students, lessons)
            best, bound, proved = solve_tasks(tasks, room, SECONDS, found)
            least = min(found.makespan, best or found.makespan)
            gap = found.makespan / least - 1
            gaps.append(gap)
            word = "proved best" if proved else f"bound {bound / 60:.0f}"
            print(
                f"{'+'.join(lessons):40} {students:3} people {len(tasks):4} tasks: "
                f"{found.makespan / 60:6.1f} min in {took:4.2f} s, CP-SAT {least / 60:6.1f} min "
                f"({word}), gap {gap:.1%}"
            )
    print(f"worst gap {max(gaps):.1%}, mean {sum(gaps) / len(gaps):.1%}")
    assert len(gaps) >= 20


def test_thirty_people_and_three_lessons() -> None:
    begun = time.perf_counter()
    collect(30, ("scent", "layers-that-hold", "swirl-pour"))
    took = time.perf_counter() - begun
    print(f"30 people, 3 lessons: {took:.1f} s")
    assert took < 10
