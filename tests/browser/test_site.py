"""The built shipped site in Chromium: opened from its folder, and served, as readers meet it."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect
from pypdf import PdfReader

from tests.browser.conftest import OpenPage

pytestmark = pytest.mark.browser

Visit = Callable[..., Page]

LESSON = "lessons/first-plain-bar/index.html"
SWIRL = "lessons/swirl-pour/index.html"
DEFECT = "defects/sweating/index.html"
CALCULATOR = "calculators/scent-dose/index.html"
KINDS = {
    "home": "index.html",
    "lessons": "lessons/index.html",
    "lesson": SWIRL,
    "defects": "defects/index.html",
    "defect": DEFECT,
    "causes": "causes/index.html",
    "cause": "causes/scent-too-hot/index.html",
    "calculators": "calculators/index.html",
    "calculator": CALCULATOR,
    "diagnose": "diagnose/index.html",
    "safety": "safety/index.html",
    "glossary": "glossary/index.html",
    "sources": "sources/index.html",
    "materials": "materials/index.html",
    "teaching": "teaching/index.html",
    "class": "teaching/millrace-autumn/index.html",
    "rules": "teaching/rules/index.html",
}
PHONE_PX = 360
DESK_PX = 1280
TARGET_PX = 44
HALF_PX = 0.5  # what a browser's rounding may take away

PAPER = {"light": "rgb(251, 247, 240)", "dark": "rgb(30, 27, 24)"}  # the palette's paper
OPEN_FOLDED = "document.querySelectorAll('.bl details').forEach(part => { part.open = true; })"
# What is folded is opened first: nothing wide or small may hide there. Small is a control that
# stands by itself; links within running text may be as small as the text.
LOOK_OVER = """least => {
  document.querySelectorAll(".bl details").forEach(part => { part.open = true; });
  const controls = document.querySelectorAll(
    ".bl :is(button, select, summary, .bl-switch label, .bl-door, .bl-map a, .bl-card-link, "
    + ".bl-jumps a, .bl-letters a, .bl-sign-grid a), .bl-header :is(a, button, summary), "
    + ".bl input:not([type=radio], [type=checkbox], [type=hidden], [type=file])");
  return {
    width: document.documentElement.scrollWidth,
    heading: document.querySelector("h1").checkVisibility(),
    small: [...controls].filter(part => part.checkVisibility())
      .map(part => [part, part.getBoundingClientRect()])
      .filter(([part, box]) => Math.min(box.width, box.height) < least)
      .map(([part, box]) => `${part.outerHTML.slice(0, 90)} ${box.width} x ${box.height}`),
  };
}"""
# Every rule axe has on by default, and at phone width the size of targets (WCAG 2.2 AA), but no
# fetching of styles, which a folder does not allow.
# Two frames pass first, in which the host lays out anew what follows the width.
START_AXE = """only => {
  const options = {resultTypes: ["violations"], preload: false};
  if (only) options.runOnly = {type: "rule", values: only};
  else options.rules = {"target-size": {enabled: innerWidth < 600}};
  const tell = results => results.violations.flatMap(each => each.nodes.map(
    node => `${each.id}: ${node.target} ${node.failureSummary}`));
  const frame = () => new Promise(requestAnimationFrame);
  window.found = frame().then(frame).then(() => axe.run(options)).then(
    tell, error => [String(error)]);
}"""
COLOUR_RULES = ["color-contrast", "link-in-text-block"]
# Where the focus is, whether it is marked, and whether that place is on the screen.
READ_FOCUS = """() => {
  const part = document.activeElement;
  if (!part || part === document.body) return null;
  (window.reached ||= new Set()).add(part);
  const drawn = part.matches(".bl-switch input") ? part.nextElementSibling
    : part.matches(".bl-choices input") ? part.closest("label")
    : part.matches(".bl-node") ? part.querySelector("rect") : part;
  const style = getComputedStyle(drawn), box = drawn.getBoundingClientRect();
  return {
    what: part.outerHTML.slice(0, 90),
    marked: drawn.tagName === "rect" ? parseFloat(style.strokeWidth) >= 4
      : style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    shown: box.width > 0 && box.height > 0 && box.right > 0 && box.left < window.innerWidth,
  };
}"""
# Of a group of radio buttons Tab reaches one; arrows reach the rest.
FIND_UNREACHED = """() => [...document.querySelectorAll(
    ".bl :is(a[href], button, select, textarea, summary, input:not([type=radio]))"
  )].filter(part => part.checkVisibility({visibilityProperty: true}) && !part.disabled
    && !window.reached.has(part)).map(part => part.outerHTML.slice(0, 90))"""
COUNT_SHOWN = """marks => [...document.querySelectorAll(marks)]
  .filter(part => part.checkVisibility() && part.getClientRects().length).length"""
FIND_SILENT = """() => [...document.querySelectorAll(".bl .bl-q")]
  .filter(part => part.checkVisibility() && !part.innerText.trim())
  .map(part => part.outerHTML.slice(0, 120))"""
# Text whose colour is not a dark grey, or whose own ground is not white.
FIND_PALE = """() => [...document.querySelectorAll(".bl *")].filter(part =>
    part.checkVisibility() && [...part.childNodes].some(
      node => node.nodeType === Node.TEXT_NODE && node.textContent.trim())
  ).filter(part => {
    const style = getComputedStyle(part);
    const ink = part.namespaceURI.endsWith("svg") ? style.fill : style.color;
    const [red, green, blue] = ink.match(/[\\d.]+/g).map(Number);
    const ground = style.backgroundColor;
    return red !== green || green !== blue || red > 0x60
      || !["rgba(0, 0, 0, 0)", "rgb(255, 255, 255)"].includes(ground);
  }).map(part => part.outerHTML.slice(0, 120))"""


class _Quiet(SimpleHTTPRequestHandler):
    """Serves a folder as static hosts do: with the site's own page for what is not there."""

    def log_message(self, *_: Any) -> None:
        """Say nothing."""

    def send_error(self, code: int, *_: Any) -> None:
        """Answer with the site's own page."""
        body = (Path(self.directory) / "404.html").read_bytes()
        self.send_response(code)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)


@pytest.fixture(scope="module")
def served(shipped_site: Path) -> Iterator[str]:
    """Address of a local server of the site, without the last slash."""
    with ThreadingHTTPServer(
        ("127.0.0.1", 0), partial(_Quiet, directory=str(shipped_site))
    ) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


@pytest.fixture
def visit(open_page: OpenPage, shipped_site: Path) -> Visit:
    """Open a page of the folder in a fresh context."""

    def visit_one(name: str, **how: Any) -> Page:
        page = open_page(**how)
        page.goto(to_address(shipped_site, name))
        return page

    return visit_one


def to_address(site: Path, name: str) -> str:
    return (site / name).as_uri()


def measure_width(page: Page) -> int:
    return int(page.evaluate("document.documentElement.scrollWidth"))


# ---- every page ----


def test_every_page_opens_from_its_folder_and_fits_a_phone(
    open_page: OpenPage, shipped_site: Path
) -> None:
    tabs = [open_page(width=PHONE_PX, height=800) for _ in range(2)]  # one for each core
    wide, small, mute = {}, {}, []
    names = sorted(
        path.relative_to(shipped_site).as_posix() for path in shipped_site.rglob("*.html")
    )
    names.remove("404.html")  # its addresses begin at the server's root; see below
    for first in range(0, len(names), len(tabs)):
        batch = list(zip(names[first:], tabs, strict=False))
        for name, page in batch:
            page.goto(to_address(shipped_site, name), wait_until="commit")
        for name, page in batch:
            page.wait_for_load_state()
            found = page.evaluate(LOOK_OVER, TARGET_PX - HALF_PX)
            if found["width"] > PHONE_PX:
                wide[name] = found["width"]
            if found["small"]:
                small[name] = found["small"]
            if not found["heading"]:
                mute.append(name)
    assert len(names) > 100
    assert wide == {}
    assert small == {}
    assert mute == []


# ---- nothing stands in anyone's way ----


@pytest.fixture(scope="module")
def schemes(chromium: Browser) -> Iterator[dict[str, Page]]:
    """A page in light and one in dark, used for one kind after another."""
    pages = {}
    for scheme in ("light", "dark"):
        context = chromium.new_context(
            color_scheme="dark" if scheme == "dark" else "light", reduced_motion="reduce"
        )
        context.add_init_script(Axe().axe_script)
        pages[scheme] = context.new_page()
    yield pages
    for page in pages.values():
        page.context.close()


def check_kind(schemes: dict[str, Page], address: str) -> None:
    """Run axe in both schemes at both widths: all rules in light, those of colour in dark.

    The two schemes run beside each other: most of the time goes into reckoning contrasts.
    """
    for scheme, page in schemes.items():
        page.goto(address)
        expect(page.locator("body")).to_have_css("background-color", PAPER[scheme])
        page.evaluate(OPEN_FOLDED)
    for width in (PHONE_PX, DESK_PX):
        for scheme, page in schemes.items():
            page.set_viewport_size({"width": width, "height": 900})
            page.evaluate(START_AXE, COLOUR_RULES if scheme == "dark" else None)
        for scheme, page in schemes.items():
            assert page.evaluate("window.found") == [], f"{scheme}, {width} px"
            assert measure_width(page) <= width


@pytest.mark.parametrize("kind", KINDS)
def test_axe_finds_no_barrier(schemes: dict[str, Page], shipped_site: Path, kind: str) -> None:
    check_kind(schemes, to_address(shipped_site, KINDS[kind]))


def test_axe_finds_no_barrier_on_the_page_for_lost_readers(
    schemes: dict[str, Page], served: str
) -> None:
    check_kind(schemes, f"{served}/lessons/not-there/")


# ---- search, and a page that is not there ----


@pytest.mark.parametrize(
    ("typed", "found", "heading"),
    [("swirl pour", SWIRL, "Swirl pour"), ("sweating", DEFECT, "Sweating")],
)
def test_search_finds_lessons_and_faults_without_a_server(
    visit: Visit, typed: str, found: str, heading: str
) -> None:
    page = visit("glossary/index.html")
    page.keyboard.press("/")
    expect(page.get_by_role("searchbox", name="Search")).to_be_focused()
    page.keyboard.type(typed)
    follow_result(page, found)
    expect(page.locator("h1")).to_have_text(heading)


@pytest.mark.parametrize(
    "typed",
    ["microwave", "glycerin", "allergy", "fragrance oil", "rubbing alcohol", "mold", "color"],
)
def test_search_names_sources_after_all_else(visit: Visit, typed: str) -> None:
    page = visit("glossary/index.html")
    page.keyboard.press("/")
    page.keyboard.type(typed)
    first = page.locator("[data-bl-search-results] a").first
    expect(first).to_be_visible()
    assert "/sources/" not in (first.get_attribute("href") or "")


def test_search_works_on_a_phone_and_from_a_server(open_page: OpenPage, served: str) -> None:
    page = open_page(width=PHONE_PX, allowed=served)
    page.goto(f"{served}/index.html")
    page.get_by_role("button", name="Search").click()
    page.get_by_role("searchbox", name="Search").press_sequentially("sweating")
    follow_result(page, DEFECT)
    expect(page.locator("h1")).to_have_text("Sweating")


def test_search_and_drawer_hold_no_barrier_and_shut_by_keyboard(
    schemes: dict[str, Page], shipped_site: Path
) -> None:
    for scheme, page in schemes.items():
        page.set_viewport_size({"width": PHONE_PX, "height": 800})
        page.goto(to_address(shipped_site, LESSON))
        page.keyboard.press("/")
        page.keyboard.type("scent")
        page.locator("[data-bl-search-results] a").first.wait_for()
        page.evaluate(START_AXE, COLOUR_RULES if scheme == "dark" else None)
        page.wait_for_function("window.found !== null")
        assert page.evaluate("window.found") == [], scheme
        page.keyboard.press("ArrowDown")
        expect(page.locator("[data-bl-search-results] a").first).to_be_focused()
        page.keyboard.press("Escape")
        expect(page.locator("[data-bl-search-dialog]")).to_be_hidden()

        menu = page.locator(".bl-drawer > summary")
        menu.focus()
        page.keyboard.press("Enter")
        expect(page.locator(".bl-drawer .bl-nav a.bl-here")).to_have_text("Learn")
        page.evaluate(START_AXE, COLOUR_RULES if scheme == "dark" else None)
        page.wait_for_function("window.found !== null")
        assert page.evaluate("window.found") == [], scheme
        page.keyboard.press("Escape")
        expect(page.locator(".bl-drawer-panel")).to_be_hidden()
        expect(menu).to_be_focused()


def test_the_menu_opens_without_scripts(visit: Visit) -> None:
    page = visit(LESSON, width=PHONE_PX, script=False)
    page.locator(".bl-drawer > summary").click()
    page.locator(".bl-drawer .bl-nav a", has_text="Fix").click()
    page.wait_for_url("**/diagnose/index.html")


def follow_result(page: Page, found: str) -> None:
    result = page.locator(f"[data-bl-search-results] a[href*='{found}']").first
    result.click()
    page.wait_for_url(f"**/{found}*")


def test_a_lost_reader_is_led_on(schemes: dict[str, Page], served: str) -> None:
    page = schemes["light"]
    answers: list[tuple[int, str]] = []
    page.on("response", lambda response: answers.append((response.status, response.url)))
    lost = f"{served}/lessons/no-such/deep/page.html"
    for number, goal in enumerate(("lessons", "diagnose", "teaching")):
        page.goto(lost)
        page.locator(".bl-door").nth(number).click()
        page.wait_for_url(f"{served}/{goal}/index.html")
    missing = {address for status, address in answers if status >= 400}
    assert missing == {lost}
    assert len(answers) > 10


# ---- by keyboard alone ----


@pytest.mark.parametrize(
    ("name", "width"), [(LESSON, DESK_PX), (DEFECT, PHONE_PX), ("index.html", PHONE_PX)]
)
def test_tab_reaches_every_control_and_shows_where_it_is(
    visit: Visit, name: str, width: int
) -> None:
    page = visit(name, width=width)
    stops = []
    while len(stops) < 400:
        page.keyboard.press("Tab")
        stop = page.evaluate(READ_FOCUS)
        if stop is None:
            break
        stops.append(stop)
    assert page.evaluate("document.activeElement === document.body"), "the way out is open"
    assert [stop["what"] for stop in stops if not stop["marked"]] == []
    assert [stop["what"] for stop in stops if not stop["shown"]] == []
    assert page.evaluate(FIND_UNREACHED) == []
    assert len(stops) > 20


def test_a_reader_without_a_mouse_goes_all_the_way(visit: Visit) -> None:
    page = visit("index.html")
    page.keyboard.press("Tab")
    expect(page.locator(".bl-skip")).to_be_focused()
    expect(page.locator(".bl-skip")).to_be_in_viewport()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator(".bl-door").first).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url("**/lessons/index.html")

    tab_to(page, page.locator(".bl-header-row > .bl-nav a", has_text="Fix"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/diagnose/index.html")


def test_the_controls_of_a_lesson_work_by_keyboard(visit: Visit) -> None:
    page = visit(LESSON)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # past the tabs
    tab_to(page, page.get_by_role("button", name="One more"))
    page.keyboard.press("Enter")
    page.keyboard.press("Space")
    expect(page.locator("[data-bl-amounts]")).to_contain_text("339 g")  # 3 of 113 g
    tab_to(page, page.get_by_role("radio", name="Both"))
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("radio", name="Metric").first).to_be_checked()
    expect(page.locator("[data-bl-amounts] .bl-us").first).to_be_hidden()

    why = page.locator(".bl-why").first
    tab_to(page, why.locator("summary"))
    expect(why).not_to_have_attribute("open", "")
    page.keyboard.press("Enter")
    expect(why).to_have_attribute("open", "")
    page.keyboard.press("Space")
    expect(why).not_to_have_attribute("open", "")


def tab_to(page: Page, part: Locator) -> None:
    """Press Tab until a part has the focus."""
    for _ in range(120):
        page.keyboard.press("Tab")
        if part.evaluate("part => part === document.activeElement"):
            return
    pytest.fail(f"Tab does not come to {part}")


# ---- units and amounts ----


def count_shown(page: Page, marks: str) -> int:
    return int(page.evaluate(COUNT_SHOWN, f".bl {marks}"))


def test_the_other_unit_system_hides_and_stays_hidden_over_pages(
    visit: Visit, shipped_site: Path
) -> None:
    page = visit(LESSON)
    assert count_shown(page, ".bl-metric") > 20
    assert count_shown(page, ".bl-us") > 20
    for choice, gone, left in (("US", ".bl-metric", ".bl-us"), ("Metric", ".bl-us", ".bl-metric")):
        page.get_by_role("radio", name=choice, exact=True).first.check()
        for name in (LESSON, CALCULATOR, DEFECT):
            page.goto(to_address(shipped_site, name))
            assert count_shown(page, gone) == 0, (choice, name)
            # Nothing may fall silent: what has no other side shows the one it has.
            assert page.evaluate(FIND_SILENT) == [], (choice, name)
            if name != DEFECT:
                assert count_shown(page, left) > 5, (choice, name)
                expect(page.get_by_role("radio", name=choice, exact=True).first).to_be_checked()
        page.goto(to_address(shipped_site, SWIRL))
    page.get_by_role("radio", name="Both").first.check()
    page.reload()
    assert count_shown(page, ".bl-metric") > 20
    assert count_shown(page, ".bl-us") > 20


def test_amounts_follow_the_number_made(visit: Visit) -> None:
    page = visit(LESSON)
    table = page.locator("[data-bl-amounts]")
    base, count = table.locator("tbody tr").first, page.get_by_label("How many bars")
    at_first = table.inner_text()
    expect(base).to_contain_text("113 g")
    count.fill("8")
    expect(base).to_contain_text("904 g")
    # 904 g / 28.349523125 g per avoirdupois ounce (NIST Handbook 44, appendix C) = 31.9 oz
    expect(base).to_contain_text("31.9 oz")
    expect(table.locator("caption")).to_have_text("Amounts for 8 bars")
    expect(page.locator("[data-bl-scaled]")).to_be_visible()
    count.fill("0")
    expect(base).to_contain_text("904 g")
    count.fill("2")
    page.get_by_role("button", name="One fewer").click()
    page.get_by_role("button", name="One fewer").click()
    expect(count).to_have_value("1")
    expect(page.locator("[data-bl-scaled]")).to_be_hidden()
    assert table.inner_text() == at_first


LAYERS = "lessons/layers-that-hold/index.html"
READ_AMOUNTS = """() => [...document.querySelectorAll(".bl-steps [data-bl-amount]")].map(place =>
  [Number(place.dataset.blAmount), place.dataset.blUnit,
   (place.querySelector(".bl-metric") || place.querySelector(".bl-q")).textContent])"""


def test_amounts_in_steps_follow_too_and_those_that_stay_say_so(visit: Visit) -> None:
    page = visit(LAYERS)
    steps, unscaled = page.locator(".bl-steps"), page.locator("[data-bl-unscaled]")
    at_first = steps.inner_text()
    page.get_by_label("How many bars").fill("9")
    amounts = page.evaluate(READ_AMOUNTS)
    assert len(amounts) > 3
    for base, unit, text in amounts:
        # Bases are kilograms and cubic metres; the texts are grams and millilitres.
        whole = base * 9 * {"g": 1000, "mL": 1e6}[unit]
        shown = float(text.split("\u00a0")[0].replace("\u202f", "").replace(",", ""))
        assert shown == pytest.approx(whole, abs=0.051), text
    assert unscaled.count() > 0
    for mark in unscaled.all():
        assert mark.inner_text().strip() in ("(for 1 bar)", "(as written)")
    expect(page.get_by_role("status").filter(has_text="9 bars")).to_have_count(1)
    page.get_by_label("How many bars").fill("1")
    assert steps.inner_text() == at_first


def test_a_signal_word_is_never_broken(visit: Visit, shipped_site: Path) -> None:
    page = visit(SWIRL, width=PHONE_PX)
    for name in KINDS.values():
        page.goto(to_address(shipped_site, name))
        page.evaluate(OPEN_FOLDED)
        broken = page.evaluate(
            "[...document.querySelectorAll('.bl-signal')].filter(part => part.checkVisibility()"
            " && part.getClientRects().length === 1 && part.textContent)"
            ".filter(part => { const range = document.createRange();"
            " range.selectNodeContents(part); return range.getClientRects().length > 1; }).length"
        )
        assert broken == 0, name


# ---- the bench view ----


def test_the_bench_view_shows_one_step_a_screen(visit: Visit) -> None:
    page = visit(LESSON, width=PHONE_PX, height=740)
    steps = page.locator(".bl-step")
    count = steps.count()
    start = page.locator("[data-bl-bench] button")
    page.get_by_label("How many bars").fill("3")
    start.click()
    page.wait_for_url("**#bench-0")
    expect(page.locator(".bl-header")).to_be_hidden()
    expect(page.locator("[data-bl-amounts]")).to_contain_text("339 g")  # 3 of 113 g
    following = page.locator(".bl-bench-next")
    while not steps.first.is_visible():
        following.click()
    for number in range(count):
        expect(steps.nth(number)).to_be_visible()
        expect(page.locator(".bl-step:visible")).to_have_count(1)
        expect(page.locator(".bl-bench-where")).to_have_text(f"Step {number + 1} of {count}")
        expect(steps.nth(number).locator("h3")).to_be_focused()
        assert measure_width(page) <= PHONE_PX
        badge = steps.nth(number).locator(".bl-badge .bl-metric, .bl-badge .bl-q").first
        if badge.count():
            size = "part => parseFloat(getComputedStyle(part).fontSize)"
            largest = page.evaluate(
                "Math.max(...[...document.querySelectorAll('.bl-step.bl-on *, .bl-bench-foot *')]"
                ".filter(part => part.checkVisibility())"
                ".map(part => parseFloat(getComputedStyle(part).fontSize)))"
            )
            assert badge.evaluate(size) == largest
        following.click()
    expect(page.locator(".bl-header")).to_be_visible()  # done: the whole page again
    expect(steps.last).to_be_in_viewport()
    page.go_back()
    expect(page.locator(".bl-bench-where")).to_have_text(f"Step {count} of {count}")
    page.reload()
    expect(page.locator(".bl-bench-where")).to_have_text(f"Step {count} of {count}")
    page.keyboard.press("Escape")
    expect(page.locator(".bl-bench-foot")).to_be_hidden()
    page.emulate_media(media="print")
    page.evaluate("location.hash = '#bench-2'")
    assert page.locator(".bl-step:visible").count() == count


def test_the_timer_goes_on_over_the_steps_and_tells_its_end(visit: Visit) -> None:
    page = visit(f"{LESSON}")
    page.clock.install()
    page.goto(page.url + "#bench-2")
    page.reload()
    page.locator(".bl-bench-starts button").first.click()
    timer = page.get_by_role("timer")
    at_first = timer.inner_text()
    page.clock.run_for(10_000)
    assert timer.inner_text() != at_first
    page.locator(".bl-bench-next").click()
    expect(timer).to_be_visible()
    page.clock.run_for(24 * 3600 * 1000)
    expect(timer).to_have_text("Time is up.")
    expect(page.get_by_role("alert")).to_contain_text("Time is up.")
    page.get_by_role("button", name="Stop").click()
    expect(timer).to_be_hidden()


def test_axe_finds_no_barrier_in_the_bench_view(
    schemes: dict[str, Page], shipped_site: Path
) -> None:
    check_kind(schemes, to_address(shipped_site, SWIRL) + "#bench-3")


# ---- light and dark ----


def test_dark_follows_the_system_and_the_switch(visit: Visit, shipped_site: Path) -> None:
    body = visit("index.html", dark=True).locator("body")
    expect(body).to_have_css("background-color", PAPER["dark"])

    page = visit("index.html")
    body = page.locator("body")
    expect(body).to_have_css("background-color", PAPER["light"])
    page.get_by_title("Switch to dark").click()
    expect(body).to_have_css("background-color", PAPER["dark"])
    page.goto(to_address(shipped_site, LESSON))
    expect(body).to_have_css("background-color", PAPER["dark"])
    switch = page.get_by_role("button", name="Switch to light")
    tab_to(page, switch)
    page.keyboard.press("Enter")
    expect(body).to_have_css("background-color", PAPER["light"])
    page.reload()
    expect(body).to_have_css("background-color", PAPER["light"])


# ---- without scripts ----


def test_every_kind_of_page_reads_well_without_scripts(visit: Visit, shipped_site: Path) -> None:
    page = visit(LESSON, width=PHONE_PX, script=False)
    steps = page.locator(".bl-step")
    assert steps.count() > 5
    for step in steps.all():
        expect(step.locator("h3")).to_be_visible()
    amount = page.locator("[data-bl-amounts] tbody tr").first
    expect(amount).to_contain_text("113 g")
    expect(amount).to_contain_text("oz)")
    assert count_shown(page, ".bl-us") > 20
    expect(page.locator("[data-bl-stepper], [data-bl-unit-switch]").first).to_be_hidden()
    folded = page.locator(".bl-why").first
    printed = "".join(squeeze(sheet.extract_text()) for sheet in read_printed(page))
    assert squeeze(folded.locator("p").first.text_content() or "") in printed
    folded.locator("summary").click()
    expect(folded.locator("p").first).to_be_visible()
    expect(page.locator("[data-bl-exercise] [data-bl-ask]").first).to_be_visible()

    page.goto(to_address(shipped_site, DEFECT))
    expect(page.get_by_role("heading", name="Save this bar")).to_be_visible()
    fix = page.locator(".bl-how").first
    fix.locator("summary").click()
    expect(fix.locator("li").first).to_be_visible()
    expect(page.locator(".bl-graph:visible a").first).to_be_visible()

    page.goto(to_address(shipped_site, CALCULATOR))
    expect(page.locator(".bl-formula").first).to_be_visible()
    expect(page.locator(".bl-example").first).to_be_visible()
    assert page.locator(".bl-values tbody tr:visible").count() > 2

    page.goto(to_address(shipped_site, KINDS["diagnose"]))
    signs = page.locator(".bl-sign-grid a:visible")
    assert signs.count() > 12
    signs.first.click()
    page.wait_for_url(re.compile("#"))
    meant = page.locator(".bl-sign:target")
    expect(meant).to_be_in_viewport()
    meant.locator("a[href*='defects/']").first.click()
    expect(page.locator("h1")).to_be_visible()


# ---- on paper ----


@pytest.mark.parametrize("name", [LESSON, DEFECT, CALCULATOR])
def test_print_is_black_on_white_without_navigation(visit: Visit, name: str) -> None:
    page = visit(name, dark=True)  # the harder case: light ink on dark paper
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")  # as the print dialog does
    page.emulate_media(media="print")
    expect(page.locator("body")).to_have_css("background-color", "rgb(255, 255, 255)")
    for gone in (".bl-header", ".bl-aside", ".bl-footer", ".bl-skip", ".bl-controls"):
        assert page.locator(f"{gone}:visible").count() == 0, gone
    assert page.evaluate(FIND_PALE) == []
    assert (
        page.locator(".bl-caution:visible, .bl-caution-short:visible").count()
        == page.locator(".bl-caution, .bl-caution-short").count()
    )
    assert page.locator(".bl details:not([open])").count() == 0


def test_a_printed_lesson_holds_its_steps_and_every_caution(visit: Visit) -> None:
    page = visit(SWIRL)
    sheets = [squeeze(sheet.extract_text()) for sheet in read_printed(page)]
    assert len(sheets) > 1
    everything = "".join(sheets)
    cautions = page.locator(".bl-caution")
    assert cautions.count() > 1
    for caution in cautions.all():
        signal = caution.locator(".bl-signal").inner_text()
        assert signal in ("Danger", "Warning")
        for line in caution.locator(".bl-caution-title, .bl-caution-do li").all():
            assert squeeze(line.inner_text()) in everything
    steps = page.locator(".bl-step").all()
    assert len(steps) > 5
    titles = [squeeze(step.locator("h3").inner_text()) for step in steps]
    first = next(number for number, sheet in enumerate(sheets) if titles[0] in sheet)
    begins = [
        next(number for number, sheet in enumerate(sheets) if number >= first and title in sheet)
        for title in titles
    ]
    for step, title, begin, end in zip(steps, titles, begins, [*begins[1:], None], strict=True):
        # A step with many cautions may be longer than a sheet; it ends where the next begins.
        homes = range(begin, (begin if end is None else end) + 1)
        for short in step.locator(".bl-caution-short .bl-caution-title").all():
            warned = squeeze(short.inner_text())
            assert any(warned in sheets[number] for number in homes), f"{title}: {warned}"
    why = page.locator(".bl-why").first
    assert squeeze(why.locator("p").first.text_content() or "") in everything
    expect(why).not_to_have_attribute("open", "")  # folded again on the screen
    assert "Onthispage" not in everything


def read_printed(page: Page) -> list[Any]:
    return list(PdfReader(io.BytesIO(page.pdf(format="A4"))).pages)


def squeeze(text: str) -> str:
    """Leave out white space, which a PDF does not keep, and take ligatures apart."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))
