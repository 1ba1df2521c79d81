"""Entries of the knowledge base: what goes wrong and why, and what the work is done with."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints, model_validator

from builder.model.common import (
    Amount,
    Density,
    Duration,
    Entry,
    Fact,
    Hazard,
    HowOften,
    Id,
    Line,
    LineWithQuantities,
    Mass,
    Part,
    Picture,
    PlainText,
    Price,
    Ref,
    Share,
    Temperature,
    Text,
)
from builder.model.lessons import Action, Verb


class SymptomLink(Part):
    """A defect shows a symptom this often."""

    symptom: Ref("symptom")  # type: ignore[valid-type]
    often: HowOften


class CauseLink(Part):
    """A cause, when it acts, brings the defect this often."""

    cause: Ref("cause")  # type: ignore[valid-type]
    often: HowOften
    how: Text | None = Field(default=None, description="How this cause makes this defect.")


class LookAlike(Part):
    """A defect that is easily taken for this one, and how to tell them apart."""

    defect: Ref("defect")  # type: ignore[valid-type]
    tell: LineWithQuantities


class Defect(Entry):
    """A fault of the finished thing: what it looks like, and its causes."""

    kind: ClassVar[str] = "defect"
    name: Line
    summary: Line
    picture: Picture | None = Field(default=None, description="Left out: the drawing of this id.")
    tracks: tuple[Id, ...] = Field(min_length=1)
    looks: Text = Field(description="What is seen, felt and smelt.")
    why: Text = Field(description="What happens inside, in plain words.")
    harmless: Text | None = Field(default=None, description="Whether the thing may still be used.")
    symptoms: tuple[SymptomLink, ...] = Field(default=())
    causes: tuple[CauseLink, ...] = Field(default=())
    look_alikes: tuple[LookAlike, ...] = ()
    cautions: tuple[Ref("caution"), ...] = ()  # type: ignore[valid-type]
    citations: tuple[Ref("citation"), ...] = ()  # type: ignore[valid-type]


class Evidence(Part):
    """When this cause acts, a question is answered yes this often."""

    question: Ref("question")  # type: ignore[valid-type]
    yes: HowOften


class FixLink(Part):
    """A fix mends what this cause did this often."""

    fix: Ref("fix")  # type: ignore[valid-type]
    helps: HowOften


class Cause(Entry):
    """A reason why things go wrong; several defects may share it."""

    kind: ClassVar[str] = "cause"
    name: Line
    summary: Line
    what_happens: Text
    how_common: HowOften = Field(description="How often it acts, over all batches of a class.")
    evidence: tuple[Evidence, ...] = ()
    fixes: tuple[FixLink, ...] = Field(default=())
    lesson: Ref("lesson") | None = Field(  # type: ignore[valid-type]
        default=None, description="The lesson that teaches how to avoid it."
    )
    calculator: Ref("calculator") | None = None  # type: ignore[valid-type]
    citations: tuple[Ref("citation"), ...] = ()  # type: ignore[valid-type]


class When(StrEnum):
    """Which thing a fix is for: the one in the hand, or the next batch."""

    NOW = "now"
    NEXT = "next"


class FixStep(Part):
    """One step of a fix; its actions are followed by the safety rules as a lesson's are."""

    text: Text
    actions: tuple[Action, ...] = ()


class Fix(Entry):
    """A remedy: what to do, how long it takes, what it costs."""

    kind: ClassVar[str] = "fix"
    name: Line
    when: When
    summary: Line
    steps: tuple[FixStep, ...] = Field(min_length=1)
    time: Duration
    cost: Price | None = Field(default=None, description="Material used up, for one thing.")
    discards: bool = Field(default=False, description="True where the thing is thrown away.")
    cautions: tuple[Ref("caution"), ...] = ()  # type: ignore[valid-type]
    lesson: Ref("lesson") | None = None  # type: ignore[valid-type]
    citations: tuple[Ref("citation"), ...] = ()  # type: ignore[valid-type]


LABEL_PATTERN = r"^\S+(?: \S+)?$"


class Symptom(Entry):
    """A sign that can be seen, felt or smelt without asking anyone."""

    kind: ClassVar[str] = "symptom"
    name: Line
    label: Annotated[str, StringConstraints(pattern=LABEL_PATTERN, max_length=24), PlainText()] = (
        Field(description="At most two words, to stand under a small picture.")
    )
    text: Text = Field(description="What to look for.")
    picture: Picture
    chance_otherwise: HowOften = Field(
        default=0.02, description="How often it shows without any defect that lists it."
    )


class Question(Entry):
    """Something to ask about how the thing was made or kept; answered yes, no or don't know."""

    kind: ClassVar[str] = "question"
    ask: Line
    explain: Text | None = None
    yes_otherwise: HowOften = Field(
        default=0.1, description="How often the answer is yes although no listed cause acts."
    )


class Certainty(StrEnum):
    """How sure a source is."""

    SEEN = "seen"
    COMPUTED = "computed"
    MEMORY = "memory"
    PRACTICE = "practice"
    INVENTED = "invented"


ADDRESS_PATTERN = r"^https://[A-Za-z0-9.-]+(/[A-Za-z0-9._~/()=&?%-]*)?$"
"""An address a reader may follow; nothing but https, so that no script hides in it."""


class Citation(Entry):
    """A source. Practice and memory are sources too, and are shown as what they are."""

    kind: ClassVar[str] = "citation"
    title: Line
    publisher: Line | None = None
    year: int | None = Field(default=None, ge=1500, le=2200)
    number: Line | None = Field(
        default=None, description="Number of the standard, rule, report or article."
    )
    address: Annotated[str, StringConstraints(pattern=ADDRESS_PATTERN, max_length=200)] | None = (
        Field(default=None, description="Where it stands, beginning with https://.")
    )
    not_named: Line | None = Field(
        default=None, description="Why publisher, year or number cannot be given."
    )
    detail: Text | None = Field(default=None, description="Edition, table, section, what it says.")
    certainty: Certainty


GHS_PATTERN = r"^(EUH\d{3}[A-Z]?|[HP]\d{3}[A-Za-z]{0,2}(\+[HP]\d{3}[A-Za-z]{0,2})*)$"
"""GHS codes, with the letters that some regions add (H360FD) and codes of their own (EUH066)."""


class HazardStatement(Part):
    """One GHS statement."""

    code: Annotated[str, StringConstraints(pattern=GHS_PATTERN)]
    text: Line


class GhsLabel(Part):
    """What the label of a material says, with the revision its codes belong to."""

    revision: Line
    signal: Literal["Danger", "Warning"] | None = None
    statements: tuple[HazardStatement, ...] = Field(min_length=1)
    citation: Ref("citation")  # type: ignore[valid-type]


class TemperatureFact(Fact):
    """A temperature, with its source."""

    value: Temperature


class DensityFact(Fact):
    """A density, with its source."""

    value: Density


class Limit(Fact):
    """The most that may go in, as a share of the base or of the finished product."""

    most: Share
    of: Literal["base", "product"]


class Pack(Part):
    """A pack as bought."""

    amount: Amount
    price: Price
    seen: date | None = Field(default=None, description="The day on which the price was seen.")


class CountedPack(Part):
    """A pack of things that are counted, as bought."""

    count: int = Field(ge=1, description="How many are in it, for instance 100.")
    price: Price
    seen: date | None = Field(default=None, description="The day on which the price was seen.")


class CoolingReading(Part):
    """Two readings of a vessel that cools in the course's room."""

    mass: Mass = Field(description="How much was in it.")
    first: Temperature
    second: Temperature
    time: Duration = Field(description="From the first reading to the second.")
    citation: Ref("citation") | None = None  # type: ignore[valid-type]

    @model_validator(mode="after")
    def _refuse_warming(self) -> CoolingReading:
        if self.second.base >= self.first.base or not self.time.base or not self.mass.base:
            raise ValueError("a vessel that cools has its second reading below the first, later")
        return self


class Material(Entry):
    """Something used up in the work, with what it can do to people and what limits it."""

    kind: ClassVar[str] = "material"
    name: Line
    summary: Text
    is_base: bool = Field(default=False, description="True for what shares of the base refer to.")
    hazards: tuple[Hazard, ...] = ()
    ghs: GhsLabel | None = None
    flash_points: tuple[TemperatureFact, ...] = Field(
        default=(), description="Closed-cup; where sources differ, all of them: the lowest governs."
    )
    highest_temperature: TemperatureFact | None = Field(
        default=None, description="Highest safe temperature of the material or of what holds it."
    )
    limits: tuple[Limit, ...] = ()
    density: DensityFact | None = None
    computed_by: Ref("calculator") | None = Field(  # type: ignore[valid-type]
        default=None,
        description="Set where a wrong amount is dangerous: each amount in a lesson then says how "
        "this calculator gave it.",
    )
    packs: tuple[Pack, ...] = ()
    waste: Share | None = Field(
        default=None,
        description="The share lost to vessels and spills, bought on top; for instance 6 %.",
    )
    zone: Id | None = Field(
        default=None,
        description="The part of the room in which it is handled, as the course names it.",
    )
    keep: Text | None = Field(default=None, description="How to store it.")
    citations: tuple[Ref("citation"), ...] = ()  # type: ignore[valid-type]


class Tool(Entry):
    """Something used and kept."""

    kind: ClassVar[str] = "tool"
    name: Line
    summary: Text
    heats: bool = Field(default=False, description="True for what heats or can spark.")
    hazards: tuple[Hazard, ...] = ()
    resource: Id | None = Field(default=None, description="The shared equipment it is, if any.")
    zone: Id | None = Field(
        default=None, description="The part of the room where it is used, as the course names it."
    )
    cools: tuple[CoolingReading, ...] = Field(
        default=(),
        description="For a vessel: how fast what is in it cools in the course's room. Two masses "
        "or more, because less cools faster.",
    )
    wash: Duration | None = Field(
        default=None,
        description="Time to wash and dry one between two uses in a session, for instance 2 min; "
        "left out, each use takes a clean one.",
    )
    airs: Duration | None = Field(
        default=None,
        description="Time one stands open after a flammable was in it before it may be used again.",
    )
    used_up: bool = Field(
        default=False, description="true for what is bought anew, for instance gloves."
    )
    packs: tuple[CountedPack, ...] = Field(
        default=(), description="Packs of what is used up, as bought."
    )


class Applies(Part):
    """Where a caution attaches itself; any one match is enough."""

    hazards: tuple[Hazard, ...] = ()
    actions: tuple[Verb, ...] = ()
    materials: tuple[Ref("material"), ...] = ()  # type: ignore[valid-type]
    tools: tuple[Ref("tool"), ...] = ()  # type: ignore[valid-type]


class Caution(Entry):
    """A warning: what can happen, and what to do, in that order."""

    kind: ClassVar[str] = "caution"
    signal: Literal["Danger", "Warning"]
    title: Line
    happens: Text = Field(description="What can happen.")
    do: tuple[Text, ...] = Field(min_length=1, description="What to do, a line each.")
    first_aid: Text | None = None
    applies: Applies = Applies()
    citations: tuple[Ref("citation"), ...] = ()  # type: ignore[valid-type]


class Term(Entry):
    """A word of the craft or the course, explained."""

    kind: ClassVar[str] = "term"
    name: Line
    text: Text
    also: tuple[Line, ...] = Field(default=(), description="Other words that readers search for.")
    instead_of: tuple[Line, ...] = Field(
        default=(),
        description="Words that the texts of this course give up for this one; searched for too.",
    )


class Case(Entry):
    """One flawed thing on record: what was seen and answered, and what it turned out to be."""

    kind: ClassVar[str] = "case"
    summary: Line
    seen: tuple[Ref("symptom"), ...] = Field(min_length=1)  # type: ignore[valid-type]
    absent: tuple[Ref("symptom"), ...] = ()  # type: ignore[valid-type]
    yes: tuple[Ref("question"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Questions answered yes; unknown ones are left out."
    )
    no: tuple[Ref("question"), ...] = ()  # type: ignore[valid-type]
    was: tuple[Ref("cause"), ...] = Field(  # type: ignore[valid-type]
        min_length=1, description="The causes it turned out to have."
    )
    note: Line | None = None
