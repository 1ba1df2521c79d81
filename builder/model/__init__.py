"""The content model: every kind of entry as a frozen, typed value, and where each kind is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from builder.model.calculators import Calculator, Table
from builder.model.common import (
    Entry,
    Hazard,
    Level,
    MarkdownText,
    PlainText,
    Protection,
    RefersTo,
    walk_marks,
)
from builder.model.knowledge import (
    Case,
    Cause,
    Caution,
    Certainty,
    Citation,
    Defect,
    Fix,
    Material,
    Question,
    Symptom,
    Term,
    Tool,
    When,
)
from builder.model.lessons import (
    Action,
    CourseSettings,
    Lesson,
    PlannedClass,
    Scale,
    Step,
    Verb,
)


@dataclass(frozen=True, slots=True)
class EntryKind:
    """A kind of entry: all that the builder has to know of it beside its class.

    Args:
        model: The class of its entries.
        place: Where it is kept: `place.yml` for many in one file, `place/` for one a file.
        address: Where the site shows an entry: `defects/{id}/`, or `glossary/#term-{id}` for a
            part of a page; "" where other entries decide it, or where it is not shown.
        linked: Whether texts may link to it, as `[words](defect:some-id)`.
    """

    model: type[Entry]
    place: str
    address: str = ""
    linked: bool = False

    @property
    def name(self) -> str:
        """What it is called in findings, links and commands."""
        return self.model.kind


KINDS: Mapping[str, EntryKind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            EntryKind(CourseSettings, "lessons/course"),
            EntryKind(PlannedClass, "lessons/classes", "teaching/{id}/"),
            EntryKind(Lesson, "lessons", "lessons/{id}/", linked=True),
            EntryKind(Defect, "kb/defects", "defects/{id}/", linked=True),
            EntryKind(Cause, "kb/causes", "causes/{id}/", linked=True),
            # Fixes and questions stand on the pages of the causes that name them.
            EntryKind(Fix, "kb/fixes", linked=True),
            EntryKind(Symptom, "kb/symptoms", "diagnose/#symptom-{id}", linked=True),
            EntryKind(Question, "kb/questions", linked=True),
            EntryKind(Material, "kb/materials", "materials/#material-{id}", linked=True),
            EntryKind(Tool, "kb/tools"),
            EntryKind(Caution, "kb/cautions", "safety/#caution-{id}", linked=True),
            EntryKind(Calculator, "kb/calculators", "calculators/{id}/", linked=True),
            EntryKind(Table, "kb/tables"),
            EntryKind(Case, "kb/cases"),
            EntryKind(Term, "kb/glossary", "glossary/#term-{id}", linked=True),
            EntryKind(Citation, "kb/citations", "sources/#citation-{id}"),
        )
    }
)
"""All kinds, in the order they are documented."""

LINKED_KINDS = tuple(kind.name for kind in KINDS.values() if kind.linked)
"""Kinds of entry that a text may link to, because the site has an address for each."""

__all__ = [
    "KINDS",
    "LINKED_KINDS",
    "Action",
    "Calculator",
    "Case",
    "Cause",
    "Caution",
    "Certainty",
    "Citation",
    "CourseSettings",
    "Defect",
    "Entry",
    "EntryKind",
    "Fix",
    "Hazard",
    "Lesson",
    "Level",
    "MarkdownText",
    "Material",
    "PlainText",
    "PlannedClass",
    "Protection",
    "Question",
    "RefersTo",
    "Scale",
    "Step",
    "Symptom",
    "Table",
    "Term",
    "Tool",
    "Verb",
    "When",
    "walk_marks",
]
