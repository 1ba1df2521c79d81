"""The one scale of temperature: from the room, cool, to the hottest the course teaches."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from builder.library import Library
from builder.model import Lesson, Verb
from builder.twin.plot import list_ticks

SHADES = 9
"""Shades of the scale, `bl-heat-0` (cool) to `bl-heat-8` (hot) in the style sheet."""

_KELVIN = 273.15


@dataclass(frozen=True, slots=True)
class HeatScale:
    """A scale of temperature, shared by every drawing and badge of the site.

    Args:
        low: Its lower end in kelvin.
        high: Its upper end in kelvin, above the lower.
    """

    low: float
    high: float

    def place(self, kelvin: float) -> float:
        """Give the place of a temperature in kelvin on the scale: 0 cool, 1 hot."""
        return min(1.0, max(0.0, (kelvin - self.low) / (self.high - self.low)))

    def shade(self, kelvin: float) -> int:
        """Give the shade of a temperature in kelvin: 0 cool to 8 hot."""
        return round(self.place(kelvin) * (SHADES - 1))

    @property
    def ticks(self) -> tuple[float, ...]:
        """Round temperatures in kelvin, about four over the scale, its ends among them."""
        ticks = list_ticks(self.low - _KELVIN, self.high - _KELVIN, 4.01)
        return tuple(_KELVIN + value for value in ticks["values"])


def make_heat_scale(library: Library) -> HeatScale:
    """Make the scale of a course: from its room to the hottest that any lesson states.

    Args:
        library: The course.
    """
    room = library.settings.room.base if library.settings else _KELVIN + 20
    hottest = max(
        (each for lesson in library.lessons.values() for each in _list_temperatures(lesson)),
        default=room,
    )
    low = _KELVIN + floor((min(room, hottest) - _KELVIN) / 10) * 10
    high = _KELVIN + ceil((hottest - _KELVIN) / 10 + 0.01) * 10
    return HeatScale(low, max(high, low + 40))


def _list_temperatures(lesson: Lesson) -> list[float]:
    found = [step.temperature.high.base for step in lesson.steps if step.temperature]
    found += [
        action.to.base
        for step in lesson.steps
        for action in step.actions
        if action.to is not None and action.do is Verb.HEAT
    ]
    return found
