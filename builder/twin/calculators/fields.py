"""Reads one field of any kind, and rows typed in one line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.measures import (
    check_bounds,
    describe_dimension_of,
    read_measure,
    read_one_quantity,
)
from builder.twin.calculators.messages import say_text
from builder.twin.numbers import (
    SPACES,
    cut_text,
    fold_text,
    is_digit,
    quote,
    sign_at,
    to_text,
    trim_text,
)
from builder.twin.primitives import has_key, is_list, is_number, is_text

LONGEST_TEXT = 4000


def read_count(typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a whole number."""
    result = read_one_quantity({"units": {}}, typed, field)
    if result[1] != "":
        return [None, result[1]]
    read = result[0]
    if read["unit"] != "":
        return [None, say_text(field, "pieces", {"label": field["label"]})]
    if read["low"] != read["low"] // 1.0:
        places = {"label": field["label"], "typed": quote(typed)}
        return [None, say_text(field, "whole", places)]
    return check_bounds(typed, read["low"], field)


def read_choice(typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read one of the choices: by id, by label, or by another name for it."""
    folded = fold_text(typed)
    names = ""
    for choice in field["choices"]:
        for name in choice[2]:
            if name == folded:
                return [choice[0], ""]
        names = names + (", " if names != "" else "") + choice[0]
    places = {"label": field["label"], "typed": quote(typed), "choices": names}
    return [None, say_text(field, "no-choice", places)]


def read_amount(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read any measure; gives a list of the value and its dimension in place of the value."""
    result = read_one_quantity(d, typed, field)
    if result[1] != "":
        return [None, result[1]]
    read = result[0]
    dimension = "count"
    value = read["low"]
    if read["unit"] != "":
        row = read["row"]
        if row is None or row[0] not in ("mass", "volume", "length"):
            places = {"label": field["label"], "typed": quote(read["unit"])}
            return [None, say_text(field, "no-amount", places)]
        dimension = row[0]
        value = value * row[1]
    checked = check_bounds(typed, value, field)
    if checked[1] != "":
        return checked
    return [[value, dimension], ""]


def read_one(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a field or a cell of a row."""
    text = trim_text(typed)
    if text == "":
        if field["optional"]:
            return [None, ""]
        return [None, say_text(field, "empty", {"label": field["label"]})]
    if len(text) > LONGEST_TEXT:
        return [None, say_text(field, "too-long", {"label": field["label"]})]
    kind = field["kind"]
    if kind == "quantity" or kind == "number":
        return read_measure(d, text, field)
    if kind == "count":
        return read_count(text, field)
    if kind == "choice":
        return read_choice(text, field)
    if kind == "amount":
        return read_amount(d, text, field)
    if len(text) > 80:
        return [None, say_text(field, "too-long", {"label": field["label"]})]
    return [text, ""]


def split_rows(text: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Cut typed rows apart; gives the list of rows as text, and a message.

    Rows stand apart by `;` or line ends, else by commas, else (numbers alone) by spaces. A comma
    between two digits may be a decimal one, so it is only read where `;` tells them apart.
    """
    if len(text) > LONGEST_TEXT:
        return [None, say_text(field, "too-long", {"label": field["label"]})]
    if ";" in text or "\n" in text or "\r" in text:
        return [cut_text(text, ";\n\r"), ""]
    if "\t" in text:
        # Pasted from a spreadsheet: one row of several columns, or one column laid across.
        return [[text] if len(field["columns"]) > 1 else cut_text(text, "\t"), ""]
    for index in range(len(text)):
        before = is_digit(sign_at(text, index - 1))
        if text[index] == "," and before and is_digit(sign_at(text, index + 1)):
            places = {"label": field["label"], "typed": quote(text)}
            return [None, say_text(field, "decimal-comma", places)]
    if "," in text or len(field["columns"]) > 1 or field["columns"][0]["kind"] == "text":
        return [cut_text(text, ","), ""]
    rows: list[str] = []
    for part in cut_text(text, SPACES):
        starts = sign_at(part, 0)
        if part == "":
            continue
        if len(rows) > 0 and not is_digit(starts) and starts not in ("-", "−", "+", "."):
            rows[len(rows) - 1] = rows[len(rows) - 1] + " " + part
        else:
            rows.append(part)
    return [rows, ""]


def read_rows(d: Mapping[str, Any], typed: Any, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read rows, typed as text or given as a list of mappings from column to text.

    Gives the rows, a message, and where only one row is wrong its number, from 1.
    """
    rows: list[Any] = []
    if is_list(typed):
        sources: Any = typed
    else:
        parts = split_rows(trim_text(typed), field)
        if parts[1] != "":
            return parts
        sources = parts[0]
    for source in sources:
        cells = split_cells(source, field)
        if len(cells) == 0:
            continue
        read = read_row(d, cells, field)
        if read[1] != "":
            named = cells[0] != "" and len(cells) > 1
            places = {"label": field["label"], "number": str(len(rows) + 1), "problem": read[1]}
            places["name"] = quote(cells[0])
            return [None, say_text(field, "row-named" if named else "row", places), len(rows) + 1]
        rows.append(read[0])
    if len(rows) == 0 and field["optional"]:
        return [None, ""]
    if len(rows) < field["least"]:
        if len(rows) == 0:
            return [None, say_text(field, "no-rows", {"label": field["label"]})]
        places = {"label": field["label"], "number": str(field["least"])}
        return [None, say_text(field, "few-rows", places)]
    if len(rows) > field["most"]:
        places = {"label": field["label"], "number": str(field["most"])}
        return [None, say_text(field, "many-rows", places)]
    return rows_of_one_name(rows, field) if field["same"] != "keep" else [rows, ""]


def rows_of_one_name(rows: Sequence[Any], field: Mapping[str, Any]) -> Sequence[Any]:
    """Add or refuse rows that bear one name in their first column, as the field declares."""
    first = field["columns"][0]
    kept: list[Any] = []
    places: dict[str, int] = {}
    for row in rows:
        name = to_text(row[first["id"]])
        key = fold_text(name)
        if not has_key(places, key):
            places[key] = len(kept)
            kept.append(row)
            continue
        told = {"label": field["label"], "name": quote(name)}
        if field["same"] == "refuse":
            return [None, say_text(field, "same-name", told)]
        other = kept[places[key]]
        total: dict[str, Any] = {}
        for column in field["columns"]:
            one = other[column["id"]]
            two = row[column["id"]]
            total[column["id"]] = one
            if column["id"] == first["id"]:
                continue
            if is_number(one) and is_number(two):
                total[column["id"]] = one + two
                checked = check_bounds(name, one + two, column)
                if checked[1] != "":
                    told["problem"] = checked[1]
                    return [None, say_text(field, "same-name-together", told)]
            elif one != two:
                told["column"] = column["label"]
                return [None, say_text(field, "same-name-differs", told)]
        kept[places[key]] = total
    return [kept, ""]


def split_cells(source: Any, field: Mapping[str, Any]) -> list[str]:
    """Give the cells of a row as text; none for an empty row."""
    cells: list[str] = []
    filled = False
    if is_text(source):
        for part in cut_text(source, "\t" if "\t" in source else ":"):
            cells.append(trim_text(part))
    else:
        for column in field["columns"]:
            cell = ""
            if has_key(source, column["id"]) and source[column["id"]] is not None:
                cell = to_text(source[column["id"]])
            cells.append(trim_text(cell))
    for cell in cells:
        if cell != "":
            filled = True
    return cells if filled else []


def read_row(d: Mapping[str, Any], cells: Sequence[str], field: Mapping[str, Any]) -> Sequence[Any]:
    """Read the cells of one row into a mapping from column to value."""
    columns = field["columns"]
    row: dict[str, Any] = {}
    shared = ""
    shared_label = ""
    if len(cells) > len(columns):
        return [None, say_text(field, "many-parts", {"columns": describe_columns(field)})]
    for index in range(len(columns)):
        column = columns[index]
        if index >= len(cells) and not column["optional"]:
            places = {"label": column["label"], "columns": describe_columns(field)}
            return [None, say_text(field, "missing-part", places)]
        read = read_one(d, cells[index] if index < len(cells) else "", column)
        if read[1] != "":
            return read
        value = read[0]
        if column["kind"] == "amount" and value is not None:
            if shared != "" and value[1] != shared:
                places = {"label": shared_label, "other_label": column["label"]}
                places["one"] = describe_dimension_of(field, shared)
                places["other"] = describe_dimension_of(field, value[1])
                return [None, say_text(field, "two-measures", places)]
            shared = value[1]
            shared_label = column["label"]
            value = value[0]
        row[column["id"]] = value
    return [row, ""]


def describe_columns(field: Mapping[str, Any]) -> str:
    """Name the columns as a row is typed, `salt : mass`."""
    names = ""
    for column in field["columns"]:
        names = names + (" : " if names != "" else "") + column["label"]
    return names


def read_field(d: Mapping[str, Any], typed: Any, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read one input."""
    if field["kind"] == "rows":
        return read_rows(d, typed if is_list(typed) else to_text(typed), field)
    return read_one(d, to_text(typed), field)
