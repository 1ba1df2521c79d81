"""The hand-written scripts of the pages: small files, joined into a few that pages load.

A script is plain, without modules, so that a page opened from a folder runs it. The files of one
script share a scope of their own; what other scripts may use they put into `window.benchlore`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from builder.twin_scripts import strip_script
from builder.words import Words

ASSETS = Path(__file__).parent.parent / "assets"
FIRST = "first.js"
PAGE = "page.js"
CALCULATOR = "calculator.js"
EXERCISES = "exercises.js"
DIAGNOSE = "diagnose.js"
SERIES = "series.js"
TEXTS = "words.js"

FILES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        FIRST: ("scheme",),
        PAGE: (
            "dom",
            "words",
            "memory",
            "units",
            "amounts",
            "printing",
            "scheme",
            "drawer",
            "contents",
            "matching",
            "search",
            "timer",
            "bench",
        ),
        CALCULATOR: (
            "names",
            "fields",
            "links",
            "rows",
            "filling",
            "answers",
            "complaints",
            "plot",
            "calculator",
            "wiring",
        ),
        DIAGNOSE: ("lines", "visit", "plan", "context", "stages", "keeping", "wiring"),
        SERIES: ("wiring",),
        EXERCISES: ("progress", "exercise", "number", "choice", "order", "keeping", "wiring"),
    }
)
"""Script to its files, in the folder of the script's name, each after those it builds on."""

_COMMENT = re.compile(r"^[ \t]*/\*(?:(?!\*/).)*\*/[ \t]*\n", re.DOTALL | re.MULTILINE)


@cache
def join_script(name: str) -> str:
    """Join the files of a script, without the comments that stand on lines of their own.

    Args:
        name: One of `FILES`.
    """
    folder = ASSETS / name.removesuffix(".js")
    texts = [(folder / f"{part}.js").read_text(encoding="utf-8") for part in FILES[name]]
    body = strip_script(_COMMENT.sub("", "\n".join(texts)))
    return f'(function () {{\n"use strict";\n{body}\n}})();\n'


def write_texts(words: Words) -> str:
    """Give the script that holds what the other scripts say, in the language of the site."""
    texts = json.dumps(words.below("script"), ensure_ascii=False, sort_keys=True, indent=0)
    return f"window.benchlore = window.benchlore || {{}};\nwindow.benchlore.texts = {texts};\n"
