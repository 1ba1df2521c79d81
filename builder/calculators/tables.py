"""Compiles tables of facts into what formulas look up: least, greatest and middle of each cell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from builder.calculators.problems import Problem
from builder.formulas.kinds import Kind, TableKind, read_unit_kind
from builder.model.calculators import Cell, Table
from builder.twin.quantities import read_quantity
from builder.units import (
    Unit,
    UnitError,
    parse_unit,
    parse_window,
)


@dataclass(frozen=True, slots=True)
class CompiledTable:
    """A table ready for look-up.

    Args:
        data: Name, step column, columns (name, factor, offset) and the cells of each row, in the
            units of their columns.
        kind: What the columns and steps hold, for the dimension check.
        problems: What is wrong with it.
    """

    data: dict[str, Any]
    kind: TableKind
    problems: tuple[Problem, ...]


def compile_table(table: Table) -> CompiledTable:
    """Compile a table.

    Args:
        table: As written; each cell of the dimension of its column's unit.

    Returns:
        Its data (least and greatest value of each cell over all its sources, and the middle of
        these), and the problems found; broken cells are left out.
    """
    problems: list[Problem] = []
    kinds: dict[str, Kind] = {}
    for name, column in table.columns.items():
        try:
            kinds[name] = read_unit_kind(column.unit)
        except UnitError as error:
            problems.append(Problem(("columns", name, "unit"), "value-invalid", str(error)))
    rows: dict[str, list[list[float] | None]] = {}
    for row_id, row in table.rows.items():
        cells: dict[str, list[float]] = {}
        for name, sources in row.values.items():
            route = ("rows", row_id, "values", name)
            if name not in table.columns:
                listed = ", ".join(table.columns)
                message = f'the table has no column "{name}"; it has {listed}'
                problems.append(Problem(route, "field-unknown", message))
                continue
            if name not in kinds:
                continue
            ranges: list[tuple[float, float]] = []
            for index, cell in enumerate(sources):
                try:
                    ranges.append(read_cell(cell, table.columns[name].unit, kinds[name]))
                except UnitError as error:
                    place = (*route, index, "value")
                    problems.append(Problem(place, "unit-mismatch", str(error)))
            if ranges:
                low, high = min(low for low, _ in ranges), max(high for _, high in ranges)
                cells[name] = [low, high, (low + high) / 2]
        rows[row_id] = [cells.get(name) for name in kinds]
    step = table.steps_by or ""
    if step and step not in table.columns:
        message = f'the table has no column "{step}" to step by'
        problems.append(Problem(("steps_by",), "reference-unknown", message))
    elif step in kinds:
        problems.extend(_check_steps(rows, list(kinds).index(step)))
    units = {name: read_unit(table.columns[name].unit) for name in kinds}
    columns = [[name, unit.factor, unit.offset] for name, unit in units.items()]
    data = {"name": table.name, "step": step, "columns": columns, "rows": rows}
    return CompiledTable(data, TableKind(kinds, kinds.get(step)), tuple(problems))


def _check_steps(
    rows: Mapping[str, Sequence[Sequence[float] | None]], column: int
) -> Iterator[Problem]:
    """Check that each row says where it begins, and that they rise."""
    last: float | None = None
    for row_id, cells in rows.items():
        cell = cells[column]
        if cell is None:
            message = f'the row "{row_id}" does not say where it begins'
            yield Problem(("rows", row_id), "value-invalid", message)
        elif last is not None and cell[2] <= last:
            message = f'the row "{row_id}" begins no higher than the one before it'
            yield Problem(("rows", row_id), "value-invalid", message)
        else:
            last = cell[2]


def read_unit(text: str) -> Unit:
    """Read the unit of a column; `1` stands for plain numbers."""
    return Unit("1", 1.0, 0.0, "dimensionless") if text.strip() == "1" else parse_unit(text)


def read_cell(cell: Cell, unit: str, kind: Kind) -> tuple[float, float]:
    """Read a cell into its least and greatest value, in the unit of its column.

    Raises:
        UnitError: If it cannot be read or is of another dimension.
    """
    if unit.strip() == "1":
        read = read_quantity({}, cell.value)
        if read["problem"]:
            raise UnitError(read["problem"])
        if not read["unit"]:
            return read["low"], read["high"]
    window = parse_window(cell.value)
    low_quantity, high_quantity = window.low, window.high
    found_unit = low_quantity.unit
    found = Kind(exponents=found_unit.exponents, point=found_unit.dimension == "[temperature]")
    if (found.exponents, found.point) != (kind.exponents, kind.point):
        raise UnitError(f'"{cell.value}" is {found.describe()}; the column holds {kind.describe()}')
    column = read_unit(unit)
    if (found_unit.factor, found_unit.offset) == (column.factor, column.offset):
        return low_quantity.magnitude, high_quantity.magnitude
    low = (low_quantity.base - column.offset) / column.factor
    return low, (high_quantity.base - column.offset) / column.factor
