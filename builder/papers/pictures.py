"""Drawings for paper: the site's colour variables become the colours they fall back to."""

from __future__ import annotations

import re
from functools import lru_cache

_VARIABLE = re.compile(r"var\(\s*--[\w-]+\s*,\s*((?:[^()]|\([^()]*\))*)\)")
_BARE = re.compile(r"var\(\s*--[\w-]+\s*\)")
_SIZE = re.compile(r'font-size="([\d.]+)"')
_INK = "#1b1b1b"
LARGER = 1.35
"""Numbers of a drawing in large print, beside the drawing itself being larger."""


@lru_cache(maxsize=2048)
def prepare_drawing(svg: str, large: bool = False) -> str:
    """Make a drawing of the site fit for paper.

    Args:
        svg: With `var(--name, fallback)` colours and `currentColor`.
        large: Whether numbers in it are set larger, for large print.

    Returns:
        The same drawing with plain colours: ink on white.
    """
    svg = _VARIABLE.sub(lambda found: found[1].strip(), svg)
    svg = _BARE.sub(_INK, svg)
    if large:
        svg = enlarge_type(svg, LARGER)
    return svg.replace("currentColor", _INK)


def enlarge_type(svg: str, factor: float) -> str:
    """Set the words of a drawing larger, all by one factor."""
    return _SIZE.sub(lambda found: f'font-size="{float(found[1]) * factor:g}"', svg)
