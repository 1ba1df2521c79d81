"""Pages of the lessons: the index with the course map, and one page a lesson."""

from __future__ import annotations

from builder.pages.lessons.index_page import make_index_page
from builder.pages.lessons.lesson_page import make_lesson_page
from builder.pages.maker import PageMaker
from builder.pages.records import Page


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    if not maker.library.lessons:
        return []
    return [
        make_index_page(maker),
        *(make_lesson_page(maker, view) for view in maker.shelf.views.values()),
    ]
