"""All pages of a course, in order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from builder import twin_scripts
from builder.course import Course
from builder.pages import (
    calculators,
    exercises,
    home,
    knowledge,
    lessons,
    reference,
    scripts,
    teaching,
)
from builder.pages.knowledge import consultation
from builder.pages.maker import ASSETS, PageMaker, make_maker
from builder.pages.records import ASSET_FOLDER, Asset, NavItem, Page, RuleNote, Site
from builder.pages.search import write_search_index

NAV = (
    ("home", "", ()),
    ("learn", "lessons/", ()),
    ("fix", "diagnose/", ("defects/", "causes/")),
    ("calculate", "calculators/", ()),
    ("safety", "safety/", ("materials/", "sources/")),
    ("glossary", "glossary/", ()),
    ("teach", "teaching/", ()),
)
"""The parts of the site: key of its words, address, and what else belongs to it."""
STYLES = (
    "benchlore.css",
    "knowledge.css",
    consultation.STYLE,
    exercises.STYLE,
    calculators.STYLE,
    "bench.css",
)
SCRIPTS = (twin_scripts.NUMBERS, scripts.TEXTS, scripts.PAGE)
"""Scripts that every page loads, in order; others are called by the pages that need them."""
FRAME = "frame.css"
"""Styles of the frame and of the whole ground; another host has a frame of its own."""
DARK = "dark.css"
SEARCH = "search-index.js"
LICENCES = "licences.txt"
"""Goes with the site wherever it is given away: what is in it, and on which terms."""


def make_site(course: Course, rules: Iterable[RuleNote] = ()) -> Site:
    """Make every page of the site.

    Args:
        course: A checked course without errors.
        rules: What the check looks for; without them there is no manual page of rules.

    Returns:
        Pages, assets and navigation; the same course always gives the same bytes.

    Raises:
        ValueError: If there is no course.
    """
    maker = make_maker(course, rules)
    library, settings = maker.library, maker.settings
    pages = tuple(
        sorted(
            (
                *home.make_pages(maker),
                *lessons.make_pages(maker),
                *knowledge.make_pages(maker),
                *calculators.make_pages(maker),
                *reference.make_pages(maker),
                *teaching.make_pages(maker),
            ),
            key=lambda page: page.address,
        )
    )
    present = {page.address for page in pages}
    drawings = library.drawings
    logo = "mark" if "mark" in drawings else None
    favicon = "favicon" if "favicon" in drawings else logo
    return Site(
        name=settings.name,
        description=settings.sentence,
        language=settings.language,
        pages=pages,
        assets=(
            *_read_assets(maker),
            *_write_marks(drawings, logo, favicon),
            Asset(ASSET_FOLDER + SEARCH, write_search_index(pages).encode()),
        ),
        nav=tuple(
            NavItem(maker.words.text(f"nav.{name}"), address, covers)
            for name, address, covers in NAV
            if address in present
        ),
        styles=tuple(ASSET_FOLDER + name for name in STYLES),
        scripts=tuple(ASSET_FOLDER + name for name in SCRIPTS),
        frame=ASSET_FOLDER + FRAME,
        dark=ASSET_FOLDER + DARK,
        first_script=ASSET_FOLDER + scripts.FIRST,
        search=ASSET_FOLDER + SEARCH,
        place=settings.place,
        logo=f"{ASSET_FOLDER}{logo}.svg" if logo else None,
        favicon=f"{ASSET_FOLDER}{favicon}.svg" if favicon else None,
        by_address={page.address: page for page in pages},
    )


def _read_assets(maker: PageMaker) -> list[Asset]:
    of_calculators = calculators.write_assets(maker)
    unused = () if of_calculators else calculators.SHARED_SCRIPTS
    read = [
        Asset(ASSET_FOLDER + name, (ASSETS / name).read_bytes()) for name in (*STYLES, FRAME, DARK)
    ]
    written = {
        **{
            name: twin_scripts.write_script(name)
            for name in twin_scripts.SCRIPTS
            if name not in unused
        },
        **{name: scripts.join_script(name) for name in scripts.FILES if name not in unused},
        scripts.TEXTS: scripts.write_texts(maker.words),
        **of_calculators,
    }
    terms = Asset(f"assets/{LICENCES}", (ASSETS / LICENCES).read_bytes())
    return [
        *read,
        terms,
        *(Asset(ASSET_FOLDER + name, text.encode()) for name, text in written.items()),
    ]


def _write_marks(drawings: Mapping[str, str], *names: str | None) -> list[Asset]:
    return [
        Asset(f"{ASSET_FOLDER}{name}.svg", drawings[name].encode())
        for name in sorted({name for name in names if name})
    ]


__all__ = ["ASSET_FOLDER", "Page", "make_site"]
