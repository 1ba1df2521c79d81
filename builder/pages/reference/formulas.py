"""The manual page of formulas: patterns and functions, each with its example run."""

from __future__ import annotations

from builder.formulas.manual import describe_functions, describe_patterns
from builder.pages.maker import PageMaker
from builder.pages.records import Page
from builder.pages.schema_org import describe_terms

FORMULAS_MANUAL = "teaching/formulas/"


def make_formulas_page(maker: PageMaker) -> Page:
    """Make the manual page of formulas."""
    patterns, functions = describe_patterns(), describe_functions()
    title = "What formulas may use"
    description = (
        "Every pattern and function of a calculator's formulas, each with its example run."
    )
    lead, sections = maker.make_parts(
        "formulas.html.j2",
        FORMULAS_MANUAL,
        title=title,
        description=description,
        patterns=patterns,
        functions=functions,
    )
    told = [(f"function-{each.id}", each.id, each.doc) for each in functions]
    return Page(
        FORMULAS_MANUAL,
        title,
        description,
        lead,
        sections,
        kind="rules",
        language="en",  # the language of formulas is told in English, as the check is
        structured=(describe_terms(title, told, inLanguage="en"),),
        anchors=frozenset(
            [*(f"pattern-{each.id}" for each in patterns), *(each[0] for each in told)]
        ),
        searchable=False,
    )
