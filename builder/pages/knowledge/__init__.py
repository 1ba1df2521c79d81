"""Pages about what goes wrong: defects, causes with their fixes, and the index by sign."""

from __future__ import annotations

from builder.pages.knowledge.causes import make_cause_list, make_cause_page
from builder.pages.knowledge.defects import make_defect_list, make_defect_page
from builder.pages.knowledge.diagnose import make_diagnose_page
from builder.pages.maker import PageMaker
from builder.pages.records import Page


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    library = maker.library
    pages = [make_diagnose_page(maker)]
    if library.defects:
        pages.append(make_defect_list(maker))
        pages.extend(make_defect_page(maker, defect) for defect in library.defects.values())
    if library.causes:
        pages.append(make_cause_list(maker))
        pages.extend(make_cause_page(maker, cause) for cause in library.causes.values())
    return pages
