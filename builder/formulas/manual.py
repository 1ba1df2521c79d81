"""What the manual says of formulas: every function and pattern, each with its example run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from builder.formulas.dimensions import check_formula
from builder.formulas.expression import parse_formula
from builder.formulas.functions import FUNCTIONS
from builder.formulas.kinds import (
    RATIO,
    TEMPERATURE,
    TEXT,
    Environment,
    Form,
    Kind,
    TableKind,
    read_unit_kind,
)
from builder.formulas.lowering import lower_formula
from builder.formulas.python import compile_to_python


@dataclass(frozen=True, slots=True)
class Pattern:
    """A way of writing formulas: what it is called, what it does, and an example that is run."""

    title: str
    doc: str
    example: str


@dataclass(frozen=True, slots=True)
class ManualEntry:
    """A function or pattern as the manual shows it: how it is written, what it does, its example.

    `gives` is what the example came to when it was run.
    """

    id: str
    written: str
    doc: str
    example: str
    gives: str


ARGUMENTS: Mapping[str, str] = MappingProxyType(
    {
        "ratio": "number",
        "same": "measure",
        "level": "measure or temperature",
        "temperature": "temperature",
        "kelvins": "difference or absolute temperature",
        "boolean": "condition",
        "text": "text",
        "table": '"table"',
        "column": '"column"',
        "step": "measure",
        "optional": "optional input",
    }
)
"""How the manual names what a function takes."""

PATTERNS = (
    Pattern(
        "Arithmetic",
        "Plus, minus, times, divided by, to the power of. Units are held against each other: only"
        " like is added to like.",
        "(a + 1) * c / 3 ** 2 < 1",
    ),
    Pattern(
        "Comparing",
        "Above, below, at least, at most; several in a row. A hair beside a bound counts as the"
        " bound. A share of 5 % is 0.05.",
        "0 <= share <= 0.05",
    ),
    Pattern("Choices", "A choice is compared with the id of one of its choices.", 'shape == "box"'),
    Pattern(
        "One or the other",
        "The value before `if` where the condition holds, the one behind `else` where it does not.",
        '(a if shape == "box" else c) == 2',
    ),
    Pattern("And, or, not", "Conditions are joined in words.", "a > 1 and (c > 1 or not a > 9)"),
    Pattern(
        "Over rows",
        "A function over rows takes one value from each; `if` keeps some of them.",
        "sum(row.mass for row in rows if row.mass > 1 * least) == 5 * least",
    ),
    Pattern(
        "What may be left out",
        "An optional input is used only where `given` says that it is there.",
        "(note if given(note) else 1) == 1",
    ),
    Pattern(
        "Temperatures",
        "Two temperatures may be compared and their difference taken; they are never added or"
        " multiplied. Empirical formulas take degrees Celsius as a number.",
        "celsius(hot) > 60 and hot - room > room - room",
    ),
)

_MASS = read_unit_kind("g")
SAMPLE = Environment(
    {
        **dict.fromkeys(("a", "c", "share"), RATIO),
        "least": _MASS,
        "shape": TEXT,
        "room": TEMPERATURE,
        "hot": TEMPERATURE,
        "note": Kind(optional=True, label="A note"),
        "rows": Kind(Form.ROWS, columns={"name": TEXT, "mass": _MASS, "share": RATIO}),
    },
    {"sample": TableKind({"share": RATIO, "begins": RATIO}, RATIO)},
)
"""Names that the examples use."""
SAMPLE_TABLES: Mapping[str, Any] = MappingProxyType(
    {
        "sample": {
            "name": "Sample",
            "rows": {"first": {"share": [0.1, 0.3, 0.2], "begins": [0.0, 0.0, 0.0]}},
            "steps": [[0.0, "first"]],
        }
    }
)
SAMPLE_VALUES: Mapping[str, Any] = MappingProxyType(
    {
        "a": 2.0,
        "c": 0.5,
        "share": 0.02,
        "least": 0.001,
        "shape": "box",
        "room": 293.15,
        "hot": 343.15,
        "note": None,
        "rows": [
            {"name": "first", "mass": 0.001, "share": 0.004},
            {"name": "second", "mass": 0.002, "share": 0.016},
            {"name": "third", "mass": 0.003, "share": 0.002},
        ],
    }
)


def run_example(text: str) -> str:
    """Run an example over the sample's values, and give what it came to, in words.

    Raises:
        FormulaError: Where it is no formula.
        FormulaFailure: Where it has no answer.
    """
    formula = parse_formula(text)
    check_formula(formula, SAMPLE)
    value = compile_to_python(lower_formula(formula, SAMPLE))(SAMPLE_VALUES, SAMPLE_TABLES)
    if isinstance(value, bool):
        return "true" if value else "false"
    return ", ".join(value) if isinstance(value, list) else f"{value:g}"


def describe_functions() -> list[ManualEntry]:
    """Describe every function of the table, in the order of their names."""
    entries = []
    for name, function in sorted(FUNCTIONS.items()):
        taken = [ARGUMENTS[each] for each in function.arguments]
        more = ", ..." if function.variadic else ""
        written = f"{name}({', '.join(taken)}{more})"
        if function.aggregate:
            written += f" or {name}({taken[-1]} for row in rows)"
        example = function.example
        entries.append(ManualEntry(name, written, function.doc, example, run_example(example)))
    return entries


def describe_patterns() -> list[ManualEntry]:
    """Describe every pattern, in the order in which they are learnt."""
    return [
        ManualEntry(
            each.title.lower().replace(", ", "-").replace(" ", "-"),
            each.title,
            each.doc,
            each.example,
            run_example(each.example),
        )
        for each in PATTERNS
    ]
