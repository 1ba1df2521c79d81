"""The one unit registry: quantities with their units, windows, and how they compare.

Everything the builder computes with is held in coherent base units (kilogram, metre, second,
kelvin, and the currency as written); the unit an author wrote is kept for people. Definitions come
from pint's registry (NIST SP 811 and Handbook 44 values); we add the percent sign and currencies.
How a quantity is written is read by `twin.quantities`, for authors and visitors alike. The units
that everyone knows, and one of them over another, stand there too, because loading the registry
takes longer than reading a whole course; a test compares each of them with it. Only authors may
write further units, which the registry then knows.

Units with one-letter or household names are read as the trade writes them: `oz` is a weight,
`floz` a volume. `degC` as a unit of a quantity is a temperature; a difference is `delta_degC` or
`K`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from builder.twin.quantities import QuantityRead, explain_two_meanings, find_key, read_quantity
from builder.twin.unit_table import UNITS

if TYPE_CHECKING:
    import pint

CURRENCIES = ("AUD", "CAD", "CHF", "DKK", "EUR", "GBP", "JPY", "NOK", "NZD", "SEK", "USD")
"""ISO 4217 codes that a price may be written in; none converts into another."""

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
"""What each dimension of the table of units is made of."""
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
    problem = explain_two_meanings(cleaned)
    if problem:
        raise UnitError(_quote_plainly(problem))
    if not re.fullmatch(r"[\w./*^()µ°℃℉³²·″\"%€ -]{1,40}", cleaned):
        raise UnitError(f'"{text}" is not a unit')
    return _find_common(cleaned) or ask_registry(cleaned)


def _find_common(text: str) -> Unit | None:
    """Find a unit, or one unit over another, that needs no registry."""
    whole = _find_atom(text)
    if whole is not None:
        factor, offset, powers = whole
        return _make_unit(text, factor, offset, powers, point=find_key(text) in _POINTS)
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
    key = find_key(text)
    if key in ("", "ratio"):  # "ratio" is no unit to write
        return None
    row = UNITS[key]
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


def ask_registry(text: str, spelt: str = "") -> Unit:
    """Read a unit by the registry.

    Args:
        text: As the author wrote it.
        spelt: As the registry spells it, where that differs.

    Raises:
        UnitError: If no such unit is known.
    """
    import pint

    registry = load_registry()
    spelt = spelt or text
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


def _quote_plainly(problem: str) -> str:
    """Put the plain quotes of findings in place of a page's."""
    return problem.replace("“", '"').replace("”", '"')


def _read(text: str, example: str) -> QuantityRead:
    """Read a text as a quantity or a range; its unit is known to the registry at least.

    Raises:
        UnitError: With the reason, in words.
    """
    read = read_quantity({}, text)
    if read["problem"]:
        raise UnitError(_quote_plainly(read["problem"]))
    if not read["unit"]:
        raise UnitError(f'"{text}" has no unit; write for instance "{text.strip()} {example}"')
    return read


def parse_quantity(text: str) -> Quantity:
    """Read a quantity such as `113 g`, `2 %`, `60 degC`, `4 h 10 min`.

    Raises:
        UnitError: With a sentence that names what was found and what would be right.
    """
    read = _read(text, "g")
    if read["low"] != read["high"]:
        raise UnitError(f'"{text}" is a range; write one value')
    return Quantity(read["high"], parse_unit(read["unit"]))


def parse_window(text: str) -> Window:
    """Read a window such as `57 to 63 degC`; a single quantity is a window of no width.

    Raises:
        UnitError: If it cannot be read or runs backwards.
    """
    read = _read(text, "degC")
    unit = parse_unit(read["unit"])
    return Window(Quantity(read["low"], unit), Quantity(read["high"], unit))
