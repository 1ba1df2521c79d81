"""Pages of the site: data first, template after, finished HTML fragments with their contents list.

`make_site` is the way in. It gives `Page` records that any host can take: the MkDocs plugin hands
them over as virtual files, `write_docs_folder` writes them as an ordinary folder of Markdown files.
"""

from __future__ import annotations

from builder.pages.docs_folder import write_docs_folder, write_host_settings
from builder.pages.records import Asset, NavItem, Page, Section, Site
from builder.pages.search import SearchEntry, make_search_entries
from builder.pages.site import make_site

__all__ = [
    "Asset",
    "NavItem",
    "Page",
    "SearchEntry",
    "Section",
    "Site",
    "make_search_entries",
    "make_site",
    "write_docs_folder",
    "write_host_settings",
]
