"""The diagnosis as a plain browser script: the same functions, compiled.

The page and the terminal must never disagree, so no algorithm is written twice. The modules are
compiled by pscript with operator overloading off, which keeps arithmetic bare and fast; what they
import from Python's own library stands in the table of host functions below.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Mapping
from functools import cache
from importlib.metadata import version
from pathlib import Path
from types import MappingProxyType, ModuleType

from builder.remembered import remember
from builder.twin.diagnosis import evidence, fixes, indexing, inference, questions, tables

MODULES: tuple[ModuleType, ...] = (indexing, tables, evidence, inference, questions, fixes)
HOST_FUNCTIONS: Mapping[str, str] = MappingProxyType(
    {
        "log2": "Math.log2",
    }
)
PUBLIC_FUNCTIONS = (
    "index_network",
    "infer",
    "choose_question",
    "is_settled",
    "explain",
    "rank_fixes",
    "expect_cost",
    "measure_entropy",
    "measure_gain",
)


class _Bare(ast.NodeTransformer):
    """Take out of a function what only Python needs: annotations and docstrings."""

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        self.generic_visit(node)
        node.returns = None
        for argument in node.args.args:
            argument.annotation = None
        body = node.body[1:] if ast.get_docstring(node) is not None else node.body
        node.body = [*ast.parse("PSCRIPT_OVERLOAD = False").body, *body]
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST | None:
        if node.value is None:
            return None
        return ast.copy_location(ast.Assign([node.target], node.value), node)


def _strip_module(module: ModuleType) -> str:
    tree = ast.parse(inspect.getsource(module))
    tree.body = [
        node
        for node in tree.body
        if isinstance(node, ast.Assign | ast.FunctionDef)
        and not (isinstance(node, ast.FunctionDef) and node.name in HOST_FUNCTIONS)
    ]
    return ast.unparse(ast.fix_missing_locations(_Bare().visit(tree)))


def _compile(source: str) -> str:
    from pscript import py2js

    return str(py2js(source, inline_stdlib=True, docstrings=False)).strip()


@cache
def compile_diagnosis() -> str:
    """Compile the diagnosis to a plain script.

    Returns:
        JavaScript text that adds `PUBLIC_FUNCTIONS` to the global `benchlore`, creating it where it
        is not there yet. No module syntax, so that it runs from a folder on disk too.
    """
    compiled = remember(
        lambda: _compile("\n".join(_strip_module(module) for module in MODULES)),
        *(inspect.getsource(module) for module in MODULES),
        Path(__file__).read_text(encoding="utf-8"),
        version("pscript"),
    )
    host = [f"var {name} = {text};" for name, text in HOST_FUNCTIONS.items()]
    public = [f"benchlore.{name} = {name};" for name in PUBLIC_FUNCTIONS]
    return "\n".join(
        [
            "var benchlore = benchlore || {};",
            "(function () {",
            '"use strict";',
            *host,
            compiled,
            *public,
            "})();",
            "",
        ]
    )
