"""Runs a lowered formula in Python: its tree is compiled with no builtins and no other names."""

from __future__ import annotations

import ast
from collections.abc import Callable, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

from builder.formulas.functions import FUNCTIONS
from builder.formulas.lowering import TABLES, VALUES
from builder.twin import arithmetic

Evaluator = Callable[[Mapping[str, Any], Mapping[str, Any]], Any]
"""Takes the values and the tables, in coherent base units; gives the result."""

OPERATIONS = ("divide", "power", "need", "each", "each_if", "count_rows", "is_above")
"""Functions that lowering calls beside those of the table."""


@cache
def list_callables() -> Mapping[str, Callable[..., Any]]:
    """List all that a formula can ever reach, by name."""
    callables: dict[str, Callable[..., Any]] = {
        name: getattr(arithmetic, name) for name in OPERATIONS
    }
    for function in FUNCTIONS.values():
        callables[function.target] = function.python
    return MappingProxyType(callables)


def compile_to_python(tree: ast.expr) -> Evaluator:
    """Compile a lowered formula into a function of values and tables.

    The function raises `FormulaFailure` where the formula has no answer for the values.
    """
    arguments = ast.arguments([], [ast.arg(VALUES), ast.arg(TABLES)], None, [], [], None, [])
    body = ast.Expression(ast.Lambda(arguments, tree))
    code = compile(ast.fix_missing_locations(body), "<formula>", "eval")
    evaluator: Evaluator = eval(code, {"__builtins__": {}, **list_callables()})
    return evaluator
