"""Reads built HTML for tests: ids, links, requests, headings, structured data."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"}


@dataclass
class BuiltPage:
    """What one built page holds."""

    path: Path
    ids: list[str] = field(default_factory=list)
    inputs: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)
    headings: list[str] = field(default_factory=list)
    structured: list[Any] = field(default_factory=list)
    title: str = ""
    description: str = ""
    text: str = ""


class _Reader(HTMLParser):
    def __init__(self, page: BuiltPage) -> None:
        super().__init__(convert_charrefs=True)
        self.page = page
        self.inside: list[str] = []
        self.buffer: list[str] = []
        self.kind = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        page = self.page
        if "id" in given:
            page.ids.append(given["id"])
        if "data-bl-input" in given:
            page.inputs.append(given["data-bl-input"])
        if tag in ("a", "area") and "href" in given:
            page.links.append(given["href"])
        if tag == "a" and "xlink:href" in given:
            page.links.append(given["xlink:href"])
        for name in ("src", "srcset", "poster", "data", "action", "background"):
            if name in given and tag != "data":
                page.requests.append(given[name])
        if tag == "link" and given.get("rel") not in ("canonical", "prev", "next", "alternate"):
            page.requests.append(given.get("href", ""))
        if tag in ("use", "image") and "href" in given:
            page.requests.append(given["href"])
        if tag == "meta" and given.get("name") == "description":
            page.description = given.get("content", "")
        page.requests.extend(re.findall(r"url\(([^)]*)\)", given.get("style", "")))
        if tag in ("title", "h1", "script", "style"):
            self.buffer = []
            self.kind = given.get("type", "")
        if tag not in VOID:
            self.inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in self.inside:
            while self.inside and self.inside.pop() != tag:
                pass
        said = "".join(self.buffer).strip()
        if tag == "title" and not self.page.title:
            self.page.title = said
        elif tag == "h1":
            self.page.headings.append(said)
        elif tag == "script" and self.kind == "application/ld+json":
            self.page.structured.append(json.loads(said))
        elif tag == "style":
            self.page.requests.extend(re.findall(r"url\(([^)]*)\)", said))

    def handle_data(self, data: str) -> None:
        self.buffer.append(data)
        if not {"script", "style", "code", "pre"} & set(self.inside):
            self.page.text += data


def read_page(path: Path) -> BuiltPage:
    """Read one built page."""
    page = BuiltPage(path)
    _Reader(page).feed(path.read_text(encoding="utf-8"))
    return page


def read_site(site: Path) -> dict[str, BuiltPage]:
    """Read every HTML file of a site, by path within it."""
    return {
        path.relative_to(site).as_posix(): read_page(path) for path in sorted(site.rglob("*.html"))
    }
