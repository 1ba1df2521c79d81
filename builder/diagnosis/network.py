"""The diagnosis network of a course: plain data made from its defects, causes, symptoms, fixes.

Entries that a defect or cause names but the course does not have make no link.

An author says how often a question is answered yes when a cause acts, whatever else may make it
yes. A noisy-OR wants the chance of the cause alone, on top of the leak; `link_answers` turns one
into the other, and an answer that is rarer with the cause than without into evidence against it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from builder.library import Library
from builder.model.knowledge import Fix
from builder.twin.diagnosis.shapes import Link, Network

DEFECT_LEAK = 0.002
"""How often a defect comes without any listed cause: a teacher's judgement, not a measurement."""
MINUTES_PER_MONEY = 4.0
"""Minutes of work that weigh as much as one unit of money, where no course says otherwise."""


def link_answers(
    yes_otherwise: float, yes_when_acting: Mapping[str, float]
) -> tuple[float, dict[str, tuple[float, float]]]:
    """Turn how often a question is answered yes into a leak and links of a noisy-OR.

    Args:
        yes_otherwise: Chance of yes while no listed cause acts, between 0 and 1, neither included.
        yes_when_acting: By cause, the chance of yes while only that cause acts; likewise.

    Returns:
        The leak; and by cause the chances that it makes the answer yes while it acts and while it
        rests. Both numbers given come out again, for none acting and for each cause acting alone.
        The exception: where several causes speak strongly against a yes, that cannot be, because
        those at rest make a yes likely; each then speaks against it as strongly as it can.

    Example:
        `link_answers(0.1, {"a": 0.82})` is `(0.1, {"a": (0.8, 0.0)})`, up to rounding.
    """
    no_otherwise = 1.0 - yes_otherwise
    against = {
        cause: no_otherwise / (1.0 - yes)
        for cause, yes in yes_when_acting.items()
        if yes < yes_otherwise
    }
    needed = sum(math.log(silent) for silent in against.values())
    # Together the causes at rest may not make a yes commoner than it is.
    share = min(1.0, math.log(no_otherwise) / needed) if against else 1.0
    links: dict[str, tuple[float, float]] = {}
    for cause, yes in yes_when_acting.items():
        if cause in against:
            links[cause] = (0.0, 1.0 - against[cause] ** share)
        else:
            links[cause] = (1.0 - (1.0 - yes) / no_otherwise, 0.0)
    if share < 1.0:
        return 0.0, links
    return max(0.0, 1.0 - no_otherwise / math.prod(against.values())), links


def weigh_cost_minutes(fix: Fix, minutes_per_money: float = MINUTES_PER_MONEY) -> float:
    """Weigh what a fix costs, in minutes: its time, and its material as the work it is worth.

    Args:
        fix: The fix; its cost in the course's money.
        minutes_per_money: Minutes of work that weigh as much as one unit of that money.
    """
    minutes: float = fix.time.to("min")
    if fix.cost is None:
        return minutes
    return minutes + minutes_per_money * float(fix.cost.magnitude)


def build_network(library: Library, forbidden: Collection[str] = ()) -> Network:
    """Build the network of a course.

    Args:
        library: The course.
        forbidden: Ids of fixes never to be offered, because they break a rule of safety.

    Returns:
        Plain data, entries in the order of the library.
    """
    money = library.settings.money_in_work.to("min") if library.settings else MINUTES_PER_MONEY
    brought: dict[str, list[Link]] = {}
    for defect in library.defects.values():
        for each in defect.causes:
            brought.setdefault(each.cause, []).append((defect.id, each.often))
    asked: dict[str, dict[str, float]] = {}
    mended: dict[str, list[Link]] = {}
    for cause in library.causes.values():
        for evidence in cause.evidence:
            asked.setdefault(evidence.question, {})[cause.id] = evidence.yes
        for link in cause.fixes:
            mended.setdefault(link.fix, []).append((cause.id, link.helps))
    answers = {
        question.id: link_answers(question.yes_otherwise, asked.get(question.id, {}))
        for question in library.questions.values()
    }
    return {
        "causes": [
            {
                "id": cause.id,
                "prior": cause.how_common,
                "defects": brought.get(cause.id, []),
                "questions": [
                    (link.question, *answers[link.question][1][cause.id])
                    for link in cause.evidence
                    if link.question in library.questions
                ],
            }
            for cause in library.causes.values()
        ],
        "defects": [
            {
                "id": defect.id,
                "leak": DEFECT_LEAK,
                "symptoms": [
                    (link.symptom, link.often)
                    for link in defect.symptoms
                    if link.symptom in library.symptoms
                ],
            }
            for defect in library.defects.values()
        ],
        "symptoms": [
            {"id": symptom.id, "leak": symptom.chance_otherwise}
            for symptom in library.symptoms.values()
        ],
        "questions": [
            {"id": question.id, "leak": answers[question.id][0], "telling": "yes"}
            for question in library.questions.values()
        ],
        "fixes": [
            {
                "id": fix.id,
                "when": fix.when.value,
                "cost_minutes": weigh_cost_minutes(fix, money),
                "mends": mended.get(fix.id, []),
                "discards": fix.discards,
                "forbidden": fix.id in forbidden,
            }
            for fix in library.fixes.values()
        ],
    }
