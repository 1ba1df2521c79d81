"""Pages: lessons."""

from __future__ import annotations

from builder.pages.context import Context
from builder.pages.records import Page


def make_pages(context: Context) -> list[Page]:
    """Make these pages."""
    return []
