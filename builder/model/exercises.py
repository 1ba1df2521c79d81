"""Exercises of a lesson: what is asked, from which sets its variants are drawn, and usual slips."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from builder.model.common import Id, Line, LineWithQuantities, Part, Ref, Share, Text
from builder.words import Words

UnitText = Annotated[str, StringConstraints(min_length=1, max_length=40)]


class Answered(StrEnum):
    """What a student gives as an answer; pages, papers and exports go by it."""

    NUMBER = "number"
    CHOICE = "choice"
    ORDER = "order"


class ExerciseBase(Part):
    """What every exercise has."""

    answered: ClassVar[Answered]
    worked_out: ClassVar[bool] = False
    """Whether papers leave room to work the answer out."""

    id: Id = Field(description="Unique within the lesson; part of the check code on paper.")
    skill: Id = Field(
        description="The skill it practises, taught by this lesson or an earlier one."
    )
    title: Line = Field(description="What it is about, in a few words.")
    ask: Text = Field(description="The task. `{name}` stands for a value drawn for the variant.")
    hint: Text | None = Field(default=None, description="Shown when the student asks for one.")
    hands_on: bool = Field(
        default=False, description="true where it is done at the bench: cautions are then printed."
    )

    def list_notes(self, words: Words) -> Iterator[tuple[str, str]]:
        """Give what the answer key says of every variant at once: a heading and a text."""
        yield from ()


class Slip(Part):
    """A usual mistake: the wrong answer it leads to, and what to say to the student."""

    id: Id = Field(description="A name for the mistake, for instance took-the-diameter.")
    formula: str = Field(
        description="The wrong answer from the inputs and outputs of the calculator, in base units."
    )
    hint: Text = Field(
        description="What to tell the student who made it; it does not give the answer away."
    )


class CalculateExercise(ExerciseBase):
    """A number worked out through a calculator of the course."""

    answered: ClassVar = Answered.NUMBER
    worked_out: ClassVar = True
    kind: Literal["calculate"] = Field(
        description="calculate: a number worked out through a calculator."
    )
    calculator: Ref("calculator") = Field(  # type: ignore[valid-type]
        description="Id of the calculator that gives the answer, for instance thin-paste."
    )
    given: dict[str, tuple[str, ...]] = Field(
        min_length=1,
        description="Calculator input to the set its value is drawn from, each with its unit.",
    )
    fixed: dict[str, str] = Field(
        default_factory=dict, description="Calculator inputs that are the same in every variant."
    )
    answer: str = Field(description="The calculator's output that is asked for.")
    unit: UnitText = Field(description="Unit in which the answer is asked for and shown.")
    places: int = Field(
        default=1, ge=0, le=4, description="Decimal places of a sensible answer, for instance 1."
    )
    tolerance: Share = Field(
        description="How far off an answer may be, as a share of it, for instance 2 %."
    )
    slips: tuple[Slip, ...] = Field(
        default=(),
        description="Usual mistakes, each with the wrong answer it leads to and what to say.",
    )
    work: Text = Field(
        description="The way to the answer; `{name}` stands for inputs and outputs of the variant."
    )


class Option(Part):
    """An answer to choose, right or wrong, and why."""

    text: Text = Field(description="The answer as the student reads it.")
    right: bool = Field(default=False, description="true where it is a right answer.")
    why: Text = Field(description="Why it is right or wrong; shown when it was chosen.")


class ChooseExercise(ExerciseBase):
    """One right answer among several."""

    answered: ClassVar = Answered.CHOICE
    kind: Literal["choose"] = Field(description="choose: one right answer among several.")
    options: tuple[Option, ...] = Field(
        min_length=3,
        description="The answers to choose from, one or more of them right; at least three.",
    )
    show: int = Field(
        default=4, ge=3, le=6, description="How many options one variant shows, for instance 4."
    )

    def list_notes(self, words: Words) -> Iterator[tuple[str, str]]:
        """Say of each wrong option why it is wrong."""
        yield from ((option.text, option.why) for option in self.options if not option.right)


class OrderExercise(ExerciseBase):
    """Steps to be put in order."""

    answered: ClassVar = Answered.ORDER
    kind: Literal["order"] = Field(description="order: steps to be put in order.")
    items: tuple[LineWithQuantities, ...] = Field(
        min_length=4, max_length=12, description="In the right order; variants shuffle them."
    )
    show: int = Field(
        default=6, ge=4, le=8, description="How many of them one variant shows, for instance 6."
    )
    why: Text = Field(description="Why this is the order; shown with the solution.")

    def list_notes(self, words: Words) -> Iterator[tuple[str, str]]:
        """Give the right order, and why."""
        yield words.text("task.right-order"), "; ".join(self.items)
        yield words.text("task.why"), self.why


class ReadExercise(ExerciseBase):
    """A reading taken from a drawn instrument or from a calculator's plot."""

    answered: ClassVar = Answered.NUMBER
    kind: Literal["read"] = Field(description="read: a reading taken from a drawn instrument.")
    instrument: Literal["thermometer", "scale", "cylinder", "plot"] = Field(
        description="thermometer, scale (a round dial), cylinder (for measuring) or plot."
    )
    values: tuple[str, ...] = Field(
        min_length=4,
        description="Readings to draw from, each with its unit; for a plot, the place on the axis.",
    )
    low: str = Field(description="Lower end of the instrument's scale, with its unit.")
    high: str = Field(description="Upper end of the instrument's scale, with its unit.")
    division: str = Field(description="What one small division stands for, with its unit.")
    unit: UnitText = Field(description="Unit in which the answer is asked for.")
    places: int = Field(
        default=0, ge=0, le=3, description="Decimal places of a sensible answer, for instance 1."
    )
    calculator: Ref("calculator") | None = Field(  # type: ignore[valid-type]
        default=None, description="plot only: the calculator whose plot is read."
    )
    fixed: dict[str, str] = Field(default_factory=dict, description="plot only: its inputs.")
    slips: tuple[Slip, ...] = Field(
        default=(), description="As in calculate; `reading` is the value shown."
    )
    work: Text = Field(
        description="The way to the answer; {reading}, {low}, {high} and {division} stand for "
        "the values."
    )


class FaultExercise(ExerciseBase):
    """A flawed thing from the knowledge base: drawing and history; find its defect or cause."""

    answered: ClassVar = Answered.CHOICE
    kind: Literal["fault"] = Field(
        description="fault: a flawed thing and its history; find the defect or the cause."
    )
    defects: tuple[Ref("defect"), ...] = Field(  # type: ignore[valid-type]
        min_length=2, description="Ids of the defects to draw from; at least two."
    )
    find: Literal["defect", "cause"] = Field(
        description="defect or cause: what the student is to find."
    )


class PlanExercise(ExerciseBase):
    """Which lesson can come next, given those already taken."""

    answered: ClassVar = Answered.CHOICE
    kind: Literal["plan"] = Field(description="plan: which lesson can come next.")
    lessons: tuple[Ref("lesson"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Lessons to draw from; left out: all of the course."
    )


Exercise = Annotated[
    CalculateExercise
    | ChooseExercise
    | OrderExercise
    | ReadExercise
    | FaultExercise
    | PlanExercise,
    Field(discriminator="kind"),
]

__all__ = [
    "Answered",
    "CalculateExercise",
    "ChooseExercise",
    "Exercise",
    "ExerciseBase",
    "FaultExercise",
    "OrderExercise",
    "PlanExercise",
    "ReadExercise",
    "Slip",
]
