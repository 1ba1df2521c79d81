"""Writes a small part of Python as plain JavaScript, so that one text runs on both sides.

What is accepted: functions over numbers, text, lists and mappings; constants; the statements and
calls handled below. Everything else is refused with its line, so nothing is ever guessed. Where
the languages differ the written script does what Python does: truth of lists and mappings, `in`,
iteration over the keys of a mapping, remainders, sorting. Three things are left to whoever writes
such a module: lists and mappings are neither compared with `==` nor joined with `+`, an index is
never negative unless it is written out, and `str` is given whole numbers alone.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

HOST_NAMES: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("math", "log2"): "Math.log2",
        ("math", "pi"): "Math.PI",
        ("math", "inf"): "Infinity",
        ("math", "floor"): "Math.floor",
        ("math", "ceil"): "Math.ceil",
    }
)
"""What may be imported from Python's own library, and what it is called in the browser."""
_TYPING = ("__future__", "typing", "collections.abc")
_BUILTINS: Mapping[str, str] = MappingProxyType(
    {
        "len": "py_len",
        "abs": "Math.abs",
        "int": "Math.trunc",
        "float": "Number",
        "str": "String",
        "sorted": "py_sorted",
        "list": "py_list",
        "sum": "py_sum",
        "any": "py_any",
        "bool": "py_true",
        "all": "py_all",
        "enumerate": "py_enumerate",
        "zip": "py_zip",
    }
)
_SPECIAL = ("range", "min", "max", "cast")
_METHODS: Mapping[tuple[str, int], str] = MappingProxyType(
    {
        ("append", 1): "{0}.push({1})",
        ("extend", 1): "{0}.push(...py_iter({1}))",
        ("insert", 2): "{0}.splice({1}, 0, {2})",
        ("pop", 0): "{0}.pop()",
        ("pop", 1): "{0}.splice({1}, 1)[0]",
        ("reverse", 0): "{0}.reverse()",
        ("get", 1): "py_get({0}, {1}, null)",
        ("get", 2): "py_get({0}, {1}, {2})",
        ("items", 0): "Object.entries({0})",
        ("keys", 0): "Object.keys({0})",
        ("values", 0): "Object.values({0})",
        ("join", 1): "{1}.join({0})",
        ("split", 1): "{0}.split({1})",
        ("replace", 2): "{0}.split({1}).join({2})",
        ("startswith", 1): "{0}.startsWith({1})",
        ("endswith", 1): "{0}.endsWith({1})",
        ("find", 1): "{0}.indexOf({1})",
        ("lower", 0): "{0}.toLowerCase()",
        ("upper", 0): "{0}.toUpperCase()",
    }
)
"""Methods by name and number of arguments; `{0}` is what they are called on."""
_RESERVED_WORDS = (
    "arguments await break case catch class const continue debugger default delete do else enum"
    " eval export extends false finally for function if implements import in instanceof interface"
    " let new null package private protected public return static super switch this throw true"
    " try typeof undefined var void while with yield"
)
_RESERVED = frozenset(_RESERVED_WORDS.split(" "))
_ARROW, _CHOICE, _OR, _AND, _EQUAL, _ORDER = 1, 2, 3, 4, 8, 9
_UNARY, _CALL, _ATOM = 14, 17, 20
_BINARY: Mapping[type[ast.operator], tuple[str, int]] = MappingProxyType(
    {
        ast.BitOr: ("|", 5),
        ast.BitXor: ("^", 6),
        ast.BitAnd: ("&", 7),
        ast.LShift: ("<<", 10),
        ast.RShift: (">>", 10),
        ast.Add: ("+", 11),
        ast.Sub: ("-", 11),
        ast.Mult: ("*", 12),
        ast.Div: ("/", 12),
    }
)
_ORDERED: Mapping[type[ast.cmpop], tuple[str, int]] = MappingProxyType(
    {
        ast.Eq: ("===", _EQUAL),
        ast.NotEq: ("!==", _EQUAL),
        ast.Lt: ("<", _ORDER),
        ast.LtE: ("<=", _ORDER),
        ast.Gt: (">", _ORDER),
        ast.GtE: (">=", _ORDER),
    }
)
Written = tuple[str, int]
"""JavaScript text of an expression, and how strongly it holds together (higher is tighter)."""


class ScriptError(SyntaxError):
    """A piece of Python that has no JavaScript text here; a fault of whoever wrote it."""


@dataclass(frozen=True, slots=True)
class Script:
    """What a module becomes.

    Args:
        text: Statements; no module syntax.
        defines: The functions and constants at its top, in order.
        needs: Names it takes from other modules of ours, types left out.
    """

    text: str
    defines: tuple[str, ...]
    needs: tuple[str, ...]


def write_module(source: str, package: str = "builder.") -> Script:
    """Write a module.

    Args:
        source: Its text.
        package: Beginning of the names of modules that are written too.

    Raises:
        ScriptError: Where it holds something that cannot be written.
    """
    defines: list[str] = []
    needs: list[str] = []
    parts: list[str] = []
    renamed: dict[str, str] = {}
    tree = ast.parse(source)
    for node in tree.body:
        match node:
            case ast.ImportFrom(module=str() as module, names=names):
                for name in names:
                    if name.asname is not None:
                        raise _refuse(node, "an import under another name")
                    if module.startswith(package):
                        if not _is_type_name(name.name):
                            needs.append(name.name)
                    elif (module, name.name) in HOST_NAMES:
                        renamed[name.name] = HOST_NAMES[module, name.name]
                    elif module not in _TYPING:
                        raise _refuse(node, f"an import from {module}")
            case ast.ClassDef(name=name, bases=[ast.Name(id="TypedDict")]):
                pass
            case ast.FunctionDef(name=name):
                defines.append(name)
                parts.append(_Function(renamed).write(node))
            case ast.Expr(value=ast.Constant(value=str())):
                pass
            case ast.Assign(targets=[ast.Name(id=name)], value=value):
                if not _is_type_name(name):
                    defines.append(name)
                    parts.append(f"const {name} = {_Expressions(renamed).text(value)};")
            case ast.AnnAssign(target=ast.Name(id=name), value=ast.expr() as value):
                if not _is_type_name(name):
                    defines.append(name)
                    parts.append(f"const {name} = {_Expressions(renamed).text(value)};")
            case _:
                raise _refuse(node, type(node).__name__)
    _check_names(tree, {*defines, *needs, *renamed})
    return Script("\n".join(parts) + "\n", tuple(defines), tuple(needs))


def write_expression(tree: ast.expr, scope: str = "") -> str:
    """Write one expression.

    Args:
        tree: The expression.
        scope: Name of the object whose members the functions called by name are; "" for none.

    Raises:
        ScriptError: Where it holds something that cannot be written.
    """
    return _Expressions({}, scope).text(tree)


def _refuse(node: ast.AST, what: str) -> ScriptError:
    return ScriptError(f"line {getattr(node, 'lineno', 0)}: {what} has no JavaScript text")


def _is_type_name(name: str) -> bool:
    return name[0].isupper() and not name.isupper()


def _hold(written: Written, least: int) -> str:
    return written[0] if written[1] >= least else f"({written[0]})"


@dataclass(frozen=True, slots=True)
class _Expressions:
    """Writes expressions.

    Args:
        renamed: Names that have another name in the script.
        scope: As for `write_expression`.
    """

    renamed: Mapping[str, str]
    scope: str = ""

    def text(self, node: ast.expr) -> str:
        return self.visit(node)[0]

    def truth(self, node: ast.expr) -> Written:
        """Write what is asked for its truth alone."""
        match node:
            case ast.BoolOp():
                return self.join(node, [self.truth(value) for value in node.values])
            case ast.Name() | ast.Subscript() | ast.Attribute() if not self.scope:
                return f"py_true({self.text(node)})", _CALL
            case _:
                return self.visit(node)

    def visit(self, node: ast.expr) -> Written:
        match node:
            case ast.Constant(value=value):
                return self.visit_constant(node, value)
            case ast.Name(id=name):
                return self.name(name), _ATOM
            case ast.BinOp():
                return self.visit_binary(node)
            case ast.BoolOp():
                return self.join(node, [self.visit(value) for value in node.values])
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                return "!" + _hold(self.truth(operand), _UNARY), _UNARY
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                inside = _hold(self.visit(operand), _UNARY)
                return ("-" + (f"({inside})" if inside[0] == "-" else inside)), _UNARY
            case ast.UnaryOp(op=ast.UAdd(), operand=operand):
                return self.visit(operand)
            case ast.Compare():
                return self.visit_compare(node)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                asked = _hold(self.truth(test), _OR)
                return f"{asked} ? {self.hold(body)} : {self.hold(orelse)}", _CHOICE
            case ast.Call():
                return self.visit_call(node)
            case ast.Subscript(value=value, slice=index):
                return self.visit_item(value, index)
            case ast.List(elts=items) | ast.Tuple(elts=items):
                return f"[{', '.join(self.item(item) for item in items)}]", _ATOM
            case ast.Dict(keys=keys, values=values):
                pairs = [
                    f"{self.key(key)}: {self.text(value)}" if key else f"...{self.hold(value)}"
                    for key, value in zip(keys, values, strict=True)
                ]
                return ("{" + ", ".join(pairs) + "}"), _ATOM
            case ast.Lambda(args=arguments, body=body):
                return self.arrow(", ".join(self.parameters(arguments)), body)
            case (
                ast.ListComp(elt=result, generators=parts)
                | ast.GeneratorExp(elt=result, generators=parts)
            ):
                return self.visit_rows(node, parts, result)
            case ast.DictComp(key=key, value=value, generators=parts):
                pair = ast.copy_location(ast.List([key, value], ast.Load()), node)
                return f"Object.fromEntries({self.visit_rows(node, parts, pair)[0]})", _CALL
            case ast.JoinedStr(values=values):
                return self.visit_joined(values)
        raise _refuse(node, type(node).__name__)

    def hold(self, node: ast.expr) -> str:
        """Write what may not be a bare arrow function."""
        return _hold(self.visit(node), _CHOICE)

    def item(self, node: ast.expr) -> str:
        if isinstance(node, ast.Starred):
            return f"...py_iter({self.text(node.value)})"
        return self.text(node)

    def key(self, node: ast.expr) -> str:
        return self.text(node) if isinstance(node, ast.Constant) else f"[{self.text(node)}]"

    def name(self, name: str) -> str:
        if name in self.renamed:
            return self.renamed[name]
        return f"{name}_" if name in _RESERVED else name

    def visit_constant(self, node: ast.expr, value: object) -> Written:
        match value:
            case None:
                return "null", _ATOM
            case bool():
                return ("true" if value else "false"), _ATOM
            case str():
                return json.dumps(value, ensure_ascii=False).replace("</", "<\\/"), _ATOM
            case int() | float():
                if value != value or abs(value) == float("inf"):
                    raise _refuse(node, "a number that is not finite")
                if isinstance(value, int) and abs(value) > 2**53:
                    raise _refuse(node, "a whole number this large")
                text = repr(value)
                return (text[:-2] if text.endswith(".0") else text), _CALL - 1
        raise _refuse(node, f"a constant of type {type(value).__name__}")

    def visit_binary(self, node: ast.BinOp) -> Written:
        if isinstance(node.op, ast.Pow):
            # The only powers written out are of constants; what varies goes through a function.
            match node.left, node.right:
                case ast.Constant(value=base), (
                    ast.Constant() | ast.UnaryOp(op=ast.USub(), operand=ast.Constant())
                ):
                    exponent = ast.literal_eval(node.right)
                    return self.visit_constant(node, base**exponent)
            raise _refuse(node, "a power")
        if isinstance(node.op, ast.FloorDiv):
            inside = self.visit_binary(ast.copy_location(_divide(node), node))
            return f"Math.floor({inside[0]})", _CALL
        if isinstance(node.op, ast.Mod):
            if isinstance(node.left, ast.Constant) and isinstance(node.left.value, str):
                raise _refuse(node, "formatting by %")
            return f"py_mod({self.text(node.left)}, {self.text(node.right)})", _CALL
        if type(node.op) not in _BINARY:
            raise _refuse(node, type(node.op).__name__)
        if isinstance(node.left, ast.List) or isinstance(node.right, ast.List):
            raise _refuse(node, "joining lists by +")
        sign, level = _BINARY[type(node.op)]
        left, right = self.visit(node.left), self.visit(node.right)
        return f"{_hold(left, level)} {sign} {_hold(right, level + 1)}", level

    def join(self, node: ast.BoolOp, parts: Sequence[Written]) -> Written:
        sign, level = ("&&", _AND) if isinstance(node.op, ast.And) else ("||", _OR)
        return f" {sign} ".join(_hold(part, level + 1) for part in parts), level

    def visit_compare(self, node: ast.Compare) -> Written:
        sides = [node.left, *node.comparators]
        middle = sides[1:-1]
        if any(not isinstance(side, ast.Name | ast.Constant | ast.Subscript) for side in middle):
            raise _refuse(node, "a chain of comparisons that works something out in its middle")
        pairs = [
            self.compare(node, left, op, right)
            for left, op, right in zip(sides, node.ops, sides[1:], strict=False)
        ]
        if len(pairs) == 1:
            return pairs[0]
        return " && ".join(_hold(pair, _AND + 1) for pair in pairs), _AND

    def compare(self, node: ast.expr, left: ast.expr, op: ast.cmpop, right: ast.expr) -> Written:
        one, two = self.visit(left), self.visit(right)
        match op:
            case ast.Is() | ast.IsNot():
                if not (isinstance(right, ast.Constant) and right.value is None):
                    raise _refuse(node, "`is` with anything but None")
                sign = "==" if isinstance(op, ast.Is) else "!="
                return f"{_hold(one, _EQUAL)} {sign} null", _EQUAL
            case ast.In() | ast.NotIn():
                if isinstance(right, ast.List | ast.Tuple) or (
                    isinstance(right, ast.Constant) and isinstance(right.value, str)
                ):
                    text = f"{two[0]}.includes({one[0]})"
                else:
                    text = f"py_in({one[0]}, {two[0]})"
                return (text, _CALL) if isinstance(op, ast.In) else (f"!{text}", _UNARY)
        if isinstance(right, ast.List | ast.Dict | ast.Tuple):
            raise _refuse(node, "a comparison with a list or mapping")
        sign, level = _ORDERED[type(op)]
        return f"{_hold(one, level + 1)} {sign} {_hold(two, level + 1)}", level

    def visit_call(self, node: ast.Call) -> Written:
        named = {word.arg: word.value for word in node.keywords}
        match node.func:
            case ast.Name(id="sorted") if set(named) <= {"key"}:
                inside = [*node.args, *named.values()]
                return f"py_sorted({self.items(inside)})", _CALL
            case ast.Name(id=name) if named and not node.args and _is_type_name(name):
                pairs = [f"{key}: {self.text(value)}" for key, value in named.items()]
                return ("{" + ", ".join(pairs) + "}"), _ATOM
            case _ if named:
                raise _refuse(node, "a call with named arguments")
            case ast.Name(id="cast"):
                return self.visit(node.args[1])
            case ast.Name(id="range"):
                return f"py_range({self.items(node.args)})", _CALL
            case ast.Name(id=("min" | "max") as name) if not self.scope:
                if len(node.args) == 1:
                    return f"Math.{name}(...{self.hold(node.args[0])})", _CALL
                return f"Math.{name}({self.items(node.args)})", _CALL
            case ast.Name(id=name):
                target = f"{self.scope}.{name}" if self.scope else self.name(name)
                if not self.scope and name in _BUILTINS:
                    target = _BUILTINS[name]
                return f"{target}({self.items(node.args)})", _CALL
            case ast.Attribute(value=value, attr=method):
                pattern = _METHODS.get((method, len(node.args)))
                if pattern is None:
                    raise _refuse(node, f"the method {method} of {len(node.args)} arguments")
                inside_text = [self.hold(argument) for argument in node.args]
                if pattern.startswith("{1}."):
                    inside_text[0] = _hold(self.visit(node.args[0]), _CALL)
                return pattern.format(_hold(self.visit(value), _CALL), *inside_text), _CALL
            case ast.Subscript():
                return f"{self.text(node.func)}({self.items(node.args)})", _CALL
        raise _refuse(node, "a call of this")

    def items(self, nodes: Sequence[ast.expr]) -> str:
        return ", ".join(self.item(node) for node in nodes)

    def visit_item(self, value: ast.expr, index: ast.expr) -> Written:
        base = _hold(self.visit(value), _CALL)
        match index:
            case ast.Slice(lower=lower, upper=upper, step=None):
                ends = [self.text(lower) if lower else "0", *([self.text(upper)] if upper else [])]
                return f"{base}.slice({', '.join(ends if lower or upper else [])})", _CALL
            case ast.Slice():
                raise _refuse(value, "a slice with a step")
            case ast.Constant(value=str() as key) if key.isidentifier() and key.isascii():
                return f"{base}.{key}", _CALL
            case ast.UnaryOp(op=ast.USub(), operand=ast.Constant(value=int() as back)):
                return f"{base}[{base}.length - {back}]", _CALL
        return f"{base}[{self.text(index)}]", _CALL

    def parameters(self, arguments: ast.arguments) -> list[str]:
        if arguments.vararg or arguments.kwarg or arguments.kwonlyargs:
            raise ScriptError("arguments by name or of any number have no JavaScript text")
        plain = [*arguments.posonlyargs, *arguments.args]
        without = len(plain) - len(arguments.defaults)
        return [
            self.name(part.arg)
            + (f" = {self.text(arguments.defaults[place - without])}" if place >= without else "")
            for place, part in enumerate(plain)
        ]

    def arrow(self, parameters: str, body: ast.expr) -> Written:
        inside = self.text(body)
        return f"({parameters}) => {f'({inside})' if inside.startswith('{') else inside}", _ARROW

    def target(self, node: ast.expr) -> str:
        """Write what values are put into."""
        match node:
            case ast.Name(id=name):
                return self.name(name)
            case ast.Tuple(elts=items) | ast.List(elts=items):
                return f"[{', '.join(self.target(item) for item in items)}]"
            case ast.Subscript(value=value, slice=index):
                return self.visit_item(value, index)[0]
        raise _refuse(node, "putting a value into this")

    def visit_rows(
        self, node: ast.expr, parts: Sequence[ast.comprehension], result: ast.expr
    ) -> Written:
        """Write a comprehension; further `for` parts make a flat list."""
        part, *rest = parts
        name = self.target(part.target)
        rows = f"py_list({self.text(part.iter)})"
        for test in part.ifs:
            rows += f".filter(({name}) => {_hold(self.truth(test), _CHOICE)})"
        if rest:
            return f"{rows}.flatMap(({name}) => {self.visit_rows(node, rest, result)[0]})", _CALL
        return f"{rows}.map({self.arrow(name, result)[0]})", _CALL

    def visit_joined(self, values: Sequence[ast.expr]) -> Written:
        parts = ['""']
        for value in values:
            match value:
                case ast.Constant():
                    parts.append(self.text(value))
                case ast.FormattedValue(value=inside, conversion=-1, format_spec=None):
                    parts.append(f"String({self.text(inside)})")
                case _:
                    raise _refuse(value, "formatting in text")
        return " + ".join(parts), 11


def _divide(node: ast.BinOp) -> ast.BinOp:
    return ast.BinOp(node.left, ast.Div(), node.right)


class _Function(_Expressions):
    """Writes a function: its names live in the whole of it, as in Python."""

    __slots__ = ()

    def write(self, node: ast.FunctionDef, indent: str = "") -> str:
        if node.decorator_list:
            raise _refuse(node, "a decorator")
        _check_scopes(node)
        own = {part.arg for part in node.args.args}
        local = [name for name in dict.fromkeys(_list_stored(node.body)) if name not in own]
        lines = [f"{indent}function {node.name}({', '.join(self.parameters(node.args))}) {{"]
        if local:
            lines.append(f"{indent}  let {', '.join(self.name(name) for name in local)};")
        lines.extend(self.block(node.body, indent + "  "))
        return "\n".join([*lines, indent + "}"])

    def block(self, nodes: Sequence[ast.stmt], indent: str) -> list[str]:
        return [line for node in nodes for line in self.statement(node, indent)]

    def statement(self, node: ast.stmt, indent: str) -> Iterator[str]:
        inside = indent + "  "
        match node:
            case ast.Expr(value=ast.Constant()) | ast.Pass():
                return
            case ast.AnnAssign(value=None):
                return
            case ast.Expr(value=value):
                yield f"{indent}{self.text(value)};"
            case ast.Return(value=None):
                yield f"{indent}return null;"
            case ast.Return(value=ast.expr() as value):
                yield f"{indent}return {self.text(value)};"
            case ast.Assign(targets=[target], value=value):
                yield f"{indent}{self.target(target)} = {self.text(value)};"
            case ast.AnnAssign(target=target, value=ast.expr() as value):
                yield f"{indent}{self.target(target)} = {self.text(value)};"
            case ast.AugAssign(target=target, op=op, value=value) if type(op) in _BINARY:
                sign = _BINARY[type(op)][0]
                yield f"{indent}{self.target(target)} {sign}= {self.text(value)};"
            case ast.If():
                yield from self.choice(node, indent, "if")
            case ast.While(test=test, body=body, orelse=[]):
                yield f"{indent}while ({self.truth(test)[0]}) {{"
                yield from self.block(body, inside)
                yield indent + "}"
            case ast.For(orelse=[]):
                yield from self.loop(node, indent)
            case ast.Break():
                yield indent + "break;"
            case ast.Continue():
                yield indent + "continue;"
            case ast.FunctionDef():
                yield self.write(node, indent)
            case ast.Delete(targets=[ast.Subscript() as target]):
                yield f"{indent}delete {self.target(target)};"
            case ast.Try(
                body=body,
                handlers=[ast.ExceptHandler(type=ast.Name(id="Exception"), name=name) as handler],
                orelse=[],
                finalbody=[],
            ):
                yield indent + "try {"
                yield from self.block(body, inside)
                yield f"{indent}}} catch ({self.name(name or 'problem')}) {{"
                yield from self.block(handler.body, inside)
                yield indent + "}"
            case _:
                raise _refuse(node, type(node).__name__)

    def choice(self, node: ast.If, indent: str, word: str) -> Iterator[str]:
        yield f"{indent}{word} ({self.truth(node.test)[0]}) {{"
        yield from self.block(node.body, indent + "  ")
        match node.orelse:
            case []:
                yield indent + "}"
            case [ast.If() as further]:
                yield from self.choice(further, indent, "} else if")
            case further_body:
                yield indent + "} else {"
                yield from self.block(further_body, indent + "  ")
                yield indent + "}"

    def loop(self, node: ast.For, indent: str) -> Iterator[str]:
        match node.iter:
            case ast.Call(func=ast.Name(id="range"), args=ends, keywords=[]):
                name = self.target(node.target)
                start = self.text(ends[0]) if len(ends) > 1 else "0"
                end = self.text(ends[1] if len(ends) > 1 else ends[0])
                step = "1"
                sign = "<"
                if len(ends) == 3:
                    step = self.text(ends[2])
                    if isinstance(ends[2], ast.UnaryOp):
                        sign = ">"
                counter, limit = f"${name}", f"${name}_end"
                # The counter is its own, so that the loop runs as often as Python's does.
                yield (
                    f"{indent}for (let {counter} = {start}, {limit} = {end}; "
                    f"{counter} {sign} {limit}; {counter} += {step}) {{"
                )
                yield f"{indent}  {name} = {counter};"
            case _:
                name, rows = self.target(node.target), self.text(node.iter)
                yield f"{indent}for ({name} of py_iter({rows})) {{"
        yield from self.block(node.body, indent + "  ")
        yield indent + "}"


def _list_stored(nodes: Sequence[ast.stmt]) -> Iterator[str]:
    """List the names that statements put values into; comprehensions keep theirs to themselves."""
    for node in nodes:
        match node:
            case ast.Assign(targets=targets):
                for target in targets:
                    yield from _list_targets(target)
            case ast.AugAssign(target=target):
                yield from _list_targets(target)
            case ast.AnnAssign(target=target, value=value):
                if value is not None:
                    yield from _list_targets(target)
            case ast.For(target=target, body=body):
                yield from _list_targets(target)
                yield from _list_stored(body)
            case ast.If(body=body, orelse=orelse) | ast.While(body=body, orelse=orelse):
                yield from _list_stored([*body, *orelse])
            case ast.Try(body=body, handlers=handlers):
                yield from _list_stored(body)
                for handler in handlers:
                    yield from _list_stored(handler.body)


def _list_targets(node: ast.expr) -> Iterator[str]:
    match node:
        case ast.Name(id=name):
            yield name
        case ast.Tuple(elts=items) | ast.List(elts=items):
            for item in items:
                yield from _list_targets(item)


def _check_names(tree: ast.Module, known: set[str]) -> None:
    """Refuse names that the script would not know."""
    for function in tree.body:
        if not isinstance(function, ast.FunctionDef):
            continue
        types = {
            id(part)
            for node in ast.walk(function)
            for kind in _list_types(node)
            for part in ast.walk(kind)
        }
        own = {part.arg for part in ast.walk(function) if isinstance(part, ast.arg)}
        for part in ast.walk(function):
            match part:
                case ast.Name(id=name, ctx=ast.Store()) | ast.ExceptHandler(name=str() as name):
                    own.add(name)
                case ast.FunctionDef(name=name):
                    own.add(name)
        for part in ast.walk(function):
            if isinstance(part, ast.Name) and id(part) not in types:
                built_in = part.id in _BUILTINS or part.id in _SPECIAL
                if not (built_in or part.id in own or part.id in known or _is_type_name(part.id)):
                    raise _refuse(part, f'the name "{part.id}"')


def _list_types(node: ast.AST) -> Iterator[ast.expr]:
    """List the parts of a node that only a type checker reads."""
    match node:
        case ast.FunctionDef(returns=ast.expr() as kind) | ast.arg(annotation=ast.expr() as kind):
            yield kind
        case ast.AnnAssign(annotation=kind):
            yield kind
        case ast.Call(func=ast.Name(id="cast"), args=[kind, *_]):
            yield kind


def _check_scopes(node: ast.FunctionDef) -> None:
    """Refuse what reaches out of a function other than by its arguments and result."""
    for part in ast.walk(node):
        if isinstance(part, ast.Global | ast.Nonlocal | ast.Yield | ast.YieldFrom | ast.Await):
            raise _refuse(part, type(part).__name__)
