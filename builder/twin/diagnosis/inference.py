"""What is probably wrong: exact probabilities of causes and defects, given what was seen.

The model
---------
* A cause acts or does not; causes are independent and each has a prior. Several may act at once.
* A cause that acts brings about each of its defects with a chance of its own, independently: one
  *instance* of the defect. Each defect has one more instance without a listed cause, its
  *background*. A defect is present where any of its instances is.
* Each instance shows each symptom of its defect with a chance of its own, independently. A symptom
  is seen where any instance shows it, or by its own leak: a noisy-OR with leak (Pearl 1988,
  *Probabilistic Reasoning in Intelligent Systems*).
* A cause makes the telling answer of a question come out with a chance, by a noisy-OR with leak
  too. A question link has a second chance for the time the cause does not act; where that is the
  higher one, the answer speaks against the cause.
* What is not known is left out: it counts for nothing.

The method
----------
All sums run over numbers that are not negative, so nothing cancels; the usual way to sum a noisy-OR
over findings that are present adds and subtracts numbers that may be far larger than the result.

1. Negative findings (symptom absent, answer not the telling one) leave all causes independent. They
   only change the numbers: priors, chances of instances, backgrounds.
2. Positive findings are bits of a set. A table holds, for each set of them, the chance that just
   this set is explained so far. Leaks, backgrounds and causes are taken in one after another; each
   may add bits, none takes one away. The entry of the full set is the probability of the evidence.
   A second table runs from the end to the start; where the two meet at a cause, they give the
   chances of the evidence together with the cause acting and not acting.
3. A cause that can explain no positive finding is independent of them; it keeps its odds of step 1.
4. A defect is absent where all its instances are. That chance needs the table of all that does not
   touch the defect; the tables for all defects come from halving the list of defects again and
   again, taking in at each half what touches none of it.

Each positive finding is weighted by a power of two near its rarity, so that rare combinations do
not underflow. Work and memory grow with 2 to the number of positive findings, times the causes that
touch them; where that is more than `EXACT_WORK`, `propagation.py` works approximately instead, and
the result says so.

The functions are written in the subset of Python that the script compiler of `javascript.py` takes;
the page runs the same text. Arrays are filled by index, lists are never added or compared, empty
lists are never taken for false, and nothing is imported inside a function.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.diagnosis.evidence import (
    EXACT_WORK,
    NO_CAUSE,
    TINY,
    absorb_negative,
    choose_scales,
    list_mechanisms,
    list_positive,
    multiply_evidence,
    start_state,
    weigh_work,
)
from builder.twin.diagnosis.indexing import mark_findings
from builder.twin.diagnosis.propagation import estimate_defects, estimate_unexplained, propagate
from builder.twin.diagnosis.shapes import (
    Beliefs,
    Conditioned,
    Diagnosis,
    Findings,
    IndexedNetwork,
    Mechanism,
    Ranked,
)
from builder.twin.diagnosis.tables import (
    NO_DEFECT,
    apply_acting,
    apply_forced,
    apply_mechanism,
    apply_resting,
    make_table,
    mix_into,
    multiply_tables,
    push_bit,
)


def infer_beliefs(network: IndexedNetwork, marks: Sequence[float]) -> Beliefs:
    """Compute the odds of all causes (steps 1 to 3 of the method).

    Args:
        network: From `index_network`.
        marks: As `mark_findings` gives them; a negative mark between -1 and 0 is a weaker no.

    Returns:
        As `weigh_positives`.
    """
    state = start_state(network)
    for f in range(len(marks)):
        if marks[f] < 0:
            absorb_negative(network, state, f, -marks[f])
    return weigh_positives(network, state, list_positive(marks))


def weigh_positives(network: IndexedNetwork, state: Conditioned, positive: list[int]) -> Beliefs:
    """Take in the positive findings (steps 2 and 3 of the method).

    Args:
        network: From `index_network`.
        state: The network after the negative findings; not changed.
        positive: Numbers of the positive findings, rising.

    Returns:
        For each cause two numbers whose ratio are its odds, and what `infer_defects` needs.
        `possible` is false where the findings have probability 0 in this network.
    """
    bit_of: list[int] = []
    for _ in network["finding_ids"]:
        bit_of.append(-1)
    leaks: list[float] = []
    for j in range(len(positive)):
        bit_of[positive[j]] = j
        leaks.append(network["finding_leaks"][positive[j]])
    mechanisms, backgrounds = list_mechanisms(network, state, bit_of)
    if weigh_work(len(positive), mechanisms) > EXACT_WORK:
        return propagate(network, state, positive, leaks, mechanisms, backgrounds)
    scales = choose_scales(leaks, mechanisms, backgrounds)
    size = 1 << len(positive)
    start = make_table(size)
    start[0] = 1.0
    for j in range(len(positive)):
        push_bit(start, j, leaks[j], scales[j])
    table = start
    for background in backgrounds:
        table = apply_mechanism(table, background, scales)
    tables: list[list[float]] = []
    for mechanism in mechanisms:
        tables.append(table)
        table = apply_mechanism(table, mechanism, scales)
    total = table[size - 1]
    beliefs: Beliefs = {
        "possible": total > 0.0 and state["mantissa"] > 0.0,
        "acting": state["acting"][:],
        "resting": state["resting"][:],
        "mantissa": state["mantissa"],
        "exponent": state["exponent"],
        "conditioned": state,
        "positive": positive,
        "mechanisms": mechanisms,
        "backgrounds": backgrounds,
        "start": start,
        "scales": scales,
        "total": total,
        "exact": True,
        "tables": tables,
        "endings": [],
        "shown": [],
    }
    multiply_evidence(beliefs, total)
    for scale in scales:
        multiply_evidence(beliefs, 1.0 / scale)
    if not beliefs["possible"]:
        return beliefs
    ending = make_table(size)
    ending[size - 1] = 1.0
    endings: list[list[float]] = []
    for back in range(len(mechanisms)):
        i = len(mechanisms) - 1 - back
        mechanism = mechanisms[i]
        endings.append(ending)
        on = apply_acting(ending, mechanism, NO_DEFECT, scales, True)
        off = apply_resting(ending, mechanism, scales, True)
        acting = mechanism["acting"] * multiply_tables(tables[i], on)
        resting = mechanism["resting"] * multiply_tables(tables[i], off)
        beliefs["acting"][mechanism["cause"]] = acting / (acting + resting)
        beliefs["resting"][mechanism["cause"]] = resting / (acting + resting)
        mix_into(on, mechanism["acting"], off, mechanism["resting"])
        ending = on
    for back in range(len(mechanisms)):
        beliefs["endings"].append(endings[len(mechanisms) - 1 - back])
    return beliefs


def infer_edges(network: IndexedNetwork, beliefs: Beliefs) -> list[list[float]]:
    """Compute for each cause the chance that it brought each of its defects.

    Returns:
        By number of the cause, in the order of its defects.
    """
    state = beliefs["conditioned"]
    edges: list[list[float]] = []
    for c in range(len(network["cause_ids"])):
        chances: list[float] = []
        for k in range(len(network["cause_defects"][c])):
            chances.append(beliefs["acting"][c] * state["weights"][c][k])
        edges.append(chances)
    for i in range(len(beliefs["mechanisms"])):
        mechanism = beliefs["mechanisms"][i]
        c = mechanism["cause"]
        for p in range(len(mechanism["parts"])):
            part = mechanism["parts"][p]
            if beliefs["exact"]:
                forced = apply_forced(beliefs["endings"][i], mechanism, p, beliefs["scales"], True)
                both = multiply_tables(beliefs["tables"][i], forced)
                chance = mechanism["acting"] * part["weight"] * both / beliefs["total"]
            else:
                chance = beliefs["shown"][i][p]
            for k in range(len(network["cause_defects"][c])):
                if network["cause_defects"][c][k] == part["defect"]:
                    edges[c][k] = chance
    return edges


def infer_unexplained(
    network: IndexedNetwork, beliefs: Beliefs, findings: Sequence[int], unlisted: int
) -> float:
    """Compute the chance that no listed cause brought any of some positive findings.

    Args:
        network: From `index_network`.
        beliefs: What is known.
        findings: Numbers of positive findings among `beliefs["positive"]`.
        unlisted: Number of the cause that stands for all that is not listed, or `NO_CAUSE`.

    Returns:
        A chance between 0 and 1. One more pass, in which no listed cause may explain them; what is
        left are leaks, backgrounds, and the unlisted cause. Approximate where the beliefs are.
    """
    blocked: list[bool] = []
    for f in beliefs["positive"]:
        block = False
        for other in findings:
            if other == f:
                block = True
        blocked.append(block)
    if not beliefs["exact"]:
        return estimate_unexplained(beliefs, blocked, unlisted)
    closed: list[float] = []
    for j in range(len(blocked)):
        closed.append(0.0 if blocked[j] else beliefs["scales"][j])
    table = beliefs["start"]
    for background in beliefs["backgrounds"]:
        table = apply_mechanism(table, background, beliefs["scales"])
    for mechanism in beliefs["mechanisms"]:
        scales = beliefs["scales"] if mechanism["cause"] == unlisted else closed
        table = apply_mechanism(table, mechanism, scales)
    return min(1.0, table[len(table) - 1] / beliefs["total"])


def infer_defects(network: IndexedNetwork, beliefs: Beliefs) -> list[float]:
    """Compute the probability of each defect (step 4 of the method)."""
    if not beliefs["exact"]:
        return estimate_defects(network, beliefs)
    state = beliefs["conditioned"]
    absent: list[float] = []
    for d in range(len(network["defect_ids"])):
        absent.append(1.0 - state["leaks"][d])
    touching: list[list[int]] = []
    for _ in network["defect_ids"]:
        touching.append([])
    groups: list[Mechanism] = []
    in_table: list[bool] = []
    for _ in network["cause_ids"]:
        in_table.append(False)
    for mechanism in beliefs["mechanisms"]:
        in_table[mechanism["cause"]] = True
        for d in network["cause_defects"][mechanism["cause"]]:
            touching[d].append(len(groups))
        groups.append(mechanism)
    for background in beliefs["backgrounds"]:
        touching[background["defect"]].append(len(groups))
        groups.append(background)
    for c in range(len(network["cause_ids"])):
        if not in_table[c]:
            for k in range(len(network["cause_defects"][c])):
                d = network["cause_defects"][c][k]
                # The cause is independent of the positive findings: its own odds are enough.
                off = 1.0 - state["acting"][c] * state["weights"][c][k]
                absent[d] = absent[d] * off
    targets: list[int] = []
    for d in range(len(touching)):
        if len(touching[d]) > 0:
            targets.append(d)
    pending: list[int] = []
    for i in range(len(groups)):
        pending.append(i)
    if len(targets) > 0:
        walk_defects(network, beliefs, groups, touching, targets, pending, beliefs["start"], absent)
    present: list[float] = []
    for d in range(len(absent)):
        # Rounding may leave a chance of being absent slightly above 1.
        present.append(max(0.0, 1.0 - absent[d]))
    return present


def walk_defects(
    network: IndexedNetwork,
    beliefs: Beliefs,
    groups: list[Mechanism],
    touching: list[list[int]],
    targets: list[int],
    pending: list[int],
    table: list[float],
    absent: list[float],
) -> None:
    """Halve the defects until one is left whose absence the pending mechanisms then decide.

    Args:
        network: The network.
        beliefs: What the passes over the causes left behind.
        groups: All mechanisms.
        touching: For each defect the numbers of the mechanisms that have an instance of it.
        targets: Defects still to separate.
        pending: Numbers of the mechanisms not yet in the table.
        table: Table of all mechanisms that touch none of the targets.
        absent: Chance of each defect to be absent; multiplied here.
    """
    scales = beliefs["scales"]
    if len(targets) == 1:
        d = targets[0]
        state = beliefs["conditioned"]
        for i in pending:
            mechanism = groups[i]
            off = apply_resting(table, mechanism, scales, False)
            c = mechanism["cause"]
            if c == NO_CAUSE:
                # Its chance to rest is already in `absent`; at rest it changes no table.
                table = off
            else:
                weight = 0.0
                for k in range(len(network["cause_defects"][c])):
                    if network["cause_defects"][c][k] == d:
                        weight = state["weights"][c][k]
                on = apply_acting(table, mechanism, d, scales, False)
                mix_into(on, mechanism["acting"] * (1.0 - weight), off, mechanism["resting"])
                table = on
        absent[d] = absent[d] * (table[len(table) - 1] / beliefs["total"])
        return
    middle = len(targets) // 2
    for half in [targets[:middle], targets[middle:]]:
        inside: list[bool] = []
        for _ in groups:
            inside.append(False)
        for d in half:
            for i in touching[d]:
                inside[i] = True
        kept: list[int] = []
        smaller = table
        for i in pending:
            if inside[i]:
                kept.append(i)
            else:
                smaller = apply_mechanism(smaller, groups[i], scales)
        walk_defects(network, beliefs, groups, touching, half, kept, smaller, absent)


def round_score(score: float) -> float:
    """Round a score to a billionth, so that equal ones stay equal whatever the last digits."""
    return (score * 1e9 + 0.5) // 1


def rank_numbers(scores: list[float]) -> list[int]:
    """Order numbers by their scores, highest first; equal scores stay in order of number."""
    numbers: list[int] = []
    ranks: list[float] = []
    for i in range(len(scores)):
        numbers.append(i)
        ranks.append(-round_score(scores[i]))

    def read_rank(number: int) -> float:
        return ranks[number]

    return sorted(numbers, key=read_rank)


def rank_entries(ids: list[str], probabilities: list[float], linked: list[bool]) -> list[Ranked]:
    """List ids with probabilities, most probable first, equal ones by id."""
    ranked: list[Ranked] = []
    for i in rank_numbers(probabilities):
        entry: Ranked = {"id": ids[i], "probability": probabilities[i], "linked": linked[i]}
        ranked.append(entry)
    return ranked


def link_causes(network: IndexedNetwork, beliefs: Beliefs) -> list[bool]:
    """Mark the causes that a finding has to do with: they can explain it, or it raised them."""
    linked: list[bool] = []
    for c in range(len(network["cause_ids"])):
        linked.append(round_score(beliefs["acting"][c]) > round_score(network["priors"][c]))
    for mechanism in beliefs["mechanisms"]:
        explains = len(mechanism["parts"]) > 0
        for k in range(len(mechanism["answer_bits"])):
            if mechanism["acting_chances"][k] > mechanism["resting_chances"][k]:
                explains = True
        if explains:
            linked[mechanism["cause"]] = True
    return linked


def link_defects(
    network: IndexedNetwork, beliefs: Beliefs, probabilities: list[float]
) -> list[bool]:
    """Mark the defects that a finding has to do with: they show it, or it raised them."""
    linked: list[bool] = []
    for d in range(len(network["defect_ids"])):
        absent = 1.0 - network["defect_leaks"][d]
        for k in range(len(network["defect_causes"][d])):
            c = network["defect_causes"][d][k]
            place = network["defect_places"][d][k]
            absent = absent * (1.0 - network["priors"][c] * network["cause_chances"][c][place])
        linked.append(round_score(probabilities[d]) > round_score(1.0 - absent))
    for f in beliefs["positive"]:
        for d in network["finding_defects"][f]:
            linked[d] = True
    return linked


def weigh_evidence(beliefs: Beliefs) -> float:
    """Give the probability of the findings; 0 where they cannot be, or are only estimated."""
    if not beliefs["possible"] or not beliefs["exact"]:
        return 0.0
    evidence = beliefs["mantissa"]
    exponent = beliefs["exponent"]
    while exponent < 0 and evidence > 0.0:
        evidence = evidence * TINY
        exponent = exponent + 500
    return evidence


def infer(network: IndexedNetwork, findings: Findings) -> Diagnosis:
    """Compute what is probably wrong.

    Args:
        network: From `index_network`.
        findings: What is known, by id; the order of ids does not matter.

    Returns:
        Causes and defects with their probabilities, and the probability of the findings. Where this
        is 0 the findings contradict the network: `possible` is false and all probabilities are
        those without findings. Where `exact` is false they are estimates, and the probability of
        the findings is given as 0.

    Example:
        One cause of prior 0.01, a question with 0.8 when it acts and 0.096 when not, answered yes:
        the cause has 0.0776.
    """
    marks = mark_findings(network, findings)
    beliefs = infer_beliefs(network, marks)
    possible = beliefs["possible"]
    evidence = weigh_evidence(beliefs)
    if not possible:
        nothing: list[float] = []
        for _ in marks:
            nothing.append(0.0)
        beliefs = infer_beliefs(network, nothing)
    present = infer_defects(network, beliefs)
    linked = link_causes(network, beliefs)
    return {
        "possible": possible,
        "exact": beliefs["exact"],
        "evidence_probability": evidence,
        "causes": rank_entries(network["cause_ids"], beliefs["acting"], linked),
        "defects": rank_entries(
            network["defect_ids"], present, link_defects(network, beliefs, present)
        ),
    }
