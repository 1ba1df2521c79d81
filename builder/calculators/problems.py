"""What can be wrong with a calculator or a table, as values that a check turns into findings."""

from __future__ import annotations

from dataclasses import dataclass

from builder.diagnostics import Route
from builder.formulas.dimensions import DimensionError
from builder.formulas.expression import FormulaError


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with an entry.

    Args:
        route: Where in the entry.
        rule: Id of the rule that speaks: `formula-invalid`, `unit-mismatch`, `value-invalid`,
            `reference-unknown` or `worked-example-wrong`.
        message: What is wrong.
        hint: How to mend it; for a formula, its text with a caret under the place.
    """

    route: Route
    rule: str
    message: str
    hint: str = ""


class CalculatorError(ValueError):
    """A calculator that cannot be compiled; carries every problem found."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(problem.message for problem in problems))
        self.problems = problems


def describe_formula_error(route: Route, error: FormulaError) -> Problem:
    """Turn an error in a formula into a problem that shows the place."""
    rule = "unit-mismatch" if isinstance(error, DimensionError) else "formula-invalid"
    lines = error.render().splitlines()
    hint = "\n        ".join(lines)
    return Problem(route, rule, error.message, hint)
