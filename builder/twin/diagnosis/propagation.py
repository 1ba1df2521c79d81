"""The same beliefs, approximately: for more positive findings than exact tables can hold.

Loopy belief propagation (Pearl 1988; Murphy, Weiss and Jordan 1999, "Loopy belief propagation for
approximate inference: an empirical study", who tried it on a noisy-OR network of diseases). Every
positive finding tells each part that may explain it how well the others explain it already; every
part tells the findings how likely it is by all it heard from the others. Messages are damped and
sent `ROUNDS` times. Negative findings are exact here too: they have changed the numbers before.

A tree gives the exact result. Elsewhere the error is measured against the exact tables by
`make bench`; pages say that the result is approximate.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.diagnosis.shapes import Beliefs, Conditioned, IndexedNetwork, Mechanism

ROUNDS = 24
KEPT = 0.4
"""Share of the old message that is kept in a round."""
LEAST_SILENCE = 1e-12


def propagate(
    network: IndexedNetwork,
    state: Conditioned,
    positive: list[int],
    leaks: list[float],
    mechanisms: list[Mechanism],
    backgrounds: list[Mechanism],
) -> Beliefs:
    """Estimate the odds of all causes.

    Args:
        network: From `index_network`.
        state: The network after the negative findings; not changed.
        positive: Numbers of the positive findings, rising.
        leaks: Chance of each of them without any part.
        mechanisms: Causes that may explain them.
        backgrounds: Backgrounds of defects that may.

    Returns:
        As `weigh_positives`, with `exact` false.
    """
    groups: list[Mechanism] = []
    for mechanism in mechanisms:
        groups.append(mechanism)
    for background in backgrounds:
        groups.append(background)
    # For each group, part and bit: what the finding says of the part on and off, and the chance
    # that the part is on by all that was heard elsewhere. The last part of a group is its answers.
    said_on: list[list[list[float]]] = []
    said_off: list[list[list[float]]] = []
    active: list[list[list[float]]] = []
    for group in groups:
        on: list[list[float]] = []
        off: list[list[float]] = []
        live: list[list[float]] = []
        for part in group["parts"]:
            on.append(fill(len(part["bits"]), 1.0))
            off.append(fill(len(part["bits"]), 1.0))
            live.append(fill(len(part["bits"]), group["acting"] * part["weight"]))
        on.append(fill(len(group["answer_bits"]), 1.0))
        off.append(fill(len(group["answer_bits"]), 1.0))
        live.append(fill(len(group["answer_bits"]), group["acting"]))
        said_on.append(on)
        said_off.append(off)
        active.append(live)
    acting: list[float] = []
    shown: list[list[float]] = []
    for g in range(len(groups)):
        acting.append(groups[g]["acting"])
        shown.append(fill(len(groups[g]["parts"]), 0.0))
    for _ in range(ROUNDS):
        silence = measure_silence(groups, leaks, active)
        for g in range(len(groups)):
            hear(groups[g], silence, active[g], said_on[g], said_off[g])
            acting[g] = answer(groups[g], said_on[g], said_off[g], active[g], shown[g])
    beliefs: Beliefs = {
        "possible": state["mantissa"] > 0.0,
        "acting": state["acting"][:],
        "resting": state["resting"][:],
        "mantissa": 1.0,
        "exponent": 0,
        "conditioned": state,
        "positive": positive,
        "mechanisms": mechanisms,
        "backgrounds": backgrounds,
        "start": leaks,
        "scales": measure_silence(groups, leaks, active),
        "total": 1.0,
        "exact": False,
        "tables": share_silence(mechanisms, len(leaks), active),
        "endings": [],
        "shown": shown,
    }
    for i in range(len(mechanisms)):
        beliefs["acting"][mechanisms[i]["cause"]] = acting[i]
        beliefs["resting"][mechanisms[i]["cause"]] = 1.0 - acting[i]
    return beliefs


def fill(size: int, value: float) -> list[float]:
    """Make a list of one number."""
    filled: list[float] = []
    for _ in range(size):
        filled.append(value)
    return filled


def measure_silence(
    groups: list[Mechanism], leaks: Sequence[float], active: list[list[list[float]]]
) -> list[float]:
    """Measure for each positive finding the chance that nothing at all would show it."""
    silence: list[float] = []
    for leak in leaks:
        silence.append(max(LEAST_SILENCE, 1.0 - leak))
    for g in range(len(groups)):
        parts = groups[g]["parts"]
        for p in range(len(parts)):
            for k in range(len(parts[p]["bits"])):
                j = parts[p]["bits"][k]
                silence[j] = silence[j] * (1.0 - active[g][p][k] * parts[p]["chances"][k])
        last = active[g][len(parts)]
        for k in range(len(last)):
            j = groups[g]["answer_bits"][k]
            silence[j] = silence[j] * silence_answer(groups[g], k, last[k])
    for j in range(len(silence)):
        silence[j] = max(LEAST_SILENCE, silence[j])
    return silence


def share_silence(
    groups: list[Mechanism], bits: int, active: list[list[list[float]]]
) -> list[list[float]]:
    """Give for each group and finding the chance that no part of the group shows it."""
    shares: list[list[float]] = []
    for g in range(len(groups)):
        share = fill(bits, 1.0)
        parts = groups[g]["parts"]
        for p in range(len(parts)):
            for k in range(len(parts[p]["bits"])):
                j = parts[p]["bits"][k]
                share[j] = share[j] * (1.0 - active[g][p][k] * parts[p]["chances"][k])
        shares.append(share)
    return shares


def silence_answer(group: Mechanism, place: int, acting: float) -> float:
    """Give the chance that a cause does not bring an answer, acting with this chance."""
    yes = acting * group["acting_chances"][place] + (1.0 - acting) * group["resting_chances"][place]
    return max(LEAST_SILENCE, 1.0 - yes)


def hear(
    group: Mechanism,
    silence: list[float],
    active: list[list[float]],
    said_on: list[list[float]],
    said_off: list[list[float]],
) -> None:
    """Let the findings speak to the parts of one group; changes `said_on` and `said_off`."""
    for p in range(len(group["parts"])):
        part = group["parts"][p]
        for k in range(len(part["bits"])):
            own = max(LEAST_SILENCE, 1.0 - active[p][k] * part["chances"][k])
            others = min(1.0, silence[part["bits"][k]] / own)
            on = 1.0 - (1.0 - part["chances"][k]) * others
            off = max(LEAST_SILENCE, 1.0 - others)
            said_on[p][k] = KEPT * said_on[p][k] + (1.0 - KEPT) * on
            said_off[p][k] = KEPT * said_off[p][k] + (1.0 - KEPT) * off
    last = len(group["parts"])
    for k in range(len(group["answer_bits"])):
        own = silence_answer(group, k, active[last][k])
        others = min(1.0, silence[group["answer_bits"][k]] / own)
        on = max(LEAST_SILENCE, 1.0 - (1.0 - group["acting_chances"][k]) * others)
        off = max(LEAST_SILENCE, 1.0 - (1.0 - group["resting_chances"][k]) * others)
        said_on[last][k] = KEPT * said_on[last][k] + (1.0 - KEPT) * on
        said_off[last][k] = KEPT * said_off[last][k] + (1.0 - KEPT) * off


def answer(
    group: Mechanism,
    said_on: list[list[float]],
    said_off: list[list[float]],
    active: list[list[float]],
    shown: list[float],
) -> float:
    """Let one group answer the findings; changes `active` and `shown`.

    Returns:
        The chance that the group acts.
    """
    last = len(group["parts"])
    ons: list[float] = []
    offs: list[float] = []
    for p in range(last):
        on = group["parts"][p]["weight"]
        off = 1.0 - group["parts"][p]["weight"]
        for k in range(len(said_on[p])):
            on = on * said_on[p][k]
            off = off * said_off[p][k]
        ons.append(on)
        offs.append(off)
    acts = group["acting"]
    rests = group["resting"]
    for k in range(len(said_on[last])):
        acts = acts * said_on[last][k]
        rests = rests * said_off[last][k]
    # At rest every part is off: its findings speak for that, weight or no weight.
    quiet: list[float] = []
    for p in range(last):
        off = 1.0
        for k in range(len(said_off[p])):
            off = off * said_off[p][k]
        quiet.append(off)
        rests = rests * off
    whole_acts = acts
    for p in range(last):
        whole_acts = whole_acts * (ons[p] + offs[p])
    total = whole_acts + rests
    if total <= 0.0:
        return group["acting"]
    for p in range(last):
        others = acts
        for q in range(last):
            if q != p:
                others = others * (ons[q] + offs[q])
        shown[p] = others * ons[p] / total
        for k in range(len(said_on[p])):
            on = others * ons[p] / max(LEAST_SILENCE, said_on[p][k])
            off = (others * offs[p] + rests) / max(LEAST_SILENCE, said_off[p][k])
            if on + off > 0.0:
                active[p][k] = on / (on + off)
    for k in range(len(said_on[last])):
        on = whole_acts / max(LEAST_SILENCE, said_on[last][k])
        off = rests / max(LEAST_SILENCE, said_off[last][k])
        if on + off > 0.0:
            active[last][k] = on / (on + off)
    return whole_acts / total


def estimate_defects(network: IndexedNetwork, beliefs: Beliefs) -> list[float]:
    """Estimate the probability of each defect, as if its instances were independent."""
    state = beliefs["conditioned"]
    absent: list[float] = []
    for d in range(len(network["defect_ids"])):
        absent.append(1.0 - state["leaks"][d])
    counted: list[bool] = []
    for _ in network["cause_ids"]:
        counted.append(False)
    for i in range(len(beliefs["mechanisms"])):
        mechanism = beliefs["mechanisms"][i]
        c = mechanism["cause"]
        counted[c] = True
        for k in range(len(network["cause_defects"][c])):
            d = network["cause_defects"][c][k]
            chance = beliefs["acting"][c] * state["weights"][c][k]
            for p in range(len(mechanism["parts"])):
                if mechanism["parts"][p]["defect"] == d:
                    chance = beliefs["shown"][i][p]
            absent[d] = absent[d] * (1.0 - chance)
    for i in range(len(beliefs["backgrounds"])):
        background = beliefs["backgrounds"][i]
        d = background["defect"]
        if background["acting"] < 1.0:
            silent = 1.0 - beliefs["shown"][len(beliefs["mechanisms"]) + i][0]
            absent[d] = absent[d] / (1.0 - background["acting"]) * silent
    for c in range(len(network["cause_ids"])):
        if not counted[c]:
            for k in range(len(network["cause_defects"][c])):
                d = network["cause_defects"][c][k]
                absent[d] = absent[d] * (1.0 - state["acting"][c] * state["weights"][c][k])
    present: list[float] = []
    for d in range(len(absent)):
        present.append(max(0.0, min(1.0, 1.0 - absent[d])))
    return present


def estimate_unexplained(beliefs: Beliefs, blocked: list[bool], unlisted: int) -> float:
    """Estimate the chance that no listed cause brought any of the findings marked in `blocked`."""
    chance = 1.0
    for j in range(len(blocked)):
        if blocked[j]:
            listed = 1.0
            for i in range(len(beliefs["mechanisms"])):
                if beliefs["mechanisms"][i]["cause"] != unlisted:
                    listed = listed * beliefs["tables"][i][j]
            silence = beliefs["scales"][j]
            seen = max(LEAST_SILENCE, 1.0 - silence)
            chance = chance * min(1.0, max(0.0, listed - silence) / seen)
    return chance
