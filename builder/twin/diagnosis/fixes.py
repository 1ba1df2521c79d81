"""What to do, in order: probability over cost.

Where one fault is present, every step costs the same wherever it stands, and each is checked before
the next, steps in falling order of probability over cost have the least expected cost (Heckerman,
Breese and Rommelse 1995, "Decision-theoretic troubleshooting"). Here several causes may act at
once, so the expected number of acting causes that a fix mends takes the place of the probability:
the sum over causes of their probability times how well the fix mends them. That sum is exact
however the causes hang together; for a fix that surely mends one cause it is that cause's own.

Only causes that a finding has to do with are counted. Each of the many others is as likely as it is
common; together they would lift a cheap fix for everyday habits over the one for what is seen.

Throwing a thing away mends nothing, so it comes last, as long as it is unlikely to be called for.
Where it is likely (`DISCARD_FIRST`), it comes first: nobody should be led to rescue, and then to
use, what may not be used.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.diagnosis.inference import rank_numbers
from builder.twin.diagnosis.shapes import IndexedNetwork, Ranked, RankedFix

LEAST_MENDS = 0.01
LEAST_COST_MINUTES = 0.1
DISCARD_FIRST = 0.3


def rank_fixes(network: IndexedNetwork, causes: Sequence[Ranked]) -> list[RankedFix]:
    """Put the fixes worth offering in order.

    Args:
        network: From `index_network`; costs in minutes, material included.
        causes: Probabilities, as `infer` gives them; those not linked to a finding count
            for nothing.

    Returns:
        Fixes for this batch, then fixes for the next; in each part by `mends` over cost, equal ones
        by id. Those that throw the thing away come first where they are expected to be called for
        by `DISCARD_FIRST` of a cause or more, and last otherwise. Forbidden fixes, and those
        expected to mend less than `LEAST_MENDS` of a cause, are not offered. No cost counts as less
        than `LEAST_COST_MINUTES`.
    """
    probability: dict[str, float] = {}
    for cause in causes:
        probability[cause["id"]] = cause["probability"] if cause["linked"] else 0.0
    offered: list[RankedFix] = []
    groups: list[int] = []
    ratios: list[float] = []
    for fix in network["fixes"]:
        mends = 0.0
        for k in range(len(fix["causes"])):
            mends = mends + probability[network["cause_ids"][fix["causes"][k]]] * fix["chances"][k]
        if not fix["forbidden"] and mends >= LEAST_MENDS:
            ratio = mends / max(LEAST_COST_MINUTES, fix["cost_minutes"])
            entry: RankedFix = {
                "id": fix["id"],
                "when": fix["when"],
                "mends": mends,
                "ratio": ratio,
            }
            offered.append(entry)
            group = 1
            if fix["discards"]:
                group = 0 if mends >= DISCARD_FIRST else 2
            groups.append(group)
            ratios.append(ratio)
    order = rank_numbers(ratios)
    ranked: list[RankedFix] = []
    for when in ["now", "next"]:
        for group in [0, 1, 2]:
            for i in order:
                if offered[i]["when"] == when and groups[i] == group:
                    ranked.append(offered[i])
    return ranked


def expect_cost(probabilities: Sequence[float], costs: Sequence[float]) -> float:
    """Compute the expected cost of steps taken in order until the fault is mended.

    Holds where one fault is present and each step is checked before the next.

    Args:
        probabilities: For each step the probability that it is the one that mends.
        costs: Cost of each step, in one unit.

    Returns:
        The expected cost, in that unit.

    Example:
        `expect_cost([0.2, 0.3, 0.5], [1, 2, 10])` is 7.6.
    """
    unmended = 1.0
    total = 0.0
    for i in range(len(costs)):
        total = total + costs[i] * unmended
        unmended = unmended - probabilities[i]
    return total
