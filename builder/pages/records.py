"""What a host gets: pages, files and the navigation, as plain values."""

from __future__ import annotations

import posixpath
from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape
from typing import Any, Protocol

from builder.diagnostics import Severity

ASSET_FOLDER = "assets/benchlore/"
"""Where our styles and scripts stand within a site."""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a page under its own heading.

    Args:
        id: Anchor, unique on the page.
        title: Heading, plain text.
        html: What stands below it.
    """

    id: str
    title: str
    html: str


@dataclass(frozen=True, slots=True)
class Page:
    """One page as a finished fragment.

    Args:
        address: Where it stands, for instance `lessons/colour/`; "" is the home page.
        title: Heading and title, plain text.
        description: One sentence for search engines.
        lead: HTML between the heading and the first section; holds the `<h1>` itself.
        sections: The parts with headings, in order.
        kind: What sort of page it is, for the style sheet: `lesson`, `defect`, `home` ...
        structured: schema.org objects (JSON-LD), in order.
        anchors: Further ids that other pages link to.
        language: Code of the language it is in, where that is not the language of the site.
        searchable: Whether search should find it.
        background: Whether search should name it after all else, as it does sources.
        entries: Parts within the sections that search finds by themselves, such as the words of a
            glossary; the text of the sections is then left to them.
    """

    address: str
    title: str
    description: str
    lead: str
    sections: tuple[Section, ...] = ()
    kind: str = "page"
    structured: tuple[Mapping[str, Any], ...] = ()
    anchors: frozenset[str] = frozenset()
    searchable: bool = True
    background: bool = False
    language: str = ""
    entries: tuple[Section, ...] = ()

    @property
    def file(self) -> str:
        """Path of the HTML file within the site."""
        return posixpath.join(self.address, "index.html")

    @property
    def source(self) -> str:
        """Path of the Markdown file that a host would know it by."""
        return posixpath.join(self.address, "index.md")

    @property
    def html(self) -> str:
        """The whole fragment: lead, then each section under its heading."""
        language = f' lang="{self.language}"' if self.language else ""
        parts = [f'<div class="bl bl-{self.kind}"{language}>', self.lead]
        parts.extend(
            f'<section class="bl-section" aria-labelledby="{section.id}">'
            f'<h2 id="{section.id}">{escape(section.title, quote=False)}</h2>\n'
            f"{section.html}</section>"
            for section in self.sections
        )
        parts.append("</div>")
        parts.append(self.structured_html)
        return "\n".join(parts)

    @property
    def structured_html(self) -> str:
        """The schema.org objects as script elements, safe within HTML."""
        return "\n".join(
            f'<script type="application/ld+json">{dump_for_script(thing)}</script>'
            for thing in self.structured
        )


@dataclass(frozen=True, slots=True)
class Asset:
    """A file of the site that is no page."""

    file: str
    data: bytes


@dataclass(frozen=True, slots=True)
class NavItem:
    """An entry of the site's navigation.

    Args:
        title: As it is shown.
        address: Of its page.
        covers: Beginnings of the addresses that belong to it, its own left out.
    """

    title: str
    address: str
    covers: tuple[str, ...] = ()

    def holds(self, address: str) -> bool:
        """Say whether a page belongs to it."""
        if not self.address:
            return not address
        return address.startswith((self.address, *self.covers))


class RuleNote(Protocol):
    """What the manual says of a rule of the check; the rules themselves fit it."""

    @property
    def id(self) -> str:
        """Kebab-case id."""

    @property
    def severity(self) -> Severity:
        """The most severe finding it makes."""

    @property
    def family(self) -> str:
        """What it looks at."""

    @property
    def summary(self) -> str:
        """What it finds, in one line."""

    @property
    def why(self) -> str:
        """Why that matters; Markdown."""

    @property
    def failing(self) -> str:
        """YAML that it reports."""

    @property
    def passing(self) -> str:
        """YAML that it lets pass."""


@dataclass(frozen=True, slots=True)
class Site:
    """Everything a host needs."""

    name: str
    description: str
    language: str
    pages: tuple[Page, ...]
    assets: tuple[Asset, ...]
    nav: tuple[NavItem, ...]
    styles: tuple[str, ...] = ()
    scripts: tuple[str, ...] = ()
    frame: str = ""
    """The style sheet of the frame around the pages."""
    dark: str = ""
    """The style sheet that is called where a dark page is wanted."""
    first_script: str = ""
    """The script that runs before anything is drawn."""
    search: str = ""
    """The script that holds the search index."""
    place: str | None = None
    logo: str | None = None
    favicon: str | None = None
    by_address: Mapping[str, Page] = field(default_factory=dict, repr=False)


def dump_for_script(value: Any) -> str:
    """Write a value as JSON that may stand in a script element, whatever text it holds."""
    import json

    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def relative_address(here: str, there: str, anchor: str = "") -> str:
    """Give the link from one page to another, file name included so that it works from a folder.

    Args:
        here: Address of the page that holds the link, for instance `lessons/colour/`.
        there: Address of the page or file linked to; one that ends in "/" or is "" is a page.
        anchor: Id on that page, or "".

    Example:
        `relative_address("lessons/first/", "defects/haze/", "causes")` is
        `"../../defects/haze/index.html#causes"`.
    """
    mark = f"#{anchor}" if anchor else ""
    if here == there and anchor:
        return mark
    file = posixpath.join(there, "index.html") if there == "" or there.endswith("/") else there
    return posixpath.relpath(file, here or ".") + mark
