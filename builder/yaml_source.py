"""The one place where YAML is read: plain values, and the way from a route back to line and column.

Read with libyaml's parser (CBaseLoader), but turned into values by rules of our own, because YAML
1.1 reads some plain words as something an author did not mean: `no` as false, `1:30` as 90, `012`
as 10, and a doubled key wins in silence. Each of these is a finding here. Dates stay text. Keys are
always text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

import yaml

from builder.diagnostics import Diagnostic, Location, Related, Route, Severity

KEPT_FILES = 512
"""Files that are kept as read; more than most courses have."""
MAX_DEPTH = 40
"""Deepest nesting read; course content needs about eight."""
MAX_VALUES = 200_000
"""Most values one file may hold once its aliases are written out."""

_TRUTH = re.compile(r"^(?:y|n|yes|no|on|off)$", re.IGNORECASE)
_ODD_TRUTH = re.compile(r"^(?:true|false)$", re.IGNORECASE)
LONGEST_TRUTH = len("false")
_BEGINS_NUMBER = frozenset("0123456789+-.")
_BASE_60 = re.compile(r"^[+-]?\d{1,9}(?::[0-5]?\d)+(?:\.\d*)?$")
_ODD_INTEGER = re.compile(r"^[+-]?(?:0[0-9_]+|0[xob][0-9a-fA-F_]+|[0-9][0-9]*_[0-9_]+)$")
_ODD_FLOAT = re.compile(r"^[+-]?\.(?:inf|nan)$", re.IGNORECASE)
_INTEGER = re.compile(r"^[+-]?(?:0|[1-9]\d{0,14})$")
_FLOAT = re.compile(
    r"^[+-]?(?:\d{1,15}\.\d{0,20}|\.\d{1,20}|\d{1,15}(?:\.\d{0,20})?[eE][+-]?\d{1,3})$"
)
# Who writes a comment beside a value parts the two with more than one space.
_COMMENT = re.compile(r"\S #")
_NULL = frozenset({"", "~", "null", "Null", "NULL"})
_PLAIN_TAGS = frozenset(
    f"tag:yaml.org,2002:{name}"
    for name in ("str", "int", "float", "bool", "null", "timestamp", "map", "seq", "merge", "value")
)


@dataclass(frozen=True)
class Document:
    """A YAML file that has been read: plain values, and the text that knows their places.

    `cut` holds line and column of plain values that a comment follows in their last line.

    Places are wanted only where something is found, and the tree of nodes that holds them takes
    several times the room of the values, so it is made again from the text when it is asked for.
    """

    file: str
    value: Any
    _text: str = field(repr=False, compare=False)
    cut: frozenset[tuple[int, int]] = frozenset()

    @cached_property
    def _node(self) -> yaml.Node | None:
        return yaml.compose(self._text, Loader=yaml.CBaseLoader)

    @cached_property
    def _keys(self) -> dict[int, dict[str, tuple[yaml.Node, yaml.Node]]]:
        """Keys of the mappings looked into so far, for a file of many is asked about often."""
        return {}

    def _find_key(self, mapping: yaml.MappingNode, key: str) -> tuple[yaml.Node, yaml.Node] | None:
        known = self._keys.get(id(mapping))
        if known is None:
            known = self._keys[id(mapping)] = {}
            for key_node, value_node in mapping.value:
                if isinstance(key_node, yaml.ScalarNode):
                    known.setdefault(str(key_node.value), (key_node, value_node))
        return known.get(key)

    def locate(self, route: Route, *, key: bool = False) -> Location:
        """Turn a route into a line and column.

        Args:
            route: Keys and indexes from the top of the file. A route that leads further than the
                file does stops at the last place that exists.
            key: Point at the key of a mapping's entry instead of its value.
        """
        node = self._node
        if node is None:
            return Location(self.file)
        mark = node.start_mark
        for position, part in enumerate(route):
            last = position == len(route) - 1
            if isinstance(node, yaml.MappingNode):
                found = self._find_key(node, str(part))
                if found is None:
                    break
                key_node, node = found
                # An empty value has no place of its own worth showing.
                empty = node.start_mark.index == node.end_mark.index
                at_key = (last and key) or empty
                mark = key_node.start_mark if at_key else node.start_mark
            elif (
                isinstance(node, yaml.SequenceNode)
                and isinstance(part, int)
                and 0 <= part < len(node.value)
            ):
                node = node.value[part]
                mark = node.start_mark
            else:
                break
        return Location(self.file, mark.line + 1, mark.column + 1)


@dataclass(slots=True)
class _Reader:
    """Turns one file's nodes into values, collecting findings on the way."""

    file: str
    cuts: frozenset[int] = frozenset()
    cut: set[tuple[int, int]] = field(default_factory=set)
    findings: list[Diagnostic] = field(default_factory=list)
    sizes: dict[int, tuple[Any, int]] = field(default_factory=dict)
    open_nodes: set[int] = field(default_factory=set)

    def report(self, rule: str, mark: yaml.Mark, message: str, hint: str, *also: Related) -> None:
        place = Location(self.file, mark.line + 1, mark.column + 1)
        self.findings.append(Diagnostic(rule, Severity.ERROR, place, "", message, hint, also))

    def read(self, node: yaml.Node, depth: int) -> tuple[Any, int]:
        """Give a node's value and how many values it holds."""
        known = self.sizes.get(id(node))
        if known is not None:
            return known
        if id(node) in self.open_nodes:
            self.report(
                "yaml-syntax",
                node.start_mark,
                "an alias refers to what contains it",
                "write the value out",
            )
            return None, 1
        if depth > MAX_DEPTH:
            self.report(
                "yaml-syntax",
                node.start_mark,
                f"values are nested more than {MAX_DEPTH} deep",
                "check the indentation and brackets above this line",
            )
            return None, 1
        if node.tag not in _PLAIN_TAGS:
            self.report(
                "yaml-syntax",
                node.start_mark,
                f'the tag "{node.tag}" is not used in a course',
                "remove the word that begins with an exclamation mark, or quote the text",
            )
        self.open_nodes.add(id(node))
        result: tuple[Any, int]
        if isinstance(node, yaml.MappingNode):
            result = self.read_mapping(node, depth)
        elif isinstance(node, yaml.SequenceNode):
            parts = [self.read(part, depth + 1) for part in node.value]
            result = [value for value, _ in parts], 1 + sum(size for _, size in parts)
        else:
            assert isinstance(node, yaml.ScalarNode)
            result = self.read_scalar(node), 1
        self.open_nodes.discard(id(node))
        self.sizes[id(node)] = result
        return result

    def read_mapping(self, node: yaml.MappingNode, depth: int) -> tuple[dict[str, Any], int]:
        values: dict[str, Any] = {}
        first: dict[str, yaml.Mark] = {}
        size = 1
        for key_node, value_node in node.value:
            mark = key_node.start_mark
            if not isinstance(key_node, yaml.ScalarNode):
                self.report("yaml-syntax", mark, "a key must be a single word", "quote it")
                continue
            key = str(key_node.value)
            if key == "<<" and not key_node.style:
                self.report(
                    "yaml-syntax",
                    mark,
                    'the merge key "<<" is not used in a course',
                    "repeat the fields",
                )
                continue
            value, count = self.read(value_node, depth + 1)
            size += count
            if key in first:
                line = first[key].line + 1
                self.report(
                    "yaml-duplicate-key",
                    mark,
                    f'"{key}" stands twice here, first in line {line}',
                    "keep one of the two",
                    Related(Location(self.file, line, first[key].column + 1), "the first one"),
                )
                continue
            first[key] = mark
            values[key] = value
        return values, size

    def read_scalar(self, node: yaml.ScalarNode) -> Any:
        text = str(node.value)
        if node.style:  # quoted or block text is always text
            return text
        if node.end_mark.line in self.cuts:
            self.cut.add((node.start_mark.line + 1, node.start_mark.column + 1))
        if text in _NULL:
            return None
        if text in ("true", "false"):
            return text == "true"
        if text[0] not in _BEGINS_NUMBER and len(text) > LONGEST_TRUTH:
            return text  # nearly all there is: it can be nothing but text
        reading = ""
        if _TRUTH.match(text) or _ODD_TRUTH.match(text):
            reading = "true or false"
        elif _BASE_60.match(text):
            reading = "a number to base 60"
        elif _ODD_INTEGER.match(text):
            reading = "a number to base 8, 2 or 16, or one with gaps"
        elif _ODD_FLOAT.match(text):
            reading = "infinity or not a number"
        if reading:
            plain = "true" if text.lower() in ("y", "yes", "on", "true") else "false"
            choice = f" (or {plain} if that is meant)" if reading == "true or false" else ""
            self.report(
                "yaml-ambiguous-scalar",
                node.start_mark,
                f"{text} without quotes can be read as {reading}",
                f'write "{text}" with quotes{choice}',
            )
            return text
        if _INTEGER.match(text):
            return int(text)
        if _FLOAT.match(text):
            return float(text)
        return text


@lru_cache(maxsize=KEPT_FILES)
def parse_yaml(file: str, source: bytes | str) -> tuple[Document | None, tuple[Diagnostic, ...]]:
    """Read one YAML file; one that was read before is not read again, as after an edit of another.

    Args:
        file: Path to show in findings, relative to the course folder.
        source: The file's contents; bytes must be UTF-8.

    Returns:
        The document, or None where nothing could be read, and the findings. Never raises over
        content, whatever the bytes. The values are shared by all who read the same text: they are
        not to be changed.
    """

    def broken(message: str, line: int = 1, column: int = 1, hint: str = "") -> Diagnostic:
        place = Location(file, line, column)
        return Diagnostic("yaml-syntax", Severity.ERROR, place, "", message, hint)

    if isinstance(source, bytes):
        try:
            source = source.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = error.object.count(b"\n", 0, error.start) + 1
            hint = "save it again with encoding UTF-8"
            return None, (broken("the file is not UTF-8 text", line, 1, hint),)
    if _may_hold_too_many(source) and _count_values(source) > MAX_VALUES:
        hint = "split it into several files"
        return None, (broken(f"the file holds more than {MAX_VALUES} values", 1, 1, hint),)
    try:
        node = yaml.compose(source, Loader=yaml.CBaseLoader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        problem = error.problem or error.context or "the text is not YAML"
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        if mark is not None and "cannot start" in problem and _find_character(source, mark) == "\t":
            problem = "found a tab character where spaces belong"
        return None, (broken(f"this is not YAML: {problem}", line, column, _hint_for(problem)),)
    except yaml.YAMLError as error:
        return None, (broken(f"this is not YAML: {str(error).splitlines()[0]}"),)
    except RecursionError:
        return None, (broken("values are nested too deep", hint="check the brackets"),)
    if node is None:
        return Document(file, None, source), ()
    reader = _Reader(file, _find_cuts(source))
    value, size = reader.read(node, 0)
    if size > MAX_VALUES:
        reader.report(
            "yaml-syntax",
            node.start_mark,
            f"the file holds more than {MAX_VALUES} values once its aliases are written out",
            "split it, or remove the aliases",
        )
        return None, tuple(reader.findings)
    return Document(file, value, source, frozenset(reader.cut)), tuple(reader.findings)


def _may_hold_too_many(source: str) -> bool:
    """Say whether a text could hold so many values: each begins after one of these."""
    return sum(map(source.count, "\n,:-[{")) > MAX_VALUES


def _count_values(source: str) -> int:
    """Count values without keeping any: the tree of a file of millions would fill the memory."""
    count = 0
    try:
        for event in yaml.parse(source, Loader=yaml.CBaseLoader):
            count += isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent)
            if count > MAX_VALUES:
                break
    except yaml.YAMLError:
        return 0  # reported where it is read
    return count


def _find_cuts(source: str) -> frozenset[int]:
    """Give the lines, from 0, in which something may be followed by a comment."""
    if " #" not in source and "\t#" not in source:
        return frozenset()
    return frozenset(
        number for number, line in enumerate(source.splitlines()) if _COMMENT.search(line)
    )


def _find_character(source: str, mark: yaml.Mark) -> str:
    lines = source.splitlines()
    line = lines[mark.line] if mark.line < len(lines) else ""
    return line[mark.column : mark.column + 1]


def _hint_for(problem: str) -> str:
    hints: Mapping[str, str] = {
        "mapping values are not allowed": "quote text that holds a colon followed by a space",
        "found a tab character": "use spaces, not tabs, to indent",
        "found character that cannot start any token": "quote text that begins with a sign",
        "did not find expected ',' or": "close every bracket, and put commas between items",
        "could not find expected ':'": "check the indentation, and that each key ends in a colon",
        "did not find expected key": "check the indentation of this line and the one above",
        "but found another document": "keep one document a file; remove the line of three dashes",
    }
    return next((hint for start, hint in hints.items() if start in problem), "")
