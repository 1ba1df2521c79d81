"""Placing work that shares equipment: who takes a turn when, so that all are done soon.

A resource-constrained project in the standard terms: tasks with lengths, precedence with waits,
and resources of which there are so many. Tasks are placed one after another, each at the earliest
time that fits (the serial schedule-generation scheme; R. Kolisch, "Serial and parallel
resource-constrained project scheduling methods revisited", European Journal of Operational
Research 90, 1996, cited from memory). Which goes first is settled by a few rules of priority; a
seeded search over other orders follows. The best possible is bounded from below, so that a plan can
say how far from it it may be.

Beside resources, stretches of a task may be marked, and stretches whose marks are apart never
overlap, whoever's they are: that is how heat is kept away from an open flammable. A task may also
close a mark: from a moment of it on, no stretch with that mark follows.

All times are whole seconds.
"""

from __future__ import annotations

import random
from bisect import bisect_right, insort
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

TaskId = Hashable

SEARCH_WORK = 250_000
"""How often a search may ask whether something is free, all tries together."""
SEARCH_TRIES = 60
"""How many orders a search tries for each task at the most: small projects have few that differ."""
WEIGHTY_SHARE = 0.9
"""How often a search moves a task that must keep apart from others, where there are any."""
DELAYS = tuple(60 * minutes for minutes in range(1, 16))
"""Seconds that a task is held back for, to try whether others then fit better."""
CLOSING_TRIES = 12
"""How often the moment at which marks are closed is set later, until all of them come before it."""


@dataclass(frozen=True, slots=True)
class Use:
    """That a task holds one of a resource, from so long after its start for so long.

    It may outlast the task, as a kiln does that fires while nobody stands by.
    """

    resource: str
    after: int
    length: int


@dataclass(frozen=True, slots=True)
class Mark:
    """A stretch of a task that must keep apart from stretches of some other kinds."""

    kind: str
    after: int
    length: int


@dataclass(frozen=True, slots=True)
class Task:
    """Work that is done without a break.

    Args:
        id: Its name.
        length: From its start to its end.
        uses: The resources it holds on the way.
        needs: Tasks that must have ended before, each with the least wait from its end.
        rank: Of tasks that could be placed next, those of the lowest rank are.
        ready: It does not start sooner.
        marks: Stretches that keep apart from others.
        closes: From so long after its start on, no stretch of a closed kind follows, or None.
    """

    id: TaskId
    length: int
    uses: tuple[Use, ...] = ()
    needs: tuple[tuple[TaskId, int], ...] = ()
    rank: int = 0
    ready: int = 0
    marks: tuple[Mark, ...] = ()
    closes: int | None = None


@dataclass(frozen=True, slots=True)
class Room:
    """What tasks are placed in.

    Args:
        capacities: How many there are of each resource.
        busy: For some resources, until when each of it is held from before, in seconds.
        apart: For each kind of mark, the kinds that it must not overlap.
        closed: The kinds of mark that a task may close.
    """

    capacities: Mapping[str, int]
    busy: Mapping[str, Sequence[int]] = field(default_factory=dict)
    apart: Mapping[str, frozenset[str]] = field(default_factory=dict)
    closed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Placed:
    """A task in its place.

    Args:
        task: The task.
        start: When it starts.
        units: For each of its uses, which one of the resource it holds, counted from 0.
    """

    task: Task
    start: int
    units: tuple[int, ...]

    @property
    def end(self) -> int:
        """When it ends."""
        return self.start + self.task.length


@dataclass(frozen=True, slots=True)
class Schedule:
    """All tasks in their places.

    Args:
        placed: By id.
        makespan: When the last of them ends.
        at_least: A bound: no order whatever ends sooner than this, and perhaps none as soon.
        clashing: Tasks of which a marked stretch could not be kept apart, or comes too late.
    """

    placed: Mapping[TaskId, Placed]
    makespan: int
    at_least: int
    clashing: tuple[TaskId, ...] = ()

    @property
    def ends(self) -> int:
        """The ends of all tasks, added up."""
        return sum(each.end for each in self.placed.values())

    @property
    def worth(self) -> tuple[int, int, int]:
        """What one schedule is compared with another by; less is better."""
        # Of two that end together the one with more room at its end: it leads on to shorter ones.
        return len(self.clashing), self.makespan, self.ends


class _Unit:
    """One piece of equipment and when it is held; spans that touch are kept as one."""

    __slots__ = ("ends", "starts")

    def __init__(self, until: int = 0) -> None:
        self.starts: list[int] = [0] if until > 0 else []
        self.ends: list[int] = [until] if until > 0 else []

    def find_free(self, start: int, length: int) -> int:
        """Give the earliest time from `start` at which it is free for so long."""
        starts, ends = self.starts, self.ends
        index = bisect_right(ends, start)  # the first span that ends later
        while index < len(starts) and starts[index] < start + length:
            start = max(start, ends[index])
            index += 1
        return start

    def hold(self, start: int, length: int) -> None:
        """Hold it for a span; what it is held for already may overlap."""
        if not length:
            return
        starts, ends = self.starts, self.ends
        end = start + length
        first = bisect_right(ends, start - 1)  # the first span that ends at the start or later
        last = first
        while last < len(starts) and starts[last] <= end:
            last += 1
        if first < last:
            start, end = min(start, starts[first]), max(end, ends[last - 1])
        starts[first:last] = [start]
        ends[first:last] = [end]


def place_tasks(tasks: Sequence[Task], room: Room, *, work: int = SEARCH_WORK) -> Schedule:
    """Place tasks so that the last ends soon.

    Args:
        tasks: Each after those it needs.
        room: What they share.
        work: How often it may be asked whether something is free, while looking for a better order.

    Returns:
        The best schedule found; the same tasks always give the same one.

    Raises:
        ValueError: If a task needs one that does not stand before it, or a resource there is none
            of.

    Example:
        Three batches of (5, 6, 45), (8, 9, 30) and (2, 4, 60) s before, at and after the one
        machine they share end after 66 s, the third going first.
    """
    _refuse_nonsense(tasks, room.capacities)
    heads, tails = _find_heads(tasks), _find_tails(tasks)
    at_least = _bound(tasks, room, heads, tails)
    order = {task.id: number for number, task in enumerate(tasks)}
    rules = (
        lambda task: (-tails[task.id], order[task.id]),
        lambda task: (order[task.id],),
        lambda task: (heads[task.id], -tails[task.id], order[task.id]),
    )
    project = _Prepared(tasks, room)
    best: Schedule | None = None
    line: list[Task] = []
    for rule in rules:
        tried = _arrange(tasks, {task.id: (task.rank, *rule(task)) for task in tasks})
        found = _place(tried, project, at_least)
        if best is None or found.worth < best.worth:
            best, line = found, tried
        if not best.clashing and best.makespan == at_least:
            return best
    assert best is not None
    return _search(tasks, line, best, project, work) if len(tasks) > 1 else best


def _refuse_nonsense(tasks: Sequence[Task], capacities: Mapping[str, int]) -> None:
    seen: set[TaskId] = set()
    for task in tasks:
        missing = [name for name, _ in task.needs if name not in seen]
        if missing or task.id in seen:
            raise ValueError(f"{task.id} stands before {missing}" if missing else f"two {task.id}")
        lacking = [use.resource for use in task.uses if capacities.get(use.resource, 0) < 1]
        if lacking:
            raise ValueError(f"{task.id} needs {lacking}, of which there is none")
        seen.add(task.id)


def _find_heads(tasks: Sequence[Task]) -> dict[TaskId, int]:
    """Give the earliest start of each task if equipment were without limit."""
    heads: dict[TaskId, int] = {}
    length = {task.id: task.length for task in tasks}
    for task in tasks:
        heads[task.id] = max(
            (heads[name] + length[name] + wait for name, wait in task.needs), default=0
        )
        heads[task.id] = max(heads[task.id], task.ready)
    return heads


def _find_tails(tasks: Sequence[Task]) -> dict[TaskId, int]:
    """Give the least time from the start of each task to the end of everything after it."""
    tails = {task.id: task.length for task in tasks}
    length = {task.id: task.length for task in tasks}
    for task in reversed(tasks):
        for name, wait in task.needs:
            tails[name] = max(tails[name], length[name] + wait + tails[task.id])
    return tails


def _bound(
    tasks: Sequence[Task],
    room: Room,
    heads: Mapping[TaskId, int],
    tails: Mapping[TaskId, int],
) -> int:
    """Give a time before which not everything can be done.

    No sooner than the longest chain, nor than each resource needs for all its work between the
    earliest it can begin and the least that must follow.
    """
    bound = max((heads[task.id] + tails[task.id] for task in tasks), default=0)
    held: dict[str, list[tuple[int, int, int]]] = {}
    for task in tasks:
        for use in task.uses:
            head = heads[task.id] + use.after
            tail = tails[task.id] - use.after - use.length
            held.setdefault(use.resource, []).append((head, use.length, tail))
    for name, uses in held.items():
        # What outlasts all that must follow cannot hold up the end by its whole length.
        kept = [each for each in uses if each[2] >= 0]
        if kept:
            count = room.capacities[name]
            bound = max(bound, *_fill(kept, count))
    return bound


def _fill(uses: Sequence[tuple[int, int, int]], count: int) -> Iterable[int]:
    """Bound the end by the work of those that begin late, each set of them by its head."""
    ordered = sorted(uses, reverse=True)
    work, least = 0, ordered[0][2]
    for head, length, tail in ordered:
        work += length
        least = min(least, tail)
        yield head + -(-work // count) + least
    ordered = sorted(uses, key=lambda each: -each[2])
    work, earliest = 0, ordered[0][0]
    for head, length, tail in ordered:
        work += length
        earliest = min(earliest, head)
        yield earliest + -(-work // count) + tail


def _arrange(tasks: Sequence[Task], priority: Mapping[TaskId, tuple[int, ...]]) -> list[Task]:
    """Line tasks up by priority, each after those it needs."""
    after: dict[TaskId, list[Task]] = {task.id: [] for task in tasks}
    open_needs = {task.id: len(task.needs) for task in tasks}
    for task in tasks:
        for name, _ in task.needs:
            after[name].append(task)
    number = {task.id: index for index, task in enumerate(tasks)}
    ready = sorted((priority[task.id], number[task.id]) for task in tasks if not task.needs)
    line: list[Task] = []
    while ready:
        task = tasks[ready.pop(0)[1]]
        line.append(task)
        for other in after[task.id]:
            open_needs[other.id] -= 1
            if not open_needs[other.id]:
                insort(ready, (priority[other.id], number[other.id]))
    return line


_NO_DELAYS: Mapping[TaskId, int] = MappingProxyType({})


def _place(
    line: Sequence[Task],
    project: _Prepared,
    at_least: int,
    delays: Mapping[TaskId, int] = _NO_DELAYS,
) -> Schedule:
    """Place a line of tasks; where some close a mark, at the earliest moment that all keep."""
    closing = 0 if any(task.closes is not None for task in line) else None
    found = _place_in_order(line, project, at_least, delays, closing)
    best = found
    for _ in range(CLOSING_TRIES if closing is not None else 0):
        last = _find_last_marked(found, project.room.closed)
        if closing is None or last <= closing:
            break
        closing = last
        found = _place_in_order(line, project, at_least, delays, closing)
        best = min(best, found, key=lambda each: each.worth)
    return best


def _find_last_marked(found: Schedule, kinds: frozenset[str]) -> int:
    return max(
        (
            each.start + mark.after + mark.length
            for each in found.placed.values()
            for mark in each.task.marks
            if mark.kind in kinds
        ),
        default=0,
    )


class _Prepared:
    """A project whose tasks name resources and marks by number, so that placing them is quick.

    It counts how often it asks whether something is free: that is what a search takes its time by.
    """

    def __init__(self, tasks: Sequence[Task], room: Room) -> None:
        self.room = room
        self.asked = 0
        names = sorted({use.resource for task in tasks for use in task.uses})
        self.names = names
        number = {name: index for index, name in enumerate(names)}
        kinds = sorted(room.apart)
        kind_number = {kind: index for index, kind in enumerate(kinds)}
        self.kinds = len(kinds)
        self.uses: dict[TaskId, tuple[tuple[int, int, int], ...]] = {}
        self.marks: dict[TaskId, tuple[tuple[int, tuple[int, ...], int, int], ...]] = {}
        self.several: dict[TaskId, bool] = {}
        self.own_clash: set[TaskId] = set()
        for task in tasks:
            self.uses[task.id] = tuple(
                (number[use.resource], use.after, use.length) for use in task.uses
            )
            self.several[task.id] = len({use.resource for use in task.uses}) < len(task.uses)
            self.marks[task.id] = tuple(
                (
                    kind_number[mark.kind],
                    tuple(kind_number[kind] for kind in sorted(room.apart[mark.kind])),
                    mark.after,
                    mark.length,
                )
                for mark in task.marks
                if mark.kind in kind_number and mark.length
            )
            if _meets_itself(task, room):
                self.own_clash.add(task.id)

    def open_units(self) -> list[list[_Unit]]:
        """Give every resource, free but for what is held from before."""
        units = []
        for name in self.names:
            until = self.room.busy.get(name, ())
            count = self.room.capacities[name]
            units.append([_Unit(until[n] if n < len(until) else 0) for n in range(count)])
        return units

    def find_place(
        self, task: Task, start: int, units: list[list[_Unit]], marked: list[_Unit]
    ) -> tuple[int, tuple[int, ...]]:
        """Find the earliest start at which every use finds one free, and no mark meets another."""
        uses, marks = self.uses[task.id], self.marks[task.id]
        several = self.several[task.id]
        while True:
            self.asked += len(uses) + len(marks)
            later = start
            for _, others, after, length in marks:
                for kind in others:
                    free = marked[kind].find_free(later + after, length) - after
                    if free > later:
                        later = free
            if later > start:  # uses are asked only where the air is clear
                start = later
                continue
            held: list[int] = []
            taken: list[tuple[int, int, int, int]] = []
            for resource, after, length in uses:
                wanted = start + after
                of_kind = units[resource]
                number = 0
                free = of_kind[0].find_free(wanted, length)
                if several:
                    free = _after_own(free, resource, 0, length, taken)
                if free != wanted:
                    for other in range(1, len(of_kind)):
                        offer = of_kind[other].find_free(wanted, length)
                        if several:
                            offer = _after_own(offer, resource, other, length, taken)
                        if offer < free:
                            free, number = offer, other
                            if free == wanted:
                                break
                if free - after > later:
                    later = free - after
                held.append(number)
                if several:
                    taken.append((resource, number, wanted, wanted + length))
            if later == start:
                return start, tuple(held)
            start = later


def _meets_itself(task: Task, room: Room) -> bool:
    """Say whether two stretches of a task that must keep apart overlap."""
    return any(
        one.kind in room.apart.get(two.kind, ())
        and one.after < two.after + two.length
        and two.after < one.after + one.length
        for one in task.marks
        for two in task.marks
    )


def _place_in_order(
    line: Sequence[Task],
    project: _Prepared,
    at_least: int,
    delays: Mapping[TaskId, int],
    closing: int | None,
) -> Schedule:
    """Place tasks in a line, each at the earliest time that fits.

    Args:
        closing: The moment before which no task closes a mark and after which none is marked.
    """
    units = project.open_units()
    marked = [_Unit() for _ in range(project.kinds)]
    closed = project.room.closed
    placed: dict[TaskId, Placed] = {}
    clashing: list[TaskId] = []
    makespan = 0
    for task in line:
        start = task.ready + delays.get(task.id, 0)
        for needed, wait in task.needs:
            before = placed[needed]
            start = max(start, before.start + before.task.length + wait)
        if closing is not None and task.closes is not None:
            start = max(start, closing - task.closes)
        start, held = project.find_place(task, start, units, marked)
        for (resource, after, length), number in zip(project.uses[task.id], held, strict=True):
            units[resource][number].hold(start + after, length)
        for kind, _, after, length in project.marks[task.id]:
            marked[kind].hold(start + after, length)
        if closing is not None:
            ends = (mark.after + mark.length for mark in task.marks if mark.kind in closed)
            if start + max(ends, default=0) > closing and task.marks:
                clashing.append(task.id)
        if task.id in project.own_clash:
            clashing.append(task.id)
        placed[task.id] = Placed(task, start, held)
        makespan = max(makespan, start + task.length)
    return Schedule(placed, makespan, at_least, tuple(dict.fromkeys(clashing)))


def _after_own(
    free: int, resource: int, number: int, length: int, taken: Sequence[tuple[int, int, int, int]]
) -> int:
    """Keep a task from holding the same piece twice at once."""
    for other, unit, begin, end in taken:
        if other == resource and unit == number and begin < free + length and free < end:
            free = end
    return free


def _search(
    tasks: Sequence[Task], line: list[Task], best: Schedule, project: _Prepared, work: int
) -> Schedule:
    """Hold tasks back, exchange two in the line or move one, and keep what is no worse."""
    chance = random.Random(0)
    place = {task.id: number for number, task in enumerate(line)}
    delays: dict[TaskId, int] = {}
    # What must keep apart from others decides most; the rest finds room around it.
    weighty = [task for task in tasks if task.marks]
    weighty = weighty if len(weighty) > 1 else list(tasks)
    project.asked = 0
    for _ in range(SEARCH_TRIES * len(tasks)):
        if project.asked >= work:
            break
        moved, held = dict(place), dict(delays)
        draw = chance.random()
        among = weighty if chance.random() < WEIGHTY_SHARE else tasks
        if draw < 0.45:
            one, other = chance.sample(among, 2)
            moved[one.id], moved[other.id] = moved[other.id], moved[one.id]
        elif draw < 0.75:
            task = chance.choice(among)
            moved[task.id] = chance.randrange(len(tasks))
        else:
            task = chance.choice(among)
            if not held.pop(task.id, 0):
                held[task.id] = chance.choice(DELAYS)
        tried = _arrange(tasks, {task.id: (task.rank, moved[task.id]) for task in tasks})
        found = _place(tried, project, best.at_least, held)
        if found.worth <= best.worth:
            best, place, delays = found, moved, held
        if not best.clashing and best.makespan == best.at_least:
            break
    return best
