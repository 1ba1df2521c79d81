"""Reads numbers in text: signs, digits, decimal points, fractions; and the small work on text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.primitives import is_text, read_float

DIGITS = "0123456789"
SPACES = " \t\r\n\u00a0\u202f\u2009"


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


def split_number(text: str) -> Sequence[Any]:
    """Read a number at the start of a text.

    Takes a full stop or a comma as the decimal point, spaces between groups of three, `1/4`, and an
    exponent. A comma in front of exactly three digits could mean either, so it is refused.

    Returns:
        The number or None, the rest of the text, and a message where there is no number.
    """
    index = 0
    digits = ""
    sign = sign_at(text, 0)
    if sign in ("-", "−", "+"):
        if sign != "+":
            digits = "-"
        index = 1
    lead = count_digits(text, index)
    whole = text[index : index + lead]
    index += lead
    if lead > 0 and lead <= 3:
        while (
            sign_at(text, index) != ""
            and sign_at(text, index) in SPACES
            and count_digits(text, index + 1) == 3
        ):
            whole = whole + text[index + 1 : index + 4]
            index += 4
    point = sign_at(text, index)
    fraction = ""
    if point == "," and lead > 0 and lead <= 3 and count_digits(text, index + 1) == 3:
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
            return [
                None,
                "",
                quote(text)
                + " can be read in two ways; write "
                + whole
                + groups
                + " or "
                + whole
                + "."
                + groups,
            ]
    if point in (".", ","):
        length = count_digits(text, index + 1)
        fraction = text[index + 1 : index + 1 + length]
        if length > 0 or lead > 0:
            index += 1 + length
    if whole == "" and fraction == "":
        return [None, text, "there is no number in " + quote(text)]
    digits = digits + (whole if whole != "" else "0")
    if fraction != "":
        digits = digits + "." + fraction
    exponent = sign_at(text, index)
    if exponent in ("e", "E"):
        start = index + 1
        if sign_at(text, start) in ("-", "+"):
            start += 1
        length = count_digits(text, start)
        if length > 0 and length < 4:
            digits = digits + "e" + text[index + 1 : start + length]
            index = start + length
    number = read_float(digits)
    if sign_at(text, index) == "/" and fraction == "" and count_digits(text, index + 1) > 0:
        length = count_digits(text, index + 1)
        under = read_float(text[index + 1 : index + 1 + length])
        if under == 0:
            return [None, text, quote(text) + " divides by zero"]
        number = number / under
        index += 1 + length
    if number - number != 0 or abs(number) > 1e15:
        return [None, text, quote(text) + " is too large"]
    return [number, trim_text(text[index:]), ""]
