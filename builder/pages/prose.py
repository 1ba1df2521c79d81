"""Text fields and quantities as HTML, for the page they stand on."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from markdown_it.token import Token
from markupsafe import Markup, escape

from builder.pages.records import relative_address
from builder.quantities import (
    count_written_places,
    text_of,
    texts_of_window,
    unit_key,
    write_braces,
)
from builder.text import BRACES, MARKDOWN, Link
from builder.units import Quantity, UnitError, Window, parse_window

Braces = Callable[[str], str]
"""Shows what stands in braces, given without them, as HTML."""

Resolver = Callable[[str, str], tuple[str, str] | None]
"""Gives the address and anchor of an entry (kind, id), or None where it has no page."""


class Prose:
    """Renders text for one page, so that every link is right from where it stands."""

    def __init__(self, address: str, resolve: Resolver) -> None:
        self.address = address
        self.resolve = resolve

    def link(self, kind: str, entry: str) -> str:
        """Give the link to an entry's page; "#" where it has none (checks report it)."""
        found = self.resolve(kind, entry)
        return relative_address(self.address, *found) if found else "#"

    def page(self, address: str, anchor: str = "") -> str:
        """Give the link to a page by its address."""
        return relative_address(self.address, address, anchor)

    def block(self, text: str | None, show: Braces | None = None) -> Markup:
        """Render a Markdown text as paragraphs, lists and tables.

        Args:
            text: Markdown, or nothing.
            show: Shows what stands in braces, where that is not the same on every page.
        """
        if not text:
            return Markup("")
        if show is None and _is_same_everywhere(text):
            return _render_block(text)
        return Markup(self._finish(MARKDOWN.parse(text, {}), show))

    def line(self, text: str | None) -> Markup:
        """Render a Markdown text without the paragraph around it."""
        if not text:
            return Markup("")
        if _is_same_everywhere(text):
            return _render_line(text)
        return Markup(self._finish(MARKDOWN.parseInline(text, {})))

    def words(self, text: str | None) -> Markup:
        """Render a plain text, its quantities in braces in both unit systems."""
        parts = BRACES.split(text or "")
        shown = [escape(part) for part in parts]
        shown[1::2] = [Markup(show_braces(part)) for part in parts[1::2]]
        return Markup("").join(shown)

    def _finish(self, tokens: list[Token], show: Braces | None = None) -> str:
        show = show or show_braces
        for token in tokens:
            if token.children:
                token.children = [part for child in token.children for part in _split(child, show)]
            for child in token.children or []:
                if child.type == "link_open":
                    reference = Link(str(child.attrs.get("href", "")), "").reference
                    if reference is not None:
                        child.attrSet("href", self.link(*reference))
                        child.attrSet("class", f"bl-to-{reference[0]}")
        return str(MARKDOWN.renderer.render(tokens, MARKDOWN.options, {}))


def _is_same_everywhere(text: str) -> bool:
    """Say whether a text holds no link, so that it reads the same on every page."""
    return "[" not in text and "<" not in text


# The same fixes and cautions stand on many pages; most texts hold no link.
@lru_cache(maxsize=8192)
def _render_block(text: str) -> Markup:
    return Markup(_ANYWHERE._finish(MARKDOWN.parse(text, {})))


@lru_cache(maxsize=8192)
def _render_line(text: str) -> Markup:
    return Markup(_ANYWHERE._finish(MARKDOWN.parseInline(text, {})))


_ANYWHERE = Prose("", lambda kind, entry: None)


def _split(token: Token, show: Braces) -> list[Token]:
    """Part a text token at its quantities in braces; of a picture only its words are left."""
    if token.type == "image":
        return [Token("text", "", 0, content=token.content)]
    if token.type != "text" or "{" not in token.content:
        return [token]
    parts: list[Token] = []
    last = 0
    for found in BRACES.finditer(token.content):
        parts.append(Token("text", "", 0, content=token.content[last : found.start()]))
        parts.append(Token("html_inline", "", 0, content=show(found[1])))
        last = found.end()
    parts.append(Token("text", "", 0, content=token.content[last:]))
    return parts


@lru_cache(maxsize=4096)
def show_braces(text: str) -> str:
    """Show what stands in braces: a quantity or window in both unit systems, else the words."""
    try:
        window = parse_window(text)
    except UnitError:
        return str(escape("{" + text + "}"))
    return str(show_window(window))


def both_systems(metric: str, us: str) -> Markup:
    """Set a metric and a US text side by side; readers may hide either."""
    if not us:
        return Markup('<span class="bl-q">{}</span>').format(metric)
    return Markup(
        '<span class="bl-q"><span class="bl-metric">{}</span> '
        '<span class="bl-us"><span class="bl-bracket">(</span>{}'
        '<span class="bl-bracket">)</span></span></span>'
    ).format(metric, us)


def show_quantity(quantity: Quantity) -> Markup:
    """Show a quantity in metric and US units, number and unit never parted."""
    return both_systems(*text_of(quantity))


def show_window(window: Window) -> Markup:
    """Show a window in metric and US units, `57–63 °C (135–145 °F)`."""
    return both_systems(*texts_of_window(window))


@lru_cache(maxsize=8192)
def plain(text: str) -> str:
    """Give a Markdown text as plain text, for descriptions and structured data."""
    words: list[str] = []
    for token in MARKDOWN.parse(text, {}):
        for child in token.children or []:
            if child.type in ("text", "code_inline"):
                words.append(child.content)
            elif child.type in ("softbreak", "hardbreak"):
                words.append(" ")
        if token.type in ("paragraph_close", "list_item_close"):
            words.append(" ")
    joined = BRACES.sub(lambda found: write_braces(found[1]), "".join(words))
    return " ".join(joined.split())


__all__ = [
    "Prose",
    "Resolver",
    "both_systems",
    "count_written_places",
    "escape",
    "plain",
    "show_quantity",
    "show_window",
    "text_of",
    "unit_key",
]
