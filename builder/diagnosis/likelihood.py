"""How likely each cause of a defect is once the defect is known, by the model of the diagnosis.

The one place where pages weigh causes. What an author wrote is a teacher's judgement, and so is
what comes of it; pages say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from builder.diagnosis.decision_tree import Chart, make_chart
from builder.diagnosis.focus import KnownDefect, Surroundings
from builder.library import Library
from builder.model import When
from builder.twin.diagnosis.fixes import LEAST_COST_MINUTES
from builder.twin.diagnosis.shapes import Guide, Network

DISCARD_FIRST = 0.3


@dataclass(frozen=True, slots=True)
class RankedCause:
    """A cause of a defect, and the probability that it acts; several may act at once."""

    cause: str
    probability: float


@dataclass(frozen=True, slots=True)
class DefectFix:
    """A fix for a defect.

    Args:
        fix: Its id.
        causes: The causes of the defect that it mends, the likeliest first.
    """

    fix: str
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RankedQuestion:
    """A question that tells causes of a defect apart.

    Args:
        question: Its id.
        raised: Causes that a yes speaks for, the strongest first.
        lowered: Causes that a yes speaks against, the strongest first.
        gain: What the answer is expected to tell about the causes, in bits.
    """

    question: str
    raised: tuple[str, ...]
    lowered: tuple[str, ...]
    gain: float


@dataclass(frozen=True)
class Likelihoods:
    """The causes, fixes and questions of each defect of a course, weighed."""

    library: Library
    network: Network
    guide: Guide

    @cached_property
    def _surroundings(self) -> Surroundings:
        return Surroundings(self.network, self.guide)

    @cached_property
    def _known(self) -> dict[str, tuple[KnownDefect, tuple[RankedCause, ...]]]:
        return {}

    def _know(self, defect: str) -> tuple[KnownDefect, tuple[RankedCause, ...]]:
        if defect not in self._known:
            known = self._surroundings.know(defect)
            causes = tuple(
                RankedCause(each["id"], each["probability"]) for each in known.rank_causes()
            )
            self._known[defect] = known, causes
        return self._known[defect]

    def rank_causes(self, defect: str) -> tuple[RankedCause, ...]:
        """Rank the causes of a defect.

        Args:
            defect: Its id.

        Returns:
            The likeliest first, equals by id.
        """
        return self._know(defect)[1]

    def rank_fixes(self, defect: str, when: When) -> tuple[DefectFix, ...]:
        """Rank the fixes of a defect by what they are expected to mend over their cost.

        Args:
            defect: Its id.
            when: Fixes for the thing in the hand, or for the next batch.

        Returns:
            The best first, equals by id. Throwing away comes first where it is called for by
            `DISCARD_FIRST` of those who have the defect, and alone where the defect forbids the use
            of the thing; else last.
        """
        known, causes = self._know(defect)
        chances = {each.cause: each.probability for each in causes}
        own = list(chances)
        ranked: list[tuple[int, float, str, tuple[str, ...]]] = []
        stop = self.library.defects[defect].stop is not None
        for remedy in known.guide["remedies"]:
            if remedy["when"] != when.value:
                continue
            savings = [each for each in remedy["saves"] if each["defect"] == defect]
            after = {each["cause"] for each in savings} | {link[0] for link in remedy["prevents"]}
            mended = tuple(name for name in own if "" in after or name in after)
            weight = sum(
                each["helps"] * (chances.get(each["cause"], 0.0) if each["cause"] else 1.0)
                for each in savings
            ) + sum(chances.get(name, 0.0) * helps for name, helps in remedy["prevents"])
            if mended and not (stop and savings and not remedy["discards"]):
                ratio = weight / max(LEAST_COST_MINUTES, remedy["cost_minutes"])
                place = 1 if not remedy["discards"] else 0 if weight >= DISCARD_FIRST else 2
                ranked.append((place, -round(ratio, 9), remedy["id"], mended))
        return tuple(DefectFix(name, mended) for *_, name, mended in sorted(ranked))

    def make_chart(self, defect: str) -> Chart | None:
        """Make the decision chart of a defect; one without a cause has none.

        Args:
            defect: Its id.
        """
        return make_chart(self.library, self._know(defect)[0])

    @cached_property
    def charts(self) -> tuple[Chart, ...]:
        """The decision charts of all defects that have one."""
        made = (self.make_chart(name) for name in self.library.defects)
        return tuple(chart for chart in made if chart)

    def rank_questions(self, defect: str) -> tuple[RankedQuestion, ...]:
        """Rank the questions of a defect's causes by what their answers are expected to tell.

        Args:
            defect: Its id.

        Returns:
            The most telling first, equals by id.
        """
        known, causes = self._know(defect)
        moves: dict[str, list[tuple[float, str]]] = {}
        for ranked in causes:
            for evidence in self.library.causes[ranked.cause].evidence:
                otherwise = self.library.questions[evidence.question].yes_otherwise
                move = (evidence.yes - otherwise) * ranked.probability
                moves.setdefault(evidence.question, []).append((move, ranked.cause))
        return tuple(
            RankedQuestion(
                question,
                tuple(
                    name for move, name in sorted(moved, key=lambda m: (-m[0], m[1])) if move > 0
                ),
                tuple(name for move, name in sorted(moved) if move < 0),
                gain,
            )
            for question, gain in known.rank_questions()
            for moved in (moves[question],)
        )
