"""How likely each cause of a defect is, before anything else is known.

The one place where pages weigh causes. What an author wrote is a teacher's judgement, and so is
what comes of it; pages say so.
"""

from __future__ import annotations

from dataclasses import dataclass

from builder.library import Library
from builder.model import Defect, When


@dataclass(frozen=True, slots=True)
class RankedCause:
    """A cause of a defect and its share of the likelihood; the shares of a defect sum to 1."""

    cause: str
    share: float


@dataclass(frozen=True, slots=True)
class RankedFix:
    """A fix for a defect, the chance that it helps over all causes, and the causes it helps with.

    Args:
        fix: Its id.
        chance: Between 0 and 1.
        causes: The causes of the defect that it mends, the likeliest first.
    """

    fix: str
    chance: float
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RankedQuestion:
    """A question that tells causes of a defect apart.

    Args:
        question: Its id.
        raised: Causes that a yes speaks for, the strongest first.
        lowered: Causes that a yes speaks against, the strongest first.
        weight: How far the answer moves the causes, for putting the best question first.
    """

    question: str
    raised: tuple[str, ...]
    lowered: tuple[str, ...]
    weight: float


def rank_causes(library: Library, defect: Defect) -> tuple[RankedCause, ...]:
    """Rank the causes of a defect by how common each is times how often it brings the defect.

    Args:
        library: The course.
        defect: One of its defects.

    Returns:
        The likeliest first, equals by id.
    """
    weights = {
        link.cause: library.causes[link.cause].how_common * link.often for link in defect.causes
    }
    whole = sum(weights.values())
    ranked = sorted(weights.items(), key=lambda item: (-item[1], item[0]))
    return tuple(RankedCause(cause, weight / whole) for cause, weight in ranked)


def rank_fixes(
    library: Library, causes: tuple[RankedCause, ...], when: When
) -> tuple[RankedFix, ...]:
    """Rank the fixes of a defect's causes by the chance of help for each minute they take.

    Args:
        library: The course.
        causes: What `rank_causes` gives.
        when: Fixes for the thing in the hand, or for the next batch.

    Returns:
        The best first, equals by id; throwing away comes last, whatever its chance.
    """
    chances: dict[str, float] = {}
    mended: dict[str, list[str]] = {}
    for ranked in causes:
        for link in library.causes[ranked.cause].fixes:
            if library.fixes[link.fix].when is when:
                chances[link.fix] = chances.get(link.fix, 0.0) + ranked.share * link.helps
                mended.setdefault(link.fix, []).append(ranked.cause)

    def order(item: tuple[str, float]) -> tuple[bool, float, str]:
        fix = library.fixes[item[0]]
        minutes = max(fix.time.base / 60, 1.0)
        return fix.discards, -item[1] / minutes, item[0]

    return tuple(
        RankedFix(fix, chance, tuple(mended[fix]))
        for fix, chance in sorted(chances.items(), key=order)
    )


def rank_questions(library: Library, causes: tuple[RankedCause, ...]) -> tuple[RankedQuestion, ...]:
    """Rank the questions of a defect's causes by how far their answers move the likelihoods.

    Args:
        library: The course.
        causes: What `rank_causes` gives.

    Returns:
        The most telling first, equals by id.
    """
    moves: dict[str, list[tuple[float, str]]] = {}
    for ranked in causes:
        for evidence in library.causes[ranked.cause].evidence:
            otherwise = library.questions[evidence.question].yes_otherwise
            move = (evidence.yes - otherwise) * ranked.share
            moves.setdefault(evidence.question, []).append((move, ranked.cause))
    found = [
        RankedQuestion(
            question,
            tuple(cause for move, cause in sorted(moved, key=lambda m: (-m[0], m[1])) if move > 0),
            tuple(cause for move, cause in sorted(moved) if move < 0),
            sum(abs(move) for move, _ in moved),
        )
        for question, moved in moves.items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.weight, each.question)))
