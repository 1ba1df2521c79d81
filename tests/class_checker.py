"""A checker of class plans with a model of its own, and random classes to try it on.

It reads the lessons as plain values, as they were written, and of a plan only who does which step
when and what is held from when to when. It shares no code with the planner. In the random lessons a
step that heats, or that handles a flammable, does nothing else, so that its whole time counts.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import yaml

Spans = list[tuple[float, float]]


def read_minutes(text: str | None) -> float:
    """Read a time as the random lessons write it."""
    if text is None:
        return 0.0
    number, unit = str(text).split()
    return float(number) * {"min": 1, "h": 60, "d": 1440}[unit]


def draw_class(seed: int) -> tuple[dict[str, Any], dict[str, dict[str, Any]], dict[str, Any]]:
    """Draw a course, its lessons and a class of it, as plain values."""
    chance = random.Random(seed)
    resources = [
        {"id": "oven", "name": "Oven", "count": chance.randint(1, 3)},
        {
            "id": "pot",
            "name": "Pot",
            "count": 1,
            "capacity": chance.randint(2, 6),
            "together": True,
        },
        {"id": "fridge", "name": "Fridge", "count": 1, "capacity": chance.randint(1, 5)},
    ]
    course = {"room": "20 degC", "resources": resources}
    if chance.random() < 0.3:
        course["zones"] = [
            {"id": "hot", "name": "Hot end", "clear_of": {"cold": "far away, and aired"}},
            {"id": "cold", "name": "Cold end"},
        ]
        resources[0]["zone"] = "hot"
    lessons = {}
    for number in range(chance.randint(1, 4)):
        before = list(lessons)
        lessons[f"lesson-{number}"] = _draw_lesson(chance, before)
    names = list(lessons)
    day = datetime(2030, 9, 2)
    sessions = []
    while names:
        count = chance.randint(1, 2)
        held, names = names[:count], names[count:]
        sessions.append(
            {
                "date": day.date(),
                "start": "10:00",
                "length": f"{chance.randint(2, 7)} h",
                "lessons": held,
            }
        )
        day += timedelta(days=chance.choice((1, 7)))
    planned = {
        "students": chance.randint(1, 9),
        "helpers": chance.randint(0, 2),
        "talk": f"{chance.choice((0.5, 5, 10))} min",
        "clean_up": "10 min",
        "sessions": sessions,
    }
    return course, lessons, planned


def _draw_lesson(chance: random.Random, before: list[str]) -> dict[str, Any]:
    steps: list[dict[str, Any]] = []
    for number in range(chance.randint(2, 6)):
        step: dict[str, Any] = {"time": f"{chance.randint(1, 12)} min"}
        kind = chance.choice(("plain", "plain", "oven", "spirit", "pot", "fridge", "show"))
        vessel = f"jug {number}"
        if kind == "oven":
            step["actions"] = [{"do": "heat", "vessel": vessel, "tool": "hot-box"}]
        elif kind == "spirit":
            step["actions"] = [{"do": "wet", "vessel": f"card {number}", "material": "spirit"}]
            step["zone"] = "cold"
        elif kind == "pot":
            step["wait"] = f"{chance.randint(20, 90)} min"
            step["actions"] = [{"do": "stir", "vessel": vessel, "tool": "big-pot", "keeps": True}]
        elif kind == "fridge":
            step["wait"] = f"{chance.randint(20, 90)} min"
            step["actions"] = [{"do": "cool", "vessel": vessel, "tool": "cold-box", "keeps": True}]
        elif kind == "show":
            step["supervised"] = True
        if kind not in ("pot", "fridge") and chance.random() < 0.3:
            step["wait"] = f"{chance.choice((3, 10, 30, 60, 400))} min"
        steps.append(step)
    lesson: dict[str, Any] = {
        "materials": [{"material": "spirit", "amount": "1 g"}],
        "tools": [
            *({"tool": name, "per": "class"} for name in ("hot-box", "big-pot", "cold-box")),
            {"tool": "jug"},
        ],
        "steps": steps,
        "vessels": {f"jug {number}": "jug" for number in range(len(steps))},
    }
    if before and chance.random() < 0.5:
        lesson["prerequisites"] = [before[-1]]
    if before and chance.random() < 0.3:
        carried = {"material": "paper", "amount": "1 g", "from_lesson": before[-1]}
        lesson["materials"].append(carried)
    if chance.random() < 0.3:
        lesson["demonstration"] = "8 min"
    return lesson


def write_files(
    course: dict[str, Any], lessons: dict[str, dict[str, Any]], planned: dict[str, Any]
) -> str:
    """Write the drawn values as the files of a course."""
    if "zones" not in course:
        for lesson in lessons.values():
            for step in lesson["steps"]:
                step.pop("zone", None)
    parts = {
        "lessons/course.yml": course,
        "kb/tools.yml": {
            "hot-box": {"resource": "oven", "heats": True},
            "big-pot": {"resource": "pot"},
            "cold-box": {"resource": "fridge"},
            "jug": {},
        },
        "kb/materials.yml": {"spirit": {"hazards": ["flammable"]}, "paper": {}},
        "kb/cautions.yml": {"all": {"applies": {"hazards": ["flammable", "hot"]}}},
        **{f"lessons/{name}.yml": lesson for name, lesson in lessons.items()},
        "lessons/classes/drawn.yml": planned,
    }
    return "".join(
        f"# file: {path}\n{yaml.safe_dump(value, sort_keys=False)}" for path, value in parts.items()
    )


def find_peak(spans: Spans) -> int:
    """Count how many spans overlap at the most; one that ends frees its place first."""
    moments = sorted([(end, -1) for _, end in spans] + [(start, 1) for start, _ in spans])
    now = most = 0
    for _, change in moments:
        now += change
        most = max(most, now)
    return most


def check_run(
    course: dict[str, Any], lessons: dict[str, dict[str, Any]], planned: dict[str, Any], run: Any
) -> Iterator[str]:
    """Give what is wrong with a plan, in words; nothing where it can be done."""
    tools = {"hot-box": "oven", "big-pot": "pot", "cold-box": "fridge"}
    capacity = {each["id"]: each["count"] for each in course["resources"]}
    fridge = course["resources"][2]
    capacity["fridge"] = fridge["count"] * fridge["capacity"]
    capacity["teacher"] = 1 + planned["helpers"]
    zero = run.sessions[0].start
    done: dict[tuple[int, int], dict[int, tuple[float, float]]] = defaultdict(dict)
    named: dict[int, str] = {}
    held: dict[str, set[tuple[float, float, tuple[int, ...], int]]] = defaultdict(set)
    for number, evening in enumerate(run.sessions):
        offset = (evening.start - zero).total_seconds() / 60
        places: dict[int, Spans] = defaultdict(list)
        hot: Spans = []
        opened: Spans = []
        for turn in evening.turns:
            start, end = offset + turn.start / 60, offset + turn.end / 60
            step = lessons[turn.lesson]["steps"][turn.step]
            wait = read_minutes(step.get("wait"))
            places[turn.student].append((start, end))
            if turn.step in done[turn.visit, turn.student]:
                yield f"{turn.student} does step {turn.step} of {turn.lesson} twice"
            done[turn.visit, turn.student][turn.step] = (start, end)
            named[turn.visit] = turn.lesson
            if start < offset + read_minutes(planned["talk"]) - 1e-6:
                yield f"session {number}: a step begins during the talk"
            for action in step.get("actions", ()):
                tool = tools.get(action.get("tool"))
                until = end + wait if action.get("keeps") else end
                for hold in turn.holds:
                    kept = offset + hold.start / 60, offset + hold.end / 60
                    if hold.shared == tool and kept[0] <= start + 1e-6 and kept[1] >= until - 1e-6:
                        held[tool].add((*kept, turn.group, hold.unit))
                        break
                else:
                    if tool:
                        yield f"{turn.lesson} {turn.step}: {tool} is not held as long as needed"
                if action["do"] == "heat":
                    hot.append((start, end))
                if action.get("material") == "spirit":
                    opened.append((start, end))
            if step.get("supervised"):
                held["teacher"].add((start, end, turn.group, 0))
        for chore in evening.chores:
            span = (offset + chore.start / 60, offset + chore.end / 60)
            for student in chore.students:
                places[student].append(span)
            if chore.kind == "show":
                held["teacher"].add((*span, chore.students, 0))
        for student, spans in places.items():
            if find_peak(spans) > 1:
                yield f"session {number}: student {student} is in two places at once"
        if "zones" not in course:
            for first in hot:
                for second in opened:
                    if first[0] < second[1] - 1e-6 and second[0] < first[1] - 1e-6:
                        yield f"session {number}: heat while a flammable is open"
        last = max((end for spans in places.values() for _, end in spans), default=offset)
        tidy = read_minutes(planned["clean_up"]) if places else 0
        if abs(last + tidy - offset - evening.makespan / 60) > 1e-6 and places:
            yield f"session {number}: the end is not the last end"
        if evening.at_least > evening.makespan:
            yield f"session {number}: a plan before its bound"
    for name, rows in held.items():
        spans = [(start, end) for start, end, _, _ in rows]
        if find_peak(spans) > capacity[name]:
            yield f"{name}: {find_peak(spans)} in use, {capacity[name]} there"
    pots = course["resources"][1]
    for _, _, group, _ in held["pot"]:
        if len(group) > pots["capacity"]:
            yield "too many pieces in a pot"
    yield from _check_order(lessons, planned, run, done, named)


def _check_order(
    lessons: dict[str, dict[str, Any]],
    planned: dict[str, Any],
    run: Any,
    done: dict[tuple[int, int], dict[int, tuple[float, float]]],
    named: dict[int, str],
) -> Iterator[str]:
    unmet = {(each.lesson, each.by) for each in run.unmet}
    undone = {each.lesson for each in run.unmet}
    for (visit, student), steps in done.items():
        rows = lessons[named[visit]]["steps"]
        if sorted(steps) != list(range(len(steps))):
            yield f"{named[visit]}: steps left out"
        if len(steps) < len(rows) and named[visit] not in undone:
            yield f"{named[visit]}: not finished, and nobody says so"
        for number in range(len(steps) - 1):
            gap = steps[number + 1][0] - steps[number][1]
            if gap < read_minutes(rows[number].get("wait")) - 1e-6:
                yield f"{named[visit]}: step {number + 1} before its wait is over"
        carried = {each.get("from_lesson") for each in lessons[named[visit]]["materials"]} - {None}
        needed = set(lessons[named[visit]].get("prerequisites", ()))
        for other, name in named.items():
            if other >= visit or not steps or 0 not in steps:
                continue
            before = done[other, student]
            wait = read_minutes(lessons[name]["steps"][-1].get("wait"))
            if name in carried or (name in needed and wait):
                whole = len(before) == len(lessons[name]["steps"])
                over = max(end for _, end in before.values()) + wait
                if (not whole or steps[0][0] < over - 1e-6) and (name, named[visit]) not in unmet:
                    yield f"{named[visit]} begins before {name} has waited, and nobody says so"


def check_kit(lessons: dict[str, dict[str, Any]], run: Any, kits: Any) -> Iterator[str]:
    """Give where the kit of a session is smaller than what its plan has in use at once."""
    for number, (evening, kit) in enumerate(zip(run.sessions, kits, strict=True)):
        spans: dict[tuple[int, int, str], tuple[float, float]] = {}
        for turn in evening.turns:
            for action in lessons[turn.lesson]["steps"][turn.step].get("actions", ()):
                if action["vessel"].startswith("jug"):
                    key = (turn.visit, turn.student, action["vessel"])
                    before = spans.get(key, (turn.start, turn.end))
                    spans[key] = (min(before[0], turn.start), max(before[1], turn.end))
        counts = {item.tool.id: item.count for item in kit}
        peak = find_peak(list(spans.values()))
        if counts.get("jug", 0) < peak:
            yield f"session {number}: {peak} jugs in use, {counts.get('jug', 0)} in the kit"
