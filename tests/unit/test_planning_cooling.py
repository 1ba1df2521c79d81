"""How hot vessels are in a lesson, against Newton's law of cooling worked out elsewhere."""

from __future__ import annotations

from math import exp

import pytest

from builder.model.knowledge import Tool
from builder.planning.blocks import split_lesson
from builder.planning.cooling import find_time_constant, follow_warmth
from builder.planning.room import furnish_room, survey_room
from tests.helpers import complete, make_library

KELVIN = 273.15


def make_tool(*readings: str) -> Tool:
    rows = []
    for reading in readings:
        mass, first, second, time = reading.split(", ")
        rows.append({"mass": mass, "first": first, "second": second, "time": time})
    return Tool.model_validate({"id": "jug", "name": "Jug", "summary": "A jug.", "cools": rows})


def test_the_rate_of_one_reading() -> None:
    """71.0 to 62.0 degC in 10 min, room 21.0: 0.019845 a minute (scipy `solve_ivp`)."""
    tau = find_time_constant(make_tool("100 g, 71 degC, 62 degC, 10 min"), 0.1, 21 + KELVIN)
    assert tau is not None
    assert 60 / tau == pytest.approx(0.019845, abs=1e-5)


def test_two_readings_give_what_they_say_and_less_cools_faster() -> None:
    tool = make_tool("57 g, 66 degC, 60 degC, 3 min", "113 g, 70 degC, 63 degC, 5 min")
    room = 21 + KELVIN
    small, between, large = (find_time_constant(tool, m, room) for m in (0.057, 0.085, 0.113))
    assert small is not None
    assert between is not None
    assert large is not None
    assert 21 + 45 * exp(-180 / small) == pytest.approx(60)
    assert 21 + 49 * exp(-300 / large) == pytest.approx(63)
    assert between == pytest.approx((small + large) / 2)
    lone = make_tool("100 g, 70 degC, 63 degC, 5 min")
    eighth, whole = (find_time_constant(lone, mass, room) for mass in (0.0125, 0.1))
    assert whole is not None
    assert eighth == pytest.approx(whole / 2), "bodies of one shape: the cube root of the mass"


def test_no_readings_above_the_room_tell_nothing() -> None:
    assert find_time_constant(make_tool(), 0.1, 294) is None
    assert find_time_constant(make_tool("1 kg, 30 degC, 15 degC, 1 h"), 1.0, 294) is None


LESSON = """
# file: lessons/course.yml
room: 21 degC
# file: kb/tools.yml
jug: {{cools: [{{mass: 100 g, first: 71 degC, second: 62 degC, time: 10 min}}]}}
# file: kb/materials.yml
paste: {{}}
spirit: {{hazards: [flammable], density: {{value: 0.8 g/mL, citation: sheet}}}}
# file: kb/citations.yml
sheet: {{}}
# file: kb/cautions.yml
all: {{applies: {{hazards: [hot, flammable]}}}}
# file: lessons/glueing.yml
tools: [{{tool: jug}}]
steps:
  - title: Warm it
    time: 5 min
    temperature: {warm}
    actions:
      - {{do: add, vessel: pot, material: paste, amount: 100 g}}
      - {{do: heat, vessel: pot, to: 71 degC, time: 1 min}}
  - title: Thin it
    time: 9 min
    actions:
      - {{do: add, vessel: pot, material: {into}}}
  - title: Pour it
    time: 1 min
    temperature: {window}
    actions:
      - {{do: pour, vessel: pot, into: card}}
"""


def follow(warm: str, into: str, window: str):  # type: ignore[no-untyped-def]
    source = LESSON.format(warm=warm, into=into, window=window)
    library, findings = make_library(complete(source.lstrip()))
    assert not findings
    lesson = library.lessons["glueing"]
    room = furnish_room(survey_room(library), [lesson])
    return [
        row for row in follow_warmth(room, lesson, split_lesson(room, lesson).blocks) if row.step
    ]


def test_a_pour_after_ten_minutes() -> None:
    """From 71.0 degC to 62.0 in ten minutes: in a window of 60 to 64, not of 64 to 66."""
    (row,) = follow("71 to 71 degC", "spirit, amount: 1 mL", "60 to 64 degC")
    assert not row.missed
    assert row.end == pytest.approx(62.0 + KELVIN, abs=0.01)
    assert row.held_back == "Material"
    (cold,) = follow("71 to 71 degC", "spirit, amount: 1 mL", "64 to 66 degC")
    assert cold.missed
    (hot,) = follow("71 to 71 degC", "paste, amount: 1 g", "50 to 55 degC")
    assert hot.missed
    assert hot.held_back is None


def test_whoever_heats_may_stop_sooner() -> None:
    (row,) = follow("60 to 71 degC", "paste, amount: 1 g", "50 to 55 degC")
    assert not row.missed
    assert 50 + KELVIN - 0.5 <= row.end <= row.start <= 55 + KELVIN + 0.5


def test_nothing_is_said_where_one_name_stands_for_every_vessel() -> None:
    """What is poured into itself doubles; that is nonsense, and no fault of the reader's."""
    source = LESSON.format(warm="60 to 71 degC", into="paste", window="50 to 60 degC")
    library, _ = make_library(complete(source.replace("into: card", "into: pot").lstrip()))
    lesson = library.lessons["glueing"]
    room = furnish_room(survey_room(library), [lesson])
    rows = follow_warmth(room, lesson, split_lesson(room, lesson).blocks)
    assert [row.step for row in rows if row.step == 2] in ([], [2])


def test_nothing_is_said_after_much_that_is_cold() -> None:
    assert follow("60 to 71 degC", "paste, amount: 50 g", "10 to 20 degC") == []
