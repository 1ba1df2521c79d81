"""Marking: the same verdict in Python and in V8, and at the bounds of tolerance."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from v8 import TWIN_AT_HAND, start_engine

from builder.exercises.filling import make_field, resolve_unit
from builder.twin.marking import classify_answer, mark_number, mark_order
from builder.units import parse_quantity
from tests.helpers import read_yaml

CASES = read_yaml((Path(__file__).parent.parent / "cases" / "marking.yml").read_text())
PLAIN: dict[str, Any] = {"units": {}}


def make_item(case: dict[str, Any]) -> dict[str, Any]:
    """Make what the page holds of an answer."""
    found = resolve_unit(PLAIN, case["unit"])
    assert found is not None
    slips = [[0.09, 0.0018], [0.004, 0.0005]] if case["unit"] == "g" else []
    return {
        "field": make_field(*found),
        "answer": parse_quantity(case["answer"]).base,
        "tolerance": case["tolerance"],
        "slips": slips,
    }


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['unit']}-{case['typed']}")
def test_answers_are_marked_as_typed(case: dict[str, Any]) -> None:
    marked = mark_number(PLAIN, make_item(case), case["typed"])
    if case["marked"] == "unread":
        assert marked[0] == "unread"
        assert marked[1]
    else:
        assert marked == case["marked"]


def test_the_browser_marks_the_same() -> None:
    with start_engine(TWIN_AT_HAND) as engine:
        for case in CASES:
            item = make_item(case)
            expected = list(mark_number(PLAIN, item, case["typed"]))
            assert engine.call("mark_number", PLAIN, item, case["typed"]) == expected
        for given, right in (([2, 0, 1], [2, 0, 1]), ([2, 1, 0], [2, 0, 1]), ([], [0])):
            expected = list(mark_order(given, right))
            assert engine.call("mark_order", given, right) == expected


def test_the_bound_itself_still_counts() -> None:
    assert classify_answer(1.02, 1.0, 0.02, []) == ["right", -1]
    assert classify_answer(0.98, 1.0, 0.02, []) == ["right", -1]
    assert classify_answer(1.0201, 1.0, 0.02, []) == ["wrong", -1]


def test_the_nearest_slip_is_named() -> None:
    assert classify_answer(2.015, 1.0, 0.02, [[2.0, 0.02], [2.02, 0.02]]) == ["slip", 1]
    assert classify_answer(2.005, 1.0, 0.02, [[2.0, 0.02], [2.02, 0.02]]) == ["slip", 0]
    assert classify_answer(2.0, 1.0, 0.02, [[2.0, 0.02], [2.0, 0.02]]) == ["slip", 0]


def test_a_small_slip_has_a_small_tolerance() -> None:
    assert classify_answer(0.3, 100.0, 2.0, [[0.1, 0.05]]) == ["wrong", -1]
    assert classify_answer(0.15, 100.0, 2.0, [[0.1, 0.05]]) == ["slip", 0]


def test_right_comes_before_any_slip() -> None:
    assert classify_answer(1.0, 1.0, 0.02, [[1.0, 0.02]]) == ["right", -1]


def test_an_order_is_right_only_as_a_whole() -> None:
    assert mark_order([2, 0, 1], [2, 0, 1]) == ["right", -1]
    assert mark_order([2, 1, 0], [2, 0, 1]) == ["wrong", 1]
    assert mark_order([2], [2, 0, 1]) == ["wrong", 1]
