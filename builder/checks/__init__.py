"""The rules of `check`: one function a rule, and the table of them all.

A rule is a function under `@rule("id", "family")`: it takes a `Course` and yields
`Found` values, to which the rule adds its id, its severity and the place. Its docstring is its
section in the manual. Every rule that stands in one of the modules below is in the table.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from builder.checks import (
    advice,
    cases,
    causes,
    classes,
    computed,
    exercise_numbers,
    exercises,
    formulas,
    lessons,
    reading,
    references,
    rescues,
    stated,
    text,
    values,
    windows,
)
from builder.checks.rule import Found, Rule
from builder.checks.safety import cover, doses, facts, heat, meeting, names
from builder.course import Course
from builder.diagnostics import Diagnostic
from builder.library import Library

FAMILIES = (
    reading,
    values,
    windows,
    references,
    causes,
    rescues,
    cases,
    lessons,
    classes,
    exercises,
    exercise_numbers,
    formulas,
    computed,
    heat,
    doses,
    cover,
    facts,
    meeting,
    names,
    text,
    stated,
    advice,
)
"""The modules that hold rules, in the order of the manual."""

RULES: Mapping[str, Rule] = MappingProxyType(
    {
        found.id: found
        for family in FAMILIES
        for found in vars(family).values()
        if isinstance(found, Rule)
    }
)
"""Every rule by id, family by family, in the order in which they stand in their modules."""


def run_checks(course: Course) -> tuple[Diagnostic, ...]:
    """Run every rule over a course.

    Args:
        course: A course as read; broken entries are reported by the reader, not here.

    Returns:
        All findings, in the order of the rules. Sort them before showing them.
    """
    return tuple(found for each in RULES.values() for found in each.run(course))


def check_library(library: Library) -> list[Diagnostic]:
    """Run every rule over a course of which nothing else is wanted; see `run_checks`."""
    return list(run_checks(Course(library)))


def find_unsafe_fixes(course: Course) -> frozenset[str]:
    """Find the fixes that break a rule of safety: no diagnosis may offer them.

    Args:
        course: A course as read. One without errors has none, so pages need not ask.
    """
    return frozenset(
        found.entry.removeprefix("fix:")
        for each in RULES.values()
        if each.family == "safety"
        for found in each.run(course)
        if found.entry.startswith("fix:")
    )


__all__ = ["RULES", "Found", "Rule", "check_library", "find_unsafe_fixes", "run_checks"]
