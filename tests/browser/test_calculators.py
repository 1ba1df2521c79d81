"""Calculators in Chromium: answers as in Python; by typing, by keyboard, without script."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect
from sample_calculators import compile_bath, write_page_scripts

from builder.calculators import CompiledCalculator, compile_calculator
from builder.library import load_library
from tests.browser.conftest import OpenPage
from tests.shipped import ROOT

pytestmark = pytest.mark.browser

CASES: list[dict[str, Any]] = yaml.safe_load(
    (ROOT / "tests" / "cases" / "inputs.yml").read_text(encoding="utf-8")
)["read"]
READ_ANSWERS = """() => {
    const text = node => node.textContent;
    const shown = [...document.querySelectorAll("[data-bl-output]:not([hidden])")];
    return {
        outputs: Object.fromEntries(shown.map(output => [output.dataset.blOutput, [
            text(output.querySelector("[data-bl-value]")),
            output.querySelector("[data-bl-us]").hidden ? ""
                : text(output.querySelector("[data-bl-us]")),
        ]])),
        warnings: Object.fromEntries(
            [...document.querySelectorAll("[data-bl-warning]:not([hidden])")].map(item =>
                [item.dataset.blWarning, text(item.lastElementChild)])),
        errors: [...document.querySelectorAll("[data-bl-said]:not([hidden])")].map(said =>
            [said.closest("[data-bl-input]").dataset.blInput, text(said)]),
    };
}"""
NOTHING = "–"


@cache
def compile_shipped() -> dict[str, CompiledCalculator]:
    """Compile every calculator of the shipped course."""
    library, _ = load_library(ROOT)
    tables = library.tables
    assert library.settings is not None
    return {
        name: compile_calculator(entry, tables, library.settings.currency)
        for name, entry in library.calculators.items()
    }


NAMES = sorted(path.stem for path in (ROOT / "kb" / "calculators").glob("*.yml"))


def visit(page: Page, site: Path, calculator: str, anchor: str = "") -> Page:
    page.goto(f"{(site / 'calculators' / calculator / 'index.html').as_uri()}{anchor}")
    return page


def find_field(page: Page, name: str) -> Locator:
    return page.locator(f"[data-bl-input='{name}']")


def find_input(page: Page, name: str) -> Locator:
    return find_field(page, name).locator("input").first


def find_value(page: Page, name: str) -> Locator:
    return page.locator(f"[data-bl-output='{name}'] [data-bl-value]")


def describe(compiled: CompiledCalculator, raw: dict[str, Any]) -> dict[str, Any]:
    """Give what the page must show for what is typed, worked out in Python."""
    result = compiled.calculate(raw)
    if result.errors:
        return {"errors": [[error["input"], error["message"]] for error in result.errors]}
    return {
        "outputs": {name: [each["text"], each["us"]] for name, each in result.outputs.items()},
        "warnings": {each["id"]: each["message"] for each in result.warnings},
        "errors": [],
    }


def unquote_typed(errors: list[list[str]]) -> list[list[str]]:
    """Leave out what was typed: the page writes `60 °C` for what an example writes `60 degC`."""
    return [[name, re.sub("“[^”]*”", "“”", message)] for name, message in errors]


# ---- the same answers as in Python ----


def test_every_calculator_ships() -> None:
    assert list(compile_shipped()) == NAMES
    assert len(NAMES) >= 29


@pytest.mark.parametrize("name", NAMES)
def test_every_worked_example_gives_on_the_page_what_it_gives_in_python(
    name: str, open_page: OpenPage, shipped_site: Path
) -> None:
    compiled = compile_shipped()[name]
    page = visit(open_page(), shipped_site, name)
    assert page.evaluate(READ_ANSWERS) == describe(compiled, {})
    links = page.locator("[data-bl-fill]")
    examples = compiled.entry.examples
    assert links.count() == len(examples)
    for number, example in enumerate(examples):
        links.nth(number).evaluate("link => link.click()")
        wanted = describe(compiled, dict(example.inputs))
        found = page.evaluate(READ_ANSWERS)
        if wanted["errors"]:
            assert example.refused is not None, example.name
            assert unquote_typed(found["errors"]) == unquote_typed(wanted["errors"]), example.name
            assert {text for text, _ in found["outputs"].values()} == {NOTHING}
            assert found["warnings"] == {}
        else:
            # The order of warnings on the page is that of their gravity.
            assert found == wanted, example.name


@pytest.mark.parametrize("name", NAMES)
def test_answers_agree_to_the_last_digits(
    name: str, open_page: OpenPage, shipped_site: Path
) -> None:
    compiled = compile_shipped()[name]
    page = visit(open_page(), shipped_site, name)
    for example in ({}, *(example.inputs for example in compiled.entry.examples)):
        here = compiled.calculate(example).outputs
        there = page.evaluate("([id, raw]) => benchlore.calculate(id, raw)", [name, dict(example)])
        for output, answer in here.items():
            found = there["outputs"][output]["value"]
            if isinstance(answer["value"], float):
                assert math.isclose(answer["value"], found, rel_tol=1e-9, abs_tol=1e-12)
            else:
                assert answer["value"] == found


def test_what_is_typed_is_read_or_refused_as_in_python(open_page: OpenPage) -> None:
    page = open_page()
    page.goto("about:blank")
    page.add_script_tag(content=write_page_scripts([compile_bath()]))
    raws = [{case["field"]: str(case["typed"])} for case in CASES]
    there = page.evaluate("raws => raws.map(raw => benchlore.calculate('dye-bath', raw))", raws)
    assert len(there) == len(raws) > 50
    for raw, found in zip(raws, there, strict=True):
        here = dict(compile_bath().calculate(raw).data)
        assert "errors" not in here or here == found, raw
        if "outputs" in here:
            texts = {name: each["text"] for name, each in here["outputs"].items()}
            assert {name: each["text"] for name, each in found["outputs"].items()} == texts, raw


# ---- typing ----


def test_the_answer_follows_each_key(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "yield-and-waste")
    compiled = compile_shipped()["yield-and-waste"]
    field = find_input(page, "poured")
    field.fill("")
    for typed in ("5", "56", "565"):
        field.press_sequentially(typed[-1])
        wanted = describe(compiled, {"poured": f"{typed} g"})
        if not wanted["errors"]:
            assert page.evaluate(READ_ANSWERS) == wanted


def test_a_unit_typed_into_the_field_counts_more_than_the_one_beside_it(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "scent-dose")
    find_input(page, "base_mass").fill("4 oz")
    wanted = describe(compile_shipped()["scent-dose"], {"base_mass": "4 oz"})
    assert page.evaluate(READ_ANSWERS) == wanted


def test_a_message_stands_beside_the_field_once_typing_pauses(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "cooling-window")
    field = find_input(page, "room")
    said = find_field(page, "room").locator("[data-bl-said]")
    field.fill("80")
    assert find_value(page, "rate").text_content() == NOTHING  # at once: no number stands
    assert said.is_hidden()  # but nobody is told off for half a number
    expect(said).to_be_visible()
    (error,) = describe(compile_shipped()["cooling-window"], {"room": "80 °C"})["errors"]
    expect(said).to_have_text(error[1])
    expect(field).to_have_attribute("aria-invalid", "true")
    described = (field.get_attribute("aria-describedby") or "").split()
    assert said.get_attribute("id") in described
    expect(page.locator("[data-bl-refusal]")).to_have_text("No answer yet. Look at: Room")
    page.locator("[data-bl-refusal] button").click()
    expect(field).to_be_focused()
    field.fill("21")
    expect(said).to_be_hidden()
    expect(field).not_to_have_attribute("aria-invalid", "true")
    assert find_value(page, "rate").text_content() != NOTHING


def test_a_refusal_by_the_formula_points_at_its_input(
    open_page: OpenPage, shipped_site: Path
) -> None:
    """Shea butter from the middle of its range: the discount would turn negative."""
    page = visit(open_page(), shipped_site, "lye-amount")
    row = find_field(page, "oils").locator(".bl-row")
    row.nth(1).locator("[data-bl-remove]").click()
    row.nth(0).locator("select").select_option("shea")
    find_field(page, "basis").locator("select").select_option("middle")
    said = find_field(page, "discount").locator("[data-bl-said]")
    expect(said).to_contain_text("the discount turns negative")
    assert {text for text, _ in page.evaluate(READ_ANSWERS)["outputs"].values()} == {NOTHING}


def test_ounces_of_weight_in_a_volume_are_refused_by_name(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "alcohol-blend")
    find_input(page, "final_volume").fill("2 oz")
    said = find_field(page, "final_volume").locator("[data-bl-said]")
    expect(said).to_contain_text("A weight ounce (oz, 28.35 g) is not a fluid ounce")


def test_fields_come_and_go_with_the_choice(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "mould-capacity")
    expect(find_field(page, "water_mass")).to_be_visible()
    expect(find_field(page, "length")).to_be_hidden()
    find_field(page, "shape").locator("select").select_option("box")
    expect(find_field(page, "water_mass")).to_be_hidden()
    for name in ("length", "width", "height"):
        expect(find_field(page, name)).to_be_visible()
    wanted = describe(compile_shipped()["mould-capacity"], {"shape": "box"})
    assert page.evaluate(READ_ANSWERS) == wanted


# ---- units ----


def test_our_own_number_is_converted_and_a_typed_one_stays(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "cooling-window")
    room = find_field(page, "room")
    before = page.evaluate(READ_ANSWERS)
    room.locator("select").select_option("degF")
    expect(room.locator("input")).to_have_value("69.8")  # 21 °C
    assert page.evaluate(READ_ANSWERS) == before
    room.locator("input").fill("70")
    room.locator("select").select_option("degC")
    expect(room.locator("input")).to_have_value("70")
    expect(room.locator("[data-bl-said]")).to_contain_text("“70 °C” is outside")


def test_the_switch_of_the_site_turns_fields_answers_and_plot(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "dew-point")
    page.locator("[data-bl-unit-switch] label", has_text="US").click()
    expect(find_input(page, "room")).to_have_value("71.6")  # 22 °C
    expect(find_field(page, "room").locator("select")).to_have_value("degF")
    expect(find_value(page, "dew_point")).to_be_hidden()
    expect(page.locator("[data-bl-output='dew_point'] [data-bl-us]")).to_be_visible()
    expect(page.locator(".bl-plot-wide .bl-plot-tick.bl-us").first).to_be_visible()
    expect(page.locator(".bl-plot-wide .bl-plot-tick.bl-metric").first).to_be_hidden()
    page.reload()
    expect(find_input(page, "room")).to_have_value("71.6")


# ---- rows ----


def test_rows_are_added_and_removed_by_keyboard_alone(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "lye-amount")
    field = find_field(page, "oils")
    rows = field.locator(".bl-row")
    expect(rows).to_have_count(2)
    field.locator("[data-bl-add]").focus()
    page.keyboard.press("Enter")
    expect(rows).to_have_count(3)
    expect(rows.nth(2).locator("select")).to_be_focused()
    expect(page.locator("[data-bl-announce]")).to_have_text("Row 3 added.")
    page.keyboard.type("Shea")  # a list is chosen from by its first letters
    page.keyboard.press("Tab")
    page.keyboard.type("100")
    wanted = describe(
        compile_shipped()["lye-amount"],
        {"oils": "olive: 700 g, coconut: 300 g, shea: 100 g"},
    )
    assert page.evaluate(READ_ANSWERS) == wanted
    page.keyboard.press("Tab")  # certificate
    page.keyboard.press("Tab")
    expect(rows.nth(2).locator("[data-bl-remove]")).to_be_focused()
    page.keyboard.press("Enter")
    expect(rows).to_have_count(2)
    expect(rows.nth(1).locator("select")).to_be_focused()
    assert page.evaluate(READ_ANSWERS) == describe(compile_shipped()["lye-amount"], {})
    names = [
        rows.nth(place).locator("[role=group]").get_attribute("aria-label") for place in (0, 1)
    ]
    assert names == ["Oils, row 1", "Oils, row 2"]


def test_enter_goes_to_the_next_row_and_adds_one_at_the_end(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "net-contents")
    rows = find_field(page, "weights").locator(".bl-row")
    expect(rows).to_have_count(12)
    rows.nth(10).locator("input").focus()
    page.keyboard.press("Enter")
    expect(rows.nth(11).locator("input")).to_be_focused()
    page.keyboard.press("Enter")
    expect(rows).to_have_count(13)
    expect(rows.nth(12).locator("input")).to_be_focused()
    page.keyboard.type("113.6")
    default = compile_shipped()["net-contents"].entry.inputs["weights"].default
    wanted = describe(compile_shipped()["net-contents"], {"weights": f"{default} 113.6"})
    assert page.evaluate(READ_ANSWERS) == wanted


PASTE = """(input, text) => {
    const data = new DataTransfer();
    data.setData("text", text);
    const paste = {clipboardData: data, bubbles: true, cancelable: true};
    input.dispatchEvent(new ClipboardEvent("paste", paste));
}"""


def test_a_pasted_column_takes_the_place_of_our_examples(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "net-contents")
    field = find_field(page, "weights")
    rows = field.locator(".bl-row")
    mark = field.locator("[data-bl-example]")
    expect(rows).to_have_count(12)
    expect(mark).to_be_visible()
    rows.nth(11).locator("input").evaluate(PASTE, "112.0\n112.5\n113.0\n")
    expect(rows).to_have_count(3)
    values = [rows.nth(place).locator("input").input_value() for place in range(3)]
    assert values == ["112.0", "112.5", "113.0"]
    expect(mark).to_be_hidden()
    wanted = describe(compile_shipped()["net-contents"], {"weights": "112.0 112.5 113.0"})
    assert page.evaluate(READ_ANSWERS) == wanted
    # A second list goes behind what is now the reader's own.
    rows.nth(2).locator("input").evaluate(PASTE, "113.0\n113.5")
    expect(rows).to_have_count(4)


def test_rows_of_a_spreadsheet_fill_their_columns(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "lye-amount")
    field = find_field(page, "oils")
    pasted = "Olive oil\t600 g\t190\nCoconut oil\t0,4 kg\t\n"
    field.locator(".bl-row input").first.evaluate(PASTE, pasted)
    rows = field.locator(".bl-row")
    expect(rows).to_have_count(2)
    expect(rows.nth(0).locator("select").first).to_have_value("olive")
    typed = {"oils": "olive: 600 g: 190 mg/g; coconut: 0.4 kg"}
    assert page.evaluate(READ_ANSWERS) == describe(compile_shipped()["lye-amount"], typed)


def test_what_nobody_filled_in_is_marked_as_our_example(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "scent-dose")
    line = page.locator("[data-bl-examples]")
    expect(line).to_be_hidden()
    marks = page.locator("[data-bl-example]:visible")
    expect(marks).to_have_count(7)
    find_field(page, "base_mass").locator("input").fill("200")
    expect(marks).to_have_count(6)
    expect(line).to_contain_text("Still our examples, not your values:")
    expect(line).to_contain_text("Flash point of the scent")
    expect(line).not_to_contain_text("Base;")
    page.locator("[data-bl-reset]").click()
    expect(marks).to_have_count(7)
    expect(line).to_be_hidden()


def test_no_more_rows_than_are_read(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "lye-amount", "#oils=" + "olive:10%20g;" * 19)
    field = find_field(page, "oils")
    expect(field.locator(".bl-row")).to_have_count(19)
    field.locator("[data-bl-add]").click()
    expect(field.locator(".bl-row")).to_have_count(20)
    expect(field.locator("[data-bl-add]")).to_be_hidden()


def test_the_row_in_question_is_marked(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "lye-amount")
    rows = find_field(page, "oils").locator(".bl-row")
    rows.nth(1).locator("[data-bl-column='mass'] input").fill("plenty")
    expect(find_field(page, "oils").locator("[data-bl-said]")).to_contain_text("row 2")
    expect(rows.nth(1).locator("[aria-invalid]")).to_have_count(3)
    expect(rows.nth(0).locator("[aria-invalid]")).to_have_count(0)


# ---- links, reset, print ----


def test_a_link_carries_the_values_and_only_those_that_differ(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "lye-amount")
    link = page.locator("[data-bl-link]")
    expect(link).to_have_attribute("href", "#")
    rows = find_field(page, "oils").locator(".bl-row")
    rows.nth(0).locator("[data-bl-column='mass'] input").fill("1,5 kg")
    find_field(page, "alkali").locator("select").select_option("koh")
    find_input(page, "purity").fill("90")
    expect(link).to_have_attribute(
        "href", "#oils=olive:1,5%20kg;coconut:300%20g;&alkali=koh&purity=90"
    )
    before = page.evaluate(READ_ANSWERS)
    href = link.get_attribute("href") or ""
    other = visit(open_page(), shipped_site, "lye-amount", href)
    assert other.evaluate(READ_ANSWERS) == before
    wanted = describe(
        compile_shipped()["lye-amount"],
        {"oils": "olive: 1,5 kg; coconut: 300 g", "alkali": "koh", "purity": "90"},
    )
    assert before == wanted
    other.locator("[data-bl-reset]").click()
    assert other.evaluate(READ_ANSWERS) == describe(compile_shipped()["lye-amount"], {})
    assert "#" not in other.url


def test_the_address_takes_the_values_where_nothing_can_be_copied(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page()
    page.add_init_script("Object.defineProperty(navigator, 'clipboard', {value: undefined})")
    visit(page, shipped_site, "cooling-window")
    find_input(page, "room").fill("19")
    link = page.locator("[data-bl-link]")
    expect(link).to_have_attribute("href", "#room=19%20%C2%B0C")
    link.click()
    expect(link).to_have_text("The address holds them now")
    assert page.url.endswith("#room=19%20%C2%B0C")
    expect(find_input(page, "room")).to_have_value("19")


def test_units_of_a_link_are_those_of_the_field(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "cooling-window", "#room=72%20degF&time_between=1%20h")
    expect(find_field(page, "room").locator("select")).to_have_value("degF")
    expect(find_input(page, "room")).to_have_value("72")
    wanted = describe(
        compile_shipped()["cooling-window"], {"room": "72 degF", "time_between": "1 h"}
    )
    assert page.evaluate(READ_ANSWERS) == wanted


@pytest.mark.parametrize("anchor", ["#limits", "#nonsense=1", "#=", "#room=%zz", "#room=<b>x</b>"])
def test_any_other_anchor_does_no_harm(
    anchor: str, open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "cooling-window", anchor)
    if "room=" in anchor:
        expect(find_field(page, "room").locator("[data-bl-said]")).to_be_visible()
        assert page.locator(".bl-live b").count() == 0
    else:
        assert page.evaluate(READ_ANSWERS) == describe(compile_shipped()["cooling-window"], {})


def test_print_prints(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "cooling-window")
    page.evaluate("window.print = () => { window.printed = true; }")
    page.locator("[data-bl-print]").click()
    assert page.evaluate("window.printed") is True
    page.emulate_media(media="print")
    expect(page.locator(".bl-live-presses")).to_be_hidden()
    expect(find_input(page, "room")).to_be_visible()
    expect(find_value(page, "time_to_top")).to_be_visible()


# ---- told to those who listen ----


def test_the_answer_is_announced_once_typing_pauses(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(), shipped_site, "scent-dose")
    status = page.locator("[data-bl-announce]")
    assert status.text_content() == ""  # nothing is said on arrival
    find_input(page, "load").fill("2")
    find_input(page, "load").press_sequentially(".5")
    assert status.text_content() == ""
    expect(status).to_contain_text("Scent to weigh: ")
    assert "g (" in (status.text_content() or "")
    find_input(page, "load").fill("200")
    (error,) = describe(compile_shipped()["scent-dose"], {"load": "200"})["errors"]
    expect(status).to_have_text(error[1])


# ---- the plot ----


def test_the_plot_follows_what_is_typed(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(), shipped_site, "cooling-window")
    curve = page.locator(".bl-plot-wide .bl-plot-curve")
    before = curve.get_attribute("d")
    find_input(page, "second_temperature").fill("66")
    find_input(page, "room").fill("35")
    expect(curve).not_to_have_attribute("d", before or "")
    for label in ("First reading", "Second reading", "Window"):
        expect(page.locator(".bl-plot-wide .bl-plot-label", has_text=label)).to_be_visible()
    described = page.locator(".bl-plot-wide desc").text_content() or ""
    assert "Second reading: 66\u00a0°C at 10\u00a0min." in described
    find_input(page, "second_temperature").fill("90")
    expect(page.locator(".bl-plot-wide svg")).to_have_count(0)
    page.locator("[data-bl-reset]").click()
    expect(curve).to_have_attribute("d", before or "")


def test_a_phone_gets_the_narrow_drawing(open_page: OpenPage, shipped_site: Path) -> None:
    page = visit(open_page(width=360), shipped_site, "cooling-window")
    expect(page.locator(".bl-plot-narrow svg")).to_be_visible()
    expect(page.locator(".bl-plot-wide svg")).to_be_hidden()


def test_on_a_phone_the_answer_follows_while_it_is_out_of_sight(
    open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(width=360, height=640), shipped_site, "lye-amount")
    find_input(page, "oils").scroll_into_view_if_needed()
    follow = page.locator("[data-bl-follow]")
    expect(follow).to_be_visible()
    assert "Alkali to weigh: " in (follow.text_content() or "")
    page.locator("[data-bl-answers]").scroll_into_view_if_needed()
    page.mouse.wheel(0, 400)
    expect(follow).to_be_hidden()


@pytest.mark.parametrize("dark", [False, True])
def test_a_dangerous_number_says_so_itself_and_in_the_bar(
    open_page: OpenPage, shipped_site: Path, dark: bool
) -> None:
    page = visit(open_page(width=360, height=640, dark=dark), shipped_site, "scent-dose")
    follow, answers = page.locator("[data-bl-follow]"), page.locator("[data-bl-answers]")
    load = find_input(page, "load")
    calm = answers.evaluate("part => getComputedStyle(part).backgroundColor")
    expect(answers.locator("[data-bl-signal]")).to_be_hidden()
    load.fill("12")
    for place in (follow, answers):
        expect(place.locator("[data-bl-signal]")).to_have_text("Danger")
        expect(place).to_have_class(re.compile("bl-caution-danger"))
        assert place.evaluate("part => getComputedStyle(part).backgroundColor") != calm
    load.scroll_into_view_if_needed()
    expect(follow.locator("[data-bl-signal]")).to_be_visible()
    load.fill("2")
    for place in (follow, answers):
        expect(place.locator("[data-bl-signal]")).to_be_hidden()
        expect(place).not_to_have_class(re.compile("bl-caution"))


# ---- in lessons ----


def test_a_lesson_works_with_its_own_values_and_leads_on_with_them(
    open_page: OpenPage, shipped_site: Path
) -> None:
    library, _ = load_library(ROOT)
    lesson = library.lessons["layers-that-hold"]
    (use,) = [each for each in lesson.calculators if each.calculator == "cooling-window"]
    page = open_page()
    page.goto((shipped_site / "lessons" / lesson.id / "index.html").as_uri())
    compiled = compile_shipped()["cooling-window"]
    live = page.locator("[data-bl-calculator='cooling-window']")
    rate = live.locator("[data-bl-output='time_to_top'] [data-bl-value]")
    expect(rate).to_have_text(compiled.calculate(use.inputs).outputs["time_to_top"]["text"])
    live.locator("[data-bl-input='room'] input").fill("18")
    changed = {**use.inputs, "room": "18 degC"}
    wanted = compiled.calculate(changed).outputs["time_to_top"]["text"]
    expect(rate).to_have_text(wanted)
    onward = live.locator("[data-bl-page]")
    expect(onward).to_have_attribute("href", re.compile(r"#room=18%20%C2%B0C&"))
    onward.click()
    expect(find_input(page, "room")).to_have_value("18")
    expect(find_value(page, "time_to_top")).to_have_text(wanted)
    page.go_back()
    live.locator("[data-bl-reset]").click()
    expect(rate).to_have_text(compiled.calculate(use.inputs).outputs["time_to_top"]["text"])


# ---- without script, small, dark ----


@pytest.mark.parametrize("name", NAMES)
def test_without_script_formula_example_and_values_stand(
    name: str, open_page: OpenPage, shipped_site: Path
) -> None:
    page = visit(open_page(script=False), shipped_site, name)
    compiled = compile_shipped()[name]
    expect(page.locator("form.bl-live-form")).to_be_hidden()
    expect(page.locator(".bl-formula").first).to_be_visible()
    expect(page.locator(".bl-example").first).to_be_visible()
    for output, answer in compiled.calculate().outputs.items():
        expect(find_value(page, output)).to_have_text(answer["text"])
    if compiled.entry.table is not None:
        rows = page.locator(".bl-values tbody tr")
        expect(rows).to_have_count(len(compiled.entry.table.values))
        expect(rows.first).to_be_visible()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_rule_of_accessibility_is_broken_even_with_errors_and_warnings(
    width: int, dark: bool, open_page: OpenPage, shipped_site: Path
) -> None:
    page = open_page(width=width, dark=dark)
    for name, anchor in (
        ("lye-amount", "#discount=1&concentration=45"),
        ("cooling-window", "#room=80"),
        ("batch-cost", "#items=base:nothing;"),
    ):
        visit(page, shipped_site, name, anchor)
        page.reload()
        found = Axe().run(page, options={"preload": False})  # it would fetch the style sheets
        assert found.violations_count == 0, found.generate_report()
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, name
