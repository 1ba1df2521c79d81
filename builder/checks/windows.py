"""Rules about windows of temperature: whether a lesson's own times keep them."""

from __future__ import annotations

from collections.abc import Iterator

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Severity
from builder.model import Lesson
from builder.planning.blocks import split_lesson
from builder.planning.cooling import Cooled, follow_warmth
from builder.planning.room import furnish_room


@rule("window-missed", "lessons", Severity.WARNING)
def check_window_missed(course: Course) -> Iterator[Found]:
    """A step's window of temperature cannot be kept by the lesson's own times.

    From the moment a vessel's heating ends its contents cool by Newton's law, at the rate that the
    readings of its tool (`cools`) give for their mass: half as much cools faster. Whoever heats may
    stop anywhere between the lowest temperature of that step and its highest. Where no such start
    brings the contents into a later step's window, from its beginning to its end, people follow the
    lesson and find them too cold or too hot. The model is good to a few degrees. Steps of which it
    knows nothing, because the tool has no readings or something else was mixed in, are left out.

    Failing:

        # file: lessons/course.yml
        room: 20 degC
        # file: kb/tools.yml
        pan: {cools: [{mass: 100 g, first: 70 degC, second: 60 degC, time: 5 min}]}
        # file: kb/materials.yml
        paste: {}
        # file: kb/cautions.yml
        heat: {applies: {hazards: [hot]}}
        # file: lessons/glueing.yml
        tools: [{tool: pan}]
        steps:
          - title: Warm the paste
            time: 5 min
            temperature: 65 to 70 degC
            actions:
              - {do: add, vessel: pan, material: paste, amount: 100 g}
              - {do: heat, vessel: pan, to: 70 degC}
          - title: Cut the cards
            time: 10 min
            temperature: 20 to 70 degC
          - title: Glue
            time: 2 min
            temperature: 60 to 65 degC
            actions:
              - {do: pour, vessel: pan, into: card}

    Passing:

        # file: lessons/course.yml
        room: 20 degC
        # file: kb/tools.yml
        pan: {cools: [{mass: 100 g, first: 70 degC, second: 60 degC, time: 5 min}]}
        # file: kb/materials.yml
        paste: {}
        # file: kb/cautions.yml
        heat: {applies: {hazards: [hot]}}
        # file: lessons/glueing.yml
        tools: [{tool: pan}]
        steps:
          - title: Cut the cards
            time: 10 min
          - title: Warm the paste
            time: 5 min
            temperature: 65 to 70 degC
            actions:
              - {do: add, vessel: pan, material: paste, amount: 100 g}
              - {do: heat, vessel: pan, to: 70 degC}
          - title: Glue
            time: 2 min
            temperature: 60 to 70 degC
            actions:
              - {do: pour, vessel: pan, into: card}
    """
    for lesson in course.library.lessons.values():
        room = furnish_room(course.room, [lesson])
        told: set[int] = set()
        for warmth in follow_warmth(room, lesson, split_lesson(room, lesson).blocks):
            if warmth.missed and warmth.step not in told:
                told.add(warmth.step)
                yield _describe(lesson, warmth)


def _describe(lesson: Lesson, warmth: Cooled) -> Found:
    step = lesson.steps[warmth.step]
    assert step.temperature is not None
    start, end = (f"{kelvin - 273.15:.1f}" for kelvin in (warmth.start, warmth.end))
    cold = warmth.end < step.temperature.low.base
    hint = (
        "let less time pass since it was heated, heat it anew just before, or widen the window"
        if cold
        else "let it cool for longer before this step, or widen the window"
    )
    return Found(
        lesson,
        ("steps", warmth.step, "temperature"),
        f'by the cooling model "{warmth.vessel}" is at {start} degC when "{step.title}" begins and '
        f"at {end} degC when it ends; its window is {step.temperature}",
        hint,
    )
