"""What the compiler of one calculator carries along: names in reach, formulas so far, problems."""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from builder.calculators.problems import Problem, describe_formula_error
from builder.calculators.tables import CompiledTable
from builder.diagnostics import Route
from builder.formulas.dimensions import check_formula
from builder.formulas.expression import FormulaError, list_lookups, parse_formula
from builder.formulas.kinds import MONEY, RATIO, Environment, Form, Kind, read_unit_kind
from builder.formulas.lowering import lower_formula
from builder.model.calculators import Calculator, Rounded, Table
from builder.twin import calculators as runtime
from builder.twin.number_format import format_both
from builder.twin.quantities import find_key
from builder.twin.unit_table import UNITS
from builder.units import UnitError, parse_quantity, parse_unit

PLAIN_DIGITS = 6
"""Most figures shown of a value that nobody rounded."""
PLACE = re.compile(r"\{\s*([^{}]*?)\s*\}")
"""A name or a quantity in a message."""

_SIGNS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"EUR": ("€",), "GBP": ("£",), "JPY": ("¥",)}
    | dict.fromkeys(("USD", "CAD", "AUD", "NZD"), ("$",))
)


@dataclass(slots=True)
class Context:
    """The state of one compilation. Problems are gathered; nothing stops at the first.

    Args:
        entry: The calculator as written.
        tables: All tables of the course, by id.
        currency: Code that stands for `money`.
        compiled_tables: The same tables, ready for look-up.
        environment: Names a formula may use from here on.
        display: Names a message may show, and how.
        trees: Lowered formulas so far; a formula is known by its number.
        names: For each formula, the names it uses.
        units: Units that only this calculator knows, by spelling.
        table_columns: Columns looked up, by table.
        shown_names: Names that messages do show.
        needs: For each value and output, the names its formula uses.
        broken: Names whose own formula or unit cannot be read; what hangs on them is not told.
        problems: What is wrong so far.
    """

    entry: Calculator
    tables: Mapping[str, Table]
    currency: str
    compiled_tables: Mapping[str, CompiledTable]
    environment: Environment
    display: dict[str, list[Any]] = field(default_factory=dict)
    trees: list[ast.expr] = field(default_factory=list)
    names: list[tuple[str, ...]] = field(default_factory=list)
    units: dict[str, list[Any]] = field(default_factory=dict)
    table_columns: dict[str, set[str]] = field(default_factory=dict)
    shown_names: set[str] = field(default_factory=set)
    needs: dict[str, set[str]] = field(default_factory=dict)
    broken: set[str] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)

    def report(self, route: Route, rule: str, message: str, hint: str = "") -> None:
        """Note a problem."""
        self.problems.append(Problem(route, rule, message, hint))

    def declare(self, name: str, kind: Kind) -> None:
        """Let formulas use a name from here on."""
        self.environment = self.environment.extend(name, kind)

    def unit(self, route: Route, unit: str) -> tuple[str, Kind] | None:
        """Give the key under which `runtime` knows a unit, and the kind of its numbers."""
        text = unit.strip()
        if text in ("1", "ratio"):
            return "ratio", RATIO
        try:
            kind = read_unit_kind(text)
        except UnitError as error:
            self.report(route, "value-invalid", str(error))
            return None
        if text == MONEY:
            row = [MONEY, 1.0, 0.0, self.currency, self.currency]
            for spelling in (MONEY, self.currency.lower(), *_SIGNS.get(self.currency, ())):
                self.units[spelling] = row
            return MONEY, kind
        key = find_key(text)
        if key:
            return "K" if key == "kelvin" else key, kind
        parsed = parse_unit(text.replace(MONEY, "USD"))
        written = text.replace(MONEY, self.currency)
        symbol = written.replace("**2", "²").replace("**3", "³").replace("*", "·")
        row = [kind.dimension, parsed.factor, parsed.offset, symbol, written]
        spellings = {text, text.lower(), written.lower(), written.lower().replace("/hour", "/h")}
        for spelling in sorted(spellings):
            self.units[spelling] = row
        return text, kind

    def formula(self, route: Route, text: str) -> tuple[int, Kind] | None:
        """Read, check and lower a formula; gives its number and kind."""
        try:
            formula = parse_formula(text)
            if self.broken.intersection(formula.names):
                return None  # one mistake, one finding: it was told where the name is made
            kind = check_formula(formula, self.environment)
        except FormulaError as error:
            self.problems.append(describe_formula_error(route, error))
            return None
        for table, column in list_lookups(formula):
            self.table_columns.setdefault(table, set()).add(column)
        self.trees.append(lower_formula(formula, self.environment))
        self.names.append(formula.names)
        return len(self.trees) - 1, kind

    def condition(self, route: Route, text: str) -> int | None:
        """Compile a formula that must be a condition."""
        found = self.formula(route, text)
        if found is None:
            return None
        if found[1].form is not Form.BOOLEAN:
            message = f'"{text}" is {found[1].describe()}, not a condition such as a > b'
            self.report(route, "unit-mismatch", message)
            return None
        return found[0]

    def number(self, route: Route, text: str, unit: str, place: Route) -> int | None:
        """Compile a formula that must be a number of the dimension of a unit."""
        found = self.formula(route, text)
        if found is None:
            return None
        return found[0] if self.match_unit(route, place, unit, found[1]) else None

    def match_unit(self, route: Route, place: Route, unit: str, kind: Kind) -> bool:
        """Report a formula whose result is not of the dimension of its unit."""
        wanted = self.unit(place, unit)
        if wanted is None:
            return False
        if kind.form is not Form.NUMBER:
            self.report(route, "unit-mismatch", f"this is {kind.describe()}, not a number")
            return False
        if (wanted[1].exponents, wanted[1].point) != (kind.exponents, kind.point):
            message = f"the formula gives {kind.describe()}; {unit} is {wanted[1].describe()}"
            self.report(route, "unit-mismatch", message)
            return False
        return True

    def message(self, route: Route, text: str) -> str | None:
        """Check the names a message shows, and write out its fixed quantities."""
        written = ""
        end = 0
        for place in PLACE.finditer(text):
            written += text[end : place.start()]
            end = place.end()
            name = place[1]
            if name in self.display:
                self.shown_names.add(name)
                written += f"{{{name}}}"
                continue
            if name in self.broken:
                return None
            try:
                quantity = parse_quantity(name)
            except UnitError:
                message = f'"{{{name}}}" is neither a quantity nor a name that can be shown'
                listed = ", ".join(sorted(self.display))
                self.report(route, "formula-invalid", message, f"names that can be shown: {listed}")
                return None
            unit = self.unit(route, quantity.unit.text)
            if unit is None:
                return None
            written += self.write(quantity.base, unit[0])
        return written + text[end:]

    def write(self, value: float, unit: str) -> str:
        """Write a fixed quantity for a message."""
        if unit in UNITS:
            return format_both(value, unit, "plain", PLAIN_DIGITS)
        return runtime.write_quantity({"units": self.units}, value, unit, "plain", PLAIN_DIGITS)


def read_style(rounded: Rounded) -> tuple[str, int]:
    """Give the way a number is shown: style and digits, as `figures` takes them."""
    if rounded.significant is not None:
        return "significant", rounded.significant
    if rounded.places is not None:
        return "places", rounded.places
    return "plain", PLAIN_DIGITS
