"""Orders and places of a drawing in rows: no crossing where none is needed, nothing overlaps."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.drawings.layered_layout import Bend, order_rows, place_rows


@st.composite
def planar_drawings(draw: st.DrawFn) -> tuple[list[list[int]], list[tuple[int, int]]]:
    """Draw edges that do not cross in some order of the rows, then shuffle the rows.

    Between two rows a pair of fingers moves to the right, one finger at a time; each position of
    the pair may be an edge, so that no two edges can cross.
    """
    rows: list[list[int]] = []
    number = 0
    for _ in range(draw(st.integers(2, 4))):
        size = draw(st.integers(1, 5))
        rows.append(list(range(number, number + size)))
        number += size
    edges = []
    for upper, lower in pairwise(rows):
        left, right = 0, 0
        while left < len(upper) and right < len(lower):
            if draw(st.booleans()):
                edges.append((upper[left], lower[right]))
            if draw(st.booleans()):
                left += 1
            else:
                right += 1
    shuffler = random.Random(draw(st.integers(0, 10_000)))
    return [shuffler.sample(row, len(row)) for row in rows], edges


@given(planar_drawings())
def test_small_drawing_that_needs_no_crossing_gets_none(
    drawing: tuple[list[list[int]], list[tuple[int, int]]],
) -> None:
    rows, edges = drawing
    layering = order_rows(rows, edges)
    assert layering.crossings == 0
    assert [sorted(row) for row in layering.rows] == [sorted(row) for row in rows]


@st.composite
def drawings(draw: st.DrawFn) -> tuple[list[list[int]], list[tuple[int, int]]]:
    sizes = draw(st.lists(st.integers(1, 4), min_size=2, max_size=5))
    rows, number = [], 0
    for size in sizes:
        rows.append(list(range(number, number + size)))
        number += size
    row_of = {node: place for place, row in enumerate(rows) for node in row}
    pairs = [(a, b) for a in row_of for b in row_of if row_of[a] < row_of[b]]
    return rows, draw(st.lists(st.sampled_from(pairs), max_size=12))


@given(drawings())
def test_long_edges_bend_in_every_row_between_and_nothing_overlaps(
    drawing: tuple[list[list[int]], list[tuple[int, int]]],
) -> None:
    rows, edges = drawing
    layering = order_rows(rows, edges)
    row_of = {node: place for place, row in enumerate(layering.rows) for node in row}
    for edge, path in layering.paths.items():
        assert (path[0], path[-1]) == edge
        assert [row_of[node] for node in path] == list(range(row_of[edge[0]], row_of[edge[1]] + 1))
        assert all(isinstance(node, Bend) for node in path[1:-1])
    width = max(
        sum(20.0 if isinstance(node, Bend) else 100.0 for node in row) for row in layering.rows
    )
    middles = place_rows(layering, width, 100.0, 20.0)
    for row in layering.rows:
        edge_x = 0.0
        for node in row:
            half = 10.0 if isinstance(node, Bend) else 50.0
            assert middles[node] - half >= edge_x - 1e-6
            edge_x = middles[node] + half
        assert edge_x <= width + 1e-6


@given(drawings())
def test_same_input_gives_the_same_order(
    drawing: tuple[list[list[int]], list[tuple[int, int]]],
) -> None:
    rows, edges = drawing
    assert order_rows(rows, edges) == order_rows(rows, list(edges))


def test_crossing_that_cannot_be_avoided_is_counted() -> None:
    # Every node of one row joined to every node of the next: two by two crosses once at least
    # (the cycle of four is drawn with one crossing when its nodes stand in two rows).
    layering = order_rows([["a", "b"], ["c", "d"]], [(x, y) for x in "ab" for y in "cd"])
    assert layering.crossings == 1


def test_lone_chain_stands_straight() -> None:
    layering = order_rows([["a"], ["b"], ["c"]], [("a", "b"), ("b", "c")])
    middles = place_rows(layering, 300.0, 100.0, 20.0)
    assert middles == {
        "a": pytest.approx(150.0),
        "b": pytest.approx(150.0),
        "c": pytest.approx(150.0),
    }


def test_edge_that_runs_upwards_is_refused() -> None:
    with pytest.raises(ValueError, match="does not run downwards"):
        order_rows([["a"], ["b"]], [("b", "a")])
