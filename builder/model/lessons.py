"""Entries that teach: the course, its lessons and its planned classes."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from builder.model.common import (
    Amount,
    Duration,
    Entry,
    Hazard,
    Id,
    Level,
    Line,
    Part,
    Picture,
    Ref,
    Temperature,
    TemperatureWindow,
    Text,
)
from builder.model.exercises import Exercise
from builder.units import parse_quantity


class Thing(Part):
    """What the made thing is called, for instance one card, many cards."""

    one: Line = Field(description="The word for one, for instance card.")
    many: Line = Field(description="The word for many, for instance cards.")


class Track(Part):
    """A branch of the course, for instance the one that starts from a ready-made base."""

    id: Id
    name: Line
    summary: Text


class Resource(Part):
    """Equipment that the class shares, for instance one microwave oven."""

    id: Id
    name: Line
    count: int = Field(ge=1, description="How many there are in the room.")


class Drill(Part):
    """What must be in place before anything with a hazard is handled."""

    hazard: Hazard
    level: Level = Field(description="Earliest level of a lesson that may use such a material.")
    lesson: Ref("lesson")  # type: ignore[valid-type]
    tools: tuple[Ref("tool"), ...] = Field(min_length=1)  # type: ignore[valid-type]
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        min_length=1, description="Cautions that must stand on the page, first aid among them."
    )


class Door(Part):
    """One of the three large cards of the home page."""

    title: Line
    text: Line


class Doors(Part):
    """The three doors: for a learner, for someone with a flawed thing, for the teacher."""

    learn: Door
    fix: Door
    teach: Door


class CourseSettings(Entry):
    """The course as a whole: its words, tracks, room and shared equipment."""

    kind: ClassVar[str] = "course"
    name: Line
    sentence: Line = Field(description="What the course is, in one sentence.")
    place: Line | None = None
    language: Annotated[str, StringConstraints(pattern=r"^[a-z]{2,3}(-[A-Za-z0-9]+)*$")] = "en"
    thing: Thing
    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")] = Field(
        default="EUR", description="ISO 4217 code in which prices are written."
    )
    money_in_work: Duration = Field(
        default_factory=lambda: parse_quantity("4 min"),
        description="Time of work that weighs as much as one unit of the currency, where fixes are "
        "compared by what they cost; a judgement, 4 min where left out.",
    )
    doors: Doors
    about: Text | None = None
    safety: Text | None = Field(
        default=None, description="The opening of the safety page: what holds in every lesson."
    )
    local_rules: Text = Field(
        description="What readers must check with their own authorities, supplier or doctor."
    )
    tracks: tuple[Track, ...] = Field(min_length=1)
    class_size: int = Field(ge=1, le=500)
    room: Temperature
    resources: tuple[Resource, ...] = ()
    drills: tuple[Drill, ...] = ()


class Outcome(Part):
    """A skill that a lesson teaches."""

    skill: Id
    text: Line = Field(description="What a student can do afterwards, beginning with a verb.")


class Scale(StrEnum):
    """How an amount grows with the number of things made."""

    PIECE = "piece"
    BATCH = "batch"


class Computed(Part):
    """Which calculator an amount comes from, and what was filled in."""

    calculator: Ref("calculator")  # type: ignore[valid-type]
    inputs: dict[str, str] = Field(
        default_factory=dict, description="Input name to value with unit; the rest take defaults."
    )
    from_materials: dict[str, str | dict[str, str]] = Field(
        default_factory=dict,
        description="Input name to the material of this lesson whose amount it takes; for rows, "
        "the name of each row to its material.",
    )
    output: str = Field(description="The answer that the amount must equal.")


class LessonMaterial(Part):
    """A material a lesson needs, with the amount for one thing or for the whole batch."""

    material: Ref("material")  # type: ignore[valid-type]
    amount: Amount
    per: Scale = Field(
        default=Scale.PIECE, description="piece: grows with the number made; batch: does not."
    )
    computed: Computed | None = Field(
        default=None, description="The calculation it comes from; done again at every check."
    )
    note: Line | None = None


class LessonTool(Part):
    """A tool a lesson needs."""

    tool: Ref("tool")  # type: ignore[valid-type]
    count: int = Field(default=1, ge=1)
    per: Literal["student", "class"] = "student"
    note: Line | None = None


class Verb(StrEnum):
    """What a step does to a vessel or surface; the safety rules follow these."""

    ADD = "add"
    HEAT = "heat"
    WET = "wet"
    POUR = "pour"
    AIR = "air"
    COOL = "cool"
    STIR = "stir"


class Action(Part):
    """One thing a step does, stated so that the builder can follow it.

    add: a material into a vessel. heat: a vessel with a tool, up to a temperature. wet: a surface
    with a material, as with a sprayer. pour: from a vessel into another. air: leave a vessel or
    surface open in a ventilated place for a time, so that vapour clears. cool: let a vessel stand
    to a temperature. stir: mix what is in a vessel.
    """

    do: Verb
    vessel: Line = Field(description="The vessel or surface, named the same through the lesson.")
    into: Line | None = Field(default=None, description="pour only: where it goes.")
    material: Ref("material") | None = None  # type: ignore[valid-type]
    amount: Amount | None = Field(default=None, description="For one thing, as in the materials.")
    tool: Ref("tool") | None = None  # type: ignore[valid-type]
    to: Temperature | None = Field(
        default=None, description="heat: the highest the contents reach; cool: the lowest."
    )
    time: Duration | None = None


class Step(Part):
    """One step at the bench."""

    title: Line
    text: Text
    see: Text | None = Field(default=None, description="What to see when it is right.")
    why: Text | None = Field(default=None, description="The reason, folded under the step.")
    picture: Picture | None = None
    temperature: TemperatureWindow | None = Field(
        default=None, description="The window in which the contents are while this step is done."
    )
    time: Duration = Field(description="Time at the bench.")
    wait: Duration | None = Field(default=None, description="Time in which nobody need stand by.")
    actions: tuple[Action, ...] = ()
    cautions: tuple[Ref("caution"), ...] = ()  # type: ignore[valid-type]


class Risk(Part):
    """A defect that can come of this lesson, and what to watch for."""

    defect: Ref("defect")  # type: ignore[valid-type]
    watch: Line = Field(description="What to watch, in one line.")


class CalculatorUse(Part):
    """A calculator shown in a lesson, with the lesson's own numbers filled in."""

    calculator: Ref("calculator")  # type: ignore[valid-type]
    text: Text | None = None
    inputs: dict[str, str] = Field(
        default_factory=dict, description="Input name to value with unit, for instance 113 g."
    )


class Lesson(Entry):
    """One lesson: what it needs and teaches, and the steps at the bench."""

    kind: ClassVar[str] = "lesson"
    title: Line
    level: Level
    track: Id
    summary: Line = Field(description="What is made or learned, in one sentence.")
    picture: Picture
    prerequisites: tuple[Ref("lesson"), ...] = ()  # type: ignore[valid-type]
    assumes: tuple[Id, ...] = Field(
        default=(), description="Skills a student must bring; an earlier lesson teaches each."
    )
    teaches: tuple[Outcome, ...] = Field(min_length=1)
    makes: int = Field(default=1, ge=0, description="How many things the amounts below make.")
    intro: Text
    materials: tuple[LessonMaterial, ...] = ()
    tools: tuple[LessonTool, ...] = ()
    cautions: tuple[Ref("caution"), ...] = ()  # type: ignore[valid-type]
    calculators: tuple[CalculatorUse, ...] = ()
    steps: tuple[Step, ...] = Field(min_length=1)
    risks: tuple[Risk, ...] = ()
    exercises: tuple[Exercise, ...] = ()
    after: Text | None = Field(default=None, description="What to do with it, and where to go on.")
    citations: tuple[Ref("citation"), ...] = ()  # type: ignore[valid-type]


class Session(Part):
    """One evening of a class."""

    date: date
    start: Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")] = Field(
        description='Time of day in quotes, for instance "18:30".'
    )
    length: Duration
    lessons: tuple[Ref("lesson"), ...] = Field(min_length=1)  # type: ignore[valid-type]
    notes: Text | None = Field(default=None, description="What to remember for this session.")


class PlannedClass(Entry):
    """One planned class: who, when, and which lessons."""

    kind: ClassVar[str] = "class"
    name: Line
    summary: Text
    students: int = Field(ge=1, le=500)
    sessions: tuple[Session, ...] = Field(min_length=1)
    notes: Text | None = None
