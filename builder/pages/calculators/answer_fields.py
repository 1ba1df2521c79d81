"""Answers, warnings and the plot of a calculator, as the page shows them before anyone types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from builder.calculators import CompiledCalculator, Result
from builder.drawings.heat_scale import HeatScale
from builder.pages.records import dump_for_script
from builder.twin import calculators as runtime
from builder.twin.number_format import find_us_unit
from builder.twin.plot import draw_plot
from builder.twin.unit_table import UNITS
from builder.words import Words

WIDE = (680.0, 360.0)
NARROW = (340.0, 300.0)
"""Width and height of the two drawings of a plot; the style sheet shows the one that fits."""

PLOT_WORDS = ("against", "from", "at", "to", "spread")
LEVELS = ("danger", "warning", "note")


@dataclass(frozen=True, slots=True)
class AnswerView:
    """One answer: `us` is "" where there is no US side; `hidden` where there is no such answer."""

    name: str
    label: str
    note: str
    form: str
    metric: str
    us: str
    hidden: bool
    band: str = ""
    us_band: str = ""
    mostly: str = ""


@dataclass(frozen=True, slots=True)
class WarningView:
    """One warning, with its signal word; `hidden` where it does not hold."""

    id: str
    level: str
    word: str
    message: str
    hidden: bool


@dataclass(frozen=True, slots=True)
class PlotView:
    """The plot: its title, its two drawings, and what the browser needs to draw it again."""

    title: str
    wide: Markup
    narrow: Markup
    data: Markup


def view_answers(
    compiled: CompiledCalculator, result: Result
) -> tuple[tuple[AnswerView, ...], tuple[AnswerView, ...]]:
    """Make the answers shown large, and the others."""
    entry = compiled.entry
    views: dict[str, AnswerView] = {}
    for described in compiled.description["outputs"]:
        name = described["id"]
        answer = result.outputs.get(name)
        views[name] = AnswerView(
            name,
            described["label"],
            entry.outputs[name].note or "",
            described["form"],
            str(answer["text"]) if answer else "",
            str(answer["us"]) if answer else "",
            answer is None,
            *_write_band(answer),
        )
    large = [name for name in views if entry.outputs[name].main] or list(views)[:1]
    return (
        tuple(views[name] for name in large),
        tuple(view for name, view in views.items() if name not in large),
    )


def _write_band(answer: Mapping[str, Any] | None) -> tuple[str, str, str]:
    """Give the band of an answer in both systems and where it comes from; "" where it is sure."""
    band = answer.get("band") if answer else None
    return (str(band["text"]), str(band["us"]), str(band["mostly"])) if band else ("", "", "")


def view_warnings(
    words: Words, compiled: CompiledCalculator, result: Result
) -> tuple[WarningView, ...]:
    """Make all warnings that the calculator may bring, those for harm to people first."""
    said = {warning["id"]: warning["message"] for warning in result.warnings}
    ordered = sorted(
        compiled.entry.warnings.items(), key=lambda each: LEVELS.index(each[1].level.value)
    )
    return tuple(
        WarningView(
            name,
            warning.level.value,
            words.text(f"signal.{warning.level.value}"),
            said.get(name, ""),
            name not in said,
        )
        for name, warning in ordered
    )


def view_plot(
    words: Words, compiled: CompiledCalculator, raw: Mapping[str, str], scale: HeatScale, name: str
) -> PlotView | None:
    """Draw the plot for what is filled in at first, or give None where there is none.

    Args:
        words: The words of the site.
        compiled: The calculator.
        raw: What is filled in.
        scale: The course's scale of temperature.
        name: For ids; unique on the page.
    """
    if compiled.entry.plot is None:
        return None
    shape = describe_shape(words, compiled, scale)
    points = compiled.sample_plot(raw)
    wide = draw_plot(shape, points, *WIDE, f"{name}-wide")
    narrow = draw_plot(shape, points, *NARROW, f"{name}-narrow")
    data = {"shape": shape, "wide": WIDE, "narrow": NARROW}
    return PlotView(shape["title"], Markup(wide), Markup(narrow), Markup(dump_for_script(data)))


def describe_shape(words: Words, compiled: CompiledCalculator, scale: HeatScale) -> dict[str, Any]:
    """Give what does not change about a plot; see `plot`."""
    plot = compiled.entry.plot
    assert plot is not None
    described = compiled.description["plot"]
    upright = runtime.unit_row(compiled.description, described["y_unit"])
    heat = []
    if upright[0] == "temperature":
        heat = [(end - upright[2]) / upright[1] for end in (scale.low, scale.high)]
    return {
        "title": plot.title,
        "x": _describe_axis(compiled, plot.x.label, described["x_unit"]),
        "y": _describe_axis(compiled, plot.y.label, described["y_unit"]),
        "curves": [[curve.label, curve.dashed] for curve in plot.curves],
        "bands": [band.label for band in plot.bands],
        "marks": [mark.label for mark in plot.marks],
        "heat": heat,
        "says": {key: words.text(f"plot.{key}") for key in PLOT_WORDS},
    }


def _describe_axis(compiled: CompiledCalculator, label: str, unit: str) -> list[Any]:
    row = runtime.unit_row(compiled.description, unit)
    other = find_us_unit(0.1, unit)
    if not other:
        return [label, row[3], "", 1.0, 0.0]
    us = UNITS[other]
    return [label, row[3], us[3], row[1] / us[1], (row[2] - us[2]) / us[1]]
