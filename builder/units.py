"""The one unit registry: quantities with their units, windows, and how they compare.

Everything the builder computes with is held in coherent base units (kilogram, metre, second,
kelvin, and the currency as written); the unit an author wrote is kept for people. Definitions come
from pint's registry (NIST SP 811 and Handbook 44 values); we add the percent sign and currencies.

Numbers with one-letter or household names are read as the trade writes them: `oz` is a weight,
`floz` a volume. `degC` as a unit of a quantity is a temperature; a difference is `delta_degC` or
`K`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

CURRENCIES = ("AUD", "CAD", "CHF", "DKK", "EUR", "GBP", "JPY", "NOK", "NZD", "SEK", "USD")
"""ISO 4217 codes that a price may be written in; none converts into another."""

LARGEST_NUMBER = 1e15
"""Largest number read: floating point still tells it from its neighbours."""

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"^\s*(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s.,].*?)\s*$")
_WINDOW = re.compile(
    rf"^\s*(?P<low>{_NUMBER})\s*(?:to|-|–)\s*(?P<high>{_NUMBER})\s*(?P<unit>[^\d\s.,].*?)\s*$"
)

_SPELLINGS = {
    "%": "percent",
    "°C": "degC",
    "°F": "degF",
    "C": "degC",
    "F": "degF",
    "celsius": "degC",
    "fahrenheit": "degF",
    "fl oz": "US_fluid_ounce",
    "floz": "US_fluid_ounce",
    "fl_oz": "US_fluid_ounce",
    "tsp": "teaspoon",
    "tbsp": "tablespoon",
    "µL": "microliter",
    "cm3": "cm**3",
    "mL": "milliliter",
    "ml": "milliliter",
    "l": "liter",
    "mins": "minute",
    "minutes": "minute",
    "hours": "hour",
    "hr": "hour",
    "days": "day",
    "weeks": "week",
    "cc": "cm**3",
}


class UnitError(ValueError):
    """A quantity or unit that cannot be read; the text is a sentence for an author."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as written, with its way into coherent base units.

    `base = magnitude * factor + offset`; the offset is only ever non-zero for temperatures.
    `exponents` is the dimension taken apart, sorted by name.
    """

    text: str
    factor: float
    offset: float
    dimension: str
    exponents: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit, for instance `113 g`: magnitude in the unit as written."""

    magnitude: float
    unit: Unit

    @property
    def base(self) -> float:
        """The value in coherent base units (kg, m, s, K, m3, or a plain ratio)."""
        return self.magnitude * self.unit.factor + self.unit.offset

    @property
    def dimension(self) -> str:
        """Canonical name of the dimension, for instance `[mass]` or `[temperature]`."""
        return self.unit.dimension

    def to(self, unit: str) -> float:
        """Give the magnitude in another unit.

        Raises:
            UnitError: If the other unit measures something else.
        """
        other = parse_unit(unit)
        if other.dimension != self.dimension:
            raise UnitError(
                f"{self} is {describe_dimension(self.dimension)}, "
                f"not {describe_dimension(other.dimension)}"
            )
        return (self.base - other.offset) / other.factor

    def __str__(self) -> str:
        return f"{self.magnitude:g} {self.unit.text}"


@dataclass(frozen=True, slots=True)
class Window:
    """Two quantities of one unit, low and high, for instance `57 to 63 degC`."""

    low: Quantity
    high: Quantity

    @property
    def dimension(self) -> str:
        """Canonical name of the dimension of both ends."""
        return self.low.dimension

    def __str__(self) -> str:
        return f"{self.low.magnitude:g} to {self.high.magnitude:g} {self.low.unit.text}"


_WORDS = {
    "[mass]": "a mass",
    "[length] ** 3": "a volume",
    "[length]": "a length",
    "[time]": "a time",
    "[temperature]": "a temperature",
    "[delta_temperature]": "a temperature difference",
    "dimensionless": "a plain ratio",
    "[money]": "a price",
    "[mass] / [length] ** 3": "a density",
}


def describe_dimension(dimension: str) -> str:
    """Name a dimension for an author, for instance `a mass`."""
    return _WORDS.get(dimension, f"a value of kind {dimension}")


@cache
def load_registry() -> pint.UnitRegistry[Any]:
    """Load the unit registry once; about half a second, so only when a unit is first read."""
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
    for code in CURRENCIES:
        registry.define(f"{code} = [{code.lower()}]")
    return registry


@cache
def parse_unit(text: str) -> Unit:
    """Read a unit, for instance `g`, `degC`, `mL`, `%` or `g/mL`.

    Raises:
        UnitError: If no such unit is known.
    """
    cleaned = text.strip()
    spelt = _SPELLINGS.get(cleaned, cleaned)
    if not re.fullmatch(r"[\w./*^()µ° -]{1,40}", spelt):
        raise UnitError(f'"{text}" is not a unit')
    import pint

    registry = load_registry()
    try:
        unit = registry.Unit(spelt)
        dimension = str(unit.dimensionality)
        powers: dict[str, Any] = dict(unit.dimensionality)
        exponents = tuple(sorted((name, float(power)) for name, power in powers.items()))
        if spelt in ("degC", "degF"):
            zero = float(registry.Quantity(0.0, unit).to("kelvin").magnitude)
            one = float(registry.Quantity(1.0, f"delta_{spelt}").to("kelvin").magnitude)
            return Unit(cleaned, one, zero, "[temperature]", exponents)
        base = registry.Quantity(1.0, unit).to_base_units()
        factor = float(base.magnitude)
        if "gram" in str(base.units) and "kilogram" not in str(base.units):
            raise UnitError(f'"{text}" is not a coherent unit')
    except UnitError:
        raise
    except (pint.errors.PintError, ValueError, TypeError, AttributeError, KeyError) as error:
        raise UnitError(f'"{text}" is not a unit we know') from error
    except Exception as error:  # pint parses with Python's tokenizer, which raises many kinds
        raise UnitError(f'"{text}" is not a unit we know') from error
    if dimension == "[temperature]":
        dimension = "[delta_temperature]"
    return Unit(cleaned, factor, 0.0, dimension, exponents)


def parse_number(text: str) -> float:
    """Read a decimal number; a comma counts as the decimal point where it can mean nothing else.

    Raises:
        UnitError: If a comma stands before three digits, as in 1,000, which may mean thousands, or
            the number is larger than anything that is measured.
    """
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", text):
        plain = text.replace(",", "")
        raise UnitError(
            f'"{text}" may mean {plain} or {float(text.replace(",", ".")):g}; write one of these'
        )
    number = float(text.replace(",", "."))
    if abs(number) > LARGEST_NUMBER:
        raise UnitError(f'the number "{text}" is too large')
    return number


def parse_quantity(text: str) -> Quantity:
    """Read a quantity such as `113 g`, `2 %`, `60 degC`.

    Raises:
        UnitError: With a sentence that names what was found and what would be right.
    """
    found = _QUANTITY.match(text)
    if found is None:
        if re.fullmatch(rf"\s*{_NUMBER}\s*", text):
            raise UnitError(f'"{text.strip()}" has no unit; write for instance "{text.strip()} g"')
        raise UnitError(f'"{text}" is not a number with a unit such as "113 g"')
    magnitude = parse_number(found["number"])
    return Quantity(magnitude, parse_unit(found["unit"]))


def parse_window(text: str) -> Window:
    """Read a window such as `57 to 63 degC`; a single quantity is a window of no width.

    Raises:
        UnitError: If it cannot be read or runs backwards.
    """
    found = _WINDOW.match(text)
    if found is None:
        single = parse_quantity(text)
        return Window(single, single)
    unit = parse_unit(found["unit"])
    low = Quantity(parse_number(found["low"]), unit)
    high = Quantity(parse_number(found["high"]), unit)
    if low.magnitude > high.magnitude:
        raise UnitError(f'"{text}" runs backwards; write the lower value first')
    return Window(low, high)
