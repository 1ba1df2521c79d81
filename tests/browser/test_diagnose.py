"""Whole sessions of the diagnosis in Chromium: mouse, keyboard, a phone, a link that is sent on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from builder.course import Course
from builder.diagnosis.consult import read_answers
from builder.library import Library, load_library
from tests.browser.conftest import OpenPage
from tests.helpers import read_yaml
from tests.shipped import ROOT

pytestmark = pytest.mark.browser
MOST_TAPS = 10


STORIES = read_yaml((Path(__file__).parents[1] / "cases" / "stories.yml").read_text())["stories"]


@pytest.fixture(scope="module")
def course() -> Course:
    return Course(load_library(ROOT)[0])


@pytest.fixture(scope="module")
def library(course: Course) -> Library:
    return course.library


def visit(page: Page, site: Path, hash_part: str = "") -> None:
    page.goto((site / "diagnose" / "index.html").as_uri() + hash_part)
    page.locator(".bl-sign-grid button").first.wait_for(state="attached")


def press(page: Page, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).click()


def read_ranking(page: Page, which: str) -> list[str]:
    rows = page.locator(f"[data-bl-ranking={which}] > li")
    return [str(row.get_attribute("data-id")) for row in rows.all()]


def read_lines(page: Page) -> list[str]:
    """Read the lines of the plan that is shown, word for word."""
    texts = page.locator(".bl-stage [data-bl-line]").all_text_contents()
    return [" ".join(text.split()) for text in texts]


def test_a_session_by_mouse_agrees_with_python(
    open_page: OpenPage, shipped_site: Path, course: Course
) -> None:
    page = open_page()
    visit(page, shipped_site)
    page.locator("button[data-id=beads-of-liquid]").click()
    assert read_ranking(page, "defects")[0] == "sweating"
    answers: list[str] = []
    absent: list[str] = []
    present = ["beads-of-liquid"]
    for _ in range(12):
        question = page.locator("[data-bl-question]")
        if not question.count():
            break
        name = str(question.get_attribute("data-bl-question"))
        yes = name == "boiled"
        if name in course.library.symptoms:
            (present if yes else absent).append(name)
        else:
            answers.append(f"{name}={'yes' if yes else 'no'}")
        press(page, "Yes" if yes else "No")
    expect(page.locator("[data-bl-plan]")).to_be_focused()
    told, wrong = read_answers(course.library, present, absent, answers)
    assert wrong == []
    plan = course.adviser.plan(told)
    assert read_lines(page) == [line["text"] for line in course.adviser.write(plan, told)]
    assert read_ranking(page, "causes")[0] == plan["causes"][0]["id"] == "base-boiled"
    assert "because:" in page.locator("[data-bl-ranking=causes]").inner_text()
    assert "teacher's judgement" in page.locator(".bl-stage").inner_text()


LISTS = {"seen": "see", "absent": "not", "yes": "yes", "no": "no"}


@pytest.mark.parametrize("start", range(3))
def test_stories_show_in_chromium_what_python_writes(
    open_page: OpenPage, shipped_site: Path, course: Course, start: int
) -> None:
    """A third of the stories each: the plan shown, word for word."""
    page = open_page()
    for story in STORIES[start::3]:
        if story.get("none"):
            continue
        parts = [f"about={key}:{value}" for key, value in story.get("context", {}).items()]
        for key, name in LISTS.items():
            parts += [f"{name}={each}" for each in story.get(key, [])]
        page.goto("about:blank")
        visit(page, shipped_site, "#" + "&".join([*parts, "step=plan"]))
        told, wrong = read_answers(
            course.library,
            story["seen"],
            story.get("absent", []),
            [f"{name}={key}" for key in ("yes", "no") for name in story.get(key, [])],
            [f"{key}={value}" for key, value in story.get("context", {}).items()],
        )
        assert wrong == []
        lines = course.adviser.write(course.adviser.plan(told), told)
        assert read_lines(page) == [line["text"] for line in lines], story["story"]


def test_none_of_these_fits_is_an_answer(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site)
    press(page, "None of these fits")
    assert "does not know" in page.locator(".bl-stage").inner_text()
    assert page.locator(".bl-plan-fix").count() == 0
    press(page, "Back")
    expect(page.locator(".bl-sign-grid").first).to_be_visible()


def test_an_answer_is_changed_in_place(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site, "#see=beads-of-liquid&no=fresh-food&step=plan")
    assert "Do not use this bar" not in page.locator(".bl-stage").inner_text()
    page.locator('[data-told="fresh-food:yes"]').click()
    assert "Do not use this bar" in page.locator(".bl-stage").inner_text()
    expect(page.locator('[data-told="fresh-food:yes"]')).to_be_focused()


def test_a_context_hides_pictures_that_do_not_come_in_question(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page()
    visit(page, shipped_site)
    press(page, "Made with lye")
    expect(page.locator("button[data-id=foam-on-top]")).to_be_hidden()
    expect(page.locator("button[data-id=crystals-inside]")).to_be_visible()
    assert "about=kind:lye" in page.url


def test_a_visit_is_kept_as_a_case(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site, "#see=beads-of-liquid&yes=boiled&step=plan")
    page.get_by_text("Keep this visit").click()
    text = page.locator(".bl-keep pre").inner_text()
    assert "seen: [beads-of-liquid]" in text
    assert "answered_yes: [boiled]" in text
    file = page.get_by_role("link", name="Save as a file")
    assert str(file.get_attribute("href")).startswith("data:text/yaml")


def test_on_a_low_screen_a_tapped_picture_has_an_answer_in_one_line(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page(width=740, height=360)
    visit(page, shipped_site)
    tile = page.locator("button[data-id=beads-of-liquid]")
    tile.scroll_into_view_if_needed()
    tile.click()
    expect(page.locator(".bl-line")).to_be_in_viewport()
    expect(page.get_by_role("button", name="Go on")).to_be_in_viewport()
    panel = page.locator(".bl-diagnosis").bounding_box()
    assert panel is not None
    assert panel["height"] <= 80


def test_the_link_brings_the_same_plan_elsewhere(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site)
    page.locator("button[data-id=beads-of-liquid]").click()
    press(page, "Show the plan")
    plan = page.locator(".bl-stage").inner_text()
    other = open_page()
    visit(other, shipped_site, "#" + page.url.split("#", 1)[1])
    assert other.locator(".bl-stage").inner_text() == plan


def test_a_broken_link_starts_at_the_pictures(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site, "#see=no-such-sign,<b>&yes=x&step=plan&__proto__=y")
    expect(page.locator(".bl-sign-grid").first).to_be_visible()
    assert page.locator("[data-bl-plan]").count() == 0


def test_back_and_start_over(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site)
    page.locator("button[data-id=beads-of-liquid]").click()
    question = page.locator("[data-bl-question]")
    press(page, "Don't know")
    first = question.get_attribute("data-bl-question")
    before = page.locator(".bl-stage").inner_text()
    press(page, "Don't know")
    assert question.get_attribute("data-bl-question") != first  # not asked again
    press(page, "Back")
    assert page.locator(".bl-stage").inner_text() == before
    press(page, "Back")
    press(page, "Back")
    expect(page.locator("button[data-id=beads-of-liquid]")).to_have_attribute(
        "aria-pressed", "true"
    )
    press(page, "Start over")
    assert page.locator(".bl-sign-grid button[aria-pressed=true]").count() == 0
    assert "#" not in page.url


def test_a_session_by_keyboard_alone(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site)
    page.locator("button[data-id=beads-of-liquid]").focus()
    page.keyboard.press("Space")
    expect(page.locator("button[data-id=beads-of-liquid]")).to_have_attribute(
        "aria-pressed", "true"
    )
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "No":
            break
    page.keyboard.press("Enter")
    expect(page.locator(".bl-title")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Yes"
    page.keyboard.press("Enter")
    assert page.locator("[data-bl-question], [data-bl-plan]").count() == 1


def test_on_a_phone_nothing_runs_over_and_targets_are_large(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page(width=360, height=740)
    visit(page, shipped_site)
    page.locator("button[data-id=round-holes]").click()
    expect(page.get_by_role("button", name="Don't know")).to_be_in_viewport()
    for words in ("Don't know", "Don't know", "Enough, show the plan"):
        sizes = page.evaluate(
            "[...document.querySelectorAll('.bl-diagnosis button, .bl-sign-grid button')]"
            ".filter(e => e.offsetParent).map(e => Math.min(e.offsetWidth, e.offsetHeight))"
        )
        assert min(sizes) >= 44
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        press(page, words)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("height", [640, 740])
@pytest.mark.parametrize("sign", ["round-holes", "beads-of-liquid"])
def test_on_a_phone_picture_and_answers_are_in_sight_together(
    open_page: OpenPage, shipped_site: Path, height: int, sign: str
) -> None:
    page = open_page(width=360, height=height)
    visit(page, shipped_site)
    tile = page.locator(f"button[data-id={sign}]")
    tile.click()
    page.wait_for_timeout(300)
    for words in ("Yes", "No", "Show the plan"):
        button = page.get_by_role("button", name=words, exact=True)
        expect(button).to_be_in_viewport(ratio=0.95)
    box, panel = tile.bounding_box(), page.locator(".bl-diagnosis").bounding_box()
    assert box is not None
    assert panel is not None
    assert box["y"] >= 48, "under the bar"
    assert box["y"] + box["height"] <= panel["y"], "under the panel"


@pytest.mark.parametrize("dark", [False, True])
def test_each_stage_has_no_barrier(open_page: OpenPage, shipped_site: Path, dark: bool) -> None:
    page = open_page(dark=dark)
    for part in ("", "#see=beads-of-liquid", "#see=beads-of-liquid&step=ask",
                 "#see=beads-of-liquid&yes=boiled&step=plan"):  # fmt: skip
        page.goto("about:blank")
        visit(page, shipped_site, part)
        found = Axe().run(page, options={"preload": False}).response["violations"]
        assert [(each["id"], each["nodes"][0]["html"][:120]) for each in found] == []


def test_without_script_the_index_leads_on(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page(script=False)
    page.goto((shipped_site / "diagnose" / "index.html").as_uri())
    page.locator(".bl-sign-grid a").first.click()
    meaning = page.locator(".bl-sign:target .bl-meanings a").first
    expect(meaning).to_be_visible()
    meaning.click()
    expect(page.locator("h1")).to_be_visible()
    assert "/defects/" in page.url


def test_the_usual_flaw_takes_few_taps(
    open_page: OpenPage, shipped_site: Path, library: Library
) -> None:
    """The usual flaw: a defect's clearest sign, its commonest cause, honest answers."""
    page = open_page()
    taps = {defect: count_taps(page, shipped_site, library, defect) for defect in library.defects}
    print("\ntaps to the plan:", sorted(taps.items(), key=lambda each: each[1]))
    assert {name: number for name, number in taps.items() if number >= MOST_TAPS} == {}


def count_taps(page: Page, site: Path, library: Library, name: str) -> int:
    defect = library.defects[name]
    sign = max(defect.symptoms, key=lambda link: link.often).symptom
    link = max(defect.causes, key=lambda each: each.often * library.causes[each.cause].how_common)
    cause = library.causes[link.cause]
    yes = {each.question for each in cause.evidence if each.yes > 0.5}
    shown: dict[str, Any] = {each.symptom: each.often for each in defect.symptoms}
    page.goto("about:blank")
    visit(page, site)
    tile = page.locator(f"button[data-id={sign}]")
    taps = 1
    if not tile.is_visible():
        page.locator(".bl-more-signs summary").click()
        taps += 1
    tile.click()
    while page.locator("[data-bl-question]").count() and taps < 25:
        asked = str(page.locator("[data-bl-question]").get_attribute("data-bl-question"))
        true = asked in yes or shown.get(asked, 0) > 0.5
        press(page, "Yes" if true else "No")
        taps += 1
    if not page.locator("[data-bl-plan]").count():  # clear at once: nothing was asked
        press(page, "Show the plan")
        taps += 1
    return taps


def test_the_browsers_way_back_takes_back_one_answer(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page()
    visit(page, shipped_site)
    page.locator("button[data-id=beads-of-liquid]").click()
    press(page, "No")
    question = page.locator("[data-bl-question]")
    second = question.get_attribute("data-bl-question")
    press(page, "No")
    expect(question).not_to_have_attribute("data-bl-question", str(second))
    page.go_back()
    expect(question).to_have_attribute("data-bl-question", str(second))
    page.go_back()
    expect(page.locator("button[data-id=beads-of-liquid]")).to_be_visible()


def test_asking_on_after_the_case_is_clear_stands_in_the_address(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page()
    visit(page, shipped_site, "#see=beads-of-liquid&step=ask")
    for _ in range(MOST_TAPS):
        if page.locator("[data-bl-plan]").count():
            break
        press(page, "Don't know")  # the number of questions has a cap
    press(page, "Ask me more")
    asked = page.locator("[data-bl-question]").get_attribute("data-bl-question")
    other = open_page()
    visit(other, shipped_site, "#" + page.url.split("#", 1)[1])
    expect(other.locator("[data-bl-question]")).to_have_attribute("data-bl-question", str(asked))
    press(other, "Back")
    expect(other.locator("[data-bl-question]")).to_be_visible()


def test_what_may_not_be_used_is_not_saved(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    visit(page, shipped_site, "#see=bad-smell&yes=plants-in-bar&step=plan")
    assert read_lines(page)[0] == "Do not use this bar"
    assert "may it still be used?" not in page.locator(".bl-stage").inner_text()
    assert page.locator("h4[data-bl-line=now]").all_inner_texts() == ["Throw it away"]


def test_the_plan_comes_before_the_reasons_and_prints_whole(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page()
    visit(page, shipped_site, "#see=beads-of-liquid&yes=boiled&no=cold-store&step=plan")
    heads = page.locator(".bl-stage h3").all_inner_texts()
    assert heads == ["This bar", "Next time", "Why"]
    page.emulate_media(media="print")
    assert not page.get_by_role("button", name="Start over").is_visible()
    assert not page.locator(".bl-sign-grid").first.is_visible()
    assert page.locator(".bl-told-list li").count() == 3


def test_rows_glide_only_where_motion_is_welcome(open_page: OpenPage, shipped_site: Path) -> None:
    page = open_page()
    for wish, moves in (("reduce", False), ("no-preference", True)):
        page.emulate_media(reduced_motion=wish)  # type: ignore[arg-type]
        page.goto("about:blank")
        visit(page, shipped_site, "#see=beads-of-liquid&step=ask")
        moved = page.evaluate(
            """async () => {
              let most = 0;
              for (const words of ["No", "Yes"]) {
                const press = [...document.querySelectorAll(".bl-choice")]
                  .find(each => each.textContent === words);
                if (press) press.click();
                most = Math.max(most, document.getAnimations().length);
              }
              return most > 0;
            }"""
        )
        assert moved is moves
