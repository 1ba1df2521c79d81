"""What holds of every decision chart, recomputed from the whole network through `infer` alone."""

from __future__ import annotations

import math
from itertools import combinations

from builder.diagnosis.decision_tree import (
    DEEPEST,
    LEAST_POSSIBLE,
    MOST_ENDINGS,
    MOST_NAMED,
    RIVAL_PROBABILITY,
    SETTLED_PROBABILITY,
    Answer,
    Branch,
    Chart,
    Leaf,
    Split,
    list_leaves,
)
from builder.diagnosis.network import build_network
from builder.drawings.decision_chart import ChartBox, ChartLayout
from builder.drawings.text_room import TEXT_SIZE, estimate_width
from builder.library import Library
from builder.model import Defect
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.inference import infer
from builder.twin.diagnosis.questions import LEAST_GAIN
from builder.twin.diagnosis.shapes import Diagnosis, IndexedNetwork

SIGN = "proof-that-it-is-there"


class Proof:
    """The whole network of a course, in which one defect is known to be there."""

    def __init__(self, library: Library, defect: str) -> None:
        network = build_network(library)
        self.library, self.defect = library, library.defects[defect]
        shown = [
            {**each, "symptoms": [*each["symptoms"], (SIGN, 1.0)]} if each["id"] == defect else each
            for each in network["defects"]
        ]
        signs = [*network["symptoms"], {"id": SIGN, "leak": 0.0}]
        whole = {**network, "defects": shown, "symptoms": signs}
        self.network: IndexedNetwork = index_network(whole)  # type: ignore[arg-type]
        self.own = {link.cause for link in library.defects[defect].causes}
        self.questions = {
            evidence.question for name in self.own for evidence in library.causes[name].evidence
        }

    def infer(self, answers: tuple[Answer, ...]) -> Diagnosis:
        """Diagnose with the defect and some answers."""
        return infer(
            self.network,
            {
                "present": [SIGN],
                "absent": [],
                "yes": [name for name, answer in answers if answer],
                "no": [name for name, answer in answers if not answer],
                "skipped": [],
            },
        )

    def rank(self, answers: tuple[Answer, ...]) -> dict[str, float]:
        """Give the causes of the defect, the likeliest first."""
        return {
            each["id"]: each["probability"]
            for each in self.infer(answers)["causes"]
            if each["id"] in self.own
        }

    def measure_gain(self, answers: tuple[Answer, ...], question: str) -> float:
        """Measure what a question tells of each cause: its entropy before, less that after.

        C. E. Shannon, "A mathematical theory of communication", 1948, section 6.
        """
        before = self.infer(answers)["evidence_probability"]
        gain = sum(map(_entropy, self.rank(answers).values()))
        for answer in (True, False):
            after = (*answers, (question, answer))
            share = self.infer(after)["evidence_probability"] / before
            gain -= share * sum(map(_entropy, self.rank(after).values()))
        return gain


def _entropy(chance: float) -> float:
    return -sum(part * math.log2(part) for part in (chance, 1 - chance) if part > 0)


def prove_chart(library: Library, chart: Chart) -> None:
    """Check a chart against the model."""
    proof = Proof(library, chart.defect)
    leaves = list(list_leaves(chart.root))
    assert len(leaves) <= MOST_ENDINGS
    assert math.isclose(sum(leaf.share for leaf in leaves), 1.0, abs_tol=1e-9)
    _prove_branch(proof, chart.root, ())
    if len(leaves) < MOST_ENDINGS:
        for leaf in leaves:
            _prove_end(proof, leaf)
    before = proof.rank(())
    named = {cause for leaf in leaves for cause, _ in leaf.causes}
    assert set(chart.possible).isdisjoint(named)
    assert {name for name in before if before[name] >= LEAST_POSSIBLE} <= {*named, *chart.possible}
    _prove_leaf(proof, chart.first)


def _prove_branch(proof: Proof, branch: Branch, answers: tuple[Answer, ...]) -> None:
    assert branch.answers == answers
    assert len(answers) <= DEEPEST
    found, whole = proof.infer(answers), proof.infer(())
    share = found["evidence_probability"] / whole["evidence_probability"]
    assert math.isclose(branch.share, share, rel_tol=1e-9)
    if isinstance(branch, Leaf):
        _prove_leaf(proof, branch)
        return
    ranked = proof.rank(answers)
    assert next(iter(ranked.values())) < SETTLED_PROBABILITY
    asked = {name for name, _ in answers}
    gains = {name: proof.measure_gain(answers, name) for name in proof.questions - asked}
    assert branch.gain >= LEAST_GAIN
    assert math.isclose(branch.gain, gains[branch.question], rel_tol=1e-6)
    assert branch.gain >= max(gains.values()) - 1e-9
    _prove_branch(proof, branch.yes, (*answers, (branch.question, True)))
    _prove_branch(proof, branch.no, (*answers, (branch.question, False)))


def _prove_end(proof: Proof, leaf: Leaf) -> None:
    """Check that a tree with room left ends here for a reason."""
    if len(leaf.answers) == DEEPEST or leaf.causes[0][1] >= SETTLED_PROBABILITY:
        return
    asked = {name for name, _ in leaf.answers}
    gains = {name: proof.measure_gain(leaf.answers, name) for name in proof.questions - asked}
    best = max(gains, key=lambda name: gains[name], default=None)
    if best is None or gains[best] < LEAST_GAIN:
        return
    # Or whatever the answer, the cause named first stays the same.
    tops = {next(iter(proof.rank((*leaf.answers, (best, answer))))) for answer in (True, False)}
    assert tops == {leaf.causes[0][0]}


def _prove_leaf(proof: Proof, leaf: Leaf) -> None:
    ranked = proof.rank(leaf.answers)
    assert list(ranked)[: len(leaf.causes)] == [name for name, _ in leaf.causes]
    for name, probability in leaf.causes:
        assert math.isclose(probability, ranked[name], rel_tol=1e-9)
    rivals = [name for name in list(ranked)[:MOST_NAMED] if ranked[name] > RIVAL_PROBABILITY]
    assert {name for name, _ in leaf.causes} == {next(iter(ranked)), *rivals}
    library, defect = proof.library, proof.defect
    if leaf.now:
        assert leaf.now in _list_rescues(library, defect)
        stopped = defect.stop is not None or any(
            answer and library.questions[name].stop for name, answer in leaf.answers
        )
        if stopped or leaf.use == "stop":
            assert library.fixes[leaf.now].discards or library.fixes[leaf.now].sets_aside
    if leaf.next:
        prevented = {
            cause
            for cause in proof.own
            for link in library.causes[cause].fixes
            if link.fix == leaf.next
        }
        assert prevented & {name for name, _ in leaf.causes}


def _list_rescues(library: Library, defect: Defect) -> set[str]:
    """List the fixes that save from a defect, by its own links and those of its causes."""
    own = {link.fix for link in defect.fixes}
    return own | {link.fix for each in defect.causes for link in library.causes[each.cause].fixes}


def prove_layout(layout: ChartLayout) -> None:
    """Check that boxes and words keep clear of each other, and no line crosses a box or a line."""
    for box in layout.boxes:
        assert box.x >= 0
        assert box.x + box.width <= layout.width
        assert box.y >= 0
        assert box.y + box.height <= layout.height
        for line in box.lines:
            size = {"small": 13.0, "strong": TEXT_SIZE * 1.15}.get(line.style, TEXT_SIZE)
            assert line.x + estimate_width(line.text, size) <= box.x + box.width
            assert box.y < line.y - size * 0.7
            assert line.y < box.y + box.height
    for one, other in combinations(layout.boxes, 2):
        assert not _overlap(one, other), (one, other)
    for line in layout.loose:
        assert line.y <= layout.height
        assert line.x + estimate_width(line.text, 13.0) <= layout.width
    ways = [_walk(turn) for turn in layout.turns]
    for way in ways:
        for piece in way:
            assert not any(_cuts(piece, box) for box in layout.boxes)
    for one_way, other_way in combinations(ways, 2):
        if one_way[0][:2] != other_way[0][:2]:  # two answers leave their question together
            assert not any(_cross(a, b) for a in one_way for b in other_way)


Piece = tuple[float, float, float, float]


def _walk(turn: object) -> list[Piece]:
    x1, y1, x2, y2, bend = (getattr(turn, name) for name in ("x1", "y1", "x2", "y2", "turn"))
    if bend is None:
        return [(x1, y1, x2, y2)]
    return [(x1, y1, bend, y1), (bend, y1, bend, y2), (bend, y2, x2, y2)]


def _overlap(one: ChartBox, other: ChartBox) -> bool:
    return (
        one.x < other.x + other.width - 1e-6
        and other.x < one.x + one.width - 1e-6
        and one.y < other.y + other.height - 1e-6
        and other.y < one.y + one.height - 1e-6
    )


def _cuts(piece: Piece, box: ChartBox) -> bool:
    """Say whether a line runs inside a box; touching its edge is allowed."""
    left, right = sorted((piece[0], piece[2]))
    top, bottom = sorted((piece[1], piece[3]))
    return (
        left < box.x + box.width - 1e-6
        and right > box.x + 1e-6
        and top < box.y + box.height - 1e-6
        and bottom > box.y + 1e-6
    )


def _cross(one: Piece, other: Piece) -> bool:
    for a, b in ((one, other), (other, one)):
        if a[1] == a[3] and b[0] == b[2]:  # level and upright
            left, right = sorted((a[0], a[2]))
            top, bottom = sorted((b[1], b[3]))
            if left < b[0] < right and top < a[1] < bottom:
                return True
    return False


def count_questions(branch: Branch) -> int:
    """Count the questions of a branch."""
    if isinstance(branch, Split):
        return 1 + count_questions(branch.yes) + count_questions(branch.no)
    return 0
