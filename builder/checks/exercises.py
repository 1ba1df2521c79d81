"""Rules about exercises: every skill is practised, and every exercise can be drawn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route, Severity
from builder.exercises import ExerciseError
from builder.exercises.calculate import CalculateSpace
from builder.exercises.records import UNUSABLE
from builder.model import Lesson


@rule("skill-without-exercise", "exercises", Severity.WARNING)
def check_skill_without_exercise(course: Course) -> Iterator[Found]:
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
    library = course.library
    practised = {
        exercise.skill for lesson in library.lessons.values() for exercise in lesson.exercises
    }
    for lesson in library.lessons.values():
        for place, outcome in enumerate(lesson.teaches):
            if outcome.skill not in practised:
                yield Found(
                    lesson,
                    ("teaches", place, "skill"),
                    f'no exercise practises the skill "{outcome.skill}"',
                    f"add one to the exercises of this lesson, with skill: {outcome.skill}",
                )


@rule("exercise-invalid", "exercises")
def check_exercise_invalid(course: Course) -> Iterator[Found]:
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

    Passing with `values: [10 mL, 12 mL, 15 mL, 18 mL]` in place of `values: [10 mL, 12 mL, 15
    mL, 24 mL]`.
    """
    library, book = course.library, course.exercises
    for lesson in library.lessons.values():
        seen: dict[str, int] = {}
        for place, exercise in enumerate(lesson.exercises):
            route: Route = ("exercises", place)
            if exercise.id in seen:
                yield Found(
                    lesson,
                    (*route, "id"),
                    f'a second exercise of this lesson is called "{exercise.id}"',
                    "give it another id",
                    related=((lesson, ("exercises", seen[exercise.id], "id"), "the first one"),),
                )
                continue
            seen[exercise.id] = place
            if not course.is_taught_by(exercise.skill, lesson):
                listed = ", ".join(sorted(_find_skills(course, lesson)))
                yield Found(
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
                        yield Found(lesson, (*route, *problem.route), problem.message, problem.hint)
                continue
            yield from _check_slips(course, lesson, route, space)


def _find_skills(course: Course, lesson: Lesson) -> set[str]:
    """Give every skill taught by a lesson or by one that comes before it."""
    ancestry = course.ancestry
    node = ("lesson", lesson.id)
    return {
        outcome.skill
        for other in course.library.lessons.values()
        if other.id == lesson.id or ancestry.comes_before(("lesson", other.id), node)
        for outcome in other.teaches
    }


def _check_slips(course: Course, lesson: Lesson, route: Route, space: Any) -> Iterator[Found]:
    """Give slips whose formula has no value somewhere."""
    if not isinstance(space, CalculateSpace):
        return
    for number, slip in enumerate(space.exercise.slips):
        for solved in space.solutions:
            if not solved.refused and solved.slips[number] is None:
                yield Found(
                    lesson,
                    (*route, "slips", number, "formula"),
                    f'the slip "{slip.id}" has no value {name_values(space, solved.raw)}',
                    "change its formula so that it holds for every variant",
                )
                break


def name_values(space: Any, raw: Mapping[str, str]) -> str:
    """Name the values of a variant, for a message."""
    names = getattr(space.exercise, "given", None) or raw
    return "with " + ", ".join(f"{name} {raw[name]}" for name in names)
