"""The content model: every kind of entry as a frozen, typed value, and where each kind is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from builder.model.calculators import Calculator, Table
from builder.model.common import Entry, Hazard, Level, MarkdownText, RefersTo, walk_marks
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
class Kind:
    """A kind of entry and where it is kept: `place.yml` for many, `place/` for one a file."""

    name: str
    model: type[Entry]
    place: str


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind("course", CourseSettings, "lessons/course"),
            Kind("class", PlannedClass, "lessons/classes"),
            Kind("lesson", Lesson, "lessons"),
            Kind("defect", Defect, "kb/defects"),
            Kind("cause", Cause, "kb/causes"),
            Kind("fix", Fix, "kb/fixes"),
            Kind("symptom", Symptom, "kb/symptoms"),
            Kind("question", Question, "kb/questions"),
            Kind("material", Material, "kb/materials"),
            Kind("tool", Tool, "kb/tools"),
            Kind("caution", Caution, "kb/cautions"),
            Kind("calculator", Calculator, "kb/calculators"),
            Kind("table", Table, "kb/tables"),
            Kind("case", Case, "kb/cases"),
            Kind("term", Term, "kb/glossary"),
            Kind("citation", Citation, "kb/citations"),
        )
    }
)
"""All kinds, in the order they are documented."""

__all__ = [
    "KINDS",
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
    "Fix",
    "Hazard",
    "Kind",
    "Lesson",
    "Level",
    "MarkdownText",
    "Material",
    "PlannedClass",
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
