"""Shapes of the plain data that diagnosis works on.

Everything is lists, mappings, numbers and text, so that a page carries as JSON the same network
that the terminal uses in memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypedDict

Link = tuple[str, float]
"""Id of what is brought about, and the chance that this one link does it, between 0 and 1."""
QuestionLink = tuple[str, float, float]
"""Id of a question, chance that the cause when acting makes its telling answer come out, and the
same chance while the cause does not act (0 for most; above the first where the answer speaks
against the cause)."""


class CauseData(TypedDict):
    """A cause: how often it acts, the defects it brings about, the answers it makes likely."""

    id: str
    prior: float
    defects: Sequence[Link]
    questions: Sequence[QuestionLink]


class DefectData(TypedDict):
    """A defect: how often it comes without a listed cause, and the symptoms it shows."""

    id: str
    leak: float
    symptoms: Sequence[Link]


class SymptomData(TypedDict):
    """A symptom: how often it is seen without any defect that lists it."""

    id: str
    leak: float


class QuestionData(TypedDict):
    """A question: its telling answer, and how often that comes without any listed cause."""

    id: str
    leak: float
    telling: Literal["yes", "no"]


class Network(TypedDict):
    """The whole network."""

    causes: Sequence[CauseData]
    defects: Sequence[DefectData]
    symptoms: Sequence[SymptomData]
    questions: Sequence[QuestionData]


class Findings(TypedDict):
    """What is known: symptoms present and absent, questions answered yes and no.

    Whatever is in none of these lists is unknown. `skipped` holds ids that were asked about and not
    known; they count for nothing and are not asked again.
    """

    present: Sequence[str]
    absent: Sequence[str]
    yes: Sequence[str]
    no: Sequence[str]
    skipped: Sequence[str]


class Ranked(TypedDict):
    """One cause or defect with its probability.

    `linked` is true where a finding has to do with it: the cause can explain something positive, or
    the defect shows a symptom that is seen; or what is known made it likelier than it is before
    anything is known. The others stand where they stand by being common, and nothing more.
    """

    id: str
    probability: float
    linked: bool


class Diagnosis(TypedDict):
    """What `infer` gives: most probable first, equal ones by id."""

    possible: bool
    exact: bool
    evidence_probability: float
    causes: list[Ranked]
    defects: list[Ranked]


class NextQuestion(TypedDict):
    """What to ask or look for next, and the information expected from it, in bits."""

    id: str
    kind: Literal["symptom", "question"]
    gain: float


class Reason(TypedDict):
    """How far one finding moved one cause: bits of log-odds, above 0 where it speaks for it."""

    id: str
    kind: Literal["symptom", "question"]
    answer: Literal["yes", "no"]
    sign: Literal[-1, 1]
    bits: float


class Explanation(TypedDict):
    """The findings that moved a cause, strongest first."""

    id: str
    because: list[Reason]


class IndexedNetwork(TypedDict):
    """The network as parallel lists, entries sorted by id and referred to by number.

    Findings are numbered symptoms first, then questions. A place is the position of a link in the
    list of its cause.
    """

    cause_ids: list[str]
    priors: list[float]
    cause_defects: list[list[int]]
    cause_chances: list[list[float]]
    cause_questions: list[list[int]]
    acting_chances: list[list[float]]
    resting_chances: list[list[float]]
    defect_ids: list[str]
    defect_leaks: list[float]
    defect_symptoms: list[list[int]]
    symptom_chances: list[list[float]]
    defect_causes: list[list[int]]
    defect_places: list[list[int]]
    finding_ids: list[str]
    finding_leaks: list[float]
    telling_no: list[bool]
    finding_defects: list[list[int]]
    finding_chances: list[list[float]]
    finding_causes: list[list[int]]
    finding_places: list[list[int]]
    symptom_count: int


class EvidencePart(TypedDict):
    """The instance of one defect within a mechanism: which findings seen it may show."""

    defect: int
    weight: float
    bits: list[int]
    chances: list[float]


class Mechanism(TypedDict):
    """One independent thing that may explain findings seen: a cause, or a defect's background."""

    cause: int
    defect: int
    acting: float
    resting: float
    parts: list[EvidencePart]
    answer_bits: list[int]
    acting_chances: list[float]
    resting_chances: list[float]


class Conditioned(TypedDict):
    """The network after the negative findings: same shape, other numbers."""

    acting: list[float]
    resting: list[float]
    weights: list[list[float]]
    leaks: list[float]
    mantissa: float
    exponent: int


class Beliefs(TypedDict):
    """What the two passes leave behind: odds of the causes, and what further steps need.

    `exact` is false where the work was too much and `propagation.py` took over; then there are no
    tables, `shown` holds for each mechanism the chance of each of its parts, and the probability of
    the evidence is not known (`mantissa` 1).
    """

    possible: bool
    acting: list[float]
    resting: list[float]
    mantissa: float
    exponent: int
    conditioned: Conditioned
    positive: list[int]
    mechanisms: list[Mechanism]
    backgrounds: list[Mechanism]
    start: list[float]
    scales: list[float]
    total: float
    exact: bool
    tables: list[list[float]]
    endings: list[list[float]]
    shown: list[list[float]]


class Only(TypedDict):
    """A context, and its options for which something holds; while nothing is told it holds."""

    context: str
    options: Sequence[str]


class StopRule(TypedDict):
    """What forbids the use of the thing: a sign seen, a yes, a likely defect or cause."""

    by: str
    kind: Literal["symptom", "question", "defect", "cause"]
    only: Sequence[Only]
    ask_first: bool


class Saving(TypedDict):
    """A fix saves from a defect this often; `cause` "" stands for any cause."""

    defect: str
    cause: str
    helps: float


class Remedy(TypedDict):
    """A fix as the plan weighs it; `until` numbers the last stage at which it helps, or is -1."""

    id: str
    when: Literal["now", "next"]
    cost_minutes: float
    until: int
    discards: bool
    sets_aside: bool
    checks: bool
    saves: Sequence[Saving]
    prevents: Sequence[Link]


class FindingNote(TypedDict):
    """What the plan knows of a symptom or question beside its chances.

    `unpicked` is how strongly a picture left unpicked speaks against it (0 not at all), `since` the
    number of the stage reached where it is there, or -1.
    """

    id: str
    kind: Literal["symptom", "question"]
    effort_minutes: float
    unpicked: float
    since: int
    rules_out: Sequence[str]
    only: Sequence[Only]


class Narrowing(TypedDict):
    """A defect or cause that comes in question only in some contexts."""

    id: str
    kind: Literal["defect", "cause"]
    only: Sequence[Only]


class ContextRule(TypedDict):
    """A context that is asked: its options in order, and whether they are stages of making."""

    id: str
    options: Sequence[str]
    stages: bool


class Guide(TypedDict):
    """All that a plan needs beside the network."""

    unlisted: str
    stakes: Sequence[Link]
    stops: Sequence[StopRule]
    remedies: Sequence[Remedy]
    notes: Sequence[FindingNote]
    narrowings: Sequence[Narrowing]
    contexts: Sequence[ContextRule]


class Told(TypedDict):
    """All that a person has told: findings, and what the plan alone goes by.

    `context` holds pairs of context and option, `passed` the contexts that were skipped; `fits` is
    false after "none of these fits"; `more` asks for questions beyond what is worth asking.
    """

    findings: Findings
    context: Sequence[Sequence[str]]
    passed: Sequence[str]
    fits: bool
    more: bool


class Chance(TypedDict):
    """An id with its probability."""

    id: str
    probability: float


class PlannedCause(TypedDict):
    """A cause with its probability, and the findings that moved it."""

    id: str
    probability: float
    because: list[Reason]


class Lead(TypedDict):
    """A fault that explains something seen, with the likeliest causes to have brought it."""

    id: str
    probability: float
    causes: list[Chance]
    signs: list[str]


class StopFound(TypedDict):
    """What forbids the use of the thing, and how it was found."""

    by: str
    kind: Literal["symptom", "question", "defect", "cause"]
    probability: float


class PlannedFix(TypedDict):
    """A fix that is offered. `until` numbers the stage it can be done up to, or is -1."""

    id: str
    when: Literal["now", "next"]
    ratio: float
    mends: float
    until: int


class PlannedQuestion(TypedDict):
    """What to ask next, and what the answer is worth in minutes."""

    id: str
    kind: Literal["symptom", "question", "context"]
    gain: float


class Plan(TypedDict):
    """What `make_plan` gives; everything that is shown is drawn from it."""

    verdict: Literal["explained", "partly", "not-known"]
    stop: list[StopFound]
    hold: list[StopFound]
    unexplained: float
    unexplained_signs: list[str]
    conflicts: list[list[str]]
    leads: list[Lead]
    defects: list[Chance]
    causes: list[PlannedCause]
    next_question: PlannedQuestion | None
    fixes: list[PlannedFix]
    nothing_saves: list[str]
    exact: bool


class Piece(TypedDict):
    """A piece of a line: plain text, or the name of an entry that a page links to."""

    text: str
    kind: str
    id: str


class PlanLine(TypedDict):
    """One line of what is shown: its role, what it is about, and its words."""

    role: str
    id: str
    text: str
    pieces: list[Piece]


class StopText(TypedDict):
    """Why a thing must not be used, what to do with it, and whom to ask ("" where nobody)."""

    reason: str
    do: list[str]
    ask: str


class Texts(TypedDict):
    """The words of a course that a plan is told in.

    `names` holds the names of entries by "kind:id" (for a question what it asks), `stops` their
    reasons and steps by "kind:id", `unsaved` by defect why nothing saves it, `usable` the defects
    that say whether the thing may be used, `discards` the fixes that throw it away, `stages` the
    stages of making in order, `likelihoods` the words for probabilities from the highest down, and
    `phrases` the builder's own words.
    """

    names: dict[str, str]
    stops: dict[str, StopText]
    unsaved: dict[str, str]
    usable: dict[str, bool]
    discards: dict[str, bool]
    stages: list[str]
    likelihoods: Sequence[tuple[float, str]]
    phrases: dict[str, str]
