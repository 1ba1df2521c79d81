"""How long a tap takes: probabilities, next question and fixes, at 1,000 causes and 300 findings.

The aim is 16 ms in the browser's engine, one frame of a screen. Printed, not asserted: what is
asserted is how processor time grows, which hardly depends on the machine or what else it does.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from diagnosis_reference import (
    Findings,
    Network,
    PythonSide,
    ScriptSide,
    Side,
    make_network,
    no_findings,
    open_side,
)

pytestmark = pytest.mark.benchmark

SIZES = (250, 500, 1000)


def make_large_network(causes: int) -> Network:
    return make_network(
        1,
        causes=causes,
        defects=100,
        symptoms=200,
        questions=100,
        fixes=causes,
        defects_a_cause=3,
        symptoms_a_defect=6,
        questions_a_cause=3,
        highest_prior=0.02,
        against=False,
    )


def make_sessions(network: Network, count: int, positive: int = 6) -> list[Findings]:
    """Sessions as people have them: signs of one defect and of another, two answers that tell."""
    pick = random.Random(7)
    telling = {question["id"]: question["telling"] for question in network["questions"]}
    sessions = []
    for _ in range(count):
        findings = no_findings()
        symptoms = [s for d in pick.sample(network["defects"], 6) for s, _ in d["symptoms"]]
        findings["present"] = list(dict.fromkeys(symptoms))[: positive - 2]
        others = [s["id"] for s in network["symptoms"] if s["id"] not in findings["present"]]
        findings["absent"] = pick.sample(others, 2)
        for i, name in enumerate(pick.sample(sorted(telling), 4)):
            wanted = telling[name] if i < 2 else {"yes": "no", "no": "yes"}[telling[name]]
            findings[wanted].append(name)
        sessions.append(findings)
    return sessions


def tap(side: Side, indexed: Any, findings: Findings) -> None:
    found = side.call("infer", indexed, findings)
    side.call("choose_question", indexed, findings)
    side.call("rank_fixes", indexed, found["causes"])


@dataclass(frozen=True)
class P95:
    """95th percentile of many taps: by the clock, and of processor time spent in all threads."""

    wall_ms: float
    processor_ms: float

    def __str__(self) -> str:
        return f"p95 {self.wall_ms:.1f} ms (processor {self.processor_ms:.1f} ms)"


def measure_p95(taps: list[Callable[[], object]]) -> P95:
    for run in taps[:10]:
        run()
    wall: list[float] = []
    processor: list[float] = []
    for run in taps:
        begin, spent = time.perf_counter(), time.process_time()
        run()
        wall.append(1000 * (time.perf_counter() - begin))
        processor.append(1000 * (time.process_time() - spent))
    at = int(0.95 * len(taps))
    return P95(sorted(wall)[at], sorted(processor)[at])


def measure_side(name: str, causes: int, repeats: int, positive: int = 6) -> P95:
    network = make_large_network(causes)
    sessions = make_sessions(network, 40, positive) * repeats
    with open_side(name) as side:
        indexed = side.index(network)
        if isinstance(side, PythonSide):
            return measure_p95([lambda f=f: tap(side, indexed, f) for f in sessions])
        assert isinstance(side, ScriptSide)
        # Nothing crosses the border but the words of the findings, as on the page.
        side.engine.eval(
            "function tap(findings) {"
            f" var network = held[{indexed.number}];"
            " var found = benchlore.twin.infer(network, findings);"
            " benchlore.twin.choose_question(network, findings);"
            " return benchlore.twin.rank_fixes(network, found.causes).length; }"
        )
        words = [f"tap({json.dumps(findings)})" for findings in sessions]
        return measure_p95([lambda text=text: side.engine.eval(text) for text in words])


@pytest.mark.parametrize("side", ["script", "python"])
def test_a_tap(side: str, capsys: pytest.CaptureFixture[str]) -> None:
    repeats = 5 if side == "script" else 1
    times = {causes: measure_side(side, causes, repeats) for causes in SIZES}
    with capsys.disabled():
        for causes, p95 in times.items():
            print(f"\ntap, {side}, {causes} causes, 300 findings, 6 positive: {p95}")
    # Causes that touch what was seen grow with all causes: four times the causes, about four times
    # the work. Ten leaves room for a busy machine and still catches work that grows as a square.
    assert times[1000].processor_ms < 10 * times[250].processor_ms


def test_growth_with_positive_findings(capsys: pytest.CaptureFixture[str]) -> None:
    times = {positive: measure_side("script", 1000, 1, positive) for positive in (6, 9, 12)}
    with capsys.disabled():
        for positive, p95 in times.items():
            print(f"\ntap, script, 1000 causes, {positive} positive findings: {p95}")
    # Tables double with each finding, so three more are eight times the work, and some more causes.
    assert times[12].processor_ms < 24 * times[9].processor_ms
