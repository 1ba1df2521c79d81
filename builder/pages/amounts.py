"""Amounts that a reader may scale to the number made: shown once here, and again by the browser."""

from __future__ import annotations

from markupsafe import Markup

from builder.figures import find_us_unit
from builder.pages.prose import both_systems, count_written_places, text_of, unit_key
from builder.units import Quantity


def show_amount(quantity: Quantity, makes: int) -> Markup:
    """Show an amount in metric and US units, marked so that the browser can scale it.

    Args:
        quantity: A mass or a volume.
        makes: How many things it makes; 0 where it does not grow with their number.
    """
    shown = both_systems(*text_of(quantity))
    key = unit_key(quantity)
    if key is None or makes == 0 or not find_us_unit(quantity.base, key):
        return shown
    return Markup(
        '<span data-bl-amount="{}" data-bl-unit="{}" data-bl-places="{}">{}</span>'
    ).format(f"{quantity.base / makes:.12g}", key, count_written_places(quantity.magnitude), shown)
