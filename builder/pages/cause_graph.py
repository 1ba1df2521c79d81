"""The cause-and-fix graph of a defect as SVG whose nodes are links.

Drawn twice, for wide and for narrow places; the style sheet shows the one that fits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import TYPE_CHECKING

from markupsafe import Markup

from builder.drawings.cause_layout import (
    LINE_HEIGHT,
    PADDING,
    PICTURE,
    Box,
    Curve,
    Label,
    Layout,
    Node,
    lay_out,
    stack,
)
from builder.frequencies import nearest_word
from builder.model import Defect, When
from builder.pages.maker import PageMaker
from builder.text_metrics import TEXT_SIZE

if TYPE_CHECKING:
    from builder.graph import Graph


def draw_cause_graph(
    maker: PageMaker, graph: Graph, defect: Defect, address: str, causes: Sequence[str] = ()
) -> Markup:
    """Draw the graph of a defect for its page.

    Args:
        maker: The library and the addresses of its entries.
        graph: The course's cause-and-fix graph.
        defect: The defect.
        address: Address of the page that holds the drawing.
        causes: Ids of its causes, the likeliest first; "" keeps the author's order.

    Returns:
        Two `<svg>` with title and description; "" where the defect has neither signs nor causes.
    """
    columns, edges = _collect(maker, graph, defect, causes)
    if not edges:
        return Markup("")
    often = {(left, right): graph.edges[left, right]["often"] for left, right in edges}
    drawn = [
        _Drawing(maker, defect, address, shape, layout, often).write()
        for shape, layout in (("wide", lay_out(columns, edges)), ("tall", stack(columns, edges)))
    ]
    return Markup("\n").join(drawn)


def _collect(
    maker: PageMaker, graph: Graph, defect: Defect, causes: Sequence[str]
) -> tuple[list[list[Label]], list[tuple[Node, Node]]]:
    library = maker.library
    thing = maker.settings.thing
    centre: Node = ("defect", defect.id)
    ranks = {name: index for index, name in enumerate(causes)}
    signs = sorted(
        graph.predecessors(centre), key=lambda node: (-graph.edges[node, centre]["often"], node)
    )
    reasons = sorted(
        graph.successors(centre), key=lambda node: (ranks.get(node[1], len(ranks)), node)
    )
    edges = [(sign, centre) for sign in signs] + [(centre, reason) for reason in reasons]
    mends: dict[Node, None] = {}
    for reason in reasons:
        for mend in sorted(graph.successors(reason)):
            edges.append((reason, mend))
            mends[mend] = None
    tags = {When.NOW: f"this {thing.one}", When.NEXT: "next time"}
    columns = [
        [Label(node, library.symptoms[node[1]].name) for node in signs],
        [Label(centre, defect.name, pictured=_has_drawing(maker, defect))],
        [Label(node, library.causes[node[1]].name) for node in reasons],
        [
            Label(node, library.fixes[node[1]].name, tags[library.fixes[node[1]].when])
            for node in mends
        ],
    ]
    return columns, edges


def _has_drawing(maker: PageMaker, defect: Defect) -> bool:
    return (defect.picture or defect.id) in maker.library.drawings


class _Drawing:
    """Writes one layout as SVG."""

    def __init__(
        self,
        maker: PageMaker,
        defect: Defect,
        address: str,
        shape: str,
        layout: Layout,
        often: Mapping[tuple[Node, Node], float],
    ) -> None:
        self.maker, self.defect = maker, defect
        self.prose = maker.prose(address)
        self.shape = shape
        self.layout = layout
        self.often = often

    def write(self) -> Markup:
        layout, name = self.layout, f"bl-graph-{self.shape}"
        width, height = _number(layout.width), _number(layout.height)
        signs, _, causes, fixes = (len(column) for column in layout.columns)
        described = (
            f"{_count(signs, 'sign')} lead to the defect; it has {_count(causes, 'cause')}, "
            f"which {_count(fixes, 'fix', 'fixes')} mend. Thicker lines mean more often."
        )
        parts = [
            f'<svg class="bl-graph {name}" viewBox="0 0 {width} {height}" width="{width}" '
            f'height="{height}" role="group" aria-labelledby="{name}-title {name}-desc">',
            f'<title id="{name}-title">{escape(self.defect.name)}: signs, causes and fixes</title>',
            f'<desc id="{name}-desc">{escape(described)}</desc>',
            *self._write_headings(),
            '<g class="bl-graph-edges" fill="none" aria-hidden="true">',
            *(self._write_curve(curve) for curve in layout.curves),
            "</g>",
            *(self._write_box(box) for box in layout.boxes),
            "</svg>",
        ]
        return Markup("\n".join(parts))

    def _write_headings(self) -> list[str]:
        words = ("What you see", "What it is", "Why", "What to do")
        return [
            f'<text class="bl-graph-heading" x="{_number(x)}" y="{_number(y)}" '
            f'aria-hidden="true">{word}</text>'
            for word, column, (x, y) in zip(
                words, self.layout.columns, self.layout.headings, strict=True
            )
            if column
        ]

    def _write_curve(self, curve: Curve) -> str:
        turn = (curve.x1 + curve.x2) / 2 if curve.side is None else curve.side
        x1, y1, x2, y2, bend = map(_number, (curve.x1, curve.y1, curve.x2, curve.y2, turn))
        way = f"C{bend} {y1} {bend} {y2} {x2} {y2}" if curve.side is None else f"H{bend}V{y2}H{x2}"
        word = nearest_word(self.often[curve.start, curve.end])
        return f'<path class="bl-often-{word}" d="M{x1} {y1}{way}"/>'

    def _write_box(self, box: Box) -> str:
        kind, name = box.node
        x, y, width, height = map(_number, (box.x, box.y, box.width, box.height))
        radius = "22" if kind == "symptom" else "8"
        shape = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="{radius}"/>'
        inside = self._write_picture(box) + self._write_lines(box)
        if kind == "defect":
            return f'<g class="bl-node bl-node-defect">{shape}{inside}</g>'
        title = f"<title>{escape(self._explain(box))}</title>"
        href = escape(self.prose.link(kind, name))
        return f'<a class="bl-node bl-node-{kind}" href="{href}">{title}{shape}{inside}</a>'

    def _write_picture(self, box: Box) -> str:
        if not box.pictured:
            return ""
        x = _number(box.x + (box.width - PICTURE[0]) / 2)
        size = f'x="{x}" y="{_number(box.y + 4)}" width="{_number(PICTURE[0])}" '
        size += f'height="{_number(PICTURE[1])}" '
        drawing = str(self.maker.drawing(self.defect.picture or self.defect.id, ""))
        return drawing.replace("<svg ", f"<svg {size}", 1)

    def _write_lines(self, box: Box) -> str:
        rows = [("bl-graph-tag", box.tag)] if box.tag else []
        rows += [("", line) for line in box.lines]
        room = box.height - (PICTURE[1] if box.pictured else 0.0)
        first = box.y + box.height - room / 2 - len(rows) * LINE_HEIGHT / 2
        x = _number(box.x + PADDING)
        spans = []
        for index, (style, line) in enumerate(rows):
            y = _number(first + index * LINE_HEIGHT + TEXT_SIZE * 0.95)
            styled = f' class="{style}"' if style else ""
            spans.append(f'<tspan x="{x}" y="{y}"{styled}>{escape(line)}</tspan>')
        return f"<text>{' '.join(spans)}</text>"

    def _explain(self, box: Box) -> str:
        """Say in words what the lines show: for a cause its fixes, for a fix its causes."""
        kind, name = box.node
        entry = self.maker.library.entries[kind][name]
        title = str(getattr(entry, "name", name))
        if kind == "cause":
            after = [self._name(end) for start, end in self.often if start == box.node]
            return f"{title}. Mended by: {'; '.join(after)}." if after else title
        if kind == "fix":
            before = [self._name(start) for start, end in self.often if end == box.node]
            return f"{box.tag}: {title}. Mends: {'; '.join(before)}."
        return title

    def _name(self, node: Node) -> str:
        return str(getattr(self.maker.library.entries[node[0]][node[1]], "name", node[1]))


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"
