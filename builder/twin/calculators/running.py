"""Computes: reads all inputs, runs the steps in order, writes answers and warnings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.arithmetic import check_finite
from builder.twin.calculators.fields import read_field
from builder.twin.calculators.measures import name_unit, unit_row, write_quantity
from builder.twin.calculators.messages import join_texts, say_text, split_places
from builder.twin.calculators.shapes import Answer, Answers, InputError, ShownWarning
from builder.twin.number_format import convert_from_base, format_us
from builder.twin.numbers import quote, to_text, trim_text
from builder.twin.primitives import fail, has_key, is_list, is_number, read_failure


def read_inputs(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Sequence[Any]:
    """Read all inputs; those left out take their defaults.

    Returns:
        The values by name, and a list of errors, one a field.
    """
    errors: list[InputError] = []
    values: dict[str, Any] = {}
    messages: dict[str, str] = {}
    rows: dict[str, Any] = {}
    for name in d["constants"]:
        values[name] = d["constants"][name]
    for field in d["inputs"]:
        values[field["id"]] = field["value"]
    given = list_given(raw)
    for name in raw:
        if not has_input(d, name):
            message = say_text(d, "no-input", {"name": quote(name)})
            errors.append({"input": name, "message": message})
    for field in d["inputs"]:
        name = field["id"]
        if has_key(raw, name) and raw[name] is not None:
            read = read_field(d, raw[name], field)
            if read[1] != "":
                messages[name] = read[1]
                if len(read) > 2:
                    rows[name] = read[2]
            else:
                values[name] = read[0]
    for field in d["inputs"]:
        name = field["id"]
        if not is_asked(d, f, values, field):
            if name in given:
                errors.append({"input": name, "message": explain_not_asked(d, values, field)})
        elif has_key(messages, name):
            error: InputError = {"input": name, "message": messages[name]}
            if has_key(rows, name):
                error["row"] = rows[name]
            errors.append(error)
    return [values, errors]


def list_given(raw: Mapping[str, Any]) -> list[str]:
    """List the inputs for which something was typed."""
    given: list[str] = []
    for name in raw:
        typed = raw[name]
        if typed is not None and (is_list(typed) or trim_text(to_text(typed)) != ""):
            given.append(name)
    return given


def is_asked(
    d: Mapping[str, Any], f: Sequence[Any], values: Mapping[str, Any], field: Mapping[str, Any]
) -> bool:
    """Say whether an input is asked for, given the choices made."""
    return field["shown"] < 0 or bool(f[field["shown"]](values, d["tables"]))


def explain_not_asked(
    d: Mapping[str, Any], values: Mapping[str, Any], field: Mapping[str, Any]
) -> str:
    """Say why an input that was given does not apply."""
    choices: list[str] = []
    for other in d["inputs"]:
        if other["id"] in field["asked_by"]:
            choice = quote(show_value(d, other["id"], values))
            choices.append(say_text(d, "choice-is", {"label": other["label"], "choice": choice}))
    return say_text(d, "not-asked", {"label": field["label"], "choices": join_texts(d, choices)})


def list_examples(
    d: Mapping[str, Any], f: Sequence[Any], values: Mapping[str, Any], raw: Mapping[str, Any]
) -> list[str]:
    """List the inputs that stand at our example, because nothing was typed for them."""
    given = list_given(raw)
    left: list[str] = []
    for field in d["inputs"]:
        name = field["id"]
        if name not in given and field["default"] is not None and is_asked(d, f, values, field):
            left.append(name)
    return left


def has_input(d: Mapping[str, Any], name: str) -> bool:
    """Say whether a calculator has an input of this name."""
    found = False
    for field in d["inputs"]:
        if field["id"] == name:
            found = True
    return found


def run_step(
    d: Mapping[str, Any], f: Sequence[Any], values: dict[str, Any], step: Mapping[str, Any]
) -> InputError | None:
    """Run one step of the plan; gives an error or None, and puts values where they belong.

    A step either sets a name or refuses: `{"name", "formula", "input", "label", "shown"}` or
    `{"name": "", "formula", "input", "message"}`.
    """
    try:
        if step["name"] == "":
            if f[step["formula"]](values, d["tables"]):
                return {"input": step["input"], "message": fill_message(d, step["message"], values)}
            return None
        values[step["name"]] = None
        if step["shown"] >= 0 and not f[step["shown"]](values, d["tables"]):
            return None
        value = f[step["formula"]](values, d["tables"])
        if is_number(value):
            check_finite(value)
        values[step["name"]] = value
    except Exception as problem:
        key = "no-answer" if step["name"] == "" else "no-answer-of"
        places = {"label": step["label"], "reason": read_failure(problem)}
        return {"input": step["input"], "message": say_text(d, key, places)}
    return None


def compute(d: Mapping[str, Any], f: Sequence[Any], values: dict[str, Any]) -> InputError | None:
    """Run the whole plan; gives an error or None."""
    for step in d["steps"]:
        problem = run_step(d, f, values, step)
        if problem is not None:
            return problem
    return None


def calculate(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Answers:
    """Work out all answers.

    Args:
        d: The calculator's description.
        f: Its formulas.
        raw: What was typed, by input; rows as text or as a list of mappings.

    Returns:
        `{"outputs": {name: {"value", "unit", "text", "us"}}, "warnings": [{"id", "message"}],
        "defaults_used": [...], "left_out": [...]}` with the inputs that stand at our examples,
        and the answers left out until the reader's own value is given, or
        `{"errors": [{"input", "message"}]}` where there is no answer.
    """
    read = read_inputs(d, f, raw)
    values = read[0]
    if len(read[1]) > 0:
        return {"errors": read[1]}
    problem = compute(d, f, values)
    if problem is not None:
        return {"errors": [problem]}
    outputs: dict[str, Answer] = {}
    warnings: list[ShownWarning] = []
    answer: Answer | None = None
    examples = list_examples(d, f, values, raw)
    left_out: list[str] = []
    try:
        for output in d["outputs"]:
            answer = write_output(d, f, values, output)
            if answer is not None and len(list_given(raw)) > 0 and needs_own(output, examples):
                left_out.append(output["id"])
            elif answer is not None:
                outputs[output["id"]] = answer
        for warning in d["warnings"]:
            if warning[1] < 0 or f[warning[1]](values, d["tables"]):
                warnings.append({"id": warning[0], "message": fill_message(d, warning[2], values)})
    except Exception as failure:
        message = say_text(d, "no-outcome", {"reason": read_failure(failure)})
        return {"errors": [{"input": "", "message": message}]}
    return {
        "outputs": outputs,
        "warnings": warnings,
        "defaults_used": examples,
        "left_out": left_out,
    }


def needs_own(output: Mapping[str, Any], examples: Sequence[str]) -> bool:
    """Say whether an answer hangs on a value that must be the reader's own and is our example."""
    return any(name in examples for name in output["needs"])


def write_output(
    d: Mapping[str, Any], f: Sequence[Any], values: Mapping[str, Any], output: Mapping[str, Any]
) -> Answer | None:
    """Write one answer, or None where it is left out."""
    if output["shown"] >= 0 and not f[output["shown"]](values, d["tables"]):
        return None
    if output["form"] == "text":
        for choice in output["cases"]:
            if choice[0] < 0 or f[choice[0]](values, d["tables"]):
                text = fill_message(d, choice[1], values)
                return {"value": text, "unit": "", "text": text, "us": ""}
        return None
    value = values[output["id"]]
    if output["form"] == "names":
        return {"value": value, "unit": "", "text": join_names(d, value, output["empty"]), "us": ""}
    row = unit_row(d, output["unit"])
    magnitude = convert_from_base(value, row)
    if abs(magnitude) >= 1e15:
        fail(say_text(d, "too-large", {"label": output["label"]}))
    style = output["style"]
    digits = output["digits"]
    direction = output["direction"]
    other = ""
    if output["us"]:
        other = format_us(value, output["unit"], style, digits, direction)
    return {
        "value": magnitude,
        "unit": name_unit(d, output["unit"]),
        "text": write_quantity(d, value, output["unit"], style, digits, direction),
        "us": other,
    }


def join_names(d: Mapping[str, Any], names: Sequence[str], empty: str) -> str:
    """Join names as a sentence does; what stands for none of them is the author's."""
    return empty if len(names) == 0 else join_texts(d, names)


def fill_message(d: Mapping[str, Any], message: str, values: Mapping[str, Any]) -> str:
    """Put quantities into a message, which holds their names in braces."""
    parts = split_places(message)
    text = ""
    for index in range(len(parts)):
        text = text + (show_value(d, parts[index], values) if index % 2 == 1 else parts[index])
    return text


def show_value(d: Mapping[str, Any], name: str, values: Mapping[str, Any]) -> str:
    """Write a value for a message, with the US side in brackets."""
    show = d["display"][name]
    value = values[name]
    if value is None:
        return say_text(d, "nothing", {})
    if show[0] == "names":
        return join_names(d, value, show[1])
    if show[0] == "choice":
        for choice in show[1]:
            if choice[0] == value:
                return to_text(choice[1])
    if show[0] == "text" or show[0] == "choice":
        return to_text(value)
    direction = show[4] if len(show) > 4 else "nearest"
    text = write_quantity(d, value, show[1], show[2], show[3], direction)
    other = format_us(value, show[1], show[2], show[3], direction)
    return text if other == "" else text + " (" + other + ")"
