"""Calculators and the tables of facts they look things up in, as a content author writes them.

Everything here is text and structure. Formulas are checked, compiled and run elsewhere.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, StringConstraints, WithJsonSchema, model_validator

from builder.model.common import (
    Entry,
    Fact,
    Id,
    Level,
    Line,
    LineWithQuantities,
    Part,
    PlainText,
    Ref,
    Text,
)
from builder.model.knowledge import Certainty

Name = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,39}$")]
"""Name of an input, value or output in formulas: small letters, digits and `_`."""


def _read_typed(value: Any) -> Any:
    """Take a bare number as the text a reader would type: YAML reads `12` as a number."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return repr(value)
    return value


_TYPED_SCHEMA = WithJsonSchema({"type": ["string", "number"]})
Typed = Annotated[str, BeforeValidator(_read_typed), _TYPED_SCHEMA]
"""What a reader types into a field: `120 g`, `box`, `12`; rows as `name: 500 g, other: 200 g`."""
FormulaText = Annotated[
    str,
    BeforeValidator(_read_typed),
    StringConstraints(min_length=1, max_length=2000),
    _TYPED_SCHEMA,
]
"""A formula in Python's expression syntax, over inputs, constants and values declared before it."""
QuantityText = Annotated[
    str,
    BeforeValidator(_read_typed),
    StringConstraints(min_length=1, max_length=60),
    _TYPED_SCHEMA,
]
"""A number with its unit as text, for instance `113 g`; for plain numbers the number alone."""
UnitText = Annotated[str, StringConstraints(min_length=1, max_length=30)]
"""A unit; `1` for a plain number, `money` for the currency of the course (`money/hour`)."""
Message = Annotated[
    str,
    StringConstraints(min_length=1, max_length=400, strip_whitespace=True),
    PlainText(braces=True),
]
"""A plain sentence; `{name}` shows an input, value or output with its unit, `{20 g}` a quantity."""


class SureFact(Fact):
    """A fact with its source, and how sure it is where that differs from the source as a whole."""

    certainty: Certainty | None = Field(
        default=None, description="Left out: the certainty of the citation."
    )


class InputKind(StrEnum):
    """What an input takes."""

    QUANTITY = "quantity"
    NUMBER = "number"
    COUNT = "count"
    CHOICE = "choice"
    ROWS = "rows"
    TEXT = "text"


class ColumnKind(StrEnum):
    """What a column of a row input takes; `amount` is any measure, the same along a row."""

    QUANTITY = "quantity"
    NUMBER = "number"
    COUNT = "count"
    CHOICE = "choice"
    TEXT = "text"
    AMOUNT = "amount"


class SameName(StrEnum):
    """What is done with rows that bear the same name in their first column."""

    KEEP = "keep"
    ADD = "add"
    REFUSE = "refuse"


class Bounds(Part):
    """The values that are accepted; each bound a quantity as text."""

    at_least: QuantityText | None = Field(default=None, description="Smallest value accepted.")
    more_than: QuantityText | None = Field(
        default=None, description="Values must lie above this; it is not accepted itself."
    )
    at_most: QuantityText | None = Field(default=None, description="Largest value accepted.")
    less_than: QuantityText | None = Field(
        default=None, description="Values must lie below this; it is not accepted itself."
    )
    bounds_note: Message | None = Field(
        default=None, description="Why there is a bound; added to the message that refuses a value."
    )

    @model_validator(mode="after")
    def _check_pairs(self) -> Bounds:
        if self.at_least is not None and self.more_than is not None:
            raise ValueError("write at_least or more_than, not both")
        if self.at_most is not None and self.less_than is not None:
            raise ValueError("write at_most or less_than, not both")
        return self


class Column(Bounds):
    """One column of a row input."""

    label: Line = Field(description="Words above the column, for instance Mass.")
    kind: ColumnKind = Field(
        description="quantity, number, count, choice, text or amount (any measure, the same "
        "along a row)."
    )
    unit: UnitText | None = Field(default=None, description="For a quantity: its unit.")
    table: Ref("table") | None = Field(  # type: ignore[valid-type]
        default=None, description="For a choice: the table whose rows may be chosen."
    )
    choices: dict[Id, Line] = Field(default_factory=dict, description="For a choice: id to label.")
    optional: bool = Field(default=False, description="true where it may be left empty.")
    help: LineWithQuantities | None = Field(
        default=None, description="Where the number comes from, in a line."
    )

    @model_validator(mode="after")
    def _check_kind(self) -> Column:
        _check_unit(self.kind == ColumnKind.QUANTITY, self.unit)
        _check_choices(self.kind == ColumnKind.CHOICE, self.choices, self.table)
        return self


class CalculatorInput(Bounds):
    """One field that a reader fills in."""

    label: Line = Field(description="Words beside the field, for instance Water.")
    kind: InputKind = Field(
        default=InputKind.QUANTITY, description="quantity, number, count, choice, rows or text."
    )
    unit: UnitText | None = Field(
        default=None, description="For a quantity: the unit a bare number is read in."
    )
    units: tuple[UnitText, ...] = Field(
        default=(), description="Units offered beside the field; left out: the usual ones."
    )
    default: Typed | None = Field(
        default=None,
        description="What the field holds at first, as a reader would type it; rows as"
        " `name: 500 g, other: 200 g`.",
    )
    optional: bool = Field(default=False, description="true where it may be left empty.")
    choices: dict[Id, Line] = Field(default_factory=dict, description="For a choice: id to label.")
    table: Ref("table") | None = Field(  # type: ignore[valid-type]
        default=None, description="For a choice: the table whose rows may be chosen."
    )
    columns: dict[Name, Column] = Field(
        default_factory=dict, description="For rows: the columns, in order."
    )
    least_rows: int = Field(
        default=1, ge=1, le=100, description="For rows: how many at least, for instance 2."
    )
    most_rows: int = Field(
        default=30, ge=1, le=200, description="For rows: how many at most, for instance 12."
    )
    same_name: SameName = Field(
        default=SameName.KEEP,
        description="For rows that bear one name in their first column: keep them apart, add their"
        " numbers, or refuse them.",
    )
    error: QuantityText | None = Field(
        default=None,
        description="For a quantity: how far off a reading may be, for instance `1 delta_degC` for"
        " a thermometer or `1 mm` for a ruler; answers then show the band they lie in.",
    )
    error_share: QuantityText | None = Field(
        default=None,
        description="For a quantity: how far off it may be as a share of itself, as in `5 %`.",
    )
    required: bool = Field(
        default=False,
        description="true where our example must never stand for the reader's own value: once"
        " anything is given, answers that need this are left out until it is given too.",
    )
    help: LineWithQuantities | None = Field(
        default=None, description="Where the number comes from, in a line."
    )
    repeats: (
        Literal[
            "flash-point", "limit-of-base", "limit-of-product", "density", "base", "dose", "room"
        ]
        | None
    ) = Field(
        default=None,
        description="Which fact of the lesson's materials it is; a lesson that fills it in is "
        "then held against them.",
    )
    shown_when: FormulaText | None = Field(
        default=None, description="Condition over choice inputs; else hidden and not checked."
    )

    @model_validator(mode="after")
    def _check_kind(self) -> CalculatorInput:
        _check_unit(self.kind == InputKind.QUANTITY, self.unit)
        _check_choices(self.kind == InputKind.CHOICE, self.choices, self.table)
        if (self.kind == InputKind.ROWS) != bool(self.columns):
            raise ValueError("rows need columns, and only rows have them")
        if self.kind != InputKind.ROWS and self.same_name != SameName.KEEP:
            raise ValueError("only rows have same_name")
        if self.kind != InputKind.QUANTITY and (self.error or self.error_share):
            raise ValueError("only a quantity has an error")
        if self.required and (self.optional or self.default is None):
            raise ValueError("an input that is required has a default, which is our example")
        if self.default is None and not self.optional:
            raise ValueError("an input has a default, or is optional")
        return self


def _check_unit(wanted: bool, unit: str | None) -> None:
    if wanted and unit is None:
        raise ValueError("a quantity needs a unit")
    if not wanted and unit is not None:
        raise ValueError("only a quantity has a unit")


def _check_choices(wanted: bool, choices: dict[str, str], table: str | None) -> None:
    if wanted and bool(choices) == (table is not None):
        raise ValueError("a choice needs either choices or a table")
    if not wanted and (choices or table is not None):
        raise ValueError("only a choice has choices or a table")


class Constant(SureFact):
    """A fixed number that formulas use, with its source."""

    label: Line = Field(description="What it is, in words, for instance Share of starch.")
    value: QuantityText = Field(description="The number with its unit, for instance 0.1 g/mL.")


class Rounding(StrEnum):
    """Which way a number is rounded when it is shown."""

    NEAREST = "nearest"
    DOWN = "down"
    UP = "up"


class Rounded(Part):
    """How a number is shown; the value itself is never rounded."""

    significant: int | None = Field(
        default=None, ge=1, le=9, description="Significant figures, for instance 3."
    )
    places: int | None = Field(
        default=None, ge=0, le=9, description="Decimal places, for instance 1."
    )
    rounding: Rounding = Field(
        default=Rounding.NEAREST,
        description="Which way it is rounded, in both systems: down for a most (a dose, a limit),"
        " up for a least (a wait, a peak); nearest for the rest.",
    )

    @model_validator(mode="after")
    def _check_one(self) -> Rounded:
        if self.significant is not None and self.places is not None:
            raise ValueError("write significant or places, not both")
        return self


class Value(Rounded):
    """A step on the way, named so that later formulas and messages can use it."""

    formula: FormulaText = Field(
        description="How it is worked out, in names of inputs, constants and earlier values, for"
        " instance water * share."
    )
    label: Line | None = Field(
        default=None,
        description="What it is, in words; needed where a message or the page shows it.",
    )
    unit: UnitText | None = Field(
        default=None, description="Needed where a message or the page shows it."
    )


class TextCase(Part):
    """One of the texts an output may show; the first whose condition holds is taken."""

    when: FormulaText | None = Field(default=None, description="Left out: in all other cases.")
    text: Message = Field(
        description="What is shown, in a sentence; {name} shows a value with its unit."
    )


class Output(Rounded):
    """One answer: a number by `formula` and `unit`, names by `formula`, or a text by `cases`."""

    label: Line = Field(description="Words beside the answer, for instance Starch.")
    formula: FormulaText | None = Field(
        default=None, description="How it is worked out, for instance water * share."
    )
    unit: UnitText | None = Field(default=None, description="Unit the answer is given in.")
    cases: tuple[TextCase, ...] = Field(default=(), description="For an answer in words.")
    empty: Line | None = Field(
        default=None, description="For names: what is shown when there are none."
    )
    us: bool = Field(
        default=True, description="true where the US side is shown too; false for what has none."
    )
    shown_when: FormulaText | None = Field(
        default=None, description="Condition; where it fails the answer is left out."
    )
    note: Line | None = Field(default=None, description="What to bear in mind, in a line.")
    main: bool = Field(default=False, description="true for the answer shown largest.")

    @model_validator(mode="after")
    def _check_one_way(self) -> Output:
        if (self.formula is None) == (not self.cases):
            raise ValueError("an output has a formula or cases")
        if self.cases and self.unit is not None:
            raise ValueError("an answer in words has no unit")
        return self


class Refusal(Part):
    """A condition under which there is no answer, and the sentence that says why."""

    when: FormulaText = Field(
        description="Condition under which there is no answer, for instance water < 10 * starch."
    )
    message: Message = Field(
        description="The sentence that says why and what to do; {name} shows a value with its unit."
    )
    input: Name = Field(description="The input to look at.")


class WarningLevel(StrEnum):
    """How a warning is set; danger is for harm to people."""

    NOTE = "note"
    WARNING = "warning"
    DANGER = "danger"


class CalculatorWarning(Part):
    """Something to know beside the answer."""

    when: FormulaText | None = Field(
        default=None,
        description="Condition under which it is shown, as in share > 0.2; left out: always.",
    )
    message: Message = Field(
        description="What to say, in a sentence; {name} shows a value with its unit."
    )
    level: WarningLevel = Field(
        default=WarningLevel.WARNING,
        description="note, warning or danger; danger is for harm to people.",
    )


class Example(SureFact):
    """A worked answer from outside, run again at every check."""

    name: Line = Field(
        description="What the example is, in a few words, for instance A small batch."
    )
    inputs: dict[Name, Typed] = Field(
        default_factory=dict, description="What a reader would type; the rest take their defaults."
    )
    outputs: dict[Name, Typed] = Field(
        default_factory=dict,
        description="Expected answers: `19.43 min ± 0.02`, in the unit of the output or another of"
        " its kind; without `±` the answer must agree to the last digit written. An answer in"
        " words or names is written as shown.",
    )
    warnings: tuple[Id, ...] | None = Field(
        default=None, description="Warnings that must come, and no others; left out: not checked."
    )
    refused: Name | None = Field(
        default=None, description="Name of the input at which it must be refused."
    )

    @model_validator(mode="after")
    def _check_expectation(self) -> Example:
        if bool(self.outputs) == (self.refused is not None):
            raise ValueError("an example has outputs, or is refused")
        return self


class PlotAxis(Part):
    """An axis of a plot."""

    label: Line = Field(description="Words along the axis, for instance Time.")
    unit: UnitText = Field(description="Unit along the axis, for instance min.")


class SweptAxis(PlotAxis):
    """The horizontal axis: a name that runs over a range while everything else stands.

    Where the name is that of an input, all values are worked out again at each place.
    """

    name: Name = Field(description="The input or value that runs along the axis.")
    start: FormulaText = Field(
        description="Where it begins, as a formula, for instance 0 or water / 2."
    )
    end: FormulaText = Field(description="Where it ends, as a formula, for instance 2 * water.")


class PlotCurve(Part):
    """A line over the swept name."""

    label: Line = Field(description="What the line is, in a few words.")
    formula: FormulaText = Field(description="Its height at each place, as a formula.")
    dashed: bool = Field(default=False, description="true where the line is drawn dashed.")


class PlotBand(Part):
    """A soft band between two heights."""

    label: Line = Field(description="What the band is, in a few words.")
    low: FormulaText = Field(description="Its lower edge, as a formula.")
    high: FormulaText = Field(description="Its upper edge, as a formula.")


class PlotMark(Part):
    """A point with a label."""

    label: Line = Field(description="What the point is, in a few words.")
    x: FormulaText = Field(description="Where it is along, as a formula.")
    y: FormulaText = Field(description="How high it is, as a formula.")


class Plot(Part):
    """A picture of how an answer runs."""

    title: Line = Field(description="What the picture shows, in a few words.")
    x: SweptAxis = Field(
        description="The axis along: the input or value that runs, and from where to where."
    )
    y: PlotAxis = Field(description="The axis upwards: its words and its unit.")
    curves: tuple[PlotCurve, ...] = Field(
        min_length=1, max_length=6, description="The lines; one to six."
    )
    bands: tuple[PlotBand, ...] = Field(
        default=(),
        max_length=3,
        description="Soft bands between two heights, for instance where it is safe.",
    )
    marks: tuple[PlotMark, ...] = Field(
        default=(),
        max_length=8,
        description="Points with a label, for instance where the answer is now.",
    )


class Reading(Part):
    """How a step of the calculation reads: in words, and in symbols."""

    words: Line = Field(
        description="The step in words, for instance Starch is a tenth of the water."
    )
    symbols: Line = Field(description="The step in symbols, for instance s = w / 10.")


class ValueTable(Part):
    """A small table of answers that stands on the page without script."""

    input: Name = Field(description="The input that differs from row to row.")
    values: tuple[Typed, ...] = Field(
        min_length=2,
        max_length=12,
        description="What it is in each row, for instance [100 mL, 200 mL, 500 mL]; two to twelve.",
    )
    outputs: tuple[Name, ...] = Field(
        min_length=1, max_length=4, description="The answers shown, one to four."
    )
    inputs: dict[Name, Typed] = Field(
        default_factory=dict, description="Other inputs, if not default."
    )


class Calculator(Entry):
    """A calculator: what it asks, how it computes, what it answers, and when it does not hold."""

    kind: ClassVar[str] = "calculator"
    name: Line = Field(description="Its name as readers see it, for instance Water for paste.")
    summary: Line = Field(description="What it is for, in one sentence.")
    group: Line | None = Field(default=None, description="Heading it stands under in the list.")
    level: Level | None = Field(default=None, description="Left out: for everyone.")
    about: Text | None = Field(default=None, description="When to use it and how to measure.")
    inputs: dict[Name, CalculatorInput] = Field(
        min_length=1,
        description="What is asked, by the name that formulas use, in order; at least one.",
    )
    constants: dict[Name, Constant] = Field(
        default_factory=dict, description="Fixed numbers that formulas use, each with its source."
    )
    values: dict[Name, Value] = Field(
        default_factory=dict, description="Steps in order; each may use those before it."
    )
    refusals: tuple[Refusal, ...] = Field(
        default=(), description="Checked in order, as soon as what they need is known."
    )
    outputs: dict[Name, Output] = Field(
        min_length=1, description="What is answered, by name, in order; at least one."
    )
    warnings: dict[Id, CalculatorWarning] = Field(
        default_factory=dict,
        description="What to say beside an answer when a condition holds, by id.",
    )
    examples: tuple[Example, ...] = Field(
        min_length=2,
        description="Worked answers from outside, run again at every check; at least two.",
    )
    readings: tuple[Reading, ...] = Field(
        min_length=1, description="The formula in words and in symbols, step by step."
    )
    where: dict[Line, Line] = Field(
        default_factory=dict, description="What each symbol stands for."
    )
    limits: Text = Field(description="When the model does not hold, and how far off it may be.")
    plot: Plot | None = Field(default=None, description="A picture of how an answer runs.")
    table: ValueTable | None = Field(
        default=None,
        description="A small table of answers that stands on the page without a script.",
    )
    lesson: Ref("lesson") | None = Field(  # type: ignore[valid-type]
        default=None, description="The lesson that teaches it."
    )
    cautions: tuple[Ref("caution"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of cautions to show with it."
    )
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of the calculation."
    )


class Cell(SureFact):
    """A value of a table: one quantity, or a range written `184 to 196 mg/g`."""

    value: QuantityText = Field(
        description="The number with its unit, or a range, for instance 184 to 196 mg/g."
    )


class TableColumn(Part):
    """A column of a table; all its cells are of the dimension of its unit."""

    label: Line = Field(description="Words above the column.")
    unit: UnitText = Field(description="Unit of its cells, for instance mg/g; 1 for plain numbers.")
    note: Line | None = Field(default=None, description="What to bear in mind, in a line.")


class TableRow(Part):
    """A row of a table. Where sources disagree, a cell holds them all, in any order."""

    name: Line = Field(description="What the row is of, as readers see it.")
    also: tuple[Line, ...] = Field(default=(), description="Other names a reader may type.")
    values: dict[Name, tuple[Cell, ...]] = Field(
        min_length=1, description="Cells by column; where sources disagree, several."
    )
    note: Line | None = Field(default=None, description="What to bear in mind, in a line.")


class Table(Entry):
    """Facts in rows that calculators look up, each with its source."""

    kind: ClassVar[str] = "table"
    name: Line = Field(description="Its name as readers see it.")
    summary: Text = Field(
        description="What the facts are and where they come from, in a sentence or two."
    )
    columns: dict[Name, TableColumn] = Field(
        min_length=1, description="Its columns by the name that formulas use, in order."
    )
    rows: dict[Id, TableRow] = Field(min_length=1, description="Its rows by id.")
    steps_by: Name | None = Field(
        default=None, description="Column that holds where each row begins, for look-up by size."
    )
    citations: tuple[Ref("citation"), ...] = Field(  # type: ignore[valid-type]
        default=(), description="Ids of the sources of the table as a whole."
    )


__all__ = [
    "Bounds",
    "Calculator",
    "CalculatorInput",
    "CalculatorWarning",
    "Cell",
    "Column",
    "ColumnKind",
    "Constant",
    "Example",
    "InputKind",
    "Output",
    "Plot",
    "PlotAxis",
    "PlotBand",
    "PlotCurve",
    "PlotMark",
    "Reading",
    "Refusal",
    "Rounding",
    "SameName",
    "SweptAxis",
    "Table",
    "TableColumn",
    "TableRow",
    "TextCase",
    "Value",
    "ValueTable",
    "WarningLevel",
]
