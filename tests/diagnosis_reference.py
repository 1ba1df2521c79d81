"""The model of diagnosis once more, by plain enumeration, and random networks to try it on.

Enumeration walks every state of every cause and every instance, so it shares no idea with the
algorithm it is compared with. It is only for small networks.
"""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

from py_mini_racer import MiniRacer

from builder.twin.diagnosis import fixes, indexing, inference, plan, questions, wording
from builder.twin_scripts import DIAGNOSIS, NUMBERS, write_scripts

Network = dict[str, Any]
Findings = dict[str, list[str]]


def no_findings() -> Findings:
    return {"present": [], "absent": [], "yes": [], "no": [], "skipped": []}


def _show(states: list[tuple[float, bool]]) -> float:
    """Noisy-OR by its definition: one minus the product of what fails to happen."""
    silent = 1.0
    for chance, on in states:
        if on:
            silent *= 1.0 - chance
    return 1.0 - silent


def enumerate_worlds(
    network: Network, findings: Findings
) -> Iterator[tuple[float, dict[str, bool], dict[str, bool]]]:
    """Yield weight with the evidence, causes and defects of every possible world."""
    causes = network["causes"]
    instances = [(c["id"], d, p) for c in causes for d, p in c["defects"]]
    instances += [(None, d["id"], d["leak"]) for d in network["defects"]]
    shows = {d["id"]: dict(d["symptoms"]) for d in network["defects"]}
    leaks = {s["id"]: s["leak"] for s in network["symptoms"]}
    questions = {q["id"]: q for q in network["questions"]}
    seen = [(s, True) for s in findings["present"]] + [(s, False) for s in findings["absent"]]
    answered = [(q, "yes") for q in findings["yes"]] + [(q, "no") for q in findings["no"]]
    for acting in itertools.product([False, True], repeat=len(causes)):
        acts = dict(zip([c["id"] for c in causes], acting, strict=True))
        prior = 1.0
        for cause in causes:
            prior *= cause["prior"] if acts[cause["id"]] else 1.0 - cause["prior"]
        for name, answer in answered:
            states = [(questions[name]["leak"], True)]
            for cause in causes:
                for q, when_acting, when_resting in cause["questions"]:
                    if q == name:
                        states.append((when_acting if acts[cause["id"]] else when_resting, True))
            telling = _show(states)
            prior *= telling if answer == questions[name]["telling"] else 1.0 - telling
        for on in itertools.product([False, True], repeat=len(instances)):
            weight = prior
            present = {d["id"]: False for d in network["defects"]}
            for (cause, defect, chance), state in zip(instances, on, strict=True):
                able = cause is None or acts[cause]
                weight *= (chance if state else 1.0 - chance) if able else float(not state)
                present[defect] = present[defect] or state
            if weight == 0.0:
                continue
            for symptom, is_seen in seen:
                states = [(leaks[symptom], True)]
                for (_, defect, _), state in zip(instances, on, strict=True):
                    states.append((shows[defect].get(symptom, 0.0), state))
                shown = _show(states)
                weight *= shown if is_seen else 1.0 - shown
            yield weight, acts, present


def enumerate_posteriors(
    network: Network, findings: Findings
) -> tuple[float, dict[str, float], dict[str, float]]:
    """Give the probability of the findings, and those of causes and defects given them."""
    total = 0.0
    causes = {c["id"]: 0.0 for c in network["causes"]}
    defects = {d["id"]: 0.0 for d in network["defects"]}
    for weight, acts, present in enumerate_worlds(network, findings):
        total += weight
        for name, state in acts.items():
            causes[name] += weight * state
        for name, state in present.items():
            defects[name] += weight * state
    if total > 0.0:
        causes = {name: value / total for name, value in causes.items()}
        defects = {name: value / total for name, value in defects.items()}
    return total, causes, defects


def make_network(
    seed: int,
    *,
    causes: int,
    defects: int,
    symptoms: int,
    questions: int,
    defects_a_cause: int = 2,
    symptoms_a_defect: int = 3,
    questions_a_cause: int = 2,
    highest_prior: float = 0.4,
    leaks: bool = True,
    against: bool = True,
) -> Network:
    """Make a random network; the same seed gives the same one."""
    pick = random.Random(seed)

    def choose(names: list[str], most: int) -> list[str]:
        return pick.sample(names, min(len(names), pick.randint(1, most))) if names else []

    def leak() -> float:
        return round(pick.uniform(0.005, 0.15), 4) if leaks else 0.0

    defect_ids = [f"defect-{i}" for i in range(defects)]
    symptom_ids = [f"symptom-{i}" for i in range(symptoms)]
    question_ids = [f"question-{i}" for i in range(questions)]
    cause_ids = [f"cause-{i}" for i in range(causes)]
    return {
        "causes": [
            {
                "id": name,
                "prior": round(pick.uniform(0.002, highest_prior), 4),
                "defects": [
                    (d, round(pick.uniform(0.05, 0.98), 4))
                    for d in choose(defect_ids, defects_a_cause)
                ],
                "questions": [
                    (
                        q,
                        round(pick.uniform(0.05, 0.98), 4),
                        round(pick.uniform(0.1, 0.9), 4) if against and pick.random() < 0.2 else 0,
                    )
                    for q in choose(question_ids, questions_a_cause)
                ],
            }
            for name in cause_ids
        ],
        "defects": [
            {
                "id": name,
                "leak": leak(),
                "symptoms": [
                    (s, round(pick.uniform(0.05, 0.98), 4))
                    for s in choose(symptom_ids, symptoms_a_defect)
                ],
            }
            for name in defect_ids
        ],
        "symptoms": [{"id": name, "leak": leak()} for name in symptom_ids],
        "questions": [
            {"id": name, "leak": leak(), "telling": pick.choice(["yes", "yes", "no"])}
            for name in question_ids
        ],
    }


def make_findings(
    network: Network, seed: int, *, known: float = 0.7, positive: float = 0.5
) -> Findings:
    """Make random findings about a network."""
    pick = random.Random(seed)
    findings = no_findings()
    for symptom in network["symptoms"]:
        if pick.random() < known:
            findings["present" if pick.random() < positive else "absent"].append(symptom["id"])
    for question in network["questions"]:
        if pick.random() < known:
            findings["yes" if pick.random() < positive else "no"].append(question["id"])
    return findings


def complete_network(network: Network) -> Network:
    """Fill in the parts of a network that a case table leaves out."""
    blanks: dict[str, dict[str, Any]] = {
        "causes": {"defects": [], "questions": []},
        "defects": {"leak": 0, "symptoms": []},
        "symptoms": {"leak": 0},
        "questions": {"leak": 0, "telling": "yes"},
    }
    return {
        kind: [{**blank, **entry} for entry in network.get(kind, [])]
        for kind, blank in blanks.items()
    }


class Side(Protocol):
    """One side of the diagnosis: the functions by their shared names, over plain data."""

    def call(self, name: str, *given: Any) -> Any: ...

    def index(self, network: Network) -> Any: ...


class PythonSide:
    """The functions as they stand; what they give is turned into plain JSON values."""

    def call(self, name: str, *given: Any) -> Any:
        for module in (indexing, inference, questions, fixes, plan, wording):
            if hasattr(module, name):
                return json.loads(json.dumps(getattr(module, name)(*given)))
        raise AttributeError(name)

    def index(self, network: Network) -> Any:
        return indexing.index_network(network)  # type: ignore[arg-type]


class ScriptSide:
    """The compiled script in V8. An indexed network stays there and is known by a number here."""

    def __init__(self, engine: MiniRacer) -> None:
        self.engine = engine
        engine.eval(write_scripts(NUMBERS, DIAGNOSIS))
        engine.eval("var held = [];")
        self._count = 0

    def call(self, name: str, *given: Any) -> Any:
        words = [
            f"held[{value.number}]" if isinstance(value, _Held) else json.dumps(value)
            for value in given
        ]
        text = self.engine.eval(f"JSON.stringify(benchlore.twin.{name}({', '.join(words)}))")
        return json.loads(str(text))

    def index(self, network: Network) -> Any:
        held = _Held(self._count)
        self._count += 1
        self.engine.eval(f"held.push(benchlore.twin.index_network({json.dumps(network)})); 0")
        return held


@dataclass(frozen=True)
class _Held:
    number: int


@contextmanager
def open_side(name: str) -> Iterator[Side]:
    """Open one side: "python" or "script"."""
    if name == "python":
        yield PythonSide()
        return
    with MiniRacer() as engine:  # left open, the engine may hang the interpreter as it ends
        yield ScriptSide(engine)


def diagnose(side: Side, network: Network, findings: Findings) -> dict[str, Any]:
    """Run a whole tap on one side: probabilities, next question, reasons."""
    indexed = side.index(network)
    found = side.call("infer", indexed, findings)
    return {
        **found,
        "next": side.call("choose_question", indexed, findings),
        "explained": side.call(
            "explain", indexed, findings, [cause["id"] for cause in found["causes"][:3]]
        ),
    }
