"""Exercises in Chromium, from a folder without a server: by mouse, keyboard, without script."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from exercise_course import FILES
from playwright.sync_api import Locator, Page, expect

from builder.cli import main
from tests.browser.conftest import OpenPage

pytestmark = pytest.mark.browser

SETTINGS = (Path(__file__).parents[2] / "mkdocs.yml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the small course with exercises of every kind."""
    root = tmp_path_factory.mktemp("dyeing")
    for name, text in {**FILES, "mkdocs.yml": SETTINGS}.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    out = root / "site"
    done = CliRunner().invoke(main, ["build", "--course", str(root), "--out", str(out)])
    assert done.exit_code == 0, done.output
    return out


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    return open_page(width=360, height=800)


def visit(page: Page, site: Path, lesson: str) -> None:
    """Open a lesson from the folder."""
    page.goto((site / "lessons" / lesson / "index.html").as_uri())


def find(page: Page, exercise: str) -> Locator:
    return page.locator(f'[data-bl-exercise="{exercise}"]')


def read_variants(panel: Locator) -> list[dict[str, object]]:
    """Read an exercise's data as the script does."""
    data = json.loads(panel.locator("[data-bl-variants]").text_content() or "")
    variants: list[dict[str, object]] = data["variants"]
    return variants


def test_a_number_is_checked_hinted_and_followed_by_another(page: Page, site: Path) -> None:
    visit(page, site, "one-colour")
    panel = find(page, "how-much-stock")
    answer, told = panel.get_by_label("Your answer"), panel.locator(".bl-told")
    first, second = read_variants(panel)[:2]
    answer.fill("")
    panel.get_by_role("button", name="Check").click()
    expect(told).to_have_text("Write your answer first.")
    answer.fill("some")
    answer.press("Enter")
    expect(told).to_contain_text("there is no number in")
    litres = first["item"]["answer"] * 1000  # type: ignore[index,operator]
    answer.fill(f"{first['item']['slips'][0][0] * 1e6} mL")  # type: ignore[index]
    answer.press("Enter")
    expect(told).to_contain_text("A usual slip")
    expect(told).to_contain_text("is the dry dye.")
    panel.get_by_role("button", name="Hint").click()
    expect(told).to_contain_text("Depth is a share of the yarn.")
    answer.fill("4 mL")
    answer.press("Enter")
    expect(told).to_contain_text("Not yet")
    answer.fill(f"{litres} L")
    answer.press("Enter")
    expect(told).to_contain_text("Right")
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 1 of 3.")
    asked = panel.locator("[data-bl-ask]").inner_text()
    panel.get_by_role("button", name="Another one like it").click()
    assert panel.locator("[data-bl-ask]").inner_text() != asked
    expect(told).to_be_empty()
    expect(panel.locator("[data-bl-solution]")).not_to_have_attribute("open", "")
    panel.get_by_role("textbox").fill(f"{second['item']['answer'] * 1e6}")  # type: ignore[index]
    panel.get_by_role("button", name="Check").click()
    expect(told).to_contain_text("Right")


def test_a_choice_tells_why(page: Page, site: Path) -> None:
    visit(page, site, "bench")
    panel = find(page, "what-first")
    told = panel.locator(".bl-told")
    right = read_variants(panel)[0]["right"][0]  # type: ignore[index]
    panel.get_by_role("button", name="Check").click()
    expect(told).to_have_text("Choose an answer first.")
    options = panel.get_by_role("radio")
    options.nth((right + 1) % 4).check()
    panel.get_by_role("button", name="Check").click()
    expect(told).to_contain_text("Not that one")
    options.nth(right).check()
    panel.get_by_role("button", name="Check").click()
    expect(told).to_contain_text("Right")


def test_steps_are_put_in_order_by_keyboard_alone(page: Page, site: Path) -> None:
    visit(page, site, "bench")
    panel = find(page, "heat-up")
    variant = read_variants(panel)[0]
    wanted = [variant["options"][place] for place in variant["right"]]  # type: ignore[index,attr-defined]

    def shown() -> list[str]:
        return panel.locator(".bl-sorting li > span").all_inner_texts()

    panel.get_by_role("button", name="Check").focus()
    page.keyboard.press("Enter")
    expect(panel.locator(".bl-told")).to_contain_text("Not yet")
    for place, words in enumerate(wanted):
        while shown().index(words) > place:
            button = panel.get_by_role("button", name=f"Move up: {words}")
            button.focus()
            page.keyboard.press("Enter")
            focused = page.evaluate("document.activeElement.getAttribute('aria-label')")
            assert words in focused, "the focus stays with the step that moves"
    assert shown() == wanted
    expect(panel.locator(".bl-told")).to_contain_text(" of 4")
    panel.get_by_role("button", name="Check").focus()
    page.keyboard.press("Enter")
    expect(panel.locator(".bl-told")).to_contain_text("Right")


def test_a_reading_brings_another_drawing(page: Page, site: Path) -> None:
    visit(page, site, "bench")
    panel = find(page, "read-bath")
    drawing = panel.locator("[data-bl-drawing] svg")
    before = drawing.get_attribute("aria-label")
    panel.get_by_role("button", name="Another one like it").click()
    assert drawing.get_attribute("aria-label") != before
    reading = read_variants(panel)[1]["item"]["answer"] - 273.15  # type: ignore[index,operator]
    panel.get_by_label("Your answer").fill(f"{reading * 1.8 + 32:.1f} °F")
    panel.get_by_role("button", name="Check").click()
    expect(panel.locator(".bl-told")).to_contain_text("Right")


def test_progress_stays_in_the_browser_and_goes_out_and_in_as_a_file(
    page: Page, site: Path, tmp_path: Path
) -> None:
    visit(page, site, "bench")
    panel = find(page, "what-first")
    right = read_variants(panel)[0]["right"][0]  # type: ignore[index]
    panel.get_by_role("radio").nth(right).check()
    panel.get_by_role("button", name="Check").click()
    page.reload()
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 1 of 3.")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save progress as a file").click()
    saved = tmp_path / "practice.json"
    download.value.save_as(saved)
    assert json.loads(saved.read_text()) == {
        "benchlore": "practice",
        "progress": {"bench": {"what-first": {"tried": 1, "solved": 1}}},
    }
    page.get_by_role("button", name="Clear progress").click()
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 1 of 3.")
    page.get_by_role("button", name="Clear all of it: press again").click()
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 0 of 3.")
    chooser = page.locator("[data-bl-keeping] input[type=file]")
    chooser.set_input_files(saved)
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 1 of 3.")
    other = tmp_path / "other.json"
    other.write_text('{"progress": {"bench": {"heat-up": {"tried": 1, "solved": 1}}}}')
    chooser.set_input_files(other)
    expect(page.locator("[data-bl-keeping]")).to_contain_text("This file holds no progress")
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 1 of 3.")
    hostile = {"benchlore": "practice", "progress": {"bench": {"<b>": {"tried": 1, "solved": -1}}}}
    other.write_text(json.dumps(hostile))
    chooser.set_input_files(other)
    expect(page.locator("[data-bl-progress]")).to_have_text("Solved: 0 of 3.")


def test_without_script_the_tasks_and_solutions_stand(open_page: OpenPage, site: Path) -> None:
    page = open_page(script=False)
    visit(page, site, "bench")
    panel = find(page, "what-first")
    expect(panel).to_contain_text("What do you do first?")
    expect(panel.locator("ol li")).to_have_count(4)
    expect(panel.get_by_role("button")).to_have_count(0)
    panel.locator("summary").click()
    expect(panel.locator("[data-bl-work]")).to_be_visible()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("lesson", ["bench", "one-colour", "two-colours"])
def test_nothing_stands_in_anyones_way(
    open_page: OpenPage, site: Path, lesson: str, dark: bool
) -> None:
    page = open_page(width=360, height=800, dark=dark)
    visit(page, site, lesson)
    for button in page.get_by_role("button", name="Check").all():
        button.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    places = "[data-bl-practice] :is(button, input:not([type=radio])):visible"
    for place in page.locator(places).all():
        box = place.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 43.5
    # Without preload: a page from a folder may not fetch its own style sheets again.
    found = Axe().run(page, options={"resultTypes": ["violations"], "preload": False})
    assert found.violations_count == 0, found.generate_report()


def test_instruments_take_the_ink_of_the_page(open_page: OpenPage, site: Path) -> None:
    """On dark paper the strokes are light, and nothing light is filled in behind them."""
    page = open_page(dark=True)
    visit(page, site, "bench")
    strokes, fills = page.evaluate(
        """() => {
          const paths = [...document.querySelectorAll('.bl-instrument path')].map(getComputedStyle);
          return [paths.map(style => style.stroke), paths.map(style => style.fill)];
        }"""
    )
    ink = page.evaluate("getComputedStyle(document.querySelector('.bl-instrument')).color")
    assert strokes.count(ink) >= 3
    assert set(fills) == {"none"}
