"""The sessions of a class as a calendar (RFC 5545), for anyone's diary.

Times are local times without a zone: a class begins when the clock of the hall says so.
"""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

from builder.library import Library
from builder.model import PlannedClass
from builder.planning.words import find_start


def make_calendar(library: Library, planned: PlannedClass) -> bytes:
    """Make the calendar of a class.

    Args:
        library: The course.
        planned: One of its classes.

    Returns:
        The `.ics` file, CRLF at the ends of lines; without the time of writing, so that the same
        class always gives the same file.
    """
    from icalendar import Calendar, Event

    course = library.settings
    calendar = Calendar()
    calendar.add("prodid", "-//Benchlore//EN")
    calendar.add("version", "2.0")
    calendar.add("name", planned.name)
    for number, session in enumerate(planned.sessions, 1):
        start = find_start(session)
        titles = [library.lessons[name].title for name in session.lessons]
        event = Event()
        event.add("uid", f"{planned.id}-{number}@benchlore.invalid")
        # The standard wants a time of writing; the day of the session is one that never changes.
        event.add("dtstamp", datetime.combine(session.date, time(), UTC))
        event.add("dtstart", start)
        event.add("dtend", start + timedelta(seconds=session.length.base))
        event.add("summary", f"{planned.name} ({number} of {len(planned.sessions)})")
        event.add("description", "\n".join(titles))
        if course and course.place:
            event.add("location", course.place)
        calendar.add_component(event)
    body = calendar.to_ical()
    assert isinstance(body, bytes)
    return body
