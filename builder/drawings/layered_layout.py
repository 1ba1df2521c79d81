"""Drawing a graph in rows: the order within each row, with as few crossings as can be found.

Every edge runs downwards from a row to a later one. An edge that skips rows is led through them by
bends, so that nothing lies under a node. The order is found by sweeps that put each node at the
mean place of its neighbours (K. Sugiyama, S. Tagawa and M. Toda, "Methods for visual understanding
of hierarchical system structures", 1981) and by exchanging neighbours; where crossings remain in a
small graph, a search over all orders looks for a drawing without any.
"""

from __future__ import annotations

import random
from bisect import bisect_right, insort
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

Node = Hashable
Edge = tuple[Node, Node]

SWEEPS = 12
RESTARTS = 12
SEARCH_STEPS = 4_000
"""Rows tried by the search for a drawing without crossings, before it gives up."""


@dataclass(frozen=True, slots=True)
class Bend:
    """Where an edge passes through a row that holds neither of its ends."""

    edge: Edge
    row: int


@dataclass(frozen=True, slots=True)
class Layering:
    """Rows in their order.

    Args:
        rows: Nodes and bends of each row, left to right.
        paths: For each edge its nodes and bends, top to bottom.
        crossings: How many pairs of edges cross.
    """

    rows: tuple[tuple[Node, ...], ...]
    paths: Mapping[Edge, tuple[Node, ...]]
    crossings: int


def order_rows(
    rows: Sequence[Sequence[Node]], edges: Iterable[Edge], *, search: bool = True
) -> Layering:
    """Order the nodes of each row so that few edges cross.

    Args:
        rows: The nodes of each row; the order given settles ties.
        edges: Pairs of nodes, the first in an earlier row than the second.
        search: Look through all orders where crossings remain; False where the caller knows that
            there must be some, or that the order given has none.

    Returns:
        The rows with the bends of long edges. The same input always gives the same order.

    Raises:
        ValueError: If an edge does not run downwards.

    Example:
        `order_rows([["a", "b"], ["c", "d"]], [("a", "d"), ("b", "c")]).rows` is
        `(("a", "b"), ("d", "c"))`.
    """
    filled, paths = _lead_through(rows, edges)
    nodes = [node for row in filled for node in row]
    number = {node: index for index, node in enumerate(nodes)}
    board = _Board(len(nodes), [[number[node] for node in row] for row in filled])
    for path in paths.values():
        for upper, lower in pairwise(path):
            board.join(number[upper], number[lower])
    best = board.sweep(board.rows)
    count = board.count_crossings(best)
    shuffler = random.Random(0)
    for _ in range(RESTARTS if len(nodes) <= 120 else 0):
        if count == 0:
            break
        tried = board.sweep([shuffler.sample(row, len(row)) for row in board.rows])
        crossings = board.count_crossings(tried)
        if crossings < count:
            best, count = tried, crossings
    if search and count and len(nodes) <= 60:
        planar = board.search()
        if planar is not None:
            best, count = planar, 0
    return Layering(tuple(tuple(nodes[each] for each in row) for row in best), paths, count)


def _lead_through(
    rows: Sequence[Sequence[Node]], edges: Iterable[Edge]
) -> tuple[list[list[Node]], dict[Edge, tuple[Node, ...]]]:
    filled = [list(row) for row in rows]
    row_of = {node: number for number, row in enumerate(filled) for node in row}
    paths: dict[Edge, tuple[Node, ...]] = {}
    for edge in dict.fromkeys(edges):
        start, end = row_of[edge[0]], row_of[edge[1]]
        if start >= end:
            raise ValueError(f"the edge {edge} does not run downwards")
        bends = [Bend(edge, row) for row in range(start + 1, end)]
        for bend in bends:
            filled[bend.row].append(bend)
        paths[edge] = (edge[0], *bends, edge[1])
    return filled, paths


class _Board:
    """Rows of nodes to be ordered; nodes are numbers, because each is looked up very often.

    Args:
        count: How many nodes there are, bends included.
        rows: The nodes of each row.
    """

    def __init__(self, count: int, rows: list[list[int]]) -> None:
        self.rows = rows
        self.below: list[list[int]] = [[] for _ in range(count)]
        self.above: list[list[int]] = [[] for _ in range(count)]
        self.place = [0] * count

    def join(self, upper: int, lower: int) -> None:
        """Join a node with one of the next row."""
        self.below[upper].append(lower)
        self.above[lower].append(upper)

    def count_crossings(self, rows: Sequence[Sequence[int]]) -> int:
        """Count the pairs of edges that cross, over all rows."""
        return sum(self._count_between(upper, lower) for upper, lower in pairwise(rows))

    def _count_between(self, upper: Sequence[int], lower: Sequence[int]) -> int:
        place = self.place
        for index, node in enumerate(lower):
            place[node] = index
        seen: list[int] = []
        total = 0
        for node in upper:
            ends = [place[other] for other in self.below[node]]
            for end in ends:
                total += len(seen) - bisect_right(seen, end)
            for end in ends:
                insort(seen, end)
        return total

    def sweep(self, rows: Sequence[Sequence[int]]) -> list[list[int]]:
        """Improve an order by barycentres, down and up, then by exchanging neighbours."""
        order = [list(row) for row in rows]
        best = [list(row) for row in order]
        least = self.count_crossings(order)
        for turn in range(SWEEPS):
            if least == 0:
                break
            if turn % 2 == 0:
                for number in range(1, len(order)):
                    self._sort_by_mean(order[number], order[number - 1], self.above)
            else:
                for number in range(len(order) - 2, -1, -1):
                    self._sort_by_mean(order[number], order[number + 1], self.below)
            crossings = self.count_crossings(order)
            if crossings < least:
                best, least = [list(row) for row in order], crossings
        if least:
            self._exchange(best)
        return best

    def _sort_by_mean(
        self, row: list[int], other: Sequence[int], joined: Sequence[Sequence[int]]
    ) -> None:
        place = self.place
        for index, node in enumerate(other):
            place[node] = index
        means = {}
        for index, node in enumerate(row):
            ends = [place[each] for each in joined[node]]
            means[node] = sum(ends) / len(ends) if ends else float(index)
        row.sort(key=means.__getitem__)

    def _exchange(self, order: list[list[int]]) -> None:
        """Exchange neighbours as long as that takes a crossing away."""
        place = self.place
        for row in order:
            for index, node in enumerate(row):
                place[node] = index
        better = True
        while better:
            better = False
            for row in order:
                for index in range(len(row) - 1):
                    left, right = row[index], row[index + 1]
                    gain = 0
                    for joined in (self.above, self.below):
                        right_ends = [place[end] for end in joined[right]]
                        for end in joined[left]:
                            one = place[end]
                            for other in right_ends:
                                gain += (one > other) - (one < other)
                    if gain > 0:
                        row[index], row[index + 1] = right, left
                        place[left], place[right] = index + 1, index
                        better = True

    def search(self) -> list[list[int]] | None:
        """Look for an order without crossings, row by row; None where none is found in time."""
        steps = 0

        def extend(chosen: list[list[int]]) -> list[list[int]] | None:
            nonlocal steps
            number = len(chosen)
            if number == len(self.rows):
                return chosen
            for tried in permutations(self.rows[number]):
                steps += 1
                if steps > SEARCH_STEPS:
                    return None
                if number == 0 or not self._count_between(chosen[-1], tried):
                    found = extend([*chosen, list(tried)])
                    if found is not None:
                        return found
            return None

        return extend([])


def place_rows(
    layering: Layering, width: float, node_width: float, bend_width: float
) -> dict[Node, float]:
    """Give each node and bend a place across, near the mean of what it is joined with.

    Args:
        layering: Rows in their order.
        width: Of the drawing.
        node_width: Room that a node takes, its gap included.
        bend_width: Room that a bend takes.

    Returns:
        The middle of each node and bend, between 0 and `width`; none overlap as long as each row
        fits into `width`.
    """
    joined: dict[Node, list[Node]] = defaultdict(list)
    for path in layering.paths.values():
        for upper, lower in pairwise(path):
            joined[upper].append(lower)
            joined[lower].append(upper)
    middles: dict[Node, float] = {}
    starts: list[list[float]] = []
    for row in layering.rows:
        widths = [bend_width if isinstance(node, Bend) else node_width for node in row]
        places = _set_out(widths)
        starts.append(places)
        whole = sum(widths)
        for node, place in zip(row, places, strict=True):
            middles[node] = place + (width - whole) / 2
    for turn in range(16):
        rows = range(len(layering.rows))
        for number in rows if turn % 2 == 0 else reversed(rows):
            row = layering.rows[number]
            if not row:
                continue
            wanted = [
                _mean([middles[other] for other in joined[node]], middles[node]) for node in row
            ]
            places = starts[number]
            half = (bend_width if isinstance(row[-1], Bend) else node_width) / 2
            most = max(0.0, width - half - places[-1])
            shifts = fit_rising([want - at for want, at in zip(wanted, places, strict=True)])
            for node, place, shift in zip(row, places, shifts, strict=True):
                middles[node] = place + min(most, max(0.0, shift))
    return middles


def _set_out(widths: Sequence[float]) -> list[float]:
    places, edge = [], 0.0
    for each in widths:
        places.append(edge + each / 2)
        edge += each
    return places


def _mean(values: Sequence[float], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def fit_rising(values: Sequence[float]) -> list[float]:
    """Find the values nearest to these, by least squares, that never fall.

    Pool adjacent violators (Ayer and others, "An empirical distribution function for sampling with
    incomplete information", 1955).
    """
    pools: list[tuple[float, int]] = []  # sum of the values, and how many share their mean
    for value in values:
        pools.append((value, 1))
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]:
            (late, many), (early, few) = pools.pop(), pools.pop()
            pools.append((late + early, many + few))
    return [total / number for total, number in pools for _ in range(number)]
