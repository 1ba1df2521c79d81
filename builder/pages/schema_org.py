"""schema.org objects for search engines and other readers (JSON-LD), as plain values.

Every page's objects are made here, so that one place knows the vocabulary. Addresses are left out:
the site does not know where it will be put.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

Structured = dict[str, Any]

VOCABULARY = "https://schema.org"


def describe_thing(kind: str, **properties: Any) -> Structured:
    """Describe something that stands on a page by itself.

    Args:
        kind: Its schema.org type, for instance `Course`.
        properties: schema.org properties; those that are None or empty are left out.

    Example:
        `describe_thing("Thing", name="Cracked glaze")` is
        `{"@context": "https://schema.org", "@type": "Thing", "name": "Cracked glaze"}`.
    """
    return {"@context": VOCABULARY, **describe_part(kind, **properties)}


def describe_part(kind: str, **properties: Any) -> Structured:
    """Describe something within another object: as `describe_thing`, without the vocabulary."""
    kept = {name: value for name, value in properties.items() if value not in (None, "", [], ())}
    return {"@type": kind, **kept}


def describe_how_to(
    name: str,
    steps: Iterable[tuple[str, str]],
    *,
    summary: str = "",
    seconds: float | None = None,
    supplies: Iterable[str] = (),
    tools: Iterable[str] = (),
    cost: tuple[float, str] | None = None,
    **properties: Any,
) -> Structured:
    """Describe instructions as a schema.org HowTo.

    Args:
        name: What is done.
        steps: A title and a plain text for each; the title may be "".
        summary: One plain sentence.
        seconds: The whole time in seconds, waiting included.
        supplies: Names of what is used up.
        tools: Names of what is used and kept.
        cost: Amount and ISO 4217 code.
        properties: Further schema.org properties.
    """
    return describe_thing(
        "HowTo",
        name=name,
        description=summary,
        totalTime=write_duration(seconds) if seconds is not None else None,
        supply=[describe_part("HowToSupply", name=each) for each in supplies],
        tool=[describe_part("HowToTool", name=each) for each in tools],
        estimatedCost=describe_cost(*cost) if cost else None,
        step=[
            describe_part("HowToStep", position=number, name=title, text=text)
            for number, (title, text) in enumerate(steps, 1)
        ],
        **properties,
    )


def describe_cost(amount: float, currency: str) -> Structured:
    """Describe an amount of money; the currency is an ISO 4217 code."""
    return describe_part("MonetaryAmount", currency=currency, value=round(amount, 2))


def describe_terms(
    name: str, terms: Iterable[tuple[str, str, str]], **properties: Any
) -> Structured:
    """Describe a glossary as a schema.org DefinedTermSet.

    Args:
        name: The glossary's name.
        terms: For each term its anchor on the page, its name and its plain definition.
        properties: Further schema.org properties.
    """
    return describe_thing(
        "DefinedTermSet",
        name=name,
        hasDefinedTerm=[
            describe_part("DefinedTerm", **{"@id": f"#{anchor}"}, name=word, description=text)
            for anchor, word, text in terms
        ],
        **properties,
    )


def describe_collection(
    name: str, summary: str, items: Iterable[tuple[str, str]], **properties: Any
) -> Structured:
    """Describe a page that lists others as a schema.org CollectionPage.

    Args:
        name: The page's title.
        summary: One plain sentence.
        items: For each item its name and its address relative to this page.
        properties: Further schema.org properties.
    """
    listed = [
        describe_part("ListItem", position=number, name=title, url=address)
        for number, (title, address) in enumerate(items, 1)
    ]
    return describe_thing(
        "CollectionPage",
        name=name,
        description=summary,
        mainEntity=describe_part("ItemList", numberOfItems=len(listed), itemListElement=listed),
        **properties,
    )


def describe_sources(citations: Iterable[Mapping[str, Any]]) -> list[Structured]:
    """Describe sources as schema.org CreativeWorks: `name`, and `publisher` and `year` if known."""
    return [
        describe_part(
            "CreativeWork",
            name=source["name"],
            publisher=describe_part("Organization", name=source["publisher"])
            if source.get("publisher")
            else None,
            datePublished=str(source["year"]) if source.get("year") else None,
        )
        for source in citations
    ]


def write_duration(seconds: float) -> str:
    """Write a time as ISO 8601 does, to the whole minute, or second where it is shorter.

    Args:
        seconds: At least 0.

    Example:
        `write_duration(5400)` is `PT1H30M`.
    """
    whole = round(seconds)
    if whole >= 60:
        whole = round(whole / 60) * 60
    days, rest = divmod(whole, 86400)
    hours, rest = divmod(rest, 3600)
    minutes, left = divmod(rest, 60)
    clock = "".join(
        f"{number}{letter}"
        for number, letter in ((hours, "H"), (minutes, "M"), (left, "S"))
        if number
    )
    if not days and not clock:
        return "PT0S"
    return "P" + (f"{days}D" if days else "") + (f"T{clock}" if clock else "")
