"""What to do, in order: what a fix is expected to mend, over its cost.

Where one fault is present, every step costs the same wherever it stands, and each is checked before
the next, steps in falling order of probability over cost have the least expected cost (Heckerman,
Breese and Rommelse 1995, "Decision-theoretic troubleshooting"). Here several causes may act at
once, so the expected number of faults (or acting causes) that a fix mends takes the place of the
probability: the sum over them of their probability times how well the fix mends them. That sum is
exact however they hang together; for a fix that surely mends one fault it is that fault's own.

Only the faults in hand are counted, and the causes that may have brought them. Each of the many
others is as likely as it is common; together they would lift a cheap fix for everyday habits over
the one for what is seen.

Throwing a thing away needs more certainty than wiping it; where it is offered, nothing stands
beside it that leads to using the thing.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.diagnosis.inference import rank_numbers
from builder.twin.diagnosis.shapes import Guide, Lead, PlannedFix, Remedy

DISCARD = 0.6
"""How likely a fault must be before a fix that throws the thing away is offered for it."""
LEAST_MENDS = 0.05
LEAST_COST_MINUTES = 0.1


def weigh_remedy(
    remedy: Remedy,
    leads: Sequence[Lead],
    defects: dict[str, float],
    causes: dict[str, float],
    edges: dict[str, float],
) -> float:
    """Weigh how many of the faults in hand, or of their causes, a fix is expected to mend.

    Args:
        remedy: The fix.
        leads: The faults in hand; a fix for another fault counts for nothing.
        defects: Probability of each defect.
        causes: Probability of each cause that may be behind a lead.
        edges: Probability that a cause brought a defect, by "cause>defect".
    """
    mends = 0.0
    for saving in remedy["saves"]:
        for lead in leads:
            if lead["id"] == saving["defect"]:
                if saving["cause"] == "":
                    mends = mends + defects[saving["defect"]] * saving["helps"]
                else:
                    key = saving["cause"] + ">" + saving["defect"]
                    if key in edges:
                        mends = mends + edges[key] * saving["helps"]
    for link in remedy["prevents"]:
        if link[0] in causes:
            mends = mends + causes[link[0]] * link[1]
    return mends


def choose_fixes(
    guide: Guide,
    leads: Sequence[Lead],
    defects: dict[str, float],
    causes: dict[str, float],
    edges: dict[str, float],
    stopped: bool,
    held: bool,
    stage: int,
) -> list[PlannedFix]:
    """Choose and order the fixes.

    Returns:
        Fixes for this thing, then those for the next; in each part by what they are expected to
        mend over their cost, equal ones by id. Where use is forbidden, this thing is only thrown
        away or set aside; where it might be, only checked or set aside. A fix that throws it away
        stands alone. What can be done up to some stage only comes after the rest while the stage is
        not known, and not at all once it is over.
    """
    remedies = guide["remedies"]
    ratios: list[float] = []
    mended: list[float] = []
    for remedy in remedies:
        mends = weigh_remedy(remedy, leads, defects, causes, edges)
        if remedy["when"] == "now":
            harmless = remedy["discards"] or remedy["sets_aside"]
            # What is only possible is first found out, before anything is thrown away for it.
            if remedy["discards"] and not stopped and (held or mends < DISCARD):
                mends = 0.0
            if stopped and not harmless:
                mends = 0.0
            if held and not harmless and not remedy["checks"]:
                mends = 0.0
            if remedy["until"] >= 0 and stage > remedy["until"]:
                mends = 0.0
        if mends < LEAST_MENDS:
            mends = 0.0
        mended.append(mends)
        ratios.append(mends / max(LEAST_COST_MINUTES, remedy["cost_minutes"]))
    order = rank_numbers(ratios)
    lost = False
    for i in order:
        if mended[i] > 0.0 and remedies[i]["when"] == "now" and remedies[i]["discards"]:
            lost = True
    fixes: list[PlannedFix] = []
    for late in [False, True]:
        for i in order:
            remedy = remedies[i]
            if mended[i] > 0.0 and remedy["when"] == "now":
                unsure = remedy["until"] >= 0 and stage < 0
                keep = not lost or remedy["discards"] or remedy["sets_aside"]
                if unsure == late and keep:
                    fixes.append(plan_fix(remedy, mended[i], ratios[i], unsure))
    for i in order:
        if mended[i] > 0.0 and remedies[i]["when"] == "next":
            fixes.append(plan_fix(remedies[i], mended[i], ratios[i], False))
    return fixes


def plan_fix(remedy: Remedy, mends: float, ratio: float, unsure: bool) -> PlannedFix:
    """Write down a fix that is offered."""
    return {
        "id": remedy["id"],
        "when": remedy["when"],
        "ratio": ratio,
        "mends": mends,
        "until": remedy["until"] if unsure else -1,
    }


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
