"""Tables over sets of positive findings: what each mechanism does to them.

Entry `a` of a table belongs to the set whose bits are those of the number `a`. A table that runs
from the start holds the chance that just this set is explained so far; one that runs from the end
holds the chance that the rest will be. The order in which mechanisms are taken in does not matter.

Written in the same subset of Python as `inference.py`. These loops are where the time goes, so they
run over plain lists of numbers and nothing else.
"""

from __future__ import annotations

from builder.twin.diagnosis.shapes import Mechanism

NO_DEFECT = -1


def make_table(size: int) -> list[float]:
    """Make a table of zeros."""
    table: list[float] = []
    for _ in range(size):
        table.append(0.0)
    return table


def push_bit(table: list[float], bit: int, chance: float, scale: float) -> None:
    """Let a finding be explained with a chance: entries without its bit move a share up.

    A scale of 0 asks for the chance that this does not show the finding: nothing moves up, and what
    others have explained stays only as far as this keeps silent.
    """
    place = 1 << bit
    stay = 1.0 - chance
    move = chance * scale
    size = len(table)
    step = place + place
    for low in range(0, size, step):
        for a in range(low, low + place):
            table[a + place] = table[a + place] + table[a] * move
            table[a] = table[a] * stay
    if scale == 0.0:
        for low in range(0, size, step):
            for a in range(low, low + place):
                table[a + place] = table[a + place] * stay


def pull_bit(table: list[float], bit: int, chance: float, scale: float) -> None:
    """Do the same as `push_bit` to a table that runs from the end to the start."""
    place = 1 << bit
    stay = 1.0 - chance
    move = chance * scale
    size = len(table)
    step = place + place
    for low in range(0, size, step):
        for a in range(low, low + place):
            table[a] = table[a] * stay + table[a + place] * move


def apply_bits(
    table: list[float],
    bits: list[int],
    chances: list[float],
    scales: list[float],
    backward: bool,
) -> None:
    """Push or pull several bits, each with its chance."""
    for k in range(len(bits)):
        if chances[k] > 0.0:
            if backward:
                pull_bit(table, bits[k], chances[k], scales[bits[k]])
            else:
                push_bit(table, bits[k], chances[k], scales[bits[k]])


def apply_acting(
    table: list[float],
    mechanism: Mechanism,
    omitted_defect: int,
    scales: list[float],
    backward: bool,
) -> list[float]:
    """Give a new table, after a mechanism that acts; its instance of one defect is left out."""
    result = table[:]
    for part in mechanism["parts"]:
        if part["defect"] != omitted_defect:
            weight = part["weight"]
            if len(part["bits"]) == 1:
                # On or off, then shown or not: for one finding that is one chance, the product.
                apply_bits(result, part["bits"], [weight * part["chances"][0]], scales, backward)
            else:
                shown = result[:]
                apply_bits(shown, part["bits"], part["chances"], scales, backward)
                mix_into(result, 1.0 - weight, shown, weight)
    apply_bits(result, mechanism["answer_bits"], mechanism["acting_chances"], scales, backward)
    return result


def apply_forced(
    table: list[float], mechanism: Mechanism, forced: int, scales: list[float], backward: bool
) -> list[float]:
    """Give a new table, after a mechanism that acts and whose part of this number is on."""
    result = table[:]
    for k in range(len(mechanism["parts"])):
        part = mechanism["parts"][k]
        if k == forced:
            apply_bits(result, part["bits"], part["chances"], scales, backward)
        else:
            shown = result[:]
            apply_bits(shown, part["bits"], part["chances"], scales, backward)
            mix_into(result, 1.0 - part["weight"], shown, part["weight"])
    apply_bits(result, mechanism["answer_bits"], mechanism["acting_chances"], scales, backward)
    return result


def apply_resting(
    table: list[float], mechanism: Mechanism, scales: list[float], backward: bool
) -> list[float]:
    """Give the table after a mechanism that rests: the same table where that changes nothing."""
    changes = False
    for chance in mechanism["resting_chances"]:
        if chance > 0.0:
            changes = True
    if not changes:
        return table
    result = table[:]
    apply_bits(result, mechanism["answer_bits"], mechanism["resting_chances"], scales, backward)
    return result


def mix_into(
    table: list[float], table_chance: float, other: list[float], other_chance: float
) -> None:
    """Mix a second table into a first, each with its chance."""
    for a in range(len(table)):
        table[a] = table_chance * table[a] + other_chance * other[a]


def apply_mechanism(table: list[float], mechanism: Mechanism, scales: list[float]) -> list[float]:
    """Take one mechanism in, acting or not; gives a new table."""
    parts = mechanism["parts"]
    if len(parts) == 1 and len(parts[0]["bits"]) == 1 and len(mechanism["answer_bits"]) == 0:
        # The commonest mechanism explains one finding through one defect: again one chance.
        chance = mechanism["acting"] * (parts[0]["weight"] * parts[0]["chances"][0])
        moved = table[:]
        apply_bits(moved, parts[0]["bits"], [chance], scales, False)
        return moved
    on = apply_acting(table, mechanism, NO_DEFECT, scales, False)
    off = apply_resting(table, mechanism, scales, False)
    mix_into(on, mechanism["acting"], off, mechanism["resting"])
    return on


def multiply_tables(left: list[float], right: list[float]) -> float:
    """Sum the products of entries."""
    total = 0.0
    for a in range(len(left)):
        total = total + left[a] * right[a]
    return total
