"""Questions from the terminal: `name=value` words in, answers as lines out."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Any

from builder.calculators.compiler import CompiledCalculator, Result


class AskingError(ValueError):
    """Words that are no question: the input each is about ("" for none), and what is wrong."""

    def __init__(self, errors: tuple[tuple[str, str], ...]) -> None:
        super().__init__("; ".join(message for _, message in errors))
        self.errors = errors


def read_words(words: Iterable[str], compiled: CompiledCalculator) -> dict[str, str]:
    """Read words such as `room=72 degF` into what was typed, by input.

    Raises:
        AskingError: With every word that names no input, or names one twice.
    """
    typed: dict[str, str] = {}
    errors: list[tuple[str, str]] = []
    inputs = compiled.entry.inputs
    for word in words:
        name, separator, value = word.partition("=")
        name = name.strip()
        if not separator:
            example = next(iter(inputs))
            errors.append(("", f'"{word}" is not a value; write name=value, as in {example}=...'))
        elif name not in inputs:
            listed = ", ".join(inputs)
            hint = suggest(name, inputs) or f"It takes {listed}."
            errors.append((name, f'{compiled.entry.id} has no input "{name}". {hint}'))
        elif name in typed:
            errors.append((name, f'"{name}" is given twice.'))
        else:
            typed[name] = value
    if errors:
        raise AskingError(tuple(errors))
    return typed


def suggest(wrong: str, known: Iterable[str]) -> str:
    """Ask whether the nearest of the known names was meant; "" where none is near."""
    near = difflib.get_close_matches(wrong, list(known), n=1, cutoff=0.6)
    return f'Did you mean "{near[0]}"?' if near else ""


def render_answers(compiled: CompiledCalculator, result: Result) -> str:
    """Write answers and warnings for people, both unit systems side by side, one a line."""
    outputs = compiled.entry.outputs
    width = max((len(outputs[name].label) for name in result.outputs), default=0)
    lines = [
        f"{outputs[name].label:<{width}}  {_join(answer)}"
        for name, answer in result.outputs.items()
    ]
    levels = compiled.entry.warnings
    lines += [
        f"{levels[warning['id']].level.value}: {warning['message']}" for warning in result.warnings
    ]
    if result.examples:
        inputs = compiled.entry.inputs
        listed = "; ".join(
            f"{inputs[name].label} {inputs[name].default}" for name in result.examples
        )
        lines.append(f"Our examples, not your values: {listed}.")
    if result.left_out:
        waiting = "; ".join(outputs[name].label for name in result.left_out)
        wanted = "; ".join(
            each.label
            for name, each in compiled.entry.inputs.items()
            if each.required and name in result.examples
        )
        lines.append(f"Left out until you give your own values ({wanted}): {waiting}.")
    return "".join(f"{line}\n" for line in lines)


def _join(answer: Mapping[str, Any]) -> str:
    text = f"{answer['text']} ({answer['us']})" if answer["us"] else str(answer["text"])
    band = answer.get("band")
    return f"{text}, {band['text']} {band['mostly']}" if band else text
