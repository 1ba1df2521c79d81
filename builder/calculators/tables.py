"""Compiles tables of facts into what formulas look up: least, greatest and middle of each cell."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from builder.calculators.problems import Problem
from builder.formulas.kinds import Kind, TableKind, read_unit_kind
from builder.model.calculators import Cell, Table
from builder.units import UnitError, parse_number, parse_quantity, parse_window

_PLAIN = re.compile(r"\s*(-?[\d.]+)(?:\s*(?:to|-|–)\s*(-?[\d.]+))?\s*")


@dataclass(frozen=True, slots=True)
class CompiledTable:
    """A table ready for look-up: `data` goes to both languages, `kind` to the dimension check."""

    data: dict[str, Any]
    kind: TableKind
    problems: tuple[Problem, ...]


def compile_table(table: Table) -> CompiledTable:
    """Compile a table.

    Args:
        table: As written; each cell of the dimension of its column's unit.

    Returns:
        Its data in coherent base units, and the problems found; broken cells are left out.
    """
    problems: list[Problem] = []
    kinds: dict[str, Kind] = {}
    for name, column in table.columns.items():
        try:
            kinds[name] = read_unit_kind(column.unit)
        except UnitError as error:
            problems.append(Problem(("columns", name, "unit"), "value-invalid", str(error)))
    rows: dict[str, dict[str, list[float]]] = {}
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
                    ranges.append(read_cell(cell, kinds[name]))
                except UnitError as error:
                    place = (*route, index, "value")
                    problems.append(Problem(place, "unit-mismatch", str(error)))
            if ranges:
                low, high = min(low for low, _ in ranges), max(high for _, high in ranges)
                cells[name] = [low, high, (ranges[0][0] + ranges[0][1]) / 2]
        rows[row_id] = cells
    steps: list[list[Any]] = []
    if table.steps_by is not None:
        if table.steps_by not in table.columns:
            message = f'the table has no column "{table.steps_by}" to step by'
            problems.append(Problem(("steps_by",), "reference-unknown", message))
        for row_id, cells in rows.items():
            if table.steps_by in cells:
                steps.append([cells[table.steps_by][2], row_id])
            else:
                message = f'the row "{row_id}" does not say where it begins'
                problems.append(Problem(("rows", row_id), "value-invalid", message))
        if [step[0] for step in steps] != sorted(step[0] for step in steps):
            message = f'the rows are not in order of "{table.steps_by}"'
            problems.append(Problem(("rows",), "value-invalid", message))
    step = kinds.get(table.steps_by) if table.steps_by is not None else None
    data = {"name": table.name, "rows": rows, "steps": steps}
    return CompiledTable(data, TableKind(kinds, step), tuple(problems))


def read_cell(cell: Cell, kind: Kind) -> tuple[float, float]:
    """Read a cell into its least and greatest value, in coherent base units.

    Raises:
        UnitError: If it cannot be read or is of another dimension.
    """
    plain = _PLAIN.fullmatch(cell.value)
    if plain is not None and not kind.exponents:
        low = parse_number(plain[1])
        high = parse_number(plain[2]) if plain[2] else low
        if low > high:
            raise UnitError(f'"{cell.value}" runs backwards; write the lower value first')
        return low, high
    if re.search(r"\d\s*(?:to|-|–)\s*\d", cell.value):
        window = parse_window(cell.value)
        low_quantity, high_quantity = window.low, window.high
    else:
        low_quantity = high_quantity = parse_quantity(cell.value)
    unit = low_quantity.unit
    found = Kind(exponents=unit.exponents, point=unit.dimension == "[temperature]")
    if (found.exponents, found.point) != (kind.exponents, kind.point):
        raise UnitError(f'"{cell.value}" is {found.describe()}; the column holds {kind.describe()}')
    return low_quantity.base, high_quantity.base
