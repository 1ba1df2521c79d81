"""Drawings of a course: SVG read with a parser, and written again from what is allowed.

A drawing becomes part of a page, so whatever runs, loads or links in it would do so for every
reader. What is not on the lists here is refused and left out; what is written out is made of the
lists alone, so that no browser can read it otherwise than the parser did.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from html import escape
from xml.parsers import expat

NAMESPACE = "http://www.w3.org/2000/svg"
MOST_NESTED = 60
"""Deepest nesting read; a drawing needs about five."""
MOST_USES = 200
"""Copies by `use` in one drawing; more would only slow a reader's page down."""


def _words(listed: str) -> frozenset[str]:
    return frozenset(listed.split())


ELEMENTS = _words(
    """
    svg g defs symbol use title desc path circle ellipse rect line polyline polygon text tspan
    linearGradient radialGradient stop clipPath mask pattern marker
    """
)
"""Elements that only draw or name. None of them runs, loads, links or moves anything."""

_STYLED = _words(
    """
    fill fill-opacity fill-rule stroke stroke-width stroke-opacity stroke-linecap stroke-linejoin
    stroke-miterlimit stroke-dasharray stroke-dashoffset opacity color clip-path clip-rule mask
    stop-color stop-opacity display visibility font-family font-size font-style font-weight
    text-anchor dominant-baseline alignment-baseline letter-spacing word-spacing paint-order
    vector-effect marker-start marker-mid marker-end shape-rendering text-rendering overflow
    """
)
"""Properties that may stand as attributes, or in `style`, from where they become attributes."""

_ATTRIBUTES = _STYLED | _words(
    """
    id xmlns version viewBox preserveAspectRatio width height x y x1 y1 x2 y2 cx cy r rx ry fx fy
    dx dy d points transform offset gradientUnits gradientTransform spreadMethod patternUnits
    patternContentUnits patternTransform clipPathUnits maskUnits maskContentUnits markerWidth
    markerHeight markerUnits refX refY orient pathLength rotate textLength lengthAdjust role
    focusable lang xml:lang xml:space href xlink:href aria-label aria-hidden aria-labelledby
    aria-describedby
    """
)
_WORDS = frozenset({"aria-label", "lang", "xml:lang", "role", "version"})
"""Attributes whose text nothing interprets."""
_IDS = frozenset({"aria-labelledby", "aria-describedby"})
_FUNCTIONS = _words(
    "var rgb rgba hsl hsla calc url matrix translate translatex translatey scale scalex scaley "
    "rotate skewx skewy"
)

_ID = re.compile(r"^[A-Za-z_][\w.-]*$")
_LOCAL = re.compile(r"""^url\(\s*(["']?)#([A-Za-z_][\w.-]*)\1\s*\)((?:\s+[#\w(),.%-]+)?)$""")
_FUNCTION = re.compile(r"([A-Za-z-]+)\s*\(")
_VALUE = re.compile(r"^[\w\s.,;#%()+\-*/'\"!]*$")

_HINTS = {
    "script": "a drawing only draws; take it out",
    "style": 'write colours and widths as attributes, such as fill="#F3E9D2"',
    "image": "a drawing loads nothing; draw what it shows",
    "a": "a drawing links nowhere; link from a text instead",
    "foreignObject": "write words as text elements",
    "metadata": "save it as plain SVG, without the editor's own notes",
}
_USUAL_HINT = "save it as plain SVG, with shapes, gradients and text only"


@dataclass(frozen=True, slots=True)
class Refused:
    """Something in a drawing that is not allowed: 1-based line and column, and what to do."""

    line: int
    column: int
    message: str
    hint: str = _USUAL_HINT


@dataclass(slots=True)
class _Element:
    name: str
    attributes: dict[str, str]
    children: list[_Element | str] = field(default_factory=list)


def read_drawing(source: bytes | str, name: str) -> tuple[str, tuple[Refused, ...]]:
    """Read a drawing and write it again from what is allowed.

    Args:
        source: The file's contents.
        name: Name of the drawing; it goes before every id, so that drawings on one page do not
            take each other's.

    Returns:
        The drawing, "" where it cannot be read, and what was refused, in order.

    Example:
        `<svg><script>...</script><path d="M0 0"/></svg>` gives the path alone, and a complaint.
    """
    reader = _DrawingReader(f"d-{name}-")
    parser = reader.make_parser()
    try:
        parser.Parse(source.encode() if isinstance(source, str) else source, True)
    except _EntityDeclared:
        line, column = parser.CurrentLineNumber, parser.CurrentColumnNumber + 1
        found = Refused(line, column, "it declares entities of its own", "take the DOCTYPE out")
        return "", (found,)
    except (expat.ExpatError, LookupError, ValueError) as error:
        line, column = getattr(error, "lineno", 1), getattr(error, "offset", 0) + 1
        said = expat.errors.messages.get(getattr(error, "code", 0), str(error))
        found = Refused(line, column, f"it is not well-formed: {said}", "open it and save it anew")
        return "", (*reader.refused, found)
    if reader.root is None or reader.root.name != "svg":
        wrong = reader.refused or [Refused(1, 1, "it does not begin with an svg element")]
        return "", tuple(wrong)
    reader.root.attributes = {"xmlns": NAMESPACE, **reader.root.attributes}
    return "".join(_write(reader.root)), tuple(reader.refused)


def write_inline(drawing: str, attributes: Mapping[str, str], *, decorative: bool) -> str:
    """Write a drawing as part of a page.

    Args:
        drawing: What `read_drawing` gave.
        attributes: What its `svg` element has besides.
        decorative: Whether it loses its title and description: it only repeats words beside it.
    """
    reader = _DrawingReader("")
    reader.make_parser().Parse(drawing.encode(), True)
    assert reader.root is not None
    root = reader.root
    if decorative:
        root.attributes.pop("role", None)
    root.attributes = {**attributes, "xmlns": NAMESPACE, **root.attributes}
    return "".join(_write(_trim(root, {"title", "desc"} if decorative else set())))


def _trim(node: _Element, dropped: Collection[str]) -> _Element:
    """Drop elements by name, and the blanks between elements."""
    kept = [
        child if isinstance(child, str) else _trim(child, dropped)
        for child in node.children
        if (child.strip() if isinstance(child, str) else child.name not in dropped)
    ]
    return _Element(node.name, node.attributes, kept)


class _EntityDeclared(Exception):
    """An entity is declared, which could grow without bound or load a file."""


def _forbid_entity(*_: object) -> None:
    raise _EntityDeclared


class _DrawingReader:
    def __init__(self, prefix: str) -> None:
        self.prefix = prefix
        self.refused: list[Refused] = []
        self.root: _Element | None = None
        self.open: list[_Element] = []
        self.skipping = 0
        self.uses = 0
        self.place: Callable[[], tuple[int, int]] = lambda: (1, 1)

    def make_parser(self) -> expat.XMLParserType:
        parser = expat.ParserCreate()
        parser.buffer_text = True
        self.place = lambda: (parser.CurrentLineNumber, parser.CurrentColumnNumber + 1)
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.take_text
        parser.ProcessingInstructionHandler = self.take_instruction
        parser.StartDoctypeDeclHandler = self.take_doctype
        parser.EntityDeclHandler = _forbid_entity
        return parser

    def refuse(self, message: str, hint: str = _USUAL_HINT) -> None:
        self.refused.append(Refused(*self.place(), message, hint))

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if self.skipping:
            self.skipping += 1
            return
        foreign = attributes.get("xmlns", NAMESPACE) != NAMESPACE
        if name not in ELEMENTS or foreign or (self.root is None and name != "svg"):
            self.refuse(f"the element <{name}> is not allowed in a drawing", _find_hint(name))
            self.skipping = 1
            return
        if len(self.open) >= MOST_NESTED:
            self.refuse(f"elements are nested more than {MOST_NESTED} deep", "ungroup them")
            self.skipping = 1
            return
        if name == "use":
            self.uses += 1
            copied = any("id" in node.attributes for node in self.open)
            if copied or self.uses > MOST_USES:
                self.refuse("this use makes copies of copies", "draw the shape out")
                self.skipping = 1
                return
        node = _Element(name, dict(self.read_attributes(attributes)))
        if self.open:
            self.open[-1].children.append(node)
        else:
            self.root = node
        self.open.append(node)

    def end(self, name: str) -> None:
        if self.skipping:
            self.skipping -= 1
        else:
            self.open.pop()

    def take_text(self, text: str) -> None:
        if not self.skipping and self.open:
            self.open[-1].children.append(text)

    def take_instruction(self, target: str, data: str) -> None:
        self.refuse(f"the instruction <?{target}?> is not allowed in a drawing", "take it out")

    def take_doctype(
        self, name: str, system: str | None, public: str | None, has_internal: bool
    ) -> None:
        if has_internal:
            self.refuse("the DOCTYPE has declarations of its own", "take the DOCTYPE out")

    def read_attributes(self, attributes: Mapping[str, str]) -> Iterator[tuple[str, str]]:
        for name, value in attributes.items():
            if name == "style":
                yield from self.read_style(value)
            elif name.startswith("xmlns:"):
                continue  # a name for elements and attributes that are refused where they stand
            elif name not in _ATTRIBUTES:
                self.refuse(f'the attribute {name}="{_cut(value)}" is not allowed in a drawing')
            elif (read := self.read_value(name, value)) is not None:
                yield ("href" if name == "xlink:href" else name), read

    def read_style(self, style: str) -> Iterator[tuple[str, str]]:
        for part in filter(str.strip, style.split(";")):
            name, _, value = (each.strip() for each in part.partition(":"))
            if name.startswith("-inkscape"):
                continue  # an editor's note to itself
            if name not in _STYLED:
                self.refuse(f"the style {_cut(part.strip())} is not allowed in a drawing")
            elif (read := self.read_value(name, value)) is not None:
                yield name, read

    def read_value(self, name: str, value: str) -> str | None:
        """Give an attribute's value as it may stand, or None where it may not."""
        if name in _WORDS:
            return value
        if name == "xmlns":
            return None  # written once, at the top
        if name == "id" and _ID.match(value):
            return self.prefix + value
        if name in _IDS and all(map(_ID.match, value.split())):
            return " ".join(self.prefix + each for each in value.split())
        if name in ("href", "xlink:href") and value[:1] == "#" and _ID.match(value[1:]):
            return f"#{self.prefix}{value[1:]}"
        local = _LOCAL.match(value.strip())
        if local is not None and name in _STYLED:
            return f"url(#{self.prefix}{local[2]}){local[3]}"
        called = {found.lower() for found in _FUNCTION.findall(value)}
        plain = name not in ("id", "href", "xlink:href") and name not in _IDS
        if plain and _VALUE.match(value) and called <= _FUNCTIONS - {"url"}:
            return value
        self.refuse(
            f'the value {name}="{_cut(value)}" is not allowed in a drawing',
            "a drawing names nothing outside itself; inside it, write #id or url(#id)",
        )
        return None


def _find_hint(name: str) -> str:
    return _HINTS.get(name.rpartition(":")[2], _USUAL_HINT)


def _cut(value: str) -> str:
    return value if len(value) <= 40 else f"{value[:40]}..."


def _write(node: _Element) -> Iterator[str]:
    yield f"<{node.name}"
    for name, value in node.attributes.items():
        yield f' {name}="{escape(value)}"'
    if not node.children:
        yield "/>"
        return
    yield ">"
    for child in node.children:
        if isinstance(child, str):
            yield escape(child, quote=False)
        else:
            yield from _write(child)
    yield f"</{node.name}>"
