"""The glossary: the words of the craft and of the course, by letter."""

from __future__ import annotations

import unicodedata
from html import escape
from itertools import groupby

from builder.model import Term
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page, Section
from builder.pages.schema_org import describe_terms


def sort_name(name: str) -> str:
    """Give what a name is sorted by: without case and accents."""
    folded = unicodedata.normalize("NFKD", name.casefold())
    return "".join(letter for letter in folded if not unicodedata.combining(letter))


def find_letter(name: str) -> str:
    """Give the letter a name is filed under: A to Z, or # for all else."""
    first = sort_name(name)[:1]
    return first.upper() if "a" <= first <= "z" else "#"


def group_terms(maker: PageMaker) -> list[tuple[str, list[Term]]]:
    """Group the terms by letter, in order of name."""
    terms = sorted(
        maker.library.terms.values(),
        key=lambda term: (find_letter(term.name), sort_name(term.name), term.id),
    )
    grouped = groupby(terms, key=lambda term: find_letter(term.name))
    return [(letter, list(found)) for letter, found in grouped]


def make_glossary_page(maker: PageMaker) -> Page:
    """Make the glossary."""
    address = "glossary/"
    title = maker.words.text("glossary.title")
    description = maker.words.text("glossary.description")
    letters = [
        (letter, "letter-other" if letter == "#" else f"letter-{letter.lower()}", terms)
        for letter, terms in group_terms(maker)
    ]
    lead, sections = maker.make_parts(
        "glossary.html.j2", address, title=title, description=description, letters=letters
    )
    listed = [(f"term-{term.id}", term) for _, _, terms in letters for term in terms]
    structured = describe_terms(
        f"{title}: {maker.settings.name}",
        [(anchor, term.name, plain(term.text)) for anchor, term in listed],
        inLanguage=maker.settings.language,
    )
    return Page(
        address,
        title,
        description,
        lead,
        sections,
        kind="glossary",
        structured=(structured,),
        anchors=frozenset(anchor for anchor, _ in listed),
        entries=tuple(
            Section(
                anchor,
                term.name,
                escape(" ".join((plain(term.text), *term.also, *term.instead_of))),
            )
            for anchor, term in listed
        ),
    )
