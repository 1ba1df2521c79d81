"""The run of each session of a class: who does which step when, and who has the shared equipment.

Every student does every step. What a session has no time left for, because it must first set or
dry, is done at the start of the next.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from builder.library import Library
from builder.model import Lesson, PlannedClass
from builder.model.lessons import Session
from builder.planning.blocks import Block, count_shared, split_lesson
from builder.planning.schedule import Schedule, Task, Use, place_tasks


@dataclass(frozen=True, slots=True)
class Turn:
    """One step of one student.

    Args:
        student: Counted from 1.
        lesson: Id of the lesson.
        step: Its place in the lesson, from 0.
        start: In seconds from the start of the session.
        end: Likewise.
        shared: Id of the shared equipment that is held, if any.
        unit: Which one of it, counted from 1.
    """

    student: int
    lesson: str
    step: int
    start: int
    end: int
    shared: str | None
    unit: int | None


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """The run of one session.

    Args:
        session: As planned.
        turns: All steps of all students, by start.
        makespan: When the last student is done, in seconds from the start.
        whole: When the last would be done if nothing were left.
        at_least: No plan under the same conditions ends sooner.
        brought: Steps done first that an earlier session left, as (lesson, step).
        left: Steps of this class's lessons that are left for later.
    """

    session: Session
    turns: tuple[Turn, ...]
    makespan: int
    whole: int
    at_least: int
    brought: tuple[tuple[str, int], ...]
    left: tuple[tuple[str, int], ...]

    @property
    def spare(self) -> int:
        """Seconds between the end of the last student and the end of the session; may be < 0."""
        length: float = self.session.length.base
        return round(length) - self.makespan

    @property
    def spare_minutes(self) -> int:
        """The same in whole minutes, never too many: half a minute too late is -1."""
        return self.spare // 60

    @property
    def longest_pause(self) -> tuple[int, int]:
        """The longest time that a student stands idle between two steps, and which student.

        Waits that a lesson states count as well: whoever has poured has time.
        """
        last: dict[int, int] = {}
        longest = (0, 0)
        for turn in self.turns:
            before = last.get(turn.student, 0)
            longest = max(longest, (turn.start - before, -turn.student))
            last[turn.student] = max(before, turn.end)
        return longest[0], -longest[1]


def plan_sessions(library: Library, planned: PlannedClass) -> tuple[SessionPlan, ...]:
    """Plan every session of a class.

    Args:
        library: A course; lessons that are not there are left out.
        planned: One of its classes.
    """
    session_plans: list[SessionPlan] = []
    carried: tuple[Block, ...] = ()
    visits = 0
    for session in planned.sessions:
        named = {}
        for name in session.lessons:
            visits += 1
            if name in library.lessons:
                named[visits] = library.lessons[name]
        held, carried = _plan_session(library, planned.students, session, named, carried)
        session_plans.append(held)
    return tuple(session_plans)


def _plan_session(
    library: Library,
    students: int,
    session: Session,
    lessons: Mapping[int, Lesson],
    carried: tuple[Block, ...],
) -> tuple[SessionPlan, tuple[Block, ...]]:
    """Plan a session; gives it, and the blocks that are left for the next."""
    brought = tuple(dict.fromkeys(block.lesson for block in carried))
    earlier = [library.lessons[name] for name in brought]
    shared = count_shared(library, (*earlier, *lessons.values()))
    split = [
        [replace(block, visit=visit) for block in split_lesson(library, lesson, shared)]
        for visit, lesson in lessons.items()
    ]
    length = round(session.length.base)
    capacities = {**shared, **{_name_student(n): 1 for n in range(1, students + 1)}}
    left: list[Block] = []
    whole = 0
    while True:
        kept = [[block for block in blocks if block not in left] for blocks in split]
        tasks = _list_tasks(students, carried, kept)
        found = place_tasks(tasks, capacities)
        whole = whole or found.makespan
        late = _find_late(found, kept, students, length)
        if not late:
            break
        left.extend(late)
    leaving = tuple(block for blocks in split for block in blocks if block in left)
    turns = _list_turns(found, {each.id: each for each in chain(carried, *kept)})
    held = SessionPlan(
        session,
        turns,
        found.makespan,
        whole,
        found.at_least,
        tuple((block.lesson, step.step) for block in carried for step in block.steps),
        tuple((block.lesson, step.step) for block in leaving for step in block.steps),
    )
    return held, leaving


def _name_student(number: int) -> str:
    return f"student {number}"


def _list_tasks(
    students: int, carried: Sequence[Block], lessons: Sequence[Sequence[Block]]
) -> list[Task]:
    """List the tasks of a session: for each student what was left, then the lessons in order."""
    tasks: list[Task] = []
    for student in range(1, students + 1):
        gate: tuple[tuple[object, int], ...] = ()
        waits: dict[int, int] = {}
        for block in carried:
            wait = waits.get(block.visit, 0)
            task = _make_task(student, block, tuple((name, wait) for name, _ in gate), 0)
            tasks.append(task)
            gate, waits[block.visit] = ((task.id, 0),), block.wait
        for blocks in lessons:
            before: tuple[tuple[object, int], ...] = gate
            for block in blocks:
                # What has had to set comes when its time has come, and after the first work of all.
                task = _make_task(student, block, before, int(block.part > 0))
                tasks.append(task)
                before = ((task.id, block.wait),)
                if block.part == 0:
                    gate = ((task.id, 0),)
    return tasks


def _make_task(
    student: int, block: Block, needs: tuple[tuple[object, int], ...], rank: int
) -> Task:
    own = Use(_name_student(student), 0, block.length)
    name = (student, block.id)
    return Task(name, block.length, (own, *block.uses), needs, rank)


def _find_late(
    found: Schedule, lessons: Sequence[Sequence[Block]], students: int, length: int
) -> list[Block]:
    """Find what must be left: of the last lesson concerned, the first part that ends too late.

    Only what comes after a long wait can be left, and it is left by the whole class.
    """
    for blocks in reversed(lessons):
        late = [
            block.part
            for block in blocks
            if block.part > 0
            and any(
                found.placed[student, block.id].end > length for student in range(1, students + 1)
            )
        ]
        if late:
            return [block for block in blocks if block.part >= min(late)]
    return []


def _list_turns(found: Schedule, blocks: Mapping[tuple[int, int], Block]) -> tuple[Turn, ...]:
    turns: list[Turn] = []
    for name, placed in found.placed.items():
        student, block = name[0], blocks[name[1]]  # type: ignore[index]
        for step in block.steps:
            unit = None
            for use, number in zip(placed.task.uses, placed.units, strict=True):
                within = use.after <= step.after < use.after + use.length
                if step.holds == use.resource and within:
                    unit = number + 1
            start = placed.start + step.after
            turns.append(
                Turn(student, block.lesson, step.step, start, start + step.length, step.holds, unit)
            )
    return tuple(sorted(turns, key=lambda each: (each.start, each.student, each.end)))
