"""The index of calculators, by group."""

from __future__ import annotations

from builder.model import Calculator
from builder.pages.maker import PageMaker
from builder.pages.records import Page, relative_address
from builder.pages.schema_org import describe_collection

ADDRESS = "calculators/"


def make_index_page(maker: PageMaker) -> Page:
    """Make the page that lists the calculators."""
    calculators = maker.library.calculators
    title = maker.words.text("calculators.title")
    description = maker.words.text(
        "calculators.description", n=len(calculators), course=maker.settings.name
    )
    lead, sections = maker.make_parts(
        "calculators.html.j2",
        ADDRESS,
        title=title,
        groups=list_groups(list(calculators.values()), maker.words.text("calculators.others")),
    )
    items = [
        (each.name, relative_address(ADDRESS, f"{ADDRESS}{each.id}/"))
        for each in calculators.values()
    ]
    return Page(
        address=ADDRESS,
        title=title,
        description=description,
        lead=lead,
        sections=sections,
        kind="calculators",
        structured=(
            describe_collection(title, description, items, inLanguage=maker.settings.language),
        ),
    )


def list_groups(
    calculators: list[Calculator], others: str
) -> list[tuple[str, str, list[Calculator]]]:
    """Put calculators into their groups: id, heading and calculators, the first level first."""
    groups: dict[str, list[Calculator]] = {}
    for calculator in sorted(calculators, key=lambda each: (_rank(each), each.name.casefold())):
        groups.setdefault(calculator.group or others, []).append(calculator)
    ordered = sorted(groups.items(), key=lambda each: (_rank(each[1][0]), each[0].casefold()))
    return [(f"group-{number}", name, listed) for number, (name, listed) in enumerate(ordered, 1)]


def _rank(calculator: Calculator) -> int:
    return calculator.level.rank if calculator.level else 0
