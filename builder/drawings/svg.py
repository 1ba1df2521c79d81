"""Numbers in an SVG, written short so that drawings stay small."""

from __future__ import annotations


def write_length(value: float, places: int = 1) -> str:
    """Write a length in the units of a view box, without zeros that say nothing: `12.5`, `40`."""
    return f"{value:.{places}f}".rstrip("0").rstrip(".")
