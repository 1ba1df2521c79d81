"""What a planned class uses up and what it must have: materials, packs to buy, tools.

Every student works through every lesson of the class and makes what the lesson makes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil

from builder.library import Library
from builder.model import Lesson, Material, PlannedClass, Scale
from builder.units import Quantity, Unit

_MASS = "[mass]"
MOST_TRIED = 12
"""Counts of a size of pack that are tried, from the greatest that is not to spare."""


@dataclass(frozen=True, slots=True)
class Need:
    """A material the class uses up.

    Args:
        material: The entry.
        amount: In all, in the unit it is first written in.
        packs: How many of each size to buy, largest first; empty where no pack is known.
        price: Of all packs, or None.
        used: The part of that price which the amount is of what is bought, or None.
    """

    material: Material
    amount: Quantity
    packs: tuple[tuple[int, Quantity], ...]
    price: Quantity | None
    used: Quantity | None


def list_lessons(library: Library, planned: PlannedClass) -> list[Lesson]:
    """Give the lessons of a class in the order of its sessions."""
    return [library.lessons[name] for session in planned.sessions for name in session.lessons]


def list_needs(library: Library, planned: PlannedClass) -> list[Need]:
    """Add up what a class uses up, and choose packs.

    Args:
        library: The course.
        planned: The class.

    Returns:
        One need a material, by name, with the packs that cover it at the lowest price.
    """
    sums: dict[tuple[str, str], float] = {}
    units: dict[tuple[str, str], Unit] = {}
    for lesson in list_lessons(library, planned):
        for each in lesson.materials:
            times = planned.students if each.per is Scale.PIECE else 1
            material = library.materials[each.material]
            # Without a density, masses and volumes of a material cannot be added up.
            apart = "" if material.density else each.amount.dimension
            unit = units.setdefault((material.id, apart), each.amount.unit)
            base = _convert(material, each.amount, unit.dimension)
            sums[material.id, apart] = sums.get((material.id, apart), 0.0) + base * times
    needs = []
    for key, base in sums.items():
        unit = units[key]
        amount = Quantity((base - unit.offset) / unit.factor, unit)
        needs.append(_choose_packs(library.materials[key[0]], amount))
    return sorted(needs, key=lambda need: need.material.name.lower())


def _convert(material: Material, amount: Quantity, dimension: str) -> float:
    """Give an amount in base units of mass or volume, by the material's density where it must."""
    base: float = amount.base
    if amount.dimension == dimension or material.density is None:
        return base
    density: float = material.density.value.base
    return base * density if dimension == _MASS else base / density


def _choose_packs(material: Material, amount: Quantity) -> Need:
    """Choose the packs that cover an amount at the lowest price; of equals, the fewest packs."""
    known = [
        pack
        for pack in material.packs
        if pack.amount.dimension == amount.dimension or material.density is not None
    ]
    sizes = sorted(
        ((_convert(material, pack.amount, amount.dimension), pack) for pack in known),
        key=lambda each: -each[0],
    )
    best: tuple[float, int, tuple[int, ...]] | None = None
    for counts in _cover(amount.base, [size for size, _ in sizes]):
        price = sum(count * pack.price.base for count, (_, pack) in zip(counts, sizes, strict=True))
        offer = (round(price, 6), sum(counts), counts)
        best = offer if best is None else min(best, offer)
    if best is None:
        return Need(material, amount, (), None, None)
    bought = tuple(
        (count, pack.amount) for count, (_, pack) in zip(best[2], sizes, strict=True) if count
    )
    price = Quantity(best[0], sizes[0][1].price.unit)
    held = sum(count * size for count, (size, _) in zip(best[2], sizes, strict=True))
    used = Quantity(best[0] * amount.base / held if held else 0.0, price.unit)
    return Need(material, amount, bought, price, used)


def _cover(need: float, sizes: Sequence[float]) -> Iterator[tuple[int, ...]]:
    """Give the ways to cover an amount from packs, largest size first, none of them to spare.

    Of a larger pack only the greatest counts are tried that leave anything to the smaller ones.
    """
    if not sizes:
        return
    most = ceil(max(0.0, need) / sizes[0] - 1e-9)
    if len(sizes) == 1:
        yield (most,)
        return
    for count in range(most, max(-1, most - MOST_TRIED), -1):
        for rest in _cover(need - count * sizes[0], sizes[1:]):
            yield (count, *rest)


def sum_prices(prices: Iterable[Quantity | None]) -> float:
    """Add up prices, those not given left out, in the currency of the course."""
    return sum((price.base for price in prices if price is not None), 0.0)
