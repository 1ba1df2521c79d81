"""What a rule is: an id, a severity, one function, and a docstring that the manual is made from.

A rule's docstring begins with one line that says what it finds. Paragraphs on why it matters
follow, then an indented YAML example under `Failing:` and one under `Passing:`. Where they differ
in one line, the second is written "Passing with `this` in place of `that`." An example may hold
several files, each after a line `# file: kb/...`; fields that the rule does not look at are left
out.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from textwrap import indent

from builder.course import Course
from builder.diagnostics import Diagnostic, Related, Route, Severity
from builder.model import Entry


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that a rule has found; the runner adds the rule's id, its severity and the place.

    Args:
        entry: The entry it is about.
        route: The way within the entry to the value.
        message: What is wrong, in plain words, naming the value found.
        hint: How to mend it, or "".
        key: Whether the place is the key of the value, not the value.
        severity: Where it differs from the severity of the rule.
        related: Further places: entry, route, and why.
    """

    entry: Entry
    route: Route
    message: str
    hint: str = ""
    key: bool = field(default=False, kw_only=True)
    severity: Severity | None = field(default=None, kw_only=True)
    related: Iterable[tuple[Entry, Route, str]] = field(default=(), kw_only=True)


def find_problems(course: Course, rule_id: str) -> Iterator[Found]:
    """Give what is wrong with calculators and tables in the eyes of one rule."""
    for entry, problem in course.calculator_problems:
        if problem.rule == rule_id:
            yield Found(entry, problem.route, problem.message, problem.hint)


Check = Callable[[Course], Iterator[Found]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of `check`.

    Args:
        id: Kebab-case id, never reused.
        severity: The most severe finding it makes.
        family: What it looks at: reading, references, causes, lessons, safety, text, ...
        check: The function that finds; None for what the reader itself reports.
        summary: What it finds, in one line.
        why: Why that matters; Markdown.
        failing: YAML that it reports.
        passing: YAML that it lets pass.
    """

    id: str
    severity: Severity
    family: str
    check: Check | None
    summary: str
    why: str
    failing: str
    passing: str

    @property
    def manual(self) -> str:
        """Its section of the manual as plain text: what it finds, why, what fails, what passes."""
        return "\n".join(
            [
                f"{self.id} ({self.severity})",
                "",
                self.summary,
                "",
                self.why,
                "",
                "Reported:",
                "",
                indent(self.failing, "    "),
                "",
                "Passes:",
                "",
                indent(self.passing, "    "),
            ]
        )

    def run(self, course: Course) -> Iterator[Diagnostic]:
        """Give every finding of this rule in a course, each with the rule's id and severity."""
        library = course.library
        for found in self.check(course) if self.check else ():
            yield Diagnostic(
                self.id,
                found.severity or self.severity,
                library.locate(found.entry, found.route, key=found.key),
                f"{found.entry.kind}:{found.entry.id}",
                found.message,
                found.hint,
                tuple(Related(library.locate(at, way), note) for at, way, note in found.related),
            )


def rule(rule_id: str, family: str, severity: Severity = Severity.ERROR) -> Callable[[Check], Rule]:
    """Make a rule of the function below: its docstring is its section in the manual.

    Args:
        rule_id: Id of the rule.
        family: Its family.
        severity: The most severe finding it makes.
    """

    def make(check: Check) -> Rule:
        return _make_rule(rule_id, family, severity, check, check.__doc__ or "")

    return make


def describe_rule(
    rule_id: str, family: str, documentation: str, severity: Severity = Severity.ERROR
) -> Rule:
    """Make a rule without a function: the reader reports it.

    Args:
        rule_id: Id of the rule.
        family: Its family.
        documentation: Text in the form of a rule's docstring.
        severity: What it is reported as.
    """
    return _make_rule(rule_id, family, severity, None, documentation)


def _make_rule(
    rule_id: str, family: str, severity: Severity, check: Check | None, documentation: str
) -> Rule:
    text = inspect.cleandoc(documentation)
    summary, _, rest = text.partition("\n")
    why, _, examples = rest.partition("Failing:")
    failing, _, passing = examples.partition("\nPassing")
    return Rule(
        rule_id,
        severity,
        family,
        check,
        summary.strip(),
        why.strip(),
        _read_example(failing),
        _read_passing(_read_example(failing), passing),
    )


_CHANGE = re.compile(r"^ with\s+`(.+?)`\s+in\s+place\s+of\s+`(.+?)`\.\s*$", re.DOTALL)


def _read_example(text: str) -> str:
    return inspect.cleandoc("\n" + text).strip()


def _read_passing(failing: str, passing: str) -> str:
    """Read the passing example, or make it of the failing one where they differ in one line."""
    found = _CHANGE.search(passing)
    if found is None:
        return _read_example(passing.removeprefix(":"))
    new, old = (" ".join(part.split()) for part in found.groups())
    assert failing.count(old) == 1, f"the failing example has not one {old}"
    return failing.replace(old, new)
