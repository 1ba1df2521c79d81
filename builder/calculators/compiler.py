"""Compiles a calculator as written into what runs: a plain description and a list of formulas.

The description holds no formula text, so that the browser needs no parser of formulas. All problems
of an entry are gathered; nothing stops at the first.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from builder.calculators.context import Context
from builder.calculators.inputs import check_defaults, compile_constants, compile_inputs
from builder.calculators.outputs import (
    compile_outputs,
    compile_plot,
    compile_warnings,
    plan_steps,
)
from builder.calculators.problems import CalculatorError, Problem
from builder.calculators.tables import compile_table
from builder.formulas.expression import is_name
from builder.formulas.kinds import Environment, Kind
from builder.formulas.python import Evaluator, compile_to_python
from builder.model.calculators import Calculator, Table
from builder.twin import calculators as runtime
from builder.twin.calculators.messages import SAYS


@dataclass(frozen=True, slots=True)
class CompiledCalculator:
    """A calculator that runs.

    Args:
        entry: As written.
        short: The description as it travels to a page: plain values, mostly the author's text.
        description: The same, filled out, as `runtime` reads it.
        trees: The lowered formulas, for the JavaScript back end.
        formulas: The same, as Python functions.
        kinds: What each constant, input, value and output is.
    """

    entry: Calculator
    short: Mapping[str, Any] = field(repr=False)
    description: Mapping[str, Any] = field(repr=False)
    trees: tuple[ast.expr, ...] = field(repr=False)
    formulas: tuple[Evaluator, ...] = field(repr=False)
    kinds: Mapping[str, Kind] = field(repr=False)

    def calculate(self, raw: Mapping[str, Any] | None = None) -> Result:
        """Work out the answers for what was typed.

        Args:
            raw: Text by input name, with or without units; rows as text or as a list of mappings
                from column to text. Inputs left out take their defaults.

        Returns:
            The answers and warnings, or the errors.

        Example: `compiled.calculate({"room": "70 degF"}).outputs["rate"]["text"]`
        """
        return Result(runtime.calculate_with_bands(self.description, self.formulas, raw or {}))

    def sample_plot(self, raw: Mapping[str, Any] | None = None) -> Mapping[str, Any] | None:
        """Work out the points of the plot; see `runtime.sample_plot`."""
        points: Mapping[str, Any] | None = runtime.sample_plot(
            self.description, self.formulas, raw or {}
        )
        return points

    def read_values(self, raw: Mapping[str, Any] | None = None) -> Mapping[str, Any] | None:
        """Give every input, value and output in coherent base units, or None where refused."""
        values, errors = runtime.read_inputs(self.description, self.formulas, raw or {})
        if errors or runtime.compute(self.description, self.formulas, values) is not None:
            return None
        return MappingProxyType(values)


_FOR_PROGRAMS = ("value", "unit", "text", "band")


@dataclass(frozen=True, slots=True)
class Result:
    """What a calculation gave."""

    data: Mapping[str, Any]

    @property
    def outputs(self) -> Mapping[str, Mapping[str, Any]]:
        """Answers by name: value, unit, text, and the US side as text or ""."""
        outputs: Mapping[str, Mapping[str, Any]] = self.data.get("outputs", {})
        return outputs

    @property
    def warnings(self) -> tuple[Mapping[str, str], ...]:
        """Warnings, each with id and message."""
        return tuple(self.data.get("warnings", ()))

    @property
    def errors(self) -> tuple[Mapping[str, str], ...]:
        """Reasons why there is no answer, each with the input to look at."""
        return tuple(self.data.get("errors", ()))

    @property
    def examples(self) -> tuple[str, ...]:
        """Inputs that stand at our example, because nothing was given for them."""
        return tuple(self.data.get("defaults_used", ()))

    @property
    def left_out(self) -> tuple[str, ...]:
        """Answers that are left out until the reader's own value is given."""
        return tuple(self.data.get("left_out", ()))

    def to_json(self) -> dict[str, Any]:
        """Give the shape that programs read: outputs and warnings, or errors."""
        if self.errors:
            return {"errors": [dict(error) for error in self.errors]}
        return {
            "outputs": {
                name: {
                    key: answer[key] for key in ("value", "unit", "text", "band") if key in answer
                }
                for name, answer in self.outputs.items()
            },
            "warnings": [dict(warning) for warning in self.warnings],
            "defaults_used": list(self.examples),
            **({"left_out": list(self.left_out)} if self.left_out else {}),
        }


def compile_calculator(
    entry: Calculator, tables: Mapping[str, Table], currency: str = "EUR"
) -> CompiledCalculator:
    """Compile a calculator.

    Args:
        entry: As written.
        tables: All tables of the course, by id.
        currency: Code that stands for `money`.

    Raises:
        CalculatorError: With every problem found, each at its place.
    """
    compiled, problems = try_compile(entry, tables, currency)
    if compiled is None:
        raise CalculatorError(problems)
    return compiled


def try_compile(
    entry: Calculator,
    tables: Mapping[str, Table],
    currency: str,
    says: Mapping[str, Any] = MappingProxyType(SAYS),
) -> tuple[CompiledCalculator | None, tuple[Problem, ...]]:
    """Compile a calculator, or give every problem found.

    Args:
        entry: As written.
        tables: All tables of the course, by id.
        currency: Code that stands for `money`.
        says: What calculators say, in the language of the course.
    """
    compiled_tables = {name: compile_table(table) for name, table in tables.items()}
    kinds = {name: compiled.kind for name, compiled in compiled_tables.items()}
    context = Context(entry, tables, currency, compiled_tables, Environment({}, kinds))
    _check_names(context)
    short: dict[str, Any] = {"id": entry.id, "units": context.units}
    short["constants"] = compile_constants(context)
    short["inputs"] = compile_inputs(context)
    short["steps"] = plan_steps(context)
    short["outputs"] = compile_outputs(context)
    short["warnings"] = compile_warnings(context)
    short["plot"] = compile_plot(context)
    if context.problems:
        # A broken formula may leave traces in what builds on it; the description would be useless.
        return None, tuple(dict.fromkeys(context.problems))
    short["display"] = {
        name: context.display[name]
        for name in sorted(context.shown_names)
        if name not in entry.inputs and name not in entry.outputs
    }
    short["tables"] = {name: _cut_table(context, name) for name in sorted(context.table_columns)}
    if dict(says) != SAYS:
        short["says"] = dict(says)
    description = runtime.expand_description(short)
    check_defaults(context, description)
    if context.problems:
        return None, tuple(dict.fromkeys(context.problems))
    formulas = tuple(compile_to_python(tree) for tree in context.trees)
    names = MappingProxyType(dict(context.environment.names))
    trees = tuple(context.trees)
    return CompiledCalculator(entry, short, description, trees, formulas, names), ()


def _check_names(context: Context) -> None:
    """Refuse names that mean something else in a formula, or that stand twice."""
    entry = context.entry
    seen: dict[str, str] = {}
    groups: tuple[tuple[str, Iterable[str]], ...] = (
        ("inputs", entry.inputs),
        ("constants", entry.constants),
        ("values", entry.values),
        ("outputs", entry.outputs),
    )
    for group, names in groups:
        for name in names:
            if not is_name(name):
                message = f'"{name}" is a word of the formula language; choose another name'
                context.report((group, name), "formula-invalid", message)
            elif name in seen:
                message = f'"{name}" stands in {seen[name]} already; choose another name'
                context.report((group, name), "id-duplicate", message)
            seen.setdefault(name, group)


def _cut_table(context: Context, name: str) -> dict[str, Any]:
    """Keep of a table the columns that the formulas look up, and its steps."""
    data = context.compiled_tables[name].data
    wanted = context.table_columns[name] | {data["step"]}
    kept = [index for index, column in enumerate(data["columns"]) if column[0] in wanted]
    return {
        "name": data["name"],
        "step": data["step"],
        "columns": [data["columns"][index] for index in kept],
        "rows": {row: [cells[index] for index in kept] for row, cells in data["rows"].items()},
    }
