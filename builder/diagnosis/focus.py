"""What is likely once it is known which defect is there, before anything else is asked.

The defect is then a finding like any other: a sign that shows just when it is there. Only its own
causes have to do with that sign. Of the others only those stay that a question about its own causes
is about as well; all the rest is independent, and leaving it out changes no number.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

from builder.twin.diagnosis.fixes import LEAST_MENDS, choose_fixes
from builder.twin.diagnosis.indexing import find_question, index_network, mark_findings
from builder.twin.diagnosis.inference import (
    infer_beliefs,
    infer_edges,
    rank_entries,
    rank_numbers,
)
from builder.twin.diagnosis.plan import find_stops
from builder.twin.diagnosis.questions import expect_gain
from builder.twin.diagnosis.shapes import (
    Beliefs,
    CauseData,
    Findings,
    Guide,
    IndexedNetwork,
    Lead,
    Network,
    PlannedFix,
    QuestionData,
    Ranked,
    Remedy,
    StopFound,
    Told,
)

SIGN = "there"
"""Id of the sign that stands for the defect itself."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about a defect that is known to be there.

    Args:
        stops: What forbids the use of the thing.
        holds: What might.
        fixes: Fixes for this thing, then for the next, in order.
    """

    stops: tuple[StopFound, ...]
    holds: tuple[StopFound, ...]
    fixes: tuple[PlannedFix, ...]


@dataclass(frozen=True)
class KnownDefect:
    """A defect known to be there, with what is around it in the network.

    Args:
        defect: Its id.
        network: Everything that has to do with it, prepared; its one symptom is `SIGN`.
        own: Ids of its causes.
        guide: What the plan needs, as far as it has to do with the defect.
    """

    defect: str
    network: IndexedNetwork
    own: frozenset[str]
    guide: Guide

    @property
    def findings(self) -> Findings:
        """That the defect is there, and nothing else."""
        return {"present": [SIGN], "absent": [], "yes": [], "no": [], "skipped": []}

    def rank_causes(self) -> list[Ranked]:
        """Give the causes of the defect with their probabilities, most probable first."""
        return self.rank_own(self.believe(self.findings))

    def believe(self, findings: Findings) -> Beliefs:
        """Work out the odds of the causes after some findings."""
        return infer_beliefs(self.network, mark_findings(self.network, findings))

    def rank_own(self, beliefs: Beliefs) -> list[Ranked]:
        """Rank the causes of the defect by what is believed; each may be behind it."""
        numbers = [c for c, name in enumerate(self.network["cause_ids"]) if name in self.own]
        names = [self.network["cause_ids"][c] for c in numbers]
        chances = [beliefs["acting"][c] for c in numbers]
        return rank_entries(names, chances, [True] * len(names))

    def advise(self, findings: Findings, beliefs: Beliefs) -> Advice:
        """Say whether the thing may be used and what to do, by the same rules as the plan.

        Args:
            findings: `findings`, with answers.
            beliefs: What is believed after them.
        """
        edges: dict[str, float] = {}
        behind: dict[str, float] = {}
        for number, chances in enumerate(infer_edges(self.network, beliefs)):
            name = self.network["cause_ids"][number]
            for chance in chances if name in self.own else ():
                edges[f"{name}>{self.defect}"] = chance
                if chance >= LEAST_MENDS:
                    behind[name] = beliefs["acting"][number]
        told: Told = {
            "findings": findings,
            "context": [],
            "passed": [],
            "fits": True,
            "more": False,
        }
        stops, holds = find_stops(self.guide, told, {self.defect: 1.0}, behind)
        lead: Lead = {"id": self.defect, "probability": 1.0, "causes": [], "signs": [SIGN]}
        fixes = choose_fixes(
            self.guide, [lead], {self.defect: 1.0}, behind, edges, bool(stops), bool(holds), -1
        )
        return Advice(tuple(stops), tuple(holds), tuple(fixes))

    def rank_questions(self) -> list[tuple[str, float]]:
        """Give each question about the causes, with what its answer is expected to tell, in bits.

        The most telling first, equal ones by id.
        """
        network = self.network
        beliefs = infer_beliefs(network, mark_findings(network, self.findings))
        suspects = [name in self.own for name in network["cause_ids"]]
        names = network["finding_ids"][network["symptom_count"] :]
        gains = [
            expect_gain(network, beliefs, suspects, find_question(network, name)) for name in names
        ]
        return [(names[i], gains[i]) for i in rank_numbers(gains)]


@dataclass(frozen=True)
class Surroundings:
    """A whole network, indexed so that what is around one defect is found at once."""

    network: Network
    guide: Guide

    @cached_property
    def _causes(self) -> dict[str, CauseData]:
        return {cause["id"]: cause for cause in self.network["causes"]}

    @cached_property
    def _bringing(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for cause in self.network["causes"]:
            for defect, _ in cause["defects"]:
                found.setdefault(defect, []).append(cause["id"])
        return found

    @cached_property
    def _asked(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for cause in self.network["causes"]:
            for link in cause["questions"]:
                found.setdefault(link[0], []).append(cause["id"])
        return found

    @cached_property
    def _saving(self) -> dict[str, list[Remedy]]:
        """Fixes by the defect they save from."""
        found: dict[str, list[Remedy]] = {}
        for remedy in self.guide["remedies"]:
            for defect in dict.fromkeys(each["defect"] for each in remedy["saves"]):
                found.setdefault(defect, []).append(remedy)
        return found

    @cached_property
    def _preventing(self) -> dict[str, list[Remedy]]:
        """Fixes by the cause they prevent."""
        found: dict[str, list[Remedy]] = {}
        for remedy in self.guide["remedies"]:
            for cause, _ in remedy["prevents"]:
                found.setdefault(cause, []).append(remedy)
        return found

    @cached_property
    def _questions(self) -> dict[str, QuestionData]:
        return {each["id"]: each for each in self.network["questions"]}

    @cached_property
    def _leaks(self) -> dict[str, float]:
        return {defect["id"]: defect["leak"] for defect in self.network["defects"]}

    def know(self, defect: str) -> KnownDefect:
        """Take a defect as known.

        Args:
            defect: Id of a defect of the network.
        """
        own = dict.fromkeys(self._bringing.get(defect, ()))
        asked = {link[0] for name in own for link in self._causes[name]["questions"]}
        others = dict.fromkeys(name for question in sorted(asked) for name in self._asked[question])
        causes = [self._cut_cause(name, defect, asked) for name in own]
        silent: dict[str, float] = {}
        for name in others:
            if name not in own:
                cause = self._cut_cause(name, defect, asked)
                if len(cause["questions"]) > 1:
                    causes.append(cause)
                else:
                    # It has to do with this one answer alone: as good as a leak of its own.
                    question, acting, resting = cause["questions"][0]
                    quiet = cause["prior"] * (1 - acting) + (1 - cause["prior"]) * (1 - resting)
                    silent[question] = silent.get(question, 1.0) * quiet
        cut: Network = {
            "causes": causes,
            "defects": [{"id": defect, "leak": self._leaks[defect], "symptoms": [(SIGN, 1.0)]}],
            "symptoms": [{"id": SIGN, "leak": 0.0}],
            "questions": [
                {**each, "leak": 1 - (1 - each["leak"]) * silent.get(each["id"], 1.0)}
                for name in sorted(asked)
                for each in (self._questions[name],)
            ],
        }
        return KnownDefect(defect, index_network(cut), frozenset(own), self._cut_guide(defect, own))

    def _cut_guide(self, defect: str, own: Collection[str]) -> Guide:
        remedies = [
            *self._saving.get(defect, ()),
            *(each for name in own for each in self._preventing.get(name, ())),
        ]
        by_id = {each["id"]: each for each in remedies}
        return {
            **self.guide,
            "remedies": [by_id[name] for name in sorted(by_id)],
            "stops": [
                each
                for each in self.guide["stops"]
                if each["kind"] == "question" or each["by"] == defect or each["by"] in own
            ],
        }

    def _cut_cause(self, name: str, defect: str, asked: set[str]) -> CauseData:
        cause = self._causes[name]
        return {
            "id": name,
            "prior": cause["prior"],
            "defects": [link for link in cause["defects"] if link[0] == defect],
            "questions": [link for link in cause["questions"] if link[0] in asked],
        }
