"""Fills out the short form in which a calculator's description travels to a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.fields import read_field
from builder.twin.calculators.measures import read_measure, unit_row, write_quantity
from builder.twin.calculators.messages import SAYS, join_texts, say_text
from builder.twin.number_format import format_us
from builder.twin.numbers import fill_in, fold_text
from builder.twin.primitives import has_key
from builder.twin.quantities import find_spelling, read_quantity

BOUNDS = [
    ["at_least", "low"],
    ["more_than", "low"],
    ["at_most", "high"],
    ["less_than", "high"],
]
"""Bounds as an author names them, each also the key of its text, and the end they set."""


def expand_description(s: Mapping[str, Any]) -> dict[str, Any]:
    """Fill out the short form of a description: defaults, bounds in base units, tables.

    Args:
        s: `id`, `units` (further units), `constants`, `inputs`, `steps`, `outputs`, `warnings`,
            `display` (constants and values that messages show), `plot`, `tables`.
    """
    d: dict[str, Any] = {
        "id": s["id"],
        "units": s["units"],
        "constants": s["constants"],
        "inputs": [],
        "steps": [],
        "outputs": [],
        "warnings": [],
        "display": {},
        "plot": s["plot"],
        "says": fill_in(s["says"], SAYS) if "says" in s else SAYS,
        "tables": {},
    }
    display = d["display"]
    for name in s["display"]:
        display[name] = s["display"][name]
    for short in s["inputs"]:
        d["inputs"].append(expand_field(d, short))
    for field in d["inputs"]:
        display[field["id"]] = field["show"]
        if field["default"] is not None:
            field["value"] = read_field(d, field["default"], field)[0]
    for short in s["outputs"]:
        output = fill_in(
            short,
            {
                "form": "number",
                "shown": -1,
                "unit": "ratio",
                "style": "plain",
                "digits": 6,
                "direction": "nearest",
                "us": True,
                "empty": "none",
                "cases": [],
                "needs": [],
            },
        )
        if output["form"] == "names":
            display[output["id"]] = ["names", output["empty"]]
        if output["form"] == "number":
            display[output["id"]] = [
                "number",
                output["unit"],
                output["style"],
                output["digits"],
                output["direction"],
            ]
        d["outputs"].append(output)
    for short in s["steps"]:
        step = fill_in(short, {"name": "", "shown": -1, "label": "", "message": ""})
        for output in d["outputs"]:
            if step["label"] == "" and output["id"] == step["name"]:
                step["label"] = output["label"]
        d["steps"].append(step)
    d["warnings"] = s["warnings"]
    for name in s["tables"]:
        d["tables"][name] = expand_table(s["tables"][name])
    return d


def expand_table(short: Mapping[str, Any]) -> dict[str, Any]:
    """Turn the cells of a table, in the units of its columns, into base units."""
    rows: dict[str, Any] = {}
    steps: list[Any] = []
    for name in short["rows"]:
        cells: dict[str, Any] = {}
        for index in range(len(short["columns"])):
            column = short["columns"][index]
            cell = short["rows"][name][index]
            if cell is not None:
                cells[column[0]] = [value * column[1] + column[2] for value in cell]
                if column[0] == short["step"]:
                    steps.append([cells[column[0]][2], name])
        rows[name] = cells
    return {"name": short["name"], "rows": rows, "steps": steps}


def expand_field(d: Mapping[str, Any], short: Mapping[str, Any]) -> dict[str, Any]:
    """Fill out a field or a column."""
    field = fill_in(
        short,
        {
            "kind": "quantity",
            "optional": False,
            "unit": "ratio",
            "note": "",
            "shown": -1,
            "default": None,
            "value": None,
            "least": 1,
            "most": 30,
            "same": "keep",
            "required": False,
            "asked_by": [],
            "error": 0.0,
            "error_share": 0.0,
        },
    )
    field["says"] = d["says"] if has_key(d, "says") else SAYS
    field["dimension"] = unit_row(d, field["unit"])[0]
    field["show"] = ["text"]
    if field["kind"] in ("quantity", "number", "count"):
        field["show"] = ["number", field["unit"], "plain", 6]
    if "choices" in short:
        choices = []
        for choice in short["choices"]:
            choices.append([choice[0], choice[1], [fold_text(name) for name in choice]])
        field["choices"] = choices
        field["show"] = ["choice", choices]
    if "columns" in short:
        field["columns"] = [expand_field(d, column) for column in short["columns"]]
    words: list[str] = []
    for bound in BOUNDS:
        if bound[0] in short:
            key = bound[0].replace("_", "-")
            words.append(say_text(d, key, {"bound": write_bound(d, short[bound[0]], field)}))
    field["bounds"] = join_texts(d, words)
    field["low"] = None
    field["high"] = None
    field["low_open"] = "more_than" in short
    field["high_open"] = "less_than" in short
    for bound in BOUNDS:
        if bound[0] in short:
            field[bound[1]] = read_bound(d, short[bound[0]], field)[0]
    return field


def read_bound(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a bound as what a reader types is read."""
    free = fill_in(field, {})
    free["low"] = None
    free["high"] = None
    return read_measure(d, typed, free)


def write_bound(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> str:
    """Write a bound in the unit its author chose, with the US side in brackets."""
    unit = find_spelling({}, read_quantity(d["units"], typed)["unit"])
    if unit == "":
        unit = field["unit"]
    value = read_bound(d, typed, field)[0]
    if value is None:
        return typed
    text = write_quantity(d, value, unit, "plain", 6)
    other = format_us(value, unit, "plain", 6) if value != 0 else ""
    return text if other == "" else text + " (" + other + ")"
