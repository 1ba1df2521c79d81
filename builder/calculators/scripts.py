"""Writes calculators as plain scripts for the browser: one runtime, and a piece a calculator.

The scripts fill one namespace, `benchlore`, and use no modules, so that they run from a folder.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from types import ModuleType

from builder.calculators.compiler import CompiledCalculator
from builder.formulas.javascript import (
    FUNCTIONS_OBJECT,
    compile_runtime,
    compile_to_javascript,
    emit_figures,
    strip_script,
)
from builder.formulas.python import list_callables
from builder.twin import calculators as runtime

_HEAD = "var benchlore = benchlore || {};\n(function (benchlore) {\n"
_TAIL = """
benchlore.calculators = benchlore.calculators || {};
benchlore.addCalculator = function (short, make) {
    benchlore.calculators[short.id] = {description: expand_description(short),
        formulas: make(functions)};
};
benchlore.calculate = function (id, raw) {
    var found = benchlore.calculators[id];
    return calculate(found.description, found.formulas, raw);
};
benchlore.samplePlot = function (id, raw) {
    var found = benchlore.calculators[id];
    return sample_plot(found.description, found.formulas, raw);
};
benchlore.listShown = function (id, raw) {
    var found = benchlore.calculators[id];
    return list_shown(found.description, found.formulas, raw);
};
benchlore.partTyped = function (id, typed, options) {
    return part_typed(benchlore.calculators[id].description, typed, options);
};
benchlore.convertTyped = function (id, typed, unit) {
    return convert_typed(benchlore.calculators[id].description, typed, unit);
};
benchlore.partRows = function (id, name, typed) {
    var found = benchlore.calculators[id].description;
    return part_rows(found, typed, found.inputs.filter(function (field) {
        return field.id === name;
    })[0]);
};
"""


def emit_runtime(*modules: ModuleType, offers: Mapping[str, str] | None = None) -> str:
    """Give the script that every page with a calculator loads before it, and after the figures.

    It defines, in the namespace `benchlore`: `addCalculator(short, make)`; `calculate(id, raw)`,
    the same shape as in Python; `samplePlot(id, raw)`; and what a form needs: `listShown`,
    `partTyped`, `convertTyped`, `partRows`.

    Args:
        modules: Further modules to compile with it.
        offers: What to define of theirs: name in the namespace to name of the function.
    """
    names = ", ".join(f"{name}: {name}" for name in sorted(list_callables()))
    functions = f"var functions = {{{names}}};\n"
    body = compile_runtime(*runtime.MODULES, *modules, apart=True)
    more = "".join(f"benchlore.{name} = {own};\n" for name, own in (offers or {}).items())
    return strip_script(f"{_HEAD}{body}{functions}{_TAIL}{more}}})(benchlore);\n") + "\n"


def emit_calculator(compiled: CompiledCalculator) -> str:
    """Give the script of one calculator; it is loaded after the runtime."""
    description = json.dumps(compiled.short, ensure_ascii=False, separators=(",", ":"))
    description = description.replace("</", "<\\/")
    formulas = compile_to_javascript(compiled.trees)
    return (
        f"benchlore.addCalculator({description},\nfunction ({FUNCTIONS_OBJECT}) "
        f"{{ return {formulas}; }});\n"
    )


def emit_javascript(calculators: Iterable[CompiledCalculator]) -> str:
    """Give one script with the figures, the runtime and all these calculators, sorted by id."""
    ordered = sorted(calculators, key=lambda compiled: compiled.entry.id)
    pieces = "".join(emit_calculator(compiled) for compiled in ordered)
    return emit_figures() + emit_runtime() + pieces
