"""Compiles lowered formulas, and the modules that both languages share, to JavaScript (pscript).

Operator overloading is off: `+` is a plain `+`. What comes out are plain scripts (no modules), so
that a page opened from a folder runs them.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import count
from pathlib import Path
from string import ascii_lowercase
from types import ModuleType
from typing import Any

from builder.formulas.lowering import TABLES, VALUES
from builder.remembered import remember
from builder.twin import arithmetic, number_format, primitives

FUNCTIONS_OBJECT = "b"
"""Through this object a calculator's script reaches the functions of the runtime."""
_LOOK_UP = re.compile(r"(?<=[\w\])])\[\"([A-Za-z_]\w*)\"\]")
_KEYS_OF_MAPPING = re.compile(
    r'if \(\(typeof (\w+) === "object"\) && \(!Array\.isArray\(\1\)\)\) '
    r"\{ ?\1 = Object\.keys\(\1\);\}"
)
_LIST_KEYS = """function list_keys(x) {
return typeof x === "object" && !Array.isArray(x) ? Object.keys(x) : x; }
"""
_TOP_FUNCTION = re.compile(r"^(?=\w+ = function)", re.MULTILINE)
_HELPER_NAME = re.compile(r"\bstub\d+_\w*")


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


class _Shorten(ast.NodeTransformer):
    """Gives the local names of a function short ones, because every page carries them.

    Safe because functions of ours are called by position alone, and because a name is the same one
    wherever it stands in a function.
    """

    def __init__(self, outside: frozenset[str]) -> None:
        self.outside = outside
        self.names: dict[str, str] = {}

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        used = [part.id for part in ast.walk(node) if isinstance(part, ast.Name)]
        local = [part.arg for part in ast.walk(node) if isinstance(part, ast.arg)]
        for part in ast.walk(node):
            if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Store):
                local.append(part.id)
            elif isinstance(part, ast.ExceptHandler) and part.name:
                local.append(part.name)
            elif isinstance(part, ast.keyword):
                raise TypeError(f"{node.name} calls by keyword; its names cannot be shortened")
        bound = [name for name in dict.fromkeys(local) if name not in self.outside]
        free = {*used, *self.outside} - set(bound)
        short = (name for name in _list_short_names() if name not in free)
        self.names = dict(zip(bound, short, strict=False))
        self.generic_visit(node)
        self.names = {}
        return node

    def visit_Name(self, node: ast.Name) -> ast.Name:
        node.id = self.names.get(node.id, node.id)
        return node

    def visit_arg(self, node: ast.arg) -> ast.arg:
        node.arg = self.names.get(node.arg, node.arg)
        return node

    def visit_ExceptHandler(self, node: ast.ExceptHandler) -> ast.ExceptHandler:
        self.generic_visit(node)
        node.name = self.names.get(node.name or "", node.name)
        return node


def _list_short_names() -> Iterator[str]:
    """Give `a` to `z`, then `a1` ...; small letters, since a capital would be taken as a class."""
    for number in count():
        yield from (f"{letter}{number or ''}" for letter in ascii_lowercase)


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
    return remember(lambda: _compile(source, library), _name_compiler(), str(library), source)


@cache
def _name_compiler() -> str:
    """Name what the compiled text depends on besides its source: the compiler, and this module."""
    from importlib.metadata import version

    return f"pscript {version('pscript')} {Path(__file__).read_text(encoding='utf-8')}"


def _compile(source: str, library: bool) -> str:
    tree = _Plain().visit(ast.parse(source))
    outside = {part.name for part in tree.body if isinstance(part, ast.FunctionDef)}
    for part in tree.body:
        if isinstance(part, ast.Assign):
            outside.update(name.id for name in part.targets if isinstance(name, ast.Name))
    tree = ast.fix_missing_locations(_Shorten(frozenset(outside)).visit(tree))
    compiler = _load_compiler()
    text: str = compiler(ast.unparse(tree), inline_stdlib=library).dump()
    # Bound functions are of no use here, since no function of ours looks at `this`.
    text = text.replace("}).bind(this)", "})")
    text = re.sub(r" = function flx_\w+ \(", " = function (", text)
    text = _LOOK_UP.sub(r".\1", text)
    if library:
        text = _LIST_KEYS + text
    text = _KEYS_OF_MAPPING.sub(r"\1 = list_keys(\1);", text)
    return "".join(_shorten_helpers(part) for part in _TOP_FUNCTION.split(text))


def _shorten_helpers(function: str) -> str:
    """Count the compiler's own helper names from one in each function."""
    seen: dict[str, str] = {}
    return _HELPER_NAME.sub(lambda name: seen.setdefault(name[0], f"_{len(seen)}"), function)


def compile_modules(modules: Iterable[ModuleType]) -> str:
    """Compile whole modules into one script; names must be unique over all of them."""
    return compile_source("\n".join(inspect.getsource(module) for module in modules))


@cache
def compile_figures() -> str:
    """Give the script that writes numbers as text, the same as `figures` does."""
    return compile_modules((number_format,))


@cache
def emit_figures() -> str:
    """Give the script that every page loads first: all of `figures`, as `benchlore.figures`."""
    names = ", ".join(f"{name}: {name}" for name in _list_names(number_format))
    return strip_script(
        "var benchlore = benchlore || {};\n"
        f"benchlore.figures = (function () {{\n{compile_figures()}\nreturn {{{names}}};\n}})();\n"
    )


@cache
def use_figures(modules: tuple[ModuleType, ...]) -> str:
    """Give the statement by which a script takes what modules import from `figures`."""
    wanted: set[str] = set()
    for module in modules:
        for part in ast.parse(inspect.getsource(module)).body:
            if isinstance(part, ast.ImportFrom) and part.module == number_format.__name__:
                wanted.update(name.name for name in part.names)
    taken = ", ".join(f"{name} = benchlore.figures.{name}" for name in sorted(wanted))
    return f"var {taken};\n" if taken else ""


def _list_names(module: ModuleType) -> list[str]:
    """List the functions and constants that a module defines, in order."""
    names: list[str] = []
    for part in ast.parse(inspect.getsource(module)).body:
        if isinstance(part, ast.FunctionDef):
            names.append(part.name)
        elif isinstance(part, ast.Assign | ast.AnnAssign):
            targets = part.targets if isinstance(part, ast.Assign) else [part.target]
            names.extend(target.id for target in targets if isinstance(target, ast.Name))
    return names


def compile_runtime(*modules: ModuleType, apart: bool = False) -> str:
    """Give the script of everything formulas need, with further modules behind it.

    Args:
        modules: The further modules.
        apart: Take number text from `benchlore.figures`, which then must be there, in place of
            carrying it once more.
    """
    if apart:
        taken = use_figures((arithmetic, *modules))
        return primitives.JAVASCRIPT + taken + compile_modules((arithmetic, *modules))
    return primitives.JAVASCRIPT + compile_modules((number_format, arithmetic, *modules))


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
    formulas = [ast.unparse(tree) for tree in trees]
    text = remember(lambda: _compile_formulas(formulas), _name_compiler(), *formulas)
    begin = f"function ({VALUES}, {TABLES})"
    return text.strip().rstrip(";").replace(f"}}, {begin}", f"}},\n{begin}")


def _compile_formulas(formulas: Sequence[str]) -> str:
    scoped = [ast.unparse(_Scoped().visit(ast.parse(text, mode="eval"))) for text in formulas]
    return _compile(
        f"[{', '.join(f'(lambda {VALUES}, {TABLES}: {text})' for text in scoped)}]", False
    )


def strip_script(text: str) -> str:
    """Take indentation, empty lines and whole-line comments out of a script."""
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))
