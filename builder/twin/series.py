"""Series of lessons: the shortest set that leads to some skills, and what may be skipped.

Everything below is also compiled to JavaScript, so it keeps to the part of Python that compiles:
functions over plain lists, mappings, text and floats. A lesson is a mapping of `id`, `needs` (ids
of lessons), `assumes` and `teaches` (skills), `bench` and `wait` (seconds). Lessons are given in
the order of the course, each after those it needs.
"""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from typing import Any

MOST_CHOICES = 4000
"""So many ways to choose among lessons that teach the same skill are looked at."""


def choose_lessons(
    lessons: Sequence[Mapping[str, Any]],
    skills: Sequence[str],
    named: Sequence[str],
    known: Sequence[str],
) -> Sequence[str]:
    """Choose the set of lessons with the least time at the bench that leads to a goal.

    Args:
        lessons: In the order of the course.
        skills: The skills to be reached; those that no lesson teaches are passed over.
        named: Ids of lessons to be held in any case.
        known: Skills that people bring. A lesson of which they know all skills is skipped, and
            what it needs with it, unless something else needs that.

    Returns:
        Ids of lessons, in the order of the course.
    """
    by_id = {}
    teachers: dict[str, Any] = {}
    for lesson in lessons:
        by_id[lesson["id"]] = lesson
        for skill in lesson["teaches"]:
            if teachers.get(skill) is None:
                teachers[skill] = []
            teachers[skill].append(lesson["id"])
    brought: dict[str, bool] = {}
    for skill in known:
        brought[skill] = True
    state = {"best": -1.0, "tries": 0, "ids": []}
    chosen: dict[str, bool] = {}
    for name in named:
        if by_id.get(name) is not None:
            _take(by_id, brought, chosen, name)
    _reach(by_id, teachers, brought, chosen, list(skills), state)
    best: Any = state["ids"]
    return [lesson["id"] for lesson in lessons if lesson["id"] in best]


def is_known(lesson: Mapping[str, Any], known: Mapping[str, bool]) -> bool:
    """Say whether all that a lesson teaches is known."""
    return all(known.get(skill) for skill in lesson["teaches"])


def _take(
    by_id: Mapping[str, Any],
    known: Mapping[str, bool],
    chosen: MutableMapping[str, bool],
    name: str,
) -> None:
    """Take a lesson and what it needs, but for lessons of which everything is known."""
    if chosen.get(name):
        return
    chosen[name] = True
    for needed in by_id[name]["needs"]:
        lesson = by_id.get(needed)
        if lesson is not None and not is_known(lesson, known):
            _take(by_id, known, chosen, needed)


def _find_open(
    by_id: Mapping[str, Any],
    teachers: Mapping[str, Any],
    known: Mapping[str, bool],
    chosen: Mapping[str, bool],
    skills: Sequence[str],
) -> str:
    """Find a skill that is wanted and that no chosen lesson teaches; the empty text for none."""
    wanted = list(skills)
    for name in chosen:
        for skill in by_id[name]["assumes"]:
            wanted.append(skill)
    for skill in wanted:
        if known.get(skill) or teachers.get(skill) is None:
            continue
        taught = False
        for name in teachers[skill]:
            if chosen.get(name):
                taught = True
        if not taught:
            return skill
    return ""


def _reach(
    by_id: Mapping[str, Any],
    teachers: Mapping[str, Any],
    known: Mapping[str, bool],
    chosen: Mapping[str, bool],
    skills: Sequence[str],
    state: MutableMapping[str, Any],
) -> None:
    """Try every lesson that teaches what is missing, and keep the shortest whole set."""
    total = sum_bench(by_id, chosen)
    if state["tries"] >= MOST_CHOICES or (state["best"] >= 0 and total >= state["best"]):
        return
    state["tries"] += 1
    skill = _find_open(by_id, teachers, known, chosen, skills)
    if skill == "":
        state["best"] = total
        state["ids"] = [name for name in chosen]  # noqa: C416
        return
    for name in teachers[skill]:
        more: dict[str, bool] = {}
        for taken in chosen:
            more[taken] = True
        _take(by_id, known, more, name)
        _reach(by_id, teachers, known, more, skills, state)


def sum_bench(by_id: Mapping[str, Any], chosen: Mapping[str, bool]) -> float:
    """Add up the time at the bench of some lessons, in seconds."""
    total = 0.0
    for name in chosen:
        total += by_id[name]["bench"]
    return total


def sum_times(lessons: Sequence[Mapping[str, Any]], chosen: Sequence[str]) -> Sequence[float]:
    """Add up the time at the bench and the time waiting of the chosen lessons, in seconds."""
    bench = 0.0
    wait = 0.0
    for lesson in lessons:
        if lesson["id"] in chosen:
            bench += lesson["bench"]
            wait += lesson["wait"]
    return [bench, wait]


def write_span(seconds: float) -> str:
    """Write a length of time in days, hours and minutes: `2 d 3 h`, `1 h 20 min`."""
    left = seconds + 30.0  # to whole minutes, half a minute up
    days = 0
    hours = 0
    minutes = 0
    while left >= 86400:
        left -= 86400
        days += 1
    while left >= 3600:
        left -= 3600
        hours += 1
    while left >= 60:
        left -= 60
        minutes += 1
    parts = []
    if days > 0:
        parts.append(str(days) + " d")
    if hours > 0:
        parts.append(str(hours) + " h")
    if (minutes > 0 and days == 0) or (days == 0 and hours == 0):
        parts.append(str(minutes) + " min")
    return " ".join(parts)
