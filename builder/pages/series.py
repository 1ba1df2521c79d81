"""The page on which a teacher ticks skills and sees what leads to them, and the hours."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from builder.pages import scripts
from builder.pages.lesson_views import make_map
from builder.pages.maker import PageMaker
from builder.pages.records import ASSET_FOLDER, Page, dump_for_script, relative_address
from builder.pages.schema_org import describe_thing
from builder.planning.series import describe_lessons
from builder.twin.series import choose_lessons, sum_times, write_span
from builder.twin_scripts import SERIES

ADDRESS = "teaching/series/"


def make_page(maker: PageMaker) -> Page:
    """Make the page; what stands on it without a script is the way to each skill by itself."""
    library, words = maker.library, maker.words
    described = describe_lessons(library, maker.course.order)
    rows: list[dict[str, Any]] = []
    for lesson in described:
        for outcome in library.lessons[lesson["id"]].teaches:
            chosen = choose_lessons(described, [outcome.skill], [], [])
            bench, wait = sum_times(described, chosen)
            rows.append(
                {
                    "skill": outcome.skill,
                    "text": outcome.text,
                    "lesson": library.lessons[lesson["id"]],
                    "count": len(chosen),
                    "bench": write_span(bench),
                    "wait": write_span(wait),
                }
            )
    data = [
        {
            **lesson,
            "title": library.lessons[lesson["id"]].title,
            "href": relative_address(ADDRESS, f"lessons/{lesson['id']}/"),
        }
        for lesson in described
    ]
    sources = (SERIES, scripts.SERIES)
    lead, sections = maker.make_parts(
        "series.html.j2",
        ADDRESS,
        rows=rows,
        map=make_map(maker.course),
        views=maker.shelf.views,
        data=Markup(dump_for_script(data)),
        scripts=[relative_address(ADDRESS, ASSET_FOLDER + name) for name in sources],
    )
    return Page(
        address=ADDRESS,
        title=words.text("series.title"),
        description=words.text("series.description"),
        lead=lead,
        sections=sections,
        kind="teaching",
        structured=(describe_thing("WebPage", name=words.text("series.title")),),
    )
