"""A defect known to be there: the part of the network around it gives what the whole one gives."""

from __future__ import annotations

from typing import Any

import pytest
from diagnosis_reference import Network, enumerate_posteriors, make_network, no_findings

from builder.diagnosis.focus import Surroundings
from builder.twin.diagnosis.indexing import find_question, index_network, mark_findings
from builder.twin.diagnosis.inference import infer, infer_beliefs
from builder.twin.diagnosis.questions import expect_gain

NOTHING_TOLD: Any = {"remedies": [], "stops": []}


def show_defect(network: Network, defect: str) -> Network:
    """Give the whole network with a sign that shows just when a defect is there."""
    return {
        **network,
        "symptoms": [*network["symptoms"], {"id": "shown", "leak": 0.0}],
        "defects": [
            {**each, "symptoms": [*each["symptoms"], ("shown", 1.0)]}
            if each["id"] == defect
            else each
            for each in network["defects"]
        ],
    }


def by_id(ranked: Any) -> dict[str, float]:
    return {each["id"]: each["probability"] for each in ranked}


def test_by_hand() -> None:
    """Bayes' rule for two causes of 0.1 that bring a defect with 0.6, background 0.002."""
    network: Any = {
        "causes": [
            {"id": name, "prior": 0.1, "defects": [("flaw", 0.6)], "questions": []}
            for name in ("a", "b")
        ],
        "defects": [{"id": "flaw", "leak": 0.002, "symptoms": []}],
        "symptoms": [],
        "questions": [],
    }
    absent = 0.998 * (1 - 0.1 * 0.6) ** 2
    with_one = 1 - 0.998 * (1 - 0.6) * (1 - 0.1 * 0.6)
    for cause in Surroundings(network, NOTHING_TOLD).know("flaw").rank_causes():
        assert cause["probability"] == pytest.approx(0.1 * with_one / (1 - absent), rel=1e-12)
        assert cause["linked"]


@pytest.mark.parametrize("seed", range(20))
def test_the_part_gives_what_the_whole_gives(seed: int) -> None:
    network = make_network(seed, causes=12, defects=5, symptoms=4, questions=6)
    surroundings = Surroundings(network, NOTHING_TOLD)  # type: ignore[arg-type]
    for defect in [each["id"] for each in network["defects"]]:
        known = surroundings.know(defect)
        own = {c["id"] for c in network["causes"] if defect in dict(c["defects"])}
        assert known.own == own
        whole = index_network(show_defect(network, defect))  # type: ignore[arg-type]
        findings: Any = {**no_findings(), "present": ["shown"]}
        found = infer(whole, findings)
        expected = by_id(found["causes"])
        causes = by_id(known.rank_causes())
        assert causes == pytest.approx({name: expected[name] for name in own}, rel=1e-12)
        beliefs = infer_beliefs(whole, mark_findings(whole, findings))
        suspects = [name in own for name in whole["cause_ids"]]
        for name, gain in known.rank_questions():
            exact = expect_gain(whole, beliefs, suspects, find_question(whole, name))
            assert gain == pytest.approx(exact, abs=1e-12)


def test_against_enumeration() -> None:
    network = make_network(4, causes=4, defects=2, symptoms=1, questions=2)
    for defect in [each["id"] for each in network["defects"]]:
        findings = {**no_findings(), "present": ["shown"]}
        _, exact, _ = enumerate_posteriors(show_defect(network, defect), findings)
        for cause in Surroundings(network, NOTHING_TOLD).know(defect).rank_causes():  # type: ignore[arg-type]
            assert cause["probability"] == pytest.approx(exact[cause["id"]], abs=1e-9)
