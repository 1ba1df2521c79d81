"""Numbering of choices: which subset, which order, which combination stands at an index.

Every exercise has a finite space of variants. These functions find the one at an index without
making the others (combinatorial and factorial number systems; Knuth, The Art of Computer
Programming 4A, 7.2.1.2 and 7.2.1.3).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import comb, factorial


def pick_each(index: int, sizes: Sequence[int]) -> tuple[int, ...]:
    """Give the place in each of several sets, the last changing fastest.

    Args:
        index: 0 to the product of the sizes, less one.
        sizes: Size of each set.

    Example:
        `pick_each(5, [2, 3])` is `(1, 2)`.
    """
    places = []
    for size in reversed(sizes):
        index, place = divmod(index, size)
        places.append(place)
    return tuple(reversed(places))


def pick_subset(index: int, size: int, chosen: int) -> tuple[int, ...]:
    """Give the subset at an index, in lexicographical order, its members rising.

    Args:
        index: 0 to `comb(size, chosen)` - 1.
        size: Size of the whole set.
        chosen: Size of the subset.

    Example:
        `pick_subset(0, 5, 2)` is `(0, 1)`, and `pick_subset(9, 5, 2)` is `(3, 4)`.
    """
    members: list[int] = []
    first = 0
    while len(members) < chosen:
        behind = comb(size - first - 1, chosen - len(members) - 1)
        if index < behind:
            members.append(first)
        else:
            index -= behind
        first += 1
    return tuple(members)


def pick_order(index: int, size: int) -> tuple[int, ...]:
    """Give the order at an index; order 0 is the one in which everything keeps its place.

    Args:
        index: 0 to `factorial(size)` - 1.
        size: How many things are ordered.

    Example:
        `pick_order(0, 3)` is `(0, 1, 2)`, and `pick_order(5, 3)` is `(2, 1, 0)`.
    """
    left = list(range(size))
    order: list[int] = []
    for remaining in range(size, 0, -1):
        place, index = divmod(index, factorial(remaining - 1))
        order.append(left.pop(place))
    return tuple(order)
