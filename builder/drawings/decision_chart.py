"""A decision chart as SVG, and as a list that says the same.

Questions stand from left to right and endings in a table. Each question stands midway between what
follows its answers, and the endings stand below each other in the order of the tree, so no line
crosses another. Colours are the site's variables with a plain colour to fall back to, so the
drawing stands by itself as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from builder.diagnosis.decision_tree import Branch, Chart, Leaf, Split
from builder.diagnosis.decision_words import ChartWords
from builder.drawings.svg import write_length
from builder.drawings.text_room import TEXT_SIZE, wrap_text
from builder.library import Library

INK = "var(--bl-ink, #2b2a28)"
QUIET = "var(--bl-quiet, #5c5852)"
FILLS = {
    "defect": "var(--bl-raised, #ffffff)",
    "question": "var(--bl-slate-paper, #e8eef3)",
    "cause": "var(--bl-ochre-paper, #fbefd2)",
    "fix": "var(--bl-moss-paper, #eaf0e2)",
}
BOLD = ' font-weight="700"'
ROOM = 900.0
"""Wider drawings are too small to read where a page has its usual width."""
FACES = "Seravek, 'Gill Sans Nova', Ubuntu, Calibri, 'DejaVu Sans', source-sans-pro, sans-serif"

LINE_HEIGHT = 18.0
SMALL = 13.0
"""Size of the type of what stands beside: how likely a cause is, notes below the chart."""
BOLD_WIDTH = 1.15
"""How much wider bold letters are."""
PADDING = 8.0
MARGIN = 4.0
QUESTION_WIDTH = 142.0
CELL_WIDTHS = (196.0, 148.0, 148.0)
"""Of the cells of an ending: causes, and the fixes for now and for next time."""
GAP = 46.0
TURN = 12.0
"""How far behind a question the line turns up and down to what follows."""
ROW_GAP = 12.0
HEADING_HEIGHT = 26.0


@dataclass(frozen=True, slots=True)
class Line:
    """One line of text with its left end on its base line; style "", "strong" or "small"."""

    text: str
    x: float
    y: float
    style: str = ""


@dataclass(frozen=True, slots=True)
class ChartBox:
    """A box with its words; kind "defect", "question", "cause" or "fix"."""

    kind: str
    x: float
    y: float
    width: float
    height: float
    lines: tuple[Line, ...]

    @property
    def middle(self) -> float:
        """Height of its middle."""
        return self.y + self.height / 2


@dataclass(frozen=True, slots=True)
class ChartTurn:
    """A line from a box over a turn to another, or straight down where `turn` is None.

    Args:
        x1: Where it begins.
        y1: Its height.
        x2: Where it ends.
        y2: Its height.
        turn: Where it runs up or down.
        word: The answer that it stands for, "yes" or "no"; "" for none.
        likelier: Whether it is the likelier of two answers.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    turn: float | None = None
    word: str = ""
    likelier: bool = False


@dataclass(frozen=True, slots=True)
class ChartLayout:
    """A finished layout; sizes in the units of the view box."""

    boxes: tuple[ChartBox, ...]
    turns: tuple[ChartTurn, ...]
    loose: tuple[Line, ...]
    width: float
    height: float


Styled = tuple[str, str]
"""A text and its style."""


def _wrap(parts: tuple[Styled, ...], width: float) -> tuple[Styled, ...]:
    rows: list[Styled] = []
    for text, style in parts:
        size = {"small": SMALL, "strong": TEXT_SIZE * BOLD_WIDTH}.get(style, TEXT_SIZE)
        rows += [(line, style) for line in wrap_text(text, width - 2 * PADDING, size)]
    return tuple(rows)


def _measure(rows: tuple[Styled, ...]) -> float:
    return len(rows) * LINE_HEIGHT + 2 * PADDING


def _make_box(
    kind: str, x: float, middle: float, width: float, height: float, rows: tuple[Styled, ...]
) -> ChartBox:
    first = middle - len(rows) * LINE_HEIGHT / 2 + TEXT_SIZE * 0.9
    lines = tuple(
        Line(text, x + PADDING, first + index * LINE_HEIGHT, style)
        for index, (text, style) in enumerate(rows)
    )
    return ChartBox(kind, x, middle - height / 2, width, height, lines)


def _count_depth(branch: Branch) -> int:
    if isinstance(branch, Leaf):
        return 0
    return 1 + max(_count_depth(branch.yes), _count_depth(branch.no))


class _Tree:
    """Places the boxes of a tree; `table` is where the endings begin."""

    def __init__(self, words: ChartWords, table: float) -> None:
        self.words = words
        self.table = table
        self.boxes: list[ChartBox] = []
        self.turns: list[ChartTurn] = []
        self.cells: dict[Leaf, tuple[tuple[Styled, ...], ...]] = {}
        self.asks: dict[Split, tuple[Styled, ...]] = {}
        self.heights: dict[Branch, float] = {}

    def measure(self, branch: Branch) -> float:
        """Measure the height that a branch needs, and keep it."""
        if isinstance(branch, Leaf):
            parts = self.words.end(branch)
            self.cells[branch] = tuple(
                _wrap(part, width) for part, width in zip(parts, CELL_WIDTHS, strict=True)
            )
            height = max(map(_measure, self.cells[branch]))
        else:
            self.asks[branch] = _wrap(((self.words.ask(branch), ""),), QUESTION_WIDTH)
            below = self.measure(branch.yes) + ROW_GAP + self.measure(branch.no)
            height = max(_measure(self.asks[branch]), below)
        self.heights[branch] = height
        return height

    def place(self, branch: Branch, x: float, top: float) -> tuple[float, float]:
        """Place a branch below a height; gives where its first box has its left side and middle."""
        height = self.heights[branch]
        if isinstance(branch, Leaf):
            middle = top + height / 2
            left = self.table
            for rows, width in zip(self.cells[branch], CELL_WIDTHS, strict=True):
                kind = "cause" if left == self.table else "fix"
                self.boxes.append(_make_box(kind, left, middle, width, height, rows))
                left += width
            return self.table, middle
        yes, no = self.heights[branch.yes], self.heights[branch.no]
        start = top + (height - yes - ROW_GAP - no) / 2
        below = x + QUESTION_WIDTH + GAP
        ends = (
            self.place(branch.yes, below, start),
            self.place(branch.no, below, start + yes + ROW_GAP),
        )
        own = _measure(self.asks[branch])
        middle = (ends[0][1] + ends[1][1]) / 2
        middle = min(max(middle, top + own / 2), top + height - own / 2)
        self.boxes.append(_make_box("question", x, middle, QUESTION_WIDTH, own, self.asks[branch]))
        right = x + QUESTION_WIDTH
        for word, (left, end), part, other in (
            ("yes", ends[0], branch.yes, branch.no),
            ("no", ends[1], branch.no, branch.yes),
        ):
            likelier = part.share > other.share
            self.turns.append(ChartTurn(right, middle, left, end, right + TURN, word, likelier))
        return x, middle


def lay_out(words: ChartWords, chart: Chart) -> ChartLayout:
    """Lay a chart out.

    Args:
        words: What the entries are called.
        chart: From `make_charts`.

    Returns:
        Boxes that do not overlap, all inside the view box; the boxes of one ending touch.
    """
    depth = _count_depth(chart.root)
    table = MARGIN + max(depth, 1) * (QUESTION_WIDTH + GAP)
    head = _wrap(words.head(chart), QUESTION_WIDTH)
    tall = _measure(head)
    tree = _Tree(words, table)
    top = MARGIN + HEADING_HEIGHT
    needed = tree.measure(chart.root)
    if isinstance(chart.root, Leaf):
        # Nothing to ask: the defect stands beside its one ending.
        top += max(0.0, tall - needed) / 2
        _, middle = tree.place(chart.root, MARGIN, top)
        right = MARGIN + QUESTION_WIDTH
        tree.turns.append(ChartTurn(right, middle, table, middle, right + TURN))
    else:
        # The defect stands over its first question.
        _, middle = tree.place(chart.root, MARGIN, top)
        above = middle - _measure(tree.asks[chart.root]) / 2 - 2 * ROW_GAP
        down = max(0.0, MARGIN + tall - above)
        if down:
            tree.boxes.clear()
            tree.turns.clear()
            top += down
            tree.place(chart.root, MARGIN, top)
        x, above = MARGIN + QUESTION_WIDTH / 2, above + down
        middle = above - tall / 2
        tree.turns.append(ChartTurn(x, above, x, above + 2 * ROW_GAP))
    root = _make_box("defect", MARGIN, middle, QUESTION_WIDTH, tall, head)
    boxes = [root, *tree.boxes]
    bottom = max(box.y + box.height for box in boxes)
    width = table + sum(CELL_WIDTHS) + MARGIN
    headings = [
        Line(word, table + sum(CELL_WIDTHS[:index]) + PADDING, top - PADDING, "small")
        for index, word in enumerate(words.headings)
    ]
    notes = _wrap(
        tuple((note, "small") for note in words.notes(chart, drawn=True)), width - 2 * MARGIN
    )
    foot = [
        Line(text, MARGIN + PADDING, bottom + LINE_HEIGHT * (index + 1.4), style)
        for index, (text, style) in enumerate(notes)
    ]
    height = bottom + LINE_HEIGHT * (len(foot) + 0.8) + MARGIN
    return ChartLayout(tuple(boxes), tuple(tree.turns), (*headings, *foot), width, height)


def draw_chart(library: Library, chart: Chart) -> str:
    """Draw a chart.

    Args:
        library: The course.
        chart: From `make_charts`.

    Returns:
        An `<svg>` with title and description.
    """
    words = ChartWords(library)
    return _write(lay_out(words, chart), chart, words)


def measure_chart(library: Library, chart: Chart) -> tuple[float, float]:
    """Give the width and the height of a chart's drawing, in the units of its view box."""
    layout = lay_out(ChartWords(library), chart)
    return layout.width, layout.height


def _write(layout: ChartLayout, chart: Chart, words: ChartWords) -> str:
    name = f"bl-chart-{chart.defect}"
    width, height = write_length(layout.width), write_length(layout.height)
    deep = " bl-chart-deep" if layout.width > ROOM else ""
    defect = words.library.defects[chart.defect].name
    title = words.texts.text("chart.title", defect=defect)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="bl-chart{deep}" role="img" '
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'aria-labelledby="{name}-title {name}-desc" font-family="{FACES}" '
        f'font-size="{write_length(TEXT_SIZE)}">',
        f'<title id="{name}-title">{escape(title)}</title>',
        f'<desc id="{name}-desc">{escape(words.say_chart(chart))}</desc>',
        f'<g fill="none" stroke="{INK}" stroke-linejoin="round">',
        *(_write_turn(turn) for turn in layout.turns),
        "</g>",
        *(_write_box(box) for box in layout.boxes),
        *(_write_line(line) for line in layout.loose),
        *(_write_word(turn, words) for turn in layout.turns if turn.word),
        "</svg>",
    ]
    return "\n".join(parts)


def _write_turn(turn: ChartTurn) -> str:
    x1, y1, x2, y2 = map(write_length, (turn.x1, turn.y1, turn.x2, turn.y2))
    way = f"V{y2}" if turn.turn is None else f"H{write_length(turn.turn)}V{y2}H{x2}"
    return f'<path d="M{x1} {y1}{way}" stroke-width="{3.2 if turn.likelier else 1.4}"/>'


def _write_word(turn: ChartTurn, words: ChartWords) -> str:
    assert turn.turn is not None
    # Above the line for a yes and below it for a no: clear of the lines that lead there.
    y = turn.y2 - 5 if turn.word == "yes" else turn.y2 + SMALL + 1
    return _write_line(Line(words.texts.text(f"chart.{turn.word}"), turn.turn + 3, y, "answer"))


def _write_box(box: ChartBox) -> str:
    x, y, width, height = map(write_length, (box.x, box.y, box.width, box.height))
    radius = "8" if box.kind in ("defect", "question") else "0"
    heavy = "2.5" if box.kind == "defect" else "1.3"
    shape = (
        f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="{radius}" '
        f'fill="{FILLS[box.kind]}" stroke="{INK}" stroke-width="{heavy}"/>'
    )
    return "\n".join([shape, *map(_write_line, box.lines)])


def _write_line(line: Line) -> str:
    small = f' font-size="{write_length(SMALL)}"'
    style = {"strong": BOLD, "small": small, "answer": BOLD + small}
    fill = QUIET if line.style == "small" else INK
    return (
        f'<text x="{write_length(line.x)}" y="{write_length(line.y)}" fill="{fill}"'
        f"{style.get(line.style, '')}>{escape(line.text)}</text>"
    )


def list_chart(library: Library, chart: Chart) -> Markup:
    """Write a chart as lists within lists.

    Args:
        library: The course.
        chart: From `make_charts`.
    """
    words = ChartWords(library)
    notes = Markup("").join(Markup("<p>{}</p>").format(note) for note in words.notes(chart))
    return _list_branch(words, chart.root) + notes


def _list_branch(words: ChartWords, branch: Branch) -> Markup:
    if isinstance(branch, Leaf):
        return Markup("<p>{}</p>").format(words.say_end(branch))
    return Markup(
        "<p>{}</p><ul><li><strong>{}</strong> {}</li><li><strong>{}</strong> {}</li></ul>"
    ).format(
        words.ask(branch),
        words.texts.text("chart.yes-head"),
        _list_branch(words, branch.yes),
        words.texts.text("chart.no-head"),
        _list_branch(words, branch.no),
    )
