"""Rules about exercises: every skill is practised, every variant is sensible, safe and markable."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from builder.checks.rule import Context, make_rule
from builder.diagnostics import Diagnostic, Route, Severity
from builder.exercises import ExerciseError
from builder.exercises.book import UNUSABLE
from builder.exercises.calculate import CalculateSpace
from builder.exercises.marking import classify_answer
from builder.exercises.reading import ReadSpace
from builder.figures import convert_from_base, round_half_up
from builder.model import Lesson

MOST_SHOWN = 3


def _walk_spaces(context: Context) -> Iterator[tuple[Lesson, int, Any]]:
    """Give the space of each usable exercise, with its lesson and place."""
    book = context.exercises
    for lesson in context.library.lessons.values():
        for place, exercise in enumerate(lesson.exercises):
            try:
                yield lesson, place, book.space(lesson, exercise)
            except ExerciseError:
                continue


def check_skill_without_exercise(context: Context) -> Iterator[Diagnostic]:
    """A lesson teaches a skill that no exercise practises.

    What is never practised is not learned, and a checkpoint sheet at the end of the level cannot
    ask for it. An exercise of any lesson counts. A course being written may live with this
    warning; the sheets then leave the skill out and the answer key says so.

    Failing:

        # file: lessons/cards/folding.yml
        teaches:
          - {skill: fold-straight, text: Fold a card so that its edges meet}
        exercises: []

    Passing:

        # file: lessons/cards/folding.yml
        teaches:
          - {skill: fold-straight, text: Fold a card so that its edges meet}
        exercises:
          - id: first-fold
            kind: choose
            skill: fold-straight
            title: The first fold
            ask: What do you do before you fold?
            show: 3
            options:
              - {text: Score the line., right: true, why: Card folds where it is scored.}
              - {text: Wet the card., why: Wet card tears.}
              - {text: Trim the edges., why: They are trimmed when they do not meet.}
    """
    library = context.library
    practised = {
        exercise.skill for lesson in library.lessons.values() for exercise in lesson.exercises
    }
    for lesson in library.lessons.values():
        for place, outcome in enumerate(lesson.teaches):
            if outcome.skill not in practised:
                yield library.report(
                    "skill-without-exercise",
                    lesson,
                    ("teaches", place, "skill"),
                    f'no exercise practises the skill "{outcome.skill}"',
                    f"add one to the exercises of this lesson, with skill: {outcome.skill}",
                    severity=Severity.WARNING,
                )


def check_exercise_invalid(context: Context) -> Iterator[Diagnostic]:
    """An exercise cannot be drawn: no variant of it can be made, or not all of them.

    A sheet must never fail while it is printed, so everything is tried beforehand: the inputs and
    outputs an exercise names belong to its calculator, the unit asked for measures the answer, sets
    are neither empty nor larger than can be proven (400 variants), braces hold a value of the
    exercise or a quantity, readings lie on the instrument's scale, a choice has a right option and
    enough wrong ones, a plan leaves something to choose, and at least one history of a flawed thing
    is told apart by the diagnosis itself. The skill must be taught by the lesson or by one before
    it.

    Failing:

        # file: lessons/cards/folding.yml
        teaches:
          - {skill: fold-straight, text: Fold a card so that its edges meet}
        exercises:
          - id: read-ruler
            kind: read
            skill: fold-straight
            title: Read the cylinder
            ask: How much water is it?
            instrument: cylinder
            values: [10 mL, 12 mL, 15 mL, 24 mL]
            low: 0 mL
            high: 20 mL
            division: 1 mL
            unit: mL
            work: The lowest point of the surface stands at {reading}.

    Passing:

        # file: lessons/cards/folding.yml
        teaches:
          - {skill: fold-straight, text: Fold a card so that its edges meet}
        exercises:
          - id: read-ruler
            kind: read
            skill: fold-straight
            title: Read the cylinder
            ask: How much water is it?
            instrument: cylinder
            values: [10 mL, 12 mL, 15 mL, 18 mL]
            low: 0 mL
            high: 20 mL
            division: 1 mL
            unit: mL
            work: The lowest point of the surface stands at {reading}.
    """
    library, book = context.library, context.exercises
    rule = "exercise-invalid"
    for lesson in library.lessons.values():
        seen: dict[str, int] = {}
        for place, exercise in enumerate(lesson.exercises):
            route: Route = ("exercises", place)
            if exercise.id in seen:
                yield library.report(
                    rule,
                    lesson,
                    (*route, "id"),
                    f'a second exercise of this lesson is called "{exercise.id}"',
                    "give it another id",
                    related=((lesson, ("exercises", seen[exercise.id], "id"), "the first one"),),
                )
                continue
            seen[exercise.id] = place
            if not context.is_taught_by(exercise.skill, lesson):
                listed = ", ".join(sorted(_find_skills(context, lesson)))
                yield library.report(
                    rule,
                    lesson,
                    (*route, "skill"),
                    f'neither this lesson nor one before it teaches the skill "{exercise.skill}"',
                    f"a skill taught by then is one of {listed}",
                )
            try:
                space = book.space(lesson, exercise)
            except ExerciseError as error:
                for problem in error.problems:
                    # A calculator that is missing or broken is reported where it stands.
                    if problem.rule != UNUSABLE:
                        yield library.report(
                            rule, lesson, (*route, *problem.route), problem.message, problem.hint
                        )
                continue
            yield from _check_slips(context, lesson, route, space)


def _find_skills(context: Context, lesson: Lesson) -> set[str]:
    """Give every skill taught by a lesson or by one that comes before it."""
    ancestry = context.ancestry
    node = ("lesson", lesson.id)
    return {
        outcome.skill
        for other in context.library.lessons.values()
        if other.id == lesson.id or ancestry.comes_before(("lesson", other.id), node)
        for outcome in other.teaches
    }


def _check_slips(
    context: Context, lesson: Lesson, route: Route, space: Any
) -> Iterator[Diagnostic]:
    """Give slips whose formula has no value somewhere."""
    if not isinstance(space, CalculateSpace):
        return
    for number, slip in enumerate(space.exercise.slips):
        for solved in space.solutions:
            if not solved.refused and solved.slips[number] is None:
                yield context.library.report(
                    "exercise-invalid",
                    lesson,
                    (*route, "slips", number, "formula"),
                    f'the slip "{slip.id}" has no value {_name_values(space, solved.raw)}',
                    "change its formula so that it holds for every variant",
                )
                break


def check_exercise_refused(context: Context) -> Iterator[Diagnostic]:
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

    Passing:

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
            given: {water: [100 mL, 200 mL, 300 mL]}
            answer: starch
            unit: g
            tolerance: 2 %
            work: A tenth of {water} is {starch}.
    """
    for lesson, place, space in _walk_spaces(context):
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
            yield context.library.report(
                "exercise-refused",
                lesson,
                ("exercises", place, "given"),
                f'{what} {_count(found, space)}, for instance {_name_values(space, first.raw)}: "'
                f'{reason}"',
                "take the values out of the sets, or change what is fixed, until none is left",
            )


def check_exercise_ugly(context: Context) -> Iterator[Diagnostic]:
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

    Passing:

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
            places: 1
            tolerance: 2 %
            work: A tenth of {water} is {starch}.
    """
    for lesson, place, space in _walk_spaces(context):
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
        yield context.library.report(
            "exercise-ugly",
            lesson,
            route,
            f"with places: {space.exercise.places}, {_count(ugly, space)} cannot be marked "
            f"right, for instance {_name_values(space, raw)}: {magnitude:.6g} {row[3]} becomes "
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


def check_slip_within_tolerance(context: Context) -> Iterator[Diagnostic]:
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

    Passing:

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
            tolerance: 2 %
            slips:
              - id: of-the-paste
                formula: starch / (1 + 0.1)
                hint: That is a tenth of water and starch together.
            work: A tenth of {water} is {starch}.
    """
    for lesson, place, space in _walk_spaces(context):
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
            yield context.library.report(
                "slip-within-tolerance",
                lesson,
                ("exercises", place, "slips", number, "formula"),
                f'the slip "{slip.id}" would be marked right in {_count(raws, space)}, for '
                f"instance {_name_values(space, raws[0])}",
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


def _name_values(space: Any, raw: Mapping[str, str]) -> str:
    names = getattr(space.exercise, "given", None) or raw
    return "with " + ", ".join(f"{name} {raw[name]}" for name in names)


RULES = (
    make_rule(
        "skill-without-exercise", Severity.WARNING, "exercises", check_skill_without_exercise
    ),
    make_rule("exercise-invalid", Severity.ERROR, "exercises", check_exercise_invalid),
    make_rule("exercise-refused", Severity.ERROR, "exercises", check_exercise_refused),
    make_rule("exercise-ugly", Severity.ERROR, "exercises", check_exercise_ugly),
    make_rule("slip-within-tolerance", Severity.ERROR, "exercises", check_slip_within_tolerance),
)
