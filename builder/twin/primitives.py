"""The few operations that Python and JavaScript each do in their own way.

The browser's text of them is `assets/twin/primitives.js`. Everything else in this package is
written once, in Python, and written out as JavaScript.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Any, NoReturn

EXACT_DIGITS = 14
"""Significant decimal digits a number is read to before it is compared exactly."""


class FormulaFailure(ArithmeticError):
    """A formula has no answer for these values; the text says why, for a reader."""


def fail(reason: str) -> NoReturn:
    """End a calculation that has no answer.

    Raises:
        FormulaFailure: Always.
    """
    raise FormulaFailure(reason)


def read_failure(error: Exception) -> str:
    """Give the reason of a failure, or pass on an error in our own code.

    Raises:
        Exception: The error itself, where it is no `FormulaFailure`.
    """
    if isinstance(error, FormulaFailure):
        return str(error)
    raise error


def raw_exp(x: float) -> float:
    """Give e to a power; the caller has checked the size."""
    return math.exp(x)


def raw_log(x: float) -> float:
    """Give the natural logarithm of a positive number."""
    return math.log(x)


def raw_sqrt(x: float) -> float:
    """Give the square root of a number that is not negative."""
    return math.sqrt(x)


def raw_atan(x: float) -> float:
    """Give the angle, in radians, whose tangent this is."""
    return math.atan(x)


def raw_power(base: float, exponent: float) -> float:
    """Give a power that exists; infinite where it is too large."""
    try:
        return float(base**exponent)
    except OverflowError:
        return math.inf


def read_float(digits: str) -> float:
    """Read a decimal number made of digits, one full stop and an exponent."""
    return float(digits)


def is_list(value: Any) -> bool:
    """Say whether a value is a list."""
    return isinstance(value, list | tuple)


def is_text(value: Any) -> bool:
    """Say whether a value is text."""
    return isinstance(value, str)


def has_key(mapping: Mapping[str, Any], key: str) -> bool:
    """Say whether a mapping holds a key of its own; by look-up, not by search."""
    return key in mapping


def is_number(value: Any) -> bool:
    """Say whether a value is a number (a truth value is none)."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def product_exceeds(limit: float, factors: Sequence[float]) -> bool:
    """Say whether a product is above a limit, computed in decimals.

    Each number is first read to 14 significant digits, which gives back the decimal that a person
    wrote; the product is exact. So 2.5 % of 0.4 % does not exceed 0.01 %, as binary numbers say.
    """
    reading = Context(prec=EXACT_DIGITS, rounding=ROUND_HALF_UP)
    exact = Context(prec=400)
    product = Decimal(1)
    for factor in factors:
        product = exact.multiply(product, reading.create_decimal_from_float(factor))
    return product > reading.create_decimal_from_float(limit)


NAMES = (
    "fail",
    "read_failure",
    "raw_exp",
    "raw_log",
    "raw_sqrt",
    "raw_atan",
    "raw_power",
    "read_float",
    "is_list",
    "is_text",
    "has_key",
    "is_number",
    "product_exceeds",
)
"""Names that the browser's text defines too; a test compares them with this module."""
