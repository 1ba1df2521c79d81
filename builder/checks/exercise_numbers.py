"""Rules about the numbers of exercises: every variant sensible, safe and told from its slips."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from builder.checks.exercises import name_values
from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.exercises import ExerciseError
from builder.exercises.calculate import CalculateSpace
from builder.exercises.instrument_reading import ReadSpace
from builder.model import Lesson
from builder.twin.marking import classify_answer
from builder.twin.number_format import convert_from_base, round_half_up


def _walk_spaces(course: Course) -> Iterator[tuple[Lesson, int, Any]]:
    """Give the space of each usable exercise, with its lesson and place."""
    book = course.exercises
    for lesson in course.library.lessons.values():
        for place, exercise in enumerate(lesson.exercises):
            try:
                yield lesson, place, book.space(lesson, exercise)
            except ExerciseError:
                continue


@rule("exercise-refused", "exercises")
def check_exercise_refused(course: Course) -> Iterator[Found]:
    """A variant of an exercise is refused by its calculator, or warned about.

    Numbers on a sheet are taken to the bench. A value that a calculator refuses has no answer, and
    one it warns about is a bad example even where the sum comes out. Every combination of the sets
    is worked out here; notes of a calculator, which only inform, are let pass.

    Failing:

        # file: kb/citations.yml
        bench: {certainty: practice}
        # file: kb/calculators/paste.yml
        name: Paste
        summary: How much starch a paste takes.
        inputs:
          water: {label: Water, unit: mL, default: 100 mL, at_most: 500 mL}
        outputs:
          starch: {label: Starch, formula: water * share, unit: g}
        constants:
          share: {label: Share, value: 0.1 g/mL, citation: bench}
        examples:
          - {name: One, inputs: {water: 100 mL}, outputs: {starch: 10 g}, citation: bench}
          - {name: Two, inputs: {water: 200 mL}, outputs: {starch: 20 g}, citation: bench}
        readings: [{words: Starch is a tenth of the water., symbols: s = w / 10}]
        limits: For thin card.
        # file: lessons/cards/pasting.yml
        teaches:
          - {skill: weigh-starch, text: Weigh starch for a paste}
        exercises:
          - id: how-much
            kind: calculate
            skill: weigh-starch
            title: How much starch
            ask: How much starch do you weigh for {water} of water?
            calculator: paste
            given: {water: [100 mL, 200 mL, 800 mL]}
            answer: starch
            unit: g
            tolerance: 2 %
            work: A tenth of {water} is {starch}.

    Passing with `given: {water: [100 mL, 200 mL, 300 mL]}` in place of `given: {water: [100 mL,
    200 mL, 800 mL]}`.
    """
    for lesson, place, space in _walk_spaces(course):
        if not isinstance(space, CalculateSpace):
            continue
        refused = [solved for solved in space.solutions if solved.refused]
        warned = [solved for solved in space.solutions if solved.warned]
        for found, what in (
            (refused, "the calculator refuses"),
            (warned, "the calculator warns about"),
        ):
            if not found:
                continue
            first = found[0]
            reason = first.refused or ", ".join(first.warned)
            yield Found(
                lesson,
                ("exercises", place, "given"),
                f'{what} {_count(found, space)}, for instance {name_values(space, first.raw)}: "'
                f'{reason}"',
                "take the values out of the sets, or change what is fixed, until none is left",
            )


@rule("exercise-ugly", "exercises")
def check_exercise_ugly(course: Course) -> Iterator[Found]:
    """An answer cannot be written down well: rounded as asked, it is wrong or nothing.

    A student who rounds to the places asked for must still be marked right, so rounding may not
    cost more than the tolerance. An answer of 0 has no tolerance at all, and an answer that rounds
    to 0 tells nothing. Ask for more places, for another unit, or choose other sets.

    Failing:

        # file: kb/citations.yml
        bench: {certainty: practice}
        # file: kb/calculators/paste.yml
        name: Paste
        summary: How much starch a paste takes.
        inputs:
          water: {label: Water, unit: mL, default: 100 mL, at_most: 500 mL}
        outputs:
          starch: {label: Starch, formula: water * share, unit: g}
        constants:
          share: {label: Share, value: 0.1 g/mL, citation: bench}
        examples:
          - {name: One, inputs: {water: 100 mL}, outputs: {starch: 10 g}, citation: bench}
          - {name: Two, inputs: {water: 200 mL}, outputs: {starch: 20 g}, citation: bench}
        readings: [{words: Starch is a tenth of the water., symbols: s = w / 10}]
        limits: For thin card.
        # file: lessons/cards/pasting.yml
        teaches:
          - {skill: weigh-starch, text: Weigh starch for a paste}
        exercises:
          - id: how-much
            kind: calculate
            skill: weigh-starch
            title: How much starch
            ask: How much starch do you weigh for {water} of water?
            calculator: paste
            given: {water: [14 mL, 24 mL, 34 mL]}
            answer: starch
            unit: g
            places: 0
            tolerance: 2 %
            work: A tenth of {water} is {starch}.

    Passing with `places: 1` in place of `places: 0`.
    """
    for lesson, place, space in _walk_spaces(course):
        route: Route = ("exercises", place, "places")
        if isinstance(space, CalculateSpace):
            answers = [
                (solved.values[space.exercise.answer], solved.raw)
                for solved in space.solutions
                if not solved.refused
            ]
            ugly = [
                (value, raw)
                for value, raw in answers
                if _is_ugly(space, value, space.find_tolerance(value), zero=True)
            ]
        elif isinstance(space, ReadSpace):
            ugly = []
            for index, typed in enumerate(space.exercise.values):
                value, tolerance, _ = space.solve(index)
                if _is_ugly(space, value, tolerance, zero=False):
                    ugly.append((value, {"reading": typed}))
        else:
            continue
        if not ugly:
            continue
        value, raw = ugly[0]
        row = space.unit[1]
        magnitude = convert_from_base(value, list(row))
        rounded = round_half_up(magnitude, space.exercise.places)
        yield Found(
            lesson,
            route,
            f"with places: {space.exercise.places}, {_count(ugly, space)} cannot be marked "
            f"right, for instance {name_values(space, raw)}: {magnitude:.6g} {row[3]} becomes "
            f"{rounded:g}",
            "ask for more places or another unit, allow a larger tolerance, or change the sets",
        )


def _is_ugly(space: Any, value: float, tolerance: float, *, zero: bool) -> bool:
    row = list(space.unit[1])
    magnitude = convert_from_base(value, row)
    rounded = round_half_up(magnitude, space.exercise.places)
    if zero and rounded == 0:
        return True
    return bool(classify_answer(_round_as_asked(space, value), value, tolerance, [])[0] != "right")


@rule("slip-within-tolerance", "exercises")
def check_slip_within_tolerance(course: Course) -> Iterator[Found]:
    """A usual slip leads to an answer that would be marked right.

    The hint for a slip only helps where the slip is noticed. If its value lies within the tolerance
    of the right answer, for even one variant, a student who made the mistake is told that all is
    well. This is proven over every variant of the exercise, for the exact value and for the value
    rounded as asked.

    Failing:

        # file: kb/citations.yml
        bench: {certainty: practice}
        # file: kb/calculators/paste.yml
        name: Paste
        summary: How much starch a paste takes.
        inputs:
          water: {label: Water, unit: mL, default: 100 mL, at_most: 500 mL}
        outputs:
          starch: {label: Starch, formula: water * share, unit: g}
        constants:
          share: {label: Share, value: 0.1 g/mL, citation: bench}
        examples:
          - {name: One, inputs: {water: 100 mL}, outputs: {starch: 10 g}, citation: bench}
          - {name: Two, inputs: {water: 200 mL}, outputs: {starch: 20 g}, citation: bench}
        readings: [{words: Starch is a tenth of the water., symbols: s = w / 10}]
        limits: For thin card.
        # file: lessons/cards/pasting.yml
        teaches:
          - {skill: weigh-starch, text: Weigh starch for a paste}
        exercises:
          - id: how-much
            kind: calculate
            skill: weigh-starch
            title: How much starch
            ask: How much starch do you weigh for {water} of water?
            calculator: paste
            given: {water: [100 mL, 200 mL]}
            answer: starch
            unit: g
            tolerance: 10 %
            slips:
              - id: of-the-paste
                formula: starch / (1 + 0.1)
                hint: That is a tenth of water and starch together.
            work: A tenth of {water} is {starch}.

    Passing with `tolerance: 2 %` in place of `tolerance: 10 %`.
    """
    for lesson, place, space in _walk_spaces(course):
        found: dict[int, list[Mapping[str, str]]] = {}
        if isinstance(space, CalculateSpace):
            for solved in space.solutions:
                if not solved.refused:
                    answer = solved.values[space.exercise.answer]
                    tolerance = space.find_tolerance(answer)
                    for number in _find_hidden(space, answer, tolerance, solved.slips):
                        found.setdefault(number, []).append(solved.raw)
        elif isinstance(space, ReadSpace):
            for index, typed in enumerate(space.exercise.values):
                for number in _find_hidden(space, *space.solve(index)):
                    found.setdefault(number, []).append({"reading": typed})
        for number, raws in sorted(found.items()):
            slip = space.exercise.slips[number]
            yield Found(
                lesson,
                ("exercises", place, "slips", number, "formula"),
                f'the slip "{slip.id}" would be marked right in {_count(raws, space)}, for '
                f"instance {name_values(space, raws[0])}",
                "make the tolerance smaller, or choose sets where the slip makes a difference",
            )


def _find_hidden(
    space: Any, answer: float, tolerance: float, slips: tuple[float | None, ...]
) -> Iterator[int]:
    """Give the slips that would be marked right, exact or rounded as asked."""
    for number, value in enumerate(slips):
        if value is None:
            continue
        for written in (value, _round_as_asked(space, value)):
            if classify_answer(written, answer, tolerance, [])[0] == "right":
                yield number
                break


def _round_as_asked(space: Any, value: float) -> float:
    row = list(space.unit[1])
    rounded = round_half_up(convert_from_base(value, row), space.exercise.places)
    return float(rounded * row[1] + row[2])


def _count(found: list[Any], space: Any) -> str:
    return f"{len(found)} of {space.total} variants"
