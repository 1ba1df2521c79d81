"""Placing work that shares equipment: who takes a turn when, so that all are done soon.

A resource-constrained project in the standard terms: tasks with lengths, precedence with waits,
and resources of which there are so many. Tasks are placed one after another, each at the earliest
time that fits (the serial schedule-generation scheme; R. Kolisch, "Serial and parallel
resource-constrained project scheduling methods revisited", European Journal of Operational
Research 90, 1996, cited from memory). Which goes first is settled by a few rules of priority; in a
small project a seeded search over other orders follows. The best possible is bounded from below,
so that a plan can say how far from it it may be.

All times are whole seconds.
"""

from __future__ import annotations

import random
from bisect import bisect_right, insort
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

TaskId = Hashable

SEARCH_TASKS = 24
"""Most tasks of a project in which other orders are tried; in larger ones only delays are."""
SEARCH_WORK = 1500
"""Tasks placed in a search, all tries together."""
DELAYS = tuple(60 * minutes for minutes in range(1, 16))
"""Seconds that a task is held back for, to try whether others then fit better."""


@dataclass(frozen=True, slots=True)
class Use:
    """That a task holds one of a resource, from so long after its start for so long."""

    resource: str
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
    """

    id: TaskId
    length: int
    uses: tuple[Use, ...] = ()
    needs: tuple[tuple[TaskId, int], ...] = ()
    rank: int = 0


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
        at_least: No order whatever ends sooner than this.
    """

    placed: Mapping[TaskId, Placed]
    makespan: int
    at_least: int

    @property
    def ends(self) -> int:
        """The ends of all tasks, added up."""
        return sum(each.end for each in self.placed.values())


class _Unit:
    """One piece of equipment and when it is held; spans that touch are kept as one."""

    def __init__(self) -> None:
        self.starts: list[int] = []
        self.ends: list[int] = []

    def find_free(self, start: int, length: int) -> int:
        """Give the earliest time from `start` at which it is free for so long."""
        starts, ends = self.starts, self.ends
        index = bisect_right(ends, start)  # the first span that ends later
        while index < len(starts) and starts[index] < start + length:
            start = max(start, ends[index])
            index += 1
        return start

    def hold(self, start: int, length: int) -> None:
        """Hold it for a span in which it is free."""
        if not length:
            return
        starts, ends = self.starts, self.ends
        end = start + length
        index = bisect_right(ends, start)
        if index and ends[index - 1] == start:
            ends[index - 1] = end
            if index < len(starts) and starts[index] == end:
                ends[index - 1] = ends[index]
                del starts[index], ends[index]
        elif index < len(starts) and starts[index] == end:
            starts[index] = start
        else:
            starts.insert(index, start)
            ends.insert(index, end)


def place_tasks(tasks: Sequence[Task], capacities: Mapping[str, int]) -> Schedule:
    """Place tasks so that the last ends soon.

    Args:
        tasks: Each after those it needs.
        capacities: How many there are of each resource.

    Returns:
        The best schedule found; the same tasks always give the same one.

    Raises:
        ValueError: If a task needs one that does not stand before it, or a resource there is none
            of.

    Example:
        Three batches of (5, 6, 45), (8, 9, 30) and (2, 4, 60) s before, at and after the one
        machine they share end after 66 s, the third going first.
    """
    _refuse_nonsense(tasks, capacities)
    heads, tails = _find_heads(tasks), _find_tails(tasks)
    at_least = _bound(tasks, capacities, heads, tails)
    order = {task.id: number for number, task in enumerate(tasks)}
    rules = (
        lambda task: (-tails[task.id], order[task.id]),
        lambda task: (order[task.id],),
        lambda task: (heads[task.id], -tails[task.id], order[task.id]),
    )
    best: Schedule | None = None
    line: list[Task] = []
    for rule in rules:
        tried = _arrange(tasks, {task.id: (task.rank, *rule(task)) for task in tasks})
        found = _place_in_order(tried, capacities, at_least)
        if best is None or found.makespan < best.makespan:
            best, line = found, tried
        if best.makespan == at_least:
            return best
    assert best is not None
    return _search(tasks, line, best, capacities) if len(tasks) > 1 else best


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
    capacities: Mapping[str, int],
    heads: Mapping[TaskId, int],
    tails: Mapping[TaskId, int],
) -> int:
    """Give a time before which not everything can be done.

    No sooner than the longest chain, nor than each resource needs for all its work between the
    earliest it can begin and the least that must follow.
    """
    bound = max((heads[task.id] + tails[task.id] for task in tasks), default=0)
    work: dict[str, int] = {}
    before: dict[str, int] = {}
    after: dict[str, int] = {}
    for task in tasks:
        for use in task.uses:
            name = use.resource
            head = heads[task.id] + use.after
            tail = tails[task.id] - use.after - use.length
            work[name] = work.get(name, 0) + use.length
            before[name] = min(before.get(name, head), head)
            after[name] = min(after.get(name, tail), tail)
    for name, length in work.items():
        bound = max(bound, before[name] + -(-length // capacities[name]) + max(0, after[name]))
    return bound


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


def _place_in_order(
    line: Sequence[Task],
    capacities: Mapping[str, int],
    at_least: int,
    delays: Mapping[TaskId, int] = MappingProxyType({}),
) -> Schedule:
    units = {name: [_Unit() for _ in range(count)] for name, count in capacities.items()}
    placed: dict[TaskId, Placed] = {}
    for task in line:
        start = max((placed[name].end + wait for name, wait in task.needs), default=0)
        start, held = _find_place(task, start + delays.get(task.id, 0), units)
        for use, number in zip(task.uses, held, strict=True):
            units[use.resource][number].hold(start + use.after, use.length)
        placed[task.id] = Placed(task, start, held)
    makespan = max((each.end for each in placed.values()), default=0)
    return Schedule(placed, makespan, at_least)


def _find_place(
    task: Task, start: int, units: Mapping[str, Sequence[_Unit]]
) -> tuple[int, tuple[int, ...]]:
    """Find the earliest start at which every use finds one of its resource free."""
    while True:
        later = start
        held: list[int] = []
        taken: list[tuple[str, int, int, int]] = []
        for use in task.uses:
            wanted = start + use.after
            offers = [
                (_after_own(unit.find_free(wanted, use.length), use, number, taken), number)
                for number, unit in enumerate(units[use.resource])
            ]
            free, number = min(offers)
            later = max(later, free - use.after)
            held.append(number)
            taken.append((use.resource, number, wanted, wanted + use.length))
        if later == start:
            return start, tuple(held)
        start = later


def _after_own(free: int, use: Use, number: int, taken: Sequence[tuple[str, int, int, int]]) -> int:
    """Keep a task from holding the same piece twice at once."""
    for resource, unit, begin, end in taken:
        if (resource, unit) == (use.resource, number) and begin < free + use.length and free < end:
            free = end
    return free


def _search(
    tasks: Sequence[Task], line: list[Task], best: Schedule, capacities: Mapping[str, int]
) -> Schedule:
    """Hold tasks back or exchange two in the line, one at a time, and keep what is no worse."""
    chance = random.Random(0)
    place = {task.id: number for number, task in enumerate(line)}
    delays: dict[TaskId, int] = {}
    for _ in range(SEARCH_WORK // len(tasks)):
        moved, held = dict(place), dict(delays)
        if len(tasks) <= SEARCH_TASKS and chance.random() < 0.7:
            one, other = chance.sample(tasks, 2)
            moved[one.id], moved[other.id] = moved[other.id], moved[one.id]
        else:
            task = chance.choice(tasks)
            if not held.pop(task.id, 0):
                held[task.id] = chance.choice(DELAYS)
        tried = _arrange(tasks, {task.id: (task.rank, moved[task.id]) for task in tasks})
        found = _place_in_order(tried, capacities, best.at_least, held)
        # Of two that end together the one with more room at its end: it leads on to shorter ones.
        if (found.makespan, found.ends) <= (best.makespan, best.ends):
            best, place, delays = found, moved, held
        if best.makespan == best.at_least:
            break
    return best
