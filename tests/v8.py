"""Runs scripts in V8, the engine of Chromium, so that both languages can be compared in tests."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from py_mini_racer import MiniRacer

from builder.twin_scripts import write_scripts

TWIN_AT_HAND = write_scripts() + "Object.assign(globalThis, benchlore.twin);"
"""All scripts of the twin, with their functions as globals."""


class Engine:
    """A V8 context with scripts loaded; arguments and results travel as JSON."""

    def __init__(self, context: MiniRacer) -> None:
        self._context = context

    def load(self, script: str) -> None:
        """Run a script for what it defines."""
        self._context.eval(script)

    def call(self, function: str, *arguments: Any) -> Any:
        """Call a function by its expression and give its result."""
        listed = ", ".join(json.dumps(argument) for argument in arguments)
        text = self._context.eval(f"JSON.stringify({function}({listed}))")
        return json.loads(text) if isinstance(text, str) else None


@contextmanager
def start_engine(*scripts: str) -> Iterator[Engine]:
    """Open a context, load scripts, and close it again (an open one hangs when Python ends)."""
    context = MiniRacer()
    try:
        engine = Engine(context)
        for script in scripts:
            engine.load(script)
        yield engine
    finally:
        context.close()
