"""Pages of the calculators, calculators in lessons, and the plot in both languages."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from html import unescape
from typing import Any

import pytest
from sample_calculators import BATH, DYES, compile_bath, write_page_scripts

from builder.course import Course
from builder.drawings.heat_scale import HeatScale
from builder.library import Library
from builder.pages import Page, calculators, lessons, make_site
from builder.pages.calculators.answer_fields import (
    WIDE,
    describe_shape,
    view_answers,
    view_warnings,
)
from builder.pages.calculators.embed import write_hash
from builder.pages.calculators.fields import view_fields, write_typed
from builder.pages.calculators.page import (
    view_constants,
    write_constant,
    write_expected,
    write_range,
    write_symbols,
)
from builder.pages.calculators.scripts import name_script, write_scripts
from builder.pages.maker import PageMaker, make_maker
from builder.pages.scripts import CALCULATOR, join_script
from builder.pages.search import make_search_entries
from builder.twin import calculators as runtime
from builder.twin import plot
from builder.twin_scripts import CALCULATORS, NUMBERS
from builder.twin_scripts import write_scripts as write_twin
from builder.words import load_words
from tests.golden import check_golden
from tests.helpers import make_library, overlay
from tests.v8 import Engine, start_engine

SCALE = HeatScale(293.15, 363.15)
LESSON_USE = """
calculators:
  - calculator: thin-paste
    text: Our paste is **stiff**.
    inputs: {paste_mass: 250 g, strength: 24 %}
  - {calculator: thin-paste}
  - {calculator: dye-bath}
"""


def drop_id(text: str) -> str:
    return re.sub(r"^id: .*\n", "", text.strip() + "\n")


@cache
def make_course() -> Library:
    """The pressed-flower course with the dye bath beside its own calculator, both in a lesson."""
    base = overlay("")
    citations = base["kb/citations.yml"] + "\n".join(
        [
            "book: {title: The dyer's book, publisher: Press, year: 1901, certainty: seen}",
            "sheet: {title: A sheet, certainty: memory}",
        ]
    )
    bath = drop_id(BATH) + "level: advanced\ncautions: [hot-things]\nlesson: pressing\n"
    bath = bath.replace("Invented.", "When the **vat** is old.").replace("s: d =", "s: d_1 =")
    files = "\n".join(
        [
            "# file: kb/citations.yml",
            citations,
            "# file: kb/tables/dyes.yml",
            drop_id(DYES).replace("Madder root", "Madder <root>"),
            "# file: kb/calculators/dye-bath.yml",
            bath,
            "# file: lessons/cards/pressing.yml",
            base["lessons/cards/pressing.yml"].rstrip() + LESSON_USE,
        ]
    )
    library, findings = make_library(overlay(files))
    assert findings == []
    return library


def share(library: Library) -> PageMaker:
    return make_maker(Course(library))


@cache
def make_pages() -> dict[str, Page]:
    maker = share(make_course())
    made = [*calculators.make_pages(maker), *lessons.make_pages(maker)]
    return {page.address: page for page in made}


def part(page: Page, section: str) -> str:
    return next(each.html for each in page.sections if each.id == section)


def words(html: str) -> str:
    """Give the text of a fragment, spaces that do not break as plain ones."""
    text = " ".join(unescape(re.sub(r"<[^>]*>", " ", html)).split())
    return text.replace("( ", "(").replace(" )", ")")


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    """The runtime of the page, drawing of plots included, with the dye bath."""
    with start_engine(write_page_scripts([compile_bath()])) as started:
        yield started


# ---- kept files ----


@pytest.mark.parametrize(
    ("address", "name"),
    [("calculators/", "calculators.html"), ("calculators/thin-paste/", "calculator.html")],
)
def test_page_is_as_kept(address: str, name: str, accept: bool) -> None:
    library, findings = make_library(overlay(""))
    assert findings == []
    pages = {page.address: page for page in calculators.make_pages(share(library))}
    page = pages[address]
    assert page.lead.count("<h1>") == 1
    assert page.description
    check_golden(name, page.html, accept)


# ---- the page ----


def test_the_index_lists_calculators_by_group_the_first_level_first() -> None:
    page = make_pages()["calculators/"]
    assert [section.title for section in page.sections] == ["Others"]
    listed = re.findall(r'href="([^"]+)">([^<]+)</a>', part(page, "group-1"))
    assert listed == [
        ("thin-paste/index.html", "Thin the paste"),
        ("dye-bath/index.html", "Dye bath"),
    ]
    assert "advanced" in words(part(page, "group-1"))
    (collection,) = page.structured
    assert collection["@type"] == "CollectionPage"
    assert collection["mainEntity"]["numberOfItems"] == 2


def test_the_page_says_all_that_it_must_without_a_script() -> None:
    page = make_pages()["calculators/dye-bath/"]
    titles = [section.title for section in page.sections]
    assert titles == [
        "When to use it",
        "The formula",
        "When it does not hold",
        "Cautions",
        "Values at a glance",
        "Worked examples",
        "Numbers it uses",
        "Dyes",
        "Sources",
    ]
    # Filled in at first: 2 % of 100 g of yarn, factor 1.5, dyes of 11.3 % (table, middle values:
    # 0.6 of 200 mg/g and 0.4 of 150 mg/g are 180 mg/g; 100 * 0.02 * 1.5 / 0.18 = 16.67 g).
    shown = words(page.lead)
    assert "Dye 16.7 g 0.59 oz" in shown
    assert "Yarn 100 g (3.53 oz)" in shown  # for readers without scripts
    assert "The dye is the share of the yarn" in words(part(page, "formula"))
    assert "d <sub>" not in part(page, "formula")
    values = words(part(page, "values"))
    assert "1 % 8.33 g (0.29 oz)" in values
    assert "4 % 33.3 g (1.18 oz)" in values
    assert "<strong>vat</strong>" in part(page, "limits")


def test_worked_examples_stand_beside_what_the_calculator_gives() -> None:
    page = make_pages()["calculators/dye-bath/"]
    html = part(page, "examples")
    shown = words(html)
    assert "By hand" in shown
    assert "Dye 20 g 20.0 g (0.71 oz)" in shown
    assert "0.16 oz (within 0.0001)" in shown
    assert "1 more example" in shown
    assert "It must be refused, and is:" in shown
    assert "is above 50 °C (122 °F)" in shown
    assert "The dyer&#39;s book" in html
    assert 'data-bl-fill="yarn=4%20oz&amp;depth=1%20%25&amp;factor=1&amp;' in html


def test_facts_from_tables_stand_with_all_their_sources() -> None:
    html = part(make_pages()["calculators/dye-bath/"], "table-dyes")
    shown = words(html)
    assert "Madder <root> 100–300 mg/g The dyer's book 90–310 mg/g A sheet (from memory" in shown
    assert "Begins" not in shown  # the steps say themselves where they begin
    assert "Madder &lt;root&gt;" in html


def test_cautions_stand_in_short_above_and_whole_below() -> None:
    page = make_pages()["calculators/dye-bath/"]
    assert page.lead.index('href="#caution-hot-things"') < page.lead.index("<form")
    assert 'id="caution-hot-things"' in part(page, "cautions")
    assert page.anchors == {"caution-hot-things"}


def test_it_names_the_lesson_that_teaches_it_once() -> None:
    html = part(make_pages()["calculators/dye-bath/"], "use")
    assert html.count("lessons/pressing/index.html") == 1


def test_structured_data_names_an_application_and_something_to_learn_from() -> None:
    application, resource = make_pages()["calculators/dye-bath/"].structured
    assert application["@type"] == "WebApplication"
    assert application["isAccessibleForFree"] is True
    assert "Dye" in application["featureList"]
    assert resource["@type"] == "LearningResource"
    assert resource["educationalLevel"] == "advanced"
    assert {source["name"] for source in resource["citation"]} == {"The dyer's book"}


def test_search_finds_the_page_without_its_form_and_data() -> None:
    (entry, *_) = make_search_entries(make_pages()["calculators/dye-bath/"])
    assert "How much dye a bath of yarn takes." in entry.text
    assert "benchlore" not in entry.text


# ---- fields ----


def find_field(name: str, raw: dict[str, str] | None = None) -> Any:
    return next(each for each in view_fields(compile_bath(), raw or {}) if each.name == name)


def test_units_are_offered_beside_a_quantity_and_one_alone_stands_behind_it() -> None:
    yarn = find_field("yarn")
    assert [(unit.key, unit.symbol) for unit in yarn.units] == [
        ("g", "g"),
        ("kg", "kg"),
        ("oz", "oz"),
        ("lb", "lb"),
    ]
    assert (yarn.value, yarn.unit, yarn.metric, yarn.us) == ("100", "g", "g", "oz")
    assert [unit.symbol for unit in find_field("depth").units] == ["%"]
    assert [unit.symbol for unit in find_field("rise").units] == ["°C", "°F"]
    assert find_field("factor").units == ()


def test_a_default_in_another_unit_chooses_that_unit() -> None:
    assert (find_field("water").value, find_field("water").unit) == ("2", "L")
    yarn = find_field("yarn", {"yarn": "4 oz"})
    assert (yarn.value, yarn.unit, yarn.metric, yarn.us) == ("4", "oz", "g", "oz")
    assert find_field("yarn", {"yarn": "1 lb 2 oz"}).value == "1 lb 2 oz"


def test_a_keyboard_of_digits_is_shown_only_where_no_minus_is_needed() -> None:
    assert find_field("yarn").mode == "decimal"
    assert find_field("bath").mode == "decimal"  # 5 °C at the least
    assert find_field("ceiling").mode == "text"  # no lower bound
    assert find_field("skeins").mode == "numeric"
    assert find_field("note").mode == "text"


def test_fields_that_do_not_matter_are_hidden() -> None:
    assert find_field("deep").hidden
    assert not find_field("deep", {"vessel": "indigo-vat"}).hidden
    assert find_field("vessel", {"vessel": "Indigo vat"}).value == "indigo-vat"


def test_rows_hold_their_cells_and_columns_their_unit() -> None:
    dyes = find_field("dyes")
    assert [[cell.value for cell in row] for row in dyes.rows] == [
        ["madder", "60", ""],
        ["weld", "40", ""],
    ]
    assert dyes.most == 4
    assert dyes.columns[2].optional
    readings = find_field("readings", {"readings": "4 oz, 113 g"})
    assert readings.columns[0].unit == "oz"
    assert [row[0].value for row in readings.rows] == ["4", "113 g"]


def test_an_amount_has_a_unit_in_each_row() -> None:
    costs = find_field("costs", {"costs": "alum: 3.50 EUR: 500 g: 2 oz; labels: 4: 100: 8"})
    assert [[(cell.value, cell.unit) for cell in row] for row in costs.rows] == [
        [("alum", ""), ("3.50", ""), ("500", "g"), ("2", "oz")],
        [("labels", ""), ("4", ""), ("100", ""), ("8", "")],
    ]


@pytest.mark.parametrize(
    ("name", "typed", "expected"),
    [
        ("yarn", "100 g", ["100 g (3.53 oz)"]),
        ("yarn", "100", ["100 g (3.53 oz)"]),
        ("bath", "104 degF", ["40 °C (104 °F)"]),
        ("vessel", "pot", ["Pot"]),
        ("dyes", "madder: 60 %, Weld: 40 %", ["Madder root: 60 %", "Weld: 40 %"]),
        ("readings", "10 11", ["10 g (0.35 oz), 11 g (0.39 oz)"]),
        ("factor", "1.5", ["1.5"]),
    ],
)
def test_what_is_typed_is_written_for_people(name: str, typed: str, expected: list[str]) -> None:
    written = [text.replace("\u00a0", " ") for text in write_typed(compile_bath(), name, typed)]
    assert written == expected


# ---- answers ----


def test_answers_are_parted_into_large_and_small_and_hidden_where_there_are_none() -> None:
    large, small = view_answers(compile_bath(), compile_bath().calculate())
    assert [view.name for view in large] == ["dye"]
    assert (large[0].metric, large[0].us) == ("16.7\u00a0g", "0.59\u00a0oz")
    hidden = {view.name for view in small if view.hidden}
    assert hidden == {"room_left", "cost"}
    texts = {view.name: view.metric for view in small}
    assert texts["strong"] == "madder"
    assert texts["verdict"] == "Fine for 4 in the Pot; strong: madder."


def test_a_refusal_leaves_no_number_standing() -> None:
    large, small = view_answers(compile_bath(), compile_bath().calculate({"yarn": "0 g"}))
    assert {view.metric for view in (*large, *small)} == {""}


def test_warnings_stand_with_their_signal_words_the_gravest_first() -> None:
    result = compile_bath().calculate({"depth": "5 %"})
    views = view_warnings(load_words("en"), compile_bath(), result)
    assert [(view.id, view.word, view.hidden) for view in views] == [
        ("weak", "Warning", True),
        ("deep-shade", "Note", False),
    ]
    assert views[1].message.replace("\u00a0", " ").startswith("5 % is a deep shade; 20 g")


# ---- in a lesson ----


def test_a_lesson_holds_its_calculators_with_its_own_values() -> None:
    page = make_pages()["lessons/pressing/"]
    html = part(page, "calculators")
    shown = words(html)
    # 250 g at 24 % hold 60 g of starch; at 10 % that makes 600 g, so 350 g of water.
    assert "Water to stir in 350.0 g" in shown
    assert 'value="250"' in html
    assert "Our paste is <strong>stiff</strong>." in html
    ids = re.findall(r'\bid="([^"]+)"', page.html)
    assert len(ids) == len(set(ids))
    assert (
        'href="../../calculators/thin-paste/index.html#paste_mass=250%20g&amp;strength=24%20%25"'
        in html
    )


def test_a_page_calls_each_script_once_in_order() -> None:
    html = part(make_pages()["lessons/pressing/"], "calculators")
    assert re.findall(r'<script src="([^"]+)" defer>', html) == [
        "../../assets/benchlore/twin-calculators.js",
        "../../assets/benchlore/calculator.js",
        "../../assets/benchlore/calculators/thin-paste.js",
        "../../assets/benchlore/calculators/dye-bath.js",
    ]


def test_a_course_without_calculators_has_neither_pages_nor_scripts() -> None:
    library, _ = make_library(overlay("# without: kb/calculators/thin-paste.yml\n"))
    site = make_site(Course(library))
    assert not [page.address for page in site.pages if page.address.startswith("calculators/")]
    assert "Calculate" not in [item.title for item in site.nav]
    assert not [
        asset.file for asset in site.assets if "calculator" in asset.file and "js" in asset.file
    ]


def test_the_site_has_the_pages_scripts_and_the_tab() -> None:
    site = make_site(Course(make_course()))
    assert "Calculate" in [item.title for item in site.nav]
    files = {asset.file for asset in site.assets}
    assert {
        "assets/benchlore/calculator.css",
        "assets/benchlore/calculator.js",
        "assets/benchlore/calculators/dye-bath.js",
        "assets/benchlore/calculators/thin-paste.js",
    } <= files
    assert {"calculators/", "calculators/dye-bath/", "calculators/thin-paste/"} <= {
        page.address for page in site.pages
    }


# ---- small texts ----


def test_symbols_are_set_lower_and_nothing_becomes_markup() -> None:
    assert write_symbols("T_room < b · T_2") == "T<sub>room</sub> &lt; b · T<sub>2</sub>"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2 delta_degC", "2 °C (3.6 °F)"),
        ("113 g", "113 g (3.99 oz)"),
        ("17.625", "17.625"),
        ("8.314462618 J/(mol*K)", "8.314462618 J/(mol·K)"),
        ("56.1056 g/mol", "56.1056 g/mol"),
    ],
)
def test_a_fixed_number_is_written_as_its_author_wrote_it(text: str, expected: str) -> None:
    assert write_constant(text).replace("\u00a0", " ") == expected


def test_figures_of_sources_keep_their_digits() -> None:
    bath = compile_bath()
    assert write_expected(load_words("en"), bath, "dye", "20 g") == "20\u00a0g"
    assert (
        write_expected(load_words("en"), bath, "dye", "0.16 oz ± 0.0001")
        == "0.16\u00a0oz (within 0.0001)"
    )
    assert write_expected(load_words("en"), bath, "dye", "-5.40 g") == "−5.40\u00a0g"
    assert write_expected(load_words("en"), bath, "strong", "none of them") == "none of them"
    assert write_range("184 to 196 mg/g") == "184–196\u00a0mg/g"
    assert write_range("4.5 g/hg") == "4.5\u00a0g per 100 g"


def test_numbers_it_uses_stand_with_their_source() -> None:
    maker = share(make_course())
    entry = maker.course.compile("dye-bath").entry
    label, value, source, note = view_constants(maker, entry)[0]
    assert (label, value, note) == ("Density of water", "1\u00a0g/mL", "")
    assert source.title == "The dyer's book"


def test_values_travel_behind_a_link() -> None:
    assert (
        write_hash({"a": "72 degF", "rows": "x: 5 %; y: 1"})
        == "a=72%20degF&rows=x:%205%20%25;%20y:%201"
    )


# ---- the plot, in both languages ----


def draw_both(engine: Engine, points: Any, shape: Any, width: float, height: float) -> str:
    here = plot.draw_plot(shape, points, width, height, "p")
    there = engine.call("benchlore.twin.draw_plot", shape, points, width, height, "p")
    assert here == there
    return here


@pytest.mark.parametrize("raw", [{}, {"depth": "7.9 %", "factor": "0.2"}, {"yarn": "2 g"}])
def test_the_plot_is_drawn_alike_in_python_and_in_the_browser(
    engine: Engine, raw: dict[str, str]
) -> None:
    bath = compile_bath()
    shape = describe_shape(load_words("en"), bath, SCALE)
    points = bath.sample_plot(raw)
    svg = draw_both(engine, points, shape, *WIDE)
    assert svg.startswith('<svg class="bl-plot-drawing" viewBox="0 0 680.0 360.0" role="img"')
    assert "<title>Dye over depth</title>" in svg
    for label in ("Dye", "Beyond", "Usual", "Here"):
        assert f">{label}</text>" in svg
    assert svg.count('class="bl-plot-curve"') == 2
    assert svg.count('class="bl-plot-band"') == 1
    assert svg.count('class="bl-plot-mark"') == 1


def test_axes_name_their_units_and_have_a_us_side() -> None:
    shape = describe_shape(load_words("en"), compile_bath(), SCALE)
    assert shape["x"] == ["Depth", "%", "", 1.0, 0.0]
    assert shape["y"][:3] == ["Dye", "g", "oz"]
    svg = plot.draw_plot(shape, compile_bath().sample_plot(), *WIDE, "p")
    assert ">Dye (g)</text>" in svg
    assert ">Depth (%)</text>" in svg
    assert 'class="bl-plot-name bl-us"' in svg


def test_temperature_has_the_colours_of_the_course(engine: Engine) -> None:
    shape = {
        "title": "Cool & calm",
        "x": ["Time", "min", "", 1.0, 0.0],
        "y": ["Temperature", "°C", "°F", 1.8, 32.0],
        "curves": [["Pot <1>", False], ["Room", True]],
        "bands": [],
        "marks": [],
        "heat": [20.0, 90.0],
        "says": {"against": " against ", "from": ": from ", "at": " at ", "to": " to "},
    }
    points = {
        "x": [0.0, 30.0],
        "spread": [],
        "curves": [[[0.0, 70.0], [15.0, 50.0], [30.0, 40.0]], [[0.0, 21.0], [30.0, 21.0]]],
        "bands": [],
        "marks": [],
    }
    svg = draw_both(engine, points, shape, 340.0, 300.0)
    assert '<linearGradient id="p-heat"' in svg
    assert 'stroke="url(#p-heat)"' in svg
    assert "Pot &lt;1&gt;" in svg
    assert "<title>Cool &amp; calm</title>" in svg
    said = plot.describe_plot(shape, points).replace("\u00a0", " ")
    assert said == (
        "Temperature (°C) against Time (min). Pot <1>: from 70 °C at 0 min to 40 °C at 30 min."
        " Room: from 21 °C at 0 min to 21 °C at 30 min."
    )


@pytest.mark.parametrize(
    ("low", "high", "most", "values", "places"),
    [
        (0.0, 30.1, 8.0, [0, 5, 10, 15, 20, 25, 30], 0),
        (47.0, 72.0, 6.0, [50, 55, 60, 65, 70], 0),
        (0.0, 1.0, 5.0, [0, 0.2, 0.4, 0.6, 0.8, 1.0], 1),
        (-3.0, 3.0, 6.0, [-3, -2, -1, 0, 1, 2, 3], 0),
        (0.0, 0.03, 5.0, [0, 0.01, 0.02, 0.03], 2),
        (1000.0, 5000.0, 5.0, [1000, 2000, 3000, 4000, 5000], 0),
    ],
)
def test_steps_of_an_axis_are_round(
    low: float, high: float, most: float, values: list[float], places: int
) -> None:
    ticks = plot.list_ticks(low, high, most)
    assert ticks["values"] == pytest.approx(values)
    assert ticks["places"] == places


def test_a_curve_that_stands_still_and_one_without_values_can_be_drawn(engine: Engine) -> None:
    shape = {
        "title": "t",
        "x": ["X", "", "", 1.0, 0.0],
        "y": ["Y", "", "", 1.0, 0.0],
        "curves": [["Flat", False], ["None", False]],
        "bands": [],
        "marks": [],
        "heat": [],
        "says": {"against": " against ", "from": ": from ", "at": " at ", "to": " to "},
    }
    points = {
        "x": [5.0, 5.0],
        "spread": [],
        "curves": [[[5.0, 0.0], [5.0, 0.0]], []],
        "bands": [],
        "marks": [],
    }
    svg = draw_both(engine, points, shape, 340.0, 300.0)
    assert "NaN" not in svg
    assert ">Flat</text>" in svg
    assert ">None</text>" not in svg


def test_no_answer_draws_nothing(engine: Engine) -> None:
    shape = describe_shape(load_words("en"), compile_bath(), SCALE)
    assert draw_both(engine, compile_bath().sample_plot({"yarn": "0 g"}), shape, *WIDE) == ""


def test_labels_keep_inside_and_apart() -> None:
    shape = describe_shape(load_words("en"), compile_bath(), SCALE)
    for width, height in (WIDE, (340.0, 300.0)):
        svg = plot.draw_plot(shape, compile_bath().sample_plot(), width, height, "p")
        boxes = []
        pattern = (
            r'class="bl-plot-label[^"]*" x="([\d.]+)" y="([\d.]+)" text-anchor="(\w+)">([^<]+)'
        )
        for x, y, anchor, text in re.findall(pattern, svg):
            length = len(text) * plot.LETTER
            start = float(x) - {"start": 0, "middle": length / 2, "end": length}[anchor]
            boxes.append([start, float(y) - 12, start + length, float(y) + 4])
            assert start >= 0
            assert start + length <= width
        assert len(boxes) == 4
        for index, one in enumerate(boxes):
            assert not any(plot.overlap(one, other) for other in boxes[index + 1 :])


# ---- scripts ----


@pytest.mark.parametrize(
    ("typed", "options"),
    [("4 oz", ["g", "oz"]), ("4", ["g"]), ("1 lb 2 oz", ["g", "lb"]), ("60 °F", ["degC", "degF"])],
)
def test_typed_texts_are_parted_alike_in_both_languages(
    engine: Engine, typed: str, options: list[str]
) -> None:
    here = list(runtime.part_typed(compile_bath().description, typed, options))
    assert engine.call("benchlore.partTyped", "dye-bath", typed, options) == here


@pytest.mark.parametrize(
    ("typed", "unit", "expected"),
    [
        ("60 degC", "degF", "140"),
        ("113 g", "oz", "3.986"),
        ("20 delta_degC", "delta_degF", "36"),
        ("113 g", "mL", ""),
        ("many", "g", ""),
        ("12345.678 g", "kg", "12.346"),
    ],
)
def test_numbers_are_converted_alike_in_both_languages(
    engine: Engine, typed: str, unit: str, expected: str
) -> None:
    assert runtime.convert_typed(compile_bath().description, typed, unit) == expected
    assert engine.call("benchlore.convertTyped", "dye-bath", typed, unit) == expected


def test_what_is_shown_is_decided_alike_in_both_languages(engine: Engine) -> None:
    bath = compile_bath()
    for raw in ({}, {"vessel": "indigo-vat"}, {"yarn": "nonsense"}):
        here = runtime.list_shown(bath.description, bath.formulas, raw)
        assert engine.call("benchlore.listShown", "dye-bath", raw) == here


def test_the_scripts_of_the_page_run_and_keep_to_one_namespace() -> None:
    scripts = write_scripts([compile_bath()])
    assert list(scripts) == [name_script("dye-bath")]
    twin = write_twin(NUMBERS, CALCULATORS)
    wiring = join_script(CALCULATOR)
    # The wiring waits for the document, which never comes here.
    before = "var window = {benchlore: {dom: {}}}; var document = {addEventListener() {}};"
    with start_engine(before, twin, wiring, *scripts.values()) as page:
        answer = page.call("benchlore.calculate", "dye-bath", {"yarn": "200 g"})
        assert answer["outputs"]["dye"]["value"] == pytest.approx(100 / 3)
        shape = describe_shape(load_words("en"), compile_bath(), SCALE)
        points = page.call("benchlore.samplePlot", "dye-bath", {})
        assert page.call("benchlore.twin.draw_plot", shape, points, *WIDE, "p") == plot.draw_plot(
            shape, compile_bath().sample_plot(), *WIDE, "p"
        )


def test_the_data_of_a_plot_stands_safely_in_the_page() -> None:
    html = make_pages()["calculators/dye-bath/"].html
    (data,) = re.findall(r'<script type="application/json">(.*?)</script>', html)
    assert json.loads(data)["shape"]["title"] == "Dye over depth"
    assert "<" not in data
