"""The sessions of a class as a calendar (RFC 5545), for anyone's diary.

An event keeps its identifier as long as its session keeps its place or its name, so a session that
is moved moves in the diary as well: its sequence number grows each time. With a time zone in the
class or the course, times carry it and clocks may change in between; without one they are local
times, and a class begins when the clock of the hall says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Any

from builder.library import Library
from builder.planning.calendar import move_on
from builder.planning.sessions import ClassRun, SessionPlan
from builder.planning.telling import name_steps

LONG_WAIT = 6 * 3600
"""Waits that go on for so many seconds after a session have an entry where they end."""


@dataclass(frozen=True, slots=True)
class Announced:
    """What a calendar written before says of an event.

    Args:
        start: When it began.
        sequence: How often it had been moved.
    """

    start: Any
    sequence: int


def read_announced(contents: bytes) -> dict[str, Announced]:
    """Read the events of a calendar written before; nothing, where it cannot be read."""
    from icalendar import Calendar

    try:
        events = Calendar.from_ical(contents).walk("VEVENT")
        return {
            str(event["uid"]): Announced(event.decoded("dtstart"), int(event.get("sequence", 0)))
            for event in events
        }
    except (ValueError, KeyError, TypeError, AttributeError):
        return {}


def make_calendar(
    library: Library, run: ClassRun, announced: Mapping[str, Announced] | None = None
) -> bytes:
    """Make the calendar of a class.

    Args:
        library: The course.
        run: The plan of one of its classes.
        announced: What the calendar said that was given out before.

    Returns:
        The `.ics` file, CRLF at the ends of lines; without the time of writing, so that the same
        class always gives the same file.
    """
    from icalendar import Calendar

    planned = run.planned
    calendar = Calendar()
    calendar.add("prodid", "-//Benchlore//EN")
    calendar.add("version", "2.0")
    calendar.add("name", planned.name)
    for number, held in enumerate(run.sessions, 1):
        calendar.add_component(_make_event(library, run, number, held, announced or {}))
    for number, held in enumerate(run.sessions, 1):
        for place, waiting in enumerate(held.waiting, 1):
            # What is over by the end of the day needs no entry of its own.
            if waiting.until >= move_on(held.start, held.session.length.base + LONG_WAIT):
                name = f"{planned.id}-{held.session.id or number}-wait-{place}"
                title = library.lessons[waiting.lesson].title
                summary = f"{title}: its wait is over"
                event = _begin_event(name, waiting.until, waiting.until, summary)
                event.add("description", name_steps(library, [(waiting.lesson, waiting.step)])[0])
                event.add("transp", "TRANSPARENT")
                calendar.add_component(event)
    if run.sessions[0].start.tzinfo is not None:
        calendar.add_missing_timezones()
    body = calendar.to_ical()
    assert isinstance(body, bytes)
    return body


def _begin_event(name: str, start: datetime, end: datetime, summary: str) -> Any:
    from icalendar import Event

    event = Event()
    event.add("uid", f"{name}@benchlore.invalid")
    # The standard wants a time of writing; the day of the event is one that does not change by
    # itself.
    event.add("dtstamp", datetime.combine(start.date(), time(), UTC))
    event.add("dtstart", start)
    event.add("dtend", end)
    event.add("summary", summary)
    return event


def _make_event(
    library: Library,
    run: ClassRun,
    number: int,
    held: SessionPlan,
    announced: Mapping[str, Announced],
) -> Any:
    from icalendar import Alarm

    planned, session = run.planned, held.session
    end = move_on(held.start, session.length.base)
    summary = f"{planned.name} ({number} of {len(run.sessions)})"
    event = _begin_event(f"{planned.id}-{session.id or number}", held.start, end, summary)
    before = announced.get(str(event["uid"]))
    event.add("sequence", count_moves(session.moved, before, held.start))
    lines = [library.lessons[name].title for name in session.lessons]
    lines += [f"First: {name}" for name in name_steps(library, held.brought)]
    lines += [f"Left for later: {name}" for name in name_steps(library, held.left)]
    lines += [
        f"Take home: {library.lessons[each.lesson].title}" for each in held.waiting if each.home
    ]
    event.add("description", "\n".join(lines))
    place = library.settings.place if library.settings else None
    if place:
        event.add("location", place)
    if planned.reminder is not None:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", summary)
        alarm.add("trigger", -timedelta(seconds=planned.reminder.base))
        event.add_component(alarm)
    return event


def count_moves(moved: int, before: Announced | None, start: datetime) -> int:
    """Count how often a session was moved: as it says, and once more where it has just been.

    Args:
        moved: As the class says.
        before: What was announced before, or None.
        start: When the session begins now.
    """
    if before is None:
        return moved
    known = before.start
    same = known == start if isinstance(known, datetime) else False
    if isinstance(known, datetime) and (known.tzinfo is None) == (start.tzinfo is None):
        same = known.replace(tzinfo=None) == start.replace(tzinfo=None) and same
    return max(moved, before.sequence + (not same))
