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


class FixData(TypedDict):
    """A fix: which causes it mends how well, for which batch, at what cost in minutes."""

    id: str
    when: Literal["now", "next"]
    cost_minutes: float
    mends: Sequence[Link]
    discards: bool
    forbidden: bool


class Network(TypedDict):
    """The whole network."""

    causes: Sequence[CauseData]
    defects: Sequence[DefectData]
    symptoms: Sequence[SymptomData]
    questions: Sequence[QuestionData]
    fixes: Sequence[FixData]


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
    evidence_probability: float
    causes: list[Ranked]
    defects: list[Ranked]
    left_out: list[str]


class NextQuestion(TypedDict):
    """What to ask or look for next, and the information expected from it, in bits."""

    id: str
    kind: Literal["symptom", "question"]
    gain: float


class RankedFix(TypedDict):
    """A fix worth offering: what it is expected to mend, and that over its cost."""

    id: str
    when: Literal["now", "next"]
    mends: float
    ratio: float


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


class IndexedFix(TypedDict):
    """A fix with its causes as numbers."""

    id: str
    when: Literal["now", "next"]
    cost_minutes: float
    causes: list[int]
    chances: list[float]
    discards: bool
    forbidden: bool


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
    fixes: list[IndexedFix]


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
    """What the two passes leave behind: odds of the causes, and what further steps need."""

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
