"""Reads and writes quantities: units as people spell them, bounds, what was probably meant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.numbers import (
    fold_text,
    is_digit,
    quote,
    sign_at,
    split_number,
    to_text,
)
from builder.twin.number_format import (
    SPELLINGS,
    UNITS,
    choose_places,
    convert_from_base,
    format_number,
    format_quantity,
    join_unit,
)
from builder.twin.primitives import has_key

DIMENSIONS: dict[str, str] = {
    "mass": "a mass",
    "volume": "a volume",
    "length": "a length",
    "time": "a time",
    "temperature": "a temperature",
    "difference": "a temperature difference",
    "ratio": "a share or a plain number",
    "power": "a power",
    "energy": "an energy",
    "density": "a density",
    "specific heat": "a specific heat",
    "rate": "a rate",
    "pressure": "a pressure",
    "money": "a price",
    "count": "a number of pieces",
    "molar mass": "a molar mass",
    "molar energy": "an energy per mole",
    "molar heat": "a heat per mole and degree",
}
UNIT_NAMES = [
    ["ratio", "dimensionless"],
    ["floz", "fluid_ounce"],
    ["tbsp", "tablespoon"],
    ["tsp", "teaspoon"],
]


def find_unit(d: Mapping[str, Any], text: str) -> Any:
    """Give the row of a unit as typed: dimension, factor, offset, symbol; or None."""
    folded = fold_text(text)
    if folded.endswith("."):
        folded = folded[0 : len(folded) - 1]
    if has_key(d["units"], folded):
        return d["units"][folded]
    if has_key(SPELLINGS, folded):
        return UNITS[SPELLINGS[folded]]
    if len(folded) > 2 and folded.endswith("s"):
        return find_unit(d, folded[0 : len(folded) - 1])
    return None


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
    if wanted == "ratio":
        text = text + " Write a share such as 2 %."
    return text


def read_measure(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a number with or without a unit into coherent base units."""
    sign = sign_at(typed, 0)
    if sign != "" and sign in "€$£¥":
        typed = typed[1:] + " " + sign
    parts = split_number(typed)
    if parts[2] != "":
        return [None, field["label"] + ": " + parts[2] + "."]
    row = unit_row(d, field["unit"])
    if parts[1] != "":
        found = find_unit(d, parts[1])
        if found is None:
            found = find_compound(d, parts)
        if found is None:
            text = field["label"] + ": " + quote(parts[1]) + " is not a unit known here."
            if field["dimension"] == "money":
                text = text + " Prices are in " + row[3] + "."
            return [None, text]
        if found[0] == "temperature" and field["dimension"] == "difference":
            # A drop of 10 °F is a drop of 5.56 °C: only the size of a degree counts.
            found = ["difference", found[1], 0.0, found[3]]
        if found[0] != field["dimension"]:
            return [None, explain_wrong_unit(typed, found[0], field)]
        row = found
    value = parts[0] * row[1] + row[2]
    if row[0] == "temperature" and value < 0:
        return [None, field["label"] + ": " + quote(typed) + " lies below absolute zero."]
    return check_bounds(typed, value, field)


def find_compound(d: Mapping[str, Any], parts: Sequence[Any]) -> Any:
    """Read `1 h 5 min` or `2 lb 3 oz`: gives a unit row whose offset is the smaller part, or None.

    Args:
        d: The calculator.
        parts: The first number and the rest of the text, as `split_number` gives them.
    """
    rest = parts[1]
    index = 0
    while index < len(rest) and not is_digit(rest[index]):
        index += 1
    first = find_unit(d, rest[0:index])
    more = split_number(rest[index:])
    if first is None or more[2] != "":
        return None
    second = find_unit(d, more[1])
    if second is None or second[0] != first[0] or second[1] >= first[1] or parts[0] < 0:
        return None
    if first[0] not in ("mass", "time", "length", "volume"):
        return None
    return [first[0], first[1], more[0] * second[1], first[3]]


def check_bounds(typed: str, value: float, field: Mapping[str, Any]) -> Sequence[Any]:
    """Hand on a value inside its bounds; a hair beside a bound counts as the bound."""
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


def write_quantity(d: Mapping[str, Any], value: float, unit: str, style: str, digits: int) -> str:
    """Write a quantity in a unit of the calculator's own, or in one that everyone knows."""
    if has_key(d["units"], unit):
        row = d["units"][unit]
        magnitude = convert_from_base(value, row)
        return join_unit(format_number(magnitude, choose_places(magnitude, style, digits)), row[3])
    return format_quantity(value, unit, style, digits)
