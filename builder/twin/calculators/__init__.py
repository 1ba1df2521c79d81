"""Runs a compiled calculator: reads what was typed, checks it, computes, and writes the answer.

The same text runs in Python and, compiled, in the browser: this is the one definition of what an
input may look like, of every message, and of every refusal. It therefore keeps to the part of
Python that compiles: functions over plain mappings, lists, text and floats, with names that are
unique over all modules of this package.

A calculator comes in two parts: `d`, a mapping that describes it, and `f`, a list of its formulas
as functions of values and tables. The mapping travels to the page in a short form, mostly the
author's own text, which `expand_description` fills out. A read value is a list of two: the value,
and a message where it could not be read.
"""

from __future__ import annotations

from builder.twin.calculators.bands import calculate_with_bands, list_unsure
from builder.twin.calculators.describing import (
    BOUNDS,
    expand_description,
    expand_field,
    read_bound,
)
from builder.twin.calculators.fields import read_field, read_one
from builder.twin.calculators.filling import convert_typed, list_shown, part_rows, part_typed
from builder.twin.calculators.measures import name_unit, unit_row, write_quantity
from builder.twin.calculators.plotting import sample_plot
from builder.twin.calculators.running import calculate, compute, read_inputs, run_step

__all__ = [
    "BOUNDS",
    "calculate",
    "calculate_with_bands",
    "compute",
    "convert_typed",
    "expand_description",
    "expand_field",
    "list_shown",
    "list_unsure",
    "name_unit",
    "part_rows",
    "part_typed",
    "read_bound",
    "read_field",
    "read_inputs",
    "read_one",
    "run_step",
    "sample_plot",
    "unit_row",
    "write_quantity",
]
