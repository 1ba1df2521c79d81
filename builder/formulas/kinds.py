"""What a name in a formula stands for: a number of some dimension, a text, a truth, rows.

Dimensions are pint's. A temperature is a point on a scale, a difference of temperatures is not:
they are different kinds, although both are kelvins.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from builder.units import UnitError, describe_dimension, parse_unit

MONEY = "money"
"""Stands in a unit for the currency of the course, as in `money/hour`."""
AMOUNT = "amount"
"""Dimension of a column that takes any measure, as long as a row uses the same one throughout."""

Exponents = tuple[tuple[str, float], ...]


class Form(StrEnum):
    """The four things a formula can yield, and rows."""

    NUMBER = "a number"
    BOOLEAN = "a condition"
    TEXT = "a text"
    NAMES = "a list of names"
    ROWS = "rows"


@dataclass(frozen=True, slots=True)
class Kind:
    """What a value is.

    Args:
        form: Number, condition, text, names or rows.
        exponents: Dimension of a number, sorted; empty for a plain number.
        point: True for a temperature, False for a difference of temperatures and all else.
        zero: True for a written 0, which fits every dimension.
        optional: True for an input that may be left out.
        label: How people call it; used in the message when an optional input is missing.
        columns: Of rows: what each column holds.
    """

    form: Form = Form.NUMBER
    exponents: Exponents = ()
    point: bool = False
    zero: bool = False
    optional: bool = False
    label: str = ""
    columns: Mapping[str, Kind] = field(default_factory=lambda: MappingProxyType({}))

    def describe(self) -> str:
        """Name the kind for an author, for instance `a mass`."""
        if self.form is not Form.NUMBER:
            return str(self.form)
        if self.point:
            return describe_dimension("[temperature]")
        return describe_dimension(self.dimension)

    @property
    def dimension(self) -> str:
        """The dimension as the unit registry writes it, `[mass] / [length] ** 3`."""
        if self.exponents == (("[temperature]", 1.0),) and not self.point:
            return "[delta_temperature]"
        over = [_write(name, power) for name, power in self.exponents if power > 0]
        under = [_write(name, -power) for name, power in self.exponents if power < 0]
        if not over and not under:
            return "dimensionless"
        return " / ".join([" * ".join(over) or "1", *under])


def _write(name: str, power: float) -> str:
    return name if power == 1 else f"{name} ** {power:g}"


RATIO = Kind()
BOOLEAN = Kind(Form.BOOLEAN)
TEXT = Kind(Form.TEXT)
NAMES = Kind(Form.NAMES)
TEMPERATURE = Kind(exponents=(("[temperature]", 1.0),), point=True)
DIFFERENCE = Kind(exponents=(("[temperature]", 1.0),))
ANY_AMOUNT = Kind(exponents=((f"[{AMOUNT}]", 1.0),))


@dataclass(frozen=True, slots=True)
class TableKind:
    """What a table holds: a kind for each column, and the kind of its steps where it has any."""

    columns: Mapping[str, Kind]
    step: Kind | None = None


@dataclass(frozen=True, slots=True)
class Environment:
    """The names a formula may use."""

    names: Mapping[str, Kind]
    tables: Mapping[str, TableKind] = field(default_factory=lambda: MappingProxyType({}))

    def extend(self, name: str, kind: Kind) -> Environment:
        """Give an environment with one more name."""
        return replace(self, names=MappingProxyType({**self.names, name: kind}))


def read_unit_kind(unit: str) -> Kind:
    """Give the kind of numbers in a unit, for instance `g`, `degC`, `1/min`, `money/hour`, `1`.

    Raises:
        UnitError: If there is no such unit.
    """
    text = unit.strip()
    if text in ("1", "ratio"):
        return RATIO
    if MONEY in text:
        parsed = parse_unit(text.replace(MONEY, "USD"))
        exponents = tuple(
            (name.replace("[usd]", "[money]"), power) for name, power in parsed.exponents
        )
        return Kind(exponents=tuple(sorted(exponents)))
    parsed = parse_unit(text)
    return Kind(exponents=parsed.exponents, point=parsed.dimension == "[temperature]")


__all__ = [
    "AMOUNT",
    "ANY_AMOUNT",
    "BOOLEAN",
    "DIFFERENCE",
    "MONEY",
    "NAMES",
    "RATIO",
    "TEMPERATURE",
    "TEXT",
    "Environment",
    "Exponents",
    "Form",
    "Kind",
    "TableKind",
    "UnitError",
    "read_unit_kind",
]
