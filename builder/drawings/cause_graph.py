"""The cause-and-fix graph of a defect as SVG whose nodes are links.

Two layouts of the same graph, for wide and for narrow places; the style sheet shows the one that
fits. `lay_out` puts signs, defect, causes and fixes into four columns; `stack` puts signs and
defect above causes and fixes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import cast

from markupsafe import Markup

from builder.drawings.layered_layout import fit_rising, order_rows
from builder.drawings.svg import write_length
from builder.drawings.text_room import TEXT_SIZE, wrap_text
from builder.frequencies import nearest_word
from builder.words import Words

Node = tuple[str, str]
"""Kind and id."""

LINE_HEIGHT = 19.0
BOLD = 1.15
"""How much wider bold letters are; the defect itself is set in bold."""
PADDING = 10.0
LEAST_HEIGHT = 46.0
ROW_GAP = 14.0
COLUMN_GAP = 46.0
MARGIN = 6.0
HEADING_HEIGHT = 30.0
PICTURE = (132.0, 99.0)
WIDTHS: Mapping[str, float] = {"symptom": 148.0, "defect": 148.0, "cause": 176.0, "fix": 196.0}
STACKED: Mapping[str, float] = {"symptom": 322.0, "defect": 322.0, "cause": 134.0, "fix": 164.0}
"""Widths in the narrow layout; with the line at the side it is as wide as a small telephone."""
STACKED_GAP = 24.0
SIDE_LINE = 8.0
INDENT = 22.0


@dataclass(frozen=True, slots=True)
class Label:
    """A node as it is to be drawn.

    Args:
        node: Its kind and id.
        text: Its name.
        tag: Words above the name.
        pictured: Whether the picture of the defect stands above them.
        href: Where it leads, or "".
    """

    node: Node
    text: str
    tag: str = ""
    pictured: bool = False
    href: str = ""


@dataclass(frozen=True, slots=True)
class GraphBox:
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
    """An edge from one box to another.

    Args:
        start: Where it comes from.
        end: Where it goes.
        x1: Where it leaves the first box: on its right side, or on its left with a side line.
        y1: The height of that.
        x2: Where it meets the left side of the second box.
        y2: The height of that.
        side: Where the side line runs that it follows, if it does.
    """

    start: Node
    end: Node
    x1: float
    y1: float
    x2: float
    y2: float
    side: float | None = None


@dataclass(frozen=True, slots=True)
class GraphLayout:
    """A finished layout.

    Args:
        columns: Boxes of the signs, the defect, the causes and the fixes, from the top.
        headings: Where the heading of each column begins, on its base line.
        curves: Edges.
        width: Of the view box.
        height: Of the view box.
    """

    columns: tuple[tuple[GraphBox, ...], ...]
    headings: tuple[tuple[float, float], ...]
    curves: tuple[Curve, ...]
    width: float
    height: float

    @property
    def boxes(self) -> tuple[GraphBox, ...]:
        """All boxes."""
        return tuple(box for column in self.columns for box in column)


@dataclass(frozen=True, slots=True)
class CauseGraph:
    """What a drawing shows.

    Args:
        name: Name of the defect.
        columns: Signs, the defect, causes and fixes, in the order to keep where crossings leave a
            choice.
        often: How often the left node of an edge brings, or is mended by, the right one.
        picture: Drawing of the defect as inline SVG, or "".
    """

    name: str
    columns: tuple[tuple[Label, ...], ...]
    often: Mapping[tuple[Node, Node], float]
    picture: str = ""


Columns = Sequence[Sequence[Label]]
Edges = Sequence[tuple[Node, Node]]


def lay_out(columns: Columns, edges: Edges) -> GraphLayout:
    """Lay out a graph in columns from left to right.

    Args:
        columns: Nodes of each column, in the order to keep where crossings leave a choice.
        edges: Pairs (left, right); each joins a column to the next.

    Returns:
        Boxes that do not overlap, all inside the view box.
    """
    sizes = _Sizes(columns, WIDTHS)
    order = order_columns(columns, edges)
    middles = _place_middles(order, edges, sizes.heights)
    top = min((middles[node] - sizes.heights[node] / 2 for node in middles), default=0.0)
    down = HEADING_HEIGHT + MARGIN - top
    placed: list[tuple[GraphBox, ...]] = []
    headings: list[tuple[float, float]] = []
    x = MARGIN
    for column in order:
        placed.append(tuple(sizes.make_box(node, x, middles[node] + down) for node in column))
        headings.append((x, MARGIN + TEXT_SIZE))
        x += max((box.width + COLUMN_GAP for box in placed[-1]), default=0.0)
    boxes = {box.node: box for column in placed for box in column}
    curves = tuple(_join(boxes[left], boxes[right]) for left, right in edges)
    bottom = max((box.y + box.height for box in boxes.values()), default=HEADING_HEIGHT)
    return GraphLayout(
        tuple(placed), tuple(headings), curves, x - COLUMN_GAP + MARGIN, bottom + MARGIN
    )


def stack(columns: Columns, edges: Edges) -> GraphLayout:
    """Lay out a graph for a narrow place: signs and defect above, causes and fixes below.

    A line at the side leads from the signs into the defect, and from the defect to its causes.

    Args:
        columns: Signs, the defect, causes, fixes; as for `lay_out`.
        edges: Pairs (left, right); each joins a column to the next.

    Returns:
        Boxes that do not overlap, all inside the view box.
    """
    sizes = _Sizes(columns, STACKED)
    signs, centre, causes, fixes = order_columns(columns, edges)
    boxes: dict[Node, GraphBox] = {}
    headings: list[tuple[float, float]] = []
    y = MARGIN
    for column in (signs, centre):
        headings.append((INDENT, y + TEXT_SIZE))
        y += HEADING_HEIGHT
        for node in column:
            boxes[node] = sizes.make_box(node, INDENT, y + sizes.heights[node] / 2)
            y += sizes.heights[node] + ROW_GAP
    headings.append((INDENT, y + TEXT_SIZE))
    headings.append((INDENT + STACKED["cause"] + STACKED_GAP, y + TEXT_SIZE))
    y += HEADING_HEIGHT
    below = {*causes, *fixes}
    middles = _place_middles(
        [causes, fixes], [edge for edge in edges if below.issuperset(edge)], sizes.heights
    )
    down = y - min((middles[node] - sizes.heights[node] / 2 for node in below), default=0.0)
    for column, (x, _) in zip((causes, fixes), headings[2:], strict=True):
        for node in column:
            boxes[node] = sizes.make_box(node, x, middles[node] + down)
    curves: list[Curve] = []
    for left, right in edges:
        start, end = boxes[left], boxes[right]
        if right[0] == "fix":
            curves.append(_join(start, end))
            continue
        out = start.middle if right in centre else start.y + start.height - LEAST_HEIGHT / 2
        into = end.y + LEAST_HEIGHT / 2 if right in centre else end.middle
        curves.append(Curve(left, right, start.x, out, end.x, into, SIDE_LINE))
    placed = tuple(tuple(boxes[node] for node in each) for each in (signs, centre, causes, fixes))
    bottom = max((box.y + box.height for box in boxes.values()), default=y)
    width = max((box.x + box.width for box in boxes.values()), default=INDENT)
    return GraphLayout(placed, tuple(headings), tuple(curves), width + MARGIN, bottom + MARGIN)


def _join(left: GraphBox, right: GraphBox) -> Curve:
    """Join the right side of a box to the left side of another."""
    return Curve(left.node, right.node, left.x + left.width, left.middle, right.x, right.middle)


class _Sizes:
    """The labels of a layout with their lines and heights, for given widths."""

    def __init__(self, columns: Columns, widths: Mapping[str, float]) -> None:
        self.labels = {label.node: label for column in columns for label in column}
        self.widths = widths
        self.lines = {node: self._wrap(label) for node, label in self.labels.items()}
        self.heights = {node: self._measure(label) for node, label in self.labels.items()}

    def make_box(self, node: Node, x: float, middle: float) -> GraphBox:
        """Make a node's box with its left side and its middle at a place."""
        label, height = self.labels[node], self.heights[node]
        return GraphBox(
            node,
            self.lines[node],
            label.tag,
            label.pictured,
            x,
            middle - height / 2,
            self.widths[node[0]],
            height,
        )

    def _wrap(self, label: Label) -> tuple[str, ...]:
        size = TEXT_SIZE * (BOLD if label.node[0] == "defect" else 1.0)
        return wrap_text(label.text, self.widths[label.node[0]] - 2 * PADDING, size)

    def _measure(self, label: Label) -> float:
        rows = len(self.lines[label.node]) + bool(label.tag)
        height = max(rows * LINE_HEIGHT + 2 * PADDING, LEAST_HEIGHT)
        return height + PICTURE[1] if label.pictured else height


def order_columns(columns: Columns, edges: Edges) -> list[Sequence[Node]]:
    """Order the nodes of each column with few crossings, and none where none is needed.

    Args:
        columns: As for `lay_out`.
        edges: As for `lay_out`.
    """
    rows = follow_spines([[label.node for label in column] for column in columns], edges)
    # Columns before the last column of one node cross in no order.
    ones = [index for index, row in enumerate(rows) if len(row) == 1]
    start = ones[-1] if ones else 0
    inside = {node for row in rows[start:] for node in row}
    tail = [(left, right) for left, right in edges if left in inside]
    ordered = order_rows(rows[start:], tail, search=False).rows
    return [*rows[:start], *cast("tuple[tuple[Node, ...], ...]", ordered)]


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
    """Place boxes in their order, each as near to where it would like to be as it can.

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
    shifts = fit_rising([wish - offset for wish, offset in zip(wanted, offsets, strict=True)])
    return [shift + offset for shift, offset in zip(shifts, offsets, strict=True)]


def _place_middles(
    order: Sequence[Sequence[Node]], edges: Edges, heights: Mapping[Node, float]
) -> dict[Node, float]:
    """Place the middles: columns stacked first, then each drawn towards its neighbours."""
    neighbours: dict[Node, list[Node]] = {node: [] for column in order for node in column}
    for left, right in edges:
        neighbours[left].append(right)
        neighbours[right].append(left)
    middles: dict[Node, float] = {}
    for column in order:
        sizes = [heights[node] for node in column]
        stacked = place_in_order([0.0] * len(column), sizes, ROW_GAP)
        middles.update(zip(column, stacked, strict=True))
    level = {node: index for index, column in enumerate(order) for node in column}
    tallest = max(
        range(len(order)), key=lambda index: sum(heights[node] + ROW_GAP for node in order[index])
    )
    # The tallest column stays as stacked; the others follow it, outwards, until they settle.
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


def draw_cause_graph(graph: CauseGraph, words: Words) -> Markup:
    """Draw the graph of a defect.

    Returns:
        Two `<svg>` with title and description; "" where the defect has neither signs nor causes.
    """
    edges = list(graph.often)
    if not edges:
        return Markup("")
    shapes = (("wide", lay_out(graph.columns, edges)), ("tall", stack(graph.columns, edges)))
    drawn = [_Writer(graph, words, shape, layout).write() for shape, layout in shapes]
    return Markup("\n").join(drawn)


class _Writer:
    """Writes one layout as SVG."""

    def __init__(self, graph: CauseGraph, words: Words, shape: str, layout: GraphLayout) -> None:
        self.graph, self.words = graph, words
        self.labels = {label.node: label for column in graph.columns for label in column}
        self.shape = shape
        self.layout = layout

    def write(self) -> Markup:
        layout, name = self.layout, f"bl-graph-{self.shape}"
        width, height = write_length(layout.width), write_length(layout.height)
        signs, _, causes, fixes = (len(column) for column in layout.columns)
        say = self.words.text
        described = say(
            "graph.described",
            signs=say("graph.signs", n=signs),
            causes=say("graph.causes", n=causes),
            fixes=say("graph.fixes", n=fixes),
        )
        title = say("graph.title", defect=self.graph.name)
        parts = [
            f'<svg class="bl-graph {name}" viewBox="0 0 {width} {height}" width="{width}" '
            f'height="{height}" role="group" aria-labelledby="{name}-title {name}-desc">',
            f'<title id="{name}-title">{escape(title)}</title>',
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
        words = [self.words.text(f"graph.{name}") for name in ("see", "is", "why", "do")]
        return [
            f'<text class="bl-graph-heading" x="{write_length(x)}" y="{write_length(y)}" '
            f'aria-hidden="true">{word}</text>'
            for word, column, (x, y) in zip(
                words, self.layout.columns, self.layout.headings, strict=True
            )
            if column
        ]

    def _write_curve(self, curve: Curve) -> str:
        turn = (curve.x1 + curve.x2) / 2 if curve.side is None else curve.side
        x1, y1, x2, y2, bend = map(write_length, (curve.x1, curve.y1, curve.x2, curve.y2, turn))
        way = f"C{bend} {y1} {bend} {y2} {x2} {y2}" if curve.side is None else f"H{bend}V{y2}H{x2}"
        word = nearest_word(self.graph.often[curve.start, curve.end])
        return f'<path class="bl-often-{word}" d="M{x1} {y1}{way}"/>'

    def _write_box(self, box: GraphBox) -> str:
        kind = box.node[0]
        x, y, width, height = map(write_length, (box.x, box.y, box.width, box.height))
        radius = "22" if kind == "symptom" else "8"
        shape = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="{radius}"/>'
        inside = self._write_picture(box) + self._write_lines(box)
        if kind == "defect":
            return f'<g class="bl-node bl-node-defect">{shape}{inside}</g>'
        title = f"<title>{escape(self._explain(box))}</title>"
        href = escape(self.labels[box.node].href)
        return f'<a class="bl-node bl-node-{kind}" href="{href}">{title}{shape}{inside}</a>'

    def _write_picture(self, box: GraphBox) -> str:
        if not box.pictured:
            return ""
        x = write_length(box.x + (box.width - PICTURE[0]) / 2)
        size = f'x="{x}" y="{write_length(box.y + 4)}" width="{write_length(PICTURE[0])}" '
        size += f'height="{write_length(PICTURE[1])}" '
        return self.graph.picture.replace("<svg ", f"<svg {size}", 1)

    def _write_lines(self, box: GraphBox) -> str:
        rows = [("bl-graph-tag", box.tag)] if box.tag else []
        rows += [("", line) for line in box.lines]
        room = box.height - (PICTURE[1] if box.pictured else 0.0)
        first = box.y + box.height - room / 2 - len(rows) * LINE_HEIGHT / 2
        x = write_length(box.x + PADDING)
        spans = []
        for index, (style, line) in enumerate(rows):
            y = write_length(first + index * LINE_HEIGHT + TEXT_SIZE * 0.95)
            styled = f' class="{style}"' if style else ""
            spans.append(f'<tspan x="{x}" y="{y}"{styled}>{escape(line)}</tspan>')
        return f"<text>{' '.join(spans)}</text>"

    def _explain(self, box: GraphBox) -> str:
        """Say in words what the lines show: for a cause its fixes, for a fix its causes."""
        title = self.labels[box.node].text
        if box.node[0] == "cause":
            after = [self.labels[end].text for start, end in self.graph.often if start == box.node]
            if after:
                return self.words.text("graph.mended-by", cause=title, fixes="; ".join(after))
        if box.node[0] == "fix":
            before = [self.labels[start].text for start, end in self.graph.often if end == box.node]
            mended = "; ".join(before)
            return self.words.text("graph.mends", when=box.tag, fix=title, causes=mended)
        return title
