"""The diagnosis network of a course: plain data made from its defects, causes, symptoms.

Entries that a defect or cause names but the course does not have make no link.

An author says how often a question is answered yes when a cause acts, whatever else may make it
yes. A noisy-OR wants the chance of the cause alone, on top of the leak; `link_answers` turns one
into the other, and an answer that is rarer with the cause than without into evidence against it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from builder.library import Library
from builder.model.knowledge import Fix, Learned
from builder.twin.diagnosis.shapes import CauseData, DefectData, Link, Network

UNLISTED = "~unlisted"
"""Id of the cause, and of its defect, that stand for all that the course does not list."""
UNLISTED_PRIOR = 0.02
"""How often something goes wrong that no course lists: a judgement, tried on stories."""
UNLISTED_SHOWS = 0.06
"""How often it shows any one of the signs."""
SEEN_WRONGLY = 0.001
"""How often a sign is reported that is not there."""
DEFECT_LEAK = 0.001
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


PRIOR_STRENGTH = 10.0
"""Imagined cases behind a number as written: a teacher's word weighs as much as ten cases."""


def update_chance(written: float, hits: int, cases: int) -> float:
    """Give the mean of a Beta prior of strength `PRIOR_STRENGTH` after some cases.

    Example:
        `update_chance(0.5, 10, 10)` is 0.75.
    """
    return (PRIOR_STRENGTH * written + hits) / (PRIOR_STRENGTH + cases)


def learn(written: float, learned: Learned | None) -> float:
    """Give a chance as written, moved by the cases that were counted for it."""
    if learned is None:
        return written
    return min(0.99, max(0.01, update_chance(written, learned.hits, learned.cases)))


def miss(chance: float, overlooked: float) -> float:
    """Give the chance that something is brought and reported: overlooked at times, it is not.

    A sign or an answer that a cause brings is missed with a chance of its own each time it is
    brought; and one that nothing brings may be reported all the same, which is a leak more. So
    errors keep the network a noisy-OR, and all probabilities stay exact.
    """
    return chance * (1.0 - overlooked)


def either(first: float, second: float) -> float:
    """Give the chance that at least one of two independent things happens."""
    return 1.0 - (1.0 - first) * (1.0 - second)


def build_network(library: Library) -> Network:
    """Build the network of a course.

    Args:
        library: The course.

    Returns:
        Plain data, entries in the order of the library.
    """
    brought: dict[str, list[Link]] = {}
    for defect in library.defects.values():
        for each in defect.causes:
            brought.setdefault(each.cause, []).append((defect.id, each.often))
    asked: dict[str, dict[str, float]] = {}
    for cause in library.causes.values():
        for evidence in cause.evidence:
            chance = learn(evidence.yes, evidence.learned)
            asked.setdefault(evidence.question, {})[cause.id] = chance
    answers = {
        question.id: link_answers(question.yes_otherwise, asked.get(question.id, {}))
        for question in library.questions.values()
    }
    mistaken = {question.id: question.mistaken for question in library.questions.values()}
    overlooked = {symptom.id: symptom.overlooked for symptom in library.symptoms.values()}
    unlisted: CauseData = {
        "id": UNLISTED,
        "prior": UNLISTED_PRIOR,
        "defects": [(UNLISTED, 1.0)],
        "questions": [],
    }
    nowhere: DefectData = {
        "id": UNLISTED,
        "leak": 0.0,
        "symptoms": [(name, miss(UNLISTED_SHOWS, overlooked[name])) for name in overlooked],
    }
    causes: list[CauseData] = [
        {
            "id": cause.id,
            "prior": cause.how_common,
            "defects": brought.get(cause.id, []),
            "questions": [
                (
                    link.question,
                    miss(answers[link.question][1][cause.id][0], mistaken[link.question]),
                    miss(answers[link.question][1][cause.id][1], mistaken[link.question]),
                )
                for link in cause.evidence
                if link.question in library.questions
            ],
        }
        for cause in library.causes.values()
    ]
    defects: list[DefectData] = [
        {
            "id": defect.id,
            "leak": DEFECT_LEAK,
            "symptoms": [
                (link.symptom, miss(learn(link.often, link.learned), overlooked[link.symptom]))
                for link in defect.symptoms
                if link.symptom in library.symptoms
            ],
        }
        for defect in library.defects.values()
    ]
    return {
        "causes": [*causes, unlisted],
        "defects": [*defects, nowhere],
        "symptoms": [
            {"id": symptom.id, "leak": either(symptom.chance_otherwise, SEEN_WRONGLY)}
            for symptom in library.symptoms.values()
        ],
        "questions": [
            {
                "id": question.id,
                "leak": either(answers[question.id][0], question.mistaken / 2),
                "telling": "yes",
            }
            for question in library.questions.values()
        ],
    }
