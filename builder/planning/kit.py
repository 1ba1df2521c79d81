"""What must be there for a class: as many of each tool as its plan has in use at once.

A vessel is in use from the first thing done to it until what is in it has been poured out, or,
where it is poured into and keeps what it holds, until its lesson is done. It comes back once it has
been washed, and aired where a flammable was in it; what nobody washes in the session stays out of
use.
What is no vessel is in each student's hand, or shared.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from builder.library import Library
from builder.model import Lesson, Tool, Verb
from builder.planning.calendar import count_seconds
from builder.planning.sessions import SessionPlan, Turn


@dataclass(frozen=True, slots=True)
class KitItem:
    """A tool that must be there, and how many."""

    tool: Tool
    count: int


@dataclass(frozen=True, slots=True)
class _InUse:
    tool: str
    start: int
    end: int


def list_kits(
    library: Library, sessions: Sequence[SessionPlan], students: int
) -> tuple[tuple[KitItem, ...], ...]:
    """List the kit of each session.

    Args:
        library: The course.
        sessions: The plan of the whole class: what stands and sets from one session to the next
            is in use all the while.
        students: How many there are.
    """
    zero = sessions[0].start
    used = list(_follow_vessels(library, sessions))
    kits = []
    for held in sessions:
        begin = count_seconds(zero, held.start)
        end = begin + max(round(held.session.length.base), held.makespan)
        counts: dict[str, int] = {}
        tonight = [each for each in used if each.start < end and begin < each.end]
        for name in sorted({each.tool for each in tonight}):
            counts[name] = _find_peak([each for each in tonight if each.tool == name])
        for name, count in _count_tools(library, held, students).items():
            counts[name] = max(counts.get(name, 0), count)
        items = [KitItem(library.tools[name], n) for name, n in counts.items() if n]
        kits.append(tuple(sorted(items, key=lambda item: item.tool.name.lower())))
    return tuple(kits)


def join_kits(kits: Iterable[Sequence[KitItem]]) -> tuple[KitItem, ...]:
    """Give the kit of a whole class: of each tool as many as the session that needs most of it."""
    most: dict[str, KitItem] = {}
    for item in (item for kit in kits for item in kit):
        before = most.get(item.tool.id)
        if before is None or before.count < item.count:
            most[item.tool.id] = item
    return tuple(sorted(most.values(), key=lambda item: item.tool.name.lower()))


def _find_peak(used: Sequence[_InUse]) -> int:
    """Count how many are in use at once at the most; one that ends frees its place first."""
    changes = sorted([(each.end, -1) for each in used] + [(each.start, 1) for each in used])
    now = peak = 0
    for _, change in changes:
        now += change
        peak = max(peak, now)
    return peak


def _follow_vessels(library: Library, sessions: Sequence[SessionPlan]) -> Iterable[_InUse]:
    """Give when each vessel of each student, or of each group, is in use."""
    zero = sessions[0].start
    turns: dict[tuple[int, int], list[tuple[int, Turn]]] = {}
    ends: list[tuple[int, int]] = []
    washed: dict[tuple[int, int], int] = {}
    for held in sessions:
        offset = count_seconds(zero, held.start)
        ends.append((offset, offset + max(round(held.session.length.base), held.makespan)))
        for turn in held.turns:
            turns.setdefault((turn.visit, turn.student), []).append((offset, turn))
        for chore in held.chores:
            if chore.kind == "wash":
                for student in chore.students:
                    washed[chore.visit, student] = offset + chore.end
    for (visit, student), rows in sorted(turns.items()):
        lesson = library.lessons[rows[0][1].lesson]
        by_step = {turn.step: (offset, turn) for offset, turn in rows}
        for vessel, tool in lesson.vessels.items():
            span = _find_span(lesson, vessel, by_step)
            if span is None or tool not in library.tools:
                continue
            first, last, common = span
            group = by_step[first][1].group
            if common and student != group[0]:
                continue
            end = by_step[last][0] + by_step[last][1].end
            end = _give_back(library.tools[tool], end, washed.get((visit, student)), ends)
            yield _InUse(tool, by_step[first][0] + by_step[first][1].start, end)


def _find_span(
    lesson: Lesson, vessel: str, by_step: dict[int, tuple[int, Turn]]
) -> tuple[int, int, bool] | None:
    """Give the first and last step that a vessel is in use in, and whether a group shares it.

    What a group pours from is one for all of it; what keeps its contents is each student's own.
    """
    touched = [
        (number, action)
        for number, step in enumerate(lesson.steps)
        for action in step.actions
        if vessel in (action.vessel, action.into) and number in by_step
    ]
    if not touched:
        return None
    first, last = touched[0][0], touched[-1][0]
    poured_out = any(each.do is Verb.POUR and each.vessel == vessel for _, each in touched)
    if not poured_out:
        last = max(by_step)
    return first, last, poured_out and lesson.steps[first].together is not None


def _give_back(
    tool: Tool, end: int, washed: int | None, sessions: Sequence[tuple[int, int]]
) -> int:
    """Give when a vessel may be used again."""
    if washed is not None and washed >= end and tool.wash is not None:
        return washed + (round(tool.airs.base) if tool.airs else 0)
    return max((over for begin, over in sessions if begin <= end <= over), default=end)


def _count_tools(library: Library, held: SessionPlan, students: int) -> dict[str, int]:
    """Count the tools that are no vessel, as lessons list them, and what is shared."""
    counts: dict[str, int] = {}
    done: dict[str, set[int]] = {}
    for turn in held.turns:
        done.setdefault(turn.lesson, set()).add(turn.step)
    for name, steps in done.items():
        lesson = library.lessons[name]
        elsewhere = {
            action.tool
            for number, step in enumerate(lesson.steps)
            for action in step.actions
            if number not in steps
        }
        here = {
            action.tool
            for number, step in enumerate(lesson.steps)
            for action in step.actions
            if number in steps
        }
        vessels = set(lesson.vessels.values())
        for each in lesson.tools:
            if each.tool in vessels or (each.tool in elsewhere and each.tool not in here):
                continue
            shared = held.room.find_shared(each.tool)
            if shared is not None and each.per == "class":
                count = held.room.shared[shared].count
            else:
                count = each.count * (students if each.per == "student" else 1)
            counts[each.tool] = max(counts.get(each.tool, 0), count)
    return counts
