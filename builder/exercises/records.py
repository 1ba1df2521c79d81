"""What an exercise becomes for one student, and the space of all it can become."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol, Self

from builder.calculators import CompiledCalculator
from builder.calculators.problems import Problem
from builder.hazards import AttachedCautions
from builder.library import Library
from builder.model import Fix, Lesson
from builder.model.exercises import Answered
from builder.twin.diagnosis.shapes import IndexedNetwork

MOST_VARIANTS = 400
"""Most combinations of a calculate exercise: all of them are worked out at every check."""


class ExerciseError(Exception):
    """An exercise of which no variants can be made; every reason at once, each with its place."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(problem.message for problem in problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing that belongs to the task.

    Args:
        svg: Its text.
        description: What is seen, for readers who do not see it; never the answer itself.
        width_mm: How wide it is printed.
    """

    svg: str
    description: str
    width_mm: float


@dataclass(frozen=True, slots=True)
class SlipAnswer:
    """A wrong answer that a usual slip leads to.

    Args:
        id: Id of the slip.
        value: In coherent base units.
        tolerance: How far off an answer may be and still come from this slip, in the same units.
        text: As the student would write it.
        hint: What to say; Markdown.
    """

    id: str
    value: float
    tolerance: float
    text: str
    hint: str


@dataclass(frozen=True, slots=True)
class NumberAnswer:
    """The right answer of a number exercise, and how near is near enough.

    Args:
        value: In coherent base units, never rounded.
        tolerance: How far off an answer may be, in the same units.
        text: Rounded to the asked places, with its unit.
        magnitude: The value in the asked unit.
        unit: Key of the asked unit, as number text knows it.
        symbol: The unit as written.
        places: Decimal places asked for.
        field: How a typed answer is read; see `calculators.runtime.measures.read_measure`.
        units: Units beside those that everyone knows, for instance the currency.
        slips: Usual wrong answers.
        share: The tolerance as a share of the answer, where it was written so.
    """

    value: float
    tolerance: float
    text: str
    magnitude: float
    unit: str
    symbol: str
    places: int
    field: Mapping[str, Any]
    units: Mapping[str, Any]
    slips: tuple[SlipAnswer, ...] = ()
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Body:
    """What one variant says, before it is given to a student.

    Args:
        ask: The task; Markdown, values filled in.
        work: The way to the answer; Markdown.
        given: Names and texts of the values that vary, for the key.
        hint: A nudge, or None.
        drawing: A drawing to look at, or None.
        answer: The number asked for, or None.
        options: What to choose from or to put in order; Markdown.
        notes: For each option why it is right or wrong; Markdown.
        right: Places of the right options, or of all options in their right order.
    """

    ask: str
    work: str
    given: tuple[tuple[str, str], ...] = ()
    hint: str | None = None
    drawing: Drawing | None = None
    answer: NumberAnswer | None = None
    options: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    right: tuple[int, ...] = ()


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


class Space(ABC):
    """All variants of one exercise, numbered from 0.

    Raises:
        ExerciseError: With everything that keeps variants from being made.
    """

    def __post_init__(self) -> None:
        problems = tuple(self.find_problems())
        if problems:
            raise ExerciseError(problems)

    @classmethod
    @abstractmethod
    def open(cls, exercise: Any, course: Sources) -> Self:
        """Make the space of an exercise of a course.

        Raises:
            ExerciseError: With everything that keeps variants from being made.
        """

    @property
    @abstractmethod
    def total(self) -> int:
        """How many variants there are."""

    @abstractmethod
    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""

    @abstractmethod
    def make(self, index: int) -> Body:
        """Make the variant at an index."""


UNUSABLE = "calculator-unusable"
"""Marks the problem that a calculator is missing or broken, which other rules report."""


def need_calculator(course: Sources, name: str) -> CompiledCalculator:
    """Give a calculator that an exercise cannot do without.

    Raises:
        ExerciseError: If the course has none of this name, or it cannot be compiled.
    """
    compiled, _ = course.try_compile(name)
    if compiled is None:
        # The reference or the calculator itself is reported elsewhere.
        message = f'the calculator "{name}" cannot be used'
        raise ExerciseError((Problem(("calculator",), UNUSABLE, message),))
    return compiled


@dataclass(frozen=True, slots=True)
class Variant:
    """One exercise as one student gets it.

    Args:
        lesson: Id of the lesson.
        exercise: Id of the exercise.
        number: Index of the variant within the exercise's space.
        code: Check code; made from lesson, exercise, number and seed.
        kind: calculate, choose, order, read, fault or plan.
        answered: What is given as an answer.
        skill: The skill it practises.
        title: Its title.
        body: What it says.
        cautions: Ids of the cautions to print with it: those of the lesson, where it is hands-on.
    """

    lesson: str
    exercise: str
    number: int
    code: str
    kind: str
    answered: Answered
    skill: str
    title: str
    body: Body
    cautions: tuple[str, ...] = ()

    @property
    def answer_text(self) -> str:
        """The right answer in a few characters: `2.3 g`, `B`, `C A D B`."""
        if self.body.answer is not None:
            return self.body.answer.text
        return " ".join(letter_of(place) for place in self.body.right)


def letter_of(place: int) -> str:
    """Give the letter of an option: 0 is A."""
    return "ABCDEFGHIJKL"[place]
