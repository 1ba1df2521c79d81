"""Browser scripts that are compiled from our own Python, so that nothing is written twice."""

from __future__ import annotations

from builder.formulas.javascript import compile_figures

FIGURES = ("format_number", "format_quantity", "format_us", "format_both")
"""Functions of `figures` that pages call in the browser, as `benchlore.figures.NAME`."""


def write_figures_script() -> str:
    """Give the plain script that puts number text into the page's one namespace."""
    names = ", ".join(f"{name}: {name}" for name in FIGURES)
    return (
        "window.benchlore = window.benchlore || {};\n"
        f"window.benchlore.figures = (function () {{\n{compile_figures()}\nreturn {{{names}}};\n"
        "})();\n"
    )
