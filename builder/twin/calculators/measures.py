"""Reads a quantity into a field: its unit, its bounds, and what was probably meant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.messages import SAYS, say_text
from builder.twin.number_format import (
    choose_places,
    convert_from_base,
    format_number,
    format_quantity,
    join_unit,
)
from builder.twin.numbers import quote, to_text
from builder.twin.primitives import has_key
from builder.twin.quantities import read_quantity
from builder.twin.unit_table import UNITS

UNIT_NAMES = [
    ["ratio", "dimensionless"],
    ["floz", "fluid_ounce"],
    ["tbsp", "tablespoon"],
    ["tsp", "teaspoon"],
]


def unit_row(d: Mapping[str, Any], unit: str) -> Any:
    """Give the row of a unit named by its key."""
    if has_key(d["units"], unit):
        return d["units"][unit]
    return UNITS[unit]


def describe_dimension_of(of: Mapping[str, Any], name: str) -> str:
    """Name a dimension for a reader, for instance `a mass`."""
    key = "is-" + name.replace(" ", "-")
    return say_text(of, key if has_key(SAYS, key) else "is-other", {})


def explain_wrong_unit(typed: str, found: str, field: Mapping[str, Any]) -> str:
    """Say that a unit measures something else, and what was probably meant."""
    wanted: str = field["dimension"]
    places = {"typed": quote(typed), "label": field["label"]}
    places["found"] = describe_dimension_of(field, found)
    places["wanted"] = describe_dimension_of(field, wanted)
    hint = ""
    if wanted == "volume" and found == "mass":
        hint = "weight-ounce"
    if wanted == "mass" and found == "volume":
        hint = "fluid-ounce"
    if wanted == "temperature" and found == "difference":
        hint = "temperature-itself"
    if wanted == "time" and found == "length":
        hint = "minutes"
    if wanted == "ratio":
        hint = "share"
    text = say_text(field, "wrong-unit", places)
    return text if hint == "" else text + " " + say_text(field, hint, {})


def read_one_quantity(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a quantity that may be no range; gives what was read, and a message."""
    read = read_quantity(d["units"], typed)
    if read["problem"] != "":
        places = {"label": field["label"], "problem": read["problem"]}
        return [read, say_text(field, "unread", places)]
    if read["low"] != read["high"]:
        places = {"label": field["label"], "typed": quote(typed)}
        return [read, say_text(field, "range", places)]
    return [read, ""]


def read_measure(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a number with or without a unit into coherent base units."""
    result = read_one_quantity(d, typed, field)
    if result[1] != "":
        return [None, result[1]]
    read = result[0]
    row = unit_row(d, field["unit"])
    if read["unit"] != "":
        found = read["row"]
        if found is None:
            places = {"label": field["label"], "typed": quote(read["unit"])}
            text = say_text(field, "unknown-unit", places)
            if field["dimension"] == "money":
                text = text + " " + say_text(field, "currency", {"currency": row[3]})
            return [None, text]
        if found[0] == "temperature" and field["dimension"] == "difference":
            # A drop of 10 °F is a drop of 5.56 °C: only the size of a degree counts.
            found = ["difference", found[1], 0.0, found[3]]
        if found[0] != field["dimension"]:
            return [None, explain_wrong_unit(typed, found[0], field)]
        row = found
    value = read["low"] * row[1] + row[2]
    if row[0] == "temperature" and value < 0:
        places = {"label": field["label"], "typed": quote(typed)}
        return [None, say_text(field, "absolute-zero", places)]
    return check_bounds(typed, value, field)


def check_bounds(typed: str, value: float, field: Mapping[str, Any]) -> Sequence[Any]:
    """Hand on a value inside its bounds; within rounding error of a bound, the bound."""
    slack = abs(value) * 1e-12
    low = field["low"]
    high = field["high"]
    inside = True
    if low is not None:
        inside = value > low + slack if field["low_open"] else value >= low - slack
    if inside and high is not None:
        inside = value < high - slack if field["high_open"] else value <= high + slack
    if inside:
        return [value, ""]
    places = {"label": field["label"], "bounds": field["bounds"], "typed": quote(typed)}
    text = say_text(field, "outside", places)
    if field["note"] != "":
        text = text + " " + field["note"]
    return [None, text]


def name_unit(d: Mapping[str, Any], unit: str) -> str:
    """Name a unit as programs read it."""
    if has_key(d["units"], unit):
        return to_text(d["units"][unit][4])
    for known in UNIT_NAMES:
        if known[0] == unit:
            return known[1]
    return unit


def write_quantity(
    d: Mapping[str, Any],
    value: float,
    unit: str,
    style: str,
    digits: int,
    direction: str = "nearest",
) -> str:
    """Write a quantity in a unit of the calculator's own, or in one that everyone knows."""
    if has_key(d["units"], unit):
        row = d["units"][unit]
        magnitude = convert_from_base(value, row)
        places = choose_places(magnitude, style, digits)
        return join_unit(format_number(magnitude, places, direction), row[3])
    return format_quantity(value, unit, style, digits, direction)
