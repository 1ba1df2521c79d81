"""What somebody who was absent has missed, and which later session has room for it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from builder.library import Library
from builder.planning.people import Person
from builder.planning.sessions import SessionPlan


@dataclass(frozen=True, slots=True)
class MakeUp:
    """The work that one person missed in one session.

    Args:
        person: Who.
        session: Which session, counted from 1.
        steps: What they missed, as (lesson, step), in the order of the run.
        minutes: How long it takes one person alone, one step after the other, waits included.
        room: Later sessions they come to whose spare time is no less, counted from 1.
        again: Later sessions they come to that do one of its lessons again.
    """

    person: Person
    session: int
    steps: tuple[tuple[str, int], ...]
    minutes: int
    room: tuple[int, ...]
    again: tuple[int, ...]


def find_make_up(
    library: Library, session_plans: Sequence[SessionPlan], people: Sequence[Person]
) -> tuple[MakeUp, ...]:
    """Find what each absent person has to make up, by session and then as listed.

    The time is that of the person's own turns and chores, and of the waits between them: nobody
    else is at the equipment after the others are done, so one after the other is enough.
    """
    found = []
    for number, held in enumerate(session_plans, 1):
        for person in people:
            if not person.number or number not in person.absent:
                continue
            turns = [turn for turn in held.turns if turn.student == person.number]
            if not turns:
                continue
            seconds = sum(turn.end - turn.start for turn in turns)
            seconds += sum(
                chore.end - chore.start for chore in held.chores if person.number in chore.students
            )
            for turn, later in pairwise(turns):
                wait = library.lessons[turn.lesson].steps[turn.step].wait
                if wait is not None and later.lesson == turn.lesson:
                    seconds += math.ceil(wait.base)
            lessons = {turn.lesson for turn in turns}
            steps = {(turn.lesson, turn.step) for turn in turns}
            comes = [
                (place, later)
                for place, later in enumerate(session_plans[number:], number + 1)
                if place not in person.absent
            ]
            found.append(
                MakeUp(
                    person,
                    number,
                    tuple((turn.lesson, turn.step) for turn in turns),
                    math.ceil(seconds / 60),
                    tuple(place for place, later in comes if later.spare >= seconds),
                    tuple(
                        place
                        for place, later in comes
                        if lessons & set(later.session.lessons)
                        and steps & {(turn.lesson, turn.step) for turn in later.turns}
                    ),
                )
            )
    return tuple(found)


def describe_make_up(work: MakeUp) -> dict[str, Any]:
    """Give the work that somebody missed, for a program."""
    return {
        "name": work.person.name,
        "student": work.person.number,
        "session": work.session,
        "steps": [{"lesson": lesson, "step": step + 1} for lesson, step in work.steps],
        "minutes": work.minutes,
        "room_in_sessions": list(work.room),
        "done_again_in_sessions": list(work.again),
    }


def say_make_up(library: Library, work: MakeUp) -> str:
    """Say who missed what, how long it takes and where there is room, in one line."""
    words = library.words
    missed: dict[str, list[str]] = {}
    for lesson, step in work.steps:
        missed.setdefault(library.lessons[lesson].title, []).append(
            library.lessons[lesson].steps[step].title
        )
    told = words.text(
        "class.make-up",
        name=work.person.name,
        steps="; ".join(f"{title} ({', '.join(steps)})" for title, steps in missed.items()),
        minutes=work.minutes,
    )
    if work.again:
        part = words.text("class.make-up-again", sessions=", ".join(map(str, work.again)))
    elif work.room:
        part = words.text("class.make-up-room", sessions=", ".join(map(str, work.room)))
    else:
        part = words.text("class.make-up-none")
    return f"{told} {part}"
