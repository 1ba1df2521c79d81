"""What to ask next, and why a cause stands where it stands.

The next question is the one expected to tell most about the *suspects*: the causes that can explain
something seen and still have at least `SUSPECT_PROBABILITY`; before anything is seen, all causes.
Told about is measured in bits as the expected fall of the sum, over the suspects, of the entropy of
"this cause acts". Why this measure:

* Several causes may act at once, so one distribution over "the" cause would not be our model.
* The entropy of all combinations of causes is out of reach, and the sum is its upper bound.
* The expected fall of the sum is the sum of the mutual informations between each suspect and the
  answer. It is never negative, and 0 for an answer that changes nothing.
* Causes that nothing seen points to are not counted; otherwise a question about many unlikely
  causes would win over the one that decides between two likely ones, and asking would never end.

Where just one fault is present, `measure_gain` on causes against answers is the textbook
information gain.

A cheap screen, which treats causes as independent given what is known, picks the `FINALISTS` best
questions and as many symptoms; their gain is then computed exactly. Asking stops where the best
gain is below `LEAST_GAIN`. Symptoms not yet looked at count as questions too.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log2

from builder.diagnosis.evidence import HUGE, TINY
from builder.diagnosis.indexing import find_question, find_symptom, mark_findings
from builder.diagnosis.inference import infer_beliefs, rank_numbers, round_score
from builder.diagnosis.shapes import (
    Beliefs,
    Explanation,
    Findings,
    IndexedNetwork,
    NextQuestion,
    Reason,
)

SUSPECT_PROBABILITY = 0.01
FINALISTS = 8
LEAST_GAIN = 0.02
LEAST_BITS = 0.05
SMALLEST_CHANCE = 1e-300


def measure_entropy(weights: Sequence[float]) -> float:
    """Measure the entropy of a distribution, in bits.

    Args:
        weights: Not negative; they need not sum to 1.

    Example:
        `measure_entropy([9, 5])` is 0.940286.
    """
    total = 0.0
    for weight in weights:
        total = total + weight
    entropy = 0.0
    for weight in weights:
        if weight > SMALLEST_CHANCE * total:
            entropy = entropy - weight / total * log2(weight / total)
    return entropy


def measure_gain(joint: Sequence[Sequence[float]]) -> float:
    """Measure the information that an answer is expected to give about causes, in bits.

    Args:
        joint: One row an answer, one column a cause (or "acts" and "rests"): weight of both
            together, not negative. Rows need not sum to 1.

    Example:
        Causes of 0.5, 0.3 and 0.2 that say yes with 0.9, 0.2 and 0.1 give 0.452526:
        `measure_gain([[0.45, 0.06, 0.02], [0.05, 0.24, 0.18]])`.
    """
    columns: list[float] = []
    for _ in joint[0]:
        columns.append(0.0)
    rows: list[float] = []
    total = 0.0
    for row in joint:
        across = 0.0
        for k in range(len(row)):
            across = across + row[k]
            columns[k] = columns[k] + row[k]
        rows.append(across)
        total = total + across
    gain = 0.0
    for i in range(len(joint)):
        row = joint[i]
        for k in range(len(row)):
            # Each term is one cell of the mutual information; an empty cell adds nothing.
            if row[k] > SMALLEST_CHANCE * total:
                known = log2(row[k] / rows[i]) - log2(columns[k] / total)
                gain = gain + row[k] / total * known
    return max(0.0, gain)


def list_suspects(network: IndexedNetwork, beliefs: Beliefs) -> list[bool]:
    """Mark the causes that questions are to tell about."""
    suspects: list[bool] = []
    nothing_seen = len(beliefs["start"]) == 1
    for _ in network["cause_ids"]:
        suspects.append(nothing_seen)
    for mechanism in beliefs["mechanisms"]:
        c = mechanism["cause"]
        suspects[c] = beliefs["acting"][c] >= SUSPECT_PROBABILITY
    return suspects


def screen_findings(network: IndexedNetwork, beliefs: Beliefs, suspects: list[bool]) -> list[float]:
    """Estimate the gain of every finding, as if causes were independent given what is known."""
    count = len(network["finding_ids"])
    causes: list[list[int]] = []
    acting: list[list[float]] = []
    resting: list[list[float]] = []
    silent: list[float] = []
    for f in range(count):
        causes.append([])
        acting.append([])
        resting.append([])
        silent.append(1.0 - network["finding_leaks"][f])
    for d in range(len(network["defect_ids"])):
        for k in range(len(network["defect_symptoms"][d])):
            f = network["defect_symptoms"][d][k]
            chance = network["defect_leaks"][d] * network["symptom_chances"][d][k]
            silent[f] = silent[f] * (1.0 - chance)
    for c in range(len(network["cause_ids"])):
        for i in range(len(network["cause_defects"][c])):
            d = network["cause_defects"][c][i]
            weight = network["cause_chances"][c][i]
            for k in range(len(network["defect_symptoms"][d])):
                f = network["defect_symptoms"][d][k]
                chance = weight * network["symptom_chances"][d][k]
                last = len(causes[f]) - 1
                if last >= 0 and causes[f][last] == c:
                    acting[f][last] = 1.0 - (1.0 - acting[f][last]) * (1.0 - chance)
                else:
                    causes[f].append(c)
                    acting[f].append(chance)
                    resting[f].append(0.0)
        for k in range(len(network["cause_questions"][c])):
            f = network["cause_questions"][c][k]
            causes[f].append(c)
            acting[f].append(network["acting_chances"][c][k])
            resting[f].append(network["resting_chances"][c][k])
    gains: list[float] = []
    for f in range(count):
        others = silent[f]
        for k in range(len(causes[f])):
            c = causes[f][k]
            no_and_acts = beliefs["acting"][c] * (1.0 - acting[f][k])
            others = others * (no_and_acts + beliefs["resting"][c] * (1.0 - resting[f][k]))
        gain = 0.0
        for k in range(len(causes[f])):
            c = causes[f][k]
            if suspects[c]:
                acts = beliefs["acting"][c]
                rests = beliefs["resting"][c]
                no_and_acts = acts * (1.0 - acting[f][k])
                no_and_rests = rests * (1.0 - resting[f][k])
                if no_and_acts + no_and_rests > 0.0:
                    rest = others / (no_and_acts + no_and_rests)
                    no_and_acts = no_and_acts * rest
                    no_and_rests = no_and_rests * rest
                yes_and_acts = max(0.0, acts - no_and_acts)
                yes_and_rests = max(0.0, rests - no_and_rests)
                gain = gain + measure_gain(
                    [[yes_and_acts, yes_and_rests], [no_and_acts, no_and_rests]]
                )
        gains.append(gain)
    return gains


def expect_gain(
    network: IndexedNetwork,
    marks: list[int],
    beliefs: Beliefs,
    suspects: list[bool],
    finding: int,
) -> float:
    """Compute exactly what one finding is expected to tell about the suspects, in bits."""
    marks = marks[:]
    marks[finding] = -1
    without = infer_beliefs(network, marks)
    no = 0.0
    if without["possible"]:
        no = without["mantissa"] / beliefs["mantissa"]
        exponent = without["exponent"] - beliefs["exponent"]
        while exponent < 0:
            no = no * TINY
            exponent = exponent + 500
        while exponent > 0:
            no = no * HUGE
            exponent = exponent - 500
        no = min(1.0, no)
    gain = 0.0
    for c in range(len(suspects)):
        if suspects[c]:
            no_and_acts = no * without["acting"][c]
            no_and_rests = no * without["resting"][c]
            yes_and_acts = max(0.0, beliefs["acting"][c] - no_and_acts)
            yes_and_rests = max(0.0, beliefs["resting"][c] - no_and_rests)
            gain = gain + measure_gain([[yes_and_acts, yes_and_rests], [no_and_acts, no_and_rests]])
    return gain


def choose_question(network: IndexedNetwork, findings: Findings) -> NextQuestion | None:
    """Choose what to ask or look for next.

    Args:
        network: From `index_network`.
        findings: What is known, and what was skipped.

    Returns:
        The finding with the highest expected gain, equal ones by kind (symptoms first) and id; or
        none where the best gain is below `LEAST_GAIN` or the findings contradict the network.
    """
    marks = mark_findings(network, findings)
    beliefs = infer_beliefs(network, marks)
    if not beliefs["possible"]:
        return None
    suspects = list_suspects(network, beliefs)
    asked: list[bool] = []
    for _ in marks:
        asked.append(False)
    for ids in [findings["present"], findings["absent"], findings["skipped"]]:
        for name in ids:
            f = find_symptom(network, name)
            if f >= 0:
                asked[f] = True
    for ids in [findings["yes"], findings["no"], findings["skipped"]]:
        for name in ids:
            f = find_question(network, name)
            if f >= 0:
                asked[f] = True
    screened = screen_findings(network, beliefs, suspects)
    symptoms_left = FINALISTS
    questions_left = FINALISTS
    best = -1
    best_gain = 0.0
    finalists: list[int] = []
    for f in rank_numbers(screened):
        if not asked[f] and screened[f] > 0.0:
            if f < network["symptom_count"]:
                if symptoms_left > 0:
                    finalists.append(f)
                symptoms_left = symptoms_left - 1
            else:
                if questions_left > 0:
                    finalists.append(f)
                questions_left = questions_left - 1
    for f in finalists:
        gain = expect_gain(network, marks, beliefs, suspects, f)
        better = round_score(gain) > round_score(best_gain)
        equal = round_score(gain) == round_score(best_gain)
        if better or (equal and f < best):
            best = f
            best_gain = gain
    if best < 0 or best_gain < LEAST_GAIN:
        return None
    return {
        "id": network["finding_ids"][best],
        "kind": "symptom" if best < network["symptom_count"] else "question",
        "gain": best_gain,
    }


def measure_odds(beliefs: Beliefs, cause: int) -> float:
    """Measure the odds of a cause as a logarithm to base 2, kept finite for certain causes."""
    acting = max(SMALLEST_CHANCE, beliefs["acting"][cause])
    resting = max(SMALLEST_CHANCE, beliefs["resting"][cause])
    return log2(acting / resting)


def explain(
    network: IndexedNetwork, findings: Findings, cause_ids: Sequence[str]
) -> list[Explanation]:
    """Explain causes by the findings that moved them.

    Each finding is left out in turn; the change of the log-odds of the cause, in bits, is what the
    finding does for it beside all the others. Two findings that say the same thus both count for
    little.

    Args:
        network: From `index_network`.
        findings: What is known.
        cause_ids: Causes to explain.

    Returns:
        For each cause the findings that moved it by at least `LEAST_BITS`, strongest first.
    """
    marks = mark_findings(network, findings)
    beliefs = infer_beliefs(network, marks)
    known: list[int] = []
    without: list[Beliefs] = []
    if beliefs["possible"]:
        for f in range(len(marks)):
            if marks[f] != 0:
                fewer = marks[:]
                fewer[f] = 0
                known.append(f)
                without.append(infer_beliefs(network, fewer))
    explanations: list[Explanation] = []
    for name in cause_ids:
        because: list[Reason] = []
        cause = -1
        for c in range(len(network["cause_ids"])):
            if network["cause_ids"][c] == name:
                cause = c
        moves: list[float] = []
        sizes: list[float] = []
        if cause >= 0:
            for i in range(len(known)):
                move = measure_odds(beliefs, cause) - measure_odds(without[i], cause)
                moves.append(move)
                sizes.append(abs(move))
        for i in rank_numbers(sizes):
            if sizes[i] >= LEAST_BITS:
                f = known[i]
                reason: Reason = {
                    "id": network["finding_ids"][f],
                    "kind": "symptom" if f < network["symptom_count"] else "question",
                    "answer": "yes" if (marks[f] > 0) != network["telling_no"][f] else "no",
                    "sign": 1 if moves[i] > 0.0 else -1,
                    "bits": moves[i],
                }
                because.append(reason)
        explanation: Explanation = {"id": name, "because": because}
        explanations.append(explanation)
    return explanations
