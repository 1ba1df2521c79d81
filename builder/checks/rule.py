"""What a rule is: an id, a severity, one function, and a docstring that the manual is made from.

A rule's docstring begins with one line that says what it finds. Paragraphs on why it matters
follow, then an indented YAML example under `Failing:` and one under `Passing:`. An example may hold
several files, each after a line `# file: kb/...`; fields that the rule does not look at are left
out.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from builder.calculators import Problem, check_examples, check_table
from builder.checks.vessels import Trace, follow
from builder.course import Workings
from builder.diagnostics import Diagnostic, Related, Route, Severity
from builder.exercises import ExerciseBook
from builder.graph import (
    CHAIN,
    Ancestry,
    Node,
    find_ancestry,
    find_draft_owners,
    find_reachable,
)
from builder.hazards import AttachedCautions, attach_cautions
from builder.library import Library
from builder.model import Calculator, Entry, Fix, Lesson, MarkdownText, Table, walk_marks
from builder.text import Link, parse_links


@dataclass(frozen=True)
class Context:
    """What the rules read: the course, and what several of them need, worked out once.

    Args:
        book: The exercises of the course, and with them what is worked out of it.
    """

    book: ExerciseBook

    @property
    def library(self) -> Library:
        """The course."""
        return self.book.library

    @property
    def workings(self) -> Workings:
        """What other parts of the builder need too."""
        return self.book.workings

    @cached_property
    def marks(self) -> tuple[tuple[Entry, Route, object, str], ...]:
        """Every reference and every Markdown text of the course."""
        return tuple(
            (entry, route, mark, text)
            for entry in self.library.walk()
            for route, mark, text in walk_marks(entry)
        )

    @cached_property
    def links(self) -> tuple[tuple[Entry, Route, Link], ...]:
        """Every link and picture in a text of the course."""
        return tuple(
            (entry, route, link)
            for entry, route, mark, text in self.marks
            if isinstance(mark, MarkdownText)
            for link in parse_links(text)
        )

    @cached_property
    def reachable(self) -> frozenset[Node]:
        """What some symptom leads to."""
        starts = (node for node in self.workings.cause_graph if node[0] == CHAIN[0])
        return find_reachable(self.workings.cause_graph, starts)

    @cached_property
    def draft_owners(self) -> Mapping[Node, Node]:
        """Drafts that would lead to a cause or fix."""
        return find_draft_owners(self.library)

    @cached_property
    def ancestry(self) -> Ancestry:
        """Which lesson comes before which."""
        return find_ancestry(self.workings.prerequisite_graph)

    @cached_property
    def teachers(self) -> Mapping[str, tuple[str, ...]]:
        """Ids of the lessons that teach each skill."""
        found: dict[str, list[str]] = {}
        for name, lesson in self.library.lessons.items():
            for outcome in lesson.teaches:
                found.setdefault(outcome.skill, []).append(name)
        return {skill: tuple(names) for skill, names in found.items()}

    def is_taught_before(self, skill: str, lesson: Lesson) -> bool:
        """Say whether some lesson before this one teaches a skill."""
        after = ("lesson", lesson.id)
        return any(
            self.ancestry.comes_before(("lesson", name), after)
            for name in self.teachers.get(skill, ())
        )

    def is_taught_by(self, skill: str, lesson: Lesson) -> bool:
        """Say whether this lesson or one before it teaches a skill."""
        own = any(outcome.skill == skill for outcome in lesson.teaches)
        return own or self.is_taught_before(skill, lesson)

    @cached_property
    def calculator_problems(self) -> tuple[tuple[Calculator | Table, Problem], ...]:
        """Everything wrong with the calculators and tables, worked examples run again."""
        library = self.library
        found = [(table, each) for table in library.tables.values() for each in check_table(table)]
        return (*found, *self._find_calculator_problems())

    def _find_calculator_problems(self) -> Iterator[tuple[Calculator, Problem]]:
        for name, calculator in self.library.calculators.items():
            compiled, problems = self.workings.try_compile(name)
            for found in problems if compiled is None else check_examples(compiled):
                yield calculator, found

    def find_problems(self, rule_id: str) -> Iterator[Found]:
        """Give what is wrong with calculators and tables in the eyes of one rule."""
        for entry, problem in self.calculator_problems:
            if problem.rule == rule_id:
                yield Found(entry, problem.route, problem.message, problem.hint)

    @cached_property
    def practical(self) -> tuple[Lesson | Fix, ...]:
        """Everything with steps at the bench."""
        return (*self.library.lessons.values(), *self.library.fixes.values())

    @cached_property
    def attached(self) -> Mapping[tuple[str, str], AttachedCautions]:
        """The cautions of each lesson and fix."""
        return {
            (entry.kind, entry.id): attach_cautions(self.library, entry, self.workings.hazards)
            for entry in self.practical
        }

    @cached_property
    def traces(self) -> tuple[tuple[Lesson | Fix, Trace], ...]:
        """What the steps of each lesson and fix do to the vessels they name."""
        materials, tools = self.library.materials, self.library.tools
        hazards = self.workings.hazards.materials
        return tuple((entry, follow(entry, materials, tools, hazards)) for entry in self.practical)

    def exists(self, kind: str, name: str) -> bool:
        """Say whether an entry is there, or may be: what cannot be read is reported on its own."""
        broken = self.library.broken
        return (
            name in self.library.entries.get(kind, {})
            or (kind, name) in broken
            or (kind, "*") in broken
        )


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


Check = Callable[[Context], Iterator[Found]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of `check`.

    Args:
        id: Kebab-case id, never reused.
        severity: The gravest finding it makes.
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

    def run(self, context: Context) -> Iterator[Diagnostic]:
        """Give every finding of this rule in a course, each with the rule's id and severity."""
        library = context.library
        for found in self.check(context) if self.check else ():
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
        severity: The gravest finding it makes.
    """

    def make(check: Check) -> Rule:
        return _make_rule(rule_id, family, severity, check, check.__doc__ or "")

    return make


def describe_rule(rule_id: str, family: str, documentation: str) -> Rule:
    """Make a rule without a function: the reader reports it, as an error.

    Args:
        rule_id: Id of the rule.
        family: Its family.
        documentation: Text in the form of a rule's docstring.
    """
    return _make_rule(rule_id, family, Severity.ERROR, None, documentation)


def _make_rule(
    rule_id: str, family: str, severity: Severity, check: Check | None, documentation: str
) -> Rule:
    text = inspect.cleandoc(documentation)
    summary, _, rest = text.partition("\n")
    why, _, examples = rest.partition("Failing:")
    failing, _, passing = examples.partition("Passing:")
    return Rule(
        rule_id,
        severity,
        family,
        check,
        summary.strip(),
        why.strip(),
        inspect.cleandoc("\n" + failing).strip(),
        inspect.cleandoc("\n" + passing).strip(),
    )
