"""What a form needs to be filled in: which fields show, and what was typed, taken apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.fields import split_cells, split_rows
from builder.twin.calculators.running import read_inputs
from builder.twin.number_format import choose_places, convert_from_base, format_number
from builder.twin.numbers import trim_text
from builder.twin.quantities import find_unit, is_bare, read_quantity

CONVERTED_DIGITS = 5


def list_shown(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Sequence[str]:
    """List the inputs that are asked for, given what was typed so far."""
    values = read_inputs(d, f, raw)[0]
    shown: list[str] = []
    for field in d["inputs"]:
        if field["shown"] < 0 or f[field["shown"]](values, d["tables"]):
            shown.append(field["id"])
    return shown


def part_typed(d: Mapping[str, Any], typed: str, options: Sequence[str]) -> Sequence[str]:
    """Part what was typed into the number and the one of the offered units it is in.

    Returns:
        The number as typed, and the unit as offered; where there is no unit or another one, the
        whole text and "".
    """
    text = trim_text(typed)
    read = read_quantity(d["units"], text)
    row = read["row"]
    if read["problem"] == "" and row is not None:
        number = trim_text(text[0 : len(text) - len(read["unit"])])
        for option in options:
            other = find_unit(d["units"], option)
            if other is not None and is_same_unit(row, other) and is_bare(number):
                return [number, option]
    return [text, ""]


def is_same_unit(one: Sequence[Any], other: Sequence[Any]) -> bool:
    """Say whether two rows of units stand for one unit."""
    return bool(one[0] == other[0] and one[1] == other[1] and one[2] == other[2])


def convert_typed(d: Mapping[str, Any], typed: str, unit: str) -> str:
    """Give the number that stands for a typed quantity in another unit, or "" without one."""
    read = read_quantity(d["units"], typed)
    row = read["row"]
    other = find_unit(d["units"], unit)
    if read["problem"] != "" or read["low"] != read["high"]:
        return ""
    if row is None or other is None or row[0] != other[0]:
        return ""
    magnitude = convert_from_base(read["low"] * row[1] + row[2], other)
    return format_number(magnitude, choose_places(magnitude, "plain", CONVERTED_DIGITS))


def part_rows(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Part typed rows into lists of cells as text; none where they cannot be told apart."""
    split = split_rows(trim_text(typed), field)
    rows: list[Any] = []
    if split[1] == "":
        for source in split[0]:
            cells = split_cells(source, field)
            if len(cells) > 0:
                rows.append(cells)
    return rows
