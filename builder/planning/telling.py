"""A session's run as rows to show: each step with its span of time, each oven with its turns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from builder.hazards import HazardIndex
from builder.library import Library
from builder.model import Hazard, Verb
from builder.planning.sessions import Hold, SessionPlan, Turn
from builder.planning.words import write_clock
from builder.quantities import texts_of_window


def say_end(held: SessionPlan) -> dict[str, Any]:
    """Give what there is to say of how a session ends, times of day as text."""
    pause, student = held.longest_pause
    return {
        "done": write_clock(held.start, held.makespan),
        "least": write_clock(held.start, held.at_least),
        "spare": held.spare_minutes,
        "whole": write_clock(held.start, held.whole) if held.left else "",
        "whole_minutes": -(-held.whole // 60),
        "pause": pause // 60,
        "pause_student": student,
    }


def warn_of_heat(library: Library, hazards: HazardIndex, held: SessionPlan) -> list[str]:
    """Warn where a lesson heats after an earlier one of the session used what can catch fire.

    The rules of safety follow vessels through a lesson. Over two lessons nobody knows which jug is
    taken, so the teacher is told.
    """
    lessons = [library.lessons[name] for name in held.session.lessons]
    warnings: list[str] = []
    used: list[tuple[str, str]] = []
    for lesson in lessons:
        actions = [action for step in lesson.steps for action in step.actions]
        if used and any(action.do is Verb.HEAT for action in actions):
            material, earlier = used[-1]
            warnings.append(
                f"{lesson.title} heats, and {earlier} used {material} before: take other vessels, "
                "or wash, dry and air them first. What has held it is not heated."
            )
        for action in actions:
            name = action.material
            if name and Hazard.FLAMMABLE in hazards.materials.get(name, ()):
                used.append((library.materials[name].name, lesson.title))
    return warnings


def name_steps(library: Library, steps: Iterable[tuple[str, int]]) -> list[str]:
    """Name steps, each given as lesson and place."""
    lessons = library.lessons
    return [f"{lessons[name].title}: {lessons[name].steps[step].title}" for name, step in steps]


def list_steps(library: Library, held: SessionPlan) -> list[dict[str, Any]]:
    """Give each step with the time at which the first student begins and the last has done it."""
    spans: dict[tuple[str, int], list[Turn]] = {}
    for turn in held.turns:
        spans.setdefault((turn.lesson, turn.step), []).append(turn)
    rows = []
    for name, number in sorted(spans, key=lambda key: (spans[key][0].start, key[1])):
        lesson, turns = library.lessons[name], spans[name, number]
        step = lesson.steps[number]
        rows.append(
            {
                "lesson": lesson.title,
                "title": step.title,
                "first": write_clock(held.start, turns[0].start),
                "last": write_clock(held.start, max(turn.end for turn in turns)),
                "window": texts_of_window(step.temperature)[0] if step.temperature else "",
                "shared": bool(turns[0].holds),
            }
        )
    return rows


def list_turns(library: Library, held: SessionPlan) -> list[dict[str, Any]]:
    """Give the turns at each piece of shared equipment, in order."""
    queues: dict[tuple[str, int], dict[tuple[int, int, int], tuple[Hold, Turn]]] = {}
    for turn in held.turns:
        for hold in turn.holds:
            # Those who do it together share one turn.
            key = (hold.start, hold.end, min(turn.group))
            queues.setdefault((hold.shared, hold.unit), {}).setdefault(key, (hold, turn))
    counts = [shared for shared, _ in queues]
    return [
        {
            "name": held.room.shared[shared].name
            + (f" {unit}" if counts.count(shared) > 1 else ""),
            "turns": [
                {
                    "from": write_clock(held.start, hold.start),
                    "to": write_clock(held.start, hold.end),
                    "student": name_group(turn.group),
                    "step": library.lessons[turn.lesson].steps[turn.step].title,
                }
                for _, (hold, turn) in sorted(turns.items())
            ],
        }
        for (shared, unit), turns in sorted(queues.items())
    ]


def name_group(group: Sequence[int]) -> str:
    """Name the students who do something together: `3`, or `1 to 4`."""
    return str(group[0]) if len(group) == 1 else f"{group[0]} to {group[-1]}"
