"""Calculate: a number worked out through a calculator, its inputs drawn from stated sets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import prod
from typing import Any, Self

from builder.calculators import CompiledCalculator
from builder.calculators.problems import Problem
from builder.exercises.combinatorics import pick_each
from builder.exercises.filling import (
    fill,
    find_unknown,
    make_field,
    resolve_unit,
    write_input,
    write_known,
    write_number,
)
from builder.exercises.records import (
    MOST_VARIANTS,
    Body,
    NumberAnswer,
    SlipAnswer,
    Sources,
    Space,
    need_calculator,
)
from builder.formulas.expression import FormulaError, parse_formula
from builder.formulas.kinds import Environment, Form
from builder.formulas.lowering import lower_formula
from builder.formulas.python import compile_to_python
from builder.model.exercises import CalculateExercise, Slip
from builder.twin.arithmetic import check_finite
from builder.twin.calculators.measures import describe_dimension_of, unit_row
from builder.twin.calculators.running import compute, read_inputs
from builder.twin.number_format import convert_from_base
from builder.twin.primitives import read_failure

RULE = "exercise-invalid"


@dataclass(frozen=True, slots=True)
class Solution:
    """One combination, worked out.

    Args:
        raw: What was typed into the calculator.
        values: Inputs, values and outputs in coherent base units; empty where it refused.
        refused: Why it refused, or "".
        warned: Ids of the warnings it gave, notes left out.
        slips: Value of each slip, or None where its formula has none here.
    """

    raw: Mapping[str, str]
    values: Mapping[str, Any]
    refused: str
    warned: tuple[str, ...]
    slips: tuple[float | None, ...]


def compile_slip(
    slip: Slip, kinds: Mapping[str, Any]
) -> Callable[[Mapping[str, Any], Mapping[str, Any]], float | None]:
    """Compile a slip's formula; dimensions are not checked, since a slip is often a mix-up of them.

    Args:
        slip: As written.
        kinds: The names it may use.

    Raises:
        FormulaError: If it cannot be read or uses a name that does not exist.
    """
    formula = parse_formula(slip.formula)
    for name in formula.names:
        if name not in kinds:
            listed = ", ".join(sorted(kinds))
            message = f'there is no "{name}" here; there are: {listed}'
            raise FormulaError(message, formula.text, max(0, formula.text.find(name)), len(name))
    run = compile_to_python(lower_formula(formula, Environment(kinds)))

    def evaluate(values: Mapping[str, Any], tables: Mapping[str, Any]) -> float | None:
        try:
            return float(check_finite(run(values, tables)))
        except Exception as problem:
            read_failure(problem)
            return None

    return evaluate


@dataclass(frozen=True)
class CalculateSpace(Space):
    """All combinations of what an exercise gives.

    Raises:
        ExerciseError: With everything that keeps variants from being made.
    """

    exercise: CalculateExercise
    compiled: CompiledCalculator

    @classmethod
    def open(cls, exercise: CalculateExercise, course: Sources) -> Self:
        """Make the space of an exercise of a course."""
        return cls(exercise, need_calculator(course, exercise.calculator))

    @cached_property
    def sizes(self) -> tuple[int, ...]:
        """Size of each set."""
        return tuple(len(values) for values in self.exercise.given.values())

    @property
    def total(self) -> int:
        """How many combinations there are."""
        return prod(self.sizes)

    @cached_property
    def unit(self) -> tuple[str, Any]:
        """Key and row of the unit asked for."""
        found = resolve_unit(self.compiled.description, self.exercise.unit)
        assert found is not None
        return found

    @cached_property
    def slips(self) -> tuple[Callable[..., float | None], ...]:
        """The slips' formulas."""
        return tuple(compile_slip(slip, self.compiled.kinds) for slip in self.exercise.slips)

    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""
        exercise, compiled = self.exercise, self.compiled
        inputs = {described["id"] for described in compiled.description["inputs"]}
        listed = ", ".join(sorted(inputs))
        for field in ("given", "fixed"):
            for name in getattr(exercise, field):
                if name not in inputs:
                    message = f'the calculator has no input "{name}"'
                    yield Problem((field, name), RULE, message, f"its inputs are {listed}")
        for name in exercise.given:
            if name in exercise.fixed:
                yield Problem(("fixed", name), RULE, f'"{name}" is given and fixed at once')
        yield from self.find_set_problems()
        kind = compiled.kinds.get(exercise.answer)
        outputs = [
            name
            for name in compiled.entry.outputs
            if name in compiled.kinds and compiled.kinds[name].form is Form.NUMBER
        ]
        if exercise.answer not in outputs or kind is None:
            message = f'"{exercise.answer}" is no number that the calculator answers'
            yield Problem(("answer",), RULE, message, f"its answers are {', '.join(outputs)}")
        else:
            yield from self.find_unit_problems()
        asked = {**exercise.given, **exercise.fixed}
        yield from find_braces(("ask",), exercise.ask, asked)
        shown = {**compiled.description["display"], **asked}
        yield from find_braces(("work",), exercise.work, shown)
        yield from find_braces(("hint",), exercise.hint or "", shown)
        for place, slip in enumerate(exercise.slips):
            yield from find_braces(("slips", place, "hint"), slip.hint, shown)
            try:
                compile_slip(slip, compiled.kinds)
            except FormulaError as error:
                yield Problem(("slips", place, "formula"), RULE, error.message, error.render())

    def find_set_problems(self) -> Iterator[Problem]:
        """Give what is wrong with the sets."""
        for name, values in self.exercise.given.items():
            if not values:
                yield Problem(("given", name), RULE, f'the set of "{name}" is empty')
            if len({value.strip() for value in values}) < len(values):
                yield Problem(("given", name), RULE, f'the set of "{name}" holds a value twice')
        if self.total > MOST_VARIANTS:
            message = f"the sets make {self.total} variants; at most {MOST_VARIANTS} are proven"
            yield Problem(("given",), RULE, message, "shorten the longest sets")
        elif self.total < 2 and all(self.sizes):
            message = "the sets make one variant only, so that all students get the same"
            yield Problem(("given",), RULE, message, "give a set of two values or more")

    def find_unit_problems(self) -> Iterator[Problem]:
        """Give what is wrong with the unit asked for."""
        exercise, description = self.exercise, self.compiled.description
        found = resolve_unit(description, exercise.unit)
        if found is None:
            yield Problem(("unit",), RULE, f'"{exercise.unit}" is no unit that can be typed')
            return
        for output in description["outputs"]:
            if output["id"] == exercise.answer and output["form"] == "number":
                own = unit_row(description, output["unit"])
                if own[0] != found[1][0]:
                    message = (
                        f'"{exercise.answer}" is {describe_dimension_of(description, own[0])}, '
                        f"and {exercise.unit} is {describe_dimension_of(description, found[1][0])}"
                    )
                    yield Problem(("unit",), RULE, message)

    @cached_property
    def solutions(self) -> tuple[Solution, ...]:
        """Every combination, worked out."""
        return tuple(self.solve(index) for index in range(self.total))

    def solve(self, index: int) -> Solution:
        """Work one combination out, without putting it in words."""
        places = pick_each(index, self.sizes)
        raw = dict(self.exercise.fixed)
        for place, (name, values) in zip(places, self.exercise.given.items(), strict=True):
            raw[name] = values[place]
        description, formulas = self.compiled.description, self.compiled.formulas
        values, errors = read_inputs(description, formulas, raw)
        problem = errors[0] if errors else compute(description, formulas, values)
        if problem is not None:
            return Solution(raw, {}, str(problem["message"]), (), ())
        if values.get(self.exercise.answer) is None:
            return Solution(raw, {}, "there is no such answer for these values", (), ())
        tables = description["tables"]
        loud = {
            name
            for name, warning in self.compiled.entry.warnings.items()
            if warning.level.value != "note"
        }
        try:
            warned = tuple(
                warning[0]
                for warning in description["warnings"]
                if warning[0] in loud and formulas[warning[1]](values, tables)
            )
        except Exception as failure:
            return Solution(raw, {}, f"there is no answer: {read_failure(failure)}", (), ())
        slips = tuple(slip(values, tables) for slip in self.slips)
        return Solution(raw, values, "", warned, slips)

    def find_tolerance(self, answer: float) -> float:
        """Give how far off an answer may be, in coherent base units."""
        row = self.unit[1]
        magnitude = convert_from_base(answer, list(row))
        return float(abs(magnitude) * self.exercise.tolerance.base * row[1])

    def find_slip_tolerance(self, value: float) -> float:
        """Give how far off an answer may be and still come from a slip: rounding included."""
        last_place = 0.5 * 10.0**-self.exercise.places * float(self.unit[1][1])
        return max(self.find_tolerance(value), last_place)

    def make(self, index: int) -> Body:
        """Make the variant at an index.

        Raises:
            ValueError: If the calculator refuses it; `check` reports such an exercise.
        """
        exercise, compiled = self.exercise, self.compiled
        solved = self.solve(index)
        if solved.refused:
            raise ValueError(f"{exercise.id}: {solved.refused}")
        values = solved.values
        typed = {name: write_input(compiled, name, text) for name, text in solved.raw.items()}
        key, row = self.unit
        answer = values[exercise.answer]
        known = {
            name: text
            for name in compiled.description["display"]
            if (text := write_known(compiled, name, values)) is not None
        }
        known[exercise.answer] = write_number(answer, row, exercise.places)
        known.update(typed)
        slips = tuple(
            SlipAnswer(
                slip.id,
                value,
                self.find_slip_tolerance(value),
                write_number(value, row, exercise.places),
                fill(slip.hint, known),
            )
            for slip, value in zip(exercise.slips, solved.slips, strict=True)
            if value is not None
        )
        units = {key: row} if key in compiled.description["units"] else {}
        return Body(
            ask=fill(exercise.ask, typed),
            work=fill(exercise.work, known),
            given=tuple((name, typed[name]) for name in exercise.given),
            hint=fill(exercise.hint, known) if exercise.hint else None,
            answer=NumberAnswer(
                value=answer,
                tolerance=self.find_tolerance(answer),
                text=known[exercise.answer],
                magnitude=float(convert_from_base(answer, list(row))),
                unit=key,
                symbol=str(row[3]),
                places=exercise.places,
                field=make_field(key, row),
                units=units,
                slips=slips,
                share=exercise.tolerance.base,
            ),
        )


def find_braces(
    route: tuple[str | int, ...], text: str, known: Mapping[str, Any]
) -> Iterator[Problem]:
    """Give what stands in the braces of a text and means nothing there."""
    for name in find_unknown(text, known):
        listed = ", ".join(sorted(known)) or "none"
        message = f'"{{{name}}}" is neither a quantity nor a value of this exercise'
        yield Problem(route, RULE, message, f"values that can stand here: {listed}")
