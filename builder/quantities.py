"""Quantities as an author wrote them, as text in metric and US units, the same everywhere.

Figures an author wrote keep their decimal places; the other system gets as many as make sense.
"""

from __future__ import annotations

from builder.twin import number_format
from builder.twin.quantities import find_key
from builder.units import CURRENCIES, Quantity, UnitError, Window, parse_window

TO_METRIC = {
    "oz": ("g", 0),
    "lb": ("g", 0),
    "floz": ("mL", 0),
    "tsp": ("mL", 1),
    "tbsp": ("mL", 0),
    "cup": ("mL", 0),
    "inch": ("cm", 1),
    "ft": ("cm", 0),
    "degF": ("degC", 0),
    "delta_degF": ("delta_degC", 0),
}
"""US unit an author wrote to the metric unit shown beside it, and its decimal places."""


def unit_key(quantity: Quantity) -> str | None:
    """Name a quantity's unit as `figures` knows it, or None where it has no such unit."""
    return find_key(quantity.unit.text) or None


def count_written_places(magnitude: float) -> int:
    """Give the decimal places an author wrote, at most three."""
    text = f"{magnitude:.3f}".rstrip("0")
    return len(text.partition(".")[2])


def text_of(quantity: Quantity) -> tuple[str, str]:
    """Give a quantity as metric and US text; the US text is "" where there is none."""
    key = unit_key(quantity)
    places = count_written_places(quantity.magnitude)
    if key is None:
        if places and quantity.unit.text in CURRENCIES:
            places = 2  # prices are written 2.70 EUR
        number = number_format.format_number(quantity.magnitude, places)
        return number_format.join_unit(number, quantity.unit.text), ""
    if key in TO_METRIC:
        metric, shown = TO_METRIC[key]
        return (
            number_format.format_quantity(quantity.base, metric, "places", shown),
            number_format.format_quantity(quantity.base, key, "places", places),
        )
    return (
        number_format.format_quantity(quantity.base, key, "places", places),
        number_format.format_us(quantity.base, key, "places", min(places, 1)),
    )


def texts_of_window(window: Window) -> tuple[str, str]:
    """Give a window as metric and US text, `57–63 °C` and `135–145 °F`."""
    if window.low == window.high:
        return text_of(window.high)
    low, high = text_of(window.low), text_of(window.high)
    return _span(low[0], high[0]), _span(low[1], high[1])


def _span(low: str, high: str) -> str:
    """Join two texts with one unit: `57 °C`, `63 °C` become `57–63 °C`."""
    number, space, unit = low.rpartition(number_format.NO_BREAK_SPACE)
    if space and high.endswith(space + unit):
        return f"{number}–{high}"
    return f"{low}–{high}" if low else ""


def write_both(texts: tuple[str, str]) -> str:
    """Join metric and US text, `60 °C (140 °F)`; the metric alone where there is no US text."""
    metric, us = texts
    return f"{metric} ({us})" if us else metric


def write_braces(text: str) -> str:
    """Write what stands in braces as plain text, `60 °C (140 °F)`; else keep it as it is."""
    try:
        return write_both(texts_of_window(parse_window(text)))
    except UnitError:
        return "{" + text + "}"
