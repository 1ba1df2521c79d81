"""Read: a reading taken from a drawn instrument, or from the plot of a calculator."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any, Self

from builder.calculators import CompiledCalculator
from builder.calculators.problems import Problem
from builder.drawings.instruments import (
    MOST_DIVISIONS,
    Marks,
    draw_cylinder,
    draw_dial,
    draw_plot,
    draw_thermometer,
)
from builder.exercises.calculate import RULE, compile_slip, find_braces
from builder.exercises.filling import (
    fill,
    make_field,
    read_quantity,
    resolve_unit,
    write_number,
    write_typed,
)
from builder.exercises.records import (
    Body,
    Drawing,
    NumberAnswer,
    SlipAnswer,
    Sources,
    Space,
    need_calculator,
)
from builder.formulas.expression import FormulaError
from builder.formulas.kinds import Kind
from builder.model.exercises import ReadExercise
from builder.twin.number_format import convert_from_base
from builder.twin.plot import choose_step
from builder.words import Words

_NAMES = ("reading", "low", "high", "division")
_PLAIN: Mapping[str, Any] = {"units": {}}
MOST_PLOT_DIVISIONS = 40.0
"""Small divisions along the axis of a plot."""

_DRAWN = {
    "thermometer": (draw_thermometer, 120.0),
    "scale": (draw_dial, 52.0),
    "cylinder": (draw_cylinder, 30.0),
}


@dataclass(frozen=True)
class ReadSpace(Space):
    """All readings of an instrument.

    Args:
        exercise: As written.
        words: Our words in the language of the course.
        compiled: The calculator whose plot is read, or None for an instrument.

    Raises:
        ExerciseError: With everything that keeps variants from being made.
    """

    exercise: ReadExercise
    words: Words
    compiled: CompiledCalculator | None = None

    @classmethod
    def open(cls, exercise: ReadExercise, course: Sources) -> Self:
        """Make the space of an exercise of a course."""
        name = exercise.calculator
        compiled = need_calculator(course, name) if name else None
        return cls(exercise, course.library.words, compiled)

    @property
    def total(self) -> int:
        """How many readings there are."""
        return len(self.exercise.values)

    @property
    def description(self) -> Mapping[str, Any]:
        """Where units of the calculator's own are found."""
        return self.compiled.description if self.compiled else _PLAIN

    @cached_property
    def unit(self) -> tuple[str, Sequence[Any]]:
        """Key and row of the unit asked for."""
        found = resolve_unit(self.description, self.exercise.unit)
        assert found is not None
        return found

    @cached_property
    def points(self) -> Mapping[str, Any]:
        """The points of the plot."""
        sampled = self.compiled.sample_plot(self.exercise.fixed) if self.compiled else None
        assert sampled is not None
        return sampled

    def read(self, typed: str, *, difference: bool = False) -> tuple[float | None, str]:
        """Read a quantity of the instrument's scale into its base unit."""
        key, row = self.unit
        if difference and row[0] == "temperature":
            key, row = f"delta_{key}", ["difference", row[1], 0.0, row[3]]
        return read_quantity(typed, key, row)

    @cached_property
    def scale(self) -> dict[str, float]:
        """Low, high and division in base units; only what can be read."""
        found: dict[str, float] = {}
        for name in ("low", "high", "division"):
            typed = getattr(self.exercise, name)
            value, _ = self.read(typed, difference=name == "division")
            if value is not None:
                found[name] = value
        return found

    @cached_property
    def marks(self) -> Marks:
        """The divisions of the scale, or of the plot's vertical axis."""
        row = self.unit[1]
        low, high = (convert_from_base(self.scale[name], list(row)) for name in ("low", "high"))
        return Marks(low, high, self.scale["division"] / row[1], str(row[3]))

    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""
        exercise = self.exercise
        if (exercise.instrument == "plot") != (exercise.calculator is not None):
            message = "a plot, and only a plot, names the calculator it belongs to"
            yield Problem(("calculator",), RULE, message)
            return
        if resolve_unit(self.description, exercise.unit) is None:
            yield Problem(("unit",), RULE, f'"{exercise.unit}" is no unit that can be typed')
            return
        for name in ("low", "high", "division"):
            _, problem = self.read(getattr(exercise, name), difference=name == "division")
            if problem:
                yield Problem((name,), RULE, problem.replace("Your answer", name))
        if len(self.scale) < 3:
            return
        if self.scale["low"] >= self.scale["high"] or self.scale["division"] <= 0:
            yield Problem(("low",), RULE, "the scale must run upwards, in divisions above zero")
            return
        if self.marks.count > MOST_DIVISIONS:
            message = f"the scale has {self.marks.count} divisions, too many to be read"
            hint = f"at most {MOST_DIVISIONS}: choose a larger division or a shorter scale"
            yield Problem(("division",), RULE, message, hint)
        if len({value.strip() for value in exercise.values}) < len(exercise.values):
            yield Problem(("values",), RULE, "a value stands there twice")
        yield from self.find_plot_problems() if self.compiled else self.find_value_problems()
        yield from self.find_text_problems()

    def find_value_problems(self) -> Iterator[Problem]:
        """Give readings that cannot be taken from the instrument."""
        half = self.scale["division"] / 2
        for place, typed in enumerate(self.exercise.values):
            value, problem = self.read(typed)
            if value is None:
                text = problem.replace("Your answer", "the reading")
                yield Problem(("values", place), RULE, text)
            elif not self.scale["low"] <= value <= self.scale["high"]:
                yield Problem(("values", place), RULE, f'"{typed}" is not on the scale')
            else:
                steps = (value - self.scale["low"]) / half
                if abs(steps - round(steps)) > 1e-6:
                    message = f'"{typed}" lies neither on a division nor halfway between two'
                    yield Problem(("values", place), RULE, message)

    def find_plot_problems(self) -> Iterator[Problem]:
        """Give what is wrong with a plot to be read."""
        assert self.compiled is not None
        plot = self.compiled.entry.plot
        if plot is None:
            message = f'the calculator "{self.compiled.entry.id}" has no plot'
            yield Problem(("calculator",), RULE, message)
            return
        known = {described["id"] for described in self.compiled.description["inputs"]}
        for name in self.exercise.fixed:
            if name not in known:
                message = f'the calculator has no input "{name}"'
                hint = f"its inputs are {', '.join(sorted(known))}"
                yield Problem(("fixed", name), RULE, message, hint)
        sampled = self.compiled.sample_plot(self.exercise.fixed)
        if sampled is None or len(sampled["curves"][0]) < 2:
            yield Problem(("fixed",), RULE, "with these inputs the calculator draws no plot")
            return
        y_unit = resolve_unit(self.description, plot.y.unit)
        if y_unit is None or y_unit[1][0] != self.unit[1][0]:
            message = f"the plot's heights are in {plot.y.unit}, not in {self.exercise.unit}"
            yield Problem(("unit",), RULE, message)
            return
        for place, typed in enumerate(self.exercise.values):
            at = self.find_place(typed)
            height = None if at is None else self.find_height(at)
            if height is None:
                yield Problem(("values", place), RULE, f'the curve has no point at "{typed}"')
            elif not self.scale["low"] <= height <= self.scale["high"]:
                message = f'at "{typed}" the curve leaves the axis from low to high'
                yield Problem(("values", place), RULE, message)

    def find_text_problems(self) -> Iterator[Problem]:
        """Give what is wrong with texts and slips."""
        exercise = self.exercise
        asked = {"place"} if self.compiled else set()
        told = {"reading", "low", "high", "division", *asked}
        yield from find_braces(("ask",), exercise.ask, dict.fromkeys(asked))
        yield from find_braces(("hint",), exercise.hint or "", dict.fromkeys(asked))
        yield from find_braces(("work",), exercise.work, dict.fromkeys(told))
        for place, slip in enumerate(exercise.slips):
            yield from find_braces(("slips", place, "hint"), slip.hint, dict.fromkeys(told))
            try:
                compile_slip(slip, dict.fromkeys(_NAMES, Kind()))
            except FormulaError as error:
                yield Problem(("slips", place, "formula"), RULE, error.message, error.render())

    def find_place(self, typed: str) -> float | None:
        """Give a place on the horizontal axis, in the axis's unit."""
        assert self.compiled is not None
        assert self.compiled.entry.plot is not None
        found = resolve_unit(self.description, self.compiled.entry.plot.x.unit)
        if found is None:
            return None
        value, _ = read_quantity(typed, *found)
        return None if value is None else float(convert_from_base(value, list(found[1])))

    def find_height(self, at: float) -> float | None:
        """Give the curve's height, in base units, between the two points around a place."""
        assert self.compiled is not None
        assert self.compiled.entry.plot is not None
        found = resolve_unit(self.description, self.compiled.entry.plot.y.unit)
        assert found is not None
        curve = self.points["curves"][0]
        for left, right in pairwise(curve):
            if min(left[0], right[0]) - 1e-9 <= at <= max(left[0], right[0]) + 1e-9:
                share = 0.0 if right[0] == left[0] else (at - left[0]) / (right[0] - left[0])
                height = left[1] + share * (right[1] - left[1])
                return float(height * found[1][1] + found[1][2])
        return None

    def solve(self, index: int) -> tuple[float, float, tuple[float | None, ...]]:
        """Give the reading, how far off it may be, and the value of each slip; base units."""
        typed = self.exercise.values[index]
        if self.compiled is not None:
            at = self.find_place(typed)
            reading = None if at is None else self.find_height(at)
        else:
            reading, _ = self.read(typed)
        assert reading is not None
        values = {**self.scale, "reading": reading}
        kinds = dict.fromkeys(_NAMES, Kind())
        slips = tuple(compile_slip(slip, kinds)(values, {}) for slip in self.exercise.slips)
        # On squared paper a whole division is fair, on an instrument half of one.
        share = 1.0 if self.compiled is not None else 0.5
        return reading, self.scale["division"] * share, slips

    def make(self, index: int) -> Body:
        """Make the variant at an index."""
        exercise = self.exercise
        reading, tolerance, slips = self.solve(index)
        key, row = self.unit
        typed = write_typed(self.description, exercise.values[index])
        known = {
            name: write_typed(self.description, getattr(exercise, name)) for name in _NAMES[1:]
        }
        known["reading"] = write_number(reading, row, exercise.places)
        known["place"] = typed
        return Body(
            ask=fill(exercise.ask, known),
            work=fill(exercise.work, known),
            given=(("reading" if self.compiled is None else "place", typed),),
            hint=fill(exercise.hint, known) if exercise.hint else None,
            drawing=self.draw(index, reading),
            answer=NumberAnswer(
                value=reading,
                tolerance=tolerance,
                text=known["reading"],
                magnitude=float(convert_from_base(reading, list(row))),
                unit=key,
                symbol=str(row[3]),
                places=exercise.places,
                field=make_field(key, row),
                units={key: row} if key in self.description["units"] else {},
                slips=tuple(
                    SlipAnswer(
                        slip.id,
                        value,
                        tolerance,
                        write_number(value, row, exercise.places),
                        fill(slip.hint, known),
                    )
                    for slip, value in zip(exercise.slips, slips, strict=True)
                    if value is not None
                ),
            ),
        )

    def draw(self, index: int, reading: float) -> Drawing:
        """Draw the instrument with its reading."""
        exercise = self.exercise
        magnitude = float(convert_from_base(reading, list(self.unit[1])))
        if self.compiled is None:
            draw, width = _DRAWN[exercise.instrument]
            below = (
                self.marks.low
                + self.marks.division
                * int((magnitude - self.marks.low) / self.marks.division / self.marks.numbered)
                * self.marks.numbered
            )
            words = self.words.text(
                "task.instrument",
                name=self.words.text(f"task.{exercise.instrument}"),
                low=_figure(self.marks.low),
                high=_figure(self.marks.high),
                unit=self.marks.unit,
                division=_figure(self.marks.division),
                divisions=_figure((magnitude - below) / self.marks.division),
                below=_figure(below),
            )
            return Drawing(draw(self.marks, magnitude), words, width)
        plot = self.compiled.entry.plot
        assert plot is not None
        start, end = self.points["x"]
        division = choose_step(start, end, MOST_PLOT_DIVISIONS)[0]
        x_row = resolve_unit(self.description, plot.x.unit)
        assert x_row is not None
        steps = -(-(end - start) // division)
        x = Marks(start, start + division * steps, division, str(x_row[1][3]))
        at = self.find_place(exercise.values[index])
        assert at is not None
        svg = draw_plot(x, self.marks, self.points_in_unit(), at, (plot.x.label, plot.y.label))
        told = "; ".join(
            f"{_figure(point[0])} {x.unit}: {_figure(round(point[1], 1))} {self.marks.unit}"
            for point in self.points_in_unit()[::16]
        )
        words = self.words.text(
            "task.curve", title=plot.title, points=told, place=_figure(at), unit=x.unit
        )
        return Drawing(svg, words, 110.0)

    def points_in_unit(self) -> list[list[float]]:
        """Give the curve's points with heights in the unit asked for."""
        assert self.compiled is not None
        assert self.compiled.entry.plot is not None
        found = resolve_unit(self.description, self.compiled.entry.plot.y.unit)
        assert found is not None
        row = list(self.unit[1])
        return [
            [point[0], convert_from_base(point[1] * found[1][1] + found[1][2], row)]
            for point in self.points["curves"][0]
        ]


def _figure(number: float) -> str:
    return f"{number:.4f}".rstrip("0").rstrip(".") if number % 1 else f"{number:.0f}"
