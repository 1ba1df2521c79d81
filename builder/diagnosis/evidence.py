"""What the findings do to the network before any table is made.

Negative findings change its numbers; positive ones become bits, each with the mechanisms that may
explain it and a weight against underflow. These are steps 1 and 2 of the method in `inference.py`,
written in the same subset of Python.
"""

from __future__ import annotations

from typing import Any

from builder.diagnosis.shapes import Conditioned, IndexedNetwork, Mechanism, Part
from builder.diagnosis.tables import NO_DEFECT

POSITIVE_LIMIT = 14
NO_CAUSE = -1
TINY = 2.0**-500
HUGE = 2.0**500
SCALE_STEPS = 900


def list_positive(network: IndexedNetwork, marks: list[int]) -> list[int]:
    """List the positive findings to work with: all, or the rarest `POSITIVE_LIMIT` of them."""
    positive: list[int] = []
    for f in range(len(marks)):
        if marks[f] > 0:
            positive.append(f)
    while len(positive) > POSITIVE_LIMIT:
        commonest = 0
        for k in range(len(positive)):
            leak = network["finding_leaks"][positive[k]]
            if leak >= network["finding_leaks"][positive[commonest]]:
                commonest = k
        positive.pop(commonest)
    return positive


def condition_on_negatives(network: IndexedNetwork, marks: list[int]) -> Conditioned:
    """Take in the negative findings (step 1 of the method).

    Returns:
        Chances of each cause to act and to rest, of each instance given that its cause acts, and of
        each background, all given the negative findings; and the probability of these as mantissa
        times 2 to the exponent, the mantissa being 0 where they contradict the network.
    """
    state: Conditioned = {
        "acting": [],
        "resting": [],
        "weights": [],
        "leaks": [],
        "mantissa": 1.0,
        "exponent": 0,
    }
    for f in range(len(marks)):
        if marks[f] < 0:
            multiply_evidence(state, 1.0 - network["finding_leaks"][f])
    quiet: list[float] = []
    for d in range(len(network["defect_ids"])):
        symptoms = network["defect_symptoms"][d]
        silent = 1.0
        for k in range(len(symptoms)):
            if marks[symptoms[k]] < 0:
                silent = silent * (1.0 - network["symptom_chances"][d][k])
        quiet.append(silent)
        leak = network["defect_leaks"][d]
        if silent < 1.0:
            both = leak * silent + (1.0 - leak)
            multiply_evidence(state, both)
            if both > 0.0:
                leak = leak * silent / both
        state["leaks"].append(leak)
    for c in range(len(network["cause_ids"])):
        chances = network["cause_chances"][c]
        defects = network["cause_defects"][c]
        questions = network["cause_questions"][c]
        acting = network["priors"][c]
        resting = 1.0 - acting
        weights = chances
        touched = False
        for d in defects:
            if quiet[d] < 1.0:
                touched = True
        if touched:
            weights = []
            for k in range(len(defects)):
                shown = chances[k] * quiet[defects[k]]
                either = shown + (1.0 - chances[k])
                acting = acting * either
                if either > 0.0:
                    weights.append(shown / either)
                else:
                    weights.append(0.0)
        for k in range(len(questions)):
            if marks[questions[k]] < 0:
                touched = True
                acting = acting * (1.0 - network["acting_chances"][c][k])
                resting = resting * (1.0 - network["resting_chances"][c][k])
        if touched:
            either = acting + resting
            multiply_evidence(state, either)
            if either > 0.0:
                acting = acting / either
                resting = resting / either
        state["weights"].append(weights)
        state["acting"].append(acting)
        state["resting"].append(resting)
    return state


def multiply_evidence(state: Any, factor: float) -> None:
    """Multiply the probability of the evidence, keeping its mantissa away from underflow."""
    state["mantissa"] = state["mantissa"] * factor
    if state["mantissa"] > 0.0:
        while state["mantissa"] < TINY:
            state["mantissa"] = state["mantissa"] * HUGE
            state["exponent"] = state["exponent"] - 500


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
            part: Part = {"defect": d, "weight": 1.0, "bits": bits, "chances": chances}
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
    for c in range(len(network["cause_ids"])):
        parts: list[Part] = []
        defects = network["cause_defects"][c]
        for k in range(len(defects)):
            d = defects[k]
            if len(defect_bits[d]) > 0:
                instance: Part = {
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
        if len(parts) + len(answer_bits) > 0:
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
