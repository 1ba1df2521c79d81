"""The diagnosis on random networks: against enumeration, pgmpy and exact decimals, and its laws."""

from __future__ import annotations

import decimal
import itertools
import math
import random
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from diagnosis_reference import (
    Findings,
    Network,
    Side,
    complete_network,
    diagnose,
    enumerate_posteriors,
    make_findings,
    make_network,
    no_findings,
    open_side,
)
from hypothesis import given
from hypothesis import strategies as st

from builder.twin.diagnosis import inference
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.inference import infer
from builder.twin.diagnosis.questions import choose_question, explain

SEEDS = st.integers(0, 2**32 - 1)


def run_infer(network: Network, findings: Findings) -> dict[str, Any]:
    found: Any = infer(index_network(network), findings)  # type: ignore[arg-type]
    return dict(found)


def by_id(ranked: list[dict[str, Any]]) -> dict[str, float]:
    return {entry["id"]: entry["probability"] for entry in ranked}


@given(SEEDS, st.integers(1, 4), st.integers(1, 3), st.booleans())
def test_equal_to_enumeration(seed: int, causes: int, defects: int, leaks: bool) -> None:
    network = make_network(
        seed, causes=causes, defects=defects, symptoms=4, questions=3, leaks=leaks
    )
    findings = make_findings(network, seed)
    evidence, cause_chances, defect_chances = enumerate_posteriors(network, findings)
    found = run_infer(network, findings)
    assert found["possible"] is (evidence > 0)
    assert found["evidence_probability"] == pytest.approx(evidence, rel=1e-9)
    if evidence > 0:
        assert by_id(found["causes"]) == pytest.approx(cause_chances, abs=1e-9)
        assert by_id(found["defects"]) == pytest.approx(defect_chances, abs=1e-9)


def infer_with_pgmpy(network: Network, findings: Findings) -> dict[str, float]:
    """Build the same model node by node, instances included, and let pgmpy eliminate variables.

    `NoisyORCPD` lists the state True first (K4); states are named here, never counted. It has no
    leak: a node that is surely true stands in for it.
    """
    from pgmpy.factors.discrete import NoisyORCPD, TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    names = ["True", "False"]
    parents: dict[str, dict[str, float]] = {}
    roots = {"always": 1.0} | {cause["id"]: cause["prior"] for cause in network["causes"]}
    instances: dict[str, list[str]] = {defect["id"]: [] for defect in network["defects"]}
    for cause in network["causes"]:
        for defect, chance in cause["defects"]:
            name = f"{cause['id']}:{defect}"
            parents[name] = {cause["id"]: chance}
            instances[defect].append(name)
    for defect in network["defects"]:
        roots[f"background:{defect['id']}"] = defect["leak"]
        instances[defect["id"]].append(f"background:{defect['id']}")
        parents[defect["id"]] = dict.fromkeys(instances[defect["id"]], 1.0)
    for finding in [*network["symptoms"], *network["questions"]]:
        parents[finding["id"]] = {"always": finding["leak"]}
    for defect in network["defects"]:
        for symptom, chance in defect["symptoms"]:
            for instance in instances[defect["id"]]:
                parents[symptom][instance] = chance
    for cause in network["causes"]:
        for question, acting, resting in cause["questions"]:
            assert resting == 0
            parents[question][cause["id"]] = acting
    model = DiscreteBayesianNetwork(
        [(parent, child) for child, links in parents.items() for parent in links]
    )
    model.add_nodes_from(roots)
    for name, prior in roots.items():
        model.add_cpds(TabularCPD(name, 2, [[prior], [1 - prior]], state_names={name: names}))
    for name, links in parents.items():
        cpd = NoisyORCPD(name, list(links.values()), list(links))
        assert cpd.state_names[name] == names
        model.add_cpds(cpd)
    assert model.check_model()
    telling = {question["id"]: question["telling"] == "yes" for question in network["questions"]}
    evidence = dict.fromkeys(findings["present"], "True")
    evidence |= dict.fromkeys(findings["absent"], "False")
    evidence |= {name: str(telling[name]) for name in findings["yes"]}
    evidence |= {name: str(not telling[name]) for name in findings["no"]}
    elimination = VariableElimination(model)
    chances = {}
    for entry in [*network["causes"], *network["defects"]]:
        factor = elimination.query([entry["id"]], evidence=evidence, show_progress=False)
        chances[entry["id"]] = float(factor.get_value(**{entry["id"]: "True"}))
    return chances


@pytest.mark.parametrize("seed", range(8))
def test_equal_to_pgmpy(seed: int) -> None:
    network = make_network(
        seed, causes=2 + seed % 3, defects=2, symptoms=4, questions=2, against=False
    )
    findings = make_findings(network, seed)
    expected = infer_with_pgmpy(network, findings)
    found = run_infer(network, findings)
    assert by_id([*found["causes"], *found["defects"]]) == pytest.approx(expected, abs=1e-9)


def test_pgmpy_gives_the_fever_table() -> None:
    """K1 and K4: what pgmpy itself says, read by state name."""
    from pgmpy.factors.discrete import NoisyORCPD

    links = {"cold": 0.4, "flu": 0.8, "malaria": 0.9}
    table = NoisyORCPD("fever", list(links.values()), list(links))
    assert table.state_names["fever"][0] == "True"
    for acting in itertools.product([True, False], repeat=3):
        states = dict(zip(links, acting, strict=True))
        named = {name: str(state) for name, state in states.items()}
        chance = table.get_value(fever="True", **named)
        network = complete_network(
            {
                "causes": [
                    {"id": name, "prior": float(states[name]), "questions": [["fever", link, 0]]}
                    for name, link in links.items()
                ],
                "questions": [{"id": "fever"}],
            }
        )
        found = run_infer(network, {**no_findings(), "yes": ["fever"]})
        assert found["evidence_probability"] == pytest.approx(chance, abs=1e-9)


def infer_by_signs(network: Network, findings: Findings) -> tuple[Decimal, Any, Any]:
    """Sum over subsets of the positive findings with alternating signs, in 120 decimals.

    The textbook way for noisy-OR networks: with doubles its terms cancel, with decimals they may.
    """
    with decimal.localcontext(decimal.Context(prec=120)):
        telling = {q["id"]: q["telling"] for q in network["questions"]}
        positive = list(findings["present"])
        positive += [q for q in findings["yes"] if telling[q] == "yes"]
        positive += [q for q in findings["no"] if telling[q] == "no"]
        negative = list(findings["absent"])
        negative += [q for q in findings["yes"] if telling[q] == "no"]
        negative += [q for q in findings["no"] if telling[q] == "yes"]
        leaks = {f["id"]: f["leak"] for f in [*network["symptoms"], *network["questions"]]}
        shows = {d["id"]: {s: 1 - Decimal(p) for s, p in d["symptoms"]} for d in network["defects"]}
        one = Decimal(1)
        total = Decimal(0)
        causes = {c["id"]: Decimal(0) for c in network["causes"]}
        absent = {d["id"]: Decimal(0) for d in network["defects"]}
        for size in range(len(positive) + 1):
            for subset in itertools.combinations(positive, size):
                silent = {*negative, *subset}
                sign = Decimal((-1) ** size)
                term = sign
                for name in silent:
                    term *= 1 - Decimal(leaks[name])
                quiet = {
                    d: math.prod((p for s, p in links.items() if s in silent), start=one)
                    for d, links in shows.items()
                }
                backgrounds = {}
                for defect in network["defects"]:
                    leak = Decimal(defect["leak"])
                    backgrounds[defect["id"]] = 1 - leak + leak * quiet[defect["id"]]
                    term *= backgrounds[defect["id"]]
                odds = {}
                for cause in network["causes"]:
                    prior = Decimal(cause["prior"])
                    acting, resting = prior, 1 - prior
                    for d, p in cause["defects"]:
                        acting *= 1 - Decimal(p) + Decimal(p) * quiet[d]
                    for q, p, r in cause["questions"]:
                        if q in silent:
                            acting *= 1 - Decimal(p)
                            resting *= 1 - Decimal(r)
                    odds[cause["id"]] = (acting, resting)
                    term *= acting + resting
                total += term
                shares = dict.fromkeys(absent, one)
                for cause in network["causes"]:
                    acting, resting = odds[cause["id"]]
                    causes[cause["id"]] += term * acting / (acting + resting)
                    for d, p in cause["defects"]:
                        off = 1 - Decimal(p)
                        kept = acting * off / (off + Decimal(p) * quiet[d])
                        shares[d] *= (kept + resting) / (acting + resting)
                for defect in network["defects"]:
                    share = (1 - Decimal(defect["leak"])) / backgrounds[defect["id"]]
                    absent[defect["id"]] += term * shares[defect["id"]] * share
        return (
            total,
            {name: float(value / total) for name, value in causes.items()},
            {name: float(1 - value / total) for name, value in absent.items()},
        )


@pytest.mark.parametrize(("causes", "positive"), [(40, 12), (1000, 6)])
def test_equal_to_exact_decimals_where_enumeration_cannot_go(
    causes: int, positive: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(inference, "EXACT_WORK", math.inf)
    network = make_network(
        11,
        causes=causes,
        defects=causes // 10 + 4,
        symptoms=200 if causes == 1000 else 14,
        questions=100 if causes == 1000 else 8,
        highest_prior=0.05,
    )
    pick = random.Random(3)
    symptoms = pick.sample([s["id"] for s in network["symptoms"]], positive)
    questions = [q["id"] for q in network["questions"] if q["telling"] == "yes"][:4]
    findings = {
        **no_findings(),
        "present": symptoms[: positive - 2],
        "absent": symptoms[positive - 2 :],
        "yes": questions[:2],
        "no": questions[2:],
    }
    evidence, cause_chances, defect_chances = infer_by_signs(network, findings)
    found = run_infer(network, findings)
    assert found["evidence_probability"] == pytest.approx(float(evidence), rel=1e-9)
    assert by_id(found["causes"]) == pytest.approx(cause_chances, abs=1e-9)
    assert by_id(found["defects"]) == pytest.approx(defect_chances, abs=1e-9)


def test_a_thousand_causes_and_twelve_positive_findings_obey_total_probability(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The chances with a thirteenth finding present and absent must add up to those without it."""
    monkeypatch.setattr(inference, "EXACT_WORK", math.inf)
    network = make_network(
        5, causes=1000, defects=100, symptoms=200, questions=100, highest_prior=0.05
    )
    findings = {**no_findings(), "present": [f"symptom-{i}" for i in range(12)]}
    without = run_infer(network, findings)
    both = [
        run_infer(network, {**findings, **answer})
        for answer in (
            {"present": [*findings["present"], "symptom-12"]},
            {"absent": ["symptom-12"]},
        )
    ]
    assert without["possible"]
    assert without["exact"]
    shares = [f["evidence_probability"] / without["evidence_probability"] for f in both]
    assert sum(shares) == pytest.approx(1, rel=1e-11)
    for kind in ("causes", "defects"):
        parts = [by_id(found[kind]) for found in both]
        mixed = {
            name: sum(share * part[name] for share, part in zip(shares, parts, strict=True))
            for name in parts[0]
        }
        assert by_id(without[kind]) == pytest.approx(mixed, abs=1e-11)


@given(SEEDS, SEEDS)
def test_the_order_of_answers_changes_nothing(seed: int, order: int) -> None:
    network = make_network(seed, causes=8, defects=5, symptoms=8, questions=6)
    findings = make_findings(network, seed, known=0.6)
    pick = random.Random(order)
    shuffled = {key: pick.sample(ids, len(ids)) for key, ids in findings.items()}
    indexed = index_network(network)  # type: ignore[arg-type]
    found: Any = infer(indexed, findings)  # type: ignore[arg-type]
    again: Any = infer(indexed, shuffled)  # type: ignore[arg-type]
    assert again == found
    ids = [cause["id"] for cause in found["causes"]]
    assert explain(indexed, shuffled, ids) == explain(indexed, findings, ids)  # type: ignore[arg-type]
    assert choose_question(indexed, shuffled) == choose_question(indexed, findings)  # type: ignore[arg-type]


CHANCES = st.one_of(st.sampled_from([0.0, 1.0, 1e-300, 5e-324, 1e-17, 1 - 1e-16]), st.floats(0, 1))


@st.composite
def hostile_networks(draw: st.DrawFn) -> tuple[Network, Findings]:
    """Networks with chances of exactly 0 and 1 and next to them, and any findings."""
    symptoms = [f"s{i}" for i in range(draw(st.integers(0, 4)))]
    questions = [f"q{i}" for i in range(draw(st.integers(0, 4)))]
    defects = [f"d{i}" for i in range(draw(st.integers(0, 3)))]

    def links(ids: list[str], numbers: int) -> Any:
        chosen = [name for name in ids if draw(st.booleans())]
        return [(name, *(draw(CHANCES) for _ in range(numbers))) for name in chosen]

    network = {
        "causes": [
            {
                "id": f"c{i}",
                "prior": draw(CHANCES),
                "defects": links(defects, 1),
                "questions": links(questions, 2),
            }
            for i in range(draw(st.integers(1, 4)))
        ],
        "defects": [
            {"id": name, "leak": draw(CHANCES), "symptoms": links(symptoms, 1)} for name in defects
        ],
        "symptoms": [{"id": name, "leak": draw(CHANCES)} for name in symptoms],
        "questions": [
            {"id": name, "leak": draw(CHANCES), "telling": draw(st.sampled_from(["yes", "no"]))}
            for name in questions
        ],
        "fixes": [
            {
                "id": f"f{i}",
                "when": "now",
                "cost_minutes": draw(st.floats(0, 1e6)),
                "mends": [("c0", draw(CHANCES))],
                "discards": False,
                "forbidden": False,
            }
            for i in range(2)
        ],
    }
    findings = no_findings()
    for name in symptoms:
        findings[draw(st.sampled_from(["present", "absent", "skipped"]))].append(name)
    for name in questions:
        findings[draw(st.sampled_from(["yes", "no", "skipped"]))].append(name)
    return network, findings


@given(hostile_networks())
def test_every_number_is_a_probability(given_pair: tuple[Network, Findings]) -> None:
    network, findings = given_pair
    indexed = index_network(network)  # type: ignore[arg-type]
    found: Any = infer(indexed, findings)  # type: ignore[arg-type]
    numbers = [found["evidence_probability"]]
    numbers += [entry["probability"] for entry in [*found["causes"], *found["defects"]]]
    assert all(0.0 <= number <= 1.0 for number in numbers)
    for reasons in explain(indexed, findings, ["c0"]):  # type: ignore[arg-type]
        assert all(math.isfinite(reason["bits"]) for reason in reasons["because"])
    chosen = choose_question(indexed, findings)  # type: ignore[arg-type]
    assert chosen is None or 0.0 < chosen["gain"] < math.inf


@given(SEEDS)
def test_a_lone_cause_only_rises_with_what_it_brings_about(seed: int) -> None:
    """Without backgrounds, that is: those compete with it, and may be what a finding speaks for."""
    network = make_network(seed, causes=1, defects=3, symptoms=5, questions=4, against=False)
    network["defects"] = [{**defect, "leak": 0} for defect in network["defects"]]
    findings = make_findings(network, seed, known=0.5)
    before = by_id(run_infer(network, findings)["causes"])["cause-0"]
    known = {name for ids in findings.values() for name in ids}
    for symptom in network["symptoms"]:
        if symptom["id"] not in known:
            more = {**findings, "present": [*findings["present"], symptom["id"]]}
            less = {**findings, "absent": [*findings["absent"], symptom["id"]]}
            assert by_id(run_infer(network, more)["causes"])["cause-0"] >= before - 1e-12
            assert by_id(run_infer(network, less)["causes"])["cause-0"] <= before + 1e-12


@given(SEEDS)
def test_what_is_unknown_counts_for_nothing(seed: int) -> None:
    """Findings about other things, and entries nothing is known of, leave a network as it was."""
    network = make_network(seed, causes=4, defects=3, symptoms=5, questions=4)
    findings = make_findings(network, seed, known=0.5)
    known = {name for ids in findings.values() for name in ids}
    smaller = {
        **network,
        "symptoms": [s for s in network["symptoms"] if s["id"] in known],
        "questions": [q for q in network["questions"] if q["id"] in known],
        "defects": [
            {**d, "symptoms": [link for link in d["symptoms"] if link[0] in known]}
            for d in network["defects"]
        ],
        "causes": [
            {**c, "questions": [link for link in c["questions"] if link[0] in known]}
            for c in network["causes"]
        ],
    }
    assert run_infer(smaller, findings) == run_infer(network, findings)


@pytest.fixture(scope="module")
def sides() -> Iterator[tuple[Side, Side]]:
    with open_side("python") as python, open_side("script") as script:
        yield python, script


@given(seed=SEEDS, size=st.integers(1, 25))
def test_python_and_script_agree(sides: tuple[Side, Side], seed: int, size: int) -> None:
    """A random session, answer by answer: probabilities to the last bit, logarithms nearly."""
    network = make_network(
        seed, causes=size, defects=size // 3 + 1, symptoms=size // 2 + 2, questions=6
    )
    pick = random.Random(seed)
    findings = no_findings()
    for _ in range(3):
        python, script = (diagnose(side, network, findings) for side in sides)
        for key in ("possible", "exact", "evidence_probability", "causes", "defects"):
            assert script[key] == python[key], key
        assert (script["next"] is None) is (python["next"] is None)
        if python["next"] is not None:
            assert script["next"]["id"] == python["next"]["id"]
            assert script["next"]["gain"] == pytest.approx(python["next"]["gain"], abs=1e-12)
        for there, here in zip(script["explained"], python["explained"], strict=True):
            assert there["id"] == here["id"]
            assert [(r["id"], r["answer"], r["sign"]) for r in there["because"]] == [
                (r["id"], r["answer"], r["sign"]) for r in here["because"]
            ]
            for a, b in zip(there["because"], here["because"], strict=True):
                assert a["bits"] == pytest.approx(b["bits"], abs=1e-9)
        more = make_findings(network, pick.randrange(2**32), known=2 / (size + 4))
        findings = {key: sorted({*ids, *more[key]}) for key, ids in findings.items()}


@given(hostile_networks())
def test_python_and_script_agree_on_hostile_numbers(
    sides: tuple[Side, Side], given_pair: tuple[Network, Findings]
) -> None:
    network, findings = given_pair
    python, script = (side.call("infer", side.index(network), findings) for side in sides)
    assert script == python


def test_beyond_what_tables_can_hold_the_result_says_that_it_is_approximate(
    sides: tuple[Side, Side],
) -> None:
    """Belief propagation against the exact tables, on a network of the size of a course."""
    network = make_network(
        2,
        causes=40,
        defects=12,
        symptoms=30,
        questions=12,
        symptoms_a_defect=4,
        highest_prior=0.05,
    )
    findings = {**no_findings(), "present": [f"symptom-{i}" for i in range(20)]}
    python, script = (side.call("infer", side.index(network), findings) for side in sides)
    assert not python["exact"]
    assert by_id(script["causes"]) == pytest.approx(by_id(python["causes"]), abs=1e-9)
    assert all(0.0 <= entry["probability"] <= 1.0 for entry in python["causes"])


def test_propagation_is_exact_on_a_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pearl 1988: on a network without loops the messages give the exact chances."""
    network = complete_network(
        {
            "causes": [
                {"id": "a", "prior": 0.05, "defects": [["d", 0.7]], "questions": [["q", 0.8, 0]]},
                {"id": "b", "prior": 0.1, "defects": [["d", 0.4], ["e", 0.5]]},
            ],
            "defects": [
                {"id": "d", "leak": 0.01, "symptoms": [["s", 0.9]]},
                {"id": "e", "leak": 0.02, "symptoms": [["t", 0.6]]},
            ],
            "symptoms": [{"id": "s", "leak": 0.02}, {"id": "t", "leak": 0.03}],
            "questions": [{"id": "q", "leak": 0.1}],
        }
    )
    findings = {**no_findings(), "present": ["s", "t"], "yes": ["q"]}
    exact = run_infer(network, findings)
    monkeypatch.setattr(inference, "EXACT_WORK", 0.0)
    found = run_infer(network, findings)
    assert (exact["exact"], found["exact"]) == (True, False)
    assert by_id(found["causes"]) == pytest.approx(by_id(exact["causes"]), abs=1e-6)
