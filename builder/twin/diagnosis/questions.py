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
questions and as many symptoms; their gain is then computed exactly. Symptoms not yet looked at
count as questions too.

Asking stops where the best gain is below `LEAST_GAIN`, about all there is to know of a cause that
acts twice in a hundred times: less than that is not worth a person's while. Who asks may stop
before, where the case `is_settled`: one cause stands out, and every other is far behind it. What
may be wrong besides is then still worth a question, but no longer in the way of the first fix.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log2

from builder.twin.diagnosis.evidence import HUGE, TINY, absorb_negative, copy_state
from builder.twin.diagnosis.indexing import find_question, find_symptom, mark_findings
from builder.twin.diagnosis.inference import (
    infer_beliefs,
    rank_numbers,
    round_score,
    weigh_positives,
)
from builder.twin.diagnosis.shapes import (
    Beliefs,
    Explanation,
    Findings,
    IndexedNetwork,
    NextQuestion,
    Reason,
)

SUSPECT_PROBABILITY = 0.01
FINALISTS = 4
LEAST_GAIN = 0.15
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
            gain = gain + measure_cell(row[k], rows[i], columns[k], total)
    return max(0.0, gain)


def measure_cell(cell: float, row: float, column: float, total: float) -> float:
    """Measure what one cell of a joint table adds to the mutual information, in bits."""
    if cell <= SMALLEST_CHANCE * total:
        return 0.0
    return cell / total * (log2(cell / row) - log2(column / total))


def measure_answer(acts: float, rests: float, no_and_acts: float, no_and_rests: float) -> float:
    """Measure what yes or no tells about one cause, in bits: `measure_gain` of two by two.

    Args:
        acts: Chance that the cause acts.
        rests: Chance that it rests.
        no_and_acts: Chance that it acts and the answer is no.
        no_and_rests: Chance that it rests and the answer is no.
    """
    yes_and_acts = max(0.0, acts - no_and_acts)
    yes_and_rests = max(0.0, rests - no_and_rests)
    yes = yes_and_acts + yes_and_rests
    no = no_and_acts + no_and_rests
    acts = yes_and_acts + no_and_acts
    rests = yes_and_rests + no_and_rests
    total = yes + no
    gain = measure_cell(yes_and_acts, yes, acts, total)
    gain = gain + measure_cell(yes_and_rests, yes, rests, total)
    gain = gain + measure_cell(no_and_acts, no, acts, total)
    gain = gain + measure_cell(no_and_rests, no, rests, total)
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


def screen_finding(
    network: IndexedNetwork,
    beliefs: Beliefs,
    suspects: list[bool],
    silent: list[float],
    finding: int,
) -> float:
    """Estimate the gain of one finding, as if causes were independent given what is known.

    Args:
        network: From `index_network`.
        beliefs: What is known.
        suspects: From `list_suspects`.
        silent: A one for each cause; used for counting, and left as it was.
        finding: Number of the finding.

    Returns:
        The estimate, in bits.
    """
    state = beliefs["conditioned"]
    others = 1.0 - network["finding_leaks"][finding]
    causes: list[int] = []
    resting: list[float] = []
    for i in range(len(network["finding_defects"][finding])):
        d = network["finding_defects"][finding][i]
        chance = network["finding_chances"][finding][i]
        others = others * (1.0 - state["leaks"][d] * chance)
        for j in range(len(network["defect_causes"][d])):
            c = network["defect_causes"][d][j]
            weight = state["weights"][c][network["defect_places"][d][j]]
            if weight * chance > 0.0:
                if silent[c] == 1.0:
                    causes.append(c)
                    resting.append(1.0)
                silent[c] = silent[c] * (1.0 - weight * chance)
    for j in range(len(network["finding_causes"][finding])):
        c = network["finding_causes"][finding][j]
        place = network["finding_places"][finding][j]
        causes.append(c)
        silent[c] = 1.0 - network["acting_chances"][c][place]
        resting.append(1.0 - network["resting_chances"][c][place])
    told = False
    for k in range(len(causes)):
        c = causes[k]
        told = told or suspects[c]
        no = beliefs["acting"][c] * silent[c] + beliefs["resting"][c] * resting[k]
        others = others * no
    gain = 0.0
    for k in range(len(causes)):
        c = causes[k]
        if told and suspects[c]:
            acts = beliefs["acting"][c]
            rests = beliefs["resting"][c]
            no_and_acts = acts * silent[c]
            no_and_rests = rests * resting[k]
            if no_and_acts + no_and_rests > 0.0:
                rest = others / (no_and_acts + no_and_rests)
                no_and_acts = no_and_acts * rest
                no_and_rests = no_and_rests * rest
            gain = gain + measure_answer(acts, rests, no_and_acts, no_and_rests)
    for c in causes:
        silent[c] = 1.0
    return gain


def list_finalists(
    network: IndexedNetwork, beliefs: Beliefs, suspects: list[bool], asked: Sequence[bool]
) -> list[int]:
    """List the symptoms and questions the screen finds most promising, in order of number."""
    silent: list[float] = []
    for _ in network["cause_ids"]:
        silent.append(1.0)
    estimates: list[float] = []
    for f in range(len(asked)):
        estimate = 0.0
        if not asked[f]:
            estimate = screen_finding(network, beliefs, suspects, silent, f)
        estimates.append(estimate)
    chosen: list[bool] = []
    for _ in estimates:
        chosen.append(False)
    symptoms_left = FINALISTS
    questions_left = FINALISTS
    for f in rank_numbers(estimates):
        if estimates[f] > 0.0:
            if f < network["symptom_count"]:
                chosen[f] = symptoms_left > 0
                symptoms_left = symptoms_left - 1
            else:
                chosen[f] = questions_left > 0
                questions_left = questions_left - 1
    finalists: list[int] = []
    for f in range(len(chosen)):
        if chosen[f]:
            finalists.append(f)
    return finalists


def expect_no(network: IndexedNetwork, beliefs: Beliefs, finding: int) -> tuple[float, Beliefs]:
    """Compute exactly how likely a no is, and what is believed after it.

    Only where the beliefs themselves are exact.
    """
    state = copy_state(beliefs["conditioned"])
    absorb_negative(network, state, finding, 1.0)
    without = weigh_positives(network, state, beliefs["positive"])
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
    return no, without


def expect_gain(
    network: IndexedNetwork, beliefs: Beliefs, suspects: list[bool], finding: int
) -> float:
    """Compute exactly what one finding is expected to tell about the suspects, in bits."""
    no, without = expect_no(network, beliefs, finding)
    gain = 0.0
    for c in range(len(suspects)):
        if suspects[c]:
            gain = gain + measure_answer(
                beliefs["acting"][c],
                beliefs["resting"][c],
                no * without["acting"][c],
                no * without["resting"][c],
            )
    return gain


def measure_stake(acts: float, rests: float, no_and_acts: float, no_and_rests: float) -> float:
    """Measure by how much yes or no lowers the chance of a wrong verdict on one cause.

    A verdict that goes with the odds, taken at random as often as they say, is wrong with
    `2 p (1 - p)`, where p is the chance that the cause acts (the Gini impurity).

    Args:
        acts: Chance that the cause acts.
        rests: Chance that it rests.
        no_and_acts: Chance that it acts and the answer is no.
        no_and_rests: Chance that it rests and the answer is no.

    Returns:
        The expected fall of that chance, between 0 and 0.5.
    """
    yes_and_acts = max(0.0, acts - no_and_acts)
    yes_and_rests = max(0.0, rests - no_and_rests)
    total = yes_and_acts + yes_and_rests + no_and_acts + no_and_rests
    if total <= 0.0:
        return 0.0
    before = (yes_and_acts + no_and_acts) * (yes_and_rests + no_and_rests) / total
    after = 0.0
    if yes_and_acts + yes_and_rests > 0.0:
        after = after + yes_and_acts * yes_and_rests / (yes_and_acts + yes_and_rests)
    if no_and_acts + no_and_rests > 0.0:
        after = after + no_and_acts * no_and_rests / (no_and_acts + no_and_rests)
    return max(0.0, 2.0 * (before - after) / total)


def expect_value(
    network: IndexedNetwork,
    beliefs: Beliefs,
    suspects: list[bool],
    stakes: Sequence[float],
    finding: int,
) -> float:
    """Compute what the answer to one finding is worth, in minutes.

    Args:
        network: From `index_network`.
        beliefs: What is known, exactly.
        suspects: From `list_suspects`.
        stakes: For each cause the minutes that a wrong verdict on it costs.
        finding: Number of the finding.
    """
    no, without = expect_no(network, beliefs, finding)
    value = 0.0
    for c in range(len(suspects)):
        if suspects[c]:
            value = value + stakes[c] * measure_stake(
                beliefs["acting"][c],
                beliefs["resting"][c],
                no * without["acting"][c],
                no * without["resting"][c],
            )
    return value


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
    best = -1
    best_gain = 0.0
    for f in list_finalists(network, beliefs, suspects, asked):
        gain = expect_gain(network, beliefs, suspects, f)
        if round_score(gain) > round_score(best_gain):
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
    return explain_marks(network, marks, infer_beliefs(network, marks), cause_ids)


def explain_marks(
    network: IndexedNetwork, marks: list[float], beliefs: Beliefs, cause_ids: Sequence[str]
) -> list[Explanation]:
    """Explain causes by the marked findings, as `explain` does; weak marks are no reasons.

    Where the beliefs are approximate, leaving out each finding in turn would take too long; the
    message that the finding sends to the cause takes its place.
    """
    if not beliefs["exact"]:
        return explain_roughly(network, beliefs, cause_ids)
    known: list[int] = []
    without: list[Beliefs] = []
    if beliefs["possible"] and len(cause_ids) > 0:
        for f in range(len(marks)):
            if marks[f] == 1.0 or marks[f] == -1.0:
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


def explain_roughly(
    network: IndexedNetwork, beliefs: Beliefs, cause_ids: Sequence[str]
) -> list[Explanation]:
    """Explain causes by what each positive finding tells them in belief propagation."""
    numbers: dict[str, int] = {}
    for i in range(len(beliefs["mechanisms"])):
        numbers[network["cause_ids"][beliefs["mechanisms"][i]["cause"]]] = i
    explanations: list[Explanation] = []
    for name in cause_ids:
        findings: list[int] = []
        moves: list[float] = []
        if name in numbers:
            i = numbers[name]
            mechanism = beliefs["mechanisms"][i]
            silent: list[float] = []
            for _ in beliefs["positive"]:
                silent.append(1.0)
            for part in mechanism["parts"]:
                for k in range(len(part["bits"])):
                    j = part["bits"][k]
                    silent[j] = silent[j] * (1.0 - part["weight"] * part["chances"][k])
            for k in range(len(mechanism["answer_bits"])):
                j = mechanism["answer_bits"][k]
                silent[j] = silent[j] * (1.0 - mechanism["acting_chances"][k])
            for j in range(len(silent)):
                if silent[j] < 1.0:
                    share = max(SMALLEST_CHANCE, beliefs["tables"][i][j])
                    others = min(1.0, beliefs["scales"][j] / share)
                    off = max(1e-12, 1.0 - others)
                    findings.append(beliefs["positive"][j])
                    moves.append(log2((1.0 - silent[j] * others) / off))
        because: list[Reason] = []
        for i in rank_numbers(moves):
            if moves[i] >= LEAST_BITS:
                f = findings[i]
                reason: Reason = {
                    "id": network["finding_ids"][f],
                    "kind": "symptom" if f < network["symptom_count"] else "question",
                    "answer": "no" if network["telling_no"][f] else "yes",
                    "sign": 1,
                    "bits": moves[i],
                }
                because.append(reason)
        explanation: Explanation = {"id": name, "because": because}
        explanations.append(explanation)
    return explanations
