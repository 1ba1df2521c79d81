"""Writes calculators as plain scripts for the browser: one runtime, and a piece a calculator.

The scripts fill one namespace, `benchlore`, and use no modules, so that they run from a folder.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Iterable
from functools import cache

from builder.calculators import runtime
from builder.calculators.compiler import CompiledCalculator
from builder.formulas.javascript import compile_runtime, compile_to_javascript
from builder.formulas.python import list_callables

_HEAD = "var benchlore = benchlore || {};\n(function (benchlore) {\n"
_TAIL = """
benchlore.calculators = benchlore.calculators || {};
benchlore.addCalculator = function (description, formulas) {
    benchlore.calculators[description.id] = {description: description, formulas: formulas};
};
benchlore.calculate = function (id, raw) {
    var found = benchlore.calculators[id];
    return calculate(found.description, found.formulas, raw);
};
benchlore.samplePlot = function (id, raw) {
    var found = benchlore.calculators[id];
    return sample_plot(found.description, found.formulas, raw);
};
benchlore.figures = {formatQuantity: format_quantity, formatUs: format_us, formatBoth: format_both,
    formatNumber: format_number, roundHalfUp: round_half_up, units: UNITS};
"""


@cache
def emit_runtime() -> str:
    """Give the script that every page with a calculator loads first.

    It defines, in the namespace `benchlore`: `addCalculator(description, formulas)`;
    `calculate(id, raw)`, the same shape as in Python; `samplePlot(id, raw)`; and `figures`, which
    writes numbers as text.
    """
    names = ", ".join(f"{name}: {name}" for name in sorted(list_callables()))
    functions = f"benchlore.functions = {{{names}}};\n"
    return f"{_HEAD}{compile_runtime(runtime)}{_TAIL}{functions}}})(benchlore);\n"


def emit_calculator(compiled: CompiledCalculator) -> str:
    """Give the script of one calculator; it is loaded after the runtime."""
    known = list_callables()
    used = {
        node.id
        for tree in compiled.trees
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and node.id in known
    }
    names = "".join(f"var {name} = benchlore.functions.{name};\n" for name in sorted(used))
    description = json.dumps(compiled.description, ensure_ascii=False, separators=(",", ":"))
    description = description.replace("</", "<\\/")
    formulas = compile_to_javascript(compiled.trees)
    return (
        f"(function (benchlore) {{\n{names}benchlore.addCalculator({description},\n{formulas});\n"
        "})(benchlore);\n"
    )


def emit_javascript(calculators: Iterable[CompiledCalculator]) -> str:
    """Give one script with the runtime and all these calculators, sorted by id."""
    ordered = sorted(calculators, key=lambda compiled: compiled.entry.id)
    return emit_runtime() + "".join(emit_calculator(compiled) for compiled in ordered)
