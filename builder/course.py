"""What the checks, the pages and the papers work out of a course, each worked out once.

One `Workings` goes along the main path, so that a graph is built, the diagnosis numbered and a
calculator compiled once in a build, however many ask for it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from builder.calculators import CalculatorError, CompiledCalculator, Problem, try_compile
from builder.graph import build_cause_graph, build_prerequisite_graph, order_lessons
from builder.hazards import HazardIndex, index_hazards
from builder.library import Library

if TYPE_CHECKING:
    from builder.graph import Graph
    from builder.planning.sessions import SessionPlan
    from builder.twin.diagnosis.shapes import IndexedNetwork, Network

CURRENCY = "EUR"
"""Stands for `money` where the course cannot be read."""


@dataclass(frozen=True)
class Workings:
    """What several parts of the builder need of a course.

    Args:
        library: The course, errors and all.
    """

    library: Library
    _session_plans: dict[str, tuple[SessionPlan, ...]] = field(
        default_factory=dict, init=False, repr=False
    )
    _compiled: dict[str, tuple[CompiledCalculator | None, tuple[Problem, ...]]] = field(
        default_factory=dict, init=False, repr=False
    )

    @cached_property
    def cause_graph(self) -> Graph:
        """The graph symptom -> defect -> cause -> fix."""
        return build_cause_graph(self.library)

    @cached_property
    def prerequisite_graph(self) -> Graph:
        """The graph of what each lesson needs."""
        return build_prerequisite_graph(self.library)

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Lessons in the order of the course."""
        return order_lessons(self.library, self.prerequisite_graph)

    @cached_property
    def hazards(self) -> HazardIndex:
        """Hazards and cautions of the course."""
        return index_hazards(self.library)

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

    def plan_sessions(self, name: str) -> tuple[SessionPlan, ...]:
        """Plan the sessions of a class.

        Raises:
            KeyError: If the course has no such class.
        """
        from builder.planning.sessions import plan_sessions

        if name not in self._session_plans:
            self._session_plans[name] = plan_sessions(self.library, self.library.classes[name])
        return self._session_plans[name]

    @property
    def currency(self) -> str:
        """Code that stands for `money`."""
        return self.library.course.currency if self.library.course else CURRENCY

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
                else try_compile(entry, self.library.tables, self.currency)
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
