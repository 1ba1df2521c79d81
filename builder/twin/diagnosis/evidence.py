"""What the findings do to the network before any table is made.

Negative findings change its numbers; positive ones become bits, each with the mechanisms that may
explain it and a weight against underflow. These are steps 1 and 2 of the method in `inference.py`,
written in the same subset of Python.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from builder.twin.diagnosis.shapes import Conditioned, EvidencePart, IndexedNetwork, Mechanism
from builder.twin.diagnosis.tables import NO_DEFECT

EXACT_WORK = 400000.0
"""Steps that exact tables may take in one pass; beyond, `propagation.py` works approximately."""
NO_CAUSE = -1
TINY = 2.0**-500
HUGE = 2.0**500
SCALE_STEPS = 900


def list_positive(marks: Sequence[float]) -> list[int]:
    """List the numbers of the positive findings, rising."""
    positive: list[int] = []
    for f in range(len(marks)):
        if marks[f] > 0:
            positive.append(f)
    return positive


def weigh_work(positive: int, mechanisms: Sequence[Mechanism]) -> float:
    """Estimate the steps of one exact pass: entries of a table times the bits moved in it."""
    moves = 0.0
    for mechanism in mechanisms:
        moves = moves + len(mechanism["answer_bits"]) * 2 + 1
        for part in mechanism["parts"]:
            moves = moves + len(part["bits"]) + 1
    size = 1.0
    for _ in range(positive):
        size = size * 2.0
    return moves * size


def start_state(network: IndexedNetwork) -> Conditioned:
    """Give the numbers of the network before anything is known.

    Returns:
        Chances of each cause to act and to rest, of each instance given that its cause acts, and of
        each background; and the probability of the negative findings, as a mantissa times 2 to the
        exponent. The mantissa becomes 0 where they contradict the network.
    """
    resting: list[float] = []
    for prior in network["priors"]:
        resting.append(1.0 - prior)
    return {
        "acting": network["priors"][:],
        "resting": resting,
        "weights": network["cause_chances"][:],
        "leaks": network["defect_leaks"][:],
        "mantissa": 1.0,
        "exponent": 0,
    }


def copy_state(state: Conditioned) -> Conditioned:
    """Copy a state, so that a finding can be tried out on it."""
    return {
        "acting": state["acting"][:],
        "resting": state["resting"][:],
        "weights": state["weights"][:],
        "leaks": state["leaks"][:],
        "mantissa": state["mantissa"],
        "exponent": state["exponent"],
    }


def absorb_negative(
    network: IndexedNetwork, state: Conditioned, finding: int, strength: float
) -> None:
    """Take one negative finding into a state (step 1 of the method).

    Args:
        network: From `index_network`.
        state: What is known so far; changed.
        finding: Number of the finding.
        strength: 1 for a plain no. A picture left unpicked counts for less: each chance of showing
            is multiplied by this, as if the rest of the time it were overlooked.
    """
    multiply_evidence(state, 1.0 - network["finding_leaks"][finding] * strength)
    defects = network["finding_defects"][finding]
    for i in range(len(defects)):
        d = defects[i]
        silent = 1.0 - network["finding_chances"][finding][i] * strength
        leak = state["leaks"][d]
        both = leak * silent + (1.0 - leak)
        multiply_evidence(state, both)
        if both > 0.0:
            state["leaks"][d] = leak * silent / both
        causes = network["defect_causes"][d]
        for j in range(len(causes)):
            c = causes[j]
            place = network["defect_places"][d][j]
            weight = state["weights"][c][place]
            both = weight * silent + (1.0 - weight)
            # Lists of weights are shared with other states and the network: change a copy.
            weights = state["weights"][c][:]
            weights[place] = 0.0
            if both > 0.0:
                weights[place] = weight * silent / both
            state["weights"][c] = weights
            weigh_cause(state, c, both, 1.0)
    causes = network["finding_causes"][finding]
    for j in range(len(causes)):
        c = causes[j]
        place = network["finding_places"][finding][j]
        acting = 1.0 - network["acting_chances"][c][place] * strength
        resting = 1.0 - network["resting_chances"][c][place] * strength
        weigh_cause(state, c, acting, resting)


def weigh_cause(state: Conditioned, cause: int, acting: float, resting: float) -> None:
    """Change the odds of a cause by the chances of a finding when it acts and when it rests."""
    acting = state["acting"][cause] * acting
    resting = state["resting"][cause] * resting
    either = acting + resting
    multiply_evidence(state, either)
    if either > 0.0:
        state["acting"][cause] = acting / either
        state["resting"][cause] = resting / either


def multiply_evidence(state: Any, factor: float) -> None:
    """Multiply the probability of the evidence, keeping its mantissa away from underflow."""
    state["mantissa"] = state["mantissa"] * factor
    if state["mantissa"] > 0.0:
        while state["mantissa"] < TINY:
            state["mantissa"] = state["mantissa"] * HUGE
            state["exponent"] = state["exponent"] - 500


def list_touched(network: IndexedNetwork, bit_of: list[int]) -> list[int]:
    """List the causes that can explain a positive finding, in order of number."""
    touches: list[bool] = []
    for _ in network["cause_ids"]:
        touches.append(False)
    for f in range(len(bit_of)):
        if bit_of[f] >= 0:
            for d in network["finding_defects"][f]:
                for c in network["defect_causes"][d]:
                    touches[c] = True
            for c in network["finding_causes"][f]:
                touches[c] = True
    touched: list[int] = []
    for c in range(len(touches)):
        if touches[c]:
            touched.append(c)
    return touched


def list_mechanisms(
    network: IndexedNetwork, state: Conditioned, bit_of: list[int]
) -> tuple[list[Mechanism], list[Mechanism]]:
    """List what may explain a positive finding: causes, and backgrounds of defects."""
    mechanisms: list[Mechanism] = []
    backgrounds: list[Mechanism] = []
    defect_bits: list[list[int]] = []
    defect_chances: list[list[float]] = []
    for d in range(len(network["defect_ids"])):
        symptoms = network["defect_symptoms"][d]
        bits: list[int] = []
        chances: list[float] = []
        for k in range(len(symptoms)):
            if bit_of[symptoms[k]] >= 0:
                bits.append(bit_of[symptoms[k]])
                chances.append(network["symptom_chances"][d][k])
        defect_bits.append(bits)
        defect_chances.append(chances)
        leak = state["leaks"][d]
        if len(bits) > 0 and leak > 0.0:
            part: EvidencePart = {"defect": d, "weight": 1.0, "bits": bits, "chances": chances}
            background: Mechanism = {
                "cause": NO_CAUSE,
                "defect": d,
                "acting": leak,
                "resting": 1.0 - leak,
                "parts": [part],
                "answer_bits": [],
                "acting_chances": [],
                "resting_chances": [],
            }
            backgrounds.append(background)
    for c in list_touched(network, bit_of):
        parts: list[EvidencePart] = []
        defects = network["cause_defects"][c]
        for k in range(len(defects)):
            d = defects[k]
            if len(defect_bits[d]) > 0:
                instance: EvidencePart = {
                    "defect": d,
                    "weight": state["weights"][c][k],
                    "bits": defect_bits[d],
                    "chances": defect_chances[d],
                }
                parts.append(instance)
        answer_bits: list[int] = []
        acting_chances: list[float] = []
        resting_chances: list[float] = []
        questions = network["cause_questions"][c]
        for k in range(len(questions)):
            if bit_of[questions[k]] >= 0:
                answer_bits.append(bit_of[questions[k]])
                acting_chances.append(network["acting_chances"][c][k])
                resting_chances.append(network["resting_chances"][c][k])
        mechanism: Mechanism = {
            "cause": c,
            "defect": NO_DEFECT,
            "acting": state["acting"][c],
            "resting": state["resting"][c],
            "parts": parts,
            "answer_bits": answer_bits,
            "acting_chances": acting_chances,
            "resting_chances": resting_chances,
        }
        mechanisms.append(mechanism)
    return mechanisms, backgrounds


def choose_scales(
    leaks: list[float], mechanisms: list[Mechanism], backgrounds: list[Mechanism]
) -> list[float]:
    """Choose for each positive finding a power of two near one over its rarity.

    Their product stays within 2 to the `SCALE_STEPS`, so that no table overflows.
    """
    common: list[float] = []
    for leak in leaks:
        common.append(leak)
    for group in [mechanisms, backgrounds]:
        for mechanism in group:
            for part in mechanism["parts"]:
                for k in range(len(part["bits"])):
                    chance = mechanism["acting"] * part["weight"] * part["chances"][k]
                    common[part["bits"][k]] = common[part["bits"][k]] + chance
            for k in range(len(mechanism["answer_bits"])):
                j = mechanism["answer_bits"][k]
                chance = mechanism["acting"] * mechanism["acting_chances"][k]
                common[j] = common[j] + chance
                chance = mechanism["resting"] * mechanism["resting_chances"][k]
                common[j] = common[j] + chance
    scales: list[float] = []
    for j in range(len(common)):
        scale = 1.0
        steps = SCALE_STEPS // len(common)
        while scale * common[j] < 0.5 and steps > 0:
            scale = scale * 2.0
            steps = steps - 1
        scales.append(scale)
    return scales
