"""The cause-and-fix graph of a defect as SVG whose nodes are links.

Four columns from left to right: signs, the defect, its causes, their fixes. The layout is plain
numbers (`lay_out`), the drawing is text made of them (`draw_cause_graph`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from markupsafe import Markup

from builder.frequencies import nearest_word
from builder.model import Defect, When
from builder.pages.context import Context
from builder.pages.layers import order_rows

if TYPE_CHECKING:
    from builder.graph import Graph, Node

TEXT_SIZE = 15.0
LINE_HEIGHT = 19.0
PADDING = 10.0
LEAST_HEIGHT = 46.0
ROW_GAP = 14.0
COLUMN_GAP = 46.0
MARGIN = 6.0
HEADING_HEIGHT = 30.0
PICTURE = (132.0, 99.0)
WIDTHS: Mapping[str, float] = {"symptom": 148.0, "defect": 148.0, "cause": 176.0, "fix": 196.0}

_NARROW = frozenset("iljtfrI.,;:'!|()[] ")
_WIDE = frozenset("mwMW%@—")


@dataclass(frozen=True, slots=True)
class Label:
    """A node as it is to be drawn: its words, and whether a picture stands above them."""

    node: Node
    text: str
    tag: str = ""
    pictured: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A node with its place, in the units of the view box."""

    node: Node
    lines: tuple[str, ...]
    tag: str
    pictured: bool
    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> float:
        """Height of its middle."""
        return self.y + self.height / 2


@dataclass(frozen=True, slots=True)
class Curve:
    """An edge from the right side of one box to the left side of another."""

    start: Node
    end: Node
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Layout:
    """A finished layout: boxes column by column, curves, and the size of the view box."""

    columns: tuple[tuple[Box, ...], ...]
    curves: tuple[Curve, ...]
    width: float
    height: float

    @property
    def boxes(self) -> tuple[Box, ...]:
        """All boxes."""
        return tuple(box for column in self.columns for box in column)


def estimate_width(text: str, size: float = TEXT_SIZE) -> float:
    """Estimate the width of a text in a sans-serif face, on the generous side.

    Args:
        text: One line.
        size: Size of the type, in the units of the result.
    """
    ems = 0.0
    for letter in text:
        if letter in _NARROW:
            ems += 0.39
        elif letter in _WIDE:
            ems += 0.98
        elif letter.isupper() or ord(letter) > 0x2FF:
            ems += 0.75
        else:
            ems += 0.62
    return ems * size


def wrap_text(text: str, width: float, size: float = TEXT_SIZE) -> tuple[str, ...]:
    """Break a text into lines that fit a width; a word too long for a line is parted.

    Args:
        text: The words.
        width: Room for a line.
        size: Size of the type, in the units of the width.
    """
    lines: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if estimate_width(joined, size) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        while estimate_width(word, size) > width:
            cut = len(word) - 1
            while cut > 1 and estimate_width(word[:cut] + "-", size) > width:
                cut -= 1
            lines.append(word[:cut] + "-")
            word = word[cut:]
        line = word
    return (*lines, line) if line or not lines else tuple(lines)


def lay_out(columns: Sequence[Sequence[Label]], edges: Sequence[tuple[Node, Node]]) -> Layout:
    """Lay out a graph in columns.

    Args:
        columns: Nodes of each column, in the order to keep where crossings leave a choice.
        edges: Pairs (left, right); each joins a column to the next.

    Returns:
        Boxes that do not overlap, all inside the view box.
    """
    labels = {label.node: label for column in columns for label in column}
    rows = follow_spines([[label.node for label in column] for column in columns], edges)
    order = [list(row) for row in order_rows(rows, edges, search=False).rows]
    neighbours: dict[Node, list[Node]] = {node: [] for node in labels}
    for left, right in edges:
        neighbours[left].append(right)
        neighbours[right].append(left)
    wrapped = {node: _wrap_label(label) for node, label in labels.items()}
    heights = {node: _measure(labels[node], wrapped[node]) for node in labels}
    middles = _place_middles(order, neighbours, heights)
    top = min((middles[node] - heights[node] / 2 for node in labels), default=0.0)
    shift = HEADING_HEIGHT + MARGIN - top
    boxes: dict[Node, Box] = {}
    x = MARGIN
    placed: list[tuple[Box, ...]] = []
    for column in order:
        width = max((WIDTHS[node[0]] for node in column), default=0.0)
        for node in column:
            label = labels[node]
            y = middles[node] - heights[node] / 2 + shift
            boxes[node] = Box(
                node, wrapped[node], label.tag, label.pictured, x, y, width, heights[node]
            )
        placed.append(tuple(boxes[node] for node in column))
        x += width + COLUMN_GAP if column else 0.0
    curves = tuple(
        Curve(
            left,
            right,
            boxes[left].x + boxes[left].width,
            boxes[left].middle,
            boxes[right].x,
            boxes[right].middle,
        )
        for left, right in edges
    )
    bottom = max((box.y + box.height for box in boxes.values()), default=HEADING_HEIGHT)
    return Layout(tuple(placed), curves, x - COLUMN_GAP + MARGIN, bottom + MARGIN)


def follow_spines(
    columns: Sequence[Sequence[Node]], edges: Sequence[tuple[Node, Node]]
) -> list[list[Node]]:
    """Give the last two columns an order without crossings, where they have one.

    Two columns can be joined without a crossing just when each connected piece is a caterpillar, a
    path with leaves (Harary and Schwenk, "A new crossing number for bipartite graphs", 1972).
    Walking along the longest path of each piece, leaves as they come, is then such an order.

    Args:
        columns: Nodes of each column; pieces stay in the order of their first node.
        edges: Pairs (left, right); each joins a column to the next.

    Returns:
        The columns, the last two reordered. Where a piece is no caterpillar the order is a start
        for something better.
    """
    if len(columns) < 2:
        return [list(column) for column in columns]
    *rest, left, right = columns
    near: dict[Node, list[Node]] = {node: [] for node in (*left, *right)}
    for start, end in edges:
        if start in near and end in near:
            near[start].append(end)
            near[end].append(start)
    walked: dict[Node, None] = {}
    for node in near:
        if node in walked:
            continue
        far = next(reversed(_came_from(node, near)))
        came = _came_from(far, near)
        spine = [next(reversed(came))]
        while (before := came[spine[-1]]) is not None:
            spine.append(before)
        for step in spine:
            walked[step] = None
            walked.update(dict.fromkeys(each for each in near[step] if len(near[each]) == 1))
        walked.update(dict.fromkeys(came))
    return [
        *(list(column) for column in rest),
        *([node for node in walked if node in set(column)] for column in (left, right)),
    ]


def _came_from(start: Node, near: Mapping[Node, Sequence[Node]]) -> dict[Node, Node | None]:
    """Give each node of a piece the one it was reached from, the nearest to the start first."""
    came: dict[Node, Node | None] = {start: None}
    queue = [start]
    for node in queue:
        for each in near[node]:
            if each not in came:
                came[each] = node
                queue.append(each)
    return came


def place_in_order(wanted: Sequence[float], sizes: Sequence[float], gap: float) -> list[float]:
    """Place boxes of given sizes in their order, each as near to where it would like to be as it can.

    Least squares under the order, by pooling neighbours that would overlap (isotonic regression,
    Ayer and others, 1955).

    Args:
        wanted: The wished-for centre of each.
        sizes: The size of each along the layer.
        gap: The least space between neighbours.

    Returns:
        The centre of each; neighbours are at least the gap apart.
    """
    offsets: list[float] = []
    run = 0.0
    for index, size in enumerate(sizes):
        if index:
            run += (sizes[index - 1] + size) / 2 + gap
        offsets.append(run)
    pools: list[tuple[float, int]] = []  # sum of wishes less offset, and how many share it
    for wish, offset in zip(wanted, offsets, strict=True):
        pools.append((wish - offset, 1))
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]:
            (late, many), (early, few) = pools.pop(), pools.pop()
            pools.append((late + early, many + few))
    shifts = [total / number for total, number in pools for _ in range(number)]
    return [shift + offset for shift, offset in zip(shifts, offsets, strict=True)]


def _wrap_label(label: Label) -> tuple[str, ...]:
    return wrap_text(label.text, WIDTHS[label.node[0]] - 2 * PADDING)


def _measure(label: Label, lines: Sequence[str]) -> float:
    rows = len(lines) + bool(label.tag)
    height = max(rows * LINE_HEIGHT + 2 * PADDING, LEAST_HEIGHT)
    return height + PICTURE[1] if label.pictured else height


def _place_middles(
    order: Sequence[Sequence[Node]],
    neighbours: Mapping[Node, Sequence[Node]],
    heights: Mapping[Node, float],
) -> dict[Node, float]:
    """Place the middles: columns stacked first, then each drawn towards its neighbours."""
    middles: dict[Node, float] = {}
    for column in order:
        sizes = [heights[node] for node in column]
        stacked = place_in_order([0.0] * len(column), sizes, ROW_GAP)
        middles.update(zip(column, stacked, strict=True))
    level = {node: index for index, column in enumerate(order) for node in column}
    tallest = max(
        range(len(order)), key=lambda index: sum(heights[node] + ROW_GAP for node in order[index])
    )
    # The tallest column stays as stacked; the others follow it, outwards, and come to rest.
    outwards = sorted(
        (index for index in range(len(order)) if index != tallest),
        key=lambda index: abs(index - tallest),
    )
    for _ in range(3):
        for index in outwards:
            toward = index + (1 if index < tallest else -1)
            wanted = []
            for node in order[index]:
                near = [middles[each] for each in neighbours[node] if level[each] == toward]
                wanted.append(sum(near) / len(near) if near else middles[node])
            sizes = [heights[node] for node in order[index]]
            placed = place_in_order(wanted, sizes, ROW_GAP)
            middles.update(zip(order[index], placed, strict=True))
    return middles


def draw_cause_graph(
    context: Context, graph: Graph, defect: Defect, address: str, causes: Sequence[str] = ()
) -> Markup:
    """Draw the graph of a defect for its page.

    Args:
        context: The library and the addresses of its entries.
        graph: The course's cause-and-fix graph.
        defect: The defect.
        address: Address of the page that holds the drawing.
        causes: Ids of its causes, the likeliest first; "" keeps the author's order.

    Returns:
        An `<svg>` with a title and a description; "" where the defect has no causes.
    """
    columns, edges = _collect(context, graph, defect, causes)
    if not edges:
        return Markup("")
    layout = lay_out(columns, edges)
    often = {(left, right): graph.edges[left, right]["often"] for left, right in edges}
    return _Drawing(context, defect, address, layout, often).write()


def _collect(
    context: Context, graph: Graph, defect: Defect, causes: Sequence[str]
) -> tuple[list[list[Label]], list[tuple[Node, Node]]]:
    library = context.library
    thing = context.course.thing
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
        [Label(centre, defect.name, pictured=_has_drawing(context, defect))],
        [Label(node, library.causes[node[1]].name) for node in reasons],
        [
            Label(node, library.fixes[node[1]].name, tags[library.fixes[node[1]].when])
            for node in mends
        ],
    ]
    return columns, edges


def _has_drawing(context: Context, defect: Defect) -> bool:
    return (defect.picture or defect.id) in context.library.drawings


class _Drawing:
    """Writes one layout as SVG."""

    def __init__(
        self,
        context: Context,
        defect: Defect,
        address: str,
        layout: Layout,
        often: Mapping[tuple[Node, Node], float],
    ) -> None:
        self.context = context
        self.defect = defect
        self.prose = context.prose(address)
        self.layout = layout
        self.often = often

    def write(self) -> Markup:
        layout = self.layout
        width, height = _number(layout.width), _number(layout.height)
        signs, _, causes, fixes = (len(column) for column in layout.columns)
        described = (
            f"{_count(signs, 'sign')} lead to the defect; it has {_count(causes, 'cause')}, "
            f"which {_count(fixes, 'fix', 'fixes')} mend. Thicker lines mean more often."
        )
        parts = [
            f'<svg class="bl-graph" viewBox="0 0 {width} {height}" width="{width}" '
            f'height="{height}" role="group" aria-labelledby="graph-title graph-desc">',
            f'<title id="graph-title">{escape(self.defect.name)}: signs, causes and fixes</title>',
            f'<desc id="graph-desc">{escape(described)}</desc>',
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
            f'<text class="bl-graph-heading" x="{_number(column[0].x)}" y="{_number(MARGIN + 14)}" '
            f'aria-hidden="true">{word}</text>'
            for word, column in zip(words, self.layout.columns, strict=True)
            if column
        ]

    def _write_curve(self, curve: Curve) -> str:
        half = (curve.x1 + curve.x2) / 2
        x1, y1, x2, y2, bend = map(_number, (curve.x1, curve.y1, curve.x2, curve.y2, half))
        word = nearest_word(self.often[curve.start, curve.end])
        return f'<path class="bl-often-{word}" d="M{x1} {y1}C{bend} {y1} {bend} {y2} {x2} {y2}"/>'

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
        drawing = str(self.context.drawing(self.defect.picture or self.defect.id, ""))
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
        entry = self.context.library.entries[kind][name]
        title = str(getattr(entry, "name", name))
        if kind == "cause":
            after = [self._name(end) for start, end in self.often if start == box.node]
            return f"{title}. Mended by: {'; '.join(after)}." if after else title
        if kind == "fix":
            before = [self._name(start) for start, end in self.often if end == box.node]
            return f"{box.tag}: {title}. Mends: {'; '.join(before)}."
        return title

    def _name(self, node: Node) -> str:
        return str(getattr(self.context.library.entries[node[0]][node[1]], "name", node[1]))


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"
