"""Takes a filled template apart into a page's lead and its sections.

A template writes one page from top to bottom and starts each section with the macro `section` of
`macros_knowledge.html.j2`, a comment that nothing an author writes can imitate, because every text
is escaped.
"""

from __future__ import annotations

import re
from html import unescape

from builder.pages.records import Section

_START = re.compile(r"<!--section ([a-z0-9-]+) (.*?)-->")


def split_page(html: str) -> tuple[str, tuple[Section, ...]]:
    """Take a filled template apart.

    Args:
        html: The filled template.

    Returns:
        What stands before the first section, and the sections that are not empty.
    """
    lead, *rest = _START.split(html)
    sections = [
        Section(rest[place], unescape(rest[place + 1]), rest[place + 2].strip())
        for place in range(0, len(rest), 3)
    ]
    return lead.strip(), tuple(section for section in sections if section.html)
