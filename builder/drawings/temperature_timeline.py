"""The time-and-temperature strip of a lesson: its steps in order, their windows on one scale.

Drawn twice from the same rows: along the page for wide screens and paper, down the page for a
phone. The style sheet shows one of the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from markupsafe import Markup, escape

from builder.drawings.heat_scale import HeatScale
from builder.model import Lesson, Step, Verb
from builder.quantities import text_of, texts_of_window
from builder.twin import number_format
from builder.units import Quantity
from builder.words import Words


@dataclass(frozen=True, slots=True)
class StripRow:
    """One step on the strip.

    Args:
        number: Of the step, from 1.
        title: Of the step, plain text.
        bench_seconds: Time at the bench.
        wait_seconds: Time after it in which nobody need stand by.
        low: Lower end of its window in kelvin, or None without a window.
        high: Upper end in kelvin; without a lower end, the most it is heated to; None without both.
        metric: The window in metric units, or "".
        us: The window in US units, or "".
    """

    number: int
    title: str
    bench_seconds: float
    wait_seconds: float
    low: float | None
    high: float | None
    metric: str
    us: str


def make_rows(lesson: Lesson, words: Words) -> tuple[StripRow, ...]:
    """Take from a lesson what its strip shows."""
    return tuple(_make_row(number, step, words) for number, step in enumerate(lesson.steps, 1))


def _make_row(number: int, step: Step, words: Words) -> StripRow:
    low, high, metric, us = None, None, "", ""
    if step.temperature is not None:
        low, high = step.temperature.low.base, step.temperature.high.base
        metric, us = texts_of_window(step.temperature)
    else:
        heated = find_heated_to(step)
        if heated is not None:
            high = heated.base
            metric, us = (
                words.text("strip.up-to", temperature=text) if text else ""
                for text in text_of(heated)
            )
    wait = step.wait.base if step.wait else 0.0
    return StripRow(number, step.title, step.time.base, wait, low, high, metric, us)


def find_heated_to(step: Step) -> Quantity | None:
    """Give the highest temperature a step heats something to, or None where it states none."""
    heats = [action.to for action in step.actions if action.do is Verb.HEAT and action.to]
    return max(heats, key=lambda quantity: quantity.base, default=None)


def write_time(seconds: float) -> str:
    """Write a time for people: `45 s`, `8 min`, `1 h 30 min`, `2 days`."""
    if seconds >= 2 * 86400:
        return number_format.format_quantity(seconds, "day", "places", 0)
    unit = "s" if seconds < 60 else "min"
    return number_format.format_quantity(seconds, unit, "places", 0)


def draw_strip(rows: Sequence[StripRow], scale: HeatScale, words: Words) -> Markup:
    """Draw the strip; "" where no step has a temperature or a wait.

    Args:
        rows: The steps.
        scale: The course's scale of temperature.
        words: Our words in the language of the course.
    """
    if not any(row.high is not None or row.wait_seconds for row in rows):
        return Markup("")
    return Markup('<figure class="bl-strip">{}{}</figure>').format(
        _draw_wide(rows, scale, words), _draw_tall(rows, scale, words)
    )


def describe_strip(rows: Sequence[StripRow], words: Words) -> str:
    """Say in words what the strip shows."""
    parts = []
    for row in rows:
        facts = [write_time(row.bench_seconds)]
        if row.metric:
            facts.append(f"{row.metric} ({row.us})" if row.us else row.metric)
        if row.wait_seconds:
            facts.append(words.text("strip.then-wait", time=write_time(row.wait_seconds)))
        told = {"number": row.number, "title": row.title, "facts": ", ".join(facts)}
        parts.append(words.text("strip.step", **told))
    return " ".join(parts)


# Sizes in the units of each drawing; one unit is about one pixel at the size it is made for.

_TOP, _PLOT, _LEFT, _SLOT = 32.0, 180.0, 46.0, 74.0


def _draw_wide(rows: Sequence[StripRow], scale: HeatScale, words: Words) -> Markup:
    """Time runs along, temperature up; a wait is a gap with its own words."""
    weights = [max(1.0, sqrt(row.bench_seconds / 60)) for row in rows]
    waits = [58.0 if row.wait_seconds else 0.0 for row in rows]
    width = max(800.0, _LEFT + 8 + _SLOT * len(rows) + sum(waits))
    room = width - _LEFT - 8 - sum(waits) - _SLOT * len(rows)
    total = sum(weights)
    bottom = _TOP + _PLOT
    out: list[str] = []
    for tick in scale.ticks:
        y = bottom - scale.place(tick) * _PLOT
        out.append(f'<path class="bl-strip-grid" d="M{_LEFT:g} {y:.1f}H{width - 8:g}"/>')
        out.append(
            _two_texts(_LEFT - 6, y + 4, *_text_tick(tick), "end", "bl-strip-tick", over=True)
        )
    x = _LEFT
    before: tuple[float, float] | None = None
    for row, weight, wait in zip(rows, weights, waits, strict=True):
        slot = _SLOT + room * weight / total
        middle = x + slot / 2
        if row.high is not None:
            top = bottom - scale.place(row.high) * _PLOT
            foot = bottom - scale.place(row.low) * _PLOT if row.low is not None else top + 5
            height = max(7.0, foot - top)
            shade = scale.shade((row.high + (row.low or row.high)) / 2)
            centre = top + height / 2
            if before is not None:
                out.append(
                    f'<path class="bl-strip-way" d="M{before[0]:.1f} {before[1]:.1f}'
                    f'L{x + 3:.1f} {centre:.1f}"/>'
                )
            before = (x + slot - 3, centre)
            out.append(
                f'<rect class="bl-strip-band bl-heat-{shade}" x="{x + 3:.1f}" y="{top:.1f}" '
                f'width="{slot - 6:.1f}" height="{height:.1f}" rx="4"/>'
            )
            out.append(
                f'<path class="bl-strip-drop" d="M{middle:.1f} {top + height:.1f}V{bottom:g}"/>'
            )
            out.append(_two_texts(middle, top - 6, row.metric, row.us, "middle", "bl-strip-label"))
        out.append(_mark(middle, bottom + 18, row.number))
        out.append(
            f'<text class="bl-strip-time" x="{middle:.1f}" y="{bottom + 46:g}" '
            f'text-anchor="middle">{escape(write_time(row.bench_seconds))}</text>'
        )
        x += slot
        if wait:
            out.append(_wait_across(x, bottom, wait, row.wait_seconds, words.text("strip.waiting")))
            x += wait
    out.append(f'<path class="bl-strip-axis" d="M{_LEFT:g} {bottom:g}H{width - 8:g}"/>')
    return _frame("wide", width, bottom + 54, rows, out, words)


def _wait_across(x: float, bottom: float, width: float, seconds: float, wait: str) -> str:
    middle = x + width / 2
    first, _, rest = write_time(seconds).partition(
        f"{number_format.NO_BREAK_SPACE}h{number_format.NO_BREAK_SPACE}"
    )
    lines = [wait, f"{first}{number_format.NO_BREAK_SPACE}h", rest] if rest else [wait, first]
    words = "".join(
        f'<tspan x="{middle:.1f}" dy="{15 if index else 0}">{escape(line)}</tspan>'
        for index, line in enumerate(lines)
    )
    return (
        f'<rect class="bl-strip-wait" x="{x + 3:.1f}" y="{_TOP:g}" width="{width - 6:.1f}" '
        f'height="{bottom - _TOP:g}" rx="4"/>'
        f'<text class="bl-strip-waits" x="{middle:.1f}" y="{bottom - 40:g}" '
        f'text-anchor="middle">{words}</text>'
    )


_ROW, _GAP, _TALL = 48.0, 26.0, 340.0
_PLOT_LEFT, _PLOT_RIGHT, _LABEL = 36.0, 178.0, 188.0


def _draw_tall(rows: Sequence[StripRow], scale: HeatScale, words: Words) -> Markup:
    """Time runs down, temperature along; the words stand beside the window."""
    height = 34.0 + _ROW * len(rows) + sum(_GAP for row in rows if row.wait_seconds)
    out: list[str] = []
    span = _PLOT_RIGHT - _PLOT_LEFT
    for tick in scale.ticks:
        x = _PLOT_LEFT + scale.place(tick) * span
        out.append(f'<path class="bl-strip-grid" d="M{x:.1f} 34V{height:g}"/>')
        out.append(_two_texts(x, 26, *_text_tick(tick), "middle", "bl-strip-tick", over=True))
    y = 34.0
    for row in rows:
        out.append(_mark(14, y + 20, row.number))
        out.append(
            f'<text class="bl-strip-title" x="{_PLOT_LEFT:g}" y="{y + 16:.1f}">{escape(row.title)}'
            f'<tspan class="bl-strip-time" dx="6">{escape(write_time(row.bench_seconds))}</tspan>'
            "</text>"
        )
        if row.high is not None:
            right = _PLOT_LEFT + scale.place(row.high) * span
            left = _PLOT_LEFT + scale.place(row.low) * span if row.low is not None else right - 5
            shade = scale.shade((row.high + (row.low or row.high)) / 2)
            out.append(
                f'<rect class="bl-strip-band bl-heat-{shade}" x="{left:.1f}" y="{y + 24:.1f}" '
                f'width="{max(7.0, right - left):.1f}" height="15" rx="4"/>'
            )
            out.append(_one_line(_LABEL, y + 36, row.metric, row.us))
        y += _ROW
        if row.wait_seconds:
            out.append(
                f'<rect class="bl-strip-wait" x="{_PLOT_LEFT:g}" y="{y + 1:.1f}" '
                f'width="{_TALL - _PLOT_LEFT - 2:g}" height="{_GAP - 4:g}" rx="4"/>'
                f'<text class="bl-strip-waits" x="{_PLOT_LEFT + 8:g}" y="{y + 16:.1f}">'
                f"{words.html('strip.wait', time=write_time(row.wait_seconds))}</text>"
            )
            y += _GAP
    return _frame("tall", _TALL, height, rows, out, words)


def _frame(
    name: str,
    width: float,
    height: float,
    rows: Sequence[StripRow],
    parts: Sequence[str],
    words: Words,
) -> Markup:
    return Markup(
        f'<svg class="bl-strip-{name}" viewBox="0 0 {width:g} {height:g}" role="img" '
        'focusable="false"><title>'
        f"{words.html('strip.title')}</title>"
        f"<desc>{escape(describe_strip(rows, words))}</desc>{''.join(parts)}</svg>"
    )


def _mark(x: float, y: float, number: int) -> str:
    return (
        f'<circle class="bl-strip-mark" cx="{x:.1f}" cy="{y:.1f}" r="11.5"/>'
        f'<text class="bl-strip-number" x="{x:.1f}" y="{y + 4.5:.1f}" '
        f'text-anchor="middle">{number}</text>'
    )


def _text_tick(kelvin: float) -> tuple[str, str]:
    return (
        number_format.format_quantity(kelvin, "degC", "places", 0),
        number_format.format_quantity(kelvin, "degF", "places", 0),
    )


def _two_texts(
    x: float, y: float, metric: str, us: str, anchor: str, name: str, *, over: bool = False
) -> str:
    """Write the metric text, and the US text above it; the style sheet shows both, or one."""
    line = f'<text class="{name} bl-metric" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">'
    if not us:
        return f"{line.replace(' bl-metric', '')}{escape(metric)}</text>"
    rise = 12 if over else 13
    return (
        f"{line}{escape(metric)}</text>"
        f'<text class="{name} bl-us" x="{x:.1f}" y="{y - rise:.1f}" '
        f'text-anchor="{anchor}">{escape(us)}</text>'
    )


def _one_line(x: float, y: float, metric: str, us: str) -> str:
    words = f'<tspan class="bl-metric">{escape(metric)}</tspan>' if us else str(escape(metric))
    if us:
        words += (
            ' <tspan class="bl-us"><tspan class="bl-bracket">(</tspan>'
            f'{escape(us)}<tspan class="bl-bracket">)</tspan></tspan>'
        )
    return f'<text class="bl-strip-label" x="{x:.1f}" y="{y:.1f}">{words}</text>'
