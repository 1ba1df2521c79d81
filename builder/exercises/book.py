"""All exercises of a course, and the variant of each for any student and seed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from builder.exercises.calculate import CalculateSpace
from builder.exercises.chosen import ChooseSpace, OrderSpace
from builder.exercises.faults import FaultSpace
from builder.exercises.instrument_reading import ReadSpace
from builder.exercises.planned import PlanSpace
from builder.exercises.randomness import choose_index, make_code
from builder.exercises.records import ExerciseError, Sources, Space, Variant
from builder.model import Lesson
from builder.model.exercises import Exercise

PRACTICE = "practice"
"""The seed of the exercises on the page; it never changes."""


SPACES: Mapping[str, type[Space]] = {
    "calculate": CalculateSpace,
    "choose": ChooseSpace,
    "order": OrderSpace,
    "read": ReadSpace,
    "fault": FaultSpace,
    "plan": PlanSpace,
}
"""Kind of exercise to the space of its variants."""


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
                self._spaces[key] = SPACES[exercise.kind].open(exercise, self.course)
            except ExerciseError as error:
                self._spaces[key] = error
        found = self._spaces[key]
        if isinstance(found, ExerciseError):
            raise found
        return found

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
            answered=exercise.answered,
            skill=exercise.skill,
            title=exercise.title,
            body=self.space(lesson, exercise).make(index),
            cautions=self.find_cautions(lesson) if exercise.hands_on else (),
        )

    def find_cautions(self, lesson: Lesson) -> tuple[str, ...]:
        """Give the cautions to print where a task of a lesson is done at the bench."""
        return self.course.attach_cautions(lesson).overall
