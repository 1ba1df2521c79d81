"""Formulas as text: Python's own expression syntax, read by `ast` against an allow-list of nodes.

What is not on the list below is refused before anything runs: no attribute except a declared column
of a row, no call except to the table of functions, no subscript, no assignment, no lambda, no
f-string, no keyword, no text that is not an argument or a comparison. Size, depth and literals are
bounded, so that reading a formula always ends soon.

    solution_mass * share / (1 - share)
    sum(row.mass * row.price for row in items)
    "small" if mass < limit else "large"          is refused: text stands only in comparisons
"""

from __future__ import annotations

import ast
import keyword
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches

from builder.formulas.functions import CONSTANTS, FUNCTIONS

MAX_LENGTH = 2000
"""Most characters of one formula."""
MAX_NODES = 400
"""Most parts of one formula."""
MAX_DEPTH = 40
"""Deepest nesting of one formula."""
MAX_LITERAL = 1e15
"""Largest number that may be written out."""

NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
_TEXT = re.compile(r"[A-Za-z0-9 ._%°/-]{0,60}")

_ARITHMETIC = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow)
_COMPARISONS = (ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq)
_REFUSALS: dict[type[ast.AST], str] = {
    ast.Attribute: "a full stop may only lead to a column of a row",
    ast.Subscript: "square brackets are not used in formulas",
    ast.Lambda: "lambda is not used in formulas",
    ast.NamedExpr: "a formula cannot set a name",
    ast.JoinedStr: "text with braces is not used in formulas",
    ast.ListComp: "lists are not used in formulas; write sum(... for row in rows)",
    ast.SetComp: "sets are not used in formulas",
    ast.DictComp: "mappings are not used in formulas",
    ast.Dict: "mappings are not used in formulas",
    ast.List: "lists are not used in formulas",
    ast.Set: "sets are not used in formulas",
    ast.Tuple: "a comma only separates what stands in the brackets of a function",
    ast.Await: "await is not used in formulas",
    ast.Yield: "yield is not used in formulas",
    ast.Starred: "a star in front of a name is not used in formulas",
    ast.GeneratorExp: '"for" stands only alone inside a function such as sum(... for row in rows)',
}


class FormulaError(ValueError):
    """A formula that cannot be used; says what, and where in its text.

    Args:
        message: What is wrong, in plain words.
        text: The formula.
        offset: Where the trouble begins, in characters from 0.
        length: How many characters it covers.
    """

    def __init__(self, message: str, text: str, offset: int = 0, length: int = 1) -> None:
        super().__init__(message)
        self.message = message
        self.text = text
        self.offset = max(0, min(offset, len(text)))
        self.length = max(1, min(length, len(text) - self.offset))

    def render(self) -> str:
        """Show the formula with a caret line under the place, two lines."""
        start = max(0, self.offset - 50) if len(self.text) > 100 else 0
        shown = self.text[start : start + 100]
        carets = "^" * min(self.length, max(1, 100 - (self.offset - start)))
        return f"{shown}\n{' ' * (self.offset - start)}{carets}"


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula that passed the allow-list.

    Args:
        text: As written, on one line.
        tree: Its tree; only nodes of the allow-list.
        names: Inputs, constants and values it needs, in alphabetical order.
    """

    text: str
    tree: ast.expr
    names: tuple[str, ...]

    def place(self, node: ast.AST) -> tuple[int, int]:
        """Give the offset and length, in characters, of a node in the text."""
        return _place(self.text, node)


def _place(text: str, node: ast.AST) -> tuple[int, int]:
    encoded = text.encode()
    start = int(getattr(node, "col_offset", 0))
    end = int(getattr(node, "end_col_offset", None) or start + 1)
    offset = len(encoded[:start].decode(errors="ignore"))
    return offset, len(encoded[start:end].decode(errors="ignore"))


def is_name(text: str) -> bool:
    """Say whether a text may name an input, a value or an output."""
    return (
        NAME.fullmatch(text) is not None
        and not keyword.iskeyword(text)
        and text not in FUNCTIONS
        and text not in CONSTANTS
    )


def list_lookups(formula: Formula) -> tuple[tuple[str, str], ...]:
    """List the tables and columns that a formula looks things up in."""
    found = set()
    for node in ast.walk(formula.tree):
        match node:
            case ast.Call(
                func=ast.Name(id=name),
                args=[ast.Constant(value=str() as table), _, ast.Constant(value=str() as column)],
            ) if FUNCTIONS[name].result == "cell":
                found.add((table, column))
    return tuple(sorted(found))


def parse_formula(text: str) -> Formula:
    """Read a formula.

    Args:
        text: The formula; line breaks count as spaces.

    Raises:
        FormulaError: With the place and the reason, whatever the text.

    Example: `parse_formula("mass / (1 - share)").names` is `("mass", "share")`.
    """
    line = re.sub(r"\s", " ", text).strip()
    if not line:
        raise FormulaError("the formula is empty", line)
    if len(line) > MAX_LENGTH:
        raise FormulaError(f"the formula is longer than {MAX_LENGTH} characters", line)
    for sign, reason in (("#", "no notes"), ("\\", "no backslash"), ("\0", "no control signs")):
        if sign in line:
            raise FormulaError(f"a formula holds {reason}", line, line.index(sign))
    _refuse_deep_text(line)
    try:
        tree = ast.parse(line, mode="eval").body
    except SyntaxError as error:
        offset = max(0, (error.offset or 1) - 1)
        raise FormulaError(f"this cannot be read: {error.msg}", line, offset) from error
    except (ValueError, MemoryError, RecursionError) as error:
        raise FormulaError("this cannot be read", line) from error
    count = 0
    for count, _ in enumerate(ast.walk(tree), 1):
        if count > MAX_NODES:
            raise FormulaError(f"the formula has more than {MAX_NODES} parts; split it", line)
    names = set(_check(tree, _Position(line, frozenset(), 0, "value")))
    return Formula(line, tree, tuple(sorted(names)))


def _refuse_deep_text(line: str) -> None:
    """Refuse brackets or signs stacked so deep that Python's own reader might give up."""
    depth = run = 0
    for offset, sign in enumerate(line):
        depth += (sign in "([{") - (sign in ")]}")
        run = run + 1 if sign in "+-~" else (run if sign == " " else 0)
        if depth > MAX_DEPTH or run > MAX_DEPTH:
            raise FormulaError(f"this is nested more than {MAX_DEPTH} deep", line, offset)


@dataclass(frozen=True, slots=True)
class _Position:
    """What surrounds a node: the text, row variables in reach, depth, and what may stand here."""

    text: str
    rows: frozenset[str]
    depth: int
    wants: str

    def inside(self, wants: str = "value", row: str | None = None) -> _Position:
        rows = self.rows if row is None else self.rows | {row}
        return _Position(self.text, rows, self.depth + 1, wants)

    def error(self, message: str, node: ast.AST) -> FormulaError:
        return FormulaError(message, self.text, *_place(self.text, node))


def _check(node: ast.AST, place: _Position) -> Iterator[str]:
    """Refuse what is not on the list; yield the names used."""
    if place.depth > MAX_DEPTH:
        raise place.error(f"this is nested more than {MAX_DEPTH} deep", node)
    match node:
        case ast.Constant():
            _check_constant(node, place)
        case ast.Name(id=name):
            if name in place.rows:
                raise place.error(f'"{name}" is a row; name one of its columns', node)
            if NAME.fullmatch(name) is None:
                raise place.error(f'"{name}" cannot be a name in a formula', node)
            if name in FUNCTIONS:
                raise place.error(f'"{name}" is a function; it needs brackets', node)
            if name not in CONSTANTS:
                yield name
        case ast.Attribute(value=ast.Name(id=row), attr=column) if row in place.rows:
            if NAME.fullmatch(column) is None:
                raise place.error(f'"{column}" cannot be a column', node)
        case ast.BinOp(left=left, op=op, right=right) if isinstance(op, _ARITHMETIC):
            yield from _check(left, place.inside())
            yield from _check(right, place.inside())
        case ast.UnaryOp(op=ast.USub() | ast.UAdd() | ast.Not(), operand=operand):
            yield from _check(operand, place.inside())
        case ast.BoolOp(values=values):
            for value in values:
                yield from _check(value, place.inside())
        case ast.Compare(left=left, ops=ops, comparators=others) if all(
            isinstance(op, _COMPARISONS) for op in ops
        ):
            equal = all(isinstance(op, ast.Eq | ast.NotEq) for op in ops)
            for value in (left, *others):
                yield from _check(value, place.inside("text" if equal else "value"))
        case ast.IfExp(test=test, body=body, orelse=orelse):
            for value in (test, body, orelse):
                yield from _check(value, place.inside())
        case ast.Call():
            yield from _check_call(node, place)
        case ast.BinOp() | ast.UnaryOp() | ast.Compare():
            raise place.error("this sign is not used in formulas", node)
        case _:
            reason = _REFUSALS.get(type(node), f"{type(node).__name__} is not used in formulas")
            raise place.error(reason, node)


def _check_constant(node: ast.Constant, place: _Position) -> None:
    value = node.value
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise place.error("only numbers and text are written out in a formula", node)
    if isinstance(value, str):
        if place.wants != "text":
            raise place.error("text stands only in a comparison or in a function", node)
        if node.kind is not None or _TEXT.fullmatch(value) is None:
            raise place.error(
                "text in a formula holds only letters, digits, spaces and - _ .", node
            )
    elif not (abs(value) <= MAX_LITERAL and math.isfinite(value)):
        raise place.error("this number is too large", node)


def _check_call(node: ast.Call, place: _Position) -> Iterator[str]:
    if not isinstance(node.func, ast.Name):
        raise place.error("only functions of the table can be called, by their name", node.func)
    function = FUNCTIONS.get(node.func.id)
    if function is None:
        near = get_close_matches(node.func.id, list(FUNCTIONS), n=1, cutoff=0.6)
        meant = f'; did you mean "{near[0]}"?' if near else ""
        listed = ", ".join(sorted(FUNCTIONS))
        message = f'there is no function "{node.func.id}"{meant} There are: {listed}'
        raise place.error(message if meant else message.replace('" There', '"; there'), node.func)
    if node.keywords:
        raise place.error("write the values in order, without names", node)
    if len(node.args) == 1 and isinstance(node.args[0], ast.GeneratorExp):
        if not function.aggregate:
            raise place.error(f'"{function.name}" does not run over rows', node)
        yield from _check_rows(node.args[0], place)
        return
    for argument in node.args:
        yield from _check(argument, place.inside("text"))


def _check_rows(node: ast.GeneratorExp, place: _Position) -> Iterator[str]:
    if len(node.generators) != 1:
        raise place.error('only one "for" may stand here', node)
    if place.rows:
        raise place.error("rows cannot be run over inside rows; name a value for it", node)
    part = node.generators[0]
    if part.is_async or not isinstance(part.target, ast.Name):
        raise place.error('write "for row in rows" with a plain name', node)
    row = part.target.id
    if NAME.fullmatch(row) is None or row in FUNCTIONS or row in CONSTANTS or row in place.rows:
        raise place.error(f'"{row}" cannot name a row here', part.target)
    if not isinstance(part.iter, ast.Name):
        raise place.error('"in" is followed by the name of a row input', part.iter)
    yield from _check(part.iter, place.inside())
    if len(part.ifs) > 1:
        raise place.error('only one "if" may stand here; join them with "and"', part.ifs[1])
    for condition in part.ifs:
        yield from _check(condition, place.inside(row=row))
    yield from _check(node.elt, place.inside("text", row=row))
