"""A course: what its folder says, and everything worked out of that, each once.

One `Course` goes along the main path, so that a graph is built, the diagnosis numbered and a
calculator compiled once in a build, however many ask for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from builder.calculators import (
    CalculatorError,
    CompiledCalculator,
    Problem,
    check_bounds,
    check_examples,
    check_table,
    find_untried,
    try_compile,
)
from builder.diagnostics import Route
from builder.graph import (
    CHAIN,
    Ancestry,
    Node,
    build_cause_graph,
    build_prerequisite_graph,
    find_ancestry,
    find_draft_owners,
    find_reachable,
    order_lessons,
)
from builder.hazards import AttachedCautions, HazardIndex, attach_cautions, index_hazards
from builder.library import Library
from builder.model import (
    Calculator,
    Defect,
    Entry,
    Fix,
    Lesson,
    MarkdownText,
    Table,
    Tool,
    walk_marks,
)
from builder.text import Link, parse_links
from builder.twin.calculators.messages import SAYS
from builder.vessels import Trace, follow, name_tools

if TYPE_CHECKING:  # what not every command needs is imported where it is asked for
    from builder.diagnosis.consult import Adviser
    from builder.diagnosis.likelihood import Likelihoods
    from builder.exercises import ExerciseBook
    from builder.graph import Graph
    from builder.planning.room import RoomSurvey
    from builder.planning.sessions import ClassRun
    from builder.twin.diagnosis.shapes import IndexedNetwork, Network

CURRENCY = "EUR"
"""Stands for `money` where the settings of the course cannot be read."""


@dataclass(frozen=True)
class Course:
    """A course as read, errors and all, with what is worked out of it.

    Args:
        library: Its entries.
    """

    library: Library
    _runs: dict[str, ClassRun] = field(default_factory=dict, init=False, repr=False)
    _compiled: dict[str, tuple[CompiledCalculator | None, tuple[Problem, ...]]] = field(
        default_factory=dict, init=False, repr=False
    )
    _attached: dict[tuple[str, str], AttachedCautions] = field(
        default_factory=dict, init=False, repr=False
    )

    # Texts

    @cached_property
    def marks(self) -> tuple[tuple[Entry, Route, object, str], ...]:
        """Every reference and every Markdown text: entry, route, mark of its field, text."""
        return tuple(
            (entry, route, mark, text)
            for entry in self.library.walk()
            for route, mark, text in walk_marks(entry)
        )

    @cached_property
    def links(self) -> tuple[tuple[Entry, Route, Link], ...]:
        """Every link and picture in a text."""
        return tuple(
            (entry, route, link)
            for entry, route, mark, text in self.marks
            if isinstance(mark, MarkdownText)
            for link in parse_links(text)
        )

    # Faults, causes and fixes

    @cached_property
    def cause_graph(self) -> Graph:
        """The graph symptom -> defect -> cause -> fix."""
        return build_cause_graph(self.library)

    @cached_property
    def reachable(self) -> frozenset[Node]:
        """What some symptom leads to."""
        starts = (node for node in self.cause_graph if node[0] == CHAIN[0])
        return find_reachable(self.cause_graph, starts)

    @cached_property
    def draft_owners(self) -> Mapping[Node, Node]:
        """Drafts that would lead to a cause or fix."""
        return find_draft_owners(self.library)

    @cached_property
    def brought(self) -> Mapping[str, tuple[Defect, ...]]:
        """The defects that each cause brings, by id of the cause."""
        found: dict[str, dict[str, Defect]] = {}
        for defect in self.library.defects.values():
            for link in defect.causes:
                found.setdefault(link.cause, {})[defect.id] = defect
        return {cause: tuple(defects.values()) for cause, defects in found.items()}

    @cached_property
    def network(self) -> Network:
        """The diagnosis as the course describes it."""
        from builder.diagnosis.network import build_network

        return build_network(self.library)

    @cached_property
    def indexed_network(self) -> IndexedNetwork:
        """The diagnosis, ready to be asked."""
        from builder.twin.diagnosis.indexing import index_network

        return index_network(self.network)

    @cached_property
    def likelihoods(self) -> Likelihoods:
        """Causes, fixes, questions and decision chart of each defect."""
        from builder.diagnosis.likelihood import Likelihoods

        return Likelihoods(self.library, self.network, self.adviser.guide)

    @cached_property
    def adviser(self) -> Adviser:
        """The diagnosis with its plan and the words it is told in."""
        from builder.diagnosis.consult import make_adviser

        return make_adviser(self.library, self.indexed_network)

    # Lessons

    @cached_property
    def prerequisite_graph(self) -> Graph:
        """The graph of what each lesson needs."""
        return build_prerequisite_graph(self.library)

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Ids of the lessons in the order of the course."""
        return order_lessons(self.library, self.prerequisite_graph)

    @cached_property
    def ancestry(self) -> Ancestry:
        """Which lesson comes before which."""
        return find_ancestry(self.prerequisite_graph)

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
    def exercises(self) -> ExerciseBook:
        """All exercises, with the variants of each."""
        from builder.exercises import ExerciseBook

        return ExerciseBook(self)

    @cached_property
    def room(self) -> RoomSurvey:
        """The room, whatever is held there."""
        from builder.planning.room import survey_room

        return survey_room(self.library)

    def plan_run(self, name: str) -> ClassRun:
        """Plan the run of a class, session by session.

        Raises:
            KeyError: If the course has no such class.
        """
        from builder.planning.sessions import plan_sessions

        if name not in self._runs:
            self._runs[name] = plan_sessions(self.library, self.library.classes[name])
        return self._runs[name]

    # Safety

    @cached_property
    def hazards(self) -> HazardIndex:
        """Hazards and cautions."""
        return index_hazards(self.library)

    @cached_property
    def named_tools(self) -> Mapping[str, Tool]:
        """Tools by what a vessel of their id or name is known by."""
        return name_tools(self.library.tools)

    @cached_property
    def practical(self) -> tuple[Lesson | Fix, ...]:
        """Everything with steps at the bench."""
        return (*self.library.lessons.values(), *self.library.fixes.values())

    def attach_cautions(self, entry: Lesson | Fix) -> AttachedCautions:
        """Give the cautions of a lesson or fix, and of each of its steps."""
        key = (entry.kind, entry.id)
        if key not in self._attached:
            self._attached[key] = attach_cautions(self.library, entry, self.hazards)
        return self._attached[key]

    @cached_property
    def traces(self) -> tuple[tuple[Lesson | Fix, Trace], ...]:
        """What the steps of each lesson and fix do to the vessels they name."""
        materials, tools = self.library.materials, self.library.tools
        hazards = self.hazards.materials
        return tuple((entry, follow(entry, materials, tools, hazards)) for entry in self.practical)

    # Calculators

    @property
    def currency(self) -> str:
        """Code that stands for `money`."""
        return self.library.settings.currency if self.library.settings else CURRENCY

    @cached_property
    def _says(self) -> dict[str, str]:
        """What calculators say; places are filled in as they answer."""
        words = self.library.words
        kept = {
            place: f"{{{place}}}"
            for text in SAYS.values()
            for place in re.findall(r"\{(\w+)\}", text)
        }
        return {key: words.text(f"calculator-says.{key}", **kept) for key in SAYS}

    def try_compile(self, name: str) -> tuple[CompiledCalculator | None, tuple[Problem, ...]]:
        """Compile a calculator.

        Returns:
            It and no problems, or None and every problem found; None and none where the course
            has no such calculator.
        """
        if name not in self._compiled:
            entry = self.library.calculators.get(name)
            self._compiled[name] = (
                (None, ())
                if entry is None
                else try_compile(
                    entry,
                    self.library.tables,
                    self.currency,
                    self._says,
                )
            )
        return self._compiled[name]

    def compile(self, name: str) -> CompiledCalculator:
        """Compile a calculator that must be sound.

        Raises:
            KeyError: If the course has no such calculator.
            CalculatorError: With every problem found, each at its place.
        """
        compiled, problems = self.try_compile(name)
        if compiled is not None:
            return compiled
        if name not in self.library.calculators:
            raise KeyError(name)
        raise CalculatorError(problems)

    @cached_property
    def calculator_problems(self) -> tuple[tuple[Calculator | Table, Problem], ...]:
        """Everything wrong with the calculators and tables, worked examples run again."""
        tables = self.library.tables.values()
        found = [(table, each) for table in tables for each in check_table(table)]
        return (*found, *self._find_calculator_problems())

    def _find_calculator_problems(self) -> Iterator[tuple[Calculator, Problem]]:
        for name, calculator in self.library.calculators.items():
            compiled, problems = self.try_compile(name)
            if compiled is not None:
                settled = check_bounds(compiled)
                told = {found.route[:2] for found in settled}
                untried = (found for found in find_untried(compiled) if found.route not in told)
                problems = (*check_examples(compiled), *settled, *untried)
            for found in problems:
                yield calculator, found
