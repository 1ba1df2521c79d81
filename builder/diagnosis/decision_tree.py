"""The tree of a decision chart, grown from the model that the diagnosis uses.

At its root the defect is known to be there, as on the defect's own page. Each question is the one
whose answer is expected to tell most about the causes of the defect, given the answers on the way
to it. A chart has room for few endings, so the tree grows where a question is expected to tell most
over all who have the defect: what it tells, times how many come there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from builder.diagnosis.focus import SIGN, KnownDefect
from builder.library import Library
from builder.twin.diagnosis.indexing import find_question
from builder.twin.diagnosis.inference import rank_numbers, round_score, weigh_evidence
from builder.twin.diagnosis.questions import LEAST_GAIN, expect_gain
from builder.twin.diagnosis.shapes import Beliefs, Findings, Ranked

DEEPEST = 4
"""Questions on the way to an ending, at most."""
MOST_ENDINGS = 7
"""Endings that can be read on one sheet of A4."""
LEAST_POSSIBLE = 0.05
"""A cause of the defect this likely is named somewhere on its chart."""
MOST_NAMED = 2
"""Causes named at one ending."""
SETTLED_PROBABILITY = 0.7
"""From here on a cause is taken as found: a chart asks no further."""
RIVAL_PROBABILITY = 0.2
"""A second cause this likely is named beside the first."""
SIGNATURE = 0.6
"""A symptom this usual belongs to the picture of its defect."""

Answer = tuple[str, bool]
"""Id of a question, and whether it is answered yes."""


@dataclass(frozen=True, slots=True)
class Leaf:
    """An ending.

    Args:
        answers: The answers on the way here.
        share: How many of those who have the defect come here, between 0 and 1.
        causes: The likeliest cause of the defect and its rivals, with their probabilities.
        now: The fix for the thing in the hand that comes first for the likeliest cause, or for a
            rival where that has none; None where no cause named here has one.
        next: The same for the next batch.
        use: "stop" where the thing must not be used, "hold" where it might be so, or "".
    """

    answers: tuple[Answer, ...]
    share: float
    causes: tuple[tuple[str, float], ...]
    now: str | None
    next: str | None
    use: Literal["", "stop", "hold"]


@dataclass(frozen=True, slots=True)
class Split:
    """A question with its two answers.

    Args:
        answers: The answers on the way here.
        share: How many of those who have the defect come here, between 0 and 1.
        question: Its id.
        gain: What the answer is expected to tell about the causes of the defect, in bits.
        yes: What follows a yes.
        no: What follows a no.
    """

    answers: tuple[Answer, ...]
    share: float
    question: str
    gain: float
    yes: Branch
    no: Branch


Branch = Leaf | Split


@dataclass(frozen=True, slots=True)
class Chart:
    """The chart of a defect.

    Args:
        defect: Its id.
        signs: Ids of the symptoms it is known by, the commonest first.
        first: What holds before any question is asked.
        root: The first question, or the one ending.
        possible: Causes at least `LEAST_POSSIBLE` likely before any answer that no ending names.
    """

    defect: str
    signs: tuple[str, ...]
    first: Leaf
    root: Branch
    possible: tuple[str, ...]


def list_leaves(branch: Branch) -> Iterator[Leaf]:
    """Give the endings of a branch, yes before no."""
    if isinstance(branch, Leaf):
        yield branch
    else:
        yield from list_leaves(branch.yes)
        yield from list_leaves(branch.no)


@dataclass(frozen=True)
class _Place:
    """Where some answers about a known defect lead."""

    known: KnownDefect
    answers: tuple[Answer, ...]

    @property
    def findings(self) -> Findings:
        return {
            "present": [SIGN],
            "absent": [],
            "yes": [question for question, answer in self.answers if answer],
            "no": [question for question, answer in self.answers if not answer],
            "skipped": [],
        }

    @cached_property
    def beliefs(self) -> Beliefs:
        """What is believed here."""
        return self.known.believe(self.findings)

    @cached_property
    def weight(self) -> float:
        """Chance of the defect and these answers together; 0 where they contradict each other."""
        return weigh_evidence(self.beliefs)

    @cached_property
    def causes(self) -> list[Ranked]:
        """Causes of the defect, the likeliest first."""
        return self.known.rank_own(self.beliefs)

    @cached_property
    def question(self) -> tuple[str, float] | None:
        """The question most worth asking here and its gain in bits; None where none is."""
        if len(self.answers) >= DEEPEST or self.causes[0]["probability"] >= SETTLED_PROBABILITY:
            return None
        network = self.known.network
        beliefs = self.beliefs
        suspects = [name in self.known.own for name in network["cause_ids"]]
        asked = {question for question, _ in self.answers}
        names = [
            name for name in network["finding_ids"][network["symptom_count"] :] if name not in asked
        ]
        gains = [
            expect_gain(network, beliefs, suspects, find_question(network, name)) for name in names
        ]
        for index in rank_numbers(gains):
            if gains[index] < LEAST_GAIN:
                return None
            if all(self.answer(names[index], answer).weight > 0.0 for answer in (True, False)):
                return names[index], gains[index]
        return None

    def answer(self, question: str, answer: bool) -> _Place:
        """Go on with an answer."""
        return _Place(self.known, (*self.answers, (question, answer)))

    def end(self, whole: float) -> Leaf:
        """Make this an ending; `whole` is the chance of the defect."""
        named = tuple(
            (each["id"], each["probability"])
            for place, each in enumerate(self.causes[:MOST_NAMED])
            if place == 0 or each["probability"] > RIVAL_PROBABILITY
        )
        advice = self.known.advise(self.findings, self.beliefs)
        mended = {
            each["id"]: {link[0] for link in each["prevents"]}
            | {one["cause"] for one in each["saves"] if one["defect"] == self.known.defect}
            for each in self.known.guide["remedies"]
        }
        first: dict[str, str] = {}
        for cause, _ in named:
            # A fix for another cause than the one named, however cheap, would puzzle the reader.
            for fix in advice.fixes:
                if mended[fix["id"]] & {"", cause}:
                    first.setdefault(fix["when"], fix["id"])
        share = self.weight / whole
        return Leaf(
            self.answers,
            share,
            named,
            first.get("now"),
            first.get("next"),
            "stop" if advice.stops else "hold" if advice.holds else "",
        )


def grow_tree(known: KnownDefect) -> Branch:
    """Grow the tree of a defect that has a cause.

    Args:
        known: The defect, with what is around it in the network.
    """
    root = _Place(known, ())
    questions: dict[tuple[Answer, ...], tuple[str, float]] = {}
    open_places = [root]
    while len(questions) + 1 < MOST_ENDINGS:
        worth = [each.weight * each.question[1] if each.question else 0.0 for each in open_places]
        best = rank_numbers(worth)[0]
        if round_score(worth[best]) <= 0.0:
            break
        place = open_places.pop(best)
        assert place.question is not None
        questions[place.answers] = place.question
        open_places += [place.answer(place.question[0], answer) for answer in (True, False)]
    return _join(root, questions, root.weight)


def _join(
    place: _Place, questions: dict[tuple[Answer, ...], tuple[str, float]], whole: float
) -> Branch:
    found = questions.get(place.answers)
    if found is None:
        return place.end(whole)
    yes, no = (_join(place.answer(found[0], answer), questions, whole) for answer in (True, False))
    if isinstance(yes, Leaf) and isinstance(no, Leaf) and _conclude(yes) == _conclude(no):
        # Whatever the answer, the reader is told the same: not worth a question on paper.
        return place.end(whole)
    return Split(place.answers, place.weight / whole, found[0], found[1], yes, no)


def _conclude(leaf: Leaf) -> tuple[tuple[str, ...], str | None, str | None, str]:
    return tuple(name for name, _ in leaf.causes), leaf.now, leaf.next, leaf.use


def make_chart(library: Library, known: KnownDefect) -> Chart | None:
    """Make the chart of a defect; one without a cause has none.

    Args:
        library: The course.
        known: A defect of it, with what is around it in the network.
    """
    defect = known.defect
    if not known.own:
        return None
    root = grow_tree(known)
    named = {cause for leaf in list_leaves(root) for cause, _ in leaf.causes}
    possible = tuple(
        each["id"]
        for each in known.rank_causes()
        if each["probability"] >= LEAST_POSSIBLE and each["id"] not in named
    )
    start = _Place(known, ())
    return Chart(defect, _list_signs(library, defect), start.end(start.weight), root, possible)


def _list_signs(library: Library, defect: str) -> tuple[str, ...]:
    links = sorted(
        (link for link in library.defects[defect].symptoms if link.symptom in library.symptoms),
        key=lambda link: (-link.often, link.symptom),
    )
    usual = [link.symptom for link in links if link.often >= SIGNATURE]
    return tuple(usual or [link.symptom for link in links[:1]])
