"""How sure an answer is: the band in which it lies when the readings are off.

An input may say how far off it may be. All such inputs are moved to the ends and the middle of
their ranges, in every combination, and the least and the greatest answer are kept: interval
propagation by the corners, which is exact where an answer rises or falls with each input. Where
some combination has no answer, the band is open: the true value may be anything beyond it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.calculators.measures import unit_row, write_quantity
from builder.twin.calculators.messages import say_text
from builder.twin.calculators.running import calculate, compute, is_asked, read_inputs
from builder.twin.calculators.shapes import Answers, Band
from builder.twin.number_format import (
    NO_BREAK_SPACE,
    choose_places,
    count_places,
    find_us_unit,
    format_number,
    join_unit,
    round_number,
    shift_one,
)
from builder.twin.primitives import is_number
from builder.twin.quantities import is_bare
from builder.twin.unit_table import UNITS

MOST_UNSURE = 6
"""Most inputs that are moved together."""
FEW_UNSURE = 4
"""Up to so many take their middle too; beyond it the ends alone, or there are too many."""


def list_unsure(
    d: Mapping[str, Any], f: Sequence[Any], values: Mapping[str, Any]
) -> list[Sequence[Any]]:
    """List the inputs that may be off, as name and how far, in coherent base units."""
    unsure: list[Sequence[Any]] = []
    for field in d["inputs"]:
        value = values[field["id"]]
        if is_number(value) and is_asked(d, f, values, field):
            off = field["error"] + field["error_share"] * abs(value)
            if off > 0.0 and len(unsure) < MOST_UNSURE:
                unsure.append([field["id"], off])
    return unsure


def list_moved(
    values: Mapping[str, Any], unsure: Sequence[Sequence[Any]], steps: int
) -> list[dict[str, Any]]:
    """List the values with all that is unsure moved, in every combination.

    Args:
        values: All values.
        unsure: Inputs that are moved, and how far.
        steps: Places each takes: 3 for both ends and the middle, 2 for the ends alone.
    """
    many = 1
    for _each in unsure:
        many = many * steps
    combinations: list[dict[str, Any]] = []
    for number in range(many):
        moved = {name: values[name] for name in values}
        rest = number
        for each in unsure:
            moved[each[0]] = values[each[0]] + each[1] * (2.0 * (rest % steps) / (steps - 1) - 1.0)
            rest = rest // steps
        combinations.append(moved)
    return combinations


def find_ends(
    d: Mapping[str, Any],
    f: Sequence[Any],
    values: Mapping[str, Any],
    unsure: Sequence[Sequence[Any]],
    steps: int,
) -> dict[str, Any]:
    """Find the least and the greatest value of each output over all combinations.

    Args:
        d: The calculator.
        f: Its formulas.
        values: All values, already worked out.
        unsure: Inputs that are moved, and how far.
        steps: Places each takes: 3 for both ends and the middle, 2 for the ends alone.

    Returns:
        `{"ends": {output: [low, high]}, "open": whether some combination has no answer}`.
    """
    names = [output["id"] for output in d["outputs"] if output["form"] == "number"]
    ends: dict[str, Any] = {}
    for name in names:
        if is_number(values[name]):
            ends[name] = [values[name], values[name]]
    is_open = False
    for moved in list_moved(values, unsure, steps):
        if compute(d, f, moved) is not None:
            is_open = True
            continue
        for name in ends:
            value = moved[name]
            if is_number(value):
                ends[name] = [min(ends[name][0], value), max(ends[name][1], value)]
    return {"ends": ends, "open": is_open}


def calculate_with_bands(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Answers:
    """Work out all answers, and how sure they are.

    Returns:
        As `calculate`. An answer that is unsure also has `"band": {"low", "high", "open", "text",
        "us", "mostly"}`: its ends in the unit of the answer, the band in words for both systems,
        and what most of it comes from, in words. Its own digits follow the band.
    """
    result = calculate(d, f, raw)
    if "errors" in result:
        return result
    values = read_inputs(d, f, raw)[0]
    if compute(d, f, values) is not None:
        return result
    unsure = list_unsure(d, f, values)
    if len(unsure) == 0:
        return result
    found = find_ends(d, f, values, unsure, 3 if len(unsure) <= FEW_UNSURE else 2)
    alone = [[each[0], find_ends(d, f, values, [each], 3)] for each in unsure]
    for output in d["outputs"]:
        name = output["id"]
        if name in found["ends"] and name in result["outputs"]:
            ends = found["ends"][name]
            if ends[1] - ends[0] > 1e-9 * (abs(ends[0]) + abs(ends[1])) or found["open"]:
                answer = result["outputs"][name]
                band = describe_band(d, output, ends, found["open"])
                band["mostly"] = say_text(d, "mostly", {"input": name_widest(d, name, alone)})
                answer["band"] = band
                shown = write_unsure(d, values[name], output, ends)
                answer["text"] = shown[0]
                answer["us"] = shown[1]
    return result


def name_widest(d: Mapping[str, Any], output: str, alone: Sequence[Any]) -> str:
    """Name the input that moves an answer most when it alone is off."""
    widest = -1.0
    label = ""
    for each in alone:
        ends = each[1]["ends"][output]
        width = ends[1] - ends[0]
        if each[1]["open"]:
            width = width * 1e6
        if width > widest:
            widest = width
            for field in d["inputs"]:
                if field["id"] == each[0]:
                    label = field["label"]
    return label


def choose_unsure_places(magnitude: float, half: float, style: str, digits: int) -> int:
    """Give the decimal places of an unsure number: those that half its band leaves, or fewer.

    Half a band keeps one figure, or two where the first is 1 or 2, as in statements of uncertainty
    (ISO/IEC Guide 98-3, 7.2.6, from memory).
    """
    places = choose_places(magnitude, style, digits)
    if half <= 0.0:
        return places
    kept = count_places(half, 1)
    if round_number(half, kept) < 3.0 * shift_one(-kept):
        kept = kept + 1
    return kept if kept < places else places


def write_unsure(
    d: Mapping[str, Any], value: float, output: Mapping[str, Any], ends: Sequence[float]
) -> Sequence[str]:
    """Write an unsure answer in both systems, with as many digits as its band leaves."""
    unit = output["unit"]
    half = (ends[1] - ends[0]) / 2.0
    row = unit_row(d, unit)
    magnitude = (value - row[2]) / row[1]
    places = choose_unsure_places(magnitude, half / row[1], output["style"], output["digits"])
    text = write_quantity(d, value, unit, "places", places, output["direction"])
    other = find_us_unit(value, unit) if output["us"] else ""
    if other == "":
        return [text, ""]
    row = UNITS[other]
    magnitude = (value - row[2]) / row[1]
    places = choose_unsure_places(magnitude, half / row[1], "significant", 3)
    shown = format_number(magnitude, places, output["direction"])
    return [text, join_unit(shown, row[3])]


def describe_band(
    d: Mapping[str, Any], output: Mapping[str, Any], ends: Sequence[float], is_open: bool
) -> Band:
    """Describe the band of an answer, in numbers and in words."""
    unit = output["unit"]
    row = unit_row(d, unit)
    other = find_us_unit(ends[1], unit) if output["us"] else ""
    return {
        "low": (ends[0] - row[2]) / row[1],
        "high": (ends[1] - row[2]) / row[1],
        "open": is_open,
        "text": write_band(d, ends, unit, output, is_open),
        "us": write_band(d, ends, other, output, is_open) if other != "" else "",
        "mostly": "",
    }


def write_band(
    d: Mapping[str, Any],
    ends: Sequence[float],
    unit: str,
    output: Mapping[str, Any],
    is_open: bool,
) -> str:
    """Write a band, `between 15 and 25 min`; its ends are rounded outwards."""
    row = unit_row(d, unit)
    low = (ends[0] - row[2]) / row[1]
    high = (ends[1] - row[2]) / row[1]
    finest = choose_places(high, output["style"], output["digits"])
    if unit != output["unit"]:
        finest = choose_places(high, "significant", 4)
    places = count_places((high - low) / 2.0, 2) if high > low else finest
    if places > finest:
        places = finest
    lower = write_quantity(d, ends[0], unit, "places", places, "down")
    upper = write_quantity(d, ends[1], unit, "places", places, "up")
    if round_number(low, places, "down") < 0.0 <= low:
        lower = write_quantity(d, ends[0], unit, "places", places, "nearest")
    ending = NO_BREAK_SPACE + row[3]
    if row[3] != "" and lower.endswith(ending) and upper.endswith(ending):
        alone = lower[0 : len(lower) - len(ending)]
        lower = alone if is_bare(alone) else lower  # of 1 min 24 s all is kept
    text = say_text(d, "between", {"low": lower, "high": upper})
    return say_text(d, "beyond", {"band": text}) if is_open else text
