"""Reads every quantity that an author or a visitor writes: one reader for both.

A quantity is a number with a unit (`113 g`), a number alone, a sum of falling units (`4 h 10 min`,
`2 lb 3 oz`), or a range (`8 to 12 h`, `57–63 °C`, `45 min to 1 h 10 min`, `between 8 and 12 h`). It
may carry the other system in brackets, as pages write it: `113 g (3.99 oz)`. What may mean two
things is refused with the reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypedDict

from builder.twin.number_format import convert_from_base
from builder.twin.numbers import (
    FRACTIONS,
    SPACES,
    fold_text,
    is_digit,
    quote,
    read_number,
    sign_at,
    trim_text,
)
from builder.twin.primitives import has_key
from builder.twin.unit_table import SPELLINGS, TWO_MEANINGS, UNITS

SUMMED = ("mass", "time", "length", "volume")
"""What may be written as a sum of falling units."""
CURRENCY_SIGNS = "€$£¥"
SIDES_AGREE = 0.01
"""How far, as a share, the two systems of one quantity may lie apart beside their last figure."""


class QuantityRead(TypedDict):
    """What was read.

    `low` and `high` are magnitudes in the unit, equal unless a range was written. `unit` is the
    unit as written, "" for a number alone; `row` is its row, None where it is not known.
    """

    problem: str
    low: float
    high: float
    unit: str
    row: Any


def refuse_quantity(problem: str) -> QuantityRead:
    """Say why there is no quantity."""
    return {"problem": problem, "low": 0.0, "high": 0.0, "unit": "", "row": None}


def drop_stop(text: str) -> str:
    """Take the full stop off an abbreviation."""
    return text[0 : len(text) - 1] if text.endswith(".") else text


def find_unit(own: Mapping[str, Any], text: str) -> Any:
    """Give the row of a unit as typed: dimension, factor, offset, symbol; or None.

    Args:
        own: Rows of further units, by their folded spelling.
        text: As typed; what may mean two things has no row.
    """
    key = find_spelling(own, text)
    if key == "":
        return None
    return own[key] if has_key(own, key) else UNITS[key]


def find_spelling(own: Mapping[str, Any], text: str) -> str:
    """Give the key of a unit as typed, or ""."""
    exact = drop_stop(trim_text(text))
    if has_key(TWO_MEANINGS, exact):
        return ""
    folded = drop_stop(fold_text(text))
    if has_key(own, folded):
        return folded
    if has_key(SPELLINGS, folded):
        return SPELLINGS[folded]
    if len(folded) > 2 and folded.endswith("s"):
        single = folded[0 : len(folded) - 1]
        if has_key(own, single):
            return single
        if has_key(SPELLINGS, single):
            return SPELLINGS[single]
    return ""


def find_key(text: str) -> str:
    """Give the key of a unit that an author declares, or ""; here `K` is a difference."""
    key = trim_text(text)
    return key if has_key(UNITS, key) else find_spelling({}, key)


def explain_two_meanings(text: str) -> str:
    """Say why a unit is refused that may mean two things, or "" where it does not."""
    exact = drop_stop(trim_text(text))
    if has_key(TWO_MEANINGS, exact):
        return quote(exact) + " may mean two things; write " + TWO_MEANINGS[exact]
    return ""


def read_quantity(own: Mapping[str, Any], typed: str) -> QuantityRead:
    """Read a quantity or a range.

    Args:
        own: Rows of further units, by their folded spelling.
        typed: As written.

    Returns:
        What was read; `problem` says why there is nothing. A unit that is not known is no problem
        here: `row` is None then, because an author may know more units than a visitor.
    """
    text = trim_text(typed)
    if text.endswith(")"):
        opened = find_bracket(text)
        if opened > 0:
            return read_both_sides(own, text, opened)
    lower = text.lower()
    if lower.startswith("between "):
        middle = lower.find(" and ")
        if middle > 0:
            return read_range(own, text, trim_text(text[8:middle]), trim_text(text[middle + 5 :]))
    for index in range(1, len(text)):
        length = measure_separator(text, index)
        if length > 0:
            return read_range(
                own, text, trim_text(text[0:index]), trim_text(text[index + length :])
            )
    return read_single(own, text)


def find_bracket(text: str) -> int:
    """Give the place of the bracket that opens the other system's side, or -1."""
    for index in range(1, len(text) - 1):
        if text[index] == "(" and text[index - 1] in SPACES and starts_number(text, index + 1):
            return index
    return -1


def starts_number(text: str, index: int) -> bool:
    """Say whether a number may begin at a place, spaces left out."""
    while sign_at(text, index) != "" and text[index] in SPACES:
        index += 1
    sign = sign_at(text, index)
    if sign in ("-", "−", "+", "."):
        sign = sign_at(text, index + 1)
    return is_digit(sign) or (sign != "" and has_key(FRACTIONS, sign))


def measure_separator(text: str, index: int) -> int:
    """Give the length of the `to` or dash of a range at a place, or 0.

    Two numbers stand on both sides: `to` follows a space or a digit, and a dash does not follow an
    exponent's `e`.
    """
    sign = text[index]
    before = text[index - 1]
    if sign in ("-", "–", "—"):
        exponent = before in ("e", "E") and index > 1 and is_digit(text[index - 2])
        if exponent or before in "*^(" or not starts_number(text, index + 1):
            return 0
        return 1
    if text[index : index + 2] == "to" and (before in SPACES or is_digit(before)):
        return 2 if starts_number(text, index + 2) else 0
    return 0


def read_both_sides(own: Mapping[str, Any], text: str, opened: int) -> QuantityRead:
    """Read `113 g (3.99 oz)`: both sides must be one quantity."""
    first = read_quantity(own, text[0:opened])
    second = read_quantity(own, text[opened + 1 : len(text) - 1])
    if first["problem"] != "":
        return first
    if second["problem"] != "":
        return second
    one = first["row"]
    other = second["row"]
    if one is None or other is None or one[0] != other[0]:
        return refuse_quantity(quote(text) + " holds two quantities; write one")
    slack = measure_last_place(text[0:opened]) * one[1]
    slack = slack + measure_last_place(text[opened:]) * other[1]
    if agree(first, second, one[2], other[2], slack):
        return first
    if one[0] == "temperature" and agree(first, second, 0.0, 0.0, slack):
        # `10 °C (18 °F)` can only be a difference.
        return {
            "problem": "",
            "low": first["low"],
            "high": first["high"],
            "unit": first["unit"],
            "row": ["difference", one[1], 0.0, one[3]],
        }
    return refuse_quantity(quote(text) + " holds two quantities that differ; write one")


def agree(
    first: QuantityRead, second: QuantityRead, offset: float, other_offset: float, slack: float
) -> bool:
    """Say whether two readings stand for one quantity."""
    one = first["row"]
    other = second["row"]
    low = first["low"] * one[1] + offset
    high = first["high"] * one[1] + offset
    low_gap: float = abs(low - second["low"] * other[1] - other_offset)
    high_gap: float = abs(high - second["high"] * other[1] - other_offset)
    room: float = slack + SIDES_AGREE * max(abs(high - offset), abs(low - offset))
    return low_gap <= room and high_gap <= room


def measure_last_place(text: str) -> float:
    """Give what one step of the last figure of a number in a text stands for."""
    place = 1.0
    behind = False
    found = False
    for index in range(len(text)):
        sign = text[index]
        if is_digit(sign):
            if behind:
                place = place / 10.0
            elif sign == "0" and found:
                place = place * 10.0
            else:
                place = 1.0
            found = True
        elif found and sign in (".", ","):
            behind = True
            place = 1.0
        elif found and sign not in SPACES:
            return place
    return place


def read_range(own: Mapping[str, Any], text: str, below: str, above: str) -> QuantityRead:
    """Read a range of two quantities; the lower one may leave its unit out."""
    low = read_single(own, below)
    high = read_single(own, above)
    if low["problem"] != "":
        return low
    if high["problem"] != "":
        return high
    if low["unit"] == "":
        low = {
            "problem": "",
            "low": low["low"],
            "high": low["high"],
            "unit": high["unit"],
            "row": high["row"],
        }
    if high["unit"] == "" and low["unit"] != "":
        return refuse_quantity(quote(text) + " ends without a unit")
    if low["row"] is None or high["row"] is None:
        if low["unit"] != high["unit"]:
            return refuse_quantity(quote(text) + " is in two units; write both ends in one")
    elif low["row"][0] != high["row"][0]:
        return refuse_quantity(quote(text) + " measures two things; write both ends in one unit")
    lower = low["low"]
    if low["row"] is not None:
        lower = convert_from_base(lower * low["row"][1] + low["row"][2], high["row"])
        # The same unit on both sides: keep the figures as written.
        if low["row"][1] == high["row"][1] and low["row"][2] == high["row"][2]:
            lower = low["low"]
    if lower > high["high"]:
        return refuse_quantity(quote(text) + " runs backwards; write the lower value first")
    return {
        "problem": "",
        "low": lower,
        "high": high["high"],
        "unit": high["unit"],
        "row": high["row"],
    }


def read_single(own: Mapping[str, Any], text: str) -> QuantityRead:
    """Read one number with or without a unit, or a sum of falling units."""
    sign = sign_at(text, 0)
    if sign != "" and sign in CURRENCY_SIGNS:
        text = text[1:] + " " + sign
    number = read_number(trim_text(text))
    if number["problem"] != "":
        return refuse_quantity(number["problem"])
    return add_unit(own, text, number["value"], number["rest"])


def add_unit(own: Mapping[str, Any], text: str, value: float, unit: str) -> QuantityRead:
    """Put the unit behind a number, or the rest of a sum of falling units."""
    problem = explain_two_meanings(unit)
    if problem != "":
        return refuse_quantity(problem)
    if sign_at(unit, 0) == ":" and is_digit(sign_at(unit, 1)):
        return refuse_quantity(
            quote(text) + " may mean two things; write hours and minutes as 4 h 10 min"
        )
    row = find_unit(own, unit) if unit != "" else None
    if row is None:
        place = find_digit(unit)
        if place > 0:
            first = find_unit(own, unit[0:place])
            problem = explain_two_meanings(unit[0:place])
            if problem != "":
                return refuse_quantity(problem)
            if first is not None and first[0] in SUMMED:
                return add_smaller(own, text, value, first, unit[place:])
    return {"problem": "", "low": value, "high": value, "unit": unit, "row": row}


def find_digit(text: str) -> int:
    """Give the place of the first digit or fraction sign, or -1."""
    for index in range(len(text)):
        if is_digit(text[index]) or has_key(FRACTIONS, text[index]):
            return index
    return -1


def add_smaller(
    own: Mapping[str, Any], text: str, value: float, row: Sequence[Any], rest: str
) -> QuantityRead:
    """Add the smaller part of `4 h 10 min`; the sum is in the smallest unit."""
    smaller = read_single(own, rest)
    if smaller["problem"] != "":
        return smaller
    other = smaller["row"]
    if smaller["unit"] == "":
        return refuse_quantity(quote(text) + " ends without a unit")
    if other is None or other[0] != row[0] or other[1] >= row[1] or smaller["low"] < 0:
        return refuse_quantity(
            quote(text) + " is no sum of falling units such as 4 h 10 min or 2 lb 3 oz"
        )
    size = smaller["low"] * other[1] / row[1]
    whole = (value - size if value < 0 else value + size) * row[1] / other[1]
    # Whole numbers stay whole: 4 h 10 min is 250 min.
    near = (whole + 0.5) // 1.0
    if abs(whole - near) < 1e-9 * (1.0 + abs(whole)):
        whole = near
    return {"problem": "", "low": whole, "high": whole, "unit": smaller["unit"], "row": other}


def is_bare(typed: str) -> bool:
    """Say whether what was typed is a number, or a range of numbers, without a unit."""
    read = read_quantity({}, typed)
    return read["problem"] == "" and read["unit"] == ""


def join_typed(typed: str, unit: str) -> str:
    """Put a unit behind what was typed where there is none."""
    text = trim_text(typed)
    return text + " " + unit if text != "" and unit != "" and is_bare(text) else text
