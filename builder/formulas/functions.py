"""The one table of functions a formula may call: the callable, its unit rule, what it is for.

A function exists when it has a row here; its JavaScript is compiled from the same Python text (see
`arithmetic`), except for the few operations of `primitives`, which carry theirs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from builder.twin import arithmetic


@dataclass(frozen=True, slots=True)
class FormulaFunction:
    """One function of the table.

    Args:
        name: As written in formulas.
        python: What runs.
        arguments: Unit rule, one word an argument: `ratio` a plain number; `same` any dimension,
            the same for all arguments so named; `level` as `same`, but a temperature may stand
            there too; `temperature` a temperature; `kelvins` a temperature difference or absolute
            temperature; `boolean`; `text`; `table` and `column` names written out; `optional` an
            input that may be left out.
        result: `ratio`, `same`, `level`, `difference` (of levels), `root`, `temperature`,
            `kelvins`, `boolean`, `names`, `cell` (what the column holds).
        doc: One line for authors.
        example: A formula that holds, checked by the tests: it must be true.
        aggregate: Whether `f(... for row in rows)` may be written; the values arrive as a list.
        variadic: Whether the last argument may be repeated; they then arrive as a list.
    """

    name: str
    python: Callable[..., Any]
    arguments: tuple[str, ...]
    result: str
    doc: str
    example: str
    aggregate: bool = False
    variadic: bool = False

    @property
    def target(self) -> str:
        """Name of the callable in both languages."""
        return self.python.__name__


_ROWS = (
    FormulaFunction(
        "exp",
        arithmetic.take_exp,
        ("ratio",),
        "ratio",
        "e to a power.",
        "exp(0) == 1",
    ),
    FormulaFunction(
        "log",
        arithmetic.take_log,
        ("ratio",),
        "ratio",
        "Natural logarithm; no answer for 0 or less.",
        "log(exp(2)) == 2",
    ),
    FormulaFunction(
        "sqrt",
        arithmetic.take_root,
        ("same",),
        "root",
        "Square root; no answer for negative numbers.",
        "sqrt(9) == 3",
    ),
    FormulaFunction(
        "abs",
        arithmetic.take_size,
        ("same",),
        "same",
        "The value without its sign.",
        "abs(-3) == 3",
    ),
    FormulaFunction(
        "floor",
        arithmetic.take_floor,
        ("ratio",),
        "ratio",
        "Whole number at or below; 2.9999999999 counts as 3.",
        "floor(2.7) == 2 and floor(0.3 / 0.1) == 3",
    ),
    FormulaFunction(
        "ceil",
        arithmetic.take_ceiling,
        ("ratio",),
        "ratio",
        "Whole number at or above; 3.0000000001 counts as 3.",
        "ceil(2.1) == 3",
    ),
    FormulaFunction(
        "round",
        arithmetic.round_whole,
        ("ratio",),
        "ratio",
        "Nearest whole number, half away from zero.",
        "round(2.5) == 3 and round(-2.5) == -3",
    ),
    FormulaFunction(
        "round_up_to",
        arithmetic.round_up_to,
        ("same", "same"),
        "same",
        "Next multiple of a step at or above a value.",
        "round_up_to(5.085, 0.1) > 5.0999 and round_up_to(5.085, 0.1) < 5.1001",
    ),
    FormulaFunction(
        "round_down_to",
        arithmetic.round_down_to,
        ("same", "same"),
        "same",
        "Next multiple of a step at or below a value.",
        "round_down_to(113.398, 1) == 113",
    ),
    FormulaFunction(
        "round_to",
        arithmetic.round_to,
        ("same", "same"),
        "same",
        "Nearest multiple of a step, half away from zero.",
        "round_to(120, 50) == 100",
    ),
    FormulaFunction(
        "sum",
        arithmetic.take_sum,
        ("same",),
        "same",
        "Sum over rows, or of the values in the brackets.",
        "sum(1, 2, 3) == 6",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "mean",
        arithmetic.take_mean,
        ("level",),
        "level",
        "Arithmetic mean over rows, or of the values in the brackets.",
        "mean(1, 2, 6) == 3",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "deviation",
        arithmetic.take_deviation,
        ("level",),
        "difference",
        "Standard deviation of a sample (n - 1).",
        "deviation(1, 2, 3) == 1",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "min",
        arithmetic.take_least,
        ("level",),
        "level",
        "Least value.",
        "min(3, 1, 2) == 1",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "max",
        arithmetic.take_greatest,
        ("level",),
        "level",
        "Greatest value.",
        "max(3, 1, 2) == 3",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "count",
        arithmetic.count_true,
        ("boolean",),
        "ratio",
        "How many rows meet a condition; `count(rows)` counts them all.",
        "count(1 > 0, 1 > 2) == 1",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "any",
        arithmetic.is_any,
        ("boolean",),
        "boolean",
        "Whether one row meets a condition.",
        "any(1 > 0, 1 > 2)",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "all",
        arithmetic.is_all,
        ("boolean",),
        "boolean",
        "Whether all rows meet a condition.",
        "all(1 > 0, 2 > 1)",
        aggregate=True,
        variadic=True,
    ),
    FormulaFunction(
        "names",
        arithmetic.take_names,
        ("text",),
        "names",
        "The names of rows, for an output that lists them.",
        "names(row.name for row in rows if row.share > 0.01)",
        aggregate=True,
    ),
    FormulaFunction(
        "celsius",
        arithmetic.to_celsius,
        ("temperature",),
        "ratio",
        "Degrees Celsius of a temperature as a plain number, for empirical formulas.",
        "celsius(from_celsius(25)) == 25",
    ),
    FormulaFunction(
        "from_celsius",
        arithmetic.from_celsius,
        ("ratio",),
        "temperature",
        "The temperature at so many degrees Celsius.",
        "from_celsius(25) > from_celsius(24)",
    ),
    FormulaFunction(
        "kelvin",
        arithmetic.pass_on,
        ("temperature",),
        "kelvins",
        "A temperature above absolute zero, to multiply with (as in the gas law).",
        "kelvin(from_celsius(20)) / kelvin(from_celsius(20)) == 1",
    ),
    FormulaFunction(
        "from_kelvin",
        arithmetic.pass_on,
        ("kelvins",),
        "temperature",
        "The temperature so far above absolute zero.",
        "from_kelvin(kelvin(from_celsius(20))) == from_celsius(20)",
    ),
    FormulaFunction(
        "given",
        arithmetic.is_given,
        ("optional",),
        "boolean",
        "Whether an optional input, or an optional column of a row, was filled in.",
        "given(note) or not given(note)",
    ),
    FormulaFunction(
        "exceeds_exact",
        arithmetic.exceeds_exact,
        ("ratio", "ratio"),
        "boolean",
        "Whether the product of all further values exceeds the first, in exact decimals: for legal"
        " limits that name only what exceeds them.",
        "not exceeds_exact(0.0001, 0.025, 0.004) and exceeds_exact(0.0001, 0.025, 0.00401)",
        variadic=True,
    ),
    FormulaFunction(
        "t_quantile",
        arithmetic.t_quantile,
        ("ratio",),
        "ratio",
        "Student's t at 97.5 % for whole degrees of freedom.",
        "t_quantile(11) > 2.2009 and t_quantile(11) < 2.2011",
    ),
    FormulaFunction(
        "table_low",
        arithmetic.table_low,
        ("table", "text", "column"),
        "cell",
        "Least value of a table's cell over all its sources.",
        'table_low("sample", "first", "share") <= table_high("sample", "first", "share")',
    ),
    FormulaFunction(
        "table_high",
        arithmetic.table_high,
        ("table", "text", "column"),
        "cell",
        "Greatest value of a table's cell over all its sources.",
        'table_high("sample", "first", "share") >= table_low("sample", "first", "share")',
    ),
    FormulaFunction(
        "table_middle",
        arithmetic.table_middle,
        ("table", "text", "column"),
        "cell",
        "Middle between the least and the greatest value of a table's cell over all its sources.",
        'table_middle("sample", "first", "share") >= table_low("sample", "first", "share")',
    ),
    FormulaFunction(
        "table_step",
        arithmetic.table_step,
        ("table", "step", "column"),
        "cell",
        "Value in the row of a table of steps that a value falls into.",
        'table_step("sample", 0.5, "share") >= 0',
    ),
)

FUNCTIONS: Mapping[str, FormulaFunction] = MappingProxyType({row.name: row for row in _ROWS})
"""The table, by the name written in formulas."""

CONSTANTS: Mapping[str, float] = MappingProxyType({"pi": math.pi})
"""Names that stand for a plain number everywhere."""
