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
    links = _link_rows(len(filled), filled, paths)
    best = _sweep(filled, links)
    count = count_crossings(best, links)
    size = sum(len(row) for row in filled)
    shuffler = random.Random(0)
    for _ in range(RESTARTS if size <= 120 else 0):
        if count == 0:
            break
        start = [shuffler.sample(row, len(row)) for row in filled]
        tried = _sweep(start, links)
        crossings = count_crossings(tried, links)
        if crossings < count:
            best, count = tried, crossings
    if search and count and size <= 60:
        planar = _search(filled, links)
        if planar is not None:
            best, count = planar, 0
    return Layering(tuple(tuple(row) for row in best), paths, count)


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


Links = list[dict[Node, list[Node]]]
"""For each row but the last: node or bend to what it is joined with in the next row."""


def _link_rows(
    count: int, rows: Sequence[Sequence[Node]], paths: Mapping[Edge, Sequence[Node]]
) -> Links:
    row_of = {node: number for number, row in enumerate(rows) for node in row}
    links: Links = [defaultdict(list) for _ in range(max(0, count - 1))]
    for path in paths.values():
        for upper, lower in pairwise(path):
            links[row_of[upper]][upper].append(lower)
    return links


def count_crossings(rows: Sequence[Sequence[Node]], links: Links) -> int:
    """Count the pairs of edges that cross, over all rows."""
    return sum(
        _count_between(rows[number], rows[number + 1], links[number])
        for number in range(len(links))
    )


def _count_between(
    upper: Sequence[Node], lower: Sequence[Node], joined: Mapping[Node, Sequence[Node]]
) -> int:
    place = {node: index for index, node in enumerate(lower)}
    seen: list[int] = []
    total = 0
    for node in upper:
        ends = sorted(place[other] for other in joined.get(node, ()) if other in place)
        total += sum(len(seen) - bisect_right(seen, end) for end in ends)
        for end in ends:
            insort(seen, end)
    return total


def _turn(joined: Mapping[Node, Sequence[Node]]) -> dict[Node, list[Node]]:
    turned: dict[Node, list[Node]] = defaultdict(list)
    for node, others in joined.items():
        for other in others:
            turned[other].append(node)
    return turned


def _sweep(rows: Sequence[Sequence[Node]], links: Links) -> list[list[Node]]:
    """Improve an order by barycentres, down and up, then by exchanging neighbours."""
    order = [list(row) for row in rows]
    above = [_turn(joined) for joined in links]
    best = [list(row) for row in order]
    least = count_crossings(order, links)
    for turn in range(SWEEPS):
        if least == 0:
            break
        if turn % 2 == 0:
            for number in range(1, len(order)):
                _sort_by_mean(order[number], order[number - 1], above[number - 1])
        else:
            for number in range(len(order) - 2, -1, -1):
                _sort_by_mean(order[number], order[number + 1], links[number])
        crossings = count_crossings(order, links)
        if crossings < least:
            best, least = [list(row) for row in order], crossings
    if least:
        _exchange(best, links, above)
    return best


def _sort_by_mean(
    row: list[Node], other: Sequence[Node], joined: Mapping[Node, Sequence[Node]]
) -> None:
    place = {node: index for index, node in enumerate(other)}
    means = {}
    for index, node in enumerate(row):
        ends = [place[each] for each in joined.get(node, ()) if each in place]
        means[node] = sum(ends) / len(ends) if ends else float(index)
    row.sort(key=lambda node: means[node])


def _exchange(order: list[list[Node]], links: Links, above: Links) -> None:
    """Exchange neighbours as long as that takes a crossing away."""
    places = [{node: index for index, node in enumerate(row)} for row in order]
    better = True
    while better:
        better = False
        for number, row in enumerate(order):
            sides = []
            if number > 0:
                sides.append((above[number - 1], places[number - 1]))
            if number < len(links):
                sides.append((links[number], places[number + 1]))
            for index in range(len(row) - 1):
                left, right = row[index], row[index + 1]
                gain = 0
                for joined, place in sides:
                    left_ends = [place[end] for end in joined.get(left, ())]
                    right_ends = [place[end] for end in joined.get(right, ())]
                    for one in left_ends:
                        for other in right_ends:
                            gain += (one > other) - (one < other)
                if gain > 0:
                    row[index], row[index + 1] = right, left
                    places[number][left], places[number][right] = index + 1, index
                    better = True


def _search(rows: Sequence[Sequence[Node]], links: Links) -> list[list[Node]] | None:
    """Look for an order without crossings, row by row; None where none is found in time."""
    steps = 0

    def extend(chosen: list[list[Node]]) -> list[list[Node]] | None:
        nonlocal steps
        number = len(chosen)
        if number == len(rows):
            return chosen
        for tried in permutations(rows[number]):
            steps += 1
            if steps > SEARCH_STEPS:
                return None
            if number == 0 or not _count_between(chosen[-1], tried, links[number - 1]):
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
            shifts = _rise(
                [want - place for want, place in zip(wanted, places, strict=True)],
                width - half - places[-1],
            )
            for node, place, shift in zip(row, places, shifts, strict=True):
                middles[node] = place + shift
    return middles


def _set_out(widths: Sequence[float]) -> list[float]:
    places, edge = [], 0.0
    for each in widths:
        places.append(edge + each / 2)
        edge += each
    return places


def _mean(values: Sequence[float], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def _rise(values: Sequence[float], most: float) -> list[float]:
    """Find the nearest values that never fall, between 0 and `most` (pool adjacent violators)."""
    pools: list[list[float]] = []
    for value in values:
        pools.append([value, 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            before = pools[-1]
            before[0] = (before[0] * before[1] + mean * count) / (before[1] + count)
            before[1] += count
    most = max(0.0, most)
    return [min(most, max(0.0, mean)) for mean, count in pools for _ in range(int(count))]
