"""Compiles what a calculator works out: values, refusals, outputs, warnings and the plot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from builder.calculators.context import PLACE, Context, read_style
from builder.diagnostics import Route
from builder.formulas.kinds import Form, Kind
from builder.model.calculators import Output, Plot, Rounded, Rounding

Step = dict[str, Any]


def plan_steps(context: Context) -> list[Step]:
    """Put values, outputs and refusals in an order in which each can run.

    A refusal runs as soon as what it needs is known, so that its sentence comes before the plain
    failure of a later formula.
    """
    steps: dict[str, Step] = {}
    needs = context.needs
    for name, value in context.entry.values.items():
        found = context.formula(("values", name, "formula"), value.formula)
        if found is None:
            context.broken.add(name)
            continue
        if value.unit is not None:
            context.match_unit(
                ("values", name, "formula"), ("values", name, "unit"), value.unit, found[1]
            )
        _show_number(context, name, value, value.unit, found[1])
        step = {"name": name, "formula": found[0], "label": value.label or name}
        _add_step(context, step, found[1], steps, needs)
    for name, output in context.entry.outputs.items():
        _plan_output(context, name, output, steps, needs)
    plan: list[Step] = []
    done: set[str] = set()
    for number, refusal in enumerate(context.entry.refusals):
        if refusal.input not in context.entry.inputs:
            message = f'there is no input "{refusal.input}"'
            context.report(("refusals", number, "input"), "reference-unknown", message)
        condition = context.condition(("refusals", number, "when"), refusal.when)
        text = context.message(("refusals", number, "message"), refusal.message)
        if condition is None or text is None:
            continue
        wanted = _close({*context.names[condition], *PLACE.findall(text)}, needs)
        for name, step in steps.items():
            if name in wanted and name not in done:
                plan.append(step)
                done.add(name)
        plan.append({"formula": condition, "input": refusal.input, "message": text})
    plan.extend(step for name, step in steps.items() if name not in done)
    return plan


def _plan_output(
    context: Context,
    name: str,
    output: Output,
    steps: dict[str, Step],
    needs: dict[str, set[str]],
) -> None:
    if output.formula is None:
        return
    shown: int | None = None
    if output.shown_when is not None:
        shown = context.condition(("outputs", name, "shown_when"), output.shown_when)
    route = ("outputs", name, "formula")
    found = context.formula(route, output.formula)
    if found is None:
        context.broken.add(name)
        return
    index, kind = found
    if kind.form is Form.NUMBER:
        if output.unit is None:
            context.report(("outputs", name), "value-invalid", "a number needs a unit")
            return
        context.match_unit(route, ("outputs", name, "unit"), output.unit, kind)
        _show_number(context, name, output, output.unit, kind)
    elif kind.form is Form.NAMES:
        context.display[name] = ["names", output.empty or "none"]
    else:
        message = f"this is {kind.describe()}; for an answer in words write cases"
        context.report(route, "unit-mismatch", message)
        return
    step = {"name": name, "formula": index}
    if shown is not None:
        step["shown"] = shown
    _add_step(context, step, kind, steps, needs)


def _add_step(
    context: Context,
    step: Step,
    kind: Kind,
    steps: dict[str, Step],
    needs: dict[str, set[str]],
) -> None:
    """Add a step, declare its name, and note which input a failure of it points at."""
    name = step["name"]
    needs[name] = set(context.names[step["formula"]])
    if "shown" in step:
        needs[name] |= set(context.names[step["shown"]])
    reached = _close({name}, needs)
    inputs = list(context.entry.inputs)
    step["input"] = next((entered for entered in inputs if entered in reached), inputs[0])
    steps[name] = step
    label = step.get("label") or context.entry.outputs[name].label
    optional = "shown" in step
    context.declare(name, Kind(kind.form, kind.exponents, kind.point, False, optional, label))


def _close(names: set[str], needs: Mapping[str, set[str]]) -> set[str]:
    """Give everything that names lead back to."""
    reached: set[str] = set()
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting.extend(needs.get(name, ()))
    return reached


def _show_number(
    context: Context, name: str, rounded: Rounded, unit: str | None, kind: Kind
) -> None:
    """Note how messages show a value; a number with a dimension and no unit cannot be shown."""
    if kind.form is Form.NAMES:
        context.display[name] = ["names", "none"]
    if kind.form is not Form.NUMBER or (unit is None and kind.exponents):
        return
    found = context.unit((), unit or "1")
    if found is not None:
        context.display[name] = ["number", found[0], *read_style(rounded), str(rounded.rounding)]


def compile_outputs(context: Context) -> list[dict[str, Any]]:
    """Describe the outputs in short form, in order."""
    described: list[dict[str, Any]] = []
    for name, output in context.entry.outputs.items():
        before = len(context.names)
        found = _describe_output(context, name, output)
        if found is None:
            continue
        used = {each for names in context.names[before:] for each in names} | {name}
        reached = _close(used, context.needs)
        needs = [each for each, entered in context.entry.inputs.items() if entered.required]
        if reached & set(needs):
            found["needs"] = [each for each in needs if each in reached]
        described.append(found)
    return described


def _describe_output(context: Context, name: str, output: Output) -> dict[str, Any] | None:
    route = ("outputs", name)
    described: dict[str, Any] = {"id": name, "label": output.label}
    if output.shown_when is not None:
        shown = context.condition((*route, "shown_when"), output.shown_when)
        if shown is not None:
            described["shown"] = shown
    if output.cases:
        described.update(form="text", cases=_compile_cases(context, route, output))
        return described
    kind = context.environment.names.get(name)
    if kind is None:
        return None
    if kind.form is Form.NAMES:
        described["form"] = "names"
        if output.empty is not None:
            described["empty"] = output.empty
        return described
    found = context.unit((*route, "unit"), output.unit or "1")
    if found is None:
        return None
    described["unit"] = found[0]
    style, digits = read_style(output)
    if style != "plain":
        described.update(style=style, digits=digits)
    if output.rounding != Rounding.NEAREST:
        described["direction"] = str(output.rounding)
    if not output.us:
        described["us"] = False
    return described


def _compile_cases(context: Context, route: Route, output: Output) -> list[list[Any]]:
    """List the texts of an answer in words: number of the condition, or -1, and message."""
    cases: list[list[Any]] = []
    for number, case in enumerate(output.cases):
        index: int | None = -1
        if case.when is not None:
            index = context.condition((*route, "cases", number, "when"), case.when)
        text = context.message((*route, "cases", number, "text"), case.text)
        if index is not None and text is not None:
            cases.append([index, text])
    if output.cases[-1].when is not None and output.shown_when is None:
        message = "no text is left for all other cases; give a last one without when"
        context.report((*route, "cases"), "value-invalid", message)
    return cases


def compile_warnings(context: Context) -> list[list[Any]]:
    """List the warnings as id, number of the condition (-1: always), and message."""
    warnings: list[list[Any]] = []
    for name, warning in context.entry.warnings.items():
        condition: int | None = -1
        if warning.when is not None:
            condition = context.condition(("warnings", name, "when"), warning.when)
        text = context.message(("warnings", name, "message"), warning.message)
        if condition is not None and text is not None:
            warnings.append([name, condition, text])
    return warnings


def compile_plot(context: Context) -> dict[str, Any] | None:
    """Describe the plot: numbers of its formulas, units of its axes."""
    plot = context.entry.plot
    if plot is None:
        return None
    x_unit = context.unit(("plot", "x", "unit"), plot.x.unit)
    y_unit = context.unit(("plot", "y", "unit"), plot.y.unit)
    if x_unit is None or y_unit is None:
        return None
    along_x = ("plot", "x", "unit")
    start = context.number(("plot", "x", "start"), plot.x.start, plot.x.unit, along_x)
    end = context.number(("plot", "x", "end"), plot.x.end, plot.x.unit, along_x)
    known = context.environment.names.get(plot.x.name)
    if known is not None and (known.exponents, known.point) != (
        x_unit[1].exponents,
        x_unit[1].point,
    ):
        message = f'"{plot.x.name}" is {known.describe()}, not in {plot.x.unit}'
        context.report(along_x, "unit-mismatch", message)
    whole = context.environment
    context.declare(plot.x.name, x_unit[1])
    curves = [
        context.number(
            ("plot", "curves", number, "formula"), curve.formula, plot.y.unit, ("plot", "y", "unit")
        )
        for number, curve in enumerate(plot.curves)
    ]
    context.environment = whole
    return {
        "name": plot.x.name,
        "again": plot.x.name in context.entry.inputs,
        "x_unit": x_unit[0],
        "y_unit": y_unit[0],
        "start": start,
        "end": end,
        "curves": curves,
        "bands": _compile_places(context, plot, "bands"),
        "marks": _compile_places(context, plot, "marks"),
    }


def _compile_places(context: Context, plot: Plot, group: str) -> list[list[int | None]]:
    """Compile bands (low, high) or marks (x, y) into pairs of formula numbers."""
    pairs: list[list[int | None]] = []
    across = ("plot", "y", "unit")
    if group == "bands":
        for number, band in enumerate(plot.bands):
            ends: Iterable[tuple[str, str]] = (("low", band.low), ("high", band.high))
            pairs.append(
                [
                    context.number(("plot", group, number, end), text, plot.y.unit, across)
                    for end, text in ends
                ]
            )
        return pairs
    for number, mark in enumerate(plot.marks):
        x = context.number(("plot", group, number, "x"), mark.x, plot.x.unit, ("plot", "x", "unit"))
        y = context.number(("plot", group, number, "y"), mark.y, plot.y.unit, across)
        pairs.append([x, y])
    return pairs
