"""Markdown and drawings for paper: data for the templates, never markup."""

from __future__ import annotations

import pytest

from builder.papers.data import write_numbers
from builder.papers.pictures import prepare_drawing
from builder.papers.prose_nodes import set_line, set_text, write_plain
from builder.papers.typst_pdf import find_fonts, split_clusters


def test_plain_text_stays_plain() -> None:
    assert set_text("Weigh 113 g of it.") == ("Weigh 113 g of it.",)


def test_blocks_and_runs() -> None:
    text = "One *two* **three** `four` [five](lesson:x).\n\n- a\n- b **c**\n\n1. x\n2. y"
    assert set_text(text) == (
        [
            "p",
            [
                "One ",
                ["i", ["two"]],
                " ",
                ["b", ["three"]],
                " ",
                ["code", "four"],
                " five.",
            ],
        ],
        ["ul", [["a"], [["p", ["b ", ["b", ["c"]]]]]]],
        ["ol", [["x"], ["y"]]],
    )


def test_tables_keep_their_cells() -> None:
    assert set_text("|a|b|\n|-|-|\n|1|2|") == (
        ["table", [[["p", ["a"]], ["p", ["b"]]], [["p", ["1"]], ["p", ["2"]]]]],
    )


def test_a_quantity_is_written_in_both_systems() -> None:
    assert write_plain("At {60 degC}, from {57 to 63 degC}.") == (
        "At 60\u00a0°C (140\u00a0°F), from 57–63\u00a0°C (135–145\u00a0°F)."
    )


@pytest.mark.parametrize(
    "text",
    ["#set page(width: 1pt)", '$x$ @label <tag> #eval("1")', "<script>alert(1)</script>"],
)
def test_markup_of_other_languages_is_only_text(text: str) -> None:
    assert write_plain(text) == text


def test_lines_join_what_stands_in_blocks() -> None:
    assert set_line("a\n\nb") == ["p", ["a", " ", "b"]]
    assert set_line("a") == "a"
    assert write_plain("a\n\n- b\n- c") == "a b; c"


def test_drawings_lose_the_variables_of_the_site() -> None:
    svg = '<path fill="var(--d-bar,#F3E9D2)" stroke="var(--d-ink,currentColor)" d="M0 0"/>'
    assert prepare_drawing(svg) == '<path fill="#F3E9D2" stroke="#1b1b1b" d="M0 0"/>'
    assert prepare_drawing('<g fill="var(--x, rgba(1, 2, 3, 0.5))"/>') == (
        '<g fill="rgba(1, 2, 3, 0.5)"/>'
    )


def test_numbers_are_written_shortly() -> None:
    assert write_numbers([1]) == "1"
    assert write_numbers([1, 2, 3, 5, 8, 9]) == "1–3, 5, 8–9"


def test_letters_keep_their_marks() -> None:
    assert split_clusters("e\u0301a") == ["e\u0301", "a"]


def test_a_letter_no_font_has_is_found_out() -> None:
    """U+10EF00 lies in a private area: no font of any machine has it."""
    fonts = find_fonts(["Ada", "Ægir Þórðarson", "Наталья", "x\U0010ef00y"])
    assert fonts.missing == {"\U0010ef00"}
    assert find_fonts(["Ada", "Ægir Þórðarson", "Наталья", "Ελένη"]).system is False
    assert find_fonts(["Ada"]).missing == frozenset()
