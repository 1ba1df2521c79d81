"""Compiles lowered formulas, and the modules that both languages share, to JavaScript (pscript).

Operator overloading is off: `+` is a plain `+`. What comes out are plain scripts (no modules), so
that a page opened from a folder runs them.
"""

from __future__ import annotations

import ast
import copy
import inspect
import re
from collections.abc import Iterable, Sequence
from functools import cache
from types import ModuleType
from typing import Any

from builder import figures
from builder.formulas import arithmetic, primitives
from builder.formulas.lowering import TABLES, VALUES

FUNCTIONS_OBJECT = "b"
"""Through this object a calculator's script reaches the functions of the runtime."""
_LOOK_UP = re.compile(r"\b(v|t|row_\w+)\[\"([a-z]\w*)\"\]")


@cache
def _load_compiler() -> Any:
    from pscript import Parser

    class PlainCompiler(Parser):  # type: ignore[misc]
        """Compiles without overloading `+`, `*`, `==` and truth, in every scope."""

        @property
        def _pscript_overload(self) -> bool:
            return False

    return PlainCompiler


class _Plain(ast.NodeTransformer):
    """Takes away what only Python needs: docstrings, annotations, imports."""

    def visit_Module(self, node: ast.Module) -> ast.Module:
        node.body = [
            part
            for part in node.body
            if not isinstance(part, ast.Import | ast.ImportFrom) and not _is_text(part)
        ]
        self.generic_visit(node)
        return node

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        node.returns = None
        node.body = [part for part in node.body if not _is_text(part)] or [ast.Pass()]
        for argument in node.args.args:
            argument.annotation = None
        self.generic_visit(node)
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST | None:
        self.generic_visit(node)
        if node.value is None:
            return None
        return ast.Assign([node.target], node.value, lineno=node.lineno)


def _is_text(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def compile_source(source: str, *, library: bool = True) -> str:
    """Compile Python text to JavaScript statements.

    Args:
        source: Text in the part of Python that compiles.
        library: Whether to put the compiler's own helper functions in front.

    Returns:
        Statements without strict mode or module syntax.
    """
    tree = ast.fix_missing_locations(_Plain().visit(ast.parse(source)))
    compiler = _load_compiler()
    text: str = compiler(ast.unparse(tree), inline_stdlib=library).dump()
    # Bound functions are of no use here, since no function of ours looks at `this`.
    text = text.replace("}).bind(this)", "})")
    return re.sub(r" = function flx_\w+ \(", " = function (", text)


def compile_modules(modules: Iterable[ModuleType]) -> str:
    """Compile whole modules into one script; names must be unique over all of them."""
    return compile_source("\n".join(inspect.getsource(module) for module in modules))


@cache
def compile_figures() -> str:
    """Give the script that writes numbers as text, the same as `figures` does."""
    return compile_modules((figures,))


def compile_runtime(*modules: ModuleType) -> str:
    """Give the script of everything formulas need, with further modules behind it."""
    return primitives.JAVASCRIPT + compile_modules((figures, arithmetic, *modules))


class _Scoped(ast.NodeTransformer):
    """Calls our functions through one object, so that a script of its own can reach them."""

    def visit_Call(self, node: ast.Call) -> ast.Call:
        self.generic_visit(node)
        if isinstance(node.func, ast.Name):
            scope = ast.Name(FUNCTIONS_OBJECT, ast.Load())
            node.func = ast.Attribute(scope, node.func.id, ast.Load())
        return node


def compile_to_javascript(trees: Sequence[ast.expr]) -> str:
    """Compile lowered formulas into the text of an array of functions of values and tables.

    The functions they call are members of an object named `b`.
    """
    functions = []
    for tree in trees:
        scoped = ast.fix_missing_locations(_Scoped().visit(copy.deepcopy(tree)))
        source = f"lambda {VALUES}, {TABLES}: {ast.unparse(scoped)}"
        text = compile_source(source, library=False).strip().rstrip(";")
        functions.append(_LOOK_UP.sub(r"\1.\2", text))
    return "[" + ",\n".join(functions) + "]"


def strip_script(text: str) -> str:
    """Take indentation, empty lines and whole-line comments out of a script."""
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))
