"""Checks that a formula adds like to like: masses to masses, differences to temperatures.

Runs at check time, before anything is computed. A mismatch is a `FormulaError` with the place.

    base_mass + room                a mass and a temperature: refused
    room + 5                        a temperature and a plain number: refused
    first - room                    a temperature difference
    room * 2                        refused; write kelvin(room) or celsius(room)
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from builder.formulas.expression import Formula, FormulaError
from builder.formulas.functions import CONSTANTS, FUNCTIONS, FormulaFunction
from builder.formulas.kinds import (
    BOOLEAN,
    DIFFERENCE,
    NAMES,
    RATIO,
    TEMPERATURE,
    TEXT,
    Environment,
    Exponents,
    Form,
    Kind,
    TableKind,
)


class DimensionError(FormulaError):
    """A formula that mixes dimensions."""


class UnknownNameError(FormulaError):
    """A formula that uses a name that is not declared before it."""


def check_formula(formula: Formula, environment: Environment) -> Kind:
    """Work out what a formula yields.

    Args:
        formula: One that passed the allow-list.
        environment: The names it may use.

    Returns:
        The kind of its result.

    Raises:
        DimensionError: If kinds do not fit together.
        UnknownNameError: If it uses a name, column or table that does not exist.
    """
    kind = _Checker(formula, environment).visit(formula.tree)
    return replace(kind, zero=False, optional=False, label="")


def combine(left: Exponents, right: Exponents, sign: float) -> Exponents:
    """Multiply (sign 1) or divide (sign -1) two dimensions."""
    powers = dict(left)
    for name, power in right:
        powers[name] = round(powers.get(name, 0.0) + sign * power, 9)
    return tuple(sorted((name, power) for name, power in powers.items() if power))


@dataclass(frozen=True, slots=True)
class _Checker:
    formula: Formula
    environment: Environment
    rows: Mapping[str, Kind] = field(default_factory=lambda: MappingProxyType({}))

    def error(self, message: str, node: ast.AST) -> DimensionError:
        return DimensionError(message, self.formula.text, *self.formula.place(node))

    def unknown(
        self, what: str, name: str, known: Mapping[str, object], node: ast.AST
    ) -> FormulaError:
        listed = ", ".join(sorted(known)) or "none"
        message = f'there is no {what} "{name}" here; there are: {listed}'
        return UnknownNameError(message, self.formula.text, *self.formula.place(node))

    def source(self, node: ast.AST) -> str:
        offset, length = self.formula.place(node)
        return self.formula.text[offset : offset + length]

    def visit(self, node: ast.expr) -> Kind:
        match node:
            case ast.Constant(value=str()):
                return TEXT
            case ast.Constant():
                return Kind(zero=node.value == 0)
            case ast.Name(id=name):
                return self.look_up(name, node)
            case ast.Attribute(value=ast.Name(id=row), attr=column):
                columns = self.rows[row].columns
                if column not in columns:
                    raise self.unknown("column", column, columns, node)
                return columns[column]
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                self.want(operand, Form.BOOLEAN)
                return BOOLEAN
            case ast.UnaryOp(operand=operand):
                kind = self.want(operand, Form.NUMBER)
                self.refuse_point(kind, operand)
                return kind
            case ast.BoolOp(values=values):
                for value in values:
                    self.want(value, Form.BOOLEAN)
                return BOOLEAN
            case ast.Compare():
                return self.visit_compare(node)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                self.want(test, Form.BOOLEAN)
                return self.unify(body, orelse, "both sides of if and else must be of one kind")
            case ast.BinOp(op=ast.Pow()):
                return self.visit_power(node)
            case ast.BinOp(op=ast.Add() | ast.Sub()):
                return self.visit_sum(node)
            case ast.BinOp(left=left, op=op, right=right):
                one, two = self.want(left, Form.NUMBER), self.want(right, Form.NUMBER)
                self.refuse_point(one, left)
                self.refuse_point(two, right)
                sign = 1.0 if isinstance(op, ast.Mult) else -1.0
                return Kind(exponents=combine(one.exponents, two.exponents, sign))
            case ast.Call(func=ast.Name(id=name)):
                return self.visit_call(FUNCTIONS[name], node)
        raise self.error("this is not used in formulas", node)

    def look_up(self, name: str, node: ast.AST) -> Kind:
        if name in CONSTANTS:
            return RATIO
        kind = self.environment.names.get(name)
        if kind is None:
            raise self.unknown("name", name, self.environment.names, node)
        return kind

    def want(self, node: ast.expr, form: Form) -> Kind:
        kind = self.visit(node)
        if kind.form is not form:
            raise self.error(f'"{self.source(node)}" is {kind.describe()}, not {form}', node)
        return kind

    def refuse_point(self, kind: Kind, node: ast.expr) -> None:
        if kind.point:
            text = self.source(node)
            raise self.error(
                f'"{text}" is a temperature, which cannot be multiplied; '
                f"write kelvin({text}), celsius({text}) or a difference",
                node,
            )

    def unify(self, left: ast.expr, right: ast.expr, reason: str) -> Kind:
        one, two = self.visit(left), self.visit(right)
        return self.merge(one, two, left, right, reason)

    def merge(self, one: Kind, two: Kind, left: ast.expr, right: ast.expr, reason: str) -> Kind:
        if one.form is two.form:
            if one.form is not Form.NUMBER:
                return one
            if one.zero and not two.point:
                return two
            if two.zero and not one.point:
                return one
            if one.exponents == two.exponents and one.point == two.point:
                return one
        raise self.error(
            f'"{self.source(left)}" is {one.describe()} and "{self.source(right)}" is '
            f"{two.describe()}: {reason}",
            right,
        )

    def visit_compare(self, node: ast.Compare) -> Kind:
        parts = [node.left, *node.comparators]
        for op, left, right in zip(node.ops, parts, parts[1:], strict=False):
            kind = self.unify(left, right, "only like is compared with like")
            order = not isinstance(op, ast.Eq | ast.NotEq)
            if kind.form in (Form.ROWS, Form.NAMES) or (order and kind.form is not Form.NUMBER):
                raise self.error(f"{kind.form} cannot be compared like this", node)
        return BOOLEAN

    def visit_sum(self, node: ast.BinOp) -> Kind:
        one, two = self.want(node.left, Form.NUMBER), self.want(node.right, Form.NUMBER)
        adding = isinstance(node.op, ast.Add)
        verb = "add" if adding else "subtract"
        if one.point and two.point:
            if not adding:
                return DIFFERENCE
            raise self.error("two temperatures cannot be added; add a difference to one", node)
        if one.point or two.point:
            other = two if one.point else one
            if two.point and not adding:
                raise self.error("a temperature cannot be subtracted from a difference", node)
            if other.zero or other.exponents == DIFFERENCE.exponents:
                return TEMPERATURE
        return self.merge(one, two, node.left, node.right, f"you can only {verb} like and like")

    def visit_power(self, node: ast.BinOp) -> Kind:
        base, exponent = self.want(node.left, Form.NUMBER), self.want(node.right, Form.NUMBER)
        self.refuse_point(base, node.left)
        if exponent.exponents or exponent.point:
            raise self.error(
                f"an exponent is a plain number, not {exponent.describe()}", node.right
            )
        if not base.exponents:
            return RATIO
        power = _read_literal(node.right)
        if power is None:
            raise self.error(
                f"the exponent of {base.describe()} must be written out as a number", node.right
            )
        exponents = ((name, round(each * power, 9)) for name, each in base.exponents)
        return Kind(exponents=tuple((name, each) for name, each in exponents if each))

    def visit_call(self, function: FormulaFunction, node: ast.Call) -> Kind:
        if function.result == "cell":
            return self.visit_table(function, node)
        arguments = node.args
        inside = self
        if function.name == "count" and len(arguments) == 1 and isinstance(arguments[0], ast.Name):
            kind = self.visit(arguments[0])
            if kind.form is Form.ROWS:
                return RATIO
        if len(arguments) == 1 and isinstance(arguments[0], ast.GeneratorExp):
            loop = arguments[0]
            inside = self.enter_rows(loop)
            arguments = [loop.elt]
        elif function.aggregate and not function.variadic:
            raise self.error(f"write {function.name}(... for row in rows)", node)
        wanted = len(function.arguments)
        if len(arguments) < wanted or (len(arguments) > wanted and not function.variadic):
            least = "at least " if function.variadic else ""
            raise self.error(
                f'"{function.name}" takes {least}{wanted} value{"s" if wanted > 1 else ""}, '
                f"not {len(arguments)}",
                node,
            )
        rules = function.arguments + (function.arguments[-1],) * (len(arguments) - wanted)
        shared: tuple[Kind, ast.expr] | None = None
        for rule, argument in zip(rules, arguments, strict=True):
            kind = inside.check_argument(function, rule, argument)
            if rule in ("same", "level"):
                if shared is not None:
                    reason = f'all values of "{function.name}" must be of one kind'
                    kind = inside.merge(shared[0], kind, shared[1], argument, reason)
                shared = (kind, argument)
        return _result(function, shared[0] if shared else RATIO)

    def enter_rows(self, loop: ast.GeneratorExp) -> _Checker:
        part = loop.generators[0]
        rows = self.visit(part.iter)
        if rows.form is not Form.ROWS or not isinstance(part.target, ast.Name):
            raise self.error(
                f'"{self.source(part.iter)}" is {rows.describe()}, not rows', part.iter
            )
        inside = replace(self, rows=MappingProxyType({part.target.id: rows}))
        for condition in part.ifs:
            inside.want(condition, Form.BOOLEAN)
        return inside

    def check_argument(self, function: FormulaFunction, rule: str, node: ast.expr) -> Kind:
        if rule == "boolean":
            return self.want(node, Form.BOOLEAN)
        if rule == "text":
            return self.want(node, Form.TEXT)
        if rule == "optional":
            kind = self.visit(node)
            if not kind.optional:
                raise self.error(f'"{self.source(node)}" is always given', node)
            return kind
        kind = self.want(node, Form.NUMBER)
        if rule == "same":
            self.refuse_point(kind, node)
        expected = {"ratio": RATIO, "temperature": TEMPERATURE, "kelvins": DIFFERENCE}.get(rule)
        fits = expected is None or (
            kind.exponents == expected.exponents and kind.point == expected.point
        )
        if expected is not None and not fits:
            raise self.error(
                f'"{function.name}" takes {expected.describe()}, and "{self.source(node)}" is '
                f"{kind.describe()}",
                node,
            )
        return kind

    def visit_table(self, function: FormulaFunction, node: ast.Call) -> Kind:
        if len(node.args) != 3:
            raise self.error(f'write {function.name}("table", row, "column")', node)
        name, row, column = node.args
        table_name, column_name = _read_text(name), _read_text(column)
        if table_name is None or column_name is None:
            raise self.error("the table and the column are written out, in quotes", node)
        table: TableKind | None = self.environment.tables.get(table_name)
        if table is None:
            raise self.unknown("table", table_name, self.environment.tables, name)
        if column_name not in table.columns:
            raise self.unknown("column", column_name, table.columns, column)
        if function.arguments[1] == "text":
            self.want(row, Form.TEXT)
        elif table.step is None:
            raise self.error(f'the table "{table_name}" has no steps', name)
        else:
            kind = self.want(row, Form.NUMBER)
            if (kind.exponents, kind.point) != (table.step.exponents, table.step.point):
                raise self.error(
                    f'the steps of "{table_name}" are of kind {table.step.describe()}, and '
                    f'"{self.source(row)}" is {kind.describe()}',
                    row,
                )
        return table.columns[column_name]


def _result(function: FormulaFunction, shared: Kind) -> Kind:
    match function.result:
        case "same" | "level":
            return replace(shared, optional=False)
        case "difference":
            return Kind(exponents=shared.exponents)
        case "root":
            return Kind(exponents=tuple((name, power / 2) for name, power in shared.exponents))
        case "temperature":
            return TEMPERATURE
        case "kelvins":
            return DIFFERENCE
        case "boolean":
            return BOOLEAN
        case "names":
            return NAMES
    return RATIO


def _read_text(node: ast.expr) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    return None


def _read_literal(node: ast.expr) -> float | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return float(node.value)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inner = _read_literal(node.operand)
        return None if inner is None else -inner
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div):
        over, under = _read_literal(node.left), _read_literal(node.right)
        return over / under if over is not None and under else None
    return None
