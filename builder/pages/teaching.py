"""Pages for the teacher: the index, and one page a planned class. Answer keys never come here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from builder.model import PlannedClass
from builder.pages import series
from builder.pages.lesson_views import LessonView
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page
from builder.pages.schema_org import Structured, describe_part, describe_thing
from builder.planning.how_many import count_how_many
from builder.planning.plan import plan_class
from builder.planning.sessions import SessionPlan
from builder.planning.telling import list_steps, list_turns, name_steps, say_end, warn_of_heat
from builder.planning.words import write_clock, write_date, write_price

ADDRESS = "teaching/"
Views = Mapping[str, LessonView]


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    views = maker.shelf.views
    classes = maker.library.classes.values()
    return [
        _make_index(maker, views),
        series.make_page(maker),
        *(_make_class_page(maker, planned, views) for planned in classes),
    ]


def _make_index(maker: PageMaker, views: Views) -> Page:
    classes = [
        (planned, write_date(planned.sessions[0].date, maker.words))
        for planned in maker.library.classes.values()
    ]
    words = maker.words
    lead, sections = maker.make_parts("teaching.html.j2", ADDRESS, classes=classes, views=views)
    return Page(
        address=ADDRESS,
        title=words.text("teaching.title"),
        description=words.text("teaching.description"),
        lead=lead,
        sections=sections,
        kind="teaching",
        structured=(
            describe_thing(
                "CollectionPage",
                name=words.text("teaching.title"),
                audience=describe_part("EducationalAudience", educationalRole="teacher"),
            ),
        ),
    )


def _make_class_page(maker: PageMaker, planned: PlannedClass, views: Views) -> Page:
    library, currency = maker.library, maker.settings.currency
    address = f"teaching/{planned.id}/"
    plan = plan_class(library, planned, maker.course.plan_run(planned.id), currency)
    total = plan.to_buy
    lead, sections = maker.make_parts(
        "class.html.j2",
        address,
        planned=planned,
        sessions=[
            (
                session,
                write_date(session.date, maker.words),
                write_clock(held.start, session.length.base),
                [views[name] for name in session.lessons],
                _view_run(maker, held),
            )
            for session, held in zip(planned.sessions, plan.session_plans, strict=True)
        ],
        needs=[
            (need, write_price(need.price.base, currency) if need.price else "")
            for need in plan.needs
        ],
        scarce=[
            (
                row.name,
                count,
                count == row.there,
                [
                    "" if end is None else write_clock(held.start, end)
                    for held, end in zip(plan.session_plans, ends, strict=True)
                ],
            )
            for row in count_how_many(library, plan.run)
            for count, ends in sorted(row.ends.items())
        ],
        counted=[
            (need, write_price(need.price.base, currency) if need.price else "")
            for need in plan.counted
        ],
        total=write_price(total, currency),
        share=write_price(total / planned.students, currency),
        used=write_price(plan.used, currency),
        used_share=write_price(plan.used / planned.students, currency),
        kit=plan.kit,
    )
    return Page(
        address=address,
        title=planned.name,
        description=plain(planned.summary),
        lead=lead,
        sections=sections,
        kind="class",
        structured=(_describe_class(maker, planned),),
    )


def _view_run(maker: PageMaker, held: SessionPlan) -> dict[str, Any]:
    """Give what the page says of the run of a session."""
    library = maker.library
    return {
        **say_end(held),
        "warnings": warn_of_heat(library, maker.course.hazards, held),
        "steps": list_steps(library, held),
        "shared": list_turns(library, held),
        "brought": name_steps(library, held.brought),
        "left": name_steps(library, held.left),
    }


def _describe_class(maker: PageMaker, planned: PlannedClass) -> Structured:
    first, last = planned.sessions[0], planned.sessions[-1]
    return describe_thing(
        "CourseInstance",
        name=planned.name,
        description=plain(planned.summary),
        courseMode="onsite",
        startDate=first.date.isoformat(),
        endDate=last.date.isoformat(),
        maximumAttendeeCapacity=planned.students,
        location=describe_part("Place", name=maker.settings.place)
        if maker.settings.place
        else None,
    )
