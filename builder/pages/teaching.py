"""Pages for the teacher: the index, and one page a planned class. Answer keys never come here."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from builder import figures
from builder.model import PlannedClass
from builder.model.lessons import Session
from builder.pages.class_needs import list_kit, list_needs, sum_prices
from builder.pages.context import Context
from builder.pages.lessons.views import LessonView, make_shelf
from builder.pages.parts import split_page
from builder.pages.prose import plain
from builder.pages.records import Page
from builder.pages.strip import write_time
from builder.pages.structured import Structured, describe_part, describe_thing

ADDRESS = "teaching/"
Views = Mapping[str, LessonView]
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def make_pages(context: Context) -> list[Page]:
    """Make these pages."""
    views = make_shelf(context.workings).views
    classes = context.library.classes.values()
    return [
        _make_index(context, views),
        *(_make_class_page(context, planned, views) for planned in classes),
    ]


def write_date(day: date) -> str:
    """Write a date for people: `Thursday 1 October 2026`."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def _find_end(session: Session) -> str:
    """Give the time of day at which a session ends."""
    start = datetime.combine(session.date, datetime.strptime(session.start, "%H:%M").time())
    return f"{start + timedelta(seconds=session.length.base):%H:%M}"


def _make_index(context: Context, views: Views) -> Page:
    classes = [
        (planned, write_date(planned.sessions[0].date))
        for planned in context.library.classes.values()
    ]
    html = context.render("teaching.html.j2", ADDRESS, classes=classes, views=views)
    lead, sections = split_page(str(html))
    return Page(
        address=ADDRESS,
        title="Teaching",
        description="For the teacher: planned classes, papers to print, rules of the checks.",
        lead=lead,
        sections=sections,
        kind="teaching",
        structured=(
            describe_thing(
                "CollectionPage",
                name="Teaching",
                audience=describe_part("EducationalAudience", educationalRole="teacher"),
            ),
        ),
    )


def _make_class_page(context: Context, planned: PlannedClass, views: Views) -> Page:
    library, currency = context.library, context.course.currency
    address = f"teaching/{planned.id}/"
    needs = list_needs(library, planned)
    total = sum_prices(needs)
    html = context.render(
        "class.html.j2",
        address,
        planned=planned,
        sessions=[
            (
                session,
                write_date(session.date),
                _find_end(session),
                [views[name] for name in session.lessons],
                write_time(sum(views[name].bench_seconds for name in session.lessons)),
            )
            for session in planned.sessions
        ],
        needs=[
            (need, write_price(need.price.base, currency) if need.price else "") for need in needs
        ],
        total=write_price(total, currency),
        share=write_price(total / planned.students, currency),
        kit=list_kit(library, planned),
    )
    lead, sections = split_page(str(html))
    return Page(
        address=address,
        title=planned.name,
        description=plain(planned.summary),
        lead=lead,
        sections=sections,
        kind="class",
        structured=(_describe_class(context, planned),),
    )


def write_price(amount: float, currency: str) -> str:
    """Write an amount of money, so that a column of them lines up: `6.00 EUR`.

    Args:
        amount: In the currency.
        currency: ISO 4217 code.
    """
    places = 0 if currency == "JPY" else 2  # the yen has no smaller unit in use
    return figures.join_unit(figures.format_number(amount, places), currency)


def _describe_class(context: Context, planned: PlannedClass) -> Structured:
    first, last = planned.sessions[0], planned.sessions[-1]
    return describe_thing(
        "CourseInstance",
        name=planned.name,
        description=plain(planned.summary),
        courseMode="onsite",
        startDate=first.date.isoformat(),
        endDate=last.date.isoformat(),
        maximumAttendeeCapacity=planned.students,
        location=describe_part("Place", name=context.course.place)
        if context.course.place
        else None,
    )
