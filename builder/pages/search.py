"""What search finds: one entry a page and one a section or named part, as short plain text.

Made from the fragments we have in hand, because the host would parse every finished page again, and
kept short, because the whole index is fetched with each page.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import unescape

from builder.pages.records import Page, Section

MOST_LETTERS = 2000
"""Letters of text kept for one page, over all its sections."""
MOST_OF_ENTRY = 160
"""Letters of text kept for each part that search finds by itself."""

# Drawings, data and folded-away parts are no text that anyone would look for.
_LEFT_OUT = re.compile(r"<(svg|script|style|table|form|details)\b.*?</\1>", re.DOTALL)
_HEADING = re.compile(r"<h1\b.*?</h1>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")


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
    lead = _extract_text(_HEADING.sub(" ", page.lead), left)
    left -= len(lead)
    entries = [SearchEntry(page.file, page.title, lead)]
    for part in page.entries:
        entries.append(_name_section(page, part, _extract_text(part.html, MOST_OF_ENTRY)))
    for section in page.sections if not page.entries else ():
        text = _extract_text(section.html, left)
        left -= len(text)
        entries.append(_name_section(page, section, text))
    return entries


def _name_section(page: Page, section: Section, text: str) -> SearchEntry:
    return SearchEntry(f"{page.file}#{section.id}", section.title, text)


def _extract_text(html: str, most: int) -> str:
    bare = " ".join(unescape(_TAG.sub(" ", _LEFT_OUT.sub(" ", html))).split())
    if len(bare) <= most:
        return bare
    return bare[:most].rsplit(" ", 1)[0] if most > 0 else ""
