"""A session's run as rows to show: each step with its span of time, each oven with its turns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from builder.hazards import HazardIndex
from builder.library import Library
from builder.model import Hazard, Verb
from builder.planning.blocks import split_lesson
from builder.planning.cooling import Cooled, follow_warmth
from builder.planning.room import follow_flammables
from builder.planning.sessions import Hold, SessionPlan, Turn
from builder.planning.words import write_clock
from builder.quantities import texts_of_window
from builder.words import Words

ZERO_CELSIUS = 273.15


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
                library.words.text(
                    "class.heat-after", lesson=lesson.title, earlier=earlier, material=material
                )
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


def expect_warmth(held: SessionPlan, library: Library, name: str) -> dict[int, list[Cooled]]:
    """Give how hot the vessels of a lesson are expected to be, by step."""
    lesson = library.lessons[name]
    rows: dict[int, list[Cooled]] = {}
    for row in follow_warmth(held.room, lesson, split_lesson(held.room, lesson).blocks):
        rows.setdefault(row.step, []).append(row)
    return rows


def say_warmth(
    words: Words, rows: Sequence[Cooled], *, no_heat: bool = False, beside: bool = False
) -> dict[str, str]:
    """Say what temperature to expect, and what to do where it is missed.

    Args:
        words: The table of words.
        rows: How hot the vessels of the step are expected to be.
        no_heat: Whether nothing may heat then: the step opens a flammable, or all heat is off.
        beside: Whether somebody opens a flammable at some other time of the session.
    """
    if not rows:
        return {"expect": "", "missed": ""}
    high, low = max(row.start for row in rows), min(row.end for row in rows)
    degrees = {"high": round(high - ZERO_CELSIUS), "low": round(low - ZERO_CELSIUS)}
    expect = words.text("class.expect", **degrees)
    held_back = next((row.held_back for row in rows if row.held_back), None)
    if held_back:
        cold = words.text("class.cold-held", material=held_back)
    elif no_heat:
        cold = words.text("class.cold-off")
    elif beside:
        cold = words.text("class.cold-warm-apart")
    else:
        cold = words.text("class.cold-warm")
    return {"expect": expect, "missed": words.text("class.too-hot", cold=cold)}


def list_steps(library: Library, held: SessionPlan) -> list[dict[str, Any]]:
    """Give each step with the time at which the first student begins and the last has done it."""
    spans: dict[tuple[str, int], list[Turn]] = {}
    for turn in held.turns:
        spans.setdefault((turn.lesson, turn.step), []).append(turn)
    rows = []
    off = False
    warm = {name: expect_warmth(held, library, name) for name in {name for name, _ in spans}}
    for name, number in sorted(spans, key=lambda key: (spans[key][0].start, key[1])):
        lesson, turns = library.lessons[name], spans[name, number]
        step = lesson.steps[number]
        opens = any(each.opens for each in follow_flammables(held.room, lesson)[number])
        off = off or step.heat_off
        warmth = say_warmth(
            library.words,
            warm[name].get(number, ()),
            no_heat=opens or off,
            beside=bool(held.opens),
        )
        rows.append(
            {
                "lesson": lesson.title,
                "title": step.title,
                "first": write_clock(held.start, turns[0].start),
                "last": write_clock(held.start, max(turn.end for turn in turns)),
                "window": texts_of_window(step.temperature)[0] if step.temperature else "",
                "shared": bool(turns[0].holds),
                "heats": any(held.room.heats(action) for action in step.actions),
                "opens": opens,
                "off": step.heat_off,
                "who": say_who(library.words, held, turns),
                **warmth,
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
                    "student": name_group(library.words, turn.group),
                    "step": library.lessons[turn.lesson].steps[turn.step].title,
                }
                for _, (hold, turn) in sorted(turns.items())
            ],
        }
        for (shared, unit), turns in sorted(queues.items())
    ]


def say_who(words: Words, held: SessionPlan, turns: Sequence[Turn]) -> str:
    """Say who does a step: in which order at what heats, or in groups, or all at once."""
    heating = {name for name, each in held.room.shared.items() if each.heats}
    queues: dict[tuple[str, int], list[tuple[int, str]]] = {}
    for turn in turns:
        for hold in turn.holds:
            if hold.shared in heating:
                place = (hold.start, name_group(words, turn.group))
                row = queues.setdefault((hold.shared, hold.unit), [])
                if place[1] not in {name for _, name in row}:
                    row.append(place)
    if queues:
        counts = [shared for shared, _ in queues]
        return "; ".join(
            held.room.shared[shared].name
            + (f" {unit}" if counts.count(shared) > 1 else "")
            + ": "
            + ", ".join(name for _, name in sorted(row))
            for (shared, unit), row in sorted(queues.items())
        )
    groups = sorted({turn.group for turn in turns})
    if any(len(group) > 1 for group in groups):
        return words.text(
            "class.together", groups=", ".join(name_group(words, group) for group in groups)
        )
    first, last = min(turn.start for turn in turns), max(turn.start for turn in turns)
    if first == last or len(turns) == 1:
        return words.text("class.everyone")
    return words.text("class.when-ready")


def name_group(words: Words, group: Sequence[int]) -> str:
    """Name the students who do something together: `3`, or `1 to 4`."""
    if len(group) == 1:
        return str(group[0])
    return words.text("class.group", first=group[0], last=group[-1])
