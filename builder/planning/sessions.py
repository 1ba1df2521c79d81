"""The run of each session of a class: who does which step when, and who has the shared equipment.

Every student does every step. What a session has no time left for, because it must first set or
dry, is done at the start of a later one, as soon as its wait is over on the calendar.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import pairwise

from builder.library import Library
from builder.model import Lesson, PlannedClass
from builder.model.lessons import Session
from builder.planning.blocks import Block, Surplus, split_lesson
from builder.planning.calendar import count_seconds, find_start, find_zone, move_on
from builder.planning.room import TEACHER, ClassRoom, furnish_room, keep_apart, survey_room
from builder.planning.schedule import SEARCH_WORK, Room, Schedule, Task, Use, place_tasks


@dataclass(frozen=True, slots=True)
class Hold:
    """One of what is shared, in use.

    Args:
        shared: Its id.
        unit: Which one of it, counted from 1; of what takes several pieces, which place.
        start: In seconds from the start of the session.
        end: Likewise.
    """

    shared: str
    unit: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Turn:
    """One step of one student.

    Args:
        student: Counted from 1.
        lesson: Id of the lesson.
        step: Its place in the lesson, from 0.
        start: In seconds from the start of the session.
        end: Likewise.
        holds: What is in use for it.
        group: All students who do it together, this one among them.
        visit: Which of the lessons of the class it belongs to, counted from 1.
    """

    student: int
    lesson: str
    step: int
    start: int
    end: int
    holds: tuple[Hold, ...] = ()
    group: tuple[int, ...] = ()
    visit: int = 0


@dataclass(frozen=True, slots=True)
class Chore:
    """Work that belongs to no step: a demonstration, or washing up between two lessons.

    Args:
        kind: "show" or "wash".
        students: Who is busy with it.
        lesson: Id of the lesson it belongs to.
        start: In seconds from the start of the session.
        end: Likewise.
        visit: Which of the lessons of the class it belongs to, counted from 1.
    """

    kind: str
    students: tuple[int, ...]
    lesson: str
    start: int
    end: int
    visit: int = 0


@dataclass(frozen=True, slots=True)
class Between:
    """Work that whoever keeps the room does between two sessions.

    Args:
        lesson: Id of the lesson.
        steps: Places of its steps in the lesson, from 0.
        students: Whose pieces.
        shared: Id of what is filled.
        unit: Which one of it, counted from 1.
        start: On the clock.
        end: When it may be emptied, on the clock.
    """

    lesson: str
    steps: tuple[int, ...]
    students: tuple[int, ...]
    shared: str
    unit: int
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Waiting:
    """What sets, dries or cures after the end of a session.

    Args:
        lesson: Id of the lesson.
        step: The step whose wait it is, from 0.
        until: When the last of it is over, on the clock.
        home: Whether the pieces are taken home meanwhile.
        last: Whether nothing of the lesson is left to do afterwards.
    """

    lesson: str
    step: int
    until: datetime
    home: bool
    last: bool


@dataclass(frozen=True, slots=True)
class Unmet:
    """That a session, or the end of the class, comes before a wait is over.

    Args:
        lesson: Id of the lesson that waits.
        step: The step whose wait it is, from 0.
        until: When it is over, on the clock.
        wanted: When it would have to be over.
        session: The session that needs it, from 0; None where the class ends before.
        by: Id of the lesson that needs it.
        steps: Steps of the waiting lesson that are left undone.
    """

    lesson: str
    step: int
    until: datetime
    wanted: datetime
    session: int | None
    by: str
    steps: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """The run of one session.

    Args:
        session: As planned.
        start: When it begins, with the zone, if there is one.
        room: What is shared in it.
        turns: All steps of all students, by start.
        chores: What they do besides.
        talk: Seconds before anyone begins.
        clean_up: Seconds after the last has done.
        makespan: When the last student is done and all is tidied, in seconds from the start.
        whole: When that would be if nothing were left.
        at_least: A bound: no plan under the same conditions ends sooner, and perhaps none as soon.
        brought: Steps done that an earlier session left, as (lesson, step).
        left: Steps of this class's lessons that are left for later.
        waiting: What waits beyond its end.
        between: What is done until the next.
        heats: When anything heats in the room, as (start, end) in seconds from the start.
        opens: When anyone handles a flammable in the open, likewise.
        clashing: Steps at which heat could not be kept apart from a flammable, or comes after all
            heat is to be off, as (lesson, step).
    """

    session: Session
    start: datetime
    room: ClassRoom
    turns: tuple[Turn, ...]
    chores: tuple[Chore, ...]
    talk: int
    clean_up: int
    makespan: int
    whole: int
    at_least: int
    brought: tuple[tuple[str, int], ...]
    left: tuple[tuple[str, int], ...]
    waiting: tuple[Waiting, ...] = ()
    between: tuple[Between, ...] = ()
    heats: tuple[tuple[int, int], ...] = ()
    opens: tuple[tuple[int, int], ...] = ()
    clashing: tuple[tuple[str, int], ...] = ()

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
        busy = [(each.start, each.end, each.student) for each in self.turns]
        busy += [(each.start, each.end, one) for each in self.chores for one in each.students]
        last: dict[int, int] = {}
        longest = (0, 0)
        for start, end, student in sorted(busy):
            before = last.get(student, self.talk)
            longest = max(longest, (start - before, -student))
            last[student] = max(before, end)
        return longest[0], -longest[1]


@dataclass(frozen=True)
class ClassRun:
    """The run of a whole class.

    Args:
        planned: The class.
        sessions: Its sessions, in order.
        unmet: Waits that it does not keep.
        surplus: Where a lesson takes more of something shared than there is.
    """

    planned: PlannedClass
    sessions: tuple[SessionPlan, ...]
    unmet: tuple[Unmet, ...]
    surplus: tuple[tuple[str, Surplus], ...]


@dataclass
class _Visit:
    """A lesson of a class and how far it has come.

    Args:
        number: Which of the lessons of the class it is, counted from 1.
        lesson: The lesson.
        blocks: Its blocks.
        done: How many of them are done.
        ends: For each student, when the last of them ended, in seconds from the first session.
    """

    number: int
    lesson: Lesson
    blocks: tuple[Block, ...]
    done: int = 0
    ends: dict[int, int] = field(default_factory=dict)

    @property
    def open(self) -> tuple[Block, ...]:
        """The blocks that are not done."""
        return self.blocks[self.done :]

    @property
    def wait(self) -> int:
        """The wait after what was done last."""
        return self.blocks[self.done - 1].wait if self.done else 0

    def find_ready(self, student: int) -> int:
        """Give when a student may go on, in seconds from the first session."""
        return self.ends.get(student, 0) + self.wait


class _Planner:
    """Plans one session after the other."""

    def __init__(self, library: Library, planned: PlannedClass, work: int) -> None:
        self.library = library
        self.survey = survey_room(library)
        self.planned = planned
        self.work = work
        self.zone = find_zone(library, planned)
        self.starts = [find_start(each, self.zone) for each in planned.sessions]
        self.visits: list[_Visit] = []
        self.busy: dict[str, list[int]] = {}
        self.unmet: list[Unmet] = []
        self.surplus: dict[tuple[str, Surplus], None] = {}

    @property
    def students(self) -> range:
        return range(1, self.planned.students + 1)

    def clock(self, seconds: int) -> datetime:
        """Give the time on the clock so many seconds after the first session began."""
        return move_on(self.starts[0], seconds)

    def run(self) -> ClassRun:
        plans = [self.plan_session(number) for number in range(len(self.planned.sessions))]
        self.check_end(plans[-1])
        return ClassRun(self.planned, tuple(plans), tuple(self.unmet), tuple(self.surplus))

    def plan_session(self, number: int) -> SessionPlan:
        session = self.planned.sessions[number]
        offset = count_seconds(self.starts[0], self.starts[number])
        carried = [visit for visit in self.visits if visit.open]
        named = [self.library.lessons[n] for n in session.lessons if n in self.library.lessons]
        room = furnish_room(
            self.survey, [*(visit.lesson for visit in carried), *named], self.planned
        )
        new: list[_Visit] = []
        for lesson in named:
            split = split_lesson(room, lesson)
            self.surplus.update({(lesson.id, each): None for each in split.surplus})
            visit = _Visit(len(self.visits) + len(new) + 1, lesson, ())
            visit.blocks = tuple(replace(each, visit=visit.number) for each in split.blocks)
            new.append(visit)
        made = _Evening(self, number, offset, room, carried, new).plan()
        self.visits.extend(new)
        return made

    def check_end(self, last: SessionPlan) -> None:
        """Note what the end of the class leaves undone, or waiting."""
        end = count_seconds(self.starts[0], last.start) + round(last.session.length.base)
        for visit in self.visits:
            if visit.done:
                step = visit.blocks[visit.done - 1].steps[-1].step
                until = max(visit.find_ready(student) for student in self.students)
                home = visit.lesson.steps[step].home
                if not home and (visit.open or until > end):
                    self._report_end(visit, step, until, end)

    def _report_end(self, visit: _Visit, step: int, until: int, end: int) -> None:
        steps = tuple(each.step for block in visit.open for each in block.steps)
        self.unmet.append(
            Unmet(
                visit.lesson.id,
                step,
                self.clock(until),
                self.clock(end),
                None,
                visit.lesson.id,
                steps,
            )
        )


class _Evening:
    """Plans one session."""

    def __init__(
        self,
        planner: _Planner,
        number: int,
        offset: int,
        room: ClassRoom,
        carried: list[_Visit],
        new: list[_Visit],
    ) -> None:
        self.planner = planner
        self.number = number
        self.session = planner.planned.sessions[number]
        self.offset = offset
        self.room = room
        self.carried = carried
        self.new = new
        planned = planner.planned
        self.talk = _read_seconds(self.session.talk or planned.talk)
        self.clean_up = _read_seconds(self.session.clean_up or planned.clean_up)
        self.length = round(self.session.length.base) - self.clean_up
        self.gates = {visit.number: self._find_gates(visit) for visit in new}

    def plan(self) -> SessionPlan:
        left: list[Block] = []
        whole = 0
        while True:
            tasks = self._list_tasks(left)
            found = place_tasks(tasks, self._describe_room(tasks), work=self.planner.work)
            whole = whole or found.makespan
            late = self._find_late(found, left)
            if not late:
                break
            left.extend(late)
        return self._finish(found, left, whole)

    # What must be over before a lesson begins.

    def _find_gates(self, visit: _Visit) -> list[_Visit]:
        """Find the earlier lessons of the class that a lesson waits for: their last wait counts."""
        carried_on = {each.from_lesson for each in visit.lesson.materials if each.from_lesson}
        gates: dict[str, _Visit] = {}
        for earlier in (*self.planner.visits, *self.new):
            if earlier.number >= visit.number:
                break
            name, last = earlier.lesson.id, earlier.lesson.steps[-1]
            needed = name in visit.lesson.prerequisites and last.wait and not last.home
            if name in carried_on or needed:
                gates[name] = earlier
        return list(gates.values())

    def _list_tasks(self, left: Sequence[Block]) -> list[Task]:
        """List the tasks of a session: what was left before, then the lessons in order."""
        tasks: list[Task] = []
        last: dict[int, tuple[tuple[object, int], ...]] = dict.fromkeys(self.planner.students, ())
        washing = self._find_washing()
        finals: dict[int, dict[int, tuple[object, int]]] = {}
        for visit in (*self.carried, *self.new):
            kept = [block for block in visit.open if block not in left]
            is_new = visit in self.new
            before = dict(last)
            ready = {n: self._find_ready(visit, n, kept) for n in self.planner.students}
            needs_more: dict[int, list[tuple[object, int]]] = {n: [] for n in self.planner.students}
            if is_new and kept:
                self._add_gates(visit, finals, needs_more)
                self._add_demonstration(visit, tasks, before)
            for place, block in enumerate(kept):
                # What has had to set comes when its time has come, after the first work of all.
                waited = block.part > 0 if is_new else block.part > kept[0].part
                waited = waited or (not is_new and max(ready.values()) > self.talk)
                rank = int(waited)
                for group in _make_groups(self.planner.planned.students, block.together):
                    needs = dict.fromkeys(need for n in group for need in before[n])
                    if not place:
                        needs |= dict.fromkeys(need for n in group for need in needs_more[n])
                    start = max(ready[n] for n in group) if not place else self.talk
                    task = self._make_task(block, group, tuple(needs), rank, start)
                    tasks.append(task)
                    for n in group:
                        before[n] = ((task.id, block.wait),)
                        if not waited:
                            last[n] = ((task.id, 0),)
                        finals.setdefault(visit.number, {})[n] = (task.id, block.wait)
            if visit.number in washing and kept:
                self._add_washing(visit, washing[visit.number], kept, tasks, last)
        return tasks

    def _find_ready(self, visit: _Visit, student: int, kept: Sequence[Block]) -> int:
        """Give the earliest time of a student's first block, in seconds from the start."""
        ready = self.talk
        if visit.done and kept:
            ready = max(ready, visit.find_ready(student) - self.offset)
        if visit in self.new:
            for gate in self.gates[visit.number]:
                if gate not in self.new and not gate.open:
                    over = gate.find_ready(student) - self.offset
                    if over <= self.length:  # else it is reported, and the plan goes on
                        ready = max(ready, over)
        return ready

    def _add_gates(
        self,
        visit: _Visit,
        finals: Mapping[int, Mapping[int, tuple[object, int]]],
        needs: Mapping[int, list[tuple[object, int]]],
    ) -> None:
        """Let a lesson wait for the end of another that is done in the same session."""
        for gate in self.gates[visit.number]:
            ends = finals.get(gate.number, {})
            for student, (task, wait) in ends.items():
                if wait <= self.length:
                    needs[student].append((task, wait))

    def _add_demonstration(
        self,
        visit: _Visit,
        tasks: list[Task],
        before: dict[int, tuple[tuple[object, int], ...]],
    ) -> None:
        shown = _read_seconds(visit.lesson.demonstration)
        if not shown:
            return
        students = tuple(self.planner.students)
        uses = [Use(_name_student(n), 0, shown) for n in students]
        needs = dict.fromkeys(need for n in students for need in before[n])
        task = Task(
            ("show", students, visit.number),
            shown,
            (*uses, Use(TEACHER, 0, shown)),
            tuple(needs),
            ready=self.talk,
        )
        tasks.append(task)
        for n in students:
            before[n] = ((task.id, 0),)

    def _find_washing(self) -> dict[int, int]:
        """Find the lessons after which vessels are washed for a later one, and for how long."""
        tools = self.room.library.tools
        washing: dict[int, int] = {}
        for place, visit in enumerate(self.new):
            later = {
                name for other in self.new[place + 1 :] for name in other.lesson.vessels.values()
            }
            length = sum(
                _read_seconds(tools[name].wash)
                for name in visit.lesson.vessels.values()
                if name in later and name in tools
            )
            if length:
                washing[visit.number] = length
        return washing

    def _add_washing(
        self,
        visit: _Visit,
        length: int,
        kept: Sequence[Block],
        tasks: list[Task],
        last: dict[int, tuple[tuple[object, int], ...]],
    ) -> None:
        """Add the washing up: after the first part, with the vessels it emptied."""
        together = max(block.together for block in kept)
        for group in _make_groups(self.planner.planned.students, together):
            washer = group[0]
            task = Task(
                ("wash", group, visit.number),
                length,
                (Use(_name_student(washer), 0, length),),
                tuple(dict.fromkeys(need for n in group for need in last[n])),
                ready=self.talk,
            )
            tasks.append(task)
            last[washer] = ((task.id, 0),)

    def _make_task(
        self,
        block: Block,
        group: tuple[int, ...],
        needs: tuple[tuple[object, int], ...],
        rank: int,
        ready: int,
    ) -> Task:
        own = [Use(_name_student(n), 0, block.length) for n in group]
        name = (block.id, group)
        uses = (*own, *block.uses)
        return Task(name, block.length, uses, needs, rank, ready, block.marks, block.closes)

    def _describe_room(self, tasks: Iterable[Task]) -> Room:
        capacities = {name: each.places for name, each in self.room.shared.items()}
        capacities |= {_name_student(n): 1 for n in self.planner.students}
        busy = {
            name: [until - self.offset for until in held]
            for name, held in self.planner.busy.items()
        }
        kinds = {mark.kind for task in tasks for mark in task.marks}
        zones = {kind.partition("@")[2] for kind in kinds}
        apart = keep_apart(self.room, zones)
        closed = frozenset(kind for kind in apart if kind.startswith("heat@"))
        return Room(capacities, busy, apart, closed)

    # What is left for later.

    def _find_late(self, found: Schedule, left: Sequence[Block]) -> list[Block]:
        """Find what must be left: of the last lesson concerned, the first part that ends too late.

        Only what comes after a long wait can be left, or what may be done between sessions, and it
        is left by the whole class.
        """
        ends: dict[tuple[int, int], int] = {}
        for name, placed in found.placed.items():
            if isinstance(name, tuple) and len(name) == 2:
                ends[name[0]] = max(ends.get(name[0], 0), placed.end)
        for visit in reversed((*self.carried, *self.new)):
            blocks = [block for block in visit.open if block not in left]
            waited = visit in self.carried and any(
                self._find_ready(visit, n, blocks) > self.talk for n in self.planner.students
            )
            for block in blocks:
                leavable = waited or block.unattended
                leavable = leavable or (block.part > 0 and visit in self.new)
                if leavable and ends[block.id] > self.length:
                    return [
                        each
                        for each in blocks
                        if each.number >= block.number
                        or (block.part == each.part and block.part > 0 and not block.unattended)
                    ]
        return []

    # What comes out.

    def _finish(self, found: Schedule, left: Sequence[Block], whole: int) -> SessionPlan:
        blocks = {block.id: block for visit in (*self.carried, *self.new) for block in visit.open}
        turns = _list_turns(found, blocks)
        brought, leaving = [], []
        for visit in (*self.carried, *self.new):
            done = [block for block in visit.open if block not in left]
            if visit in self.carried:
                brought += [(block.lesson, step.step) for block in done for step in block.steps]
            self._record(visit, done, found)
            leaving += [(block.lesson, step.step) for block in visit.open for step in block.steps]
        self._check_gates()
        self._keep_busy(found)
        between = self._fill_between()
        rows = {block.id: self._list_hot(block) for block in blocks.values()}
        clashing = [
            row
            for name in found.clashing
            if isinstance(name, tuple) and len(name) == 2
            for row in rows[name[0]]
        ]
        tidy = self.clean_up if found.placed else 0
        return SessionPlan(
            self.session,
            self.planner.starts[self.number],
            self.room,
            turns,
            _list_chores(found, {visit.number: visit.lesson.id for visit in self.new}),
            self.talk,
            self.clean_up,
            found.makespan + tidy,
            whole + tidy,
            found.at_least + tidy,
            tuple(brought),
            tuple(leaving),
            self._list_waiting(),
            between,
            _join_marks(found, "heat@"),
            _join_marks(found, "open@"),
            tuple(dict.fromkeys(clashing)),
        )

    def _list_hot(self, block: Block) -> list[tuple[str, int]]:
        """List the steps of a block that heat."""
        steps = self.room.library.lessons[block.lesson].steps
        return [
            (block.lesson, each.step)
            for each in block.steps
            if any(self.room.heats(action) for action in steps[each.step].actions)
        ]

    def _record(self, visit: _Visit, done: Sequence[Block], found: Schedule) -> None:
        """Note how far a lesson has come."""
        if not done:
            return
        visit.done += len(done)
        for name, placed in found.placed.items():
            if isinstance(name, tuple) and len(name) == 2 and name[0] == done[-1].id:
                for student in name[1]:
                    visit.ends[student] = self.offset + placed.end

    def _keep_busy(self, found: Schedule) -> None:
        """Note what stays in use after the session."""
        for placed in found.placed.values():
            for use, unit in zip(placed.task.uses, placed.units, strict=True):
                shared = self.room.shared.get(use.resource)
                if shared is not None and use.resource != TEACHER:
                    held = self.planner.busy.setdefault(use.resource, [])
                    held.extend([0] * (shared.places - len(held)))
                    until = self.offset + placed.start + use.after + use.length
                    held[unit] = max(held[unit], until)

    def _check_gates(self) -> None:
        """Note the waits that a lesson of this session does not keep."""
        planner = self.planner
        for visit in self.new:
            for gate in self.gates[visit.number]:
                step = gate.blocks[gate.done - 1].steps[-1].step if gate.done else 0
                until = max((gate.find_ready(n) for n in planner.students), default=0)
                begin = self.offset + self.length
                in_time = not gate.open and until <= begin
                if gate.done and not in_time:
                    planner.unmet.append(
                        Unmet(
                            gate.lesson.id,
                            step,
                            planner.clock(until),
                            planner.starts[self.number],
                            self.number,
                            visit.lesson.id,
                            tuple(each.step for block in gate.open for each in block.steps),
                        )
                    )

    def _fill_between(self) -> tuple[Between, ...]:
        """Fill what may be filled between sessions, one filling after the other."""
        made: list[Between] = []
        for visit in (*self.carried, *self.new):
            while visit.done and visit.open and visit.open[0].unattended:
                made.extend(self._fill(visit, visit.open[0]))
                visit.done += 1
        return tuple(sorted(made, key=lambda each: each.start))

    def _fill(self, visit: _Visit, block: Block) -> list[Between]:
        planner = self.planner
        made: list[Between] = []
        uses = [use for use in block.uses if use.resource != TEACHER]
        use = max(uses, key=lambda each: each.length)
        held = planner.busy.setdefault(use.resource, [])
        held.extend([0] * (self.room.shared[use.resource].places - len(held)))
        ends: dict[int, int] = {}
        for group in _make_groups(planner.planned.students, block.together):
            ready = max(visit.find_ready(student) for student in group)
            unit = min(range(len(held)), key=lambda n: max(held[n], ready))
            start = max(ready, held[unit] - use.after)
            held[unit] = start + use.after + use.length
            ends.update(dict.fromkeys(group, start + block.length))
            made.append(
                Between(
                    visit.lesson.id,
                    tuple(each.step for each in block.steps),
                    group,
                    use.resource,
                    unit + 1,
                    planner.clock(start),
                    planner.clock(start + block.length + block.wait),
                )
            )
        visit.ends = ends
        return made

    def _list_waiting(self) -> tuple[Waiting, ...]:
        """List what waits beyond the end of the session."""
        planner = self.planner
        end = self.offset + round(self.session.length.base)
        rows = []
        for visit in (*self.carried, *self.new):
            if not visit.done:
                continue
            until = max(visit.find_ready(student) for student in planner.students)
            if until > end or visit.open:
                step = visit.blocks[visit.done - 1].steps[-1].step
                home = visit.lesson.steps[step].home
                when = planner.clock(max(until, end))
                rows.append(Waiting(visit.lesson.id, step, when, home, not visit.open))
        return tuple(rows)


def _read_seconds(duration: object) -> int:
    return round(duration.base) if duration is not None else 0  # type: ignore[attr-defined]


def _name_student(number: int) -> str:
    return f"student {number}"


def _make_groups(students: int, together: int) -> list[tuple[int, ...]]:
    """Divide the students into the fewest groups of so many at most, none much larger."""
    count = -(-students // together)
    bounds = [1 + students * n // count for n in range(count + 1)]
    return [tuple(range(low, high)) for low, high in pairwise(bounds)]


def plan_sessions(library: Library, planned: PlannedClass, *, work: int = SEARCH_WORK) -> ClassRun:
    """Plan every session of a class.

    Args:
        library: A course; lessons that are not there are left out.
        planned: One of its classes.
        work: How much is tried in each session to find a better order.
    """
    return _Planner(library, planned, work).run()


def _join_marks(found: Schedule, kind: str) -> tuple[tuple[int, int], ...]:
    """Join the stretches of one kind, whoever's they are."""
    joined: list[tuple[int, int]] = []
    for start, end in sorted(
        (placed.start + mark.after, placed.start + mark.after + mark.length)
        for placed in found.placed.values()
        for mark in placed.task.marks
        if mark.kind.startswith(kind)
    ):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return tuple(joined)


def _list_turns(found: Schedule, blocks: Mapping[tuple[int, int], Block]) -> tuple[Turn, ...]:
    turns: list[Turn] = []
    for name, placed in found.placed.items():
        if not (isinstance(name, tuple) and len(name) == 2):
            continue
        block, group = blocks[name[0]], name[1]
        units = [
            (
                use.resource,
                placed.start + use.after,
                placed.start + use.after + use.length,
                unit + 1,
            )
            for use, unit in zip(placed.task.uses, placed.units, strict=True)
        ]
        for step in block.steps:
            start = placed.start + step.after
            holds = []
            for use in step.uses:
                begin = placed.start + use.after
                end = begin + use.length
                unit = next(
                    unit
                    for resource, first, last, unit in units
                    if resource == use.resource and first <= begin and end <= last
                )
                holds.append(Hold(use.resource, unit, begin, end))
            turns.extend(
                Turn(
                    student,
                    block.lesson,
                    step.step,
                    start,
                    start + step.length,
                    tuple(holds),
                    group,
                    block.visit,
                )
                for student in group
            )
    return tuple(sorted(turns, key=lambda each: (each.start, each.student, each.end)))


def _list_chores(found: Schedule, lessons: Mapping[int, str]) -> tuple[Chore, ...]:
    chores = [
        Chore(name[0], name[1], lessons[name[2]], placed.start, placed.end, name[2])
        for name, placed in found.placed.items()
        if isinstance(name, tuple) and len(name) == 3
    ]
    return tuple(sorted(chores, key=lambda each: (each.start, each.students)))
