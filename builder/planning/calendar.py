"""When the sessions of a class are, on a real clock.

Times are told in the zone of the class. Between two sessions the time that really passes counts:
where clocks are changed in between, that is an hour more or less than the clock on the wall says.
A class without a zone is held by a clock that is never changed.
"""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from builder.library import Library
from builder.model import PlannedClass
from builder.model.lessons import Session


def find_zone(library: Library, planned: PlannedClass) -> ZoneInfo | None:
    """Give the time zone of a class, or None where neither it nor the course states one."""
    course = library.settings
    name = planned.timezone or (course.timezone if course else None)
    return ZoneInfo(name) if name else None


def find_start(session: Session, zone: ZoneInfo | None = None) -> datetime:
    """Give the time at which a session begins; with the zone, if there is one."""
    begun = time.fromisoformat(session.start)
    return datetime.combine(session.date, begun, tzinfo=zone)


def move_on(moment: datetime, seconds: float) -> datetime:
    """Give the time on the wall so many real seconds later."""
    if moment.tzinfo is None:
        return moment + timedelta(seconds=seconds)
    return (moment.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(moment.tzinfo)


def count_seconds(first: datetime, second: datetime) -> int:
    """Count the real seconds from one time to another, both with a zone or both without."""
    if first.tzinfo is not None:
        first, second = first.astimezone(UTC), second.astimezone(UTC)
    return round((second - first).total_seconds())
