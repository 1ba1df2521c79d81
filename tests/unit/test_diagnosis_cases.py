"""Worked answers from outside, given to the Python functions and to the compiled script alike."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from diagnosis_reference import Side, complete_network, no_findings, open_side

from builder.frequencies import FREQUENCIES
from tests.helpers import read_yaml

CASES = read_yaml((Path(__file__).parents[1] / "cases" / "diagnosis.yml").read_text())


@pytest.fixture(scope="module", params=["python", "script"])
def side(request: pytest.FixtureRequest) -> Iterator[Side]:
    with open_side(request.param) as opened:
        yield opened


def infer(side: Side, network: dict[str, Any], findings: dict[str, Any]) -> dict[str, Any]:
    indexed = side.index(complete_network(network))
    found: dict[str, Any] = side.call("infer", indexed, {**no_findings(), **findings})
    return found


def probabilities(ranked: list[dict[str, Any]]) -> dict[str, float]:
    return {entry["id"]: entry["probability"] for entry in ranked}


@pytest.mark.parametrize("case", CASES["posteriors"], ids=lambda case: case["id"])
def test_posteriors(side: Side, case: dict[str, Any]) -> None:
    found = infer(side, case["network"], case["findings"])
    near = {"abs": case["within"], "rel": 0}
    assert found["possible"] is case.get("possible", True)
    expected = {key: case[key] for key in ("evidence", "causes", "defects") if key in case}
    assert expected
    if "evidence" in expected:
        assert found["evidence_probability"] == pytest.approx(expected["evidence"], **near)
    for kind in ("causes", "defects"):
        given = probabilities(found[kind])
        for name, probability in expected.get(kind, {}).items():
            assert given[name] == pytest.approx(probability, **near), name


@pytest.mark.parametrize("case", CASES["measures"], ids=lambda case: case["id"])
def test_measures(side: Side, case: dict[str, Any]) -> None:
    value = side.call(case["call"], *case["given"])
    assert value == pytest.approx(case["expected"], abs=case["within"], rel=0)


@pytest.mark.parametrize("case", CASES["orders"], ids=lambda case: case["id"])
def test_order_of_fixes(side: Side, case: dict[str, Any]) -> None:
    chances, costs = case["probabilities"], case["costs"]
    # The sources give chances as they are once something has been seen: one fault, brought by
    # one of these causes.
    remedy = {"when": "now", "until": -1, "discards": False, "sets_aside": False, "checks": False}
    guide = {
        "remedies": [
            {
                **remedy,
                "id": name,
                "cost_minutes": cost,
                "saves": [{"defect": "flaw", "cause": name, "helps": 1}],
                "prevents": [],
            }
            for name, cost in sorted(costs.items())
        ]
    }
    lead = {"id": "flaw", "probability": 1, "causes": [], "signs": []}
    edges = {f"{name}>flaw": chance for name, chance in chances.items()}
    fixes = side.call("choose_fixes", guide, [lead], {"flaw": 1}, {}, edges, False, False, -1)
    assert [fix["id"] for fix in fixes] == case["order"]
    for fix in fixes:
        assert fix["ratio"] == pytest.approx(chances[fix["id"]] / costs[fix["id"]], rel=1e-12)

    def expect_cost(order: tuple[str, ...]) -> float:
        cost: float = side.call(
            "expect_cost", [chances[name] for name in order], [costs[name] for name in order]
        )
        return cost

    # K23: no other order is cheaper; the dearest is the one the source names.
    all_costs = [expect_cost(order) for order in itertools.permutations(chances)]
    assert expect_cost(tuple(case["order"])) == pytest.approx(case["expected_cost"], abs=1e-9)
    assert min(all_costs) == pytest.approx(case["expected_cost"], abs=1e-9)
    if case["id"] == "K22":
        assert max(all_costs) == pytest.approx(case["worst_cost"], abs=1e-9)
    else:
        by_probability = tuple(sorted(chances, key=lambda name: -chances[name]))
        assert expect_cost(by_probability) == pytest.approx(case["worst_cost"], abs=1e-9)


TENNIS = CASES["play_tennis"]
DAYS = [dict(zip(TENNIS["fields"], row, strict=True)) for row in TENNIS["rows"]]


def count_joint(days: list[dict[str, str]], field: str) -> list[list[int]]:
    return [
        [sum(day[field] == value and day["play"] == play for day in days) for play in ("yes", "no")]
        for value in sorted({day[field] for day in days})
    ]


@pytest.mark.parametrize(("field", "gain"), TENNIS["gains"].items())
def test_gain_on_the_tennis_days(side: Side, field: str, gain: float) -> None:
    assert side.call("measure_gain", count_joint(DAYS, field)) == pytest.approx(gain, abs=1e-6)


@pytest.mark.parametrize(("field", "gain"), TENNIS["sunny_gains"].items())
def test_gain_on_the_sunny_days(side: Side, field: str, gain: float) -> None:
    sunny = [day for day in DAYS if day["outlook"] == "sunny"]
    assert side.call("measure_gain", count_joint(sunny, field)) == pytest.approx(gain, abs=1e-6)


@pytest.mark.parametrize(("field", "ratio"), TENNIS["gain_ratios"].items())
def test_gain_ratio(side: Side, field: str, ratio: float) -> None:
    joint = count_joint(DAYS, field)
    split = side.call("measure_entropy", [sum(row) for row in joint])
    assert side.call("measure_gain", joint) / split == pytest.approx(ratio, abs=1e-4)


def tennis_network(smoothing: float) -> dict[str, Any]:
    """One cause, "no play"; each field of the day is a question about it (K14 to K16)."""
    fields = TENNIS["fields"][:-1]

    def chance(field: str, value: str, play: str) -> float:
        days = [day for day in DAYS if day["play"] == play]
        values = len({day[field] for day in DAYS})
        hits = sum(day[field] == value for day in days)
        return (hits + smoothing) / (len(days) + smoothing * values)

    asked = [(field, value) for field in fields for value in {day[field] for day in DAYS}]
    return {
        "causes": [
            {
                "id": "no-play",
                "prior": 5 / 14,
                "questions": [
                    [f"{field}-{value}", chance(field, value, "no"), chance(field, value, "yes")]
                    for field, value in asked
                ],
            }
        ],
        "questions": [{"id": f"{field}-{value}"} for field, value in asked],
    }


def tennis_day(values: list[str]) -> dict[str, list[str]]:
    fields = TENNIS["fields"][:-1]
    return {"yes": [f"{field}-{value}" for field, value in zip(fields, values, strict=True)]}


def test_naive_bayes_on_the_tennis_days(side: Side) -> None:
    found = infer(side, tennis_network(0), tennis_day(TENNIS["day"]))
    probability = probabilities(found["causes"])["no-play"]
    assert probability == pytest.approx(TENNIS["plain"], abs=1e-4)
    evidence = found["evidence_probability"]
    assert evidence * probability == pytest.approx(TENNIS["products"]["no"], abs=1e-6)
    assert evidence * (1 - probability) == pytest.approx(TENNIS["products"]["yes"], abs=1e-6)


def test_naive_bayes_with_smoothing(side: Side) -> None:
    found = infer(side, tennis_network(1), tennis_day(TENNIS["day"]))
    given = probabilities(found["causes"])["no-play"]
    assert given == pytest.approx(TENNIS["smoothed"], abs=1e-5)


def test_a_chance_of_zero_kills_a_cause_and_the_words_do_not(side: Side) -> None:
    # K16: on an overcast day "no" was never seen. A chance of 0 can never be moved again; the word
    # "never" stands for a small number, so other findings still can.
    day = ["overcast", "cool", "high", "strong"]
    network = tennis_network(0)
    found = infer(side, network, tennis_day(day))
    assert probabilities(found["causes"])["no-play"] == 0.0
    for link in network["causes"][0]["questions"]:
        link[1] = max(link[1], FREQUENCIES["never"])
    found = infer(side, network, tennis_day(day))
    assert 0.001 < probabilities(found["causes"])["no-play"] < 0.5
