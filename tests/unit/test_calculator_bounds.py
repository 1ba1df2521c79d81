"""What can never hold or always must, by following the bounds of inputs through the formulas."""

from __future__ import annotations

import random
from typing import Any

import pytest

from builder.calculators import check_bounds, compile_calculator, try_compile
from builder.model.calculators import Calculator
from tests.sample_calculators import load_table

ENTRY: dict[str, Any] = {
    "id": "sample",
    "name": "Sample",
    "summary": "Invented.",
    "inputs": {
        "a": {"label": "A", "unit": "g", "default": "5 g", "at_least": "1 g", "at_most": "10 g"},
        "b": {"label": "B", "unit": "g", "default": "25 g", "at_least": "20 g", "at_most": "30 g"},
        "c": {"label": "C", "unit": "g", "default": "5 g"},
        "share": {
            "label": "S", "unit": "%", "default": "2 %", "at_least": "0 %", "at_most": "100 %",
        },
        "kind": {"label": "K", "kind": "choice", "choices": {"x": "X", "y": "Y"}, "default": "x"},
        "warm": {
            "label": "W", "unit": "degC", "default": "20 degC", "at_least": "0 degC",
            "at_most": "90 degC",
        },
        "rows": {
            "label": "R",
            "kind": "rows",
            "default": "madder: 5 %",
            "most_rows": 3,
            "columns": {
                "dye": {"label": "D", "kind": "choice", "table": "dyes"},
                "part": {
                    "label": "P", "kind": "quantity", "unit": "%", "at_least": "0 %",
                    "at_most": "10 %",
                },
            },
        },
    },
    "constants": {"cold": {"label": "Cold", "value": "95 degC", "citation": "book"}},
    "values": {"both": {"formula": "a + b"}, "part": {"formula": "a / both"}},
    "outputs": {"total": {"label": "Sum", "formula": "both", "unit": "g"}},
    "examples": [
        {"name": "One", "inputs": {"b": "25 g"}, "outputs": {"total": "30 g"}, "citation": "book"},
        {"name": "Two", "inputs": {"b": "20 g"}, "outputs": {"total": "25 g"}, "citation": "book"},
    ],
    "readings": [{"words": "Sum.", "symbols": "s"}],
    "limits": "None.",
}  # fmt: skip


def judge(condition: str) -> str:
    entry = {**ENTRY, "warnings": {"w": {"when": condition, "message": "So."}}}
    compiled = compile_calculator(Calculator.model_validate(entry), {"dyes": load_table()})
    found = [each.message for each in check_bounds(compiled)]
    return "" if not found else "never" if "can never hold" in found[0] else "always"


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("share > 5", "never"),
        ("share > 0.05", ""),
        ("share > 1", "never"),
        ("share >= 1", ""),
        ("share <= 1", "always"),
        ("share * 100 > 5", ""),
        ("a > b", "never"),
        ("a < b", "always"),
        ("a < b and share > 0.5", ""),
        ("a > b and share > 0.5", "never"),
        ("a < b or share > 0.5", "always"),
        ("not a > b", "always"),
        ("c > a", ""),
        ("a + c > b", ""),
        ("part > 1", "never"),
        ("part > 0.4", ""),
        ("both / a < 1", "never"),
        ("both / a < 3", ""),
        ("abs(a - b) < a * 0.5", "never"),
        ("abs(a - b) < a * 2", ""),
        ("min(a, b) > max(a, b)", "never"),
        ("sqrt(share) > 1", "never"),
        ("exp(-share) > 1", "never"),
        ("share ** 2 > 1", "never"),
        ("-share > 0", "never"),
        ("warm > cold", "never"),
        ("celsius(warm) > 80", ""),
        ("celsius(warm) > 100", "never"),
        ('kind == "x"', ""),
        ('kind == "z"', "never"),
        ('kind != "z"', "always"),
        ('(a if kind == "x" else b) > b * 2', "never"),
        ("sum(row.part for row in rows) > 0.3", "never"),
        ("sum(row.part for row in rows) > 0.25", ""),
        ("any(row.part > 0.2 for row in rows)", "never"),
        ("all(row.part <= 0.1 for row in rows)", "always"),
        ("max(row.part for row in rows) > 0.2", "never"),
        ("count(row.part > 0.05 for row in rows) > 3", "never"),
        ('any(table_low("dyes", row.dye, "strength") > 0.5 for row in rows)', "never"),
        ('any(table_high("dyes", row.dye, "strength") > 0.2 for row in rows)', ""),
        ("0 < share < 2", ""),
        ("a > b > c", "never"),
    ],
)
def test_a_condition_is_judged_by_the_bounds(condition: str, expected: str) -> None:
    assert judge(condition) == expected


def test_what_is_called_settled_is_so_for_every_draw() -> None:
    """10,000 draws within the bounds never contradict a verdict."""
    draw = random.Random(1)
    for condition, verdict in (("a / both > 1", False), ("a < b", True), ("part < 0.4", True)):
        entry = {**ENTRY, "outputs": {
            "t": {"label": "T", "formula": f"1 if {condition} else 0", "unit": "1"},
        }}  # fmt: skip
        compiled = compile_calculator(Calculator.model_validate(entry), {"dyes": load_table()})
        for _ in range(1000):
            raw = {"a": f"{draw.uniform(1, 10)} g", "b": f"{draw.uniform(20, 30)} g"}
            values = compiled.read_values(raw)
            assert values is not None
            assert (values["t"] == 1) is verdict


def test_one_broken_formula_is_one_finding() -> None:
    entry = {
        **ENTRY,
        "values": {"both": {"formula": "a + bb"}, "part": {"formula": "a / both"}},
        "outputs": {
            "total": {"label": "Sum", "formula": "both", "unit": "g"},
            "half": {
                "label": "Half",
                "formula": "total / 2",
                "unit": "g",
                "shown_when": "part > 1",
            },
        },
        "refusals": [{"when": "part > 3", "input": "a", "message": "No {both}."}],
        "warnings": {"w": {"when": "half > a", "message": "So {half}."}},
    }
    compiled, problems = try_compile(
        Calculator.model_validate(entry), {"dyes": load_table()}, "EUR"
    )
    assert compiled is None
    assert [each.route for each in problems] == [("values", "both", "formula")]


def test_a_function_that_is_nearly_right_is_asked_for() -> None:
    entry = {**ENTRY, "values": {"both": {"formula": "squrt(share)"}}, "outputs": {
        "total": {"label": "Sum", "formula": "a", "unit": "g"},
    }}  # fmt: skip
    _, (problem,) = try_compile(Calculator.model_validate(entry), {"dyes": load_table()}, "EUR")
    assert problem.message.startswith(
        'there is no function "squrt"; did you mean "sqrt"? There are:'
    )
