"""Describes calculators for the terminal: `calculate --list`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from builder.calculators.compiler import CompiledCalculator
from builder.twin import calculators as runtime


def describe_calculator(compiled: CompiledCalculator) -> dict[str, Any]:
    """Describe a calculator: what it takes, with units, defaults and bounds, and what it gives.

    Returns:
        Plain values: `id`, `name`, `summary`, `inputs` (each with `name`, `label`, `kind`, `unit`,
        `default`, `optional`, `bounds`, `choices`, `columns`) and `outputs` (`name`, `label`,
        `unit`).
    """
    entry = compiled.entry
    return {
        "id": entry.id,
        "name": entry.name,
        "summary": entry.summary,
        "inputs": [
            _describe_input(compiled, described) for described in compiled.description["inputs"]
        ],
        "outputs": [
            {
                "name": output["id"],
                "label": output["label"],
                "unit": runtime.name_unit(compiled.description, output["unit"])
                if output["form"] == "number"
                else "",
            }
            for output in compiled.description["outputs"]
        ],
    }


def _describe_input(compiled: CompiledCalculator, described: Mapping[str, Any]) -> dict[str, Any]:
    unit = str(described["unit"])
    return {
        "name": described["id"],
        "label": described["label"],
        "kind": described["kind"],
        "unit": "" if unit == "ratio" else runtime.name_unit(compiled.description, unit),
        "default": described["default"],
        "optional": described["optional"],
        "bounds": described["bounds"],
        "choices": [choice[0] for choice in described.get("choices", ())],
        "columns": [column["id"] for column in described.get("columns", ())],
    }


def render_listing(described: Mapping[str, Any]) -> str:
    """Write one description for people, ending in a newline."""
    lines = [f"{described['id']}: {described['summary']}"]
    for entered in described["inputs"]:
        unit = f" ({entered['unit']})" if entered["unit"] else ""
        default = f", default {entered['default']}" if entered["default"] is not None else ""
        choices = f": {', '.join(entered['choices'])}" if entered["choices"] else ""
        columns = f", written {' : '.join(entered['columns'])}, ..." if entered["columns"] else ""
        lines.append(f"  {entered['name']}{unit}  {entered['label']}{choices}{columns}{default}")
    for output in described["outputs"]:
        unit = f" ({output['unit']})" if output["unit"] else ""
        lines.append(f"  -> {output['name']}{unit}  {output['label']}")
    return "".join(f"{line}\n" for line in lines)
