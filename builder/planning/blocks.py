"""A lesson cut into blocks of work that one student does without a break.

What is hot does not wait: from the step that heats a vessel to the last step that pours from it, or
that is done within a window of temperature, all steps follow each other at once. Other steps may
wait for their turn. After a long wait the lesson goes on in another part, in which the class has
begun something else meanwhile, or has gone home.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from builder.library import Library
from builder.model import Lesson, Step, Verb
from builder.planning.schedule import Use

LONG_WAIT_MINUTES = 20
"""From here on a class begins something else in place of standing by; a judgement of ours."""


@dataclass(frozen=True, slots=True)
class StepTime:
    """When a step is done within its block, in seconds, and what it holds."""

    step: int
    after: int
    length: int
    holds: str | None


@dataclass(frozen=True, slots=True)
class Block:
    """Work of one student without a break.

    Args:
        lesson: Id of the lesson.
        number: Its place in the lesson, from 0.
        part: 0 up to the first long wait, 1 up to the next, and so on.
        steps: Its steps.
        length: In seconds, waits between its steps included.
        wait: What must pass after it before the lesson goes on, in seconds.
        visit: Which of the lessons of a class it belongs to; a lesson may be held twice.
    """

    lesson: str
    number: int
    part: int
    steps: tuple[StepTime, ...]
    length: int
    wait: int
    visit: int = 0

    @property
    def id(self) -> tuple[int, int]:
        """Its name within a class."""
        return self.visit, self.number

    @property
    def uses(self) -> tuple[Use, ...]:
        """The shared equipment it holds; steps that follow each other at once keep the same one."""
        uses: list[Use] = []
        for step in self.steps:
            if step.holds is None:
                continue
            last = uses[-1] if uses else None
            if last and last.resource == step.holds and last.after + last.length == step.after:
                uses[-1] = Use(last.resource, last.after, last.length + step.length)
            else:
                uses.append(Use(step.holds, step.after, step.length))
        return tuple(uses)


def count_shared(library: Library, lessons: tuple[Lesson, ...]) -> dict[str, int]:
    """Count the equipment that some lessons share: what heats, and is there for the whole class.

    Returns:
        The course's own resources by id, and tools by id that heat and that a lesson counts by
        class; small things that are handed round are left out.
    """
    course = library.settings
    shared = {each.id: each.count for each in course.resources} if course else {}
    for lesson in lessons:
        for each in lesson.tools:
            tool = library.tools.get(each.tool)
            if tool and each.per == "class" and tool.heats and tool.resource is None:
                shared[tool.id] = max(shared.get(tool.id, 0), each.count)
    return shared


def name_shared(library: Library, shared: str) -> str:
    """Give the name of a piece of shared equipment."""
    for resource in library.settings.resources if library.settings else ():
        if resource.id == shared:
            return resource.name
    return library.tools[shared].name


def split_lesson(library: Library, lesson: Lesson, shared: Mapping[str, int]) -> tuple[Block, ...]:
    """Cut a lesson into blocks.

    Args:
        library: The course.
        lesson: The lesson.
        shared: From `count_shared`.
    """
    steps = lesson.steps
    held = [_find_held(library, step, shared) for step in steps]
    hot = find_hot_stretches(steps)
    blocks: list[Block] = []
    part = 0
    begun: list[StepTime] = []
    clock = 0
    for index, step in enumerate(steps):
        length = round(step.time.base)
        begun.append(StepTime(index, clock, length, held[index]))
        clock += length
        wait = round(step.wait.base) if step.wait else 0
        within = any(first <= index < last for first, last in hot)
        # Loose steps are one block as long as neither a time nor a turn must be waited for.
        loose = index + 1 < len(steps) and not (
            wait
            or held[index]
            or held[index + 1]
            or any(index == last or index + 1 == first for first, last in hot)
        )
        if within or loose:
            clock += wait
            continue
        blocks.append(Block(lesson.id, len(blocks), part, tuple(begun), clock, wait))
        part += wait >= LONG_WAIT_MINUTES * 60
        begun, clock = [], 0
    return tuple(blocks)


def find_hot_stretches(steps: Sequence[Step]) -> tuple[tuple[int, int], ...]:
    """Find the steps that must follow each other at once, as first and last of each stretch.

    What is poured into the same place is one stretch: a second layer cannot wait either.
    """
    found: list[tuple[int, int, frozenset[str]]] = []
    for index, step in enumerate(steps):
        for action in step.actions:
            if action.do is Verb.HEAT:
                found.append(_follow(steps, index, action.vessel))
    merged: list[tuple[int, int, frozenset[str]]] = []
    for first, last, goals in sorted(found, key=lambda each: each[:2]):
        joined = [each for each in merged if each[1] >= first or each[2] & goals]
        merged = [each for each in merged if each not in joined]
        together = [*joined, (first, last, goals)]
        merged.append(
            (
                min(each[0] for each in together),
                max(each[1] for each in together),
                frozenset().union(*(each[2] for each in together)),
            )
        )
    return tuple(sorted((first, last) for first, last, _ in merged))


def _follow(steps: Sequence[Step], index: int, vessel: str) -> tuple[int, int, frozenset[str]]:
    """Follow what is heated in a vessel: to the last pour from it before it is heated anew."""
    last = index
    goals: set[str] = set()
    for number in range(index, len(steps)):
        actions = [each for each in steps[number].actions if each.vessel == vessel]
        if goals and any(each.do is Verb.HEAT for each in actions):
            break
        for each in actions:
            if each.do is Verb.POUR and each.into is not None:
                last = number
                goals.add(each.into)
        # A mist over what has just been poured belongs to the pour.
        if number == last + 1 and any(
            each.do is Verb.WET and each.vessel in goals for each in steps[number].actions
        ):
            last = number
    if not goals:  # never poured: hot as long as the steps say a window
        while last + 1 < len(steps) and steps[last + 1].temperature is not None:
            last += 1
    return index, last, frozenset(goals)


def _find_held(library: Library, step: Step, shared: Mapping[str, int]) -> str | None:
    """Give the shared equipment that a step holds; the first, where it should name several."""
    for action in step.actions:
        tool = library.tools.get(action.tool) if action.tool is not None else None
        if tool is not None:
            name = tool.resource or tool.id
            if name in shared:
                return name
    return None
