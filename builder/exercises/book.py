"""All exercises of a course, and the variant of each for any student and seed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Protocol

from builder.calculators import CompiledCalculator
from builder.calculators.problems import Problem
from builder.exercises.calculate import CalculateSpace
from builder.exercises.chosen import ChooseSpace, OrderSpace
from builder.exercises.faults import FaultSpace
from builder.exercises.instrument_reading import ReadSpace
from builder.exercises.planned import PlanSpace
from builder.exercises.randomness import choose_index, make_code
from builder.exercises.records import ExerciseError, Space, Variant
from builder.hazards import AttachedCautions
from builder.library import Library
from builder.model import Fix, Lesson
from builder.model.exercises import (
    CalculateExercise,
    ChooseExercise,
    Exercise,
    FaultExercise,
    OrderExercise,
    PlanExercise,
    ReadExercise,
)
from builder.twin.diagnosis.shapes import IndexedNetwork

UNUSABLE = "calculator-unusable"
"""Marks the problem that a calculator is missing or broken, which other rules report."""
PRACTICE = "practice"
"""The seed of the exercises on the page; it never changes."""


class Sources(Protocol):
    """What exercises are made from; a course has it."""

    @property
    def library(self) -> Library:
        """Its entries."""

    @property
    def order(self) -> tuple[str, ...]:
        """Ids of its lessons in order."""

    @property
    def indexed_network(self) -> IndexedNetwork:
        """Its diagnosis."""

    def try_compile(self, name: str) -> tuple[CompiledCalculator | None, tuple[Problem, ...]]:
        """Compile a calculator of it."""

    def attach_cautions(self, entry: Lesson | Fix) -> AttachedCautions:
        """Give the cautions of a lesson or fix."""


@dataclass(frozen=True)
class ExerciseBook:
    """The exercises of a course, the variants of each counted once.

    Args:
        course: The course.
    """

    course: Sources
    _spaces: dict[tuple[str, str], Space | ExerciseError] = field(
        default_factory=dict, init=False, repr=False
    )

    def walk(self) -> Iterator[tuple[Lesson, Exercise]]:
        """Give every exercise with its lesson, lessons in the order of the course."""
        for name in self.course.order:
            lesson = self.course.library.lessons[name]
            for exercise in lesson.exercises:
                yield lesson, exercise

    def space(self, lesson: Lesson, exercise: Exercise) -> Space:
        """Give all variants of an exercise.

        Raises:
            ExerciseError: With every reason why none can be made.
        """
        key = (lesson.id, exercise.id)
        if key not in self._spaces:
            try:
                self._spaces[key] = self._make_space(exercise)
            except ExerciseError as error:
                self._spaces[key] = error
        found = self._spaces[key]
        if isinstance(found, ExerciseError):
            raise found
        return found

    def _make_space(self, exercise: Exercise) -> Space:
        match exercise:
            case CalculateExercise():
                return CalculateSpace(exercise, self._need(exercise.calculator))
            case ChooseExercise():
                return ChooseSpace(exercise)
            case OrderExercise():
                return OrderSpace(exercise)
            case ReadExercise(calculator=None):
                return ReadSpace(exercise)
            case ReadExercise(calculator=calculator):
                return ReadSpace(exercise, self._need(str(calculator)))
            case FaultExercise():
                return FaultSpace(exercise, self.course.library, self.course.indexed_network)
            case PlanExercise():
                lessons = self.course.library.lessons
                needs = {
                    name: tuple(each for each in lesson.prerequisites if each in lessons)
                    for name, lesson in lessons.items()
                }
                titles = {name: lesson.title for name, lesson in lessons.items()}
                return PlanSpace(exercise, self.course.order, needs, titles)

    def _need(self, calculator: str) -> CompiledCalculator:
        compiled, _ = self.course.try_compile(calculator)
        if compiled is None:
            # The reference or the calculator itself is reported elsewhere.
            message = f'the calculator "{calculator}" cannot be used'
            raise ExerciseError((Problem(("calculator",), UNUSABLE, message),))
        return compiled

    def list_usable(self, lesson: Lesson) -> tuple[Exercise, ...]:
        """List the exercises of a lesson of which variants can be made."""
        usable = []
        for exercise in lesson.exercises:
            try:
                self.space(lesson, exercise)
            except ExerciseError:
                continue
            usable.append(exercise)
        return tuple(usable)

    def draw(self, lesson: Lesson, exercise: Exercise, seed: str, student: int) -> Variant:
        """Draw the variant of an exercise for a student.

        Args:
            lesson: The lesson.
            exercise: One of its exercises.
            seed: The teacher's seed; the same one always gives the same variants.
            student: 0 for the first.

        Raises:
            ExerciseError: If no variants can be made of it.
        """
        index = self.choose(lesson, exercise, seed, student)
        return self.make(lesson, exercise, seed, index)

    def choose(self, lesson: Lesson, exercise: Exercise, seed: str, student: int) -> int:
        """Choose the index of a student's variant; see `randomness.choose_index`."""
        total = self.space(lesson, exercise).total
        return choose_index(seed, lesson.id, exercise.id, total, student)

    def make(self, lesson: Lesson, exercise: Exercise, seed: str, index: int) -> Variant:
        """Make the variant at an index of an exercise's space."""
        return Variant(
            lesson=lesson.id,
            exercise=exercise.id,
            number=index,
            code=make_code(seed, lesson.id, exercise.id, str(index)),
            kind=exercise.kind,
            skill=exercise.skill,
            title=exercise.title,
            body=self.space(lesson, exercise).make(index),
            cautions=self.find_cautions(lesson) if exercise.hands_on else (),
        )

    def find_cautions(self, lesson: Lesson) -> tuple[str, ...]:
        """Give the cautions to print where a task of a lesson is done at the bench."""
        return self.course.attach_cautions(lesson).overall
