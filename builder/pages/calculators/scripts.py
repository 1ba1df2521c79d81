"""The scripts of the calculators: one for all, with the drawing of plots, and a small one each."""

from __future__ import annotations

from collections.abc import Iterable

from builder.calculators import CompiledCalculator, emit_calculator, emit_runtime
from builder.drawings import plot
from builder.formulas.javascript import strip_script
from builder.pages.context import ASSETS

SCRIPT = "calculator.js"
STYLE = "calculator.css"
FOLDER = "calculators/"


def name_script(calculator: str) -> str:
    """Name the script of one calculator, within the folder of assets."""
    return f"{FOLDER}{calculator}.js"


def write_scripts(calculators: Iterable[CompiledCalculator]) -> dict[str, str]:
    """Give the scripts by name: the one that all need, and one for each calculator."""
    written = {name_script(each.entry.id): emit_calculator(each) for each in calculators}
    if not written:
        return {}
    wiring = strip_script((ASSETS / SCRIPT).read_text(encoding="utf-8")) + "\n"
    return {SCRIPT: emit_runtime(plot, offers={"drawPlot": "draw_plot"}) + wiring, **written}
