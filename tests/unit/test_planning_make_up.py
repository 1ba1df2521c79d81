"""What absent people missed, and which later session has room."""

from __future__ import annotations

import pytest

from builder.planning.cooling import Cooled
from builder.planning.make_up import find_make_up, say_make_up
from builder.planning.people import Person
from builder.planning.sessions import plan_sessions
from builder.planning.telling import say_warmth
from builder.words import load_words
from tests.helpers import make_library, overlay

CLASS = """
# file: lessons/classes/autumn.yml
name: Autumn
summary: A class.
students: 3
sessions:
  - {{date: 2030-09-02, start: "18:30", length: 30 min, lessons: [pressing]}}
  - {{date: 2030-09-09, start: "18:30", length: {second}, lessons: [mounting]}}
"""


@pytest.mark.parametrize(
    ("second", "absent", "room"),
    [("2 h", (1,), (2,)), ("1 min", (1,), ()), ("2 h", (1, 2), ())],
)
def test_a_later_session_with_time_to_spare_is_named(
    second: str, absent: tuple[int, ...], room: tuple[int, ...]
) -> None:
    library, _ = make_library(overlay(CLASS.format(second=second)[1:]))
    held = plan_sessions(library, library.classes["autumn"]).sessions
    people = [Person(1, "Ann"), Person(2, "Bo", absent=absent), Person(0, "Di", absent=(1,))]
    work = find_make_up(library, held, people)
    assert [each.session for each in work] == list(absent), "who waits for a place misses nothing"
    assert {each.person.name for each in work} == {"Bo"}
    assert work[0].room == room
    own = [turn for turn in held[0].turns if turn.student == 2]
    assert work[0].steps == tuple((turn.lesson, turn.step) for turn in own)
    alone = plan_sessions(
        library, library.classes["autumn"].model_copy(update={"students": 1})
    ).sessions[0]
    assert work[0].minutes * 60 >= alone.makespan - alone.talk - alone.clean_up
    line = say_make_up(library, work[0])
    assert line.startswith("Bo misses Press a flower (")
    assert ("session 2" in line) is bool(room)
    assert ("another day" in line) is not bool(room)


def test_nobody_is_told_to_warm_where_nothing_may_heat() -> None:
    words = load_words("en")

    def say(held_back: str | None = None, **flags: bool) -> str:
        return say_warmth(words, [Cooled(0, "jug", 333.15, 331.15, False, held_back)], **flags)[
            "missed"
        ]

    assert "warm it again in short spells." in say()
    assert "only while nobody has a flammable open" in say(beside=True)
    for told in (say("Spirit"), say("Spirit", beside=True), say(no_heat=True, beside=True)):
        assert "warm it" not in told
        assert "or stop" in told
    assert say_warmth(words, ())["missed"] == ""
