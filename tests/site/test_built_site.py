"""The shipped site as built: links, anchors, requests, structured data, words of the page."""

from __future__ import annotations

import posixpath
import re
from pathlib import Path
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

import pytest

from builder.library import load_library
from tests.shipped import ROOT
from tests.site.pages import BuiltPage, read_site

pytestmark = pytest.mark.site


@pytest.fixture(scope="module")
def pages(shipped_site: Path) -> dict[str, BuiltPage]:
    return read_site(shipped_site)


def resolve(page: str, link: str) -> tuple[str, str]:
    parts = urlsplit(link)
    target = posixpath.normpath(posixpath.join(posixpath.dirname(page), unquote(parts.path)))
    if not parts.path:
        target = page
    elif parts.path.endswith("/") or parts.path in (".", ".."):
        target = posixpath.normpath(posixpath.join(target, "index.html"))
    return target, unquote(parts.fragment)


def test_every_address_of_the_contract_is_there(pages: dict[str, BuiltPage]) -> None:
    library, _ = load_library(ROOT)
    wanted = {"index.html", "404.html"}
    for folder in ("diagnose", "safety", "glossary", "sources", "teaching"):
        wanted.add(f"{folder}/index.html")
    for kind, folder in (
        ("lesson", "lessons"),
        ("defect", "defects"),
        ("cause", "causes"),
        ("calculator", "calculators"),
    ):
        wanted.update(f"{folder}/{entry}/index.html" for entry in library.entries.get(kind, {}))
        wanted.add(f"{folder}/index.html")
    assert wanted <= set(pages)


def test_every_internal_link_and_anchor_leads_somewhere(
    pages: dict[str, BuiltPage], shipped_site: Path
) -> None:
    broken: list[str] = []
    checked = 0
    for name, page in pages.items():
        if name == "404.html":
            continue  # its links start from the site's own address; tested apart
        for link in page.links:
            if urlsplit(link).scheme:
                continue
            checked += 1
            target, anchor = resolve(name, link)
            if target not in pages:
                if not (shipped_site / target).is_file():
                    broken.append(f"{name}: {link}")
            elif "=" in anchor:  # carries values to a calculator
                named = {pair.partition("=")[0] for pair in urlsplit(link).fragment.split("&")}
                if not named <= set(pages[target].inputs):
                    broken.append(f"{name}: {link} (no such input)")
            elif anchor and anchor not in pages[target].ids and not anchor.startswith("__"):
                broken.append(f"{name}: {link} (no such anchor)")
    assert broken == []
    assert checked > 1000


def test_ids_are_unique_on_each_page(pages: dict[str, BuiltPage]) -> None:
    doubled = {
        name: sorted({one for one in page.ids if page.ids.count(one) > 1})
        for name, page in pages.items()
    }
    assert {name: ids for name, ids in doubled.items() if ids} == {}


def test_no_page_asks_another_host_for_anything(
    pages: dict[str, BuiltPage], shipped_site: Path
) -> None:
    asked = [
        f"{name}: {request}"
        for name, page in pages.items()
        for request in page.requests
        if urlsplit(request).netloc
    ]
    assert asked == []
    for sheet in shipped_site.rglob("*.css"):
        text = sheet.read_text(encoding="utf-8")
        assert not re.search(r"@import|url\(\s*['\"]?(?:https?:)?//", text), sheet
    for script in (shipped_site / "assets" / "benchlore").rglob("*.js"):
        text = script.read_text(encoding="utf-8")
        assert not re.search(r"\bfetch\(|XMLHttpRequest|https?://", text), script


def test_each_page_has_one_heading_a_title_and_a_description(pages: dict[str, BuiltPage]) -> None:
    for name, page in pages.items():
        assert len(page.headings) == 1, name
        assert page.headings[0], name
        assert page.title, name
        assert page.description or name == "404.html", name
    titles = [page.title for page in pages.values()]
    assert len(set(titles)) == len(titles)


def test_structured_data_is_valid_and_on_the_pages_that_need_it(
    pages: dict[str, BuiltPage],
) -> None:
    """schema.org: Course, LearningResource and HowTo, with the properties those types require."""
    library, _ = load_library(ROOT)
    for name, page in pages.items():
        for thing in page.structured:
            assert thing["@context"] == "https://schema.org", name
            assert thing["@type"], name
    kinds = {
        name: {t for thing in page.structured for t in types(thing)} for name, page in pages.items()
    }
    assert "Course" in kinds["index.html"] | kinds["lessons/index.html"]
    for lesson in library.lessons.values():
        page = pages[f"lessons/{lesson.id}/index.html"]
        assert "LearningResource" in kinds[f"lessons/{lesson.id}/index.html"]
        (how_to,) = [thing for thing in page.structured if "HowTo" in types(thing)]
        assert how_to["name"]
        assert len(how_to["step"]) == len(lesson.steps)
        assert re.fullmatch(r"P(?:\d+D)?(?:T(?:\d+H)?(?:\d+M)?(?:\d+S)?)?", how_to["totalTime"])


def types(thing: dict[str, object]) -> set[str]:
    kind = thing["@type"]
    return {str(one) for one in kind} if isinstance(kind, list) else {str(kind)}


def test_the_sitemap_lists_every_page(pages: dict[str, BuiltPage], shipped_site: Path) -> None:
    tree = ElementTree.parse(shipped_site / "sitemap.xml")
    space = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
    listed = {
        urlsplit(place.text or "").path.lstrip("/") or "index.html"
        for place in tree.iter(f"{space}loc")
    }
    wanted = {name for name in pages if name != "404.html"}
    assert {name if name.endswith(".html") else f"{name}index.html" for name in listed} == wanted


def test_raw_markup_and_braces_never_reach_a_reader(pages: dict[str, BuiltPage]) -> None:
    for name, page in pages.items():
        assert "{{" not in page.text, name
        assert "](" not in page.text, name
        assert not re.search(r"\{\s*\d[^}]*\}", page.text), name
        # A sentence may begin with "None"; a value that is missing stands alone.
        assert not re.search(r"\bNone\b(?! \w)|\bundefined\b|&lt;|&amp;", page.text), name


def test_the_not_found_page_leads_on(pages: dict[str, BuiltPage]) -> None:
    links = " ".join(pages["404.html"].links)
    assert "lessons" in links
    assert "diagnose" in links


def test_nothing_of_the_host_or_its_theme_is_in_the_site(
    pages: dict[str, BuiltPage], shipped_site: Path
) -> None:
    ours = {".benchlore.json", "assets/licences.txt", "sitemap.xml", "sitemap.xml.gz"}
    files = {path.relative_to(shipped_site).as_posix() for path in shipped_site.rglob("*.*")}
    others = {name for name in files if not name.endswith(".html")} - ours
    assert {name for name in others if not name.startswith("assets/benchlore/")} == set()
    for name in pages:
        html = (shipped_site / name).read_text(encoding="utf-8").lower()
        for trace in ("mkdocs", "material for", 'name="generator"', "md-"):
            # The words of a course may hold any of these; the frame and the head may not.
            frame = html[: html.index("<main")] + html[html.index("</main") :]
            assert trace not in frame, f"{name}: {trace}"


def test_the_site_carries_the_licence_of_what_is_in_it(shipped_site: Path) -> None:
    terms = (shipped_site / "assets" / "licences.txt").read_text(encoding="utf-8").lower()
    assert "the above copyright notice and this permission notice shall be included" in terms
