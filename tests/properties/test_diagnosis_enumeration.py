"""The diagnosis, function by function, against enumeration and by hand."""

from __future__ import annotations

import gzip
import math
import random
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from diagnosis_reference import (
    Side,
    complete_network,
    diagnose,
    enumerate_posteriors,
    make_findings,
    make_network,
    no_findings,
    open_side,
)
from py_mini_racer import MiniRacer

from builder.twin.diagnosis import questions
from builder.twin.diagnosis.indexing import index_network, mark_findings
from builder.twin.diagnosis.inference import infer, infer_beliefs
from builder.twin_scripts import DIAGNOSIS, NUMBERS, write_script


@pytest.fixture(scope="module", params=["python", "script"])
def side(request: pytest.FixtureRequest) -> Iterator[Side]:
    with open_side(request.param) as opened:
        yield opened


def by_id(ranked: list[dict[str, Any]]) -> dict[str, float]:
    return {entry["id"]: entry["probability"] for entry in ranked}


SMALL = {"causes": 4, "defects": 3, "symptoms": 4, "questions": 3}


@cache
def enumerate_small(seed: int) -> Any:
    """Give a network, findings and what enumeration says of them, once for both languages."""
    network = make_network(seed, **{**SMALL, "causes": 2 + seed % 3})
    findings = make_findings(network, seed)
    return network, findings, *enumerate_posteriors(network, findings)


@pytest.mark.parametrize("seed", range(16))
def test_probabilities_equal_enumeration(side: Side, seed: int) -> None:
    network, findings, evidence_probability, causes, defects = enumerate_small(seed)
    found = side.call("infer", side.index(network), findings)
    assert found["evidence_probability"] == pytest.approx(evidence_probability, rel=1e-9)
    assert by_id(found["causes"]) == pytest.approx(causes, abs=1e-9)
    assert by_id(found["defects"]) == pytest.approx(defects, abs=1e-9)


def entropy(probability: float) -> float:
    return -sum(p * math.log2(p) for p in (probability, 1 - probability) if 0 < p < 1)


def with_answer(findings: dict[str, list[str]], kind: str, name: str, yes: bool) -> Any:
    key = {"symptom": ("present", "absent"), "question": ("yes", "no")}[kind][0 if yes else 1]
    return {**findings, key: [*findings[key], name]}


def remove(findings: dict[str, list[str]], name: str) -> dict[str, list[str]]:
    return {key: [other for other in ids if other != name] for key, ids in findings.items()}


@cache
def enumerate_gains(seed: int) -> Any:
    """Give a network, findings and the gain of each answer by enumerating all worlds."""
    network = make_network(seed, causes=3, defects=2, symptoms=4, questions=3)
    pick = random.Random(seed)
    findings = {**no_findings(), "present": [pick.choice(network["symptoms"])["id"]]}
    total, causes, _ = enumerate_posteriors(network, findings)
    # Suspects by their definition: some way leads from the cause to what is seen.
    shows = {d["id"]: dict(d["symptoms"]) for d in network["defects"]}
    suspects = [
        c["id"]
        for c in network["causes"]
        if any(findings["present"][0] in shows[d] for d, _ in c["defects"])
        and causes[c["id"]] >= questions.SUSPECT_PROBABILITY
    ]
    gains = {}
    unknown = [("symptom", s["id"]) for s in network["symptoms"]]
    unknown += [("question", q["id"]) for q in network["questions"]]
    for kind, name in unknown:
        if name in findings["present"]:
            continue
        gain = sum(entropy(causes[c]) for c in suspects)
        for yes in (True, False):
            weight, after, _ = enumerate_posteriors(network, with_answer(findings, kind, name, yes))
            gain -= weight / total * sum(entropy(after[c]) for c in suspects)
        gains[kind, name] = gain
    return network, findings, suspects, gains


@pytest.mark.parametrize("seed", range(8))
def test_gain_is_the_expected_fall_of_the_entropies(side: Side, seed: int) -> None:
    network, findings, suspects, gains = enumerate_gains(seed)
    best = max(gains, key=lambda key: gains[key])
    indexed = index_network(network)
    beliefs = infer_beliefs(indexed, mark_findings(indexed, findings))
    marked = questions.list_suspects(indexed, beliefs)
    assert [c for c, mark in zip(indexed["cause_ids"], marked, strict=True) if mark] == suspects
    for (_, name), gain in gains.items():
        number = indexed["finding_ids"].index(name)
        exact = questions.expect_gain(indexed, beliefs, marked, number)
        assert exact == pytest.approx(gain, abs=1e-9)
    chosen = side.call("choose_question", side.index(network), findings)
    if gains[best] < questions.LEAST_GAIN:
        assert chosen is None
    else:
        assert (chosen["kind"], chosen["id"]) == best
        assert chosen["gain"] == pytest.approx(gains[best], abs=1e-9)


@pytest.mark.parametrize("seed", [0, 14, 28, 49])
def test_the_screen_loses_no_better_question(seed: int) -> None:
    """The choice is the exact best of all; in the last two networks it is not the screen's own."""
    network = make_network(
        seed,
        causes=40,
        defects=6,
        symptoms=24,
        questions=20,
        symptoms_a_defect=8,
        questions_a_cause=3,
        highest_prior=0.2,
    )
    seen = random.Random(seed).choice(network["defects"])["symptoms"][:4]
    yes = [question["id"] for question in network["questions"] if question["telling"] == "yes"]
    findings = {**no_findings(), "present": [name for name, _ in seen], "yes": yes[:2]}
    indexed = index_network(network)  # type: ignore[arg-type]
    marks = mark_findings(indexed, findings)  # type: ignore[arg-type]
    beliefs = infer_beliefs(indexed, marks)
    suspects = questions.list_suspects(indexed, beliefs)
    best = max(
        questions.expect_gain(indexed, beliefs, suspects, f)
        for f in range(len(marks))
        if marks[f] == 0
    )
    chosen = questions.choose_question(indexed, findings)  # type: ignore[arg-type]
    assert chosen is not None
    assert chosen["gain"] == pytest.approx(best, rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_reasons_are_what_leaving_out_changes(side: Side, seed: int) -> None:
    network = make_network(seed, causes=3, defects=2, symptoms=4, questions=3)
    findings = make_findings(network, seed)
    causes = [cause["id"] for cause in network["causes"]]
    answers = dict.fromkeys(findings["present"] + findings["yes"], "yes")
    answers |= dict.fromkeys(findings["absent"] + findings["no"], "no")
    _, full, _ = enumerate_posteriors(network, findings)
    moves: dict[str, dict[str, float]] = {name: {} for name in causes}
    for finding in answers:
        _, fewer, _ = enumerate_posteriors(network, remove(findings, finding))
        for name in causes:
            odds = full[name] / (1 - full[name])
            moves[name][finding] = math.log2(odds / (fewer[name] / (1 - fewer[name])))
    explained = side.call("explain", side.index(network), findings, causes)
    assert [entry["id"] for entry in explained] == causes
    for entry in explained:
        expected = {
            finding: bits
            for finding, bits in moves[entry["id"]].items()
            if abs(bits) >= questions.LEAST_BITS
        }
        given = {reason["id"]: reason["bits"] for reason in entry["because"]}
        assert given == pytest.approx(expected, abs=1e-8)
        sizes = [abs(reason["bits"]) for reason in entry["because"]]
        assert sizes == sorted(sizes, reverse=True)
        for reason in entry["because"]:
            assert reason["sign"] == math.copysign(1, reason["bits"])
            assert reason["answer"] == answers[reason["id"]]
            assert reason["kind"] == reason["id"].split("-")[0]


TWO_CAUSES = complete_network(
    {
        "causes": [
            {
                "id": "hot",
                "prior": 0.1,
                "defects": [["pits", 0.8]],
                "questions": [["fast", 0.9, 0]],
            },
            {"id": "damp", "prior": 0.1, "defects": [["pits", 0.8]]},
        ],
        "defects": [{"id": "pits", "leak": 0.01, "symptoms": [["holes", 0.95], ["rough", 0.6]]}],
        "symptoms": [{"id": "holes", "leak": 0.01}, {"id": "rough", "leak": 0.05}],
        "questions": [{"id": "fast", "leak": 0.2}],
    }
)


def test_a_whole_session(side: Side) -> None:
    seen = {**no_findings(), "present": ["holes"]}
    first = diagnose(side, TWO_CAUSES, seen)
    causes = by_id(first["causes"])
    assert causes["hot"] == causes["damp"]
    assert [cause["id"] for cause in first["causes"]] == ["damp", "hot"], "equal ones by id"
    assert (first["next"]["kind"], first["next"]["id"]) == ("question", "fast")
    yes = diagnose(side, TWO_CAUSES, {**seen, "yes": ["fast"]})
    assert yes["causes"][0]["id"] == "hot"
    assert by_id(yes["causes"])["damp"] < causes["damp"], "explained away"
    reasons = yes["explained"][0]["because"]
    assert [(reason["id"], reason["sign"]) for reason in reasons] == [("holes", 1), ("fast", 1)]
    no = diagnose(side, TWO_CAUSES, {**seen, "no": ["fast"]})
    assert no["causes"][0]["id"] == "damp"
    skipped = diagnose(side, TWO_CAUSES, {**seen, "skipped": ["fast"]})
    assert {**skipped, "next": 0} == {**first, "next": 0}, "what is not known counts for nothing"
    assert skipped["next"] is None, "roughness tells nothing about two causes of one defect"


def test_what_is_only_common_is_not_linked(side: Side) -> None:
    network = complete_network(
        {
            "causes": [
                {"id": "habit", "prior": 0.3, "defects": [["dull", 0.5]]},
                {"id": "seen", "prior": 0.02, "defects": [["pits", 0.9]]},
                {"id": "against", "prior": 0.2, "questions": [["covered", 0, 0.5]]},
                {"id": "told", "prior": 0.2, "questions": [["covered", 0.7, 0]]},
            ],
            "defects": [
                {"id": "dull", "symptoms": [["grey", 0.9]]},
                {"id": "pits", "leak": 0.01, "symptoms": [["holes", 0.9]]},
            ],
            "symptoms": [{"id": "grey", "leak": 0.01}, {"id": "holes", "leak": 0.01}],
            "questions": [{"id": "covered", "leak": 0.1}],
        }
    )

    def link(**findings: list[str]) -> tuple[set[str], set[str]]:
        found = diagnose(side, network, {**no_findings(), **findings})
        causes, defects = (
            {entry["id"] for entry in found[kind] if entry["linked"]}
            for kind in ("causes", "defects")
        )
        return causes, defects

    assert link() == (set(), set())
    assert link(present=["holes"]) == ({"seen"}, {"pits"})
    assert link(present=["holes"], absent=["grey"]) == ({"seen"}, {"pits"})
    assert link(yes=["covered"])[0] == {"told"}, "a yes that speaks against a cause is no link"
    assert link(no=["covered"])[0] == {"against"}, "and the no that speaks for it is one"


def test_nothing_seen_asks_about_every_cause(side: Side) -> None:
    found = diagnose(side, TWO_CAUSES, no_findings())
    assert by_id(found["causes"]) == {"hot": 0.1, "damp": 0.1}
    assert found["evidence_probability"] == 1.0
    assert found["next"]["kind"] == "symptom"


def test_equal_questions_are_asked_symptoms_first_then_by_id(side: Side) -> None:
    network: dict[str, Any] = {
        "causes": [
            {
                "id": "a",
                "prior": 0.3,
                "defects": [["d", 1]],
                "questions": [["q-b", 0.5, 0], ["q-a", 0.5, 0]],
            }
        ],
        "defects": [{"id": "d", "symptoms": [["s-b", 0.5], ["s-a", 0.5]]}],
        "symptoms": [{"id": "s-b"}, {"id": "s-a"}],
        "questions": [{"id": "q-b"}, {"id": "q-a"}],
    }
    skipped: list[str] = []
    for expected in ("s-a", "s-b", "q-a", "q-b"):
        found = diagnose(side, complete_network(network), {**no_findings(), "skipped": skipped})
        assert found["next"]["id"] == expected
        skipped.append(expected)
    found = diagnose(side, complete_network(network), {**no_findings(), "skipped": skipped})
    assert found["next"] is None


def test_evidence_against_a_cause(side: Side) -> None:
    network = {
        "causes": [{"id": "stale", "prior": 0.3, "questions": [["fresh", 0.1, 0.8]]}],
        "questions": [{"id": "fresh"}],
    }
    indexed = side.index(complete_network(network))
    found = side.call("infer", indexed, {**no_findings(), "yes": ["fresh"]})
    assert by_id(found["causes"])["stale"] == pytest.approx(0.03 / (0.03 + 0.56))
    found = side.call("infer", indexed, {**no_findings(), "no": ["fresh"]})
    assert by_id(found["causes"])["stale"] == pytest.approx(0.27 / (0.27 + 0.14))


def test_findings_that_contradict_the_network(side: Side) -> None:
    network = complete_network(
        {
            "causes": [{"id": "a", "prior": 0.25, "defects": [["d", 1]]}],
            "defects": [{"id": "d", "symptoms": [["s", 1], ["t", 1]]}],
            "symptoms": [{"id": "s"}, {"id": "t"}, {"id": "u"}],
        }
    )
    for findings in ({"present": ["s"], "absent": ["t"]}, {"present": ["u"]}):
        found = diagnose(side, network, {**no_findings(), **findings})
        assert found["possible"] is False
        assert found["evidence_probability"] == 0.0
        assert by_id(found["causes"]) == {"a": 0.25}
        assert by_id(found["defects"]) == {"d": 0.25}
        assert found["next"] is None
        assert found["explained"] == [{"id": "a", "because": []}]


def test_unknown_and_doubly_given_ids_count_for_nothing(side: Side) -> None:
    plain = diagnose(side, TWO_CAUSES, {**no_findings(), "present": ["holes"]})
    odd = diagnose(
        side,
        TWO_CAUSES,
        {
            "present": ["holes", "holes", "rough", "constructor", "fast"],
            "absent": ["rough"],
            "yes": ["holes"],
            "no": ["toString"],
            "skipped": ["valueOf"],
        },
    )
    assert odd["next"] == plain["next"]
    assert {**odd, "next": 0} == {**plain, "next": 0}


def test_rare_combinations_do_not_underflow(side: Side) -> None:
    """Twelve findings, each with one cause of 1e-40: together 1e-480, below any double."""
    names = [f"f{i:02}" for i in range(12)]
    network = complete_network(
        {
            "causes": [
                {"id": f"c-{name}", "prior": 1e-40, "questions": [[name, 0.5, 0]]} for name in names
            ]
            + [{"id": "z-other", "prior": 0.3, "questions": [["calm", 0.5, 0]]}],
            "questions": [{"id": name} for name in [*names, "calm"]],
        }
    )
    found = side.call("infer", side.index(network), {**no_findings(), "yes": names, "no": ["calm"]})
    assert found["possible"] is True
    assert found["evidence_probability"] == 0.0, "too small for a number, but known to be possible"
    given = by_id(found["causes"])
    assert given.pop("z-other") == pytest.approx(0.15 / 0.85)
    assert set(given.values()) == {1.0}


def test_a_defect_that_cannot_be_is_exactly_absent(side: Side) -> None:
    """Rounding could leave a hair below 0: in this network it would, without the guard."""
    network = make_network(299, causes=8, defects=4, symptoms=6, questions=3)
    for cause in network["causes"]:
        cause["defects"] = [(d, 0.0 if d == "defect-0" else p) for d, p in cause["defects"]]
    network["defects"][0]["leak"] = 0.0
    found = side.call("infer", side.index(network), make_findings(network, 299))
    assert by_id(found["defects"])["defect-0"] == 0.0


def test_one_very_rare_cause_of_everything_does_not_overflow(side: Side) -> None:
    names = [f"f{i:02}" for i in range(13)]
    network = complete_network(
        {
            "causes": [
                {"id": "all", "prior": 1e-290, "questions": [[name, 0.9, 0] for name in names]}
            ],
            "questions": [{"id": name} for name in names],
        }
    )
    found = side.call("infer", side.index(network), {**no_findings(), "yes": names})
    assert by_id(found["causes"]) == {"all": 1.0}
    assert found["evidence_probability"] == pytest.approx(1e-290 * 0.9**14, rel=1e-9)


def test_measures_take_any_weights(side: Side) -> None:
    assert side.call("measure_entropy", [5e-324, 3]) == 0
    assert side.call("measure_entropy", [0, 0]) == 0
    assert side.call("measure_gain", [[1e-300, 0], [0, 1]]) == pytest.approx(0, abs=1e-12)
    assert side.call("measure_gain", [[0, 0], [0, 0]]) == 0
    assert side.call("measure_gain", [[5e-324, 3], [1, 1]]) == pytest.approx(0.321928, abs=1e-6)


def test_many_negative_findings_do_not_underflow(side: Side) -> None:
    names = [f"f{i:04}" for i in range(1500)]
    network = complete_network(
        {
            "causes": [{"id": "a", "prior": 0.5, "questions": [["f0000", 0.5, 0]]}],
            "questions": [{"id": name, "leak": 0.5} for name in names],
        }
    )
    found = side.call("infer", side.index(network), {**no_findings(), "no": names})
    assert found["possible"] is True
    assert by_id(found["causes"])["a"] == pytest.approx(1 / 3)


def test_the_index_does_not_depend_on_the_order_of_entries() -> None:
    network = make_network(5, causes=9, defects=5, symptoms=7, questions=6)
    pick = random.Random(1)

    def shuffle(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: shuffle(part) for key, part in value.items()}
        if isinstance(value, list):
            return [shuffle(part) for part in pick.sample(value, len(value))]
        return value

    shuffled = shuffle(network)
    assert shuffled != network
    assert index_network(shuffled) == index_network(network)  # type: ignore[arg-type]


def test_the_network_is_not_changed() -> None:
    network = make_network(7, causes=5, defects=3, symptoms=5, questions=4)
    indexed = index_network(network)  # type: ignore[arg-type]
    before = repr(indexed)
    findings = make_findings(network, 7)
    found = infer(indexed, findings)  # type: ignore[arg-type]
    questions.choose_question(indexed, findings)  # type: ignore[arg-type]
    questions.explain(indexed, findings, [found["causes"][0]["id"]])  # type: ignore[arg-type]
    assert repr(indexed) == before


def test_the_script_is_plain_and_keeps_to_its_namespace() -> None:
    text = write_script(DIAGNOSIS)
    assert not re.search(r"^\s*(import|export)\b", text, re.MULTILINE)
    with MiniRacer() as engine:
        engine.eval("var benchlore = {other: 1}; var before = Object.keys(globalThis).length;")
        engine.eval(write_script(NUMBERS) + text)
        assert engine.eval("Object.keys(benchlore).sort().join()") == "other,twin"
        assert engine.eval("Object.keys(globalThis).length - before") == 0
    assert len(gzip.compress(text.encode())) < 24_000
