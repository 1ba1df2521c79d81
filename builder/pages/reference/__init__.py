"""Pages to look things up on: safety, glossary, sources, materials, the rules of the check and what
formulas may use."""

from __future__ import annotations

from builder.pages.maker import PageMaker
from builder.pages.records import Page
from builder.pages.reference.formulas import make_formulas_page
from builder.pages.reference.glossary import make_glossary_page
from builder.pages.reference.materials import make_materials_page
from builder.pages.reference.rules import make_rules_page
from builder.pages.reference.safety import make_safety_page
from builder.pages.reference.sources import make_sources_page


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    library = maker.library
    pages = [make_safety_page(maker)]
    if library.terms:
        pages.append(make_glossary_page(maker))
    if library.materials:
        pages.append(make_materials_page(maker))
    if library.citations:
        pages.append(make_sources_page(maker))
    if maker.rules:
        pages += [make_rules_page(maker), make_formulas_page(maker)]
    return pages
