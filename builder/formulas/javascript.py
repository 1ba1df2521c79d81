"""Writes lowered formulas as JavaScript functions of the values and tables."""

from __future__ import annotations

import ast
from collections.abc import Sequence

from builder.formulas.lowering import TABLES, VALUES
from builder.javascript import write_expression

FUNCTIONS_OBJECT = "b"
"""Through this object a calculator's script reaches the functions of the twin."""


def compile_to_javascript(trees: Sequence[ast.expr]) -> str:
    """Give the text of an array of functions of values and tables, one for each formula.

    The functions they call are members of an object named `b`.
    """
    written = (
        f"({VALUES}, {TABLES}) => {write_expression(tree, FUNCTIONS_OBJECT)}" for tree in trees
    )
    return "[" + ",\n".join(written) + "]"
