"""The index of lessons, by level, below the course map."""

from __future__ import annotations

from builder.model import Level
from builder.pages.lesson_views import make_map
from builder.pages.maker import PageMaker
from builder.pages.records import Page, relative_address
from builder.pages.schema_org import Structured, describe_part, describe_thing

ADDRESS = "lessons/"


def make_index_page(maker: PageMaker) -> Page:
    """Make the page that lists the lessons."""
    words = maker.words
    views = list(maker.shelf.views.values())
    levels = [
        (
            level.value,
            words.text(f"level.{level.value}"),
            [v for v in views if v.lesson.level is level],
        )
        for level in Level
    ]
    lead, sections = maker.make_parts(
        "lessons.html.j2",
        ADDRESS,
        levels=[level for level in levels if level[2]],
        map=make_map(maker.course),
        views=maker.shelf.views,
    )
    return Page(
        address=ADDRESS,
        title=words.text("lessons.title"),
        description=words.text("lessons.description", n=len(views), course=maker.settings.name),
        lead=lead,
        sections=sections,
        kind="lessons",
        structured=(describe_course(maker, ADDRESS),),
    )


def describe_course(maker: PageMaker, address: str) -> Structured:
    """Describe the whole course as a schema.org Course, for the page at an address."""
    course = maker.settings
    return describe_thing(
        "Course",
        name=course.name,
        description=course.sentence,
        inLanguage=course.language,
        provider=describe_part("Organization", name=course.place or course.name),
        hasPart=[
            describe_part(
                "LearningResource",
                name=view.lesson.title,
                description=view.lesson.summary,
                educationalLevel=view.level,
                url=relative_address(address, f"lessons/{view.lesson.id}/"),
            )
            for view in maker.shelf.views.values()
        ],
    )
