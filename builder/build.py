"""The main path: a course folder in, findings and the pages of its site out.

    files -> entries -> checks -> pages

Each stage takes values and returns values; nothing here keeps state, reads a clock or knows which
host will show the pages. A newcomer begins with `build_course`.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from builder.checks import RULES, run_checks
from builder.course import Course
from builder.diagnostics import Diagnostic, Severity, has_errors, sort_diagnostics
from builder.library import Library, load_library

if TYPE_CHECKING:
    from builder.pages import Site


@dataclass(frozen=True, slots=True)
class Checked:
    """A course that has been read and checked: its entries, and every finding, sorted."""

    course: Course
    findings: tuple[Diagnostic, ...]

    @property
    def library(self) -> Library:
        """The entries of the course."""
        return self.course.library

    @property
    def sound(self) -> bool:
        """Whether a site may be made of it: no finding is an error."""
        return not has_errors(self.findings)

    @property
    def counts(self) -> dict[str, int]:
        """How many entries of each kind were read."""
        return {kind: len(entries) for kind, entries in self.library.entries.items()}

    @property
    def cases(self) -> dict[str, int]:
        """How many cases there are, how many of them invented, and how many are well diagnosed."""
        from builder.diagnosis.cases import run_cases

        network = self.course.indexed_network
        places = [result.place for result in run_cases(self.library, network)]
        return {
            "total": len(places),
            "invented": sum(each.origin == "invented" for each in self.library.cases.values()),
            "top1": sum(place == 1 for place in places),
            "top3": sum(place <= 3 for place in places),
        }

    @property
    def summary(self) -> str:
        """The findings counted, in a sentence."""
        errors = sum(found.severity is Severity.ERROR for found in self.findings)
        warnings = len(self.findings) - errors
        if not self.findings:
            return "No findings."
        return f"{errors} error{_s(errors)}, {warnings} warning{_s(warnings)}."


@dataclass(frozen=True, slots=True)
class Built:
    """A checked course with its site; the site is None where the content has errors."""

    checked: Checked
    site: Site | None


def check_course(root: Path) -> Checked:
    """Read a course folder and check it.

    Args:
        root: The folder that holds `lessons/` and `kb/`.
    """
    with pause_collector():
        library, reading = load_library(root)
        course = Course(library)
        findings = sort_diagnostics([*reading, *run_checks(course)])
    return Checked(course, findings)


@contextmanager
def pause_collector() -> Iterator[None]:
    """Pause the garbage collector: nearly all that is made is kept, so collecting wastes time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def build_course(root: Path) -> Built:
    """Read, check and lay out a course.

    Args:
        root: The folder that holds `lessons/` and `kb/`.

    Returns:
        The findings, and the site where none of them is an error.
    """
    from builder.pages import make_site  # a check alone needs no templates

    checked = check_course(root)
    with pause_collector():
        site = make_site(checked.course, RULES.values()) if checked.sound else None
    return Built(checked, site)


def _s(number: int) -> str:
    return "" if number == 1 else "s"
