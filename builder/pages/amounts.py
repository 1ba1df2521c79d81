"""Amounts that a reader may scale to the number made: shown once here, and again by the browser."""

from __future__ import annotations

from markupsafe import Markup

from builder.pages.prose import both_systems
from builder.quantities import TO_METRIC, count_written_places, text_of, unit_key
from builder.units import Quantity


def show_amount(quantity: Quantity, makes: int) -> Markup:
    """Show an amount in metric and US units, marked so that the browser can scale it.

    Args:
        quantity: A mass or a volume.
        makes: How many things it makes; 0 where it does not grow with their number.
    """
    shown = both_systems(*text_of(quantity))
    key = unit_key(quantity)
    if key is None or makes == 0:
        return shown
    marks = {
        "amount": f"{quantity.base / makes:.12g}",
        "unit": key,
        "places": str(count_written_places(quantity.magnitude)),
    }
    if key in TO_METRIC:  # written in a US unit: the metric side is the one worked out
        metric, places = TO_METRIC[key]
        marks |= {"unit": metric, "places": str(places)}
        marks |= {"us-unit": key, "us-places": str(count_written_places(quantity.magnitude))}
    text = Markup("").join(Markup(' data-bl-{}="{}"').format(*mark) for mark in marks.items())
    return Markup("<span{}>{}</span>").format(text, shown)
