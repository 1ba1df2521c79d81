"""Room that words take in a drawing: how wide a line is, and where a text breaks into lines.

The reader's own fonts set the words, so their exact widths are not known; these are on the generous
side of common sans-serif faces.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.unit_table import UNITS

TEXT_SIZE = 15.0
"""Size of the type in drawings with words, in the units of their view boxes."""

_SYMBOLS = frozenset(row[3] for row in UNITS.values())

_NARROW = frozenset("iljtfrI.,;:'!|()[] ")
_WIDE = frozenset("mwMW%@—")


def estimate_width(text: str, size: float = TEXT_SIZE) -> float:
    """Estimate the width of a text in a sans-serif face, on the generous side.

    Args:
        text: One line.
        size: Size of the type, in the units of the result.
    """
    ems = 0.0
    for letter in text:
        if letter in _NARROW:
            ems += 0.39
        elif letter in _WIDE:
            ems += 0.98
        elif letter.isupper() or ord(letter) > 0x2FF:
            ems += 0.75
        else:
            ems += 0.62
    return ems * size


def wrap_text(text: str, width: float, size: float = TEXT_SIZE) -> tuple[str, ...]:
    """Break a text into lines that fit a width; a word too long for a line is parted.

    A number stays with the unit after it.

    Args:
        text: The words.
        width: Room for a line.
        size: Size of the type, in the units of the width.
    """
    lines: list[str] = []
    line = ""
    for word in _join_units(text.split()):
        joined = f"{line} {word}" if line else word
        if estimate_width(joined, size) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        while estimate_width(word, size) > width:
            cut = len(word) - 1
            while cut > 1 and estimate_width(word[:cut] + "-", size) > width:
                cut -= 1
            lines.append(word[:cut] + "-")
            word = word[cut:]
        line = word
    return (*lines, line) if line or not lines else tuple(lines)


def _join_units(words: Sequence[str]) -> list[str]:
    """Give the words, each number with the unit that follows it as one word."""
    joined: list[str] = []
    for word in words:
        if joined and word.strip(".,;:)") in _SYMBOLS and joined[-1][-1:].isdigit():
            joined[-1] += f"\u00a0{word}"
        else:
            joined.append(word)
    return joined
