"""One answer to "how many?": when each session ends with one to four of what is scarce.

Each row is planned quickly, with nothing left for later: what is left in one row and done in the
other would make ends that cannot be compared. More of a thing never makes a session longer, as some
may be left unused, so a row is never later than the one with fewer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from builder.library import Library
from builder.planning.room import TEACHER
from builder.planning.sessions import ClassRun, plan_sessions

MOST = 4
"""So many of each are tried."""


@dataclass(frozen=True, slots=True)
class Scarce:
    """What a class takes turns at.

    Args:
        shared: Its id; `teacher` stands for the hands of teacher and helpers.
        name: For people.
        there: How many the class has.
        ends: For one to four of it, when all of each session is done and nothing is left for later,
            in seconds from its start; None where a session cannot be held so.
    """

    shared: str
    name: str
    there: int
    ends: Mapping[int, tuple[int | None, ...]]


def count_how_many(library: Library, run: ClassRun) -> tuple[Scarce, ...]:
    """Plan a class with one to four of each thing that its plan takes turns at.

    Args:
        library: The course.
        run: The plan as it is.

    Returns:
        What makes any difference, by name.
    """
    used = {hold.shared for held in run.sessions for turn in held.turns for hold in turn.holds} | {
        TEACHER for held in run.sessions for chore in held.chores if chore.kind == "show"
    }
    rows = []
    for shared in sorted(used):
        room = next(held.room for held in run.sessions if shared in held.room.shared)
        told = room.shared[shared]
        ends = _try_counts(library, run, shared, told.count)
        if len({tuple(row) for row in ends.values()}) > 1:
            rows.append(Scarce(shared, told.name, told.count, ends))
    return tuple(sorted(rows, key=lambda row: row.name))


def _try_counts(
    library: Library, run: ClassRun, shared: str, there: int
) -> dict[int, tuple[int | None, ...]]:
    planned = run.planned
    own = tuple(held.whole for held in run.sessions)
    ends: dict[int, tuple[int | None, ...]] = {}
    before: tuple[int | None, ...] = (None,) * len(own)
    for count in range(1, MOST + 1):
        if shared == TEACHER:
            changed = planned.model_copy(update={"helpers": count - 1})
        else:
            numbers = {**planned.resources, shared: count}
            changed = planned.model_copy(update={"resources": numbers})
        tried = plan_sessions(library, changed, work=0)
        row = []
        for place, held in enumerate(tried.sessions):
            offers = [before[place], None if held.clashing else held.whole]
            if count >= there:
                offers.append(own[place])
            row.append(min((each for each in offers if each is not None), default=None))
        before = ends[count] = tuple(row)
    if there <= MOST:
        ends[there] = own
    return ends
