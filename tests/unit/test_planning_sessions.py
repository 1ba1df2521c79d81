"""A class run by run: what is hot does not wait, what must wait is left, turns are taken."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from builder.planning.blocks import find_hot_stretches, split_lesson
from builder.planning.plan import describe_plan, plan_class, render_plan
from builder.planning.room import furnish_room, survey_room
from builder.planning.sessions import SessionPlan, plan_sessions
from builder.planning.telling import list_steps, list_turns, name_steps
from tests.helpers import make_library, overlay

CLASS = """
# file: lessons/classes/autumn.yml
name: Autumn
summary: A class.
students: {students}
sessions:
  - {{date: 2030-09-02, start: "18:30", length: {first}, lessons: [pressing]}}
  - {{date: 2030-09-09, start: "18:30", length: {second}, lessons: [mounting]}}
"""


def plan(students: int = 2, first: str = "30 min", second: str = "2 h") -> Sequence[SessionPlan]:
    source = CLASS.format(students=students, first=first, second=second)
    library, findings = make_library(overlay(source.lstrip()))
    assert not findings
    return plan_sessions(library, library.classes["autumn"]).sessions


STEPS = """
# file: lessons/pressing.yml
tools: [{{tool: stove, per: class, count: 2}}]
steps:
{steps}
# file: kb/tools.yml
stove: {{heats: true}}
"""


def read_lesson(*steps: str):  # type: ignore[no-untyped-def]
    from tests.helpers import complete

    listed = "\n".join(f"  - {{title: S, {step}}}" for step in steps)
    library, findings = make_library(complete(STEPS.format(steps=listed).lstrip()))
    assert not findings
    return library, library.lessons["pressing"]


HEAT = "time: 5 min, actions: [{do: heat, vessel: jug, tool: stove}]"
REST = "time: 1 min, wait: 5 min"
POUR = "time: 2 min, actions: [{do: pour, vessel: jug, into: mould}]"
MIST = "time: 1 min, actions: [{do: wet, vessel: mould}]"
PLAIN = "time: 3 min"
SET = "time: 1 min, wait: 1 h"


@pytest.mark.parametrize(
    ("steps", "stretches"),
    [
        ([PLAIN, HEAT, REST, POUR, PLAIN], ((1, 3),)),
        ([HEAT, POUR, MIST, SET], ((0, 2),)),
        ([HEAT, PLAIN], ((0, 0),)),
        # Never poured: as long as the steps that follow say a window.
        ([HEAT, "time: 1 min, temperature: 50 to 60 degC", PLAIN], ((0, 1),)),
        # Heated again before the pour is one stretch; after it, another.
        ([HEAT, REST, HEAT, POUR, PLAIN], ((0, 3),)),
        ([HEAT, POUR, SET, HEAT.replace("jug", "pan"), POUR.replace("jug", "pan")], ((0, 4),)),
        (
            [HEAT, POUR, SET, HEAT, POUR.replace("mould", "cup")],
            ((0, 1), (3, 4)),
        ),
        ([PLAIN, PLAIN], ()),
    ],
)
def test_what_is_hot_is_followed_to_its_pour(
    steps: list[str], stretches: tuple[tuple[int, int], ...]
) -> None:
    _, lesson = read_lesson(*steps)
    assert find_hot_stretches(lesson.steps) == stretches


def test_a_lesson_is_cut_where_it_may_wait() -> None:
    library, lesson = read_lesson(PLAIN, PLAIN, HEAT, REST, POUR, SET, PLAIN)
    room = furnish_room(survey_room(library), [lesson])
    assert {name: each.count for name, each in room.shared.items()} == {"stove": 2, "teacher": 1}
    blocks = split_lesson(room, lesson).blocks
    assert [[each.step for each in block.steps] for block in blocks] == [
        [0, 1],
        [2, 3, 4],
        [5],
        [6],
    ]
    assert [block.length for block in blocks] == [360, (5 + 1 + 5 + 2) * 60, 60, 180]
    assert [(block.part, block.wait) for block in blocks] == [(0, 0), (0, 0), (0, 3600), (1, 0)]
    (use,) = blocks[1].uses
    assert (use.resource, use.after, use.length) == ("stove", 0, 300)


def test_the_small_class_by_hand() -> None:
    """Two people, one hot plate for 10 min each; the press takes a week."""
    first, second = plan()
    assert first.makespan == 7 * 60
    assert [step for _, step in first.left] == [step for _, step in second.brought]
    turns = [hold for turn in second.turns for hold in turn.holds]
    assert [hold.shared for hold in turns] == ["hot-plate", "hot-plate"]
    assert turns[1].start >= turns[0].end
    assert {hold.unit for hold in turns} == {1}


def test_a_session_too_short_says_so() -> None:
    (_, enough), (_, short) = plan(), plan(second="20 min")
    assert enough.spare >= 0 > short.spare
    assert short.at_least <= short.makespan


def test_one_and_many_do_the_same_steps() -> None:
    for students in (1, 3, 25):
        session_plans = plan(students, second="10 h")
        for held in session_plans:
            done = {(turn.lesson, turn.step) for turn in held.turns}
            counted = [(turn.lesson, turn.step, turn.student) for turn in held.turns]
            assert len(counted) == len(set(counted)) == students * len(done)


def test_a_plan_in_words_and_for_programs() -> None:
    library, _ = make_library(overlay(CLASS.format(students=2, first="30 min", second="2 h")[1:]))
    planned = library.classes["autumn"]
    made = plan_class(library, planned, plan_sessions(library, planned), "GBP")
    told = describe_plan(library, made)
    assert {"sessions", "kit", "runs", "cost", "makespan"} <= set(told)
    assert [session["start"] for session in told["sessions"]] == ["18:30", "18:30"]
    assert told["cost"]["currency"] == "GBP"
    assert 0 < told["cost"]["used"] <= told["cost"]["to_buy"]
    assert told["makespan"]["sessions"][0]["minutes"] == 7
    assert {run["equipment"] for run in told["runs"]} == {None, "Hot plate"}
    words = render_plan(library, made)
    assert "Monday 2 September 2030, 18:30 to 19:00" in words
    assert "all are done at 18:37, 23 min to spare" in words
    rows = list_steps(library, made.session_plans[1])
    assert rows[0]["first"] == "18:37", "the flower has lain for seven days then"
    assert any(row["shared"] for row in rows)
    (plate,) = list_turns(library, made.session_plans[1])
    assert plate["name"] == "Hot plate"
    assert [turn["student"] for turn in plate["turns"]] == ["1", "2"]
    assert name_steps(library, [("pressing", 0)]) == ["Press a flower: Blot it"]


CURE = """
# file: lessons/making.yml
steps:
  - {{title: Pour it, time: 10 min, wait: 1 day}}
  - {{title: Take it out, time: 5 min, wait: 4 weeks{home}}}
# file: lessons/sorting.yml
steps:
  - {{title: Sort, time: 5 min}}
# file: lessons/testing.yml
prerequisites: [making]
materials: {carried}
steps:
  - {{title: Weigh it, time: 10 min}}
# file: kb/materials.yml
piece: {{}}
# file: lessons/classes/autumn.yml
students: 3
timezone: Europe/Berlin
sessions:
  - {{date: 2026-10-03, start: "10:00", length: 1 h, lessons: [making]}}
  - {{date: 2026-10-04, start: "10:30", length: 1 h, lessons: [sorting]}}
  - {{date: {last}, start: "{clock}", length: 1 h, lessons: [testing]}}
"""


def cure(last: str, clock: str = "10:00", home: str = "", carried: str = "[]"):  # type: ignore[no-untyped-def]
    from tests.helpers import complete

    source = CURE.format(last=last, clock=clock, home=home, carried=carried)
    library, findings = make_library(complete(source.lstrip()))
    assert not findings
    return plan_sessions(library, library.classes["autumn"])


def test_a_cure_of_weeks_is_held_against_the_calendar() -> None:
    """Taken out on 4 October at 10:35; clocks go back on 25 October, so four weeks end at 09:35."""
    early = cure("2026-10-25")
    assert {(each.lesson, each.by, each.session) for each in early.unmet if each.session} == {
        ("making", "testing", 2)
    }
    over = early.unmet[0].until
    assert over.isoformat(timespec="minutes") == "2026-11-01T09:35+01:00"
    late = cure("2026-11-29")
    assert not any(each.session for each in late.unmet)
    same_day = cure("2026-11-01", "19:30")
    assert not any(each.session for each in same_day.unmet)


def test_what_cures_at_home_holds_up_no_lesson_but_the_one_that_carries_it_on() -> None:
    home = cure("2026-10-25", home=", home: true")
    assert not any(each.session for each in home.unmet)
    carried = "[{material: piece, amount: 1 g, from_lesson: making}]"
    held_up = cure("2026-10-25", home=", home: true", carried=carried)
    assert {(each.lesson, each.by) for each in held_up.unmet if each.session} == {
        ("making", "testing")
    }
