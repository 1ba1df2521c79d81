"""Numbers as text, for people: rounding, metric and US units side by side, times and prices.

One definition for Python and the browser: it keeps to the part of Python that is written as
JavaScript, and numbers are floats. Rounding is half up on the decimal digits a person would see:
2.675 rounds to 2.68 although the nearest binary number lies a hair below.

A unit is named by its key in `UNITS`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from builder.twin.unit_table import UNITS

NO_BREAK_SPACE = "\u00a0"
NARROW_NO_BREAK_SPACE = "\u202f"
TOO_LARGE = 1e15
COARSEST = 0.02
"""How far, as a share, the US side may be rounded for the sake of two decimal places."""


def power_of_ten(exponent: int) -> float:
    """Give ten to a whole power from 0 to 22, exactly (a library's power may be off by a digit)."""
    result = 1.0
    for _index in range(exponent):
        result = result * 10.0
    return result


def round_half_up(value: float, places: int) -> float:
    """Round to decimal places, half away from zero.

    Args:
        value: The number; from 1e15 on it comes back as it is.
        places: Decimal places, -15 to 15; -1 rounds to tens.

    Example: `round_half_up(2.675, 2)` is 2.68.
    """
    size = abs(value)
    if size >= TOO_LARGE:
        return value
    if places >= 0:
        scale = power_of_ten(places)
        scaled = size * scale
    else:
        scale = power_of_ten(-places)
        scaled = size / scale
    # The nudge, one part in 1e12, lifts binary numbers just below a decimal half.
    nudge = scaled * 1e-12 if scaled < 1e9 else 0.0
    whole = (scaled + 0.5 + nudge) // 1.0
    rounded = whole / scale if places >= 0 else whole * scale
    if rounded == 0.0:
        return 0.0
    return rounded if value > 0 else -rounded


def round_number(value: float, places: int, direction: str = "nearest") -> float:
    """Round to decimal places in a direction.

    Args:
        value: The number; from 1e15 on it comes back as it is.
        places: Decimal places, -15 to 15.
        direction: "nearest", half away from zero; "down" for what may not be exceeded; "up" for
            what may not be fallen short of. A hair (one part in 1e12) beside a shown figure counts
            as that figure.
    """
    if direction == "nearest" or abs(value) >= TOO_LARGE:
        return round_half_up(value, places)
    scale = shift_one(abs(places))
    scaled = value * scale if places >= 0 else value / scale
    hair = abs(scaled) * 1e-12
    whole = (scaled + hair) // 1.0 if direction == "down" else -((hair - scaled) // 1.0)
    rounded = whole / scale if places >= 0 else whole * scale
    return rounded if rounded != 0.0 else 0.0


def count_places(value: float, significant: int) -> int:
    """Give the decimal places that show a number to so many significant figures.

    Negative where figures before the point are dropped: 2 268 to 3 figures is -1.
    """
    size = abs(value)
    if size == 0.0 or size >= TOO_LARGE:
        return 0
    order = 0
    while size >= 10.0:
        size = size / 10.0
        order += 1
    while size < 1.0 and order > -15:
        size = size * 10.0
        order -= 1
    places = significant - 1 - order
    # 9.996 to three figures becomes 10.0: rounding may add a figure in front.
    if abs(round_half_up(value, places)) >= shift_one(order + 1):
        places -= 1
    if places > 15:
        return 15
    return places


def shift_one(order: int) -> float:
    """Give ten to a whole power of either sign."""
    if order >= 0:
        return power_of_ten(order)
    return 1.0 / power_of_ten(-order)


def group_digits(digits: str) -> str:
    """Set digits in groups of three from 10 000 on, with a narrow space that does not break."""
    if len(digits) < 5:
        return digits
    grouped = ""
    for index in range(len(digits)):
        if index > 0 and (len(digits) - index) % 3 == 0:
            grouped = grouped + NARROW_NO_BREAK_SPACE
        grouped = grouped + digits[index]
    return grouped


def format_number(value: float, places: int, direction: str = "nearest") -> str:
    """Write a number with so many decimal places.

    Args:
        value: A finite number.
        places: Decimal places shown; negative rounds before the point.
        direction: As for `round_number`.

    Example: `format_number(12345.675, 2)` is `12 345.68` with a narrow no-break space.
    """
    if abs(value) >= TOO_LARGE:
        size = abs(value)
        order = 0
        while size >= 10.0:
            size = size / 10.0
            order += 1
        sign = "−" if value < 0 else ""
        return sign + format_number(size, 2) + " × 10^" + str(order)
    rounded = round_number(value, places, direction)
    size = abs(rounded)
    sign = "−" if rounded < 0 else ""
    if places <= 0:
        return sign + group_digits(str(int(size)))
    whole = size // 1.0
    scale = power_of_ten(places)
    tail = (size - whole) * scale
    rest = (tail + 0.5) // 1.0
    if rest >= scale:
        whole = whole + 1.0
        rest = 0.0
    digits = str(int(rest))
    while len(digits) < places:
        digits = "0" + digits
    return sign + group_digits(str(int(whole))) + "." + digits


def format_significant(value: float, significant: int) -> str:
    """Write a number to so many significant figures, 3.986 to three as `3.99`."""
    return format_number(value, count_places(value, significant))


def convert_from_base(value: float, unit: Sequence[Any]) -> float:
    """Turn a value in coherent base units into a unit's magnitude; `unit` is a row of UNITS."""
    return float((value - unit[2]) / unit[1])


def join_unit(number: str, symbol: str) -> str:
    """Set a unit behind a number with a space that does not break."""
    if symbol == "":
        return number
    return number + NO_BREAK_SPACE + symbol


def format_time(seconds: float, unit: str, places: int, direction: str = "nearest") -> str:
    """Write a time: `19.4 min`, `1 h 5 min`, `2 min 6 s`.

    Args:
        seconds: The time.
        unit: Key of UNITS the author chose; from 60 of it on, the next unit leads.
        places: Decimal places used below 60 of the unit.
        direction: As for `round_number`.
    """
    row = UNITS[unit]
    magnitude = seconds / row[1]
    larger = ""
    if unit == "s":
        larger = "min"
    if unit == "min":
        larger = "h"
    if larger == "" or abs(round_half_up(magnitude, 0)) < 60 or abs(magnitude) >= 60000:
        return join_unit(format_number(magnitude, places, direction), row[3])
    whole = abs(round_number(magnitude, 0, direction))
    lead = whole // 60.0
    rest = whole - lead * 60.0
    text = join_unit(format_number(lead, 0), larger)
    if rest > 0:
        text = text + NO_BREAK_SPACE + join_unit(format_number(rest, 0), unit)
    if magnitude < 0:
        text = "−" + text
    return text


def find_us_unit(value: float, unit: str) -> str:
    """Name the US unit in which a value is also shown, or "" where there is none.

    Args:
        value: In coherent base units.
        unit: Key of UNITS in which it is shown already.
    """
    if unit not in UNITS:
        return ""
    dimension = UNITS[unit][0]
    if unit in ("oz", "lb", "floz", "tsp", "tbsp", "cup", "inch", "ft", "degF", "delta_degF"):
        return ""
    if dimension == "mass":
        if abs(value) < 0.0014:  # under a twentieth of an ounce nobody weighs in ounces
            return ""
        return "lb" if abs(value) >= 0.90718474 else "oz"
    if dimension == "volume":
        if abs(value) >= 0.003785411784:
            return "gallon"
        return "tsp" if abs(value) < 1.478676478125e-05 else "floz"
    if dimension == "length":
        return "inch"
    if dimension == "temperature":
        return "degF"
    if dimension == "difference":
        return "delta_degF"
    return ""


def trim_places(value: float, places: int) -> int:
    """Give the fewest decimal places that show the same number as so many places do."""
    while places > 0 and round_half_up(value, places - 1) == round_half_up(value, places):
        places -= 1
    return places


def choose_places(magnitude: float, style: str, digits: int) -> int:
    """Give the decimal places a style asks for; see `format_quantity`."""
    if style == "significant":
        return count_places(magnitude, digits)
    if style == "plain":
        return trim_places(magnitude, count_places(magnitude, digits))
    return digits


def format_quantity(
    value: float, unit: str, style: str, digits: int, direction: str = "nearest"
) -> str:
    """Write a quantity in a unit, number and unit held together.

    Args:
        value: In coherent base units (kg, m3, s, K ...).
        unit: Key of UNITS.
        style: "places" for decimal places, "significant" for significant figures, "plain" for at
            most so many significant figures without zeros at the end.
        digits: How many.
        direction: As for `round_number`.

    Example: `format_quantity(0.113, "g", "places", 0)` is `113 g`.
    """
    row = UNITS[unit]
    magnitude = convert_from_base(value, row)
    places = choose_places(magnitude, style, digits)
    if row[0] == "time":
        return format_time(value, unit, places, direction)
    return join_unit(format_number(magnitude, places, direction), row[3])


def format_us(value: float, unit: str, style: str, digits: int, direction: str = "nearest") -> str:
    """Write the US side of a quantity, or "" where there is none.

    Temperatures keep the decimal places of the metric side. All else shows three figures, or as
    many significant ones as the metric side; but no more than two decimal places, which is what
    kitchen scales and spoons can show, where that moves the figure by no more than two parts in a
    hundred and no direction is asked for. What would then be shown as nothing is left out.
    """
    other = find_us_unit(value, unit)
    if other == "":
        return ""
    row = UNITS[other]
    magnitude = convert_from_base(value, row)
    if row[0] == "temperature" or row[0] == "difference":
        places = choose_places(magnitude, "plain", 4)
        if style != "plain":
            places = choose_places(convert_from_base(value, UNITS[unit]), style, digits)
        return join_unit(format_number(magnitude, places, direction), row[3])
    figures = digits if style == "significant" and digits > 3 else 3
    places = choose_places(magnitude, "plain" if style == "plain" else "significant", figures)
    if places > 2 and direction == "nearest":
        coarse = round_half_up(magnitude, 2)
        if coarse == 0.0 or abs(coarse - magnitude) <= COARSEST * abs(magnitude):
            places = 2
    if magnitude != 0.0 and round_number(magnitude, places, direction) == 0.0:
        return ""
    return join_unit(format_number(magnitude, places, direction), row[3])


def format_both(
    value: float, unit: str, style: str, digits: int, direction: str = "nearest"
) -> str:
    """Write a quantity in its unit with the US side in brackets: `113 g (3.99 oz)`."""
    text = format_quantity(value, unit, style, digits, direction)
    other = format_us(value, unit, style, digits, direction)
    if other == "":
        return text
    return text + " (" + other + ")"
