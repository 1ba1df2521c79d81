"""A decision chart as SVG, and as a list that says the same.

Colours are the site's variables with a plain colour to fall back to, so the drawing stands by
itself as well.
"""

from __future__ import annotations

from html import escape

from markupsafe import Markup

from builder.diagnosis.decision_tree import Branch, Chart, Leaf
from builder.diagnosis.decision_words import Words
from builder.drawings.decision_layout import SMALL, Box, Layout, Line, Turn, lay_out
from builder.library import Library
from builder.text_metrics import TEXT_SIZE

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


def draw_chart(library: Library, chart: Chart) -> str:
    """Draw a chart.

    Args:
        library: The course.
        chart: From `make_charts`.

    Returns:
        An `<svg>` with title and description.
    """
    words = Words(library)
    return _write(lay_out(words, chart), chart, words)


def measure_chart(library: Library, chart: Chart) -> tuple[float, float]:
    """Give the width and the height of a chart's drawing, in the units of its view box."""
    layout = lay_out(Words(library), chart)
    return layout.width, layout.height


def _write(layout: Layout, chart: Chart, words: Words) -> str:
    name = f"bl-chart-{chart.defect}"
    width, height = _number(layout.width), _number(layout.height)
    deep = " bl-chart-deep" if layout.width > ROOM else ""
    title = f"{words.library.defects[chart.defect].name}: decision chart"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="bl-chart{deep}" role="img" '
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'aria-labelledby="{name}-title {name}-desc" font-family="{FACES}" '
        f'font-size="{_number(TEXT_SIZE)}">',
        f'<title id="{name}-title">{escape(title)}</title>',
        f'<desc id="{name}-desc">{escape(words.say_chart(chart))}</desc>',
        f'<g fill="none" stroke="{INK}" stroke-linejoin="round">',
        *(_write_turn(turn) for turn in layout.turns),
        "</g>",
        *(_write_box(box) for box in layout.boxes),
        *(_write_line(line) for line in layout.loose),
        *(_write_word(turn) for turn in layout.turns if turn.word),
        "</svg>",
    ]
    return "\n".join(parts)


def _write_turn(turn: Turn) -> str:
    x1, y1, x2, y2 = map(_number, (turn.x1, turn.y1, turn.x2, turn.y2))
    way = f"V{y2}" if turn.turn is None else f"H{_number(turn.turn)}V{y2}H{x2}"
    return f'<path d="M{x1} {y1}{way}" stroke-width="{3.2 if turn.likelier else 1.4}"/>'


def _write_word(turn: Turn) -> str:
    assert turn.turn is not None
    # Above the line for a yes and below it for a no: clear of the lines that lead there.
    y = turn.y2 - 5 if turn.word == "yes" else turn.y2 + SMALL + 1
    return _write_line(Line(turn.word, turn.turn + 3, y, "answer"))


def _write_box(box: Box) -> str:
    x, y, width, height = map(_number, (box.x, box.y, box.width, box.height))
    radius = "8" if box.kind in ("defect", "question") else "0"
    heavy = "2.5" if box.kind == "defect" else "1.3"
    shape = (
        f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="{radius}" '
        f'fill="{FILLS[box.kind]}" stroke="{INK}" stroke-width="{heavy}"/>'
    )
    return "\n".join([shape, *map(_write_line, box.lines)])


def _write_line(line: Line) -> str:
    small = f' font-size="{_number(SMALL)}"'
    style = {"strong": BOLD, "small": small, "answer": BOLD + small}
    fill = QUIET if line.style == "small" else INK
    return (
        f'<text x="{_number(line.x)}" y="{_number(line.y)}" fill="{fill}"'
        f"{style.get(line.style, '')}>{escape(line.text)}</text>"
    )


def list_chart(library: Library, chart: Chart) -> Markup:
    """Write a chart as lists within lists.

    Args:
        library: The course.
        chart: From `make_charts`.
    """
    words = Words(library)
    notes = Markup("").join(Markup("<p>{}</p>").format(note) for note in words.notes(chart))
    return _list_branch(words, chart.root) + notes


def _list_branch(words: Words, branch: Branch) -> Markup:
    if isinstance(branch, Leaf):
        return Markup("<p>{}</p>").format(words.say_end(branch))
    return Markup(
        "<p>{}</p><ul><li><strong>Yes.</strong> {}</li><li><strong>No.</strong> {}</li></ul>"
    ).format(words.ask(branch), _list_branch(words, branch.yes), _list_branch(words, branch.no))


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
