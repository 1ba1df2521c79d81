"""Writes a calculator as a plain script for the browser."""

from __future__ import annotations

import json

from builder.calculators.compiler import CompiledCalculator
from builder.formulas.javascript import FUNCTIONS_OBJECT, compile_to_javascript


def emit_calculator(compiled: CompiledCalculator) -> str:
    """Give the script of one calculator; it is loaded after those of the twin."""
    description = json.dumps(compiled.short, ensure_ascii=False, separators=(",", ":"))
    description = description.replace("</", "<\\/")
    formulas = compile_to_javascript(compiled.trees)
    return (
        f"benchlore.addCalculator({description},\nfunction ({FUNCTIONS_OBJECT}) "
        f"{{ return {formulas}; }});\n"
    )
