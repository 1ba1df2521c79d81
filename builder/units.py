"""The one unit registry: quantities with their units, windows, and how they compare.

Everything the builder computes with is held in coherent base units (kilogram, metre, second,
kelvin, and the currency as written); the unit an author wrote is kept for people. Definitions come
from pint's registry (NIST SP 811 and Handbook 44 values); we add the percent sign and currencies.
The units of `figures.UNITS`, and one of them over another, are read from there, because loading the
registry takes longer than reading a whole course; a test compares each of them with it.

Numbers with one-letter or household names are read as the trade writes them: `oz` is a weight,
`floz` a volume. `degC` as a unit of a quantity is a temperature; a difference is `delta_degC` or
`K`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from builder.twin.number_format import UNITS

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

_BARE_WINDOW = re.compile(rf"^\s*{_NUMBER}\s*(?:to|-|–)\s*{_NUMBER}\s*$")

_SPELLINGS = {
    "%": "percent",
    "°C": "degC",
    "°F": "degF",
    "C": "degC",
    "F": "degF",
    "celsius": "degC",
    "fahrenheit": "degF",
    "fl oz": "floz",
    "fl_oz": "floz",
    "µL": "microliter",
    "cm3": "cm**3",
    "cc": "cm**3",
    "ml": "mL",
    "l": "L",
    "mins": "min",
    "minutes": "min",
    "hour": "h",
    "hours": "h",
    "hr": "h",
    "days": "day",
    "weeks": "week",
}

_POWERS: dict[str, dict[str, float]] = {
    "mass": {"[mass]": 1},
    "volume": {"[length]": 3},
    "length": {"[length]": 1},
    "time": {"[time]": 1},
    "temperature": {"[temperature]": 1},
    "difference": {"[temperature]": 1},
    "ratio": {},
    "power": {"[mass]": 1, "[length]": 2, "[time]": -3},
    "energy": {"[mass]": 1, "[length]": 2, "[time]": -2},
    "density": {"[mass]": 1, "[length]": -3},
    "specific heat": {"[length]": 2, "[time]": -2, "[temperature]": -1},
    "rate": {"[time]": -1},
    "pressure": {"[mass]": 1, "[length]": -1, "[time]": -2},
    "molar mass": {"[mass]": 1, "[substance]": -1},
    "molar energy": {"[mass]": 1, "[length]": 2, "[time]": -2, "[substance]": -1},
    "molar heat": {
        "[mass]": 1,
        "[length]": 2,
        "[time]": -2,
        "[substance]": -1,
        "[temperature]": -1,
    },
}
"""What each dimension of `figures.UNITS` is made of."""
_POINTS = ("degC", "degF")
"""Units of a temperature, not of a difference between two."""


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


_AMBIGUOUS = {
    "gr": "g for gram (gr may also be a grain, 0.065 g)",
    "gm": "g for gram",
    "gms": "g for gram",
    "G": "g for gram",
    "Gr": "g for gram",
    "KG": "kg",
    "Kg": "kg",
    "ML": "mL",
    "c": "degC for a temperature, cup for a cup",
    "f": "degF",
    "T": "tbsp for a tablespoon",
    "t": "tsp for a teaspoon, kg for a weight",
    "M": "min for minutes, m for metres",
}
"""Units that people write for one thing and the registry, or another reader, takes for another."""
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
    return _WORDS.get(dimension, "something else")


@cache
def load_registry() -> pint.UnitRegistry[Any]:
    """Load the unit registry once; about half a second, so only for units out of the common."""
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
    if cleaned in _AMBIGUOUS:
        raise UnitError(f'"{text}" may mean several things; write {_AMBIGUOUS[cleaned]}')
    spelt = _SPELLINGS.get(cleaned, cleaned)
    if not re.fullmatch(r"[\w./*^()µ° -]{1,40}", spelt):
        raise UnitError(f'"{text}" is not a unit')
    return _find_common(cleaned) or ask_registry(cleaned, spelt)


def _find_common(text: str) -> Unit | None:
    """Find a unit, or one unit over another, that needs no registry."""
    whole = _find_atom(text)
    if whole is not None:
        factor, offset, powers = whole
        return _make_unit(text, factor, offset, powers, point=_SPELLINGS.get(text, text) in _POINTS)
    above, slash, below = (part.strip() for part in text.partition("/"))
    top, bottom = _find_atom(above), _find_atom(below)
    if not slash or top is None or bottom is None or top[1] or bottom[1]:
        return None
    powers = dict(top[2])
    for name, power in bottom[2].items():
        powers[name] = powers.get(name, 0.0) - power
    return _make_unit(text, top[0] / bottom[0], 0.0, powers)


def _find_atom(text: str) -> tuple[float, float, Mapping[str, float]] | None:
    """Give factor, offset and powers of a common unit."""
    if text in CURRENCIES:
        return 1.0, 0.0, {f"[{text.lower()}]": 1}
    row = UNITS.get(_SPELLINGS.get(text, text))
    # "kelvin" is a temperature to a calculator and a difference here; "ratio" is no unit to write.
    if row is None or text in ("kelvin", "ratio"):
        return None
    return row[1], row[2], _POWERS[row[0]]


def _make_unit(
    text: str, factor: float, offset: float, powers: Mapping[str, float], *, point: bool = False
) -> Unit:
    exponents = tuple(sorted((name, float(power)) for name, power in powers.items() if power))
    dimension = _name_dimension(exponents)
    if dimension == "[temperature]" and not point:
        dimension = "[delta_temperature]"
    return Unit(text, factor, offset, dimension, exponents)


def _name_dimension(exponents: tuple[tuple[str, float], ...]) -> str:
    """Write a dimension, for instance `[mass] / [length] ** 3`."""
    above = [_write_power(name, power) for name, power in exponents if power > 0]
    below = [_write_power(name, -power) for name, power in exponents if power < 0]
    return " / ".join((" * ".join(above) or "1", *below)) if exponents else "dimensionless"


def _write_power(name: str, power: float) -> str:
    return name if power == 1 else f"{name} ** {power:g}"


def ask_registry(text: str, spelt: str) -> Unit:
    """Read a unit by the registry.

    Args:
        text: As the author wrote it.
        spelt: As the registry spells it.

    Raises:
        UnitError: If no such unit is known.
    """
    import pint

    registry = load_registry()
    try:
        unit = registry.Unit(spelt)
        powers: dict[str, Any] = dict(unit.dimensionality)
        if spelt in _POINTS:
            zero = float(registry.Quantity(0.0, unit).to("kelvin").magnitude)
            one = float(registry.Quantity(1.0, f"delta_{spelt}").to("kelvin").magnitude)
            return _make_unit(text, one, zero, powers, point=True)
        base = registry.Quantity(1.0, unit).to_base_units()
        if "gram" in str(base.units) and "kilogram" not in str(base.units):
            raise UnitError(f'"{text}" is not a coherent unit')
        return _make_unit(text, float(base.magnitude), 0.0, powers)
    except UnitError:
        raise
    except (pint.errors.PintError, ValueError, TypeError, AttributeError, KeyError) as error:
        raise UnitError(f'"{text}" is not a unit we know') from error
    except Exception as error:  # pint parses with Python's tokenizer, which raises many kinds
        raise UnitError(f'"{text}" is not a unit we know') from error


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
        if _BARE_WINDOW.match(text):
            raise UnitError(f'"{text}" has no unit; write for instance "{text.strip()} degC"')
        single = parse_quantity(text)
        return Window(single, single)
    unit = parse_unit(found["unit"])
    low = Quantity(parse_number(found["low"]), unit)
    high = Quantity(parse_number(found["high"]), unit)
    if low.magnitude > high.magnitude:
        raise UnitError(f'"{text}" runs backwards; write the lower value first')
    return Window(low, high)
