"""Reads a quantity into a field: its unit, its bounds, and what was probably meant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

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
from builder.twin.unit_table import DIMENSIONS, UNITS

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


def describe_dimension_of(name: str) -> str:
    """Name a dimension for a reader, for instance `a mass`."""
    if has_key(DIMENSIONS, name):
        return DIMENSIONS[name]
    return "another kind of measure"


def explain_wrong_unit(typed: str, found: str, field: Mapping[str, Any]) -> str:
    """Say that a unit measures something else, and what was probably meant."""
    wanted: str = field["dimension"]
    label: str = field["label"]
    text = quote(typed) + " is " + describe_dimension_of(found) + ", and "
    text = text + label + " is " + describe_dimension_of(wanted) + "."
    if wanted == "volume" and found == "mass":
        text = text + " A weight ounce (oz, 28.35 g) is not a fluid ounce: write mL, or fl oz"
        text = text + " (29.57 mL)."
    if wanted == "mass" and found == "volume":
        text = text + " A fluid ounce (fl oz, 29.57 mL) is not a weight ounce: weigh it, in g or"
        text = text + " oz (28.35 g)."
    if wanted == "temperature" and found == "difference":
        text = text + " Write the temperature itself, in °C or °F."
    if wanted == "time" and found == "length":
        text = text + " Write min for minutes."
    if wanted == "ratio":
        text = text + " Write a share such as 2 %."
    return text


def read_one_quantity(d: Mapping[str, Any], typed: str, label: str) -> Sequence[Any]:
    """Read a quantity that may be no range; gives what was read, and a message."""
    read = read_quantity(d["units"], typed)
    if read["problem"] != "":
        return [read, label + ": " + read["problem"] + "."]
    if read["low"] != read["high"]:
        return [read, label + ": " + quote(typed) + " is a range; write one value."]
    return [read, ""]


def read_measure(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a number with or without a unit into coherent base units."""
    result = read_one_quantity(d, typed, field["label"])
    if result[1] != "":
        return [None, result[1]]
    read = result[0]
    row = unit_row(d, field["unit"])
    if read["unit"] != "":
        found = read["row"]
        if found is None:
            text = field["label"] + ": " + quote(read["unit"]) + " is not a unit known here."
            if field["dimension"] == "money":
                text = text + " Prices are in " + row[3] + "."
            return [None, text]
        if found[0] == "temperature" and field["dimension"] == "difference":
            # A drop of 10 °F is a drop of 5.56 °C: only the size of a degree counts.
            found = ["difference", found[1], 0.0, found[3]]
        if found[0] != field["dimension"]:
            return [None, explain_wrong_unit(typed, found[0], field)]
        row = found
    value = read["low"] * row[1] + row[2]
    if row[0] == "temperature" and value < 0:
        return [None, field["label"] + ": " + quote(typed) + " lies below absolute zero."]
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
    text = field["label"] + " must be " + field["bounds"] + "; " + quote(typed) + " is outside."
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
