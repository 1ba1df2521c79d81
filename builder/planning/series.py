"""A series of lessons: what leads to a skill, and what a term of evenings can hold.

The lessons come in the order of the course. A term is filled from its first evening on: into each
go the next lessons that its time allows, by the plan of a whole class with turns, waits and talk;
what must wait is waited for, and other lessons that do not need it come before.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from builder.library import Library
from builder.model import Lesson, PlannedClass
from builder.model.lessons import Session
from builder.planning.sessions import SessionPlan, plan_sessions
from builder.planning.words import write_date
from builder.twin.series import choose_lessons, sum_times
from builder.units import Quantity, parse_quantity

TERM_WORK = 8_000
"""How much is tried for each evening while a term is filled; a class is planned with more."""
FIRST_DAY = date(2001, 1, 1)
"""Stands for the first evening where no date is given; a Monday without a change of clocks near."""


@dataclass(frozen=True, slots=True)
class Series:
    """The lessons that lead to a goal.

    Args:
        lessons: Ids, in the order of the course.
        skipped: Lessons left out because all they teach is known.
        bench_seconds: Of one student, in all.
        wait_seconds: Waits in all, those at home too.
        reasons: For each lesson, what it is there for.
        carried: Pieces carried on, as (from, to).
    """

    lessons: tuple[str, ...]
    skipped: tuple[str, ...]
    bench_seconds: int
    wait_seconds: int
    reasons: Mapping[str, str]
    carried: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Evening:
    """One evening of a term.

    Args:
        number: Counted from 1.
        day: Its date, or None where none was given.
        lessons: Ids.
        plan: The run of it; None where nothing is held.
    """

    number: int
    day: date | None
    lessons: tuple[str, ...]
    plan: SessionPlan | None


@dataclass(frozen=True, slots=True)
class Unfitting:
    """A lesson that a term does not hold: why, and what would make it fit."""

    lesson: str
    why: str
    mend: str


@dataclass(frozen=True, slots=True)
class FilledTerm:
    """A term filled with lessons.

    Args:
        evenings: In order.
        unfitting: What it does not hold.
    """

    evenings: tuple[Evening, ...]
    unfitting: tuple[Unfitting, ...]


class SeriesError(Exception):
    """A series that cannot be planned; the text is a sentence for the teacher."""


def describe_lessons(library: Library, order: Sequence[str]) -> list[dict[str, Any]]:
    """Give the lessons as `builder.twin.series` reads them, in the order of the course."""
    return [_describe(library.lessons[name]) for name in order if name in library.lessons]


def _describe(lesson: Lesson) -> dict[str, Any]:
    carried = [each.from_lesson for each in lesson.materials if each.from_lesson]
    return {
        "id": lesson.id,
        "needs": list(dict.fromkeys((*lesson.prerequisites, *carried))),
        "assumes": list(lesson.assumes),
        "teaches": [outcome.skill for outcome in lesson.teaches],
        "bench": sum(round(step.time.base) for step in lesson.steps),
        "wait": sum(round(step.wait.base) for step in lesson.steps if step.wait),
    }


def _miss(name: str, skills: Collection[str], lessons: Collection[str]) -> str:
    """Word that a name is neither a skill nor a lesson, with the nearest one or else all skills."""
    near = difflib.get_close_matches(name, [*skills, *lessons], n=1, cutoff=0.7)
    hint = f'did you mean "{near[0]}"?' if near else f"the skills are {', '.join(sorted(skills))}"
    return f'no lesson teaches "{name}" and none is called so; {hint}'


def plan_series(
    library: Library, order: Sequence[str], goals: Sequence[str], known: Sequence[str] = ()
) -> Series:
    """Find the shortest set of lessons that leads to some skills or lessons.

    Args:
        library: The course.
        order: Its lessons, in order.
        goals: Ids of skills or lessons; none means every lesson.
        known: Skills that people bring; the id of a lesson stands for all it teaches.

    Raises:
        SeriesError: If a goal or a known skill is neither a skill nor a lesson of the course.
    """
    rows = describe_lessons(library, order)
    taught = {skill for row in rows for skill in row["teaches"]}
    for name in (*goals, *known):
        if name not in taught and name not in library.lessons:
            raise SeriesError(_miss(name, taught, library.lessons))
    brought = [
        skill
        for name in known
        for skill in (
            [outcome.skill for outcome in library.lessons[name].teaches]
            if name in library.lessons and name not in taught
            else [name]
        )
    ]
    named = [name for name in goals if name in library.lessons and name not in taught]
    if not goals:
        named = [row["id"] for row in rows if not set(row["teaches"]) <= set(brought)]
    skills = [name for name in goals if name in taught]
    chosen = list(choose_lessons(rows, skills, named, brought))
    full = choose_lessons(rows, skills, named, []) if goals else [row["id"] for row in rows]
    bench, wait = sum_times(rows, chosen)
    return Series(
        tuple(chosen),
        tuple(name for name in full if name not in chosen),
        round(bench),
        round(wait),
        {name: _explain(library, name, chosen, skills, named) for name in chosen},
        tuple(
            (each.from_lesson, name)
            for name in chosen
            for each in library.lessons[name].materials
            if each.from_lesson
        ),
    )


def _explain(
    library: Library,
    name: str,
    chosen: Sequence[str],
    skills: Collection[str],
    named: Collection[str],
) -> str:
    """Say what a lesson is in the set for."""
    lesson = library.lessons[name]
    if name in named:
        return "it is asked for"
    reached = [outcome.skill for outcome in lesson.teaches if outcome.skill in skills]
    if reached:
        return f"it teaches {', '.join(reached)}"
    own = {outcome.skill for outcome in lesson.teaches}
    needing = [
        other
        for other in chosen
        if name in library.lessons[other].prerequisites
        or own & set(library.lessons[other].assumes)
        or any(each.from_lesson == name for each in library.lessons[other].materials)
    ]
    titles = [library.lessons[other].title for other in needing]
    return f"it is needed by {', '.join(titles)}" if titles else "it is asked for"


class _TermFiller:
    """Fills a term, evening by evening."""

    def __init__(
        self,
        library: Library,
        base: PlannedClass,
        lessons: Sequence[str],
        days: Sequence[date],
        dated: bool,
    ) -> None:
        self.library = library
        self.base = base
        self.open = list(lessons)
        self.days = days
        self.dated = dated
        self.sessions: list[Session] = []
        self.reasons: dict[str, tuple[str, str]] = {}
        self.whole = list(lessons)

    def fill(self) -> FilledTerm:
        for number in range(len(self.days)):
            self._fill_evening(number)
        run = plan_sessions(self.library, self._make_class(self.sessions), work=TERM_WORK)
        evenings = [
            Evening(
                number,
                self.days[number - 1] if self.dated else None,
                session.lessons,
                held if held.turns or held.session.lessons else None,
            )
            for number, (session, held) in enumerate(
                zip(self.sessions, run.sessions, strict=True), 1
            )
        ]
        self._check_end(run.unmet)
        unfitting = [
            Unfitting(name, *self.reasons.get(name, self._say_no_room(name))) for name in self.open
        ]
        unfitting += [
            Unfitting(name, *told) for name, told in self.reasons.items() if name not in self.open
        ]
        return FilledTerm(tuple(evenings), tuple(unfitting))

    def _make_class(self, sessions: Sequence[Session]) -> PlannedClass:
        return self.base.model_copy(update={"sessions": tuple(sessions)})

    def _make_session(self, number: int, lessons: Sequence[str]) -> Session:
        template = self.base.sessions[0]
        update = {"date": self.days[number], "lessons": tuple(lessons)}
        return template.model_copy(update=update)

    def _fill_evening(self, number: int) -> None:
        held: list[str] = []
        blocked: set[str] = set()
        for name in list(self.open):
            lesson = self.library.lessons[name]
            needed = {*lesson.prerequisites}
            needed |= {each.from_lesson for each in lesson.materials if each.from_lesson}
            # What is skipped is known; what waits for a later evening holds up what needs it.
            if needed & (blocked | (set(self.open) - set(held))):
                blocked.add(name)
                continue
            reason = self._try(number, [*held, name])
            if reason is None:
                held.append(name)
                self.reasons.pop(name, None)
            else:
                blocked.add(name)
                if not held:  # of an evening that is partly full nothing is learned
                    self.reasons[name] = reason
        self.sessions.append(self._make_session(number, held))
        self.open = [name for name in self.open if name not in held]

    def _try(self, number: int, lessons: Sequence[str]) -> tuple[str, str] | None:
        """Try lessons in an evening; gives why they do not fit and what would mend it, or None."""
        planned = self._make_class([*self.sessions, self._make_session(number, lessons)])
        run = plan_sessions(self.library, planned, work=TERM_WORK)
        held = run.sessions[-1]
        for unmet in run.unmet:
            if unmet.session == number:
                until = write_date(unmet.until.date()) if self.dated else self._count_days(unmet)
                title = self.library.lessons[unmet.lesson].title
                return (
                    f"it needs {title}, which waits until {until}",
                    f"hold it on {until} or later",
                )
        if held.clashing:
            return (
                "heat could not be kept away from a flammable in reach",
                "let several heat together, or plan for fewer students",
            )
        if held.spare < 0:
            minutes = -(-held.makespan // 60)
            length = round(held.session.length.base / 60)
            students = planned.students
            fewer = self._find_fewer(number, lessons)
            mend = f"make the evening {minutes} min"
            if fewer:
                mend += f", or plan for {fewer} students"
            return f"with {students} students it takes {minutes} min of {length}", mend
        return None

    def _count_days(self, unmet: Any) -> str:
        days = (unmet.until.date() - FIRST_DAY).days
        return f"day {days} after the first evening"

    def _find_fewer(self, number: int, lessons: Sequence[str]) -> int:
        """Find with how many students it would fit, or 0."""
        low, high = 0, self.base.students - 1
        while low < high:
            middle = (low + high + 1) // 2
            sessions = [*self.sessions, self._make_session(number, lessons)]
            update = {"sessions": tuple(sessions), "students": middle}
            run = plan_sessions(self.library, self.base.model_copy(update=update), work=0)
            if run.sessions[-1].spare >= 0:
                low = middle
            else:
                high = middle - 1
        return low

    def _check_end(self, unmet: Sequence[Any]) -> None:
        """Say what the end of the term comes too early for."""
        for each in unmet:
            if each.session is None:
                until = write_date(each.until.date()) if self.dated else self._count_days(each)
                self.reasons.setdefault(
                    each.lesson,
                    (
                        f"it waits until {until}, after the last evening",
                        f"add an evening on {until} or later",
                    ),
                )

    def _say_no_room(self, name: str) -> tuple[str, str]:
        lesson = self.library.lessons[name]
        waiting = [each for each in lesson.prerequisites if each in self.open]
        if waiting:
            title = self.library.lessons[waiting[0]].title
            return f"it needs {title}, which does not fit either", "add evenings"
        return "the evenings before are full", "add an evening, or make them longer"


def plan_term(
    library: Library,
    series: Series,
    evenings: int,
    length: Quantity,
    *,
    students: int,
    first: date | None = None,
    every_days: int = 7,
    like: PlannedClass | None = None,
) -> FilledTerm:
    """Pack the lessons of a series into the evenings of a term.

    Args:
        library: The course.
        series: What is to be held.
        evenings: How many there are.
        length: Of each.
        students: How many come.
        first: Date of the first evening.
        every_days: From one evening to the next.
        like: A class whose times to talk and tidy, helpers and equipment are taken over.
    """
    begun = first or FIRST_DAY
    days = [begun + timedelta(days=every_days * number) for number in range(evenings)]
    session = Session.model_construct(
        id=None,
        date=days[0],
        start=like.sessions[0].start if like else "18:30",
        length=length,
        lessons=(),
        moved=0,
        set_up=None,
        talk=None,
        clean_up=None,
        notes=None,
    )
    taken = like.model_dump(include={"helpers", "resources"}) if like else {}
    base = PlannedClass.model_construct(
        id="term",
        draft=False,
        name="Term",
        summary="A term.",
        students=students,
        helpers=taken.get("helpers", 0),
        resources=taken.get("resources", {}),
        timezone=None if first is None or like is None else like.timezone,
        set_up=like.set_up if like else None,
        talk=like.talk if like else None,
        clean_up=like.clean_up if like else None,
        reminder=None,
        sessions=(session,),
        notes=None,
    )
    return _TermFiller(library, base, series.lessons, days, first is not None).fill()


def count_evenings(
    library: Library, series: Series, length: Quantity, *, students: int, **more: Any
) -> FilledTerm:
    """Pack a series into as many evenings as it needs, up to two for each lesson and wait."""
    most = 2 * len(series.lessons) + 4
    term = plan_term(library, series, most, length, students=students, **more)
    last = max((each.number for each in term.evenings if each.lessons), default=0)
    brought = max(
        (each.number for each in term.evenings if each.plan and each.plan.turns), default=0
    )
    return FilledTerm(term.evenings[: max(last, brought)], term.unfitting)


DEFAULT_LENGTH = parse_quantity("150 min")
"""Length of an evening where none is given."""
