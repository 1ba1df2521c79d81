"""Links and quantities in Markdown texts."""

from __future__ import annotations

import pytest

from builder.text import MARKDOWN, Link, find_quantities, parse_links


@pytest.mark.parametrize(
    ("text", "links"),
    [
        ("no link", []),
        ("[beads](defect:sweating)", [Link("defect:sweating", "beads")]),
        ("[a *b* c](term:x) [d](term:y)", [Link("term:x", "a b c"), Link("term:y", "d")]),
        ("![card](a.png)", [Link("a.png", "card", True)]),
        ("[more][there]\n\n[there]: https://example.org", [Link("https://example.org", "more")]),
        ("<https://example.org>", [Link("https://example.org", "https://example.org")]),
        ("| a |\n|---|\n| [b](term:c) |", [Link("term:c", "b")]),
        ("- [b](term:c)\n\n> [d](term:e)", [Link("term:c", "b"), Link("term:e", "d")]),
        ("`[a](b)`", []),
        ("    [a](b)", []),
        ("a [b] (c)", []),
        ("[x](javascript:alert(1))", [Link("javascript:alert(1)", "x")]),
        ("[x](java&#115;cript:alert(1))", [Link("javascript:alert(1)", "x")]),
        ("[x](<java\tscript:alert(1)>)", [Link("java\tscript:alert(1)", "x")]),
        ("[x](%6aavascript:a)", [Link("javascript:a", "x")]),
    ],
)
def test_links_are_seen_as_a_browser_would(text: str, links: list[Link]) -> None:
    assert parse_links(text) == links


@pytest.mark.parametrize(
    ("target", "scheme", "reference"),
    [
        ("defect:sweating", "defect", ("defect", "sweating")),
        ("HTTPS://example.org", "https", None),
        ("JavaScript:x", "javascript", None),
        ("java\tscript:x", "javascript", None),
        (" javascript:x", "javascript", None),
        ("page.html", "", None),
        ("#part", "", None),
        ("class:autumn", "class", None),
        ("Defect:x", "defect", None),
    ],
)
def test_a_target_tells_its_scheme_and_entry(
    target: str, scheme: str, reference: tuple[str, str] | None
) -> None:
    link = Link(target, "words")
    assert link.scheme == scheme
    assert link.reference == reference


def test_html_is_shown_and_never_run() -> None:
    rendered = MARKDOWN.render("<script>alert(1)</script> and <b>bold</b>")
    assert "<script" not in rendered
    assert "&lt;script&gt;" in rendered
    assert "<b>" not in rendered


@pytest.mark.parametrize(
    "text", ["[x](javascript:a)", "[x](vbscript:a)", "[x](data:text/html,a)", "[x](file:///etc)"]
)
def test_the_renderer_makes_no_link_of_an_unsafe_address(text: str) -> None:
    assert "href" not in MARKDOWN.render(text)


def test_tables_are_rendered() -> None:
    assert "<table>" in MARKDOWN.render("| a |\n|---|\n| b |")


def test_braces_are_found() -> None:
    assert find_quantities("At {60 degC} or {57 to 63 degC}, not {a\nb} or {}.") == [
        "60 degC",
        "57 to 63 degC",
    ]
