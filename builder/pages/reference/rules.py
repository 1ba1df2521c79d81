"""The manual page of the rules of the check, made from what each rule says of itself."""

from __future__ import annotations

from itertools import groupby

from builder.diagnostics import MANUAL, Severity
from builder.pages.maker import PageMaker
from builder.pages.records import Page, RuleNote
from builder.pages.schema_org import describe_terms

FAMILIES = {
    "reading": "Reading the files",
    "values": "Values",
    "references": "References",
    "causes": "Faults, causes and fixes",
    "lessons": "Lessons",
    "classes": "Planned classes",
    "formulas": "Formulas and numbers",
    "cases": "Recorded cases",
    "safety": "Safety",
    "text": "Text",
}
"""Headings of the families that have one of their own; others are named by their id."""


def group_rules(maker: PageMaker) -> list[tuple[str, str, list[RuleNote]]]:
    """Group the rules by family, in the order given: id, heading, rules."""
    grouped = groupby(maker.rules, key=lambda rule: rule.family)
    families: dict[str, list[RuleNote]] = {}
    for family, rules in grouped:
        families.setdefault(family, []).extend(rules)
    return [
        (family, FAMILIES.get(family, family.capitalize()), rules)
        for family, rules in families.items()
    ]


def make_rules_page(maker: PageMaker) -> Page:
    """Make the manual page of rules."""
    address = MANUAL
    title = "What the check looks for"
    description = "Every rule of the check: what it finds, why it matters, and an example."
    lead, sections = maker.make_parts(
        "rules.html.j2",
        address,
        title=title,
        description=description,
        families=group_rules(maker),
        error=Severity.ERROR,
    )
    structured = describe_terms(
        title, [(rule.id, rule.id, rule.summary) for rule in maker.rules], inLanguage="en"
    )
    return Page(
        address,
        title,
        description,
        lead,
        sections,
        kind="rules",
        language="en",  # what the check says is in English
        structured=(structured,),
        anchors=frozenset(rule.id for rule in maker.rules),
        searchable=False,
    )
