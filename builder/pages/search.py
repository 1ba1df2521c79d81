"""What search finds: one entry a page and one a section or named part, as short plain text.

Made from the fragments we have in hand and kept short, because the whole index is fetched when the
search is opened.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from html.parser import HTMLParser

from builder.pages.records import Page, Section, dump_for_script

MOST_LETTERS = 2000
"""Letters of text kept for one page, over all its sections."""
MOST_OF_ENTRY = 160
"""Letters of text kept for each part that search finds by itself."""

PIECE = 4000
"""Letters of HTML that are read before looking whether there is text enough."""
LEFT_OUT = frozenset({"svg", "script", "style", "table", "form", "details"})
"""Drawings, data and folded-away parts: no text that anyone would look for."""


@dataclass(frozen=True, slots=True)
class SearchEntry:
    """One place that search leads to: address with anchor, heading, plain text."""

    location: str
    title: str
    text: str


def make_search_entries(page: Page) -> list[SearchEntry]:
    """Make the entries of a page, its own first; none where the page is not to be found."""
    if not page.searchable:
        return []
    left = MOST_LETTERS
    lead = _extract_text(page.lead, left, LEFT_OUT | {"h1"})
    left -= len(lead)
    entries = [SearchEntry(page.file, page.title, lead)]
    for part in page.entries:
        entries.append(_name_section(page, part, _extract_text(part.html, MOST_OF_ENTRY)))
    for section in page.sections if not page.entries else ():
        text = _extract_text(section.html, left)
        left -= len(text)
        entries.append(_name_section(page, section, text))
    return entries


def write_search_index(pages: Iterable[Page]) -> str:
    """Give the script that holds the index.

    A row is address, title, text, title of the page or "", and "later" where all else comes first.
    """
    rows = [
        [
            entry.location,
            entry.title,
            entry.text,
            page.title if "#" in entry.location else "",
            "later" if page.background else "",
        ]
        for page in pages
        for entry in make_search_entries(page)
    ]
    return f"window.benchlore.searchIndex = {dump_for_script(rows)};\n"


def _name_section(page: Page, section: Section, text: str) -> SearchEntry:
    return SearchEntry(f"{page.file}#{section.id}", section.title, text)


class _TextReader(HTMLParser):
    """Keeps the text of a fragment, without what stands in some elements."""

    def __init__(self, left_out: Collection[str]) -> None:
        super().__init__()
        self.left_out = left_out
        self.inside: list[str] = []
        self.found: list[str] = []
        self.letters = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self.left_out:
            self.inside.append(tag)
        self.found.append(" ")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(" ")

    def handle_endtag(self, tag: str) -> None:
        if tag in self.inside:
            del self.inside[self.inside.index(tag) :]
        self.found.append(" ")

    def handle_data(self, data: str) -> None:
        if not self.inside:
            self.found.append(data)
            self.letters += len(data.strip())


def _extract_text(html: str, most: int, left_out: Collection[str] = LEFT_OUT) -> str:
    if most <= 0:
        return ""
    reader = _TextReader(left_out)
    # Most of a long section is past what is kept: exercises, data of scripts, tables.
    for start in range(0, len(html), PIECE):
        reader.feed(html[start : start + PIECE])
        if reader.letters > most:
            break
    else:
        reader.close()
    text = " ".join("".join(reader.found).split())
    return text if len(text) <= most else text[:most].rsplit(" ", 1)[0]
