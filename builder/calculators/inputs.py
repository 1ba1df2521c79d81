"""Compiles what a calculator asks for: constants, fields, columns, choices, bounds, defaults."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from builder.calculators.context import PLAIN_DIGITS, Context
from builder.diagnostics import Route
from builder.formulas.kinds import ANY_AMOUNT, RATIO, TEXT, Environment, Form, Kind
from builder.model.calculators import Bounds, CalculatorInput, Column, SameName
from builder.twin import calculators as runtime
from builder.units import UnitError, parse_quantity


def compile_constants(context: Context) -> dict[str, float]:
    """Read the constants into coherent base units, and declare them."""
    constants: dict[str, float] = {}
    for name, constant in context.entry.constants.items():
        route = ("constants", name, "value")
        kind, unit = RATIO, "ratio"
        try:
            constants[name] = float(constant.value)
        except ValueError:
            try:
                quantity = parse_quantity(constant.value)
            except UnitError as error:
                context.report(route, "value-invalid", str(error))
                context.broken.add(name)
                continue
            constants[name] = quantity.base
            point = quantity.dimension == "[temperature]"
            kind = Kind(exponents=quantity.unit.exponents, point=point)
            found = context.unit(route, quantity.unit.text)
            if found is None:
                continue
            unit = found[0]
        context.display[name] = ["number", unit, "plain", PLAIN_DIGITS]
        context.declare(name, kind)
    return constants


def compile_inputs(context: Context) -> list[dict[str, Any]]:
    """Describe the inputs in short form, in order, and declare them."""
    described: dict[str, dict[str, Any]] = {}
    for name, entered in context.entry.inputs.items():
        described[name], kind = _describe_input(context, name, entered)
        if kind is not None:
            context.declare(name, kind)
        else:
            context.broken.add(name)
    # Whether a field is shown may hang on choices alone: those can always be read.
    whole = context.environment
    choices = {
        name: kind
        for name, kind in whole.names.items()
        if kind.form is Form.TEXT and name in described
    }
    context.environment = Environment(choices, whole.tables)
    for name, entered in context.entry.inputs.items():
        if entered.shown_when is not None:
            index = context.condition(("inputs", name, "shown_when"), entered.shown_when)
            if index is not None:
                described[name]["shown"] = index
                described[name]["asked_by"] = list(context.names[index])
    context.environment = whole
    return list(described.values())


def _describe_input(
    context: Context, name: str, entered: CalculatorInput
) -> tuple[dict[str, Any], Kind | None]:
    route = ("inputs", name)
    described, kind = _describe_field(context, route, name, entered)
    if entered.default is not None:
        described["default"] = entered.default
    if entered.required:
        described["required"] = True
    if kind is not None:
        described.update(_read_errors(context, route, entered, kind))
    if entered.kind != "rows":
        context.display[name] = ["input"]
        return described, kind
    columns: list[dict[str, Any]] = []
    kinds: dict[str, Kind] = {}
    for column_name, column in entered.columns.items():
        place = (*route, "columns", column_name)
        column_field, column_kind = _describe_field(context, place, column_name, column)
        columns.append(column_field)
        if column_kind is not None:
            kinds[column_name] = column_kind
    described.update(columns=columns, least=entered.least_rows, most=entered.most_rows)
    if entered.same_name != SameName.KEEP:
        described["same"] = str(entered.same_name)
    return described, Kind(Form.ROWS, optional=entered.optional, label=entered.label, columns=kinds)


def _read_errors(
    context: Context, route: Route, entered: CalculatorInput, kind: Kind
) -> dict[str, float]:
    """Read how far off an input may be, in coherent base units and as a share."""
    found: dict[str, float] = {}
    for name in ("error", "error_share"):
        text = getattr(entered, name)
        if text is None:
            continue
        try:
            quantity = parse_quantity(text)
        except UnitError as error:
            context.report((*route, name), "value-invalid", str(error))
            continue
        wanted = kind.exponents if name == "error" else ()
        if quantity.unit.exponents != wanted or quantity.dimension == "[temperature]":
            example = (
                "a share such as 5 %"
                if name == "error_share" or not wanted
                else "in the unit of the input"
            )
            if kind.point and name == "error":
                example = "a difference such as 1 delta_degC"
            context.report((*route, name), "unit-mismatch", f'"{text}" is not {example}')
        elif quantity.base <= 0:
            context.report((*route, name), "value-invalid", f'"{text}" is not above nothing')
        else:
            found[name] = quantity.base
    return found


def _describe_field(
    context: Context, route: Route, name: str, entered: CalculatorInput | Column
) -> tuple[dict[str, Any], Kind | None]:
    """Describe a field or a column; what is as usual is left out."""
    described: dict[str, Any] = {"id": name, "label": entered.label}
    if entered.kind != "quantity":
        described["kind"] = str(entered.kind)
    if entered.optional:
        described["optional"] = True
    if entered.bounds_note is not None:
        described["note"] = entered.bounds_note
    kind = RATIO
    match str(entered.kind):
        case "quantity":
            found = context.unit((*route, "unit"), entered.unit or "")
            if found is None:
                return described, None
            described["unit"], kind = found
        case "amount":
            kind = ANY_AMOUNT
        case "choice":
            kind = TEXT
            described["choices"] = _list_choices(context, route, entered)
        case "text":
            kind = TEXT
    _take_bounds(context, route, described, entered)
    if entered.optional:
        kind = Kind(kind.form, kind.exponents, kind.point, optional=True, label=entered.label)
    return described, kind


def _list_choices(
    context: Context, route: Route, entered: CalculatorInput | Column
) -> list[list[str]]:
    """List choices as id, label and other names that mean it."""
    if entered.table is None:
        return [[name, label] for name, label in entered.choices.items()]
    table = context.tables.get(entered.table)
    if table is None:
        listed = ", ".join(sorted(context.tables)) or "none"
        message = f'there is no table "{entered.table}"; there are: {listed}'
        context.report((*route, "table"), "reference-unknown", message)
        return []
    return [[name, row.name, *row.also] for name, row in table.rows.items()]


def _take_bounds(context: Context, route: Route, described: dict[str, Any], bounds: Bounds) -> None:
    """Take the bounds of a field as written, once they can be read as an entry is read."""
    surroundings = {"units": context.units}
    for name, _ in runtime.BOUNDS:
        text = getattr(bounds, name)
        if text is None:
            continue
        if described.get("kind", "quantity") not in ("quantity", "number", "count", "amount"):
            context.report((*route, name), "value-invalid", "only numbers have bounds")
            continue
        field = runtime.expand_field(surroundings, described)
        problem = runtime.read_bound(surroundings, text, field)[1]
        if problem:
            context.report((*route, name), "unit-mismatch", problem)
        else:
            described[name] = text


def check_defaults(context: Context, description: Mapping[str, Any]) -> None:
    """Report a default that would not be accepted if a reader typed it."""
    for field in description["inputs"]:
        if field["default"] is None or field.get("choices") == []:
            continue
        problem = runtime.read_field(description, field["default"], field)[1]
        if problem:
            route = ("inputs", field["id"], "default")
            context.report(route, "value-invalid", f"the default is refused: {problem}")
