"""Content may never run or load anything: every text of the shipped course, filled with harm.

Pages are read in Chromium twice: with their policy switched off, so that escaping alone has to
hold, and with it on, so that the policy has nothing to forbid either.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from builder.build import Built, Checked
from builder.checks import RULES
from builder.course import Course
from builder.library import Library, build_library, collect_files
from builder.library.loader import find_kind
from builder.model import MarkdownText, PlainText, walk_marks
from builder.pages import make_site
from builder.plugin import build_with_host
from tests.browser.conftest import watch
from tests.shipped import ROOT

pytestmark = pytest.mark.browser

BAD_HOST = "harm.invalid"
SHORT = "<img/src=x/onerror=h()>"
PLAIN = (
    f"\"'><img src=//{BAD_HOST}/a onerror=h()></title></script></template><script>h()</script>"
    f"![p](//{BAD_HOST}/b)[l](javascript:h())"
)
MARKDOWN = (
    f"\n\n\"'></title></textarea></script></template><script>h()</script>\n\n"
    f"<img src=https://{BAD_HOST}/a onerror=h()> <svg onload=h()> <style>@import "
    f"'//{BAD_HOST}/c';</style>\n\n![p](https://{BAD_HOST}/b.png) [l](javascript:h())"
    f" [l](data:text/html,x) <javascript:h()> [ref]\n\n[ref]: javascript:h()\n\n"
    '<iframe srcdoc="<script>parent.h()</script>"></iframe>'
)
PRESS = """() => {
  // What is folded away or waits for a press is there for a reader too.
  for (const each of document.querySelectorAll(".bl details")) each.open = true;
  for (const each of [...document.querySelectorAll(".bl button")].slice(0, 12)) each.click();
  for (const each of document.querySelectorAll(".bl a, .bl .bl-drawing")) {
    each.dispatchEvent(new Event("mouseover", { bubbles: true }));
  }
}"""
LOOK = """() => ({
  ran: window.hurt || 0,
  elements: [...document.querySelectorAll("*")].filter(
    (each) => [...each.attributes].some((one) => one.name.startsWith("on"))
      || ["IFRAME", "OBJECT", "EMBED", "BASE", "META"].includes(each.tagName)
         && document.body.contains(each)
      || each.tagName === "IMG" && !/mark.svg$/.test(each.src)
      || (each.tagName === "SCRIPT" && /h\\(\\)/.test(each.text)
         && each.type !== "application/json" && each.type !== "application/ld+json")
      || /^\\s*(javascript|data):/i.test(each.getAttribute("href") || "")
  ).map((each) => each.outerHTML.slice(0, 200)),
  title: document.title,
  shown: document.body.innerText.includes("onerror=h()"),
})"""


def spoil(library: Library) -> tuple[dict[str, str], dict[str, int]]:
    """Add harm to every text of every entry; give the files, and how many texts of each kind."""
    values: dict[str, Any] = {}
    counts: dict[str, int] = {}
    for entry in library.walk():
        source = library.sources[entry.kind, entry.id]
        value = values.setdefault(source.document.file, copy.deepcopy(source.document.value))
        for key in source.route:
            value = value[key]
        for route, mark, text in walk_marks(entry):
            if not isinstance(mark, PlainText | MarkdownText):
                continue
            place = value
            for key in route[:-1]:
                place = place[key]
            if route[-1] not in (place if isinstance(place, dict) else range(len(place))):
                continue  # a default, which nobody wrote
            if isinstance(mark, MarkdownText):
                harm = text + MARKDOWN
            elif route[-1] == "label" and entry.kind == "symptom":
                harm = SHORT
            elif route[-1] in ("vessel", "into"):
                harm = f"{text} {PLAIN}"  # by their names vessels are told apart
            else:
                harm = PLAIN
            place[route[-1]] = harm
            counts[entry.kind] = counts.get(entry.kind, 0) + 1
    # The order of fields counts: a calculator's values use those before them.
    files = {
        # JSON is YAML in which every text is quoted: 09:30 stays a text.
        file: json.dumps(value, ensure_ascii=False)
        for file, value in values.items()
    }
    return files, counts


@pytest.fixture(scope="module")
def hostile_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of a spoilt course, built although its check finds errors."""
    files = collect_files(ROOT)
    library, _ = build_library(files)
    spoilt, counts = spoil(library)
    assert set(counts) >= {kind for kind in library.entries if library.entries[kind]}
    assert sum(counts.values()) > 3000
    drawings = {name: text for name, text in files.items() if name.endswith(".svg")}
    drawings["kb/drawings/sweating.svg"] = (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" onload="h()">'
        b"<script>h()</script>"
        b"<desc>&lt;img src=x onerror=h()&gt;</desc><foreignObject><img/></foreignObject>"
        b'<a href="javascript:h()"><path d="M0 0L9 9"/></a></svg>'
    )
    assert {place for file in spoilt if (place := find_kind(file)) is None} == set()
    hostile, findings = build_library({**spoilt, **drawings})
    assert {found.rule for found in findings} == {"drawing-unsafe"}
    assert {kind: len(each) for kind, each in hostile.entries.items()} == {
        kind: len(each) for kind, each in library.entries.items()
    }
    course = Course(hostile)
    built = Built(Checked(course, ()), make_site(course, RULES.values()))
    folder = tmp_path_factory.mktemp("hostile") / "site"
    build_with_host(ROOT, folder, built)
    return folder


def list_pages(site: Path) -> Iterator[Path]:
    """Give one page of each sort, and two where a sort has several."""
    kept: dict[str, int] = {}
    for path in sorted(site.rglob("*.html")):
        sort = path.relative_to(site).parts[0]
        if sort == "404.html":
            continue  # its links begin at the top of a server
        kept[sort] = kept.get(sort, 0) + 1
        if kept[sort] <= 2 or path.parent.name == "sweating":
            yield path


def read_page(page: Page, path: Path) -> dict[str, Any]:
    page.goto(path.as_uri())
    page.wait_for_load_state("load")
    page.evaluate(PRESS)
    found: dict[str, Any] = page.evaluate(LOOK)
    return found


@pytest.mark.parametrize("wall", ["escaping", "policy"])
def test_nothing_runs_and_nothing_is_asked_of_another_host(
    chromium: Browser, hostile_site: Path, wall: str
) -> None:
    context = chromium.new_context(bypass_csp=wall == "escaping")
    context.add_init_script("window.h = () => { window.hurt = (window.hurt || 0) + 1; };")
    page = context.new_page()
    noted = watch(page)
    shown = 0
    harmful: list[tuple[str, Any]] = []
    paths = list(list_pages(hostile_site))
    for path in paths:
        found = read_page(page, path)
        shown += found["shown"]
        name = path.relative_to(hostile_site).as_posix()
        if found["ran"] or found["elements"]:
            harmful.append((name, found))
        assert "benchlore" not in found["title"].lower()
    context.close()
    assert harmful == []
    assert noted == []
    assert shown > len(paths) / 2, "the harm stands on the pages, as words"


def test_search_shows_titles_as_words(chromium: Browser, hostile_site: Path) -> None:
    context = chromium.new_context()
    context.add_init_script("window.h = () => { window.hurt = (window.hurt || 0) + 1; };")
    page = context.new_page()
    noted = watch(page)
    page.goto((hostile_site / "index.html").as_uri())
    page.get_by_role("button", name="Search").click()
    page.get_by_role("searchbox", name="Search").press_sequentially("onerror")
    page.locator("[data-bl-search-results] a").first.wait_for()
    found = page.evaluate(LOOK)
    context.close()
    assert (found["ran"], found["elements"], noted) == (0, [], [])


def test_every_page_bears_a_policy_without_other_hosts(hostile_site: Path) -> None:
    for path in hostile_site.rglob("*.html"):
        html = path.read_text()
        policies = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)"', html)
        assert len(policies) == 1, path
        assert policies[0].startswith("default-src 'none'; script-src 'self' file:; ")
        assert "'unsafe-inline'" not in policies[0]
        assert "'unsafe-eval'" not in policies[0]
        bare = re.sub(r"'sha256-[^']*'", "", policies[0])
        assert not re.search(r"https?:|//|\*|harm", bare)
        # It comes before whatever could run.
        assert html.index("Content-Security-Policy") < html.index("<script")
