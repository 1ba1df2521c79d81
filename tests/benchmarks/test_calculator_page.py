"""How fast a calculator answers on its page in Chromium, and what its scripts weigh."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect, sync_playwright

from tests.chromium import launch_chromium
from tests.shipped import build_shipped

pytestmark = pytest.mark.benchmark

MOST_MS = 4.0
"""An answer on the page, at the 95th percentile."""
MOST_BYTES = 30_000
"""Scripts that the page of a calculator loads from us, compressed."""
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


def weigh(*files: Path) -> int:
    return len(gzip.compress(b"".join(file.read_bytes() for file in files), 9))


def test_the_scripts_of_a_page_stay_light() -> None:
    assets = build_shipped() / "assets" / "benchlore"
    shared = [
        assets / name
        for name in ("twin-numbers.js", "page.js", "twin-calculators.js", "calculator.js")
    ]
    each = {file.stem: weigh(file) for file in sorted(assets.glob("calculators/*.js"))}
    print()
    for file in shared:
        print(f"{file.name:<18} {weigh(file):6} bytes compressed")
    for name, size in each.items():
        print(f"{name:<18} {size:6}")
    largest = max(each, key=lambda name: each[name])
    page = sum(map(weigh, shared)) + each[largest]
    formulas = weigh(*sorted(assets.glob("calculators/*.js")))
    print(f"the page of {largest} loads {page} bytes of scripts of ours")
    print(f"all {len(each)} calculators' own scripts in one: {formulas}")
    assert page < MOST_BYTES
    assert formulas < MOST_BYTES
