"""Names of the calculators' scripts: those that all need, and a small one each."""

from __future__ import annotations

from collections.abc import Iterable

from builder.calculators import CompiledCalculator, emit_calculator
from builder.pages.scripts import CALCULATOR
from builder.twin_scripts import CALCULATORS

SCRIPT = CALCULATOR
SHARED_SCRIPTS = (CALCULATORS, SCRIPT)
STYLE = "calculator.css"
FOLDER = "calculators/"


def name_script(calculator: str) -> str:
    """Name the script of one calculator, within the folder of assets."""
    return f"{FOLDER}{calculator}.js"


def write_scripts(calculators: Iterable[CompiledCalculator]) -> dict[str, str]:
    """Give the script of each calculator by its name."""
    return {name_script(each.entry.id): emit_calculator(each) for each in calculators}
