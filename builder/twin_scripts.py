"""The browser's scripts of the twin: which modules go into which, and their text.

All fill one namespace, `benchlore.twin`, with the public functions and constants of their modules
under the names they have in Python. They are plain scripts without module syntax, so that a page
opened from a folder runs them. To give the browser a further module, add it to a script's row.
"""

from __future__ import annotations

import inspect
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType, ModuleType

from builder.javascript import Script, write_module
from builder.twin import (
    arithmetic,
    marking,
    number_format,
    numbers,
    plot,
    primitives,
    quantities,
    series,
    unit_table,
)
from builder.twin.calculators import (
    bands,
    describing,
    fields,
    filling,
    measures,
    messages,
    plotting,
    running,
)
from builder.twin.diagnosis import (
    evidence,
    fixes,
    indexing,
    inference,
    plan,
    propagation,
    questions,
    tables,
    wording,
)

ASSETS = Path(__file__).parent / "assets" / "twin"
NUMBERS = "twin-numbers.js"
CALCULATORS = "twin-calculators.js"
MARKING = "twin-marking.js"
DIAGNOSIS = "twin-diagnosis.js"
SERIES = "twin-series.js"
SCRIPTS: Mapping[str, tuple[ModuleType, ...]] = MappingProxyType(
    {
        NUMBERS: (unit_table, number_format, numbers, quantities, messages, measures),
        CALCULATORS: (arithmetic, fields, describing, running, bands, plotting, filling, plot),
        MARKING: (marking,),
        SERIES: (series,),
        DIAGNOSIS: (
            indexing,
            tables,
            evidence,
            propagation,
            inference,
            questions,
            fixes,
            plan,
            wording,
        ),
    }
)
"""Modules by script, each after those it takes names from. Every page loads `NUMBERS` first; of
the others it loads those it needs."""
BY_HAND: Mapping[str, str] = MappingProxyType({CALCULATORS: "calculators.js"})
"""Text of our own behind what is written from Python, by script."""


@cache
def write_script(name: str) -> str:
    """Give a script by its name in `SCRIPTS`.

    Raises:
        ScriptError: Where a module holds something that cannot be written.
    """
    scripts = [_write(module) for module in SCRIPTS[name]]
    names = [defined for script in scripts for defined in script.defines]
    own = {*names, *primitives.NAMES} if name == NUMBERS else set(names)
    # The helpers that stand in for Python's own functions come with the numbers too.
    needs = {need for script in scripts for need in script.needs} | set(HELPERS)
    taken = sorted(needs - own) if name != NUMBERS else []
    offered = [each for each in names if not each.startswith("_")]
    if name == NUMBERS:
        offered += [*primitives.NAMES, *HELPERS]
    parts = [
        "var benchlore = globalThis.benchlore || {};",
        "benchlore.twin = benchlore.twin || {};",
        "(function (twin) {",
        '"use strict";',
        f"const {{{', '.join(taken)}}} = twin;" if taken else _read("primitives.js"),
        *(script.text for script in scripts),
        f"Object.assign(twin, {{{', '.join(offered)}}});",
        "})(benchlore.twin);",
        _read(BY_HAND[name]) if name in BY_HAND else "",
    ]
    return strip_script("\n".join(parts)) + "\n"


def write_scripts(*names: str) -> str:
    """Give several scripts as one text; without names all of them."""
    return "".join(write_script(name) for name in names or SCRIPTS)


@cache
def _write(module: ModuleType) -> Script:
    return write_module(inspect.getsource(module))


def _read(name: str) -> str:
    return (ASSETS / name).read_text(encoding="utf-8")


def strip_script(text: str) -> str:
    """Take indentation, empty lines and whole-line comments out of a script."""
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


HELPERS = (
    "py_all",
    "py_any",
    "py_enumerate",
    "py_get",
    "py_in",
    "py_iter",
    "py_len",
    "py_list",
    "py_mod",
    "py_range",
    "py_sorted",
    "py_sum",
    "py_true",
    "py_zip",
)
"""Functions of `primitives.js` that stand in for what is built into Python."""
