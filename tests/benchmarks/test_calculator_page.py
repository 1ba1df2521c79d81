"""How fast a calculator answers on its page in Chromium, and what its scripts weigh."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect, sync_playwright

from tests.chromium import launch_chromium
from tests.shipped import build_shipped

pytestmark = pytest.mark.benchmark

MOST_MS = 4.0
"""An answer on the page, at the 95th percentile."""
MOST_SHARED_BYTES = 40_000
"""Scripts that the page of every calculator loads from us, each compressed alone as servers do: a
browser fetches them once for all pages."""
MOST_OWN_BYTES = 5_000
"""What the page of one calculator loads beside these; neither grows with their number."""
SCRIPT = re.compile(r'<script src="([^"]+)"')
ROUNDS = 8
KEYS = 200
# From a key to the answer standing in the page, laid out. The plot is drawn in the next frame.
MEASURE = """keys => {
    const live = document.querySelector("[data-bl-calculator]");
    const answers = live.querySelector("[data-bl-answers]");
    const inputs = [...live.querySelectorAll("form input")].filter(
        input => input.checkVisibility() && /^[\\d.]+$/.test(input.value));
    const times = [];
    for (let key = 0; key < keys; key += 1) {
        const input = inputs[key % inputs.length];
        const before = input.value;
        input.value = String(Number((before * (1 + ((key % 7) - 3) / 500)).toPrecision(6)));
        const start = performance.now();
        input.dispatchEvent(new Event("input", {bubbles: true}));
        answers.getBoundingClientRect();
        times.push(performance.now() - start);
        input.value = before;
    }
    return times;
}"""
DRAW = """keys => {
    const id = document.querySelector("[data-bl-calculator]").dataset.blCalculator;
    const times = [];
    for (let key = 0; key < keys; key += 1) {
        const start = performance.now();
        benchlore.samplePlot(id, {});
        times.push(performance.now() - start);
    }
    return times;
}"""
FILL = """most => {
    const options = [...document.querySelector("template").content.querySelectorAll("option")];
    const ids = options.map(option => option.value).filter(Boolean).slice(0, most);
    location.hash = "oils=" + ids.map(id => id + ":50 g").join(";") + ";";
}"""


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with sync_playwright() as playwright:
        browser = launch_chromium(playwright)
        yield browser.new_page()
        browser.close()


def percentile(times: list[float], share: float) -> float:
    return sorted(times)[round((len(times) - 1) * share)]


def measure(page: Page, script: str) -> tuple[float, float, float]:
    """Give the median and the 95th percentile over keys, and the latter with all disturbance.

    Each key is struck in every round with the same values. What it takes is the least of the
    rounds: the rest is other work on the machine.
    """
    rounds = [page.evaluate(script, KEYS) for _ in range(ROUNDS)]
    least = [min(times) for times in zip(*rounds, strict=True)]
    disturbed = [time for times in rounds for time in times]
    return percentile(least, 0.5), percentile(least, 0.95), percentile(disturbed, 0.95)


def test_an_answer_stands_within_four_milliseconds(page: Page) -> None:
    site = build_shipped()
    print()
    slowest = 0.0
    for folder in sorted(each.parent for each in site.glob("calculators/*/index.html")):
        page.goto((folder / "index.html").as_uri())
        if folder.name == "lye-amount":
            page.evaluate(FILL, 20)
            expect(page.locator(".bl-row")).to_have_count(20)
        median, late, raw = measure(page, MEASURE)
        line = f"{folder.name:<18} answer: median {median:4.1f} ms, 95 % within {late:4.1f} ms"
        line += f" ({raw:4.1f} with whatever else ran)"
        if page.locator("[data-bl-plot]").count():
            line += f"; points of the plot: 95 % within {measure(page, DRAW)[1]:4.1f} ms"
        print(line)
        slowest = max(slowest, late)
    assert slowest <= MOST_MS


def weigh(file: Path) -> int:
    return len(gzip.compress(file.read_bytes(), 9))


def list_scripts(page: Path) -> tuple[set[Path], set[Path]]:
    """List the scripts that a page loads: those of all calculators, and those of single ones."""
    sources = SCRIPT.findall(page.read_text(encoding="utf-8"))
    files = {(page.parent / source).resolve() for source in sources}
    own = {file for file in files if file.parent.name == "calculators"}
    return files - own, own


def test_the_page_of_a_calculator_loads_no_more_for_the_others() -> None:
    pages = sorted(build_shipped().glob("calculators/*/index.html"))
    assert len(pages) > 20
    shared = list_scripts(pages[0])[0]
    print()
    for file in sorted(shared):
        print(f"{file.name:<20} {weigh(file):6} bytes compressed")
    total = sum(map(weigh, shared))
    print(f"{'shared by all':<20} {total:6}")
    heaviest = 0
    for page in pages:
        others, own = list_scripts(page)
        assert others == shared, page.parent.name
        assert [file.stem for file in own] == [page.parent.name]
        heaviest = max(heaviest, *map(weigh, own))
    print(f"{'heaviest of its own':<20} {heaviest:6}")
    assert "twin-calculators.js" in {file.name for file in shared}
    assert total <= MOST_SHARED_BYTES
    assert heaviest <= MOST_OWN_BYTES
