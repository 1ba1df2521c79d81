"""Reads numbers in text: signs, digits, decimal points, fractions; and the small work on text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from builder.twin.primitives import has_key, is_text, read_float

DIGITS = "0123456789"
SPACES = " \t\r\n\u00a0\u202f\u2009"
GROUPING = SPACES + "'’"
FRACTIONS: dict[str, float] = {
    "½": 1.0 / 2.0,
    "⅓": 1.0 / 3.0,
    "⅔": 2.0 / 3.0,
    "¼": 1.0 / 4.0,
    "¾": 3.0 / 4.0,
    "⅕": 1.0 / 5.0,
    "⅛": 1.0 / 8.0,
    "⅜": 3.0 / 8.0,
    "⅝": 5.0 / 8.0,
    "⅞": 7.0 / 8.0,
}


def trim_text(text: str) -> str:
    """Cut spaces of every kind from both ends."""
    start = 0
    end = len(text)
    while start < end and text[start] in SPACES:
        start += 1
    while end > start and text[end - 1] in SPACES:
        end -= 1
    return text[start:end]


def fold_text(text: str) -> str:
    """Lower case, with every run of spaces as one plain space."""
    folded = ""
    for index in range(len(text)):
        sign = text[index]
        if sign in SPACES:
            if folded != "" and folded[len(folded) - 1] != " ":
                folded = folded + " "
        else:
            folded = folded + sign.lower()
    return trim_text(folded)


def sign_at(text: str, index: int) -> str:
    """Give the sign at a place, or "" behind the end."""
    return text[index] if 0 <= index < len(text) else ""


def is_digit(sign: str) -> bool:
    """Say whether a sign is one of the ten digits."""
    return sign != "" and sign in DIGITS


def count_digits(text: str, index: int) -> int:
    """Count the digits from a place on."""
    count = 0
    while is_digit(sign_at(text, index + count)):
        count += 1
    return count


def quote(text: str) -> str:
    """Put what was typed in quotes; long text is cut."""
    if len(text) > 60:
        return "“" + text[0:60] + "…”"
    return "“" + text + "”"


def cut_text(text: str, signs: str) -> list[str]:
    """Cut a text at each of the signs."""
    parts: list[str] = []
    part = ""
    for index in range(len(text)):
        if text[index] in signs:
            parts.append(part)
            part = ""
        else:
            part = part + text[index]
    parts.append(part)
    return parts


def to_text(value: Any) -> str:
    """Give text as it is, and anything else as text."""
    return value if is_text(value) else str(value)


def fill_in(short: Mapping[str, Any], defaults: Mapping[str, Any]) -> dict[str, Any]:
    """Give a mapping with defaults for what it leaves out."""
    full: dict[str, Any] = {}
    for name in defaults:
        full[name] = defaults[name]
    for name in short:
        full[name] = short[name]
    return full


class NumberRead(TypedDict):
    """A number at the start of a text: its value, the text behind it, and why there is none."""

    value: float
    rest: str
    problem: str


def refuse_number(problem: str) -> NumberRead:
    """Say why there is no number."""
    return {"value": 0.0, "rest": "", "problem": problem}


def read_number(text: str) -> NumberRead:
    """Read a number at the start of a text.

    Takes a full stop or a comma as the decimal point, spaces or apostrophes between groups of
    three, `1/4`, `1 1/2`, `½`, and an exponent. A comma in front of exactly three digits could mean
    either, so it is refused; so is a number with both signs the other way round.
    """
    index = 0
    negative = False
    if sign_at(text, 0) in ("-", "−", "+"):
        negative = text[0] != "+"
        index = 1
    lead = count_digits(text, index)
    whole = text[index : index + lead]
    index += lead
    if 0 < lead <= 3:
        while (
            sign_at(text, index) != ""
            and sign_at(text, index) in GROUPING
            and count_digits(text, index + 1) == 3
        ):
            whole = whole + text[index + 1 : index + 4]
            index += 4
    point = sign_at(text, index)
    if point == "," and 0 < lead <= 3 and count_digits(text, index + 1) == 3:
        # 1,234.5 can only be read one way; 1,234 alone cannot.
        groups = ""
        place = index
        while sign_at(text, place) == "," and count_digits(text, place + 1) == 3:
            groups = groups + text[place + 1 : place + 4]
            place += 4
        clear = sign_at(text, place) == "." and count_digits(text, place + 1) > 0
        if clear or len(groups) > 3:
            whole = whole + groups
            index = place
            point = sign_at(text, index)
        elif whole != "0":
            return refuse_number(
                quote(text)
                + " may mean "
                + whole
                + groups
                + " or "
                + whole
                + "."
                + groups
                + "; write one of these"
            )
    fraction = ""
    if point in (".", ","):
        length = count_digits(text, index + 1)
        fraction = text[index + 1 : index + 1 + length]
        if length > 0 or lead > 0:
            index += 1 + length
    if whole == "" and fraction == "":
        part = read_fraction(text, index)
        if part["problem"] != "" or part["value"] == 0.0:
            return refuse_number(
                part["problem"] if part["problem"] != "" else "there is no number in " + quote(text)
            )
        return finish_number(text, -part["value"] if negative else part["value"], part["rest"])
    if sign_at(text, index) in (".", ",") and count_digits(text, index + 1) > 0:
        return refuse_number(explain_points(text, whole, fraction, index))
    digits = (whole if whole != "" else "0") + ("." + fraction if fraction != "" else "")
    plain = fraction == ""
    if sign_at(text, index) in ("e", "E"):
        start = index + 1
        if sign_at(text, start) in ("-", "+"):
            start += 1
        length = count_digits(text, start)
        if 0 < length < 4:
            digits = digits + "e" + text[index + 1 : start + length]
            index = start + length
            plain = False
    number = read_float(digits)
    rest = text[index:]
    if plain and sign_at(text, index) == "/" and count_digits(text, index + 1) > 0:
        part = read_fraction(text, index - len(whole))
        if part["problem"] != "":
            return part
        number = part["value"]
        rest = part["rest"]
    elif plain:
        start = index
        while sign_at(text, start) != "" and text[start] in SPACES:
            start += 1
        part = read_fraction(text, start)
        if part["problem"] != "":
            return part
        if 0.0 < part["value"] < 1.0:
            number = number + part["value"]
            rest = part["rest"]
    return finish_number(text, -number if negative else number, rest)


def finish_number(text: str, number: float, rest: str) -> NumberRead:
    """Hand a number on, unless it is larger than anything that is measured."""
    if number - number != 0 or abs(number) > 1e15:
        return refuse_number(quote(text) + " is too large")
    return {"value": number, "rest": trim_text(rest), "problem": ""}


def read_fraction(text: str, index: int) -> NumberRead:
    """Read `1/2` or `½` at a place; the value is 0 where there is none."""
    sign = sign_at(text, index)
    if sign != "" and has_key(FRACTIONS, sign):
        return {"value": FRACTIONS[sign], "rest": text[index + 1 :], "problem": ""}
    above = count_digits(text, index)
    middle = index + above
    below = count_digits(text, middle + 1)
    if above == 0 or below == 0 or sign_at(text, middle) not in ("/", "⁄"):
        return {"value": 0.0, "rest": text, "problem": ""}
    under = read_float(text[middle + 1 : middle + 1 + below])
    if under == 0:
        return refuse_number(quote(text) + " divides by zero")
    value = read_float(text[index:middle]) / under
    return {"value": value, "rest": text[middle + 1 + below :], "problem": ""}


def explain_points(text: str, whole: str, fraction: str, index: int) -> str:
    """Say what is wrong with a number that has a second point or comma at a place."""
    more = text[index + 1 : index + 1 + count_digits(text, index + 1)]
    if len(fraction) == 3 and sign_at(text, index - 4) == "." and text[index] == ",":
        return quote(text) + " has a full stop and a comma; write " + whole + fraction + "." + more
    return quote(text) + " has more than one point, so it is no number"
