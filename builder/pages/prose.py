"""Text fields and quantities as HTML, for the page they stand on."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from markdown_it.token import Token
from markupsafe import Markup, escape

from builder import figures
from builder.pages.records import relative_address
from builder.text import BRACES, MARKDOWN, Link
from builder.units import Quantity, UnitError, Window, parse_window

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

    def block(self, text: str | None) -> Markup:
        """Render a Markdown text as paragraphs, lists and tables."""
        if not text:
            return Markup("")
        return Markup(self._finish(MARKDOWN.parse(text, {})))

    def line(self, text: str | None) -> Markup:
        """Render a Markdown text without the paragraph around it."""
        if not text:
            return Markup("")
        return Markup(self._finish(MARKDOWN.parseInline(text, {})))

    def _finish(self, tokens: list[Token]) -> str:
        for token in tokens:
            if token.children:
                token.children = [part for child in token.children for part in _split(child)]
            for child in token.children or []:
                if child.type == "link_open":
                    reference = Link(str(child.attrs.get("href", "")), "").reference
                    if reference is not None:
                        child.attrSet("href", self.link(*reference))
                        child.attrSet("class", f"bl-to-{reference[0]}")
        return str(MARKDOWN.renderer.render(tokens, MARKDOWN.options, {}))


def _split(token: Token) -> list[Token]:
    """Part a text token at its quantities in braces."""
    if token.type != "text" or "{" not in token.content:
        return [token]
    parts: list[Token] = []
    last = 0
    for found in BRACES.finditer(token.content):
        parts.append(Token("text", "", 0, content=token.content[last : found.start()]))
        parts.append(Token("html_inline", "", 0, content=show_braces(found[1])))
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


def unit_key(quantity: Quantity) -> str | None:
    """Name a quantity's unit as `figures` knows it, or None where it has no such unit."""
    written = quantity.unit.text
    if written in figures.UNITS:
        return written
    return figures.SPELLINGS.get(written.lower())


def count_written_places(magnitude: float) -> int:
    """Give the decimal places an author wrote, at most three."""
    text = f"{magnitude:.3f}".rstrip("0")
    return len(text.partition(".")[2])


def both_systems(metric: str, us: str) -> Markup:
    """Set a metric and a US text side by side; readers may hide either."""
    if not us:
        return Markup('<span class="bl-q">{}</span>').format(metric)
    return Markup(
        '<span class="bl-q"><span class="bl-metric">{}</span> '
        '<span class="bl-us"><span class="bl-bracket">(</span>{}'
        '<span class="bl-bracket">)</span></span></span>'
    ).format(metric, us)


_TO_METRIC = {
    "oz": ("g", 0),
    "lb": ("g", 0),
    "floz": ("mL", 0),
    "tsp": ("mL", 1),
    "tbsp": ("mL", 0),
    "cup": ("mL", 0),
    "inch": ("cm", 1),
    "ft": ("cm", 0),
    "degF": ("degC", 0),
    "delta_degF": ("delta_degC", 0),
}


def text_of(quantity: Quantity) -> tuple[str, str]:
    """Give a quantity as metric and US text; the US text is "" where there is none."""
    key = unit_key(quantity)
    if key is None:
        places = count_written_places(quantity.magnitude)
        number = figures.format_number(quantity.magnitude, places)
        return figures.join_unit(number, quantity.unit.text), ""
    places = count_written_places(quantity.magnitude)
    if key in _TO_METRIC:
        metric, shown = _TO_METRIC[key]
        return (
            figures.format_quantity(quantity.base, metric, "places", shown),
            figures.format_quantity(quantity.base, key, "places", places),
        )
    return (
        figures.format_quantity(quantity.base, key, "places", places),
        figures.format_us(quantity.base, key, "places", min(places, 1)),
    )


def show_quantity(quantity: Quantity) -> Markup:
    """Show a quantity in metric and US units, number and unit never parted."""
    return both_systems(*text_of(quantity))


def show_window(window: Window) -> Markup:
    """Show a window in metric and US units, `57–63 °C (135–145 °F)`."""
    if window.low == window.high:
        return show_quantity(window.high)
    low, high = text_of(window.low), text_of(window.high)
    return both_systems(_span(low[0], high[0]), _span(low[1], high[1]))


def _span(low: str, high: str) -> str:
    """Join two texts with one unit: `57 °C`, `63 °C` become `57–63 °C`."""
    number, space, unit = low.rpartition(figures.NO_BREAK_SPACE)
    if space and high.endswith(space + unit):
        return f"{number}–{high}"
    return f"{low}–{high}" if low else ""


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
    joined = BRACES.sub(lambda found: _plain_braces(found[1]), "".join(words))
    return " ".join(joined.split())


def _plain_braces(text: str) -> str:
    try:
        window = parse_window(text)
    except UnitError:
        return "{" + text + "}"
    if window.low == window.high:
        metric, us = text_of(window.high)
    else:
        low, high = text_of(window.low), text_of(window.high)
        metric, us = _span(low[0], high[0]), _span(low[1], high[1])
    return f"{metric} ({us})" if us else metric


__all__ = [
    "Prose",
    "Resolver",
    "both_systems",
    "escape",
    "plain",
    "show_quantity",
    "show_window",
    "text_of",
]
