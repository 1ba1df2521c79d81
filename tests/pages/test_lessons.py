"""Pages of the lessons, the home page and the teacher's pages."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest

from builder.course import Course
from builder.drawings.heat_scale import HeatScale, make_heat_scale
from builder.drawings.temperature_timeline import describe_strip, draw_strip, make_rows, write_time
from builder.library import Library
from builder.pages import Page, home, lessons, teaching
from builder.pages.amounts import show_amount
from builder.pages.lesson_views import make_shelf, make_steps
from builder.pages.maker import make_maker
from builder.planning.kit import join_kits, list_kits
from builder.planning.needs import Need, list_needs, sum_prices
from builder.planning.sessions import plan_sessions
from builder.twin_scripts import NUMBERS, write_script
from builder.units import parse_quantity
from builder.words import load_words
from tests.golden import check_golden
from tests.helpers import make_library, overlay

ENGLISH = load_words("en")

CLASS = """
# file: lessons/classes/autumn.yml
name: Autumn cards
summary: Two evenings for **six** people.
students: 6
sessions:
  - {date: 2030-09-02, start: "18:30", length: 2 h, lessons: [pressing]}
  - {date: 2030-09-09, start: "18:30", length: 90 min, lessons: [mounting]}
notes: Bring flowers.
"""


def read(source: str = "") -> Library:
    """Read the pressed-flower course with files laid over it; nothing may be wrong with it."""
    library, findings = make_library(overlay(source.lstrip()))
    assert not findings
    return library


def make(source: str = "") -> dict[str, Page]:
    library = read(source)
    assert library.settings is not None
    context = make_maker(Course(library))
    makers = (home, lessons, teaching)
    return {page.address: page for maker in makers for page in maker.make_pages(context)}


def part(page: Page, section: str) -> str:
    return next(each.html for each in page.sections if each.id == section)


def words(html: str) -> str:
    """Give the text of a fragment, spaces that do not break as plain ones."""
    text = unescape(re.sub(r"<[^>]*>", " ", html))
    return " ".join(text.split())


# ---- kept files, one small page a family ----


@pytest.mark.parametrize(
    ("address", "name"),
    [
        ("", "home.html"),
        ("lessons/", "lessons.html"),
        ("lessons/pressing/", "lesson.html"),
        ("teaching/", "teaching.html"),
        ("teaching/autumn/", "class.html"),
    ],
)
def test_page_is_as_kept(address: str, name: str, accept: bool) -> None:
    page = make(CLASS)[address]
    assert page.lead.count("<h1>") == 1
    assert page.description
    check_golden(name, page.html, accept)


# ---- home and index ----


def test_home_has_three_doors_and_the_map() -> None:
    page = make()[""]
    doors = re.findall(r'<a class="bl-door bl-door-(\w+)" href="([^"]+)"', page.lead)
    assert doors == [
        ("learn", "lessons/index.html"),
        ("fix", "diagnose/index.html"),
        ("teach", "teaching/index.html"),
    ]
    assert "My card went wrong" in page.lead
    assert [section.id for section in page.sections] == ["course-map", "local-rules"]
    assert 'href="lessons/mounting/index.html"' in part(page, "course-map")


def test_index_lists_lessons_by_level_in_order() -> None:
    page = make()["lessons/"]
    assert [section.title for section in page.sections] == [
        "Course map",
        "Beginner",
        "Intermediate",
    ]
    second = words(part(page, "intermediate"))
    assert "23 min at the bench" in second  # 10 + 1 + 2 + 5 + 5
    assert "12 h 20 min waiting" in second
    assert "After Press a flower" in second


def test_structured_data_of_home_names_the_course_and_its_lessons() -> None:
    (course,) = make()[""].structured
    assert course["@type"] == "Course"
    assert [each["url"] for each in course["hasPart"]] == [
        "lessons/pressing/index.html",
        "lessons/mounting/index.html",
    ]


# ---- a lesson ----


def test_lesson_shows_what_the_steps_add_up_to() -> None:
    page = make()["lessons/mounting/"]
    assert "At the bench 23 min Waiting 12 h 20 min Makes 1 card" in words(page.lead)
    how_to = next(each for each in page.structured if each["@type"] == "HowTo")
    assert how_to["totalTime"] == "PT12H43M"
    assert [each["name"] for each in how_to["tool"]] == ["Pan", "Hot ring", "Goggles", "Brush"]
    assert len(how_to["step"]) == 5
    assert "{" not in json.dumps([each["text"] for each in how_to["step"]])


def test_sections_stand_in_the_order_of_use() -> None:
    page = make()["lessons/mounting/"]
    assert [section.id for section in page.sections] == [
        "need",
        "cautions",
        "temperatures",
        "steps",
        "risks",
        "exercises",
        "next",
    ]


def test_amount_per_piece_scales_and_amount_per_batch_does_not() -> None:
    rows = re.findall(r"<tr>.*?</tr>", part(make()["lessons/mounting/"], "need"))
    by_name = {words(row).split(" ")[0]: row for row in rows}
    assert 'data-bl-amount="0.002"' in by_name["Clear"]
    assert "data-bl-amount=" not in by_name["Starch"]
    assert "for the whole batch" in by_name["Starch"]


def test_amount_is_written_for_one_thing_in_either_system() -> None:
    made = str(show_amount(parse_quantity("300 g"), 4))
    assert 'data-bl-amount="0.075" data-bl-unit="g" data-bl-places="0"' in made
    assert words(made) == "300 g ( 10.6 oz )"
    made = str(show_amount(parse_quantity("4 oz"), 1))
    assert 'data-bl-unit="g"' in made
    assert 'data-bl-us-unit="oz" data-bl-us-places="0"' in made
    assert words(made) == "113 g ( 4 oz )"


def test_lesson_that_makes_nothing_has_no_stepper() -> None:
    source = "# file: lessons/cards/pressing.yml\n" + overlay("")["lessons/cards/pressing.yml"]
    source = source.replace("level: beginner\n", "level: beginner\nmakes: 0\n")
    need = part(make(source)["lessons/pressing/"], "need")
    assert "data-bl-stepper" not in need
    assert "data-bl-amount=" not in need
    assert "data-bl-stepper" in part(make()["lessons/pressing/"], "need")


def test_controls_are_hidden_until_the_script_wires_them() -> None:
    need = part(make()["lessons/mounting/"], "need")
    controls = re.findall(r"<(?:div|fieldset)[^>]*data-bl-(?:stepper|unit-switch)[^>]*>", need)
    assert len(controls) == 2
    assert all(" hidden" in control for control in controls)


VARNISH_TWICE = "# file: lessons/cards/mounting.yml\n" + overlay("")[
    "lessons/cards/mounting.yml"
].replace("{material: varnish, amount: 2 g}", "{material: varnish, amount: 4 g}").replace(
    "risks:",
    """  - title: Varnish it again
    text: A second coat.
    time: 5 min
    actions:
      - {do: wet, vessel: card, material: varnish, amount: 2 g, tool: brush}
risks:""",
)


def test_every_caution_of_a_step_stands_in_its_card() -> None:
    course = Course(read(VARNISH_TWICE))
    library, shelf = course.library, make_shelf(course)
    page = make(VARNISH_TWICE)["lessons/mounting/"]
    cards = re.split(r'<li class="bl-step" id="step-\d+"[^>]*>', part(page, "steps"))[1:]
    throughout, steps = make_steps(course, shelf, library.lessons["mounting"])
    assert throughout
    for card, step in zip(cards, steps, strict=True):
        for caution in (*(each for each, _ in step.cautions), *step.reminders):
            assert f"{caution.signal}</strong>" in card
            assert caution.title in words(card)
    assert any(step.cautions for step in steps)
    assert any(step.reminders for step in steps)


def test_each_caution_stands_in_full_once() -> None:
    page = make()["lessons/mounting/"]
    full = re.findall(r'id="(caution-[a-z0-9-]+)"', page.html)
    assert sorted(full) == sorted(set(full))
    assert {anchor for anchor in page.anchors if anchor.startswith("caution-")} == set(full)
    for link in re.findall(r'href="#(caution-[a-z0-9-]+)"', page.html):
        assert link in full


def test_cautions_attach_although_the_lesson_names_none() -> None:
    course = Course(read())
    library = course.library
    lesson = library.lessons["mounting"]
    assert lesson.cautions == ()
    throughout, steps = make_steps(course, make_shelf(course), lesson)
    named = {caution.id for caution in throughout}
    named |= {caution.id for step in steps for caution, _ in step.cautions}
    assert {name for name in named if library.cautions[name].signal == "Danger"}
    varnish = steps[4]
    assert varnish.cautions or varnish.reminders


def test_danger_stands_in_full_before_the_steps() -> None:
    course = Course(read())
    lesson = course.library.lessons["mounting"]
    throughout, steps = make_steps(course, make_shelf(course), lesson)
    dangers = {caution.id for caution in throughout if caution.signal == "Danger"}
    for step in steps:
        for caution, here in step.cautions:
            assert here == (caution not in throughout)
            if caution.signal == "Danger":
                assert caution.id in dangers


def test_temperature_badge_shows_both_systems_and_a_shade() -> None:
    steps = part(make()["lessons/mounting/"], "steps")
    badges = re.findall(r'<p class="bl-badge bl-heat-(\d)">(.*?)</p>', steps)
    assert [words(text) for _, text in badges] == [
        "Temperature 60–80 °C ( 140–176 °F )",
        "Temperature 35–40 °C ( 95–104 °F )",
    ]
    assert int(badges[0][0]) > int(badges[1][0])


def test_author_text_is_never_run() -> None:
    source = "# file: lessons/cards/pressing.yml\n" + overlay("")["lessons/cards/pressing.yml"]
    source = source.replace("title: Blot it", "title: <b>Blot</b> <!--section x y-->")
    source = source.replace("Lay the flower on a sheet", "<script>x</script> Lay the flower")
    page = make(source)["lessons/pressing/"]
    assert "<b>Blot" not in page.html
    assert "<script>x" not in page.html
    assert "x" not in [section.id for section in page.sections]
    assert "&lt;b&gt;Blot" in part(page, "temperatures")


def test_before_and_after_lead_to_the_neighbours() -> None:
    pages = make()
    first = words(part(pages["lessons/pressing/"], "next"))
    assert "Nothing: you can begin here." in first
    assert "Mount it on a card" in first
    second = words(part(pages["lessons/mounting/"], "next"))
    assert "Blot a flower dry before it is pressed." in second


# ---- the strip and the scale ----


def test_strip_says_in_words_what_it_draws() -> None:
    rows = make_rows(read().lessons["mounting"], ENGLISH)
    said = describe_strip(rows, ENGLISH).replace("\u00a0", " ")
    assert "Step 1, Warm the paste: 10 min, 60–80 °C (140–176 °F)." in said
    assert "Step 2, Let it cool: 1 min, then wait 20 min." in said


def test_strip_is_drawn_for_wide_and_narrow_screens() -> None:
    library = read()
    drawn = str(
        draw_strip(
            make_rows(library.lessons["mounting"], ENGLISH), make_heat_scale(library), ENGLISH
        )
    )
    assert drawn.count("<title>") == drawn.count("<desc>") == drawn.count('role="img"') == 2
    for svg in re.findall(r"<svg.*?</svg>", drawn):
        assert len(re.findall(r"<circle", svg)) == 5
        assert len(re.findall(r'<rect class="bl-strip-band', svg)) == 2
        assert len(re.findall(r'<rect class="bl-strip-wait', svg)) == 2
        assert " id=" not in svg
        width, height = map(float, re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)[0])
        for x, y, wide, high in re.findall(
            r'<rect[^>]*x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', svg
        ):
            assert float(x) >= 0
            assert float(y) >= 0
            assert float(x) + float(wide) <= width
            assert float(y) + float(high) <= height


def test_strip_of_a_step_that_is_only_heated_to_a_limit() -> None:
    source = "# file: lessons/cards/mounting.yml\n" + overlay("")["lessons/cards/mounting.yml"]
    library = read(source.replace("    temperature: 60 to 80 degC\n", ""))
    (row, *_) = make_rows(library.lessons["mounting"], ENGLISH)
    assert row.low is None
    assert row.high == pytest.approx(353.15)
    assert row.metric == "up to 80\u00a0°C"
    assert "up to 80" in str(draw_strip((row,), make_heat_scale(library), ENGLISH))


def test_strip_is_left_out_without_temperature_and_wait() -> None:
    library = read()
    rows = [row for row in make_rows(library.lessons["pressing"], ENGLISH) if not row.wait_seconds]
    assert draw_strip(rows, make_heat_scale(library), ENGLISH) == ""


def test_scale_runs_from_the_room_to_the_hottest_lesson() -> None:
    scale = make_heat_scale(read())
    assert scale.low == pytest.approx(293.15)  # the course's room, 20 degrees Celsius
    assert scale.high == pytest.approx(363.15)  # above 80 degrees Celsius, the hottest step
    assert scale.shade(scale.low) == 0
    assert scale.shade(scale.high) == 8
    assert scale.place(1000.0) == 1.0
    assert scale.place(0.0) == 0.0


def test_ticks_are_round_and_few() -> None:
    scale = HeatScale(273.15 + 20, 273.15 + 250)
    celsius = [round(tick - 273.15) for tick in scale.ticks]
    assert celsius == [100, 200]
    assert [round(tick - 273.15) for tick in HeatScale(293.15, 353.15).ticks] == [20, 40, 60, 80]


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("45 s", "45 s"),
        ("90 s", "2 min"),
        ("65 min", "1 h 5 min"),
        ("12 h", "12 h"),
        ("36 h", "36 h"),
        ("7 days", "7 days"),
    ],
)
def test_time_is_written_for_people(text: str, written: str) -> None:
    assert write_time(parse_quantity(text).base).replace("\u00a0", " ") == written


# ---- the browser writes amounts as we do ----


def test_browser_writes_the_same_amounts() -> None:
    from py_mini_racer import MiniRacer

    from builder.twin.number_format import format_quantity, format_us

    browser = MiniRacer()
    browser.eval(write_script(NUMBERS))
    for grams in (0.2, 113, 904, 5650):
        base = grams / 1000
        call = f"benchlore.twin.format_quantity({base!r}, 'g', 'places', 1)"
        assert browser.eval(call) == format_quantity(base, "g", "places", 1)
        call = f"benchlore.twin.format_us({base!r}, 'g', 'places', 1)"
        assert browser.eval(call) == format_us(base, "g", "places", 1)
    assert browser.eval("typeof format_quantity") == "undefined"


# ---- a class ----


def needs_of(source: str) -> dict[str, Need]:
    library = read(source)
    return {need.material.id: need for need in list_needs(library, library.classes["autumn"])}


def test_class_adds_up_pieces_by_student_and_batches_once() -> None:
    needs = needs_of(CLASS)
    assert needs["blotting-sheet"].amount.base == pytest.approx(0.120)  # 6 x 20 g
    assert needs["varnish"].amount.base == pytest.approx(0.012)  # 6 x 2 g
    assert needs["paste"].amount.base == pytest.approx(0.100)  # once


def _packs(*packs: str) -> str:
    """Let the first lesson use a material that is sold in these packs, `50 g at 2 GBP`."""
    listed = ", ".join(
        f"{{amount: {amount}, price: {price}}}"
        for amount, _, price in (pack.partition(" at ") for pack in packs)
    )
    sheet = f"felt-sheet:\n  name: Felt sheet\n  summary: Soft.\n  packs: [{listed}]\n"
    lesson = overlay("")["lessons/cards/pressing.yml"]
    lesson = lesson.replace("material: blotting-sheet", "material: felt-sheet")
    return (
        f"{CLASS.lstrip()}# file: kb/materials.yml\n{overlay('')['kb/materials.yml']}\n{sheet}"
        f"# file: lessons/cards/pressing.yml\n{lesson}"
    )


@pytest.mark.parametrize(
    ("packs", "bought", "price"),
    [
        (("50 g at 2 GBP",), {50: 3}, 6.0),
        (("50 g at 2 GBP", "100 g at 3 GBP"), {100: 1, 50: 1}, 5.0),
        (("50 g at 2 GBP", "100 g at 1 GBP"), {100: 2}, 2.0),
        (("1 kg at 4 GBP", "50 g at 2 GBP"), {1000: 1}, 4.0),
        (("60 g at 2 GBP", "120 g at 4 GBP"), {120: 1}, 4.0),
    ],
)
def test_class_buys_the_packs_that_cost_least(
    packs: tuple[str, ...], bought: dict[int, int], price: float
) -> None:
    need = needs_of(_packs(*packs))["felt-sheet"]  # 6 x 20 g = 120 g
    assert {round(size.base * 1000): count for count, size in need.packs} == bought
    assert need.price is not None
    assert need.price.base == pytest.approx(price)


def test_material_without_a_pack_is_said_to_have_none() -> None:
    page = make(_packs())["teaching/autumn/"]
    row = re.search(r"<tr><th[^>]*><a[^>]*>Felt sheet</a>.*?</tr>", part(page, "shopping"))
    assert row is not None
    assert "no pack given not given" in words(row[0])


def test_volume_is_bought_by_mass_where_the_density_is_known() -> None:
    library = read(CLASS)
    oil = library.materials["lavender-oil"]
    assert oil.density is not None
    need = next(n for n in list_needs(library, library.classes["autumn"]) if n.material == oil)
    assert need.amount.dimension == "[length] ** 3"
    assert need.amount.base == pytest.approx(0.5e-6)


def test_total_is_the_sum_of_the_prices() -> None:
    library = read(CLASS)
    needs = list_needs(library, library.classes["autumn"])
    total = sum_prices(need.price for need in needs)
    assert total == pytest.approx(6.0)  # one pack of blotting sheets; nothing else has a price
    used = sum_prices(need.used for need in needs)
    assert 0 < used < total
    shown = words(part(make(CLASS)["teaching/autumn/"], "shopping"))
    assert f"All packs, 1.00 GBP a student; used of them {used:.2f} GBP" in shown.replace(
        "\xa0", " "
    )
    assert "6.00 GBP" in shown


def test_kit_counts_a_tool_for_each_student_or_for_the_class() -> None:
    library = read(CLASS)
    planned = library.classes["autumn"]
    kits = list_kits(library, plan_sessions(library, planned).sessions, planned.students)
    kit = {item.tool.id: item.count for item in join_kits(kits)}
    assert kit["goggles"] == 6
    assert kit["ring"] == 1


def test_class_page_names_days_and_the_end_of_each_session() -> None:
    page = make(CLASS)["teaching/autumn/"]
    said = words(part(page, "sessions"))
    assert "Monday 2 September 2030 18:30 to 20:30" in said
    assert "Monday 9 September 2030 18:30 to 20:00" in said
    assert page.structured[0]["startDate"] == "2030-09-02"
    assert page.structured[0]["endDate"] == "2030-09-09"


def test_teaching_leads_to_classes_lessons_and_rules() -> None:
    page = make(CLASS)["teaching/"]
    assert 'href="autumn/index.html"' in part(page, "classes")
    assert 'href="rules/index.html"' in part(page, "rules")
    assert "7 days" in words(part(page, "lessons"))
    assert "classes" not in [section.id for section in make()["teaching/"].sections]
