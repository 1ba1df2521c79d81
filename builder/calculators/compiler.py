"""Compiles a calculator as written into what runs: a plain description and a list of formulas.

The description holds no formula text and no unit that must be parsed again, so that the browser
needs neither. All problems of an entry are gathered; nothing stops at the first.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, TypeVar

from builder.calculators import runtime
from builder.calculators.problems import CalculatorError, Problem, describe_formula_error
from builder.calculators.tables import CompiledTable, compile_table
from builder.diagnostics import Route
from builder.figures import SPELLINGS, UNITS, format_both
from builder.formulas.dimensions import check_formula
from builder.formulas.expression import FormulaError, is_name, parse_formula
from builder.formulas.kinds import (
    ANY_AMOUNT,
    MONEY,
    RATIO,
    TEXT,
    Environment,
    Form,
    Kind,
    read_unit_kind,
)
from builder.formulas.lowering import lower_formula
from builder.formulas.python import Evaluator, compile_to_python
from builder.model.calculators import (
    Bounds,
    Calculator,
    CalculatorInput,
    Column,
    Output,
    Rounded,
    Table,
)
from builder.units import UnitError, parse_quantity, parse_unit

Wanted = TypeVar("Wanted")
PLAIN_DIGITS = 6
"""Most figures shown of a value that nobody rounded."""
_PLACE = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class CompiledCalculator:
    """A calculator that runs.

    Args:
        entry: As written.
        description: What `runtime` needs beside the formulas; plain values only.
        trees: The lowered formulas, for the JavaScript back end.
        formulas: The same, as Python functions.
        kinds: What each input, value and numeric output is.
    """

    entry: Calculator
    description: Mapping[str, Any]
    trees: tuple[ast.expr, ...] = field(repr=False)
    formulas: tuple[Evaluator, ...] = field(repr=False)
    kinds: Mapping[str, Kind] = field(repr=False)

    def calculate(self, raw: Mapping[str, Any] | None = None) -> Result:
        """Work out the answers for what was typed.

        Args:
            raw: Text by input name, with or without units; rows as text or as a list of mappings.
                Inputs left out take their defaults.

        Returns:
            The answers and warnings, or the errors.
        """
        return Result(runtime.calculate(self.description, self.formulas, raw or {}))

    def sample_plot(self, raw: Mapping[str, Any] | None = None) -> Mapping[str, Any] | None:
        """Work out the points of the plot; see `runtime.sample_plot`."""
        points: Mapping[str, Any] | None = runtime.sample_plot(
            self.description, self.formulas, raw or {}
        )
        return points

    def read_values(self, raw: Mapping[str, Any] | None = None) -> Mapping[str, Any] | None:
        """Give every input, value and numeric output in coherent base units, or None."""
        values, errors = runtime.read_inputs(self.description, self.formulas, raw or {})
        if errors or runtime.compute(self.description, self.formulas, values) is not None:
            return None
        return MappingProxyType(values)


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

    def to_json(self) -> dict[str, Any]:
        """Give the shape that programs read: outputs and warnings, or errors."""
        if self.errors:
            return {"errors": [dict(error) for error in self.errors]}
        return {
            "outputs": {
                name: {key: answer[key] for key in ("value", "unit", "text")}
                for name, answer in self.outputs.items()
            },
            "warnings": [dict(warning) for warning in self.warnings],
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
    compiler = Compiler(entry, tables, currency)
    compiled = compiler.compile()
    if compiler.problems:
        raise CalculatorError(tuple(compiler.problems))
    return compiled


@dataclass(slots=True)
class Compiler:
    """Gathers the parts of one calculator, and the problems met on the way."""

    entry: Calculator
    tables: Mapping[str, Table]
    currency: str
    problems: list[Problem] = field(default_factory=list)
    trees: list[ast.expr] = field(default_factory=list)
    used: list[tuple[str, ...]] = field(default_factory=list)
    units: dict[str, list[Any]] = field(default_factory=dict)
    display: dict[str, list[Any]] = field(default_factory=dict)
    compiled_tables: dict[str, CompiledTable] = field(default_factory=dict)
    table_names: set[str] = field(default_factory=set)
    fields: dict[str, dict[str, Any]] = field(default_factory=dict)
    environment: Environment = field(default_factory=lambda: Environment({}))

    def compile(self) -> CompiledCalculator:
        """Compile everything; what could not be compiled is missing from the result."""
        entry = self.entry
        self.compiled_tables = {name: compile_table(table) for name, table in self.tables.items()}
        kinds = {name: compiled.kind for name, compiled in self.compiled_tables.items()}
        self.environment = Environment({}, kinds)
        self.check_names()
        self.read_currency()
        constants = self.compile_constants()
        inputs = self.compile_inputs()
        planned = self.plan_steps()
        outputs = self.compile_outputs()
        warnings = [
            [name, index, parts]
            for name, warning in entry.warnings.items()
            if (index := self.condition(("warnings", name, "when"), warning.when)) is not None
            and (parts := self.message(("warnings", name, "message"), warning.message)) is not None
        ]
        plot = self.compile_plot()
        self.set_defaults(inputs)
        formulas = tuple(compile_to_python(tree) for tree in self.trees)
        description = {
            "id": entry.id,
            "units": self.units,
            "constants": constants,
            "inputs": inputs,
            "steps": planned,
            "outputs": outputs,
            "warnings": warnings,
            "display": self.display,
            "plot": plot,
            "tables": {name: self.compiled_tables[name].data for name in sorted(self.table_names)},
        }
        names = MappingProxyType(dict(self.environment.names))
        return CompiledCalculator(entry, description, tuple(self.trees), formulas, names)

    def report(self, route: Route, rule: str, message: str, hint: str = "") -> None:
        """Note a problem."""
        self.problems.append(Problem(route, rule, message, hint))

    def check_names(self) -> None:
        """Refuse names that mean something else in a formula, or that stand twice."""
        entry = self.entry
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
                    self.report((group, name), "formula-invalid", message)
                elif name in seen:
                    message = f'"{name}" stands in {seen[name]} already; choose another name'
                    self.report((group, name), "id-duplicate", message)
                seen.setdefault(name, group)

    def read_currency(self) -> None:
        """Let prices be typed with the currency's code."""
        row = [MONEY, 1.0, 0.0, self.currency]
        self.units[MONEY] = row
        self.units[self.currency.lower()] = row

    # Units ----------------------------------------------------------------------------------

    def unit(self, route: Route, unit: str) -> tuple[str, Kind] | None:
        """Give the key under which `runtime` knows a unit, and the kind of its numbers."""
        text = unit.strip()
        if text in ("1", "ratio"):
            return "ratio", RATIO
        try:
            kind = read_unit_kind(text)
        except UnitError as error:
            self.report(route, "value-invalid", str(error))
            return None
        if text == MONEY:
            return MONEY, kind
        key = text if text in UNITS else SPELLINGS.get(text.lower(), "")
        if key == "kelvin":
            key = "K"
        if key:
            return key, kind
        parsed = parse_unit(text.replace(MONEY, "USD"))
        written = text.replace(MONEY, self.currency)
        symbol = written.replace("**2", "²").replace("**3", "³").replace("*", "·")
        row = [kind.dimension, parsed.factor, parsed.offset, symbol]
        for spelling in (text, text.lower(), written.lower()):
            self.units[spelling] = row
        return text, kind

    # Names a formula may use ----------------------------------------------------------------

    def declare(self, name: str, kind: Kind) -> None:
        self.environment = self.environment.extend(name, kind)

    def compile_constants(self) -> dict[str, float]:
        """Read the constants, and declare them."""
        constants: dict[str, float] = {}
        for name, constant in self.entry.constants.items():
            route = ("constants", name, "value")
            try:
                constants[name] = float(constant.value)
                kind = RATIO
                self.display[name] = ["number", "ratio", "plain", PLAIN_DIGITS]
            except ValueError:
                try:
                    quantity = parse_quantity(constant.value)
                except UnitError as error:
                    self.report(route, "value-invalid", str(error))
                    continue
                constants[name] = quantity.base
                point = quantity.dimension == "[temperature]"
                kind = Kind(exponents=quantity.unit.exponents, point=point)
                unit = self.unit(route, quantity.unit.text)
                if unit is not None:
                    self.display[name] = ["number", unit[0], "plain", PLAIN_DIGITS]
            self.declare(name, kind)
        return constants

    def compile_inputs(self) -> list[dict[str, Any]]:
        """Describe the inputs in order, and declare them; choices first, for `shown_when`."""
        described: list[dict[str, Any]] = []
        for name, entered in self.entry.inputs.items():
            kind = self.input_kind(name, entered)
            described.append(self.fields[name])
            if kind is not None:
                self.declare(name, kind)
        choices = {
            name: kind
            for name, kind in self.environment.names.items()
            if kind.form is Form.TEXT and name in self.entry.inputs
        }
        whole = self.environment
        self.environment = Environment(choices, whole.tables)
        for name, entered in self.entry.inputs.items():
            if entered.shown_when is not None:
                index = self.condition(("inputs", name, "shown_when"), entered.shown_when)
                self.fields[name]["shown"] = -1 if index is None else index
        self.environment = whole
        return described

    def input_kind(self, name: str, entered: CalculatorInput) -> Kind | None:
        """Describe one input for `runtime`, and give its kind."""
        route = ("inputs", name)
        described, kind = self.describe_field(route, name, entered)
        described["shown"] = -1
        described["value"] = None
        described["default"] = entered.default
        if entered.kind == "rows":
            columns: list[dict[str, Any]] = []
            kinds: dict[str, Kind] = {}
            for column_name, column in entered.columns.items():
                place = (*route, "columns", column_name)
                column_field, column_kind = self.describe_field(place, column_name, column)
                columns.append(column_field)
                if column_kind is not None:
                    kinds[column_name] = column_kind
            described.update(columns=columns, least=entered.least_rows, most=entered.most_rows)
            kind = Kind(Form.ROWS, optional=entered.optional, label=entered.label, columns=kinds)
        self.fields[name] = described
        return kind

    def describe_field(
        self, route: Route, name: str, entered: CalculatorInput | Column
    ) -> tuple[dict[str, Any], Kind | None]:
        """Describe a field or a column: kind, unit, bounds, choices."""
        described: dict[str, Any] = {
            "id": name,
            "label": entered.label,
            "kind": str(entered.kind),
            "optional": entered.optional,
            "unit": "ratio",
            "dimension": "ratio",
            "low": None,
            "high": None,
            "low_open": False,
            "high_open": False,
            "bounds": "",
            "note": entered.bounds_note or "",
        }
        kind: Kind | None = RATIO
        match str(entered.kind):
            case "quantity":
                found = self.unit((*route, "unit"), entered.unit or "")
                if found is None:
                    return described, None
                described["unit"], kind = found
                described["dimension"] = runtime.unit_row({"units": self.units}, described["unit"])[
                    0
                ]
                self.display[name] = ["number", described["unit"], "plain", PLAIN_DIGITS]
            case "number" | "count":
                self.display[name] = ["number", "ratio", "plain", PLAIN_DIGITS]
            case "amount":
                kind = ANY_AMOUNT
            case "choice":
                kind = TEXT
                described["choices"] = self.describe_choices(route, entered)
                self.display[name] = ["choice", [choice[:2] for choice in described["choices"]]]
            case "text":
                kind = TEXT
                self.display[name] = ["text"]
        self.describe_bounds(route, described, entered)
        if kind is not None and entered.optional:
            kind = Kind(kind.form, kind.exponents, kind.point, optional=True, label=entered.label)
        return described, kind

    def describe_choices(self, route: Route, entered: CalculatorInput | Column) -> list[list[Any]]:
        """List choices as id, label and all the spellings that mean it."""
        if entered.table is None:
            return [
                [name, label, sorted({name, runtime.fold_text(label)})]
                for name, label in entered.choices.items()
            ]
        table = self.tables.get(entered.table)
        if table is None:
            listed = ", ".join(sorted(self.tables)) or "none"
            message = f'there is no table "{entered.table}"; there are: {listed}'
            self.report((*route, "table"), "reference-unknown", message)
            return []
        return [
            [
                name,
                row.name,
                sorted({name, *(runtime.fold_text(also) for also in (row.name, *row.also))}),
            ]
            for name, row in table.rows.items()
        ]

    def describe_bounds(self, route: Route, described: dict[str, Any], bounds: Bounds) -> None:
        """Read the bounds of a field as a reader's own entry is read, and put them in words."""
        words: list[str] = []
        for name, end, is_open, word in (
            ("at_least", "low", False, "at least"),
            ("more_than", "low", True, "more than"),
            ("at_most", "high", False, "at most"),
            ("less_than", "high", True, "less than"),
        ):
            text = getattr(bounds, name)
            if text is None:
                continue
            if described["kind"] not in ("quantity", "number", "count", "amount"):
                self.report((*route, name), "value-invalid", "only numbers have bounds")
                continue
            field_kind = "number" if described["kind"] in ("count", "amount") else described["kind"]
            free = {**described, "kind": field_kind, "low": None, "high": None}
            value, problem = runtime.read_one({"units": self.units}, text, free)
            if problem:
                self.report((*route, name), "unit-mismatch", problem)
                continue
            described[end] = value
            described[f"{end}_open"] = is_open
            words.append(f"{word} {self.write(value, described['unit'])}")
        described["bounds"] = " and ".join(words)

    def write(self, value: float, unit: str) -> str:
        if unit in UNITS:
            return format_both(value, unit, "plain", PLAIN_DIGITS)
        return runtime.write_quantity({"units": self.units}, value, unit, "plain", PLAIN_DIGITS)

    def set_defaults(self, inputs: list[dict[str, Any]]) -> None:
        """Read the defaults, which must be accepted like anything typed."""
        context = {"units": self.units}
        for described in inputs:
            if described["default"] is None:
                continue
            if described["kind"] == "choice" and not described["choices"]:
                continue
            value, problem = runtime.read_field(context, described["default"], described)
            described["value"] = value
            if problem:
                route = ("inputs", described["id"], "default")
                self.report(route, "value-invalid", f"the default is refused: {problem}")

    # Formulas -------------------------------------------------------------------------------

    def formula(self, route: Route, text: str) -> tuple[int, Kind] | None:
        """Read, check and lower a formula; gives its number and kind."""
        try:
            formula = parse_formula(text)
            kind = check_formula(formula, self.environment)
        except FormulaError as error:
            self.problems.append(describe_formula_error(route, error))
            return None
        tree = lower_formula(formula, self.environment)
        for node in ast.walk(formula.tree):
            if isinstance(node, ast.Constant) and str(node.value) in self.tables:
                self.table_names.add(str(node.value))
        self.trees.append(tree)
        self.used.append(formula.names)
        return len(self.trees) - 1, kind

    def condition(self, route: Route, text: str) -> int | None:
        """Compile a formula that must be a condition."""
        found = self.formula(route, text)
        if found is None:
            return None
        if found[1].form is not Form.BOOLEAN:
            message = f'"{text}" is {found[1].describe()}, not a condition such as a > b'
            self.report(route, "unit-mismatch", message)
            return None
        return found[0]

    def number(self, route: Route, text: str, unit: str | None, place: Route) -> int | None:
        """Compile a formula that must be a number, of the dimension of a unit where one stands."""
        found = self.formula(route, text)
        if found is None:
            return None
        index, kind = found
        if kind.form is not Form.NUMBER:
            self.report(route, "unit-mismatch", f"this is {kind.describe()}, not a number")
            return None
        if unit is None:
            return index
        wanted = self.unit(place, unit)
        if wanted is None:
            return None
        if (wanted[1].exponents, wanted[1].point) != (kind.exponents, kind.point):
            message = f"the formula gives {kind.describe()}; {unit} is {wanted[1].describe()}"
            self.report(route, "unit-mismatch", message)
            return None
        return index

    def plan_steps(self) -> list[list[Any]]:
        """Put values, numeric outputs and refusals in an order in which each can run.

        A refusal runs as soon as what it needs is known, so that its sentence comes before the
        plain failure of a later formula.
        """
        steps: dict[str, list[Any]] = {}
        needs: dict[str, set[str]] = {}
        first_input = next(iter(self.entry.inputs))
        for name, value in self.entry.values.items():
            route = ("values", name, "formula")
            found = self.formula(route, value.formula)
            if found is None:
                continue
            index, kind = found
            if value.unit is not None:
                self.match_unit(route, ("values", name, "unit"), value.unit, kind)
            self.add_step(name, value.label or name, index, -1, kind, steps, needs)
            self.display_number(name, value, value.unit, kind)
        for name, output in self.entry.outputs.items():
            if output.formula is None:
                continue
            route = ("outputs", name, "formula")
            shown = -1
            if output.shown_when is not None:
                condition = self.condition(("outputs", name, "shown_when"), output.shown_when)
                shown = -1 if condition is None else condition
            found = self.formula(route, output.formula)
            if found is None:
                continue
            index, kind = found
            if kind.form is Form.NUMBER:
                unit = output.unit
                if unit is None:
                    self.report(("outputs", name), "value-invalid", "a number needs a unit")
                    continue
                self.match_unit(route, ("outputs", name, "unit"), unit, kind)
                self.display_number(name, output, unit, kind)
            elif kind.form is Form.NAMES:
                self.display[name] = ["names", output.empty or "none"]
            else:
                message = f"this is {kind.describe()}; for an answer in words write cases"
                self.report(route, "unit-mismatch", message)
                continue
            self.add_step(name, output.label, index, shown, kind, steps, needs)
        plan: list[list[Any]] = []
        done: set[str] = set()
        for number, refusal in enumerate(self.entry.refusals):
            if refusal.input not in self.entry.inputs:
                message = f'there is no input "{refusal.input}"'
                self.report(("refusals", number, "input"), "reference-unknown", message)
            condition = self.condition(("refusals", number, "when"), refusal.when)
            parts = self.message(("refusals", number, "message"), refusal.message)
            if condition is None or parts is None:
                continue
            wanted = set(self.used[condition]) | {
                part[0] for part in parts if isinstance(part, list)
            }
            for name in _close(wanted, needs, steps):
                if name not in done:
                    plan.append(steps[name])
                    done.add(name)
            plan.append(["refusal", refusal.input, condition, parts])
        plan.extend(step for name, step in steps.items() if name not in done)
        for step in plan:
            if step[0] == "value":
                reached = _close_inputs(set(self.used[step[2]]), needs)
                inputs = [name for name in self.entry.inputs if name in reached]
                step[4] = inputs[0] if inputs else first_input
        return plan

    def add_step(
        self,
        name: str,
        label: str,
        index: int,
        shown: int,
        kind: Kind,
        steps: dict[str, list[Any]],
        needs: dict[str, set[str]],
    ) -> None:
        number = kind.form is Form.NUMBER
        steps[name] = ["value", name, index, shown, "", number, label]
        needs[name] = set(self.used[index]) | (set(self.used[shown]) if shown >= 0 else set())
        optional = shown >= 0
        self.declare(
            name, Kind(kind.form, kind.exponents, kind.point, optional=optional, label=label)
        )

    def match_unit(self, route: Route, place: Route, unit: str, kind: Kind) -> None:
        """Report a formula whose result is not of the dimension of its unit."""
        wanted = self.unit(place, unit)
        if wanted is None:
            return
        if kind.form is not Form.NUMBER:
            self.report(route, "unit-mismatch", f"this is {kind.describe()}, not a number")
        elif (wanted[1].exponents, wanted[1].point) != (kind.exponents, kind.point):
            message = f"the formula gives {kind.describe()}; {unit} is {wanted[1].describe()}"
            self.report(route, "unit-mismatch", message)

    def display_number(self, name: str, rounded: Rounded, unit: str | None, kind: Kind) -> None:
        """Note how a number is shown in messages."""
        if kind.form is not Form.NUMBER:
            return
        if unit is None:
            if kind.exponents:
                return
            unit = "1"
        found = self.unit((), unit)
        if found is not None:
            self.display[name] = ["number", found[0], *_read_style(rounded)]

    # Outputs --------------------------------------------------------------------------------

    def compile_outputs(self) -> list[dict[str, Any]]:
        """Describe the outputs in order."""
        outputs: list[dict[str, Any]] = []
        for name, output in self.entry.outputs.items():
            described = self.describe_output(name, output)
            if described is not None:
                outputs.append(described)
        return outputs

    def describe_output(self, name: str, output: Output) -> dict[str, Any] | None:
        route = ("outputs", name)
        described: dict[str, Any] = {"id": name, "label": output.label, "shown": -1}
        if output.shown_when is not None:
            shown = self.condition((*route, "shown_when"), output.shown_when)
            described["shown"] = -1 if shown is None else shown
        if output.cases:
            cases: list[list[Any]] = []
            for number, case in enumerate(output.cases):
                place = (*route, "cases", number)
                index: int | None = -1
                if case.when is not None:
                    index = self.condition((*place, "when"), case.when)
                parts = self.message((*place, "text"), case.text)
                if index is not None and parts is not None:
                    cases.append([index, parts])
            described.update(form="text", cases=cases)
            return described
        kind = self.environment.names.get(name)
        if kind is None:
            return None
        if kind.form is Form.NAMES:
            described.update(form="names", empty=output.empty or "none")
            return described
        found = self.unit((*route, "unit"), output.unit or "1")
        if found is None:
            return None
        style, shown_digits = _read_style(output)
        described.update(
            form="number",
            unit=found[0],
            written=_write_unit(found[0], self.currency),
            style=style,
            digits=shown_digits,
            us=output.us,
        )
        return described

    def message(self, route: Route, text: str) -> list[Any] | None:
        """Cut a message into text and the names whose values it shows."""
        parts: list[Any] = []
        end = 0
        for place in _PLACE.finditer(text):
            parts.append(text[end : place.start()])
            end = place.end()
            name = place[1].strip()
            if name in self.display:
                parts.append([name])
                continue
            try:
                quantity = parse_quantity(name)
            except UnitError:
                listed = ", ".join(sorted(self.display))
                message = f'"{{{name}}}" is neither a quantity nor a name that can be shown'
                self.report(route, "formula-invalid", message, f"names that can be shown: {listed}")
                return None
            unit = self.unit(route, quantity.unit.text)
            if unit is None:
                return None
            parts.append(self.write(quantity.base, unit[0]))
        parts.append(text[end:])
        merged: list[Any] = []
        for part in parts:
            if isinstance(part, str) and merged and isinstance(merged[-1], str):
                merged[-1] += part
            elif part != "":
                merged.append(part)
        return merged

    def compile_plot(self) -> dict[str, Any] | None:
        """Describe the plot: numbers of its formulas, units of its axes."""
        plot = self.entry.plot
        if plot is None:
            return None
        x_unit = self.unit(("plot", "x", "unit"), plot.x.unit)
        y_unit = self.unit(("plot", "y", "unit"), plot.y.unit)
        if x_unit is None or y_unit is None:
            return None

        def line(route: Route, text: str, unit: str) -> int:
            index = self.number(("plot", *route), text, unit, ("plot", route[0], "unit"))
            return -1 if index is None else index

        start = line(("x", "start"), plot.x.start, plot.x.unit)
        end = line(("x", "end"), plot.x.end, plot.x.unit)
        whole = self.environment
        known = whole.names.get(plot.x.name)
        if known is not None and (known.exponents, known.point) != (
            x_unit[1].exponents,
            x_unit[1].point,
        ):
            message = f'"{plot.x.name}" is {known.describe()}, not in {plot.x.unit}'
            self.report(("plot", "x", "unit"), "unit-mismatch", message)
        self.environment = whole.extend(plot.x.name, x_unit[1])
        curves = [
            line(("curves", number, "formula"), curve.formula, plot.y.unit)
            for number, curve in enumerate(plot.curves)
        ]
        self.environment = whole
        bands = [
            [
                line(("bands", number, "low"), band.low, plot.y.unit),
                line(("bands", number, "high"), band.high, plot.y.unit),
            ]
            for number, band in enumerate(plot.bands)
        ]
        marks = [
            [
                line(("marks", number, "x"), mark.x, plot.x.unit),
                line(("marks", number, "y"), mark.y, plot.y.unit),
            ]
            for number, mark in enumerate(plot.marks)
        ]
        return {
            "name": plot.x.name,
            "again": plot.x.name in self.entry.inputs,
            "x_unit": x_unit[0],
            "y_unit": y_unit[0],
            "start": start,
            "end": end,
            "curves": curves,
            "bands": bands,
            "marks": marks,
        }


def _read_style(rounded: Rounded) -> tuple[str, int]:
    if rounded.significant is not None:
        return "significant", rounded.significant
    if rounded.places is not None:
        return "places", rounded.places
    return "plain", PLAIN_DIGITS


def _write_unit(key: str, currency: str) -> str:
    """Give a unit as programs read it."""
    spelt = {
        "ratio": "dimensionless",
        "floz": "fluid_ounce",
        "tbsp": "tablespoon",
        "tsp": "teaspoon",
    }
    return spelt.get(key, key).replace(MONEY, currency)


def _close(
    names: Iterable[str], needs: Mapping[str, set[str]], order: Mapping[str, Wanted]
) -> list[str]:
    """Give the steps that names need, in the order they are declared."""
    reached = _close_inputs(set(names), needs)
    return [name for name in order if name in reached]


def _close_inputs(names: set[str], needs: Mapping[str, set[str]]) -> set[str]:
    """Give everything that names lead back to."""
    reached: set[str] = set()
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting.extend(needs.get(name, ()))
    return reached
