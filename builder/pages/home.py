"""The home page: the name, one sentence, three doors, and the course map."""

from __future__ import annotations

from builder.pages.lesson_views import make_map
from builder.pages.lessons.index_page import describe_course
from builder.pages.maker import PageMaker
from builder.pages.records import Page


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    course, library = maker.settings, maker.library
    shelf = maker.shelf
    first = next(iter(shelf.views.values()), None)
    last = next(reversed(list(shelf.views.values())), None)
    flawed = next((defect.picture or name for name, defect in library.defects.items()), None)
    doors = [
        (name, address, door, door.picture or otherwise)
        for name, address, door, otherwise in (
            ("learn", "lessons/", course.doors.learn, first.lesson.picture if first else None),
            ("fix", "diagnose/", course.doors.fix, flawed),
            ("teach", "teaching/", course.doors.teach, last.lesson.picture if last else None),
        )
    ]
    lead, sections = maker.make_parts(
        "home.html.j2", "", doors=doors, map=make_map(maker.course), views=shelf.views
    )
    return [
        Page(
            address="",
            title=course.name,
            description=course.sentence,
            lead=lead,
            sections=sections,
            kind="home",
            structured=(describe_course(maker, ""),),
        )
    ]
