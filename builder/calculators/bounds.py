"""Reasons about the bounds of inputs: conditions that can never hold, or always must.

Every name is followed as an interval (numbers), a set of texts (choices) or a truth that may be
unknown, in the manner of interval arithmetic (Moore, Interval Analysis, 1966). An interval may be
wider than what can happen, never narrower, so what is said to be settled is settled.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from builder.calculators.compiler import CompiledCalculator
from builder.calculators.problems import Problem
from builder.diagnostics import Route
from builder.formulas.expression import FormulaError, parse_formula
from builder.formulas.functions import CONSTANTS
from builder.twin.arithmetic import is_above

RULE = "condition-settled"


@dataclass(frozen=True, slots=True)
class NumberRange:
    """Numbers from `low` to `high`, both included."""

    low: float = -math.inf
    high: float = math.inf


@dataclass(frozen=True, slots=True)
class TextRange:
    """One of these texts."""

    values: frozenset[str]


@dataclass(frozen=True, slots=True)
class RowsRange:
    """RowsRange: what each column holds, and how many rows there may be."""

    columns: Mapping[str, Known]
    most: int


Known = NumberRange | TextRange | RowsRange | bool | None
"""What an expression may be; None where nothing is known of it, a truth value too."""


def check_bounds(compiled: CompiledCalculator) -> list[Problem]:
    """Report each condition that never holds, or always does, whatever is typed."""
    return list(_find_settled(compiled))


def _find_settled(compiled: CompiledCalculator) -> Iterator[Problem]:
    entry = compiled.entry
    reasoning = _Reasoning(_list_names(compiled), compiled.description["tables"])
    for name, value in entry.values.items():
        reasoning.learn(name, value.formula)
    for name, output in entry.outputs.items():
        if output.formula is not None:
            reasoning.learn(name, output.formula)
    for route, condition in _list_conditions(compiled):
        truth = reasoning.judge(condition)
        if isinstance(truth, bool):
            always = "always holds" if truth else "can never hold"
            message = f"the condition {condition} {always} within the bounds of the inputs"
            hint = reasoning.describe(condition)
            if truth and route[0] == "warnings":
                hint = "leave `when` out of a warning that always stands" + (hint and f"; {hint}")
            yield Problem(route, RULE, message, hint)


def _list_conditions(compiled: CompiledCalculator) -> Iterator[tuple[Route, str]]:
    entry = compiled.entry
    for name, entered in entry.inputs.items():
        if entered.shown_when is not None:
            yield ("inputs", name, "shown_when"), entered.shown_when
    for number, refusal in enumerate(entry.refusals):
        yield ("refusals", number, "when"), refusal.when
    for name, output in entry.outputs.items():
        if output.shown_when is not None:
            yield ("outputs", name, "shown_when"), output.shown_when
        for number, case in enumerate(output.cases):
            if case.when is not None:
                yield ("outputs", name, "cases", number, "when"), case.when
    for name, warning in entry.warnings.items():
        if warning.when is not None:
            yield ("warnings", name, "when"), warning.when


def _list_names(compiled: CompiledCalculator) -> dict[str, Known]:
    """List what constants and inputs may be."""
    description = compiled.description
    names: dict[str, Known] = {
        name: NumberRange(value, value) for name, value in description["constants"].items()
    }
    names |= {name: NumberRange(value, value) for name, value in CONSTANTS.items()}
    for described in description["inputs"]:
        if described["kind"] == "rows":
            columns = {each["id"]: _span_field(each) for each in described["columns"]}
            names[described["id"]] = RowsRange(columns, described["most"])
        else:
            names[described["id"]] = _span_field(described)
    return names


def _span_field(described: Mapping[str, Any]) -> Known:
    if described["kind"] == "choice":
        return TextRange(frozenset(choice[0] for choice in described["choices"]))
    if described["kind"] == "text":
        return None
    low, high = described["low"], described["high"]
    return NumberRange(-math.inf if low is None else low, math.inf if high is None else high)


@dataclass(slots=True)
class _Reasoning:
    names: dict[str, Known]
    tables: Mapping[str, Any]
    rows: dict[str, Known] = field(default_factory=dict)

    def learn(self, name: str, formula: str) -> None:
        self.names[name] = self.judge(formula)

    def judge(self, formula: str) -> Known:
        try:
            return self.visit(parse_formula(formula).tree)
        except FormulaError:
            return None

    def describe(self, condition: str) -> str:
        """Say what the names of a condition may be."""
        parts = []
        for node in ast.walk(parse_formula(condition).tree):
            value = self.names.get(node.id) if isinstance(node, ast.Name) else None
            if isinstance(node, ast.Name) and isinstance(value, NumberRange):
                if value.low == value.high:
                    parts.append(f"{node.id} is {value.low:.4g}")
                elif math.isfinite(value.low) and math.isfinite(value.high):
                    parts.append(f"{node.id} is {value.low:.4g} to {value.high:.4g}")
                elif math.isfinite(value.low):
                    parts.append(f"{node.id} is at least {value.low:.4g}")
                elif math.isfinite(value.high):
                    parts.append(f"{node.id} is at most {value.high:.4g}")
        listed = "; ".join(dict.fromkeys(parts))
        return f"in base units (a share as 0 to 1): {listed}" if listed else ""

    def visit(self, node: ast.expr) -> Known:
        match node:
            case ast.Constant(value=bool() as truth):
                return truth
            case ast.Constant(value=str() as text):
                return TextRange(frozenset({text}))
            case ast.Constant(value=int() | float() as number):
                return NumberRange(number, number)
            case ast.Name(id=name):
                return self.names.get(name)
            case ast.Attribute(value=ast.Name(id=row), attr=column):
                known = self.rows.get(row)
                return known.columns.get(column) if isinstance(known, RowsRange) else None
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                denied = self.visit(operand)
                return not denied if isinstance(denied, bool) else None
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                value = self.visit(operand)
                return (
                    NumberRange(-value.high, -value.low) if isinstance(value, NumberRange) else None
                )
            case ast.UnaryOp(operand=operand):
                return self.visit(operand)
            case ast.BinOp(left=left, op=op, right=right):
                return _combine(op, self.visit(left), self.visit(right))
            case ast.BoolOp(op=op, values=values):
                return _join_truths(isinstance(op, ast.And), [self.visit(each) for each in values])
            case ast.Compare(left=left, ops=ops, comparators=others):
                sides = [self.visit(each) for each in (left, *others)]
                pairs = zip(sides, ops, sides[1:], strict=False)
                return _join_truths(True, [_compare(one, op, two) for one, op, two in pairs])
            case ast.IfExp(test=test, body=body, orelse=orelse):
                asked = self.visit(test)
                if isinstance(asked, bool):
                    return self.visit(body if asked else orelse)
                return _widen(self.visit(body), self.visit(orelse))
            case ast.Call(func=ast.Name(id=name), args=arguments):
                return self.visit_call(name, arguments)
        return None

    def visit_call(self, name: str, arguments: list[ast.expr]) -> Known:
        if name in ("table_low", "table_high", "table_middle", "table_step"):
            return self.visit_table(name, arguments)
        if len(arguments) == 1 and isinstance(arguments[0], ast.GeneratorExp):
            return self.visit_rows(name, arguments[0])
        if name == "given":
            return None
        values = [self.visit(each) for each in arguments]
        spans = [value for value in values if isinstance(value, NumberRange)]
        if name in ("any", "all"):
            return _join_truths(name == "all", values)
        if not spans or len(spans) < len(values):
            return NumberRange(0.0) if name in ("count", "abs", "sqrt", "exp") else None
        if name in _RISING and len(spans) == 1:
            return _map(_RISING[name], spans[0])
        match name:
            case "min":
                return NumberRange(
                    min(each.low for each in spans), min(each.high for each in spans)
                )
            case "max":
                return NumberRange(
                    max(each.low for each in spans), max(each.high for each in spans)
                )
            case "mean":
                return NumberRange(
                    min(each.low for each in spans), max(each.high for each in spans)
                )
            case "sum":
                return NumberRange(
                    sum(each.low for each in spans), sum(each.high for each in spans)
                )
            case "abs":
                (only,) = spans
                least = 0.0 if only.low <= 0 <= only.high else min(abs(only.low), abs(only.high))
                return NumberRange(least, max(abs(only.low), abs(only.high)))
        return None

    def visit_rows(self, name: str, node: ast.GeneratorExp) -> Known:
        part = node.generators[0]
        assert isinstance(part.iter, ast.Name)
        assert isinstance(part.target, ast.Name)
        known = self.names.get(part.iter.id)
        before = dict(self.rows)
        self.rows[part.target.id] = known
        value = self.visit(node.elt)
        self.rows = before
        most = known.most if isinstance(known, RowsRange) else math.inf
        if name in ("any", "all"):
            # Nothing may be left by a condition on the rows, and of nothing `all` is true.
            settled = value is False if name == "any" else value is True
            return value if settled else None
        if name == "count":
            return NumberRange(0.0, most)
        if not isinstance(value, NumberRange):
            return NumberRange(0.0) if name == "deviation" else None
        if name == "sum":
            return NumberRange(
                min(0.0, _times(most, value.low)), max(0.0, _times(most, value.high))
            )
        if name in ("mean", "min", "max"):
            return value
        return NumberRange(0.0) if name == "deviation" else None

    def visit_table(self, name: str, arguments: list[ast.expr]) -> Known:
        table, _, column = arguments
        if not (isinstance(table, ast.Constant) and isinstance(column, ast.Constant)):
            return None
        place = {"table_low": 0, "table_high": 1}.get(name, 2)
        wanted = str(column.value)
        rows = self.tables[str(table.value)]["rows"].values()
        cells = [row[wanted][place] for row in rows if wanted in row]
        return NumberRange(min(cells), max(cells)) if cells else None


def _times(one: float, two: float) -> float:
    """Multiply, where nothing times anything is nothing."""
    return 0.0 if one == 0 or two == 0 else one * two


def _exp(x: float) -> float:
    return math.exp(x) if x < 700 else math.inf


_RISING: Mapping[str, Callable[[float], float]] = {
    "exp": _exp,
    "log": lambda x: math.log(x) if x > 0 else -math.inf,
    "sqrt": lambda x: math.sqrt(x) if x > 0 else 0.0,
    "floor": lambda x: x if math.isinf(x) else math.floor(x + 1e-9 + abs(x) * 1e-12),
    "ceil": lambda x: x if math.isinf(x) else math.ceil(x - 1e-9 - abs(x) * 1e-12),
    "round": lambda x: x if math.isinf(x) else math.floor(x + 0.5),
    "celsius": lambda x: x - 273.15,
    "from_celsius": lambda x: x + 273.15,
    "kelvin": lambda x: x,
    "from_kelvin": lambda x: x,
}
"""Functions of one number that never fall."""


def _map(rising: Callable[[float], float], value: NumberRange) -> NumberRange:
    return NumberRange(rising(value.low), rising(value.high))


def _combine(op: ast.operator, one: Known, two: Known) -> Known:
    if not (isinstance(one, NumberRange) and isinstance(two, NumberRange)):
        return None
    match op:
        case ast.Add():
            return NumberRange(one.low + two.low, one.high + two.high)
        case ast.Sub():
            return NumberRange(one.low - two.high, one.high - two.low)
        case ast.Mult():
            ends = [_times(a, b) for a in (one.low, one.high) for b in (two.low, two.high)]
            return NumberRange(min(ends), max(ends))
        case ast.Div():
            if two.low > 0 or two.high < 0:
                inverse = NumberRange(1 / two.high, 1 / two.low)
                return _combine(ast.Mult(), one, inverse)
            if one.low >= 0 and two.low >= 0:
                return NumberRange(0.0)
        case ast.Pow():
            if two.low == two.high and two.low > 0 and one.low >= 0:
                return NumberRange(one.low**two.low, one.high**two.low)
    return None


def _compare(one: Known, op: ast.cmpop, two: Known) -> bool | None:
    if isinstance(one, TextRange) and isinstance(two, TextRange):
        same = None
        if not one.values & two.values:
            same = False
        elif one.values == two.values and len(one.values) == 1:
            same = True
        if same is None:
            return None
        return same if isinstance(op, ast.Eq) else not same
    if not (isinstance(one, NumberRange) and isinstance(two, NumberRange)):
        return None
    match op:
        case ast.Gt():
            return _above(one, two)
        case ast.Lt():
            return _above(two, one)
        case ast.GtE():
            truth = _above(two, one)
            return None if truth is None else not truth
        case ast.LtE():
            truth = _above(one, two)
            return None if truth is None else not truth
        case ast.Eq() if one.high < two.low or two.high < one.low:
            return False
        case ast.NotEq() if one.high < two.low or two.high < one.low:
            return True
    return None


def _above(one: NumberRange, two: NumberRange) -> bool | None:
    # A hair beside a value counts as the value, as it does when the formula runs.
    if is_above(one.low, two.high):
        return True
    if math.isinf(one.high) or math.isinf(two.low):
        return None
    return None if is_above(one.high, two.low) else False


def _join_truths(every: bool, truths: list[Known]) -> bool | None:
    """Join with `and` (every) or `or`; one that settles it settles it."""
    if any(truth is (not every) for truth in truths):
        return not every
    return every if all(truth is every for truth in truths) else None


def _widen(one: Known, two: Known) -> Known:
    if isinstance(one, NumberRange) and isinstance(two, NumberRange):
        return NumberRange(min(one.low, two.low), max(one.high, two.high))
    if isinstance(one, TextRange) and isinstance(two, TextRange):
        return TextRange(one.values | two.values)
    return one if one == two else None
