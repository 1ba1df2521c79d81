"""Pages of the calculators: the index, and one page a calculator, which also works in lessons."""

from __future__ import annotations

from builder.pages.calculators.embed import render_live, render_scripts
from builder.pages.calculators.index_page import make_index_page
from builder.pages.calculators.page import make_calculator_page
from builder.pages.calculators.scripts import SCRIPT, SHARED_SCRIPTS, STYLE, write_scripts
from builder.pages.maker import PageMaker
from builder.pages.records import Page

__all__ = [
    "SCRIPT",
    "SHARED_SCRIPTS",
    "STYLE",
    "make_pages",
    "render_live",
    "render_scripts",
    "write_assets",
]


def make_pages(maker: PageMaker) -> list[Page]:
    """Make these pages."""
    calculators = maker.library.calculators
    if not calculators:
        return []
    pages = [make_calculator_page(maker, calculator) for calculator in calculators.values()]
    return [make_index_page(maker), *pages]


def write_assets(maker: PageMaker) -> dict[str, str]:
    """Give the scripts of all calculators by name within the folder of assets."""
    calculators = maker.library.calculators
    return write_scripts(maker.course.compile(name) for name in calculators)
