"""Entries of the knowledge base: what goes wrong and why, and what the work is done with."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints, model_validator

from builder.model.common import (
    Amount,
    Density,
    Duration,
    Entry,
    Fact,
    Hazard,
    HowCommon,
    HowOften,
    Id,
    Line,
    LineWithQuantities,
    Mass,
    Part,
    Picture,
    PlainText,
    Price,
    Protection,
    Ref,
    Share,
    Temperature,
    Text,
)
from builder.model.lessons import Action, Verb

Only = Annotated[
    dict[Id, tuple[Id, ...]],
    Field(
        default_factory=dict,
        description="Where this holds at all: a context of the course, and its options for which "
        "it does, for instance {made: [here]}. While nothing is told of it, it holds.",
    ),
]


class Stop(Part):
    """Why a thing must not be used, what to do with it, and whom to ask."""

    reason: Line = Field(description="Why it must not be used, in one plain sentence.")
    do: tuple[Line, ...] = Field(min_length=1, description="What to do with it, a sentence each.")
    ask: Line | None = Field(
        default=None, description="Whom to ask, for instance a doctor or the supplier."
    )
    only: Only
    ask_first: bool = Field(
        default=False,
        description="true keeps the thing out of use, and asks, while nothing is told of the "
        "contexts in which the stop holds.",
    )


class Learned(Part):
    """What the recorded cases say of a number, kept apart from the number as written."""

    hits: int = Field(ge=0, description="In how many of the cases it was so, for instance 4.")
    cases: int = Field(ge=1, description="How many recorded cases bear on it, for instance 6.")
    on: date = Field(description="When they were counted, for instance 2030-05-02.")


class SymptomLink(Part):
    """A defect shows a symptom this often."""

    symptom: Ref("symptom") = Field(description="Id of the symptom, for instance wavy.")  # type: ignore[valid-type]
    often: HowOften = Field(
        description="Of ten things with this defect, how many show it: usually, often, "
        "sometimes, rarely, or a number such as 0.7."
    )
    learned: Learned | None = Field(
        default=None, description="What recorded cases say of it; check --learn writes it."
    )


class CauseLink(Part):
    """A cause, when it acts, brings the defect this often."""

    cause: Ref("cause") = Field(description="Id of the cause, for instance too-wet.")  # type: ignore[valid-type]
    often: HowOften = Field(
        description="How often the cause, when it acts, brings this defect: usually, often, "
        "sometimes, rarely, or a number such as 0.7."
    )
    how: Text | None = Field(default=None, description="How this cause makes this defect.")


class RescueLink(Part):
    """A fix saves the thing from a defect this often."""

    fix: Ref("fix") = Field(  # type: ignore[valid-type]
        description="Id of a fix for the thing in the hand."
    )
    helps: HowOften = Field(
        description="How often it saves the thing: usually, often, or a number such as 0.7."
    )
    causes: tuple[Ref("cause"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Where it matters: causes of this defect after which it helps. Left out: after "
        "any of them.",
    )


class LookAlike(Part):
    """A defect that is easily taken for this one, and how to tell them apart."""

    defect: Ref("defect") = Field(description="Id of the other defect, for instance brown-petals.")  # type: ignore[valid-type]
    tell: LineWithQuantities = Field(description="How to tell them apart, in one line.")


class Defect(Entry):
    """A fault of the finished thing: what it looks like, and its causes."""

    kind: ClassVar[str] = "defect"
    name: Line = Field(description="Its name as readers see it, for instance Wrinkled sheet.")
    summary: Line = Field(description="What it is, in one sentence.")
    picture: Picture | None = Field(default=None, description="Left out: the drawing of this id.")
    tracks: tuple[Id, ...] = Field(
        min_length=1,
        description="The tracks of the course in which it happens, for instance [cards].",
    )
    looks: Text = Field(description="What is seen, felt and smelt.")
    why: Text = Field(description="What happens inside, in plain words.")
    harmless: Text | None = Field(default=None, description="Whether the thing may still be used.")
    symptoms: tuple[SymptomLink, ...] = Field(
        default=(),
        description="The signs it shows, and how often, for instance {symptom: wavy, often: "
        "usually}.",
    )
    causes: tuple[CauseLink, ...] = Field(
        default=(),
        description="What brings it, and how often, for instance {cause: too-wet, often: often}.",
    )
    fixes: tuple[RescueLink, ...] = Field(
        default=(),
        description="What saves the thing in the hand from this defect, for instance {fix: "
        "press-again, helps: usually}.",
    )
    nothing_saves: Line | None = Field(
        default=None,
        description="Where nothing saves it, or not after every cause: an honest sentence on it.",
    )
    stop: Stop | None = Field(
        default=None, description="Where a thing with this defect must not be used."
    )
    only: Only
    look_alikes: tuple[LookAlike, ...] = Field(
        default=(), description="Defects that are easily taken for it, and how to tell them apart."
    )
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of cautions that belong to the flawed thing itself."
    )
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of what it says."
    )


class Evidence(Part):
    """When this cause acts, a question is answered yes this often."""

    question: Ref("question") = Field(description="Id of the question, for instance picked-in-dew.")  # type: ignore[valid-type]
    yes: HowOften = Field(
        description="How often the answer is yes when this cause acts: usually, often, "
        "sometimes, rarely, or a number such as 0.7."
    )
    learned: Learned | None = Field(
        default=None, description="What recorded cases say of it; check --learn writes it."
    )


class FixLink(Part):
    """A fix mends what this cause did this often."""

    fix: Ref("fix") = Field(description="Id of the fix, for instance press-again.")  # type: ignore[valid-type]
    helps: HowOften = Field(
        description="How often it helps where this was the cause: usually, often, sometimes, "
        "rarely, or a number such as 0.7."
    )


class Cause(Entry):
    """A reason why things go wrong; several defects may share it."""

    kind: ClassVar[str] = "cause"
    name: Line = Field(description="Its name as readers see it, for instance Flower too wet.")
    summary: Line = Field(description="What it is, in one sentence.")
    what_happens: Text = Field(description="What happens, step by step, in plain words.")
    how_common: HowCommon = Field(
        description="In how many of all batches it acts: in-every-second, in-every-fifth, "
        "in-every-tenth, in-one-of-twenty, in-one-of-fifty, in-one-of-hundred, or a number such as "
        "0.03. All causes of a course together should come to less than about one a batch."
    )
    evidence: tuple[Evidence, ...] = Field(
        default=(),
        description="Questions whose answers speak for it, for instance {question: picked-in-"
        "dew, yes: usually}.",
    )
    fixes: tuple[FixLink, ...] = Field(
        default=(),
        description="What keeps it from acting in the next batch, and how often, for instance "
        "{fix: blot-first, helps: usually}. What saves the thing in the hand belongs to the "
        "defect.",
    )
    stop: Stop | None = Field(
        default=None, description="Where a thing that this cause acted on must not be used."
    )
    only: Only
    lesson: Ref("lesson") | None = Field(  # type: ignore[valid-type]
        default=None, description="The lesson that teaches how to avoid it."
    )
    calculator: Ref("calculator") | None = Field(  # type: ignore[valid-type]
        default=None, description="Id of a calculator that helps to avoid it."
    )
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of what it says."
    )


class When(StrEnum):
    """Which thing a fix is for: the one in the hand, or the next batch."""

    NOW = "now"
    NEXT = "next"


class FixStep(Part):
    """One step of a fix; its actions are followed by the safety rules as a lesson's are."""

    text: Text = Field(
        description="What to do. A quantity in braces, {60 degC}, is shown in both unit systems."
    )
    actions: tuple[Action, ...] = Field(
        default=(),
        description="What the step does to each vessel, so that doses and heat can be followed.",
    )


class Fix(Entry):
    """A remedy: what to do, how long it takes, what it costs."""

    kind: ClassVar[str] = "fix"
    name: Line = Field(description="What is done, in a few words, for instance Press it again.")
    when: When = Field(description="now for the thing in the hand, next for the next batch.")
    summary: Line = Field(description="What it does, in one sentence.")
    steps: tuple[FixStep, ...] = Field(
        min_length=1, description="What to do, in order; at least one step."
    )
    time: Duration = Field(description="How long it takes at the bench, for instance 10 min.")
    cost: Price | None = Field(
        default=None, description="Material used up, for one thing; for instance 0.40 EUR."
    )
    discards: bool = Field(default=False, description="true where the thing is thrown away.")
    sets_aside: bool = Field(
        default=False,
        description="true where it only puts the thing out of use, for instance until it is "
        "tested; such a fix may stand beside a stop.",
    )
    checks: bool = Field(
        default=False,
        description="true where its first step finds out whether the thing may be used at all.",
    )
    until: Id | None = Field(
        default=None,
        description="Until when it can be done: an option of the course's context with stages. "
        "Left out: at any time.",
    )
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of cautions to show besides those that attach themselves."
    )
    lesson: Ref("lesson") | None = Field(  # type: ignore[valid-type]
        default=None, description="Id of the lesson that teaches how to do it."
    )
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of what it says."
    )


Effort = Annotated[
    Literal["look", "feel", "recall", "fetch", "wait"],
    Field(
        description="What finding out takes: a look, a touch or a cut, remembering, fetching a "
        "paper or a bottle, waiting for a day."
    ),
]
LABEL_PATTERN = r"^\S+(?: \S+)?$"


class Symptom(Entry):
    """A sign that can be seen, felt or smelt without asking anyone."""

    kind: ClassVar[str] = "symptom"
    name: Line = Field(description="The sign in words, for instance Wavy sheet.")
    label: Annotated[str, StringConstraints(pattern=LABEL_PATTERN, max_length=24), PlainText()] = (
        Field(description="At most two words, to stand under a small picture.")
    )
    text: Text = Field(description="What to look for.")
    picture: Picture = Field(
        description="Name of its drawing in kb/drawings/, without .svg, for instance sign-wavy."
    )
    chance_otherwise: HowOften = Field(
        default=0.02,
        description="How often it shows without any defect that lists it: rarely, or a number such "
        "as 0.02.",
    )
    overlooked: HowOften = Field(
        default=0.1,
        description="How often someone who has it says that it is not there: rarely, or a number "
        "such as 0.1.",
    )
    unpicked: HowOften | None = Field(
        default=None,
        description="For what any eye sees: how often someone who has it leaves its picture "
        "unpicked, a number such as 0.4. Left out: an unpicked picture says nothing.",
    )
    effort: Effort = "look"
    since: Id | None = Field(
        default=None, description="The stage that the thing has reached where this is seen."
    )
    stop: Stop | None = Field(
        default=None,
        description="Where a thing that shows it must not be used, by whatever cause.",
    )
    only: Only


class Question(Entry):
    """Something to ask about how the thing was made or kept; answered yes, no or don't know."""

    kind: ClassVar[str] = "question"
    ask: Line = Field(
        description="The question, answered yes or no, for instance Was the flower picked in dew?"
    )
    explain: Text | None = Field(
        default=None, description="How to find the answer, for whoever does not know what is meant."
    )
    yes_otherwise: HowOften = Field(
        default=0.1,
        description="How often the answer is yes although no listed cause acts: sometimes, rarely, "
        "or a number such as 0.1.",
    )
    mistaken: HowOften = Field(
        default=0.05,
        description="How often the answer given is not the true one: rarely, or a number such as "
        "0.05.",
    )
    effort: Effort = "recall"
    since: Id | None = Field(
        default=None, description="The stage that the thing has reached where this is a yes."
    )
    rules_out: tuple[Ref("question"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Questions that cannot be a yes where this one is."
    )
    stop: Stop | None = Field(
        default=None, description="Where a yes means that the thing must not be used."
    )
    only: Only


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
    title: Line = Field(description="Title of the source as it can be looked up.")
    publisher: Line | None = Field(default=None, description="Who published it.")
    year: int | None = Field(
        default=None,
        ge=1500,
        le=2200,
        description="Year of the edition that was used, for instance 2019.",
    )
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
    certainty: Certainty = Field(
        description="seen (read in the source), computed, memory, practice (no published source)"
        " or invented."
    )


GHS_PATTERN = r"^(EUH\d{3}[A-Z]?|[HP]\d{3}[A-Za-z]{0,2}(\+[HP]\d{3}[A-Za-z]{0,2})*)$"
"""GHS codes, with the letters that some regions add (H360FD) and codes of their own (EUH066)."""


class HazardStatement(Part):
    """One GHS statement."""

    code: Annotated[str, StringConstraints(pattern=GHS_PATTERN)] = Field(
        description="The code as on the label, for instance H225 or P210."
    )
    text: Line = Field(description="The words that belong to it.")


class GhsLabel(Part):
    """What the label of a material says, with the revision its codes belong to."""

    revision: Line = Field(
        description="The revision of GHS that the codes belong to, for instance Rev. 9."
    )
    signal: Literal["Danger", "Warning"] | None = Field(
        default=None,
        description="Danger or Warning, as on the label; left out where it has neither.",
    )
    statements: tuple[HazardStatement, ...] = Field(
        min_length=1,
        description="The statements on the label, for instance {code: H225, text: Highly "
        "flammable liquid and vapour}.",
    )
    citation: Ref("citation") = Field(  # type: ignore[valid-type]
        description="Id of the source, for instance its safety data sheet."
    )


class TemperatureFact(Fact):
    """A temperature, with its source."""

    value: Temperature = Field(description="The temperature, for instance 71 degC.")


class DensityFact(Fact):
    """A density, with its source."""

    value: Density = Field(description="The density, for instance 0.95 g/mL.")


class Limit(Fact):
    """The most that may go in, as a share of the base or of the finished product."""

    most: Share = Field(description="The share that is still allowed, for instance 2 %.")
    of: Literal["base", "product"] = Field(
        description="base where it is a share of the base, product where it is a share of the "
        "whole."
    )


class Without(Fact):
    """A fact that does not exist, and who says so: left out and not known are not the same."""

    fact: Literal[
        "hazards", "limits", "flash-point", "highest-temperature", "calculator", "order"
    ] = Field(description="What there is none of.")


class Pack(Part):
    """A pack as bought."""

    amount: Amount = Field(description="How much is in it, for instance 250 mL.")
    price: Price = Field(
        description="What it costs, in the currency of the course, for instance 7.50 EUR."
    )
    seen: date | None = Field(
        default=None, description="The day on which the price was seen, for instance 2030-09-02."
    )


class CountedPack(Part):
    """A pack of things that are counted, as bought."""

    count: int = Field(ge=1, description="How many are in it, for instance 100.")
    price: Price = Field(
        description="What it costs, in the currency of the course, for instance 7.50 EUR."
    )
    seen: date | None = Field(
        default=None, description="The day on which the price was seen, for instance 2030-09-02."
    )


class CoolingReading(Part):
    """Two readings of a vessel that cools in the course's room."""

    mass: Mass = Field(description="How much was in it, for instance 113 g.")
    first: Temperature = Field(description="The first reading, for instance 70 degC.")
    second: Temperature = Field(
        description="The second reading, below the first, for instance 63 degC."
    )
    time: Duration = Field(description="From the first reading to the second, for instance 5 min.")
    citation: Ref("citation") | None = Field(  # type: ignore[valid-type]
        default=None, description="Id of the source of the readings."
    )

    @model_validator(mode="after")
    def _refuse_warming(self) -> CoolingReading:
        if self.second.base >= self.first.base or not self.time.base or not self.mass.base:
            raise ValueError("a vessel that cools has its second reading below the first, later")
        return self


class Material(Entry):
    """Something used up in the work, with what it can do to people and what limits it."""

    kind: ClassVar[str] = "material"
    name: Line = Field(description="Its name as readers see it, for instance Wheat paste.")
    summary: Text = Field(description="What it is and what it does, in a sentence or two.")
    label_name: Line | None = Field(
        default=None,
        description="What the label of the made thing calls it, for instance Triticum Vulgare.",
    )
    is_base: bool = Field(default=False, description="true for what shares of the base refer to.")
    hazards: tuple[Hazard, ...] = Field(
        default=(),
        description="What it can do to people, for instance [flammable]; hazard statements add "
        "to it.",
    )
    ghs: GhsLabel | None = Field(
        default=None, description="What the label on the pack says of hazards."
    )
    flash_points: tuple[TemperatureFact, ...] = Field(
        default=(), description="Closed-cup; where sources differ, all of them: the lowest governs."
    )
    highest_temperature: TemperatureFact | None = Field(
        default=None, description="Highest safe temperature of the material or of what holds it."
    )
    limits: tuple[Limit, ...] = Field(
        default=(), description="The most that may go in, each with its source."
    )
    density: DensityFact | None = Field(
        default=None,
        description="Mass of a volume, with its source, so that mL and g can be compared.",
    )
    computed_by: Ref("calculator") | None = Field(  # type: ignore[valid-type]
        default=None,
        description="Set where a wrong amount is dangerous: each amount in a lesson then says how "
        "this calculator gave it.",
    )
    computed_as: dict[str, str] = Field(
        default_factory=dict,
        description="Inputs of that calculator that this material settles, so that an amount "
        "worked out for another is not taken; for instance {kind: dry}.",
    )
    computed_output: str | None = Field(
        default=None,
        description="The output of that calculator that is the amount of this material; for "
        "instance dry_mass.",
    )
    goes_into: tuple[Ref("material"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Ids of what must be in the vessel before it, because the other way round is "
        "dangerous; for instance [water].",
    )
    attacks: tuple[Line, ...] = Field(
        default=(),
        description="What a vessel or tool that it touches must not be made of, a word each, for "
        "instance [zinc, copper].",
    )
    without: tuple[Without, ...] = Field(
        default=(),
        description="Facts that there truly are none of, each with its source: hazards, limits, "
        "flash-point, highest-temperature, order where it may go into anything, or calculator "
        "where no amount of it can be too much.",
    )
    packs: tuple[Pack, ...] = Field(
        default=(), description="Packs as bought, for instance {amount: 250 mL, price: 7.50 EUR}."
    )
    waste: Share | None = Field(
        default=None,
        description="The share lost to vessels and spills, bought on top; for instance 6 %.",
    )
    zone: Id | None = Field(
        default=None,
        description="The part of the room in which it is handled, as the course names it.",
    )
    keep: Text | None = Field(default=None, description="How to store it.")
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(),
        description="Ids of the sources of what it says, for instance its safety data sheet.",
    )


class Tool(Entry):
    """Something used and kept."""

    kind: ClassVar[str] = "tool"
    name: Line = Field(description="Its name as readers see it, for instance Soft brush.")
    summary: Text = Field(description="What it is for, in a sentence or two.")
    heats: bool = Field(default=False, description="true for what heats or can spark.")
    hazards: tuple[Hazard, ...] = Field(
        default=(), description="What it can do to people, for instance [hot, electric]."
    )
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
        description="Time one stands open after a flammable was in it before it may be used again, "
        "for instance 5 min.",
    )
    used_up: bool = Field(
        default=False, description="true for what is bought anew, for instance gloves."
    )
    packs: tuple[CountedPack, ...] = Field(
        default=(), description="Packs of what is used up, as bought."
    )
    made_of: tuple[Line, ...] = Field(
        default=(), description="What it is made of, a word each, for instance [glass]."
    )
    gives: tuple[Protection, ...] = Field(
        default=(), description="What it protects, or what it is at hand for; drills ask for it."
    )


class Applies(Part):
    """Where a caution attaches itself; any one match is enough."""

    hazards: tuple[Hazard, ...] = Field(
        default=(), description="Hazards of materials and tools, for instance [flammable]."
    )
    actions: tuple[Verb, ...] = Field(
        default=(), description="Actions of steps, for instance [heat]."
    )
    materials: tuple[Ref("material"), ...] = Field(default=(), description="Ids of materials.")  # type: ignore[valid-type]
    tools: tuple[Ref("tool"), ...] = Field(default=(), description="Ids of tools.")  # type: ignore[valid-type]


class Caution(Entry):
    """A warning: what can happen, and what to do, in that order."""

    kind: ClassVar[str] = "caution"
    signal: Literal["Danger", "Warning"] = Field(
        description="Danger where someone can be badly hurt, else Warning."
    )
    title: Line = Field(
        description="What it is about, in a few words, for instance Vapour catches fire."
    )
    happens: Text = Field(description="What can happen.")
    do: tuple[Text, ...] = Field(min_length=1, description="What to do, a line each.")
    first_aid: Text | None = Field(
        default=None, description="What to do when it has happened, in order."
    )
    tells: tuple[Protection, ...] = Field(
        default=(), description="What else it says how to do, for instance ventilation or spill."
    )
    applies: Applies = Field(
        default=Applies(),
        description="Where it attaches itself, for instance {hazards: [flammable]}.",
    )
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of what it says."
    )


class Term(Entry):
    """A word of the craft or the course, explained."""

    kind: ClassVar[str] = "term"
    name: Line = Field(description="The word, for instance Blotting.")
    text: Text = Field(description="What it means, in a sentence or two.")
    also: tuple[Line, ...] = Field(
        default=(), description="Other words that readers search for, for instance [drying]."
    )
    instead_of: tuple[Line, ...] = Field(
        default=(),
        description="Words that the texts of this course give up for this one; searched for too.",
    )


class Case(Entry):
    """One flawed thing on record: what was seen and answered, and what it turned out to be."""

    kind: ClassVar[str] = "case"
    old_names: ClassVar[Mapping[str, str]] = MappingProxyType(
        {
            "yes": "answered_yes",
            "true": "answered_yes",
            "no": "answered_no",
            "false": "answered_no",
        }
    )
    summary: Line = Field(description="What happened, in one sentence.")
    seen: tuple[Ref("symptom"), ...] = Field(  # type: ignore[valid-type]
        min_length=1, description="Ids of the signs that were there; at least one."
    )
    absent: tuple[Ref("symptom"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the signs that were looked for and not there."
    )
    # YAML 1.1 reads the keys yes and no as true and false, and writes them back so.
    answered_yes: tuple[Ref("question"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Questions answered yes; unknown ones are left out."
    )
    answered_no: tuple[Ref("question"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the questions answered no."
    )
    was: tuple[Ref("cause"), ...] = Field(  # type: ignore[valid-type]
        min_length=1, description="The causes it turned out to have."
    )
    origin: Literal["recorded", "invented"] = Field(
        default="recorded",
        description="Whether it was recorded from a real thing or invented as an example.",
    )
    context: dict[Id, Id] = Field(
        default_factory=dict,
        description="What was told of the course's contexts, for instance {made: here}.",
    )
    note: Line | None = Field(default=None, description="What else is known, in a line.")
