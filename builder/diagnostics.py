"""Findings as values: where something is wrong in the course folder, what, and how to mend it.

Nothing in the core prints, logs or raises over content; it returns `Diagnostic`s. This module only
knows how to hold, sort and render them, so that the terminal, JSON and the live page say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

Route = tuple[str | int, ...]
"""Keys and indexes that lead from the top of a file to a value: `("steps", 2, "time")`."""


MANUAL = "teaching/rules/"
"""Address, within a site, of the page with a section on each rule."""


class Severity(StrEnum):
    """How much a finding matters: an error stops the build, a warning does not."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True, order=True)
class Location:
    """A place in the course: path relative to its folder, 1-based line and column."""

    file: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Related:
    """A second place that belongs to a finding, with a note on why."""

    location: Location
    note: str


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One finding.

    Args:
        rule: Id of the rule that found it, kebab-case; the manual has a section of this name.
        severity: Error or warning.
        location: The main place.
        entry: The entry it is about, as `kind:id`, or "" where no entry could be read.
        message: What is wrong, in plain words, naming the value found.
        hint: How to mend it, or "".
        related: Further places, each with a note.
    """

    rule: str
    severity: Severity
    location: Location
    entry: str
    message: str
    hint: str = ""
    related: tuple[Related, ...] = field(default=())

    def sort_key(self) -> tuple[Location, str, str]:
        """Order of findings in every output: by file, line and column, then rule and message."""
        return (self.location, self.rule, self.message)


def sort_diagnostics(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Sort findings by place and drop exact repeats, so that output never depends on run order."""
    return tuple(sorted(dict.fromkeys(diagnostics), key=Diagnostic.sort_key))


def has_errors(diagnostics: Iterable[Diagnostic]) -> bool:
    """Say whether any finding is an error, that is whether a build must stop."""
    return any(found.severity is Severity.ERROR for found in diagnostics)


_COLOURS = {Severity.ERROR: "\x1b[31m", Severity.WARNING: "\x1b[33m"}


def render_text(diagnostics: Sequence[Diagnostic], *, colour: bool = False) -> str:
    """Render findings for people, one block each.

    Args:
        diagnostics: Findings in the order to print.
        colour: Whether to paint severity with terminal escapes.

    Returns:
        Text ending in a newline, or "" where there is nothing to say.
    """
    lines: list[str] = []
    for found in diagnostics:
        word = str(found.severity)
        if colour:
            word = f"{_COLOURS[found.severity]}{word}\x1b[0m"
        lines.append(f"{found.location}: {word}: {found.message} [{found.rule}]")
        if found.hint:
            lines.append(f"  hint: {found.hint}")
        for also in found.related:
            lines.append(f"  see {also.location}: {also.note}")
        lines.append(f"  see: {MANUAL}#{found.rule}")
    return "".join(f"{line}\n" for line in lines)


def point_to_rules(diagnostics: Sequence[Diagnostic]) -> str:
    """Name the command that explains a rule, by the first finding; "" where there is none.

    A course with errors may have no site yet, so the page that `see:` names may not be there.
    """
    if not diagnostics:
        return ""
    return f"What a rule looks for, and why: benchlore rules {diagnostics[0].rule}"


def render_json(diagnostics: Iterable[Diagnostic]) -> list[dict[str, Any]]:
    """Render findings for programs: a list of plain mappings, keys as the contract names them."""
    return [
        {
            "rule": found.rule,
            "severity": str(found.severity),
            "file": found.location.file,
            "line": found.location.line,
            "column": found.location.column,
            "entry": found.entry,
            "message": found.message,
            "hint": found.hint,
            "related": [
                {
                    "file": also.location.file,
                    "line": also.location.line,
                    "column": also.location.column,
                    "note": also.note,
                }
                for also in found.related
            ],
        }
        for found in diagnostics
    ]
