"""Colours of the style sheet: every pair of text and ground that is used reaches WCAG 2.2 AA."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

import builder

ASSETS = Path(builder.__file__).parent / "assets"
SHEETS = {"light": ASSETS / "benchlore.css", "dark": ASSETS / "dark.css"}

TEXT = [
    *product(("ink", "quiet", "moss", "rust", "slate"), ("paper", "raised")),
    ("ink", "ochre-paper"),
    ("ochre", "ochre-paper"),
    ("quiet", "ochre-paper"),
    ("ink", "rust-paper"),
    ("rust", "rust-paper"),
    ("quiet", "rust-paper"),
    ("moss", "rust-paper"),
    ("moss", "ochre-paper"),
    ("ink", "moss-paper"),
    ("quiet", "moss-paper"),
    ("slate", "slate-paper"),
    ("paper", "ink"),
    ("paper", "rust"),
    ("paper", "ochre"),
]
GRAPHICS = [*product(("edge", "rust", "ochre", "slate", "moss"), ("paper", "raised"))]


def read_colours(scheme: str) -> dict[str, str]:
    """Read the six-digit colours of a scheme by the name of their token."""
    sheet = SHEETS[scheme].read_text(encoding="utf-8")
    block = re.search(r":root \{(.*?)\n\}", sheet, re.DOTALL)
    assert block is not None
    return dict(re.findall(r"--bl-([a-z-]+): (#[0-9a-f]{6});", block[1]))


def luminance(colour: str) -> float:
    """Relative luminance, as WCAG 2.2 defines it."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, as WCAG 2.2 defines it."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    # The first pair of WCAG's own technique G18 examples: #777777 on white just fails 4.5.
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("scheme", sorted(SHEETS))
@pytest.mark.parametrize(("text", "ground"), TEXT)
def test_text_reaches_four_and_a_half(scheme: str, text: str, ground: str) -> None:
    colours = read_colours(scheme)
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("scheme", sorted(SHEETS))
@pytest.mark.parametrize(("mark", "ground"), GRAPHICS)
def test_graphics_reach_three(scheme: str, mark: str, ground: str) -> None:
    colours = read_colours(scheme)
    assert contrast(colours[mark], colours[ground]) >= 3.0


@pytest.mark.parametrize("path", sorted(ASSETS.glob("*.css")), ids=lambda path: path.name)
def test_style_sheet_asks_nothing_of_another_host(path: Path) -> None:
    sheet = path.read_text(encoding="utf-8")
    assert "http" not in sheet
    assert "@import" not in sheet
    assert "@font-face" not in sheet
