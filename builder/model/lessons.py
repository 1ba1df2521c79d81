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
    TimeZone,
)
from builder.model.exercises import Exercise
from builder.units import parse_quantity


class Thing(Part):
    """What the made thing is called, for instance one card, many cards."""

    one: Line = Field(description="The word for one, for instance card.")
    many: Line = Field(description="The word for many, for instance cards.")


class Track(Part):
    """A branch of the course, for instance the one that starts from a ready-made base."""

    id: Id = Field(
        description="The name that lessons and defects give in track, for instance cards."
    )
    name: Line = Field(description="Its name as readers see it, for instance Cards and frames.")
    summary: Text = Field(description="What is made in it, in a sentence or two.")


class Zone(Part):
    """A part of the room, for instance the end where the ovens stand."""

    id: Id = Field(
        description="The name that resources, tools and steps give in zone, for instance hot-end."
    )
    name: Line = Field(
        description="Its name as readers see it, for instance The end with the ovens."
    )
    clear_of: dict[Id, Line] = Field(
        default_factory=dict,
        description="Zones that flammable vapour from here does not reach, each with the reason, "
        "for instance hot-end: 7 m away, with an open window between. Zones that name each other "
        "in neither direction are within reach of each other.",
    )


class Resource(Part):
    """Equipment that the class shares, for instance one oven."""

    id: Id = Field(description="The name that tools give in resource, for instance oven.")
    name: Line = Field(description="Its name as readers see it, for instance Drying oven.")
    count: int = Field(ge=1, description="How many there are in the room, for instance 2.")
    capacity: int = Field(
        default=1,
        ge=1,
        description="How many pieces one of them takes at once, for instance 6 for a pot that "
        "takes six skeins.",
    )
    together: bool = Field(
        default=False,
        description="true where the pieces go in and come out together, as in a kiln; false where "
        "each goes in and out by itself, as in a fridge.",
    )
    unattended: bool = Field(
        default=False,
        description="true where whoever keeps the room may load and empty it between the sessions, "
        "so that one filling follows the other without the class; for instance a kiln.",
    )
    handling: Duration | None = Field(
        default=None,
        description="Time to put a piece in and to take it out, for which its place is held too; "
        "for instance 40 s. It counts where an action says a time of its own.",
    )
    zone: Id | None = Field(default=None, description="The part of the room where it stands.")


class Drill(Part):
    """What must be in place before anything with a hazard is handled."""

    hazard: Hazard = Field(description="The hazard it is for, for instance corrosive.")
    level: Level = Field(description="Earliest level of a lesson that may use such a material.")
    lesson: Ref("lesson") = Field(  # type: ignore[valid-type]
        description="Id of the lesson that teaches the drill, for instance handling-acid."
    )
    tools: tuple[Ref("tool"), ...] = Field(  # type: ignore[valid-type]
        min_length=1,
        description="Ids of the tools that every lesson with this hazard must list, for instance"
        " [goggles, gloves].",
    )
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        min_length=1, description="Cautions that must stand on the page, first aid among them."
    )


class Door(Part):
    """One of the three large cards of the home page."""

    title: Line = Field(description="The large words on the card, for instance Learn.")
    text: Line = Field(
        description="One line below them, for instance From the first sheet to the framed card."
    )
    picture: Picture | None = Field(
        default=None,
        description="Left out: that of the first lesson, the first defect or the last lesson.",
    )


class Doors(Part):
    """The three doors: for a learner, for someone with a flawed thing, for the teacher."""

    learn: Door = Field(description="The card for whoever wants to learn; it leads to the lessons.")
    fix: Door = Field(
        description="The card for whoever has a flawed thing in the hand; it leads to the "
        "diagnosis."
    )
    teach: Door = Field(description="The card for the teacher; it leads to classes and papers.")


class ContextOption(Part):
    """One answer about the context of a thing."""

    id: Id = Field(description="Its id, for instance bought.")
    name: Line = Field(description="As it stands on its button, for instance Bought or given.")
    tracks: tuple[Id, ...] = Field(
        default=(), description="The tracks whose faults come in question. Left out: all of them."
    )
    note: Line | None = Field(default=None, description="What is shown as soon as it is chosen.")


class AskedContext(Part):
    """Something to know of a thing before its signs: its kind, who made it, how old it is."""

    id: Id = Field(description="Its id, for instance made.")
    ask: Line = Field(description="A short question, with its question mark.")
    options: tuple[ContextOption, ...] = Field(
        min_length=2, description="What can be answered, in order; at least two options."
    )
    stages: bool = Field(
        default=False,
        description="true where the options are the stages of making, in their order; fixes say "
        "with until up to which of them they can be done.",
    )


class CourseSettings(Entry):
    """The course as a whole: its words, tracks, room and shared equipment."""

    kind: ClassVar[str] = "course"
    name: Line = Field(
        description="Name of the course as it heads the site, for instance Cards of pressed "
        "flowers."
    )
    sentence: Line = Field(description="What the course is, in one sentence.")
    place: Line | None = Field(
        default=None, description="Where the course is held, for instance Paper hall, Mill Lane."
    )
    language: Annotated[str, StringConstraints(pattern=r"^[a-z]{2,3}(-[A-Za-z0-9]+)*$")] = Field(
        default="en", description="Language of the texts as a short code, for instance en or en-GB."
    )
    thing: Thing = Field(
        description="What is made, in one word for one and for many, for instance {one: card, "
        "many: cards}."
    )
    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")] = Field(
        default="EUR", description="ISO 4217 code in which prices are written."
    )
    heating_words: tuple[Line, ...] = Field(
        default=(),
        description="Verbs of the craft that mean to heat, beside the common ones, for instance "
        "[fire, glaze].",
    )
    money_in_work: Duration = Field(
        default_factory=lambda: parse_quantity("4 min"),
        description="Time of work that weighs as much as one unit of the currency, where fixes are "
        "compared by what they cost; a judgement, 4 min where left out.",
    )
    doors: Doors = Field(
        description="The three large cards of the home page: learn, fix and teach."
    )
    about: Text | None = Field(
        default=None, description="Who teaches what, in a few sentences on the home page."
    )
    safety: Text | None = Field(
        default=None, description="The opening of the safety page: what holds in every lesson."
    )
    local_rules: Text = Field(
        description="What readers must check with their own authorities, supplier or doctor."
    )
    tracks: tuple[Track, ...] = Field(
        min_length=1, description="The branches of the course, in order; at least one."
    )
    class_size: int = Field(
        ge=1, le=500, description="How many students a class has at most, for instance 8."
    )
    room: Temperature = Field(
        description="Temperature of the room where the work is done, for instance 21 degC."
    )
    resources: tuple[Resource, ...] = Field(
        default=(), description="Equipment that the class shares, for instance one oven."
    )
    zones: tuple[Zone, ...] = Field(
        default=(),
        description="Parts of the room. Without any, all of it is within reach of a flammable.",
    )
    timezone: TimeZone | None = Field(
        default=None, description="Where the class is held, for instance Europe/Berlin."
    )
    drills: tuple[Drill, ...] = Field(
        default=(), description="What must be in place before anything with a hazard is handled."
    )
    contexts: tuple[AskedContext, ...] = Field(
        default=(), description="What the diagnosis asks about a thing first; each may be skipped."
    )


class Outcome(Part):
    """A skill that a lesson teaches."""

    skill: Id = Field(
        description="A name for the skill, which exercises and other lessons refer to, for "
        "instance press-a-flower."
    )
    text: Line = Field(description="What a student can do afterwards, beginning with a verb.")


class Scale(StrEnum):
    """How an amount grows with the number of things made."""

    PIECE = "piece"
    BATCH = "batch"


class Computed(Part):
    """Which calculator an amount comes from, and what was filled in."""

    calculator: Ref("calculator") = Field(  # type: ignore[valid-type]
        description="Id of the calculator, for instance thin-paste."
    )
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

    material: Ref("material") = Field(description="Id of the material, for instance paste.")  # type: ignore[valid-type]
    amount: Amount = Field(
        description="How much, for one thing or for the batch as per says, for instance 20 g or "
        "5 mL."
    )
    per: Scale = Field(
        default=Scale.PIECE, description="piece: grows with the number made; batch: does not."
    )
    computed: Computed | None = Field(
        default=None, description="The calculation it comes from; done again at every check."
    )
    from_lesson: Ref("lesson") | None = Field(  # type: ignore[valid-type]
        default=None,
        description="The lesson whose finished piece this is: it is carried on, not bought again, "
        "and this lesson cannot begin before that one and its last wait are over.",
    )
    note: Line | None = Field(
        default=None,
        description="What to bear in mind, in a line, for instance stirred before use.",
    )


class LessonTool(Part):
    """A tool a lesson needs."""

    tool: Ref("tool") = Field(description="Id of the tool, for instance brush.")  # type: ignore[valid-type]
    count: int = Field(default=1, ge=1, description="How many, for instance 2.")
    per: Literal["student", "class"] = Field(
        default="student",
        description="student where each student needs so many; class where the whole class does.",
    )
    note: Line | None = Field(
        default=None, description="What to bear in mind, in a line, for instance with a soft tip."
    )


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

    do: Verb = Field(description="add, heat, wet, pour, air, cool or stir.")
    vessel: Line = Field(description="The vessel or surface, named the same through the lesson.")
    into: Line | None = Field(default=None, description="pour only: where it goes.")
    material: Ref("material") | None = Field(  # type: ignore[valid-type]
        default=None, description="add and wet: id of what goes in or on, for instance paste."
    )
    amount: Amount | None = Field(
        default=None, description="For one thing, as in the materials; for instance 20 g."
    )
    tool: Ref("tool") | None = Field(  # type: ignore[valid-type]
        default=None, description="Id of the tool it is done with, for instance iron."
    )
    to: Temperature | None = Field(
        default=None,
        description="heat: the highest the contents reach; cool: the lowest; for instance 60 degC.",
    )
    time: Duration | None = Field(
        default=None,
        description="How long it takes, for instance 100 s. In a step the actions follow each "
        "other; those without a time share what is left of the step's time.",
    )
    keeps: bool = Field(
        default=False,
        description="true where the tool stays taken until the step's wait is over, for instance "
        "a kiln that fires for 9 h after it was loaded.",
    )


class Step(Part):
    """One step at the bench."""

    title: Line = Field(
        description="What is done, in a few words, for instance Lay the flower down."
    )
    text: Text = Field(
        description="What to do, as you would say it at the bench. A quantity in braces, {60 "
        "degC}, is shown in both unit systems."
    )
    see: Text | None = Field(default=None, description="What to see when it is right.")
    why: Text | None = Field(default=None, description="The reason, folded under the step.")
    picture: Picture | None = Field(
        default=None,
        description="Name of a drawing in kb/drawings/, without .svg, that shows the step.",
    )
    temperature: TemperatureWindow | None = Field(
        default=None,
        description="The window in which the contents are while this step is done, for instance 57 "
        "to 63 degC.",
    )
    time: Duration = Field(description="Time at the bench, for instance 10 min.")
    wait: Duration | None = Field(
        default=None, description="Time in which nobody need stand by, for instance 12 h."
    )
    home: bool = Field(
        default=False,
        description="true where the piece is taken home while it waits, so that no later session "
        "is held up, for instance by a cure of 4 weeks.",
    )
    zone: Id | None = Field(
        default=None, description="The part of the room in which this is done, for instance sink."
    )
    holds: tuple[Ref("tool"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Shared tools that are taken for the whole step though no action names them.",
    )
    supervised: bool = Field(
        default=False, description="true where the teacher or a helper stands by each time."
    )
    together: int | None = Field(
        default=None,
        ge=2,
        description="So many students do this step together with one set of vessels, for instance "
        "4 around one large pot.",
    )
    heat_off: bool = Field(
        default=False,
        description="true where nothing in the room heats any more, from the start of this step "
        "to the end of the session.",
    )
    actions: tuple[Action, ...] = Field(
        default=(),
        description="What the step does to each vessel, so that doses and heat can be followed, "
        "for instance {do: heat, vessel: pan, to: 60 degC}.",
    )
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Ids of cautions to show in this step besides those that attach themselves.",
    )


class Risk(Part):
    """A defect that can come of this lesson, and what to watch for."""

    defect: Ref("defect") = Field(description="Id of the defect, for instance wrinkled-sheet.")  # type: ignore[valid-type]
    watch: Line = Field(description="What to watch, in one line.")


class CalculatorUse(Part):
    """A calculator shown in a lesson, with the lesson's own numbers filled in."""

    calculator: Ref("calculator") = Field(  # type: ignore[valid-type]
        description="Id of the calculator, for instance thin-paste."
    )
    text: Text | None = Field(default=None, description="Words above it: why it is used here.")
    inputs: dict[str, str] = Field(
        default_factory=dict, description="Input name to value with unit, for instance 113 g."
    )


class Lesson(Entry):
    """One lesson: what it needs and teaches, and the steps at the bench."""

    kind: ClassVar[str] = "lesson"
    title: Line = Field(
        description="Its title as readers see it, for instance Press your first sheet."
    )
    level: Level = Field(description="beginner, intermediate or advanced.")
    track: Id = Field(description="The track of the course that it belongs to, for instance cards.")
    summary: Line = Field(description="What is made or learned, in one sentence.")
    picture: Picture = Field(
        description="Name of its drawing in kb/drawings/, without .svg, for instance first-sheet."
    )
    prerequisites: tuple[Ref("lesson"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Ids of the lessons that must come before it, for instance [pressing].",
    )
    assumes: tuple[Id, ...] = Field(
        default=(), description="Skills a student must bring; an earlier lesson teaches each."
    )
    teaches: tuple[Outcome, ...] = Field(
        min_length=1, description="The skills a student has afterwards; at least one."
    )
    makes: int = Field(
        default=1, ge=0, description="How many things the amounts below make, for instance 2."
    )
    intro: Text = Field(
        description="The first words of the page: what it is about, and why it is worth doing."
    )
    materials: tuple[LessonMaterial, ...] = Field(
        default=(),
        description="What is used up, with amounts, for instance {material: paste, amount: 20 g}.",
    )
    tools: tuple[LessonTool, ...] = Field(
        default=(), description="What is used and kept, for instance {tool: brush, count: 2}."
    )
    vessels: dict[Line, Ref("tool")] = Field(  # type: ignore[valid-type]
        default_factory=dict,
        description="Which tool each vessel of the actions is, for instance first jug: jug. It "
        "says how fast what is in it cools, and how many are in use at once.",
    )
    demonstration: Duration | None = Field(
        default=None,
        description="Time in which the teacher shows the lesson to all before anyone begins it, "
        "for instance 10 min.",
    )
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of cautions to show besides those that attach themselves."
    )
    calculators: tuple[CalculatorUse, ...] = Field(
        default=(),
        description="Calculators to show on its page, with the numbers of this lesson filled in.",
    )
    steps: tuple[Step, ...] = Field(
        min_length=1, description="The steps at the bench, in order; at least one."
    )
    risks: tuple[Risk, ...] = Field(
        default=(),
        description="What can go wrong here, and what to watch, for instance {defect: wrinkled-"
        "sheet, watch: Lift late.}.",
    )
    exercises: tuple[Exercise, ...] = Field(
        default=(), description="What students practise, on the page and on paper."
    )
    after: Text | None = Field(default=None, description="What to do with it, and where to go on.")
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of what it says, for instance [bench-notes]."
    )


class Session(Part):
    """One evening of a class."""

    id: Id | None = Field(
        default=None,
        description="Its name in diaries, for instance first-pour; left out, its number. Name the "
        "sessions where one may yet be put between them.",
    )
    date: Annotated[date, Field(description="The day, year first, for instance 2030-09-02.")]
    start: Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")] = Field(
        description='Time of day in quotes, for instance "18:30".'
    )
    length: Duration = Field(
        description="From the first to the last minute, for instance 2 h 30 min."
    )
    lessons: tuple[Ref("lesson"), ...] = Field(  # type: ignore[valid-type]
        min_length=1,
        description="Ids of the lessons held, in order, for instance [pressing, mounting].",
    )
    again: tuple[Ref("lesson"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Ids of lessons held a second time on purpose, for instance [pressing].",
    )
    moved: int = Field(
        default=0,
        ge=0,
        description="How often it has been moved since it was first announced, so that diaries "
        "take over the new time; for instance 1.",
    )
    set_up: Duration | None = Field(default=None, description="As for the class; for this one.")
    talk: Duration | None = Field(default=None, description="As for the class; for this one.")
    clean_up: Duration | None = Field(default=None, description="As for the class; for this one.")
    notes: Text | None = Field(default=None, description="What to remember for this session.")


class PlannedClass(Entry):
    """One planned class: who, when, and which lessons."""

    kind: ClassVar[str] = "class"
    name: Line = Field(description="Its name as readers see it, for instance Cards in autumn.")
    summary: Text = Field(description="Who it is for and what is made, in a sentence or two.")
    students: int = Field(ge=1, le=500, description="How many students take part, for instance 8.")
    helpers: int = Field(
        default=0, ge=0, le=50, description="How many help the teacher, for instance 1."
    )
    resources: dict[Id, int] = Field(
        default_factory=dict,
        description="Where this class has another number of the course's shared equipment, for "
        "instance oven: 1.",
    )
    timezone: TimeZone | None = Field(
        default=None, description="Where it is held, if not where the course is."
    )
    set_up: Duration | None = Field(
        default=None,
        description="Time before each session in which the room is made ready, for instance "
        "20 min.",
    )
    talk: Duration | None = Field(
        default=None,
        description="Time at the start of each session before anyone begins, for instance 10 min.",
    )
    clean_up: Duration | None = Field(
        default=None,
        description="Time at the end of each session to wash up and tidy, for instance 15 min.",
    )
    reminder: Duration | None = Field(
        default=None, description="How long before each session diaries remind, for instance 1 day."
    )
    sessions: tuple[Session, ...] = Field(
        min_length=1, description="The sessions in order of time; at least one."
    )
    notes: Text | None = Field(
        default=None, description="What else people must know, for instance what to bring."
    )
