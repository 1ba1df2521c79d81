"""Turns a formula's tree into the plain tree that both languages run.

Every operation on which Python and JavaScript differ becomes a call to a function of ours:
division, powers, the functions of the table; chained comparisons become pairs; whole numbers become
floats.
Names become look-ups in the mapping of values `v`, tables in the mapping `t`.

    time / steps ** 2      becomes      divide(v["time"], power(v["steps"], 2.0))
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass

from builder.formulas.expression import Formula
from builder.formulas.functions import CONSTANTS, FUNCTIONS
from builder.formulas.kinds import Environment, Form, Kind

VALUES = "v"
TABLES = "t"


def lower_formula(formula: Formula, environment: Environment) -> ast.expr:
    """Give the tree that runs, over the names `v` (values) and `t` (tables).

    Args:
        formula: One that passed `check_formula` in the same environment.
        environment: Tells which names may be missing, so that their use fails in words.
    """
    tree = _Lowering(environment, {}).visit(formula.tree)
    return ast.fix_missing_locations(tree)


def _call(name: str, *arguments: ast.expr) -> ast.expr:
    return ast.Call(ast.Name(name, ast.Load()), list(arguments), [])


def _compare(one: ast.expr, op: ast.cmpop, two: ast.expr) -> ast.expr:
    """Compare: a hair beside a value counts as the value, so that no bound is missed by a bit."""
    match op:
        case ast.Gt():
            return _call("is_above", one, two)
        case ast.Lt():
            return _call("is_above", two, one)
        case ast.GtE():
            return ast.UnaryOp(ast.Not(), _call("is_above", two, one))
        case ast.LtE():
            return ast.UnaryOp(ast.Not(), _call("is_above", one, two))
        case _:
            return ast.Compare(one, [op], [two])


def _item(base: str, key: str) -> ast.expr:
    return ast.Subscript(ast.Name(base, ast.Load()), ast.Constant(key), ast.Load())


@dataclass(frozen=True, slots=True)
class _Lowering:
    environment: Environment
    rows: Mapping[str, Kind]

    def visit(self, node: ast.expr) -> ast.expr:
        match node:
            case ast.Constant(value=str()):
                return node
            case ast.Constant(value=value) if isinstance(value, int | float):
                return ast.Constant(float(value))
            case ast.Name(id=name):
                if name in CONSTANTS:
                    return ast.Constant(CONSTANTS[name])
                return self.guard(_item(VALUES, name), self.environment.names[name], name)
            case ast.Attribute(value=ast.Name(id=row), attr=column):
                kind = self.rows[row].columns[column]
                return self.guard(_item(f"row_{row}", column), kind, column)
            case ast.UnaryOp(op=op, operand=operand):
                return ast.UnaryOp(op, self.visit(operand))
            case ast.BinOp(left=left, op=op, right=right):
                one, two = self.visit(left), self.visit(right)
                if isinstance(op, ast.Div):
                    return _call("divide", one, two)
                if isinstance(op, ast.Pow):
                    return _call("power", one, two)
                return ast.BinOp(one, op, two)
            case ast.BoolOp(op=boolean, values=values):
                return ast.BoolOp(boolean, [self.visit(value) for value in values])
            case ast.Compare(left=left, ops=ops, comparators=others):
                parts = [left, *others]
                pairs = [
                    _compare(self.visit(one), op, self.visit(two))
                    for one, op, two in zip(parts, ops, parts[1:], strict=False)
                ]
                return pairs[0] if len(pairs) == 1 else ast.BoolOp(ast.And(), pairs)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                return ast.IfExp(self.visit(test), self.visit(body), self.visit(orelse))
            case ast.Call(func=ast.Name(id=name)):
                return self.visit_call(name, node)
        raise TypeError(f"{type(node).__name__} passed the allow-list but cannot be lowered")

    def guard(self, look_up: ast.expr, kind: Kind, name: str) -> ast.expr:
        if not kind.optional:
            return look_up
        return _call("need", look_up, ast.Constant(kind.label or name))

    def visit_call(self, name: str, node: ast.Call) -> ast.expr:
        function = FUNCTIONS[name]
        if name == "given":
            guarded = self.visit(node.args[0])
            assert isinstance(guarded, ast.Call)
            return _call(function.target, guarded.args[0])
        if function.result == "cell":
            table, row, column = node.args
            assert isinstance(table, ast.Constant)
            return _call(function.target, _item(TABLES, str(table.value)), self.visit(row), column)
        if function.aggregate and len(node.args) == 1:
            only = node.args[0]
            if isinstance(only, ast.GeneratorExp):
                return _call(function.target, self.visit_rows(only))
            if isinstance(only, ast.Name) and self.is_rows(only.id):
                return _call("count_rows", _item(VALUES, only.id))
        arguments = [self.visit(argument) for argument in node.args]
        if function.variadic:
            fixed = len(function.arguments) - 1
            arguments = [*arguments[:fixed], ast.List(arguments[fixed:], ast.Load())]
        return _call(function.target, *arguments)

    def is_rows(self, name: str) -> bool:
        kind = self.environment.names.get(name)
        return kind is not None and kind.form is Form.ROWS

    def visit_rows(self, node: ast.GeneratorExp) -> ast.expr:
        part = node.generators[0]
        assert isinstance(part.iter, ast.Name)
        assert isinstance(part.target, ast.Name)
        kind = self.environment.names[part.iter.id]
        inside = _Lowering(self.environment, {part.target.id: kind})
        row = f"row_{part.target.id}"
        take = _lambda(row, inside.visit(node.elt))
        rows = _item(VALUES, part.iter.id)
        if part.ifs:
            return _call("each_if", rows, _lambda(row, inside.visit(part.ifs[0])), take)
        return _call("each", rows, take)


def _lambda(name: str, body: ast.expr) -> ast.expr:
    arguments = ast.arguments([], [ast.arg(name)], None, [], [], None, [])
    return ast.Lambda(arguments, body)
