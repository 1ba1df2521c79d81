"""Re-runs worked examples, and gathers everything that is wrong with calculators and tables."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from builder.calculators.compiler import CompiledCalculator, try_compile
from builder.calculators.problems import Problem
from builder.calculators.tables import compile_table
from builder.diagnostics import Route
from builder.model.calculators import Calculator, Example, Table, WarningLevel
from builder.twin import calculators as runtime
from builder.twin.numbers import fold_text
from builder.twin.quantities import find_unit

_EXPECTED = re.compile(
    r"^\s*(?P<number>[-+−]?[\d.]+(?:[eE][-+]?\d+)?)\s*(?P<unit>[^±]*?)\s*(?:±\s*(?P<slack>[\d.]+(?:[eE][-+]?\d+)?)\s*)?$"
)
RULE = "worked-example-wrong"


def check_calculator(
    entry: Calculator, tables: Mapping[str, Table], currency: str = "EUR"
) -> list[Problem]:
    """Check a calculator: formulas, dimensions, names, defaults, and every worked example.

    Args:
        entry: As written.
        tables: All tables of the course, by id.
        currency: Code that stands for `money`.

    Returns:
        Every problem, each with its route inside the entry. Examples are only run where the
        calculator compiles.
    """
    compiled, found = try_compile(entry, tables, currency)
    return list(found) if compiled is None else check_examples(compiled)


def find_untried(compiled: CompiledCalculator) -> list[Problem]:
    """List the dangers and refusals that no worked example shows at work."""
    warned: set[str] = set()
    refused: set[tuple[str, str]] = set()
    description, formulas = compiled.description, compiled.formulas
    for example in compiled.entry.examples:
        warned.update(each["id"] for each in compiled.calculate(example.inputs).warnings)
        values, errors = runtime.read_inputs(description, formulas, example.inputs)
        for step in () if errors else description["steps"]:
            if runtime.run_step(description, formulas, values, step) is not None:
                refused.add((step["input"], step["message"]))
                break
    problems = [
        Problem(
            ("warnings", name),
            "example-missing",
            f'no worked example brings the danger "{name}"',
            "add an example whose inputs bring it, and list it in its warnings",
        )
        for name, warning in compiled.entry.warnings.items()
        if warning.level is WarningLevel.DANGER and name not in warned
    ]
    refusals = [step for step in description["steps"] if step["name"] == ""]
    for number, refusal in enumerate(compiled.entry.refusals):
        if (refusal.input, refusals[number]["message"]) not in refused:
            message = f"no worked example is refused because of {refusal.when}"
            hint = f"add an example with refused: {refusal.input}"
            problems.append(Problem(("refusals", number), "example-missing", message, hint))
    return problems


def check_examples(compiled: CompiledCalculator) -> list[Problem]:
    """Run every worked example of a calculator again, and the table it shows without script."""
    problems: list[Problem] = []
    for number, example in enumerate(compiled.entry.examples):
        problems.extend(_check_example(compiled, ("examples", number), example))
    problems.extend(_check_value_table(compiled))
    return problems


def check_table(table: Table) -> list[Problem]:
    """Check a table: every cell of its column's dimension, steps in order."""
    return list(compile_table(table).problems)


def _check_example(compiled: CompiledCalculator, route: Route, example: Example) -> list[Problem]:
    result = compiled.calculate(example.inputs)
    if example.refused is not None:
        refused = [error["input"] for error in result.errors]
        if example.refused in refused:
            return []
        found = f"it is refused at {', '.join(refused)}" if refused else "it gives an answer"
        message = f'"{example.name}" must be refused at "{example.refused}", but {found}'
        return [Problem((*route, "refused"), RULE, message)]
    if result.errors:
        reason = "; ".join(error["message"] for error in result.errors)
        return [Problem((*route, "inputs"), RULE, f'"{example.name}" is refused: {reason}')]
    problems: list[Problem] = []
    for name, expected in example.outputs.items():
        place = (*route, "outputs", name)
        answer = result.outputs.get(name)
        if answer is None:
            listed = ", ".join(result.outputs)
            message = f'"{example.name}" has no answer "{name}"; it has {listed}'
            problems.append(Problem(place, RULE, message))
            continue
        message = _compare(compiled, name, answer, expected)
        if message:
            problems.append(Problem(place, RULE, f'"{example.name}": {message}'))
    if example.warnings is not None:
        found_ids = sorted(warning["id"] for warning in result.warnings)
        if found_ids != sorted(example.warnings):
            expected_ids = ", ".join(sorted(example.warnings)) or "none"
            message = (
                f'"{example.name}" must bring the warnings {expected_ids}; '
                f"it brings {', '.join(found_ids) or 'none'}"
            )
            problems.append(Problem((*route, "warnings"), RULE, message))
    return problems


def _compare(
    compiled: CompiledCalculator, name: str, answer: Mapping[str, Any], expected: str
) -> str:
    """Give a sentence where an answer is not the expected one, else ""."""
    described = next(output for output in compiled.description["outputs"] if output["id"] == name)
    if described["form"] != "number":
        if fold_text(str(answer["text"])) == fold_text(expected):
            return ""
        return f'{name} is "{answer["text"]}", and "{expected}" is expected'
    parts = _EXPECTED.match(expected)
    if parts is None:
        return f'"{expected}" is not a number with a unit, such as "19.43 min ± 0.02"'
    number_text = parts["number"].replace("−", "-")
    row = runtime.unit_row(compiled.description, described["unit"])
    unit = row
    if parts["unit"]:
        unit = find_unit(compiled.description["units"], parts["unit"])
        degrees = unit is not None and unit[0] == "temperature" and row[0] == "difference"
        if unit is None or (unit[0] != row[0] and not degrees):
            return f'"{expected}" is not in a unit of {name}, such as {answer["unit"]}'
    wanted = float(number_text)
    slack = float(parts["slack"]) if parts["slack"] else half_last_place(number_text)
    offset = 0.0 if row[0] == "difference" else unit[2]
    base = answer["value"] * row[1] + row[2]
    found = (base - offset) / unit[1]
    if abs(found - wanted) <= slack * (1 + 1e-9) + abs(wanted) * 1e-12:
        return ""
    return f"{name} comes to {found:.7g}, and {expected} is expected (within {slack:g})"


def half_last_place(number: str) -> float:
    """Give half a unit in the last place of a number as written: `19.43` gives 0.005."""
    mantissa, _, exponent = number.lower().partition("e")
    places = len(mantissa.partition(".")[2])
    return float(0.5 * 10.0 ** (int(exponent or 0) - places))


def _check_value_table(compiled: CompiledCalculator) -> list[Problem]:
    """Check that the table shown without script has an answer in each place."""
    table = compiled.entry.table
    if table is None:
        return []
    problems: list[Problem] = []
    for number, typed in enumerate(table.values):
        result = compiled.calculate({**table.inputs, table.input: typed})
        route = ("table", "values", number)
        if result.errors:
            reason = "; ".join(error["message"] for error in result.errors)
            problems.append(Problem(route, RULE, f'the table has no answer at "{typed}": {reason}'))
            continue
        missing = [name for name in table.outputs if name not in result.outputs]
        if missing:
            message = f'the table has no answer {", ".join(missing)} at "{typed}"'
            problems.append(Problem(route, RULE, message))
    return problems
