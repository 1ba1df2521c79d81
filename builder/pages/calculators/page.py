"""The page of one calculator: at work, then its formula, limits, examples, values and sources."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup, escape

from builder.calculators import CompiledCalculator
from builder.model import Calculator, Certainty, Lesson, Table
from builder.model.calculators import Example
from builder.pages.calculators.embed import render_live, render_scripts, write_hash
from builder.pages.calculators.fields import write_typed
from builder.pages.knowledge.views import (
    SourceView,
    describe_citations,
    view_source,
    view_sources,
)
from builder.pages.maker import PageMaker
from builder.pages.prose import both_systems, plain
from builder.pages.records import Page
from builder.pages.schema_org import Structured, describe_part, describe_thing
from builder.quantities import unit_key
from builder.twin import calculators as runtime
from builder.twin.number_format import format_both, join_unit
from builder.twin.quantities import find_key, find_unit
from builder.twin.unit_table import UNITS
from builder.units import UnitError, parse_quantity
from builder.words import Words

EXAMPLES_OPEN = 2
"""Worked examples shown in full; the others are folded."""
_EXPECTED = re.compile(r"([-+−]?[\d.]+(?:[eE][-+]?\d+)?)\s*([^±]*?)\s*(?:±\s*(\S+))?\s*")
_LOWERED = re.compile(r"_(\w+)")


@dataclass(frozen=True, slots=True)
class ExampleView:
    """A worked answer from outside.

    Args:
        name: What it is about.
        link: The part of a link that fills its values in.
        inputs: Label and texts of what is filled in.
        answers: Label, the source's figure, and what the calculator gives.
        refused: The calculator's refusal, where it must refuse.
        source: Where it comes from.
        note: More about it, or "".
    """

    name: str
    link: str
    inputs: tuple[tuple[str, tuple[str, ...]], ...]
    answers: tuple[tuple[str, str, Markup], ...]
    refused: str
    source: SourceView
    note: str


@dataclass(frozen=True, slots=True)
class ValueRow:
    """A row of the table of values."""

    typed: str
    answers: tuple[Markup, ...]


@dataclass(frozen=True, slots=True)
class FactTable:
    """A table of facts that the calculator looks things up in.

    Args:
        table: The entry.
        columns: The columns that hold facts to read, by name.
        rows: Name and cells; a cell lists what each source says.
    """

    table: Table
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[tuple[tuple[str, SourceView, str], ...], ...]], ...]


def make_calculator_page(maker: PageMaker, calculator: Calculator) -> Page:
    """Make the page of a calculator."""
    compiled = maker.course.compile(calculator.id)
    address = f"calculators/{calculator.id}/"
    library = maker.library
    lead, sections = maker.make_parts(
        "calculator.html.j2",
        address,
        calculator=calculator,
        live=render_live(maker, compiled, address),
        scripts=render_scripts(address, (calculator.id,)),
        formulas=[(each.words, write_symbols(each.symbols)) for each in calculator.readings],
        where=[(write_symbols(sign), meaning) for sign, meaning in calculator.where.items()],
        examples=[view_example(maker, compiled, each) for each in calculator.examples],
        examples_open=EXAMPLES_OPEN,
        values=view_values(maker, compiled),
        constants=view_constants(maker, calculator),
        tables=[
            view_table(maker, library.tables[name], _list_looked_up(compiled))
            for name in compiled.description["tables"]
        ],
        cautions=[library.cautions[name] for name in calculator.cautions],
        uses=list_uses(maker, calculator),
        sources=view_sources(maker, _list_sources(calculator)),
    )
    return Page(
        address=address,
        title=calculator.name,
        description=calculator.summary,
        lead=lead,
        sections=sections,
        kind="calculator",
        structured=describe_calculator_page(maker, calculator),
        anchors=frozenset(f"caution-{name}" for name in calculator.cautions),
    )


def write_symbols(text: str) -> Markup:
    """Write a formula: what follows `_` is set lower, as in `T_room`."""
    return Markup(_LOWERED.sub(r"<sub>\1</sub>", str(escape(text))))


def view_example(maker: PageMaker, compiled: CompiledCalculator, example: Example) -> ExampleView:
    """Show a worked example beside what the calculator gives for it."""
    result = compiled.calculate(example.inputs)
    labels = {each["id"]: each["label"] for each in compiled.description["outputs"]}
    citation = maker.library.citations[example.citation]
    source = view_source(maker, citation, example.certainty)
    none = maker.words.html("calculator.none")
    answers = []
    for name, expected in example.outputs.items():
        found = result.outputs.get(name)
        ours = both_systems(str(found["text"]), str(found["us"])) if found else none
        answers.append((labels[name], write_expected(maker.words, compiled, name, expected), ours))
    return ExampleView(
        name=example.name,
        link=write_hash(example.inputs),
        inputs=tuple(
            (compiled.entry.inputs[name].label, tuple(write_typed(compiled, name, typed)))
            for name, typed in example.inputs.items()
        ),
        answers=tuple(answers),
        refused=" ".join(error["message"] for error in result.errors) if example.refused else "",
        source=source,
        note=example.note or "",
    )


def write_expected(words: Words, compiled: CompiledCalculator, name: str, expected: str) -> str:
    """Write the figure of a source, `19.43 min ± 0.02`, with the signs of its units."""
    described = next(each for each in compiled.description["outputs"] if each["id"] == name)
    parts = _EXPECTED.fullmatch(expected)
    if described["form"] != "number" or parts is None:
        return expected
    unit = find_unit(compiled.description["units"], parts[2]) if parts[2] else None
    text = join_unit(parts[1].replace("-", "−"), str(unit[3]) if unit else parts[2])
    return words.text("calculator.within", text=text, tolerance=parts[3]) if parts[3] else text


def view_values(
    maker: PageMaker,
    compiled: CompiledCalculator,
) -> tuple[str, tuple[str, ...], tuple[str, ...], tuple[ValueRow, ...]] | None:
    """Make the small table of answers: its input, what else is filled in, outputs, rows."""
    table = compiled.entry.table
    if table is None:
        return None
    none = maker.words.html("calculator.none")
    outputs = {each["id"]: each["label"] for each in compiled.description["outputs"]}
    rows = []
    for typed in table.values:
        result = compiled.calculate({**table.inputs, table.input: typed})
        cells = tuple(_show_answer(result.outputs.get(name), none) for name in table.outputs)
        rows.append(ValueRow(" ".join(write_typed(compiled, table.input, typed)), cells))
    inputs = compiled.entry.inputs
    shown = runtime.list_shown(compiled.description, compiled.formulas, dict(table.inputs))
    others = tuple(
        f"{each.label}: {', '.join(write_typed(compiled, name, typed))}"
        for name, each in inputs.items()
        if name != table.input
        and name in shown
        and (typed := table.inputs.get(name, each.default or ""))
    )
    heads = tuple(outputs[name] for name in table.outputs)
    return inputs[table.input].label, others, heads, tuple(rows)


def _show_answer(answer: Mapping[str, str] | None, none: Markup) -> Markup:
    return both_systems(answer["text"], answer["us"]) if answer else none


def view_constants(
    maker: PageMaker, calculator: Calculator
) -> list[tuple[str, str, SourceView, str]]:
    """List the fixed numbers that a calculator uses: label, value, source, note."""
    listed = []
    for constant in calculator.constants.values():
        value = write_constant(constant.value)
        source = _view_fact(maker, constant.citation, constant.certainty)
        listed.append((constant.label, value, source, constant.note or ""))
    return listed


def write_constant(text: str) -> str:
    """Write a fixed number for people, in both unit systems where there are two."""
    try:
        quantity = parse_quantity(text)
    except UnitError:
        return text
    key = unit_key(quantity)
    if key is None:
        number = text.strip().removesuffix(quantity.unit.text).strip()
        symbol = quantity.unit.text.replace("**2", "²").replace("**3", "³").replace("*", "·")
        return join_unit(number, symbol)
    return format_both(quantity.base, key, "plain", 10)


def _view_fact(maker: PageMaker, citation: str, certainty: Certainty | None) -> SourceView:
    """Name the source of one fact, which may be less sure than the source as a whole."""
    return view_source(maker, maker.library.citations[citation], certainty)


def _list_looked_up(compiled: CompiledCalculator) -> dict[str, set[str]]:
    """List the columns that a calculator looks up, by table."""
    return {
        name: {column[0] for column in table["columns"]}
        for name, table in compiled.short["tables"].items()
    }


def view_table(maker: PageMaker, table: Table, looked_up: Mapping[str, set[str]]) -> FactTable:
    """Show a table of facts with all its sources; counts without a unit are left out."""
    names = tuple(
        name
        for name, column in table.columns.items()
        if name in looked_up[table.id] and name != table.steps_by and column.unit != "1"
    )
    rows = []
    for row in table.rows.values():
        cells = tuple(
            tuple(
                (
                    write_range(cell.value),
                    _view_fact(maker, cell.citation, cell.certainty),
                    cell.note or "",
                )
                for cell in row.values.get(name, ())
            )
            for name in names
        )
        rows.append((row.name, cells))
    return FactTable(table, tuple(table.columns[name].label for name in names), tuple(rows))


def write_range(text: str) -> str:
    """Write a cell of a table, `184 to 196 mg/g`, for people."""
    number, _, unit = text.rpartition(" ")
    key = find_key(unit)
    written = join_unit(number, str(UNITS[key][3])) if key else text
    low, separator, high = written.partition(" to ")
    return f"{low}–{high}" if separator else written


def list_uses(maker: PageMaker, calculator: Calculator) -> list[Lesson]:
    """List the lesson that teaches a calculator, then those that show it."""
    lessons = maker.library.lessons
    taught = lessons.get(calculator.lesson or "")
    listed = [taught] if taught else []
    for lesson in lessons.values():
        shown = any(use.calculator == calculator.id for use in lesson.calculators)
        if shown and lesson not in listed:
            listed.append(lesson)
    return listed


def _list_sources(calculator: Calculator) -> list[str]:
    facts = [*calculator.constants.values(), *calculator.examples]
    return [*calculator.citations, *(fact.citation for fact in facts)]


def describe_calculator_page(maker: PageMaker, calculator: Calculator) -> tuple[Structured, ...]:
    """Describe a calculator for schema.org: a web application, and something to learn from."""
    course = maker.settings
    shared = {"inLanguage": course.language, "isAccessibleForFree": True}
    return (
        describe_thing(
            "WebApplication",
            name=calculator.name,
            description=calculator.summary,
            applicationCategory="EducationalApplication",
            operatingSystem="Any",
            browserRequirements="Answers as you type need JavaScript; the rest does not.",
            featureList=[output.label for output in calculator.outputs.values()],
            **shared,
        ),
        describe_thing(
            "LearningResource",
            name=calculator.name,
            description=calculator.summary,
            learningResourceType="calculator",
            educationalLevel=calculator.level.value if calculator.level else None,
            isPartOf=describe_part("Course", name=course.name),
            abstract=plain(calculator.limits),
            citation=describe_citations(maker, _list_sources(calculator)),
            **shared,
        ),
    )
