"""Pages of the lessons: the index with the course map, and one page a lesson."""

from __future__ import annotations

from builder.pages.lessons.index_page import make_index_page
from builder.pages.lessons.lesson_page import make_lesson_page
from builder.pages.lessons.views import make_shelf
from builder.pages.maker import PageMaker
from builder.pages.records import Page


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    if not maker.library.lessons:
        return []
    shelf = make_shelf(maker.course)
    return [
        make_index_page(maker, shelf),
        *(make_lesson_page(maker, shelf, view) for view in shelf.views.values()),
    ]
