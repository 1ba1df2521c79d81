"""Values put into texts: what was drawn, what a calculator makes of it, and units as written.

A name in braces, `{base_mass}`, stands for a value of the variant. A quantity in braces,
`{60 degC}`, stays as it is: whoever shows the text shows it in both unit systems.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from builder.calculators import CompiledCalculator
from builder.text import BRACES
from builder.twin.calculators.fields import read_choice, split_cells, split_rows
from builder.twin.calculators.measures import read_measure, write_quantity
from builder.twin.calculators.running import show_value
from builder.twin.number_format import convert_from_base, format_number, join_unit
from builder.twin.numbers import read_number
from builder.twin.quantities import find_key, find_unit
from builder.twin.unit_table import UNITS
from builder.units import UnitError, parse_window
from builder.words import Words

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_MARKS = re.compile(r"([\\`*_\[\]<>#|&~])")
_STARTS = re.compile(
    r"^(\s*(?:\d{1,9}(?=[.)](?:\s|$)))?)([-+=](?=[\s=-]|$)|[.)](?<=\d[.)]))", re.MULTILINE
)
_NO_UNITS: Mapping[str, Any] = {"units": {}}


def escape_markdown(text: str) -> str:
    """Keep signs that Markdown reads from being read."""
    return _STARTS.sub(r"\1\\\2", _MARKS.sub(r"\\\1", text))


def fill(text: str, values: Mapping[str, str]) -> str:
    """Put values into a Markdown text.

    Args:
        text: As written; `find_unknown` has nothing to say about it.
        values: Text by name.
    """
    return BRACES.sub(
        lambda found: escape_markdown(values[found[1]]) if found[1] in values else found[0], text
    )


def find_unknown(text: str, known: Mapping[str, Any] | set[str]) -> Iterator[str]:
    """Give what stands in braces and is neither a known name nor a quantity."""
    for found in BRACES.findall(text):
        if found in known:
            continue
        if _NAME.fullmatch(found):
            yield found
            continue
        try:
            parse_window(found)
        except UnitError:
            yield found


def resolve_unit(description: Mapping[str, Any], unit: str) -> tuple[str, Sequence[Any]] | None:
    """Find a unit by the text an author wrote.

    Args:
        description: A calculator's, for units of its own; `{"units": {}}` where there is none.
        unit: For instance `mL`, `degC`, `%`, `1`, `money`.

    Returns:
        The key by which number text knows it, and its row; None where there is no such unit.
    """
    text = unit.strip()
    if text in ("1", "ratio"):
        return "ratio", UNITS["ratio"]
    for key in (text, text.lower()):
        if key in description["units"]:
            return key, description["units"][key]
    key = find_key(text)
    return (key, UNITS[key]) if key else None


def write_number(value: float, row: Sequence[Any], places: int) -> str:
    """Write a value in a unit with decimal places, `65.2 min`; never in two units at once.

    Args:
        value: In coherent base units.
        row: The unit's row.
        places: Decimal places.
    """
    return join_unit(format_number(convert_from_base(value, list(row)), places), str(row[3]))


def write_typed(description: Mapping[str, Any], typed: str) -> str:
    """Write a quantity as typed, `72 degF` as `72 °F`, keeping the figures the author wrote."""
    read = read_number(typed.strip())
    number, rest = read["value"], read["rest"]
    if read["problem"]:
        return typed.strip()
    written = typed.strip()[: len(typed.strip()) - len(rest)].strip() if rest else typed.strip()
    if "/" in written:
        shown = written
    else:
        shown = format_number(number, len(re.sub(r"^[^.]*\.?", "", written)))
    if not rest:
        return shown
    row = find_unit(description["units"], rest)
    return join_unit(shown, str(row[3]) if row is not None else rest)


def write_input(compiled: CompiledCalculator, name: str, typed: str) -> str:
    """Write what an exercise gives for an input of a calculator."""
    for described in compiled.description["inputs"]:
        if described["id"] == name:
            return _write_field(compiled.description, described, typed)
    return typed


def _write_field(description: Mapping[str, Any], described: Mapping[str, Any], typed: str) -> str:
    kind = described["kind"]
    if kind == "rows":
        rows, problem = split_rows(typed.strip(), described)
        if problem:
            return typed
        columns = described["columns"]
        written = []
        for row in rows:
            cells = split_cells(row, described)
            parts = [
                _write_field(description, columns[place], cell)
                for place, cell in enumerate(cells[: len(columns)])
                if cell
            ]
            if parts:
                written.append(
                    ": ".join((parts[0], ", ".join(parts[1:]))) if parts[1:] else parts[0]
                )
        return "; ".join(written)
    if kind == "choice":
        chosen, problem = read_choice(typed, described)
        for choice in described["choices"] if not problem else ():
            if choice[0] == chosen:
                return str(choice[1])
        return typed
    if kind == "text":
        return typed
    return write_typed(description, typed)


def write_known(compiled: CompiledCalculator, name: str, values: Mapping[str, Any]) -> str | None:
    """Write an input, value or output of a calculator, or None where it cannot be shown."""
    description = compiled.description
    show = description["display"].get(name)
    value = values.get(name)
    if show is None or value is None:
        return None
    if show[0] == "number":
        return str(write_quantity(description, value, *show[1:]))
    return str(show_value(description, name, values))


def describe_figure(words: Words, symbol: str, places: int) -> str:
    """Say in which unit and to how many places an answer is asked for."""
    if places == 0:
        figure = words.text("exercise-figure.whole")
    else:
        figure = words.text("exercise-figure.places", n=places)
    if symbol:
        return words.text("exercise-figure.unit", unit=symbol, figure=figure)
    return words.text("exercise-figure.plain", figure=figure)


def make_field(key: str, row: Sequence[Any]) -> dict[str, Any]:
    """Describe to the calculators' parser how a typed answer in a unit is read."""
    return {
        "id": "answer",
        "label": "Your answer",
        "kind": "quantity",
        "optional": False,
        "unit": key,
        "dimension": row[0],
        "low": None,
        "high": None,
        "low_open": False,
        "high_open": False,
        "bounds": "",
        "note": "",
    }


def read_quantity(typed: str, unit_key: str, row: Sequence[Any]) -> tuple[float | None, str]:
    """Read an author's quantity that is in no calculator: its base value, and a message."""
    value, problem = read_measure(_NO_UNITS, typed.strip(), make_field(unit_key, row))
    return value, str(problem)
