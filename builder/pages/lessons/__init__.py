"""Pages of the lessons: the index with the course map, and one page a lesson."""

from __future__ import annotations

from builder.pages.context import Context
from builder.pages.lessons.index_page import make_index_page
from builder.pages.lessons.lesson_page import make_lesson_page
from builder.pages.lessons.views import make_shelf
from builder.pages.records import Page


def make_pages(context: Context) -> list[Page]:
    """Make these pages."""
    if not context.library.lessons:
        return []
    shelf = make_shelf(context.workings)
    return [
        make_index_page(context, shelf),
        *(make_lesson_page(context, shelf, view) for view in shelf.views.values()),
    ]
