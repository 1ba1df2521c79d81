"""Pages about what goes wrong: defects, causes with their fixes, and the index by sign."""

from __future__ import annotations

from builder.pages.context import Context
from builder.pages.knowledge.causes import make_cause_list, make_cause_page
from builder.pages.knowledge.defects import make_defect_list, make_defect_page
from builder.pages.knowledge.diagnose import make_diagnose_page
from builder.pages.knowledge.likelihood import Likelihoods
from builder.pages.knowledge.views import Shared
from builder.pages.records import Page


def make_pages(context: Context) -> list[Page]:
    """Make these pages."""
    library = context.library
    shared = Shared(context, Likelihoods(context.workings))
    pages = [make_diagnose_page(shared)]
    if library.defects:
        pages.append(make_defect_list(shared))
        pages.extend(make_defect_page(shared, defect) for defect in library.defects.values())
    if library.causes:
        pages.append(make_cause_list(shared))
        pages.extend(make_cause_page(shared, cause) for cause in library.causes.values())
    return pages
