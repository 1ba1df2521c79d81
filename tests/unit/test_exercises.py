"""Variants of every kind: what is asked, what is right, and what usual slips lead to."""

from __future__ import annotations

from typing import Any

import pytest
from exercise_course import load_course, make_course
from helpers import make_library

from builder.course import Course
from builder.exercises import ExerciseBook, ExerciseError, Variant
from builder.exercises.filling import fill, find_unknown, resolve_unit, write_typed
from builder.model import Lesson
from builder.model.exercises import Exercise
from builder.twin.marking import mark_number

PLAIN: dict[str, Any] = {"units": {}}


@pytest.fixture(scope="module")
def book() -> ExerciseBook:
    return Course(load_course()).exercises


def find(book: ExerciseBook, name: str) -> tuple[Lesson, Exercise]:
    """Find an exercise by its id."""
    return next((lesson, each) for lesson, each in book.walk() if each.id == name)


def make_all(book: ExerciseBook, name: str, most: int = 500) -> list[Variant]:
    """Make the variants of an exercise, all or so many."""
    lesson, exercise = find(book, name)
    total = book.space(lesson, exercise).total
    return [book.make(lesson, exercise, "1", index) for index in range(min(total, most))]


def test_calculate_answers_come_from_the_calculator(book: ExerciseBook) -> None:
    """By hand: yarn times depth, over 0.01 g in each mL of stock."""
    variants = make_all(book, "how-much-stock")
    assert len(variants) == 15
    for variant in variants:
        given = dict(variant.body.given)
        yarn_g = float(given["yarn_mass"].split("\u00a0")[0])
        depth = float(given["depth"].split("\u00a0")[0]) / 100
        answer = variant.body.answer
        assert answer is not None
        assert answer.magnitude == pytest.approx(yarn_g * depth / 0.01, rel=1e-12)
        assert answer.text == f"{round(yarn_g * depth / 0.01)}\u00a0mL"
        assert answer.tolerance * 1e6 == pytest.approx(0.02 * answer.magnitude)
        assert variant.answer_text == answer.text
        assert given["yarn_mass"] in variant.body.ask
        assert answer.text in variant.body.work


def test_slips_are_worked_out_and_hinted(book: ExerciseBook) -> None:
    for variant in make_all(book, "how-much-stock"):
        answer = variant.body.answer
        assert answer is not None
        grams, whole = answer.slips
        dye_g = answer.magnitude * 0.01
        assert grams.value == pytest.approx(dye_g * 1e-6)
        assert f"{dye_g:.2f}\u00a0g is the dry dye." == grams.hint
        item = {
            "field": answer.field,
            "answer": answer.value,
            "tolerance": answer.tolerance,
            "slips": [[slip.value, slip.tolerance] for slip in answer.slips],
        }
        assert mark_number(PLAIN, item, f"{answer.magnitude}") == ["right", -1]
        assert mark_number(PLAIN, item, f"{whole.value * 1e6}") == ["slip", 1]


def test_a_choice_shows_one_right_option_and_why(book: ExerciseBook) -> None:
    variants = make_all(book, "what-first")
    assert len(variants) == 2 * 4 * 24  # right ones, subsets of three wrong ones of four, orders
    right = {"Open a window.", "Find the tap."}
    for variant in variants:
        body = variant.body
        assert len(body.options) == len(set(body.options)) == 4
        assert [option in right for option in body.options].count(True) == 1
        assert body.options[body.right[0]] in right
        assert body.work == body.notes[body.right[0]]
        assert variant.answer_text == "ABCD"[body.right[0]]
    assert len({variant.body.options for variant in variants}) == len(variants)


def test_an_order_is_never_given_as_it_should_be(book: ExerciseBook) -> None:
    steps = ("Open the window", "Fill the kettle", "Heat it", "Read the thermometer")
    steps = (*steps, "Lower the yarn in")
    variants = make_all(book, "heat-up")
    assert len(variants) == 5 * 23
    for variant in variants:
        body = variant.body
        sorted_steps = [body.options[place] for place in body.right]
        assert sorted_steps == sorted(sorted_steps, key=steps.index)
        assert list(body.options) != sorted_steps
    assert len({variant.body.options for variant in variants}) == len(variants)


def test_a_reading_is_drawn_and_marked_within_half_a_division(book: ExerciseBook) -> None:
    variants = make_all(book, "read-bath")
    assert {variant.body.given for variant in variants} == {
        (("reading", f"{value}\u00a0°C"),) for value in (42, 57, 61, 68, 74, 85)
    }
    for variant in variants:
        answer, drawing = variant.body.answer, variant.body.drawing
        assert answer is not None
        assert drawing is not None
        assert answer.tolerance == pytest.approx(0.5)
        assert answer.text not in drawing.svg
        assert "<title>" not in drawing.svg
        assert variant.cautions == ("steam",)
    assert len({variant.body.drawing for variant in variants}) == 6


def test_a_description_of_an_instrument_is_enough_to_read_it(book: ExerciseBook) -> None:
    """Readers who do not see the drawing get the same task: divisions past a number."""
    variant = make_all(book, "read-bath")[1]
    assert variant.body.drawing is not None
    assert variant.body.drawing.description == (
        "A thermometer lying on its side. Its scale runs from 20 to 100 °C in divisions of 1. "
        "The end stands 7 divisions past the number 50."
    )
    assert variant.answer_text == "57\u00a0°C"


def test_a_plot_is_read_where_the_curve_stands(book: ExerciseBook) -> None:
    """By hand: 2 % of the yarn."""
    for variant in make_all(book, "read-plot"):
        yarn_g = float(dict(variant.body.given)["place"].split("\u00a0")[0])
        answer = variant.body.answer
        assert answer is not None
        assert answer.magnitude == pytest.approx(yarn_g * 0.02, rel=1e-9)
        assert answer.tolerance == pytest.approx(0.0001)  # one division, 0.1 g


def test_a_fault_is_what_the_diagnosis_says(book: ExerciseBook) -> None:
    variants = make_all(book, "what-is-it")
    names = {"felted": "Felted", "patchy": "Patchy", "pale": "Pale"}
    assert len(variants) == 3 * 6
    for variant in variants:
        body = variant.body
        assert body.options[body.right[0]] == names[dict(body.given)["defect"]]
        assert sorted(body.options) == ["Felted", "Pale", "Patchy"]
        assert body.drawing is not None
        assert "fault" not in body.drawing.svg  # the drawing's title would name it
        assert body.drawing.description == "A pot with a lid."


def test_a_history_in_doubt_is_not_asked_about() -> None:
    """Two defects with the same sign and no question between them cannot be told apart."""
    library = make_course(
        kb__defects__pale=(
            "name: Pale\nsummary: s\npicture: pot\ntracks: [wool]\nlooks: l\nwhy: w\n"
            "symptoms: [{symptom: thick, often: usually}]\n"
            "causes: [{cause: shock, often: often}]\n"
        )
    )
    book = Course(library).exercises
    asked = {dict(variant.body.given)["defect"] for variant in make_all(book, "what-is-it")}
    assert asked == {"patchy"}


def test_where_nothing_can_be_told_apart_there_is_no_exercise() -> None:
    library = make_course()
    alike = {
        name: entry.model_copy(update={"symptoms": library.defects["pale"].symptoms, "causes": ()})
        for name, entry in library.defects.items()
    }
    entries = {**library.entries, "defect": alike}
    book = Course(type(library)(entries, library.sources, drawings=library.drawings)).exercises
    lesson, exercise = find(book, "what-is-it")
    with pytest.raises(ExerciseError, match="no history tells these defects apart"):
        book.space(lesson, exercise)


def test_exactly_one_lesson_can_come_next(book: ExerciseBook) -> None:
    order = ["bench", "one-colour", "two-colours", "ikat"]
    titles = ["Bench and pots", "One colour", "Two colours", "Ikat"]
    variants = make_all(book, "what-next")
    for variant in variants:
        body = variant.body
        taken = int(dict(body.given)["taken"])
        available = [titles[taken]]  # the course is a chain: the next one, and no other
        assert [option for option in body.options if option in available] == available
        assert body.options[body.right[0]] == available[0]
        assert all(titles.index(option) >= taken for option in body.options)
        for option, note in zip(body.options, body.notes, strict=True):
            place = titles.index(option)
            wanted = "It first needs" if place > taken else "It needs"
            assert note.startswith(wanted), (option, order[place])


def test_a_student_gets_the_same_variant_each_time_and_a_neighbour_another(
    book: ExerciseBook,
) -> None:
    for lesson, exercise in book.walk():
        first = book.draw(lesson, exercise, "7", 0)
        assert book.draw(lesson, exercise, "7", 0) == first
        assert Course(load_course()).exercises.draw(lesson, exercise, "7", 0) == first
        assert book.draw(lesson, exercise, "7", 1).body != first.body


def test_check_codes_tell_seeds_apart(book: ExerciseBook) -> None:
    lesson, exercise = find(book, "what-first")
    assert book.make(lesson, exercise, "1", 5).code == book.make(lesson, exercise, "1", 5).code
    assert book.make(lesson, exercise, "1", 5).code != book.make(lesson, exercise, "2", 5).code


def test_a_broken_calculator_makes_the_exercise_unusable_and_nothing_else() -> None:
    library = make_course()
    entries = {**library.entries, "calculator": {}}
    book = Course(type(library)(entries, library.sources, drawings=library.drawings)).exercises
    lesson, exercise = find(book, "how-much-stock")
    with pytest.raises(ExerciseError, match="cannot be used"):
        book.space(lesson, exercise)
    assert "how-much-stock" not in {each.id for each in book.list_usable(lesson)}
    assert "what-is-it" in {each.id for each in book.list_usable(lesson)}


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("113 g", "113 g"),
        ("1.50 oz", "1.50 oz"),
        ("72 degF", "72 °F"),
        ("2 %", "2 %"),
        ("1/2 oz", "1/2 oz"),
        ("12", "12"),
        ("0.9 g/mL", "0.9 g/mL"),
        ("1 fl oz", "1 fl oz"),
    ],
)
def test_what_is_given_keeps_the_figures_the_author_wrote(typed: str, written: str) -> None:
    assert write_typed(PLAIN, typed).replace("\u00a0", " ") == written


def test_a_value_cannot_act_as_markdown() -> None:
    assert fill("It is {name}.", {"name": "*bold* [x](y) <b>"}) == (
        "It is \\*bold\\* \\[x\\](y) \\<b\\>."
    )
    assert fill("At {60 degC}, {name}.", {"name": "yes"}) == "At {60 degC}, yes."


def test_braces_hold_a_known_name_or_a_quantity() -> None:
    text = "{known} {60 degC} {57 to 63 degC} {unknown} {60 dogs}"
    assert list(find_unknown(text, {"known": ""})) == ["unknown", "60 dogs"]


def test_units_are_found_as_people_write_them() -> None:
    for written, key in (("mL", "mL"), ("degC", "degC"), ("%", "percent"), ("1", "ratio")):
        found = resolve_unit(PLAIN, written)
        assert found is not None
        assert found[0] == key
    assert resolve_unit({"units": {"money": ["money", 1.0, 0.0, "EUR"]}}, "money") == (
        "money",
        ["money", 1.0, 0.0, "EUR"],
    )
    assert resolve_unit(PLAIN, "smoots") is None


def test_a_lesson_with_no_exercise_has_none() -> None:
    library, _ = make_library("# file: lessons/course.yml\n{}\n")
    assert list(Course(library).exercises.walk()) == []
