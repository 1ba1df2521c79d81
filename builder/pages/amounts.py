"""Amounts that a reader may scale to the number made: shown once here, and again by the browser."""

from __future__ import annotations

from collections.abc import Callable
from math import isclose

from markupsafe import Markup

from builder.model import Lesson, Scale, Step
from builder.pages.prose import both_systems, show_braces
from builder.quantities import TO_METRIC, count_written_places, text_of, unit_key
from builder.units import Quantity, UnitError, parse_window
from builder.words import Words

AMOUNTS = ("[mass]", "[length] ** 3")
"""Dimensions of what is weighed or measured out."""


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


def show_step_amounts(words: Words, lesson: Lesson, step: Step, made: str) -> Callable[[str], str]:
    """Give what shows the quantities in the text of a step.

    An amount that one of the step's own actions uses, of a material that grows with the number
    made, is scaled by the browser. Any other mass or volume may be a limit or a part of a sum,
    where scaling would make it false: it stays, and says so as soon as the number is another.

    Args:
        words: The words of the site.
        lesson: The lesson.
        step: One of its steps.
        made: What the lesson makes, in words: `1 card`.
    """
    if lesson.makes == 0:
        return show_braces
    grows = {line.material for line in lesson.materials if line.per is Scale.PIECE}
    own = _list_amounts((step,), grows)
    known = [*_list_amounts(lesson.steps, grows)]
    known += [line.amount for line in lesson.materials if line.material in grows]

    def show(text: str) -> str:
        try:
            window = parse_window(text)
        except UnitError:
            return show_braces(text)
        if window.dimension not in AMOUNTS:
            return show_braces(text)
        one = window.low if window.low == window.high else None
        if one is not None and any(_is_same(one, each) for each in own):
            return str(show_amount(one, lesson.makes))
        is_known = one is not None and any(_is_same(one, each) for each in known)
        said = (
            words.text("lesson.for-made", what=made)
            if is_known
            else words.text("lesson.as-written")
        )
        mark = Markup('<span class="bl-unscaled" data-bl-unscaled hidden>{}</span>')
        return show_braces(text) + str(mark.format(said))

    return show


def _list_amounts(steps: tuple[Step, ...], grows: set[str]) -> list[Quantity]:
    """List the amounts that the actions of steps use, of materials that grow with the number."""
    return [
        action.amount
        for step in steps
        for action in step.actions
        if action.amount is not None and action.material in grows
    ]


def _is_same(one: Quantity, other: Quantity) -> bool:
    return one.dimension == other.dimension and isclose(one.base, other.base, rel_tol=1e-9)
