"""Exact amounts: numbers as the author wrote them, so that 3 g in 100 g is exactly 3 %."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import floor

from builder.model import Material
from builder.units import Quantity, Unit


@lru_cache(maxsize=4096)
def _read_decimal(number: float, digits: int) -> Fraction:
    return Fraction(f"{number:.{digits}g}")


@lru_cache(maxsize=256)
def _read_unit(unit: Unit) -> tuple[Fraction, Fraction]:
    """Give a unit's exact factor and offset."""
    if unit.offset:
        # Temperature scales: 5/9 and 459.67 * 5/9 are no decimals, but small fractions.
        factor = Fraction(unit.factor).limit_denominator(1000)
        return factor, Fraction(unit.offset).limit_denominator(1000)
    # Factors are computed in floating point, good to 15 digits; all we use have fewer than 14.
    return _read_decimal(unit.factor, 14), Fraction(0)


def read_exact(quantity: Quantity) -> Fraction:
    """Give a quantity in coherent base units as the exact decimal that was written.

    Args:
        quantity: For instance `3 g`, which gives 3/1000 (kilograms).
    """
    factor, offset = _read_unit(quantity.unit)
    # 15 digits give back any number as it was typed.
    return _read_decimal(quantity.magnitude, 15) * factor + offset


def read_mass(amount: Quantity, material: Material | None) -> Fraction | None:
    """Give an amount's mass in kilograms, or None where it is a volume of unknown density."""
    if amount.dimension == "[mass]":
        return read_exact(amount)
    if material is None or material.density is None:
        return None
    return read_exact(amount) * read_exact(material.density.value)


def read_volume(amount: Quantity, material: Material | None) -> Fraction | None:
    """Give an amount's volume in cubic metres, or None where it is a mass of unknown density."""
    if amount.dimension != "[mass]":
        return read_exact(amount)
    if material is None or material.density is None:
        return None
    return read_exact(amount) / read_exact(material.density.value)


def tell_amount(value: Fraction, unit: Unit) -> str:
    """Word an amount in a unit, rounded down, so that a stated limit is never over the limit.

    Args:
        value: In coherent base units.
        unit: The unit to show; it must measure the same dimension.
    """
    factor, offset = _read_unit(unit)
    magnitude = (value - offset) / factor
    places = 2
    while 0 < abs(magnitude) * 10**places < 100 and places < 8:
        places += 1
    digits = f"{floor(magnitude * 10**places) / 10**places:.{places}f}"
    return f"{digits.rstrip('0').rstrip('.')} {unit.text}"
