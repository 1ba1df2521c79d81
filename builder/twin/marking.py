"""Marking: one definition for the page, the key and the tests.

Everything below is also written as JavaScript, so it keeps to what can be written so:
functions over plain lists, mappings, text and floats.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.measures import read_measure


def classify_answer(
    value: float, answer: float, tolerance: float, slips: Sequence[Sequence[float]]
) -> Sequence[Any]:
    """Say whether an answer is right, a usual slip, or wrong in another way.

    Args:
        value: The student's answer, in coherent base units.
        answer: The right one.
        tolerance: How far off it may be, in the same units; the bound itself still counts.
        slips: For each usual slip the wrong answer it leads to, and how far off that may be.

    Returns:
        A list of two: `right`, `slip` or `wrong`, and the number of the nearest slip or -1.
    """
    hair = 1.0 + 1e-9
    if abs(value - answer) <= tolerance * hair:
        return ["right", -1]
    nearest = -1
    distance = 0.0
    for place in range(len(slips)):
        gap = abs(value - slips[place][0])
        if gap <= slips[place][1] * hair and (nearest < 0 or gap < distance):
            nearest = place
            distance = gap
    if nearest >= 0:
        return ["slip", nearest]
    return ["wrong", -1]


def mark_number(d: Mapping[str, Any], item: Mapping[str, Any], typed: str) -> Sequence[Any]:
    """Mark an answer as typed, with or without a unit.

    Args:
        d: `{"units": ...}` beside those that everyone knows, as a calculator's description has.
        item: `field` (how to read it), `answer`, `tolerance`, and `slips` (pairs of
            value and tolerance).
        typed: What the student wrote.

    Returns:
        As `classify_answer`; or `["unread", message]` where it cannot be read.
    """
    read = read_measure(d, typed, item["field"])
    if read[1] != "":
        return ["unread", read[1]]
    return classify_answer(read[0], item["answer"], item["tolerance"], item["slips"])


def mark_order(given: Sequence[int], right: Sequence[int]) -> Sequence[Any]:
    """Mark an order.

    Args:
        given: Places of the items, in the student's order.
        right: The same in the right order.

    Returns:
        `["right", -1]`, or `["wrong", place]` with the first place that is out of order.
    """
    for place in range(len(right)):
        if place >= len(given) or given[place] != right[place]:
            return ["wrong", place]
    return ["right", -1]
