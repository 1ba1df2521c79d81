"""The fields of a calculator as a form shows them: units to choose from, values, rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from builder.calculators import CompiledCalculator
from builder.model.calculators import CalculatorInput, Column
from builder.quantities import TO_METRIC, write_braces
from builder.twin import calculators as runtime
from builder.twin.quantities import find_key, is_bare, read_quantity
from builder.twin.unit_table import UNITS

USUAL: Mapping[str, tuple[str, ...]] = {
    "mass": ("g", "kg", "oz", "lb"),
    "volume": ("mL", "L", "floz"),
    "length": ("mm", "cm", "m", "inch"),
    "time": ("s", "min", "h"),
    "temperature": ("degC", "degF"),
    "difference": ("delta_degC", "delta_degF"),
}
"""Units offered beside a field, by dimension; its own unit is always among them."""
PIECES = ""
AMOUNTS = ("g", "kg", "oz", "lb", "mL", "L", "floz", "cm", "m", "inch", PIECES)
"""Units offered where any measure will do; the last is a number of pieces."""
US_PARTNERS = {
    "g": "oz",
    "kg": "lb",
    "mL": "floz",
    "cm": "inch",
    "mm": "inch",
    "degC": "degF",
    "delta_degC": "delta_degF",
}
_UNBOUNDED = "text"


@dataclass(frozen=True, slots=True)
class UnitChoice:
    """A unit beside a field: what stands for it in a text, and what readers see."""

    key: str
    symbol: str


@dataclass(frozen=True, slots=True)
class FieldView:
    """One field of a form, or one column of its rows.

    Args:
        name: Of the input or column.
        label: What readers call it.
        kind: As in the entry: `quantity`, `choice`, `rows` ...
        optional: Whether it may stay empty.
        help: A line below it, or "".
        mode: The keyboard a phone should show.
        units: Units to choose from; one that stands behind the number; or none.
        unit: Key of the unit chosen at first.
        metric: Key of the unit chosen where a reader wants metric units, or "".
        us: The same for US units.
        choices: Id and label of each choice.
        value: What the field holds at first.
        hidden: Whether it is not asked for at first.
        example: Whether what it holds at first is our example, not a value from elsewhere.
        columns: The columns, for rows.
        rows: The cells of each row as text, for rows.
        most: How many rows there may be.
        error: How far off what is typed may be, as text, or "".
    """

    name: str
    label: str
    kind: str
    optional: bool
    help: str
    mode: str
    units: tuple[UnitChoice, ...]
    unit: str
    metric: str
    us: str
    choices: tuple[tuple[str, str], ...]
    value: str
    hidden: bool = False
    example: bool = False
    columns: tuple[FieldView, ...] = ()
    rows: tuple[tuple[CellView, ...], ...] = ()
    most: int = 0
    error: str = ""


@dataclass(frozen=True, slots=True)
class CellView:
    """What a cell of a row holds at first: the text, and for an amount its unit."""

    value: str
    unit: str


def view_fields(compiled: CompiledCalculator, raw: Mapping[str, str]) -> tuple[FieldView, ...]:
    """Make the fields of a calculator.

    Args:
        compiled: The calculator.
        raw: What fields hold at first, where that is not their default.
    """
    shown = runtime.list_shown(compiled.description, compiled.formulas, raw)
    return tuple(
        _view_field(
            compiled,
            described,
            compiled.entry.inputs[described["id"]],
            raw.get(described["id"], described["default"] or ""),
            hidden=described["id"] not in shown,
            example=described["id"] not in raw and described["default"] is not None,
        )
        for described in compiled.description["inputs"]
    )


def _view_field(
    compiled: CompiledCalculator,
    described: Mapping[str, Any],
    entered: CalculatorInput | Column,
    typed: str,
    *,
    hidden: bool = False,
    example: bool = False,
) -> FieldView:
    keys = _list_units(described, entered)
    number, unit = runtime.part_typed(compiled.description, typed, keys)
    if described["kind"] == "choice":
        read = runtime.read_one(compiled.description, typed, described)
        number, unit = (str(read[0]) if read[0] is not None else ""), ""
    unit = unit or described["unit"]
    metric, us = _pair_units(unit, keys)
    columns, rows = _view_rows(compiled, described, entered, typed)
    return FieldView(
        name=described["id"],
        label=described["label"],
        kind=described["kind"],
        optional=described["optional"],
        help=entered.help or "",
        mode=_choose_keyboard(described),
        units=tuple(UnitChoice(key, _write_symbol(compiled, key)) for key in keys),
        unit=unit,
        metric=metric,
        us=us,
        choices=tuple((choice[0], choice[1]) for choice in described.get("choices", ())),
        value="" if columns else number,
        hidden=hidden,
        example=example,
        columns=columns,
        rows=rows,
        most=described["most"],
        error=_write_error(entered),
    )


def _write_error(entered: CalculatorInput | Column) -> str:
    """Write how far off a reading may be: `0.5 °C (0.9 °F)`, `5 %`."""
    texts = (getattr(entered, name, None) for name in ("error", "error_share"))
    return " + ".join(write_braces(text) for text in texts if text)


def _list_units(described: Mapping[str, Any], entered: CalculatorInput | Column) -> tuple[str, ...]:
    """List the keys of the units offered beside a field, its own among them."""
    if described["kind"] == "amount":
        return AMOUNTS
    own = str(described["unit"])
    if described["kind"] != "quantity" or own == "ratio":
        return ()
    listed = getattr(entered, "units", ())
    if listed:
        keys = tuple(find_key(unit) or unit for unit in listed)
    else:
        keys = USUAL.get(described["dimension"], ()) if own in UNITS else ()
    return keys if own in keys else (own, *keys)


def _write_symbol(compiled: CompiledCalculator, key: str) -> str:
    if key == PIECES:
        return "pieces"
    return str(runtime.unit_row(compiled.description, key)[3])


def _pair_units(unit: str, keys: Sequence[str]) -> tuple[str, str]:
    """Give the metric and the US unit that stand for each other here, or two empty texts."""
    if unit in US_PARTNERS and US_PARTNERS[unit] in keys:
        return unit, US_PARTNERS[unit]
    if unit in TO_METRIC and TO_METRIC[unit][0] in keys:
        return TO_METRIC[unit][0], unit
    return "", ""


def _choose_keyboard(described: Mapping[str, Any]) -> str:
    """Choose the keyboard of a phone: one of digits has no minus sign on some."""
    if described["kind"] == "count":
        return "numeric"
    if described["kind"] not in ("quantity", "number", "amount"):
        return _UNBOUNDED
    low = described["low"]
    least = UNITS["degC"][2] if described["dimension"] == "temperature" else 0.0
    return "decimal" if low is not None and low >= least else _UNBOUNDED


def _view_rows(
    compiled: CompiledCalculator,
    described: Mapping[str, Any],
    entered: CalculatorInput | Column,
    typed: str,
) -> tuple[tuple[FieldView, ...], tuple[tuple[CellView, ...], ...]]:
    """Make the columns of a row input, and the cells of the rows it holds at first."""
    if not isinstance(entered, CalculatorInput) or not entered.columns:
        return (), ()
    parted = runtime.part_rows(compiled.description, typed, described)
    columns: list[FieldView] = []
    for index, column in enumerate(described["columns"]):
        # A column is in one unit, that of its first row.
        first = parted[0][index] if parted and index < len(parted[0]) else ""
        view = _view_field(compiled, column, entered.columns[column["id"]], first)
        columns.append(view)
    rows = tuple(
        tuple(
            _view_cell(compiled, column, view, cells[index] if index < len(cells) else "")
            for index, (column, view) in enumerate(zip(described["columns"], columns, strict=True))
        )
        for cells in parted
    )
    return tuple(columns), rows


def _view_cell(
    compiled: CompiledCalculator, column: Mapping[str, Any], view: FieldView, typed: str
) -> CellView:
    if view.kind == "choice":
        read = runtime.read_one(compiled.description, typed, column)
        return CellView(str(read[0]) if read[0] is not None else "", "")
    if view.kind == "amount":
        number, unit = runtime.part_typed(compiled.description, typed, AMOUNTS)
        return CellView(number, unit)
    keys = (view.unit,) if view.units else ()
    return CellView(runtime.part_typed(compiled.description, typed, keys)[0], "")


def write_typed(compiled: CompiledCalculator, name: str, typed: str) -> list[str]:
    """Write what was typed into an input for people: one text, or one a row."""
    described = next(each for each in compiled.description["inputs"] if each["id"] == name)
    if described["kind"] != "rows":
        return [_write_one(compiled, described, typed)]
    rows = runtime.part_rows(compiled.description, typed, described)
    columns = described["columns"]
    written = [
        ": ".join(
            _write_one(compiled, column, cell) for column, cell in zip(columns, cells, strict=False)
        )
        for cells in rows
    ]
    # Numbers alone stand in one line.
    return [", ".join(written)] if len(columns) == 1 else written


def _write_one(compiled: CompiledCalculator, described: Mapping[str, Any], typed: str) -> str:
    if described["kind"] == "choice":
        read = runtime.read_one(compiled.description, typed, described)[0]
        return next((each[1] for each in described["choices"] if each[0] == read), typed)
    if described["kind"] == "quantity" and described["unit"] != "ratio":
        if is_bare(typed):  # a bare number is in the field's own unit
            typed = f"{typed} {runtime.name_unit(compiled.description, described['unit'])}"
        written = write_braces(typed)
        if written != "{" + typed + "}":
            return written
        read = read_quantity(compiled.description["units"], typed)
        if read["row"] is not None and not read["problem"]:
            number = typed.strip().removesuffix(read["unit"]).strip()
            return f"{number}\u00a0{read['row'][3]}"
    return typed
