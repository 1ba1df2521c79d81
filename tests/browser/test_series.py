"""The page of a series in Chromium: ticked skills list their lessons and light up the map."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from builder.course import Course
from builder.library import load_library
from builder.planning.series import plan_series
from builder.twin.series import write_span
from tests.browser.conftest import OpenPage
from tests.shipped import ROOT

pytestmark = pytest.mark.browser


def test_ticked_skills_give_the_same_series_as_the_command(
    open_page: OpenPage, shipped_site: Path
) -> None:
    library, _ = load_library(ROOT)
    series = plan_series(library, Course(library).order, ["weigh-scent"])
    page = open_page(width=360, height=800)
    page.goto((shipped_site / "teaching" / "series" / "index.html").as_uri())
    box = page.locator('[data-bl-reach="weigh-scent"]')
    box.focus()
    page.keyboard.press("Space")
    listed = page.locator("[data-bl-series-list] a").all_inner_texts()
    assert listed == [library.lessons[name].title for name in series.lessons]
    expect(page.locator(".bl-lit")).to_have_count(len(series.lessons))
    expect(page.locator("[data-bl-series-sum]")).to_contain_text(write_span(series.bench_seconds))
    for name in ("set-out-bench", "read-hazard-label", "spray-safely", "first-aid-places"):
        page.locator(f'[data-bl-known="{name}"]').check()
    known = ["set-out-bench", "read-hazard-label", "spray-safely", "first-aid-places"]
    shorter = plan_series(library, Course(library).order, ["weigh-scent"], known)
    assert len(shorter.lessons) < len(series.lessons)
    expect(page.locator(".bl-lit")).to_have_count(len(shorter.lessons))
    results = Axe().run(page, options={"preload": False})
    assert results.violations_count == 0, results.generate_report()


def test_without_a_script_every_skill_has_its_way(shipped_site: Path) -> None:
    text = (shipped_site / "teaching" / "series" / "index.html").read_text(encoding="utf-8")
    assert "data-bl-series-only" in text
    assert text.count('data-bl-reach="') == text.count('data-bl-known="') > 20
