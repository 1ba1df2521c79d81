"""What a planned class uses up and what it must have: materials, packs to buy, tools.

Every student works through every lesson of the class and makes what the lesson makes.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

from builder.library import Library
from builder.model import Lesson, Material, PlannedClass, Scale, Tool
from builder.units import Quantity, Unit, UnitError, parse_quantity

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
        stock: What is in the cupboard and need not be bought, or None.
    """

    material: Material
    amount: Quantity
    packs: tuple[tuple[int, Quantity], ...]
    price: Quantity | None
    used: Quantity | None
    stock: Quantity | None = None


@dataclass(frozen=True, slots=True)
class CountedNeed:
    """A tool that is used up, such as a pair of gloves.

    Args:
        tool: The entry.
        count: How many the class uses up.
        packs: How many of each size to buy, largest first; empty where no pack is known.
        price: Of all packs, or None.
        used: The part of that price which the count is of what is bought, or None.
    """

    tool: Tool
    count: int
    packs: tuple[tuple[int, int], ...]
    price: Quantity | None
    used: Quantity | None


class StockError(Exception):
    """A list of what is in the cupboard that cannot be used; a sentence for the teacher."""


def read_stock(library: Library, contents: bytes, file: str) -> dict[str, Quantity]:
    """Read what is in the cupboard from comma-separated values: `material` and `amount`.

    Args:
        library: The course; a material is given by its id or its name.
        contents: The file, in UTF-8.
        file: Its name, for messages.

    Raises:
        StockError: If it is no such list, or names a material that the course does not have.
    """
    try:
        text = contents.decode("utf-8-sig")
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
    except (UnicodeDecodeError, csv.Error) as error:
        raise StockError(f"{file} is no list of comma-separated values in UTF-8") from error
    by_name = {each.name.casefold(): name for name, each in library.materials.items()}
    stock: dict[str, Quantity] = {}
    for line, row in enumerate(rows, 2):
        written = (row.get("material") or "").strip()
        name = written if written in library.materials else by_name.get(written.casefold())
        if name is None:
            raise StockError(f'{file}, line {line}: the course has no material "{written}"')
        try:
            amount = parse_quantity((row.get("amount") or "").strip())
        except UnitError as error:
            raise StockError(f"{file}, line {line}: {error}") from error
        if amount.dimension not in (_MASS, "[length] ** 3") or amount.base < 0:
            raise StockError(f'{file}, line {line}: "{row["amount"]}" is no mass and no volume')
        stock[name] = amount
    return stock


def list_counted(library: Library, planned: PlannedClass) -> list[CountedNeed]:
    """Count the tools that a class uses up.

    Of what each student has, as many in each session as its lessons take at most; of what a class
    has, such as a roll, as many as the lesson that takes most.
    """
    counts: dict[str, int] = {}
    for session in planned.sessions:
        tonight: dict[str, int] = {}
        common: dict[str, int] = {}
        for name in session.lessons:
            lesson = library.lessons.get(name)
            for each in lesson.tools if lesson else ():
                tool = library.tools.get(each.tool)
                if tool is not None and tool.used_up:
                    own = each.per == "student"
                    taken = tonight if own else common
                    count = each.count * (planned.students if own else 1)
                    taken[tool.id] = max(taken.get(tool.id, 0), count)
        for name, count in tonight.items():
            counts[name] = counts.get(name, 0) + count
        for name, count in common.items():
            counts[name] = max(counts.get(name, 0), count)
    needs = [_choose_counted(library.tools[name], count) for name, count in counts.items()]
    return sorted(needs, key=lambda need: need.tool.name.lower())


def _choose_counted(tool: Tool, count: int) -> CountedNeed:
    sizes = sorted(tool.packs, key=lambda pack: -pack.count)
    offers = [
        (round(sum(n * pack.price.base for n, pack in zip(taken, sizes, strict=True)), 6), taken)
        for taken in _cover(count, [pack.count for pack in sizes])
    ]
    if not offers:
        return CountedNeed(tool, count, (), None, None)
    price, taken = min(offers)
    bought = [(n, pack.count) for n, pack in zip(taken, sizes, strict=True) if n]
    held = sum(n * size for n, size in bought)
    unit = sizes[0].price.unit
    share = price * count / held if held else 0.0
    return CountedNeed(tool, count, tuple(bought), Quantity(price, unit), Quantity(share, unit))


def list_lessons(library: Library, planned: PlannedClass) -> list[Lesson]:
    """Give the lessons of a class in the order of its sessions."""
    return [library.lessons[name] for session in planned.sessions for name in session.lessons]


def list_needs(
    library: Library, planned: PlannedClass, stock: Mapping[str, Quantity] | None = None
) -> list[Need]:
    """Add up what a class uses up, and choose packs.

    What a lesson carries on from another is not bought again. What is lost of a material to vessels
    and spills, its `waste`, is needed on top.

    Args:
        library: The course.
        planned: The class.
        stock: What is in the cupboard, by id of the material.

    Returns:
        One need a material, by name, with the packs that cover it at the lowest price.
    """
    sums: dict[tuple[str, str], float] = {}
    units: dict[tuple[str, str], Unit] = {}
    for lesson in list_lessons(library, planned):
        for each in lesson.materials:
            if each.from_lesson is not None or each.material not in library.materials:
                continue
            times = planned.students if each.per is Scale.PIECE else 1
            material = library.materials[each.material]
            # Without a density, masses and volumes of a material cannot be added up.
            apart = "" if material.density else each.amount.dimension
            unit = units.setdefault((material.id, apart), each.amount.unit)
            waste = material.waste.base if material.waste else 0.0
            base = _convert(material, each.amount, unit.dimension) / (1 - min(waste, 0.9))
            sums[material.id, apart] = sums.get((material.id, apart), 0.0) + base * times
    needs = []
    for key, base in sums.items():
        unit = units[key]
        amount = Quantity((base - unit.offset) / unit.factor, unit)
        material = library.materials[key[0]]
        held = (stock or {}).get(material.id)
        if held is not None and (held.dimension == unit.dimension or material.density):
            there = min(base, _convert(material, held, unit.dimension))
        else:
            there = 0.0
        bought = _choose_packs(material, Quantity((base - there - unit.offset) / unit.factor, unit))
        kept = Quantity(there / unit.factor, unit) if there else None
        needs.append(replace(bought, amount=amount, stock=kept))
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
