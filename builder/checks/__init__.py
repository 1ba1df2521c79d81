"""The rules of `check`: one function a rule, and the table of them all.

A rule is a function that takes the `Context` of a course and yields findings. Its docstring is its
section in the manual. Rules stand in the module of their family, each of which ends in a list
`RULES`; the table here joins them.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from builder.checks import (
    cases,
    causes,
    classes,
    computed,
    exercise_numbers,
    exercises,
    formulas,
    lessons,
    references,
    safety,
    text,
    values,
    yaml_rules,
)
from builder.checks.rule import Context, Rule
from builder.course import Workings
from builder.diagnostics import Diagnostic
from builder.exercises import ExerciseBook
from builder.library import Library

RULES: Mapping[str, Rule] = MappingProxyType(
    {
        rule.id: rule
        for family in (
            yaml_rules,
            values,
            references,
            causes,
            cases,
            lessons,
            classes,
            exercises,
            exercise_numbers,
            formulas,
            computed,
            safety,
            text,
        )
        for rule in family.RULES
    }
)
"""Every rule by id, family by family, in the order of the manual."""


def run_checks(book: ExerciseBook) -> tuple[Diagnostic, ...]:
    """Run every rule over a course.

    Args:
        book: The exercises of a course as read, and with them the course; broken entries are
            reported by the reader, not here.

    Returns:
        All findings, in the order of the rules. Sort them before showing them.
    """
    context = Context(book)
    return tuple(found for rule in RULES.values() if rule.check for found in rule.check(context))


def check_library(library: Library) -> list[Diagnostic]:
    """Run every rule over a course of which nothing else is wanted; see `run_checks`."""
    return list(run_checks(ExerciseBook(Workings(library))))


def find_unsafe_fixes(library: Library) -> frozenset[str]:
    """Find the fixes that break a rule of safety: no diagnosis may offer them.

    Args:
        library: The course as read. One without errors has none, so pages need not ask.
    """
    context = Context(ExerciseBook(Workings(library)))
    return frozenset(
        found.entry.removeprefix("fix:")
        for rule in RULES.values()
        if rule.family == "safety" and rule.check
        for found in rule.check(context)
        if found.entry.startswith("fix:")
    )


__all__ = ["RULES", "Context", "Rule", "check_library", "find_unsafe_fixes", "run_checks"]
