"""Calculators: from YAML to numbers that Python, the page and the paper agree on.

`compile_calculator` turns an entry into a `CompiledCalculator`; its `calculate` takes what was
typed and gives answers and warnings, or errors. `emit_javascript` writes the same for the browser.
`check_calculator` lists everything wrong with an entry, worked examples included.
"""

from __future__ import annotations

from builder.calculators.asking import AskingError, read_words, render_answers
from builder.calculators.bounds import check_bounds
from builder.calculators.compiler import (
    CompiledCalculator,
    Result,
    compile_calculator,
    try_compile,
)
from builder.calculators.examples import (
    check_calculator,
    check_examples,
    check_table,
    find_untried,
)
from builder.calculators.listing import describe_calculator, render_listing
from builder.calculators.problems import CalculatorError, Problem
from builder.calculators.scripts import emit_calculator
from builder.calculators.tables import CompiledTable, compile_table

__all__ = [
    "AskingError",
    "CalculatorError",
    "CompiledCalculator",
    "CompiledTable",
    "Problem",
    "Result",
    "check_bounds",
    "check_calculator",
    "check_examples",
    "check_table",
    "compile_calculator",
    "compile_table",
    "describe_calculator",
    "emit_calculator",
    "find_untried",
    "read_words",
    "render_answers",
    "render_listing",
    "try_compile",
]
