"""Drawn instruments to read: thermometer, dial, measuring cylinder, plot.

Plain SVG with fills from the site's variables, so that light, dark and print all work. Numbers
stand at every fifth or tenth division, as on the real thing; the reading is never written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from builder.drawings.svg import write_length
from builder.twin.number_format import format_number

MOST_DIVISIONS = 120
_INK = "var(--d-ink,currentColor)"
_HOT = "var(--d-rust,#9A3F1A)"
_COOL = "var(--d-slate,#7FA3C0)"
_FONT = "font-family=\"'Libertinus Serif','DejaVu Sans',serif\""


@dataclass(frozen=True, slots=True)
class Marks:
    """The divisions of a scale, in the unit written on it.

    Args:
        low: Where it begins.
        high: Where it ends.
        division: What one small division stands for.
        unit: The unit as written.
    """

    low: float
    high: float
    division: float
    unit: str

    @property
    def count(self) -> int:
        """How many small divisions there are."""
        return round((self.high - self.low) / self.division)

    @property
    def numbered(self) -> int:
        """At how many divisions a number stands: the least of 5, 10, 20 that leaves room."""
        for every in (5, 10, 20):
            if self.count / every <= 12:
                return every
        return 20

    @property
    def places(self) -> int:
        """Decimal places of the numbers on the scale."""
        step = self.division * self.numbered
        places = 0
        while places < 4 and abs(step * 10**places - round(step * 10**places)) > 1e-6:
            places += 1
        return places

    def value(self, place: int) -> float:
        """Give the value at a division."""
        return self.low + place * self.division

    def write(self, place: int) -> str:
        """Write the number at a division."""
        return format_number(self.value(place), self.places)


def _fine(value: float) -> str:
    return write_length(value, 2)


class _Strokes:
    """Straight strokes, gathered into one path for each width: drawings stay small."""

    def __init__(self, opacity: float = 1.0) -> None:
        self.opacity = opacity
        self.ways: dict[float, list[str]] = {}

    def add(self, x1: float, y1: float, x2: float, y2: float, width: float) -> None:
        """Add a stroke."""
        if y1 == y2:
            way = f"M{_fine(x1)} {_fine(y1)}H{_fine(x2)}"
        elif x1 == x2:
            way = f"M{_fine(x1)} {_fine(y1)}V{_fine(y2)}"
        else:
            way = f"M{_fine(x1)} {_fine(y1)}L{_fine(x2)} {_fine(y2)}"
        self.ways.setdefault(width, []).append(way)

    def draw(self) -> str:
        """Give them all."""
        soft = f' stroke-opacity="{_fine(self.opacity)}"' if self.opacity < 1 else ""
        return "".join(
            f'<path d="{"".join(ways)}" stroke-width="{_fine(width)}"{soft}/>'
            for width, ways in self.ways.items()
        )


def _text(x: float, y: float, words: str, anchor: str = "start", size: float = 13) -> str:
    place = f'x="{_fine(x)}" y="{_fine(y)}" text-anchor="{anchor}"'
    return f'<text {place} font-size="{_fine(size)}">{words}</text>'


def _wrap(width: float, height: float, strokes: Sequence[str], texts: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_fine(width)} {_fine(height)}" '
        f'role="img"><g fill="none" stroke="{_INK}" stroke-linecap="round" '
        f'stroke-linejoin="round">{"".join(strokes)}</g>'
        f'<g fill="{_INK}" stroke="none" {_FONT}>{"".join(texts)}</g></svg>'
    )


def _weight(place: int, numbered: int) -> tuple[float, float]:
    """Give length and width of a division's stroke."""
    if place % numbered == 0:
        return 14, 1.4
    if place % 5 == 0:
        return 10, 1
    return 6, 0.7


def draw_thermometer(marks: Marks, reading: float) -> str:
    """Draw a glass thermometer lying on its side, so that its scale is long on paper and phone."""
    left, length = 52.0, 440.0
    strokes = [
        f'<path d="M40 24H{_fine(left + length + 12)}a9 9 0 0 1 0 18H40" stroke-width="1.6"/>',
        f'<circle cx="28" cy="33" r="16" fill="{_HOT}" stroke-width="1.6"/>',
    ]
    end = left + length * (reading - marks.low) / (marks.high - marks.low)
    strokes.append(
        f'<path d="M28 33H{_fine(end)}" stroke="{_HOT}" stroke-width="7" stroke-linecap="butt"/>'
    )
    texts, lines = [], _Strokes()
    for place in range(marks.count + 1):
        x = left + length * place / marks.count
        size, width = _weight(place, marks.numbered)
        lines.add(x, 46, x, 46 + size, width)
        if place % marks.numbered == 0:
            texts.append(_text(x, 77, marks.write(place), "middle"))
    texts.append(_text(left + length + 12, 18, marks.unit, "end", 14))
    return _wrap(520, 84, [*strokes, lines.draw()], texts)


def draw_dial(marks: Marks, reading: float) -> str:
    """Draw a round dial with a pointer, as on a spring scale; it runs clockwise from below left."""
    centre, radius, sweep = 110.0, 98.0, 1.5 * pi

    def place_at(share: float, distance: float) -> tuple[float, float]:
        angle = 0.75 * pi + sweep * share
        return centre + distance * cos(angle), centre + distance * sin(angle)

    strokes = [f'<circle cx="{centre}" cy="{centre}" r="{radius + 8}" stroke-width="1.8"/>']
    texts, lines = [], _Strokes()
    for place in range(marks.count + 1):
        share = place / marks.count
        size, width = _weight(place, marks.numbered)
        lines.add(*place_at(share, radius), *place_at(share, radius - size), width)
        if place % marks.numbered == 0:
            x, y = place_at(share, radius - 27)
            texts.append(_text(x, y + 4, marks.write(place), "middle"))
    share = (reading - marks.low) / (marks.high - marks.low)
    lines.add(*place_at(share, -14), *place_at(share, radius - 3), 2)
    strokes.append(lines.draw())
    strokes.append(f'<circle cx="{centre}" cy="{centre}" r="5" fill="{_INK}" stroke="none"/>')
    texts.append(_text(centre, centre + 62, marks.unit, "middle", 13))
    return _wrap(220, 220, strokes, texts)


def draw_cylinder(marks: Marks, reading: float) -> str:
    """Draw a measuring cylinder; the reading is at the lowest point of the curved surface."""
    left, right, top, bottom = 20.0, 88.0, 26.0, 266.0

    def height(share: float) -> float:
        return bottom - (bottom - top) * share

    level = height((reading - marks.low) / (marks.high - marks.low))
    middle = (left + right) / 2
    liquid = (
        f'<path d="M{left} {_fine(level - 5)}Q{left + 3} {_fine(level)} {middle} '
        f'{_fine(level)}Q{right - 3} {_fine(level)} {right} {_fine(level - 5)}V276H{left}Z" '
        f'fill="{_COOL}" stroke-width="1"/>'
    )
    glass = (
        f'<path d="M12 10Q{left} 10 {left} 18V276H{right}V18Q{right} 10 96 10" stroke-width="1.6"/>'
        '<path d="M8 276H100V284H8Z" stroke-width="1.6"/>'
    )
    texts, lines = [], _Strokes()
    for place in range(marks.count + 1):
        y = height(place / marks.count)
        size, width = _weight(place, marks.numbered)
        lines.add(right - size - 6, y, right, y, width)
        if place % marks.numbered == 0:
            texts.append(_text(right + 6, y + 4, marks.write(place)))
    texts.append(_text((left + right) / 2 - 10, 24, marks.unit, "middle", 14))
    return _wrap(140, 292, [liquid, glass, lines.draw()], texts)


def draw_plot(
    x: Marks, y: Marks, curve: Sequence[Sequence[float]], place: float, labels: tuple[str, str]
) -> str:
    """Draw a curve on squared paper, with a stroke up from the place that is asked about.

    Args:
        x: Divisions of the horizontal axis.
        y: Divisions of the vertical axis.
        curve: Points in the units of the axes.
        place: Where on the horizontal axis the stroke stands.
        labels: Words along the axes, without units.
    """
    left, right, top, bottom = 46.0, 436.0, 34.0, 278.0

    def across(value: float) -> float:
        return left + (right - left) * (value - x.low) / (x.high - x.low)

    def up(value: float) -> float:
        return bottom - (bottom - top) * (value - y.low) / (y.high - y.low)

    texts, grid = [], _Strokes(0.3)
    for step in range(x.count + 1):
        at = across(x.value(step))
        bold = step % x.numbered == 0
        grid.add(at, top, at, bottom, 1.6 if bold else 0.5)
        if bold:
            texts.append(_text(at, bottom + 15, x.write(step), "middle"))
    for step in range(y.count + 1):
        at = up(y.value(step))
        bold = step % y.numbered == 0
        grid.add(left, at, right, at, 1.6 if bold else 0.5)
        if bold:
            texts.append(_text(left - 5, at + 4, y.write(step), "end"))
    strokes = [grid.draw(), f'<path d="M{left} {top}V{bottom}H{right}" stroke-width="1.2"/>']
    inside = [
        point for point in curve if y.low <= point[1] <= y.high and x.low <= point[0] <= x.high
    ]
    way = "L".join(f"{_fine(across(point[0]))} {_fine(up(point[1]))}" for point in inside)
    if way:
        strokes.append(f'<path d="M{way}" stroke="{_HOT}" stroke-width="2"/>')
    at = across(place)
    strokes.append(
        f'<path d="M{_fine(at)} {bottom}V{top}" stroke-width="1.4" stroke-dasharray="5 4"/>'
    )
    texts.append(_text(right, bottom + 33, f"{labels[0]} ({x.unit})", "end", 14))
    texts.append(_text(left - 40, top - 17, f"{labels[1]} ({y.unit})", "start", 14))
    return _wrap(450, 318, strokes, texts)
