"""A lesson cut into blocks of work that are done without a break.

What is hot does not wait: from the step that heats a vessel to the last step that pours from it, or
that is done within a window of temperature, all steps follow each other at once. Other steps may
wait for their turn. After a long wait the lesson goes on in another part, in which the class has
begun something else meanwhile, or has gone home.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builder.model import Action, Lesson, Step, Verb
from builder.planning.room import TEACHER, ClassRoom, Handling, follow_flammables
from builder.planning.schedule import Mark, Use
from builder.planning.timeline import Span, find_heating_end, lay_out_actions

LONG_WAIT_MINUTES = 20
"""From here on a class begins something else in place of standing by; our own estimate."""


@dataclass(frozen=True, slots=True)
class StepTime:
    """When a step is done within its block, in seconds.

    Args:
        step: Its place in the lesson, from 0.
        after: From the start of the block.
        length: Time at the bench.
        spans: Of its actions, from the start of the step.
        uses: What it holds, from the start of the block.
    """

    step: int
    after: int
    length: int
    spans: tuple[Span, ...]
    uses: tuple[Use, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """Work without a break: of one student, or of several around one vessel.

    Args:
        lesson: Id of the lesson.
        number: Its place in the lesson, from 0.
        part: 0 up to the first long wait, 1 up to the next, and so on.
        steps: Its steps.
        length: In seconds, waits between its steps included.
        wait: What must pass after it before the lesson goes on, in seconds.
        together: How many students do it at once, with one set of vessels.
        marks: When it heats, and when it handles a flammable in the open.
        closes: After how many seconds all heat must be off, or None.
        unattended: Whether it may be done between sessions, by whoever keeps the room.
        visit: Which of the lessons of a class it belongs to; a lesson may be held twice.
    """

    lesson: str
    number: int
    part: int
    steps: tuple[StepTime, ...]
    length: int
    wait: int
    together: int = 1
    marks: tuple[Mark, ...] = ()
    closes: int | None = None
    unattended: bool = False
    visit: int = 0

    @property
    def id(self) -> tuple[int, int]:
        """Its name within a class."""
        return self.visit, self.number

    @property
    def uses(self) -> tuple[Use, ...]:
        """The shared equipment it holds; uses that touch keep the same piece."""
        uses: list[Use] = []
        for use in (each for step in self.steps for each in step.uses):
            for place, last in enumerate(uses):
                if last.resource == use.resource and last.after + last.length == use.after:
                    uses[place] = Use(last.resource, last.after, last.length + use.length)
                    break
            else:
                uses.append(use)
        return tuple(uses)


@dataclass(frozen=True, slots=True)
class Surplus:
    """That a step takes more of something shared than there is.

    Args:
        step: Its place in the lesson, from 0.
        shared: Id of what is shared.
        wanted: How many pieces it takes at once.
        there: How many can be taken at once.
    """

    step: int
    shared: str
    wanted: int
    there: int


@dataclass(frozen=True, slots=True)
class SplitLesson:
    """A lesson in blocks.

    Args:
        blocks: In order.
        surplus: Where it takes more than there is; what is too much is left out of the blocks.
    """

    blocks: tuple[Block, ...]
    surplus: tuple[Surplus, ...] = ()


def split_lesson(room: ClassRoom, lesson: Lesson) -> SplitLesson:
    """Cut a lesson into blocks.

    Args:
        room: What is shared, from `furnish_room`.
        lesson: The lesson.
    """
    steps = lesson.steps
    timed = [_time_step(room, lesson, number) for number in range(len(steps))]
    handled = follow_flammables(room, lesson)
    hot = find_hot_stretches(steps)
    blocks: list[Block] = []
    surplus: list[Surplus] = []
    part, clock = 0, 0
    begun: list[StepTime] = []
    for index, step in enumerate(steps):
        bare = timed[index]
        uses = tuple(Use(each.resource, clock + each.after, each.length) for each in bare.uses)
        begun.append(StepTime(index, clock, bare.length, bare.spans, uses))
        clock += bare.length
        wait = round(step.wait.base) if step.wait else 0
        within = any(first <= index < last for first, last in hot)
        # Loose steps are one block as long as neither a time nor a turn must be waited for.
        loose = index + 1 < len(steps) and not (
            wait
            or bare.uses
            or timed[index + 1].uses
            or step.together != steps[index + 1].together
            or step.heat_off != steps[index + 1].heat_off
            or any(index == last or index + 1 == first for first, last in hot)
        )
        if within or loose:
            clock += wait
            continue
        block, found = _make_block(room, lesson, len(blocks), part, begun, (clock, wait), handled)
        blocks.append(block)
        surplus.extend(found)
        part += wait >= LONG_WAIT_MINUTES * 60
        begun, clock = [], 0
    return SplitLesson(tuple(blocks), tuple(surplus))


def _time_step(room: ClassRoom, lesson: Lesson, number: int) -> StepTime:
    """Give a step with what it holds, counted from its own start."""
    step = lesson.steps[number]
    names = [room.find_shared(action.tool) for action in step.actions]
    handling = [room.shared[name].handling if name else 0 for name in names]
    spans = lay_out_actions(step, handling)
    length = round(step.time.base)
    uses = [
        Use(name, span.start, span.held - span.start)
        for name, span in zip(names, spans, strict=True)
        if name is not None and span.held > span.start
    ]
    counted = {each.tool for each in lesson.tools if each.per == "class"}
    for tool in step.holds:
        name = room.find_shared(tool)
        if name is not None and (tool in counted or name != tool):
            uses.append(Use(name, 0, length))
    # What a lesson counts by student is not shared in it, though another lesson shares it.
    own = {each.tool for each in lesson.tools if each.per == "student"}
    uses = [each for each in uses if each.resource not in own]
    if step.supervised and length:
        uses.append(Use(TEACHER, 0, length))
    return StepTime(number, 0, length, spans, tuple(uses))


def _make_block(
    room: ClassRoom,
    lesson: Lesson,
    number: int,
    part: int,
    steps: Sequence[StepTime],
    times: tuple[int, int],
    handled: Sequence[Sequence[Handling]],
) -> tuple[Block, list[Surplus]]:
    """Make a block of steps; `times` are its length and the wait after it."""
    named = [lesson.steps[each.step] for each in steps]
    joint = [each.together for each in named if each.together]
    filled = {use.resource for each in steps for use in each.uses}
    joint.extend(room.shared[name].capacity for name in filled if room.shared[name].together)
    together = min(joint, default=1)
    marks: list[Mark] = []
    for each in steps:
        for place, (span, told) in enumerate(zip(each.spans, handled[each.step], strict=True)):
            start = each.after + span.start
            if told.heats:
                action = lesson.steps[each.step].actions[place]
                length = find_heating_end(action, span) - span.start
                marks.append(Mark(f"heat@{told.zone}", start, length))
            if told.opens is not None:
                marks.append(Mark(f"open@{told.open_zone}", start, span.end - span.start))
    closes = [each.after for each in steps if lesson.steps[each.step].heat_off]
    fitting, surplus = _fit(room, steps, together)
    return (
        Block(
            lesson.id,
            number,
            part,
            fitting,
            times[0],
            times[1],
            together,
            _join_marks(marks),
            min(closes, default=None),
            any(room.shared[name].unattended for name in filled),
        ),
        surplus,
    )


def _join_marks(marks: Sequence[Mark]) -> tuple[Mark, ...]:
    """Join the marks of one kind that touch."""
    joined: list[Mark] = []
    for mark in sorted(marks, key=lambda each: (each.kind, each.after)):
        last = joined[-1] if joined else None
        if last and last.kind == mark.kind and mark.after <= last.after + last.length:
            end = max(last.after + last.length, mark.after + mark.length)
            joined[-1] = Mark(last.kind, last.after, end - last.after)
        elif mark.length:
            joined.append(mark)
    return tuple(joined)


def _fit(
    room: ClassRoom, steps: Sequence[StepTime], together: int
) -> tuple[tuple[StepTime, ...], list[Surplus]]:
    """Leave out what a block takes beyond what there is, and say so."""
    surplus: list[Surplus] = []
    kept: list[Use] = []
    fitting: list[StepTime] = []
    for each in steps:
        uses: list[Use] = []
        for use in each.uses:
            shared = room.shared[use.resource]
            meanwhile = [
                other
                for other in kept
                if other.resource == use.resource
                and other.after < use.after + use.length
                and use.after < other.after + other.length
            ]
            wanted = 1 + len(meanwhile)
            if wanted > shared.places:
                surplus.append(Surplus(each.step, use.resource, wanted, shared.places))
                continue
            uses.append(use)
            kept.append(use)
        fitting.append(StepTime(each.step, each.after, each.length, each.spans, tuple(uses)))
    return tuple(fitting), surplus


def find_hot_stretches(steps: Sequence[Step]) -> tuple[tuple[int, int], ...]:
    """Find the steps that must follow each other at once, as first and last of each stretch.

    What is poured into the same place is one stretch: a second layer cannot wait either.
    """
    found: list[tuple[int, int, frozenset[str]]] = []
    for index, step in enumerate(steps):
        for action in step.actions:
            if action.do is Verb.HEAT and not action.keeps and not _runs_on(step, action):
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


def _runs_on(step: Step, action: Action) -> bool:
    """Say whether an action outlasts its step, so that nobody need stand by."""
    return action.time is not None and action.time.base > step.time.base


def _follow(steps: Sequence[Step], index: int, vessel: str) -> tuple[int, int, frozenset[str]]:
    """Follow what is heated in a vessel: to the last pour from it before it is heated again."""
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
    if not goals:  # never poured: hot as long as the steps that do something to it say a window
        while not _cools(steps[last], vessel) and _stays_hot(steps, last + 1, vessel):
            last += 1
    return index, last, frozenset(goals)


def _cools(step: Step, vessel: str) -> bool:
    return any(each.do is Verb.COOL and each.vessel == vessel for each in step.actions)


def _stays_hot(steps: Sequence[Step], number: int, vessel: str) -> bool:
    """Say whether a step is done while what is in a vessel is hot."""
    if number >= len(steps) or steps[number].temperature is None:
        return False
    vessels = {each.vessel for each in steps[number].actions}
    return not vessels or vessel in vessels
