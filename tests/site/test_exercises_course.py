"""The shipped exercises: enough of them, right by formulas of our own, and never in the site."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from exercise_course import load_course
from exercise_proof import prove_seeds

from builder.course import Course
from builder.exercises.calculate import CalculateSpace
from builder.library import Library, load_library
from builder.model import Calculator, Level
from builder.model.exercises import CalculateExercise
from builder.papers import (
    Students,
    collect_checkpoint,
    collect_tasks,
    count_students,
    draw_sheets,
    make_worksheets,
)
from builder.units import UnitError, parse_quantity
from tests.pdf import read_pages
from tests.shipped import ROOT
from tests.thoroughness import choose

pytestmark = pytest.mark.site

SEED = "471108"
NAMES = ("Zephyrine Quillfeather", "Ottoline Brambleworth-Yeo")


@cache
def load_shipped() -> Library:
    return load_library(ROOT)[0]


def test_every_lesson_has_three_exercises_of_two_kinds() -> None:
    for lesson in load_shipped().lessons.values():
        kinds = {exercise.kind for exercise in lesson.exercises}
        assert len(lesson.exercises) >= 3, lesson.id
        assert len(kinds) >= 2, lesson.id


def test_every_kind_and_every_skill_is_practised() -> None:
    lessons = load_shipped().lessons.values()
    kinds = {exercise.kind for lesson in lessons for exercise in lesson.exercises}
    assert kinds == {"calculate", "choose", "order", "read", "fault", "plan"}
    taught = {outcome.skill for lesson in lessons for outcome in lesson.teaches}
    assert taught <= {exercise.skill for lesson in lessons for exercise in lesson.exercises}


def test_any_seed_of_the_shipped_course() -> None:
    assert prove_seeds(Course(load_shipped()).exercises, choose(1_000, 10_000)) == []


# --- answers worked out again, in grams, millilitres, minutes and degrees Celsius ---------------
# The formulas are those of the published check values (unit definitions, Newton's law of cooling,
# Magnus with the constants of Alduchov and Eskridge 1996, mass balances), written anew here.

Values = Mapping[str, Any]


def cool(v: Values, target: float) -> float:
    """Newton's law of cooling, by halving the interval instead of by a logarithm."""
    ratio = (v["second_temperature"] - v["room"]) / (v["first_temperature"] - v["room"])
    low, high = 0.0, 1e5
    for _ in range(200):
        middle = (low + high) / 2
        share = ratio ** (middle / v["time_between"])
        reached = v["room"] + (v["first_temperature"] - v["room"]) * share
        low, high = (middle, high) if reached > target else (low, middle)
    return low


def fill_mould(v: Values) -> float:
    """Volume of one cavity in mL, lengths in cm."""
    match v["shape"]:
        case "box":
            return float(v["length"] * v["width"] * v["height"])
        case "cylinder":
            return float(math.pi * (v["diameter"] / 2) ** 2 * v["height"])
        case "sphere":
            return float(4 / 3 * math.pi * (v["diameter"] / 2) ** 3)
        case "hemisphere":
            return float(2 / 3 * math.pi * (v["diameter"] / 2) ** 3)
        case "water-fill":
            return float(v["water_mass"] / 0.99821)
        case "tapered-cylinder":
            low, high = v["diameter"] / 2, v["top_diameter"] / 2
            return float(math.pi * v["height"] / 3 * (low**2 + low * high + high**2))
        case "tapered-box":
            # Simpson's rule is exact here: the area grows as a square of the height.
            middle = (v["length"] + v["top_length"]) / 2 * (v["width"] + v["top_width"]) / 2
            ends = v["length"] * v["width"] + v["top_length"] * v["top_width"]
            return float(v["height"] / 6 * (ends + 4 * middle))
    raise AssertionError(v["shape"])


def find_dew_point(v: Values) -> float:
    """Magnus, solved by halving: the temperature whose saturation pressure is that of the air."""

    def pressure(celsius: float) -> float:
        return 6.1094 * math.exp(17.625 * celsius / (243.04 + celsius))

    wanted = pressure(v["room"]) * v["humidity"]
    low, high = -60.0, v["room"]
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if pressure(middle) < wanted else (low, middle)
    return low


def mix(v: Values) -> float:
    """Heat balance: what one gives the other takes."""
    one, two = v["mass_a"] * v["heat_a"], v["mass_b"] * v["heat_b"]
    return float(v["temperature_b"] + one / (one + two) * (v["temperature_a"] - v["temperature_b"]))


def price_bar(v: Values) -> float:
    """Cost of one: the used share of each pack, and the hours, over all of them."""
    material = 0.0
    for row in v["items"].split(","):
        _, price, pack, used = (cell.strip() for cell in row.split(":"))
        material += float(price.split()[0]) / make_plain(pack) * make_plain(used)
    wage = float(v["wage"].split()[0]) if isinstance(v["wage"], str) else v["wage"]
    return float((material + v["hours"] / 60 * wage) / v["bars"])


FORMULAS: Mapping[tuple[str, str], Callable[[Values], float]] = {
    ("scent-dose", "scent_mass"): lambda v: v["base_mass"] * v["load"],
    ("scent-dose", "scent_volume"): lambda v: v["base_mass"] * v["load"] / v["scent_density"],
    ("scent-dose", "share_of_product"): lambda v: 1 - 1 / (1 + v["load"]),
    ("scent-dose", "largest_dose"): lambda v: min(
        v["base_mass"] * v["base_limit"],
        v["base_mass"] / (1 / v["certificate_limit"] - 1),
    ),
    ("colour-paste", "colour_mass"): lambda v: v["base_mass"] * v["colour_rate"],
    ("colour-paste", "alcohol_volume"): lambda v: (
        v["base_mass"] * v["colour_rate"] * v["paste_ratio"]
    ),
    ("colour-paste", "water_added"): lambda v: (
        v["base_mass"] * v["colour_rate"] * v["paste_ratio"] * (1 - v["alcohol_strength"])
    ),
    ("alcohol-blend", "strong_volume"): lambda v: (
        v["final_volume"] * (v["target"] - v["weak"]) / (v["strong"] - v["weak"])
    ),
    ("alcohol-blend", "weak_volume"): lambda v: (
        v["final_volume"] * (v["strong"] - v["target"]) / (v["strong"] - v["weak"])
    ),
    ("cooling-window", "time_to_top"): lambda v: cool(v, v["window_top"]),
    ("cooling-window", "time_to_bottom"): lambda v: cool(v, v["window_bottom"]),
    ("cooling-window", "window_length"): lambda v: (
        cool(v, v["window_bottom"]) - cool(v, v["window_top"])
    ),
    ("heat-mix", "temperature"): mix,
    ("oven-power", "power"): lambda v: (
        v["water_mass"] * 4.187 * (v["end"] - v["start"]) / (v["time"] * 60)
    ),
    ("melt-bursts", "time"): lambda v: (
        v["base_mass"] * v["heat"] * (v["end"] - v["start"]) / (v["power"] * v["setting"]) / 60
    ),
    ("melt-bursts", "bursts"): lambda v: math.ceil(
        v["base_mass"]
        * v["heat"]
        * (v["end"] - v["start"])
        / (v["power"] * v["setting"])
        / (v["burst"] * 60)
        - 1e-9
    ),
    ("mould-capacity", "cavity_volume"): fill_mould,
    ("mould-capacity", "bar_mass"): lambda v: fill_mould(v) * v["base_density"],
    ("mould-capacity", "base_mass"): lambda v: (
        fill_mould(v) * v["base_density"] * v["cavities"] / (1 - v["waste"])
    ),
    ("yield-and-waste", "waste"): lambda v: 1 - v["bars"] * v["bar_mass"] / v["poured"],
    ("yield-and-waste", "bars_possible"): lambda v: v["poured"] // v["bar_mass"],
    ("batch-cost", "cost_per_bar"): price_bar,
    ("batch-cost", "price_per_bar"): lambda v: price_bar(v) / (1 - v["margin"]),
    ("dew-point", "dew_point"): find_dew_point,
    ("cure-loss", "cured_mass"): lambda v: (
        v["fresh_mass"] * (1 - v["fresh_water"]) / (1 - v["cured_water"])
    ),
    ("colour-dose", "colour_mass"): lambda v: v["mass"] * v["part"] * v["rate"],
    # Moles of acid are moles of NaOH, 39.9971 g each (molmass); ISO 684 in form.
    ("titration", "free_alkali"): lambda v: v["used"] / 1e3 * v["acid"] * 39.9971 / v["sample"],
    ("cure-loss", "loss"): lambda v: (v["fresh_water"] - v["cured_water"]) / (1 - v["cured_water"]),
}
"""An answer as a plain number: g, mL, cm, min, °C, W, share."""

_PLAIN = {
    "[mass]": 1e3,
    "[length] ** 3": 1e6,
    "[length]": 1e2,
    "[time]": 1 / 60,
    "dimensionless": 1.0,
    "[mass] / [length] ** 3": 1e-3,
    "[length] ** 3 / [mass]": 1e3,
    "[length] ** 2 / [temperature] / [time] ** 2": 1e-3,
    "[length] ** 2 * [mass] / [time] ** 3": 1.0,
}


def make_plain(text: str) -> Any:
    """Read a quantity as a plain number; a choice or a count stays as it is."""
    try:
        quantity = parse_quantity(text)
    except UnitError:
        try:
            return float(text)
        except ValueError:
            return text
    if "EUR" in text:
        return quantity.magnitude if text.endswith("EUR") else text
    if quantity.dimension == "[temperature]":
        return quantity.to("degC")
    for name, factor in _PLAIN.items():
        if set(quantity.dimension.split()) == set(name.split()):
            return quantity.base * factor
    raise AssertionError(f"{text}: {quantity.dimension}")


def read_plain(calculator: Calculator, raw: Mapping[str, str]) -> dict[str, Any]:
    """Give all inputs of a calculator as plain numbers, those left out by their defaults."""
    typed = {
        name: str(entered.default)
        for name, entered in calculator.inputs.items()
        if entered.default is not None
    }
    rows = {name for name, entered in calculator.inputs.items() if entered.kind == "rows"}
    whole = {**typed, **raw}
    return {name: text if name in rows else make_plain(text) for name, text in whole.items()}


def test_every_answer_is_right_by_a_formula_written_here() -> None:
    """Every variant of every calculate exercise; an answer without a formula here fails."""
    library = load_shipped()
    course = Course(library)
    proven = 0
    for lesson, exercise in course.exercises.walk():
        if not isinstance(exercise, CalculateExercise):
            continue
        formula = FORMULAS[exercise.calculator, exercise.answer]
        calculator = library.calculators[exercise.calculator]
        space = course.exercises.space(lesson, exercise)
        assert isinstance(space, CalculateSpace)
        for index in range(space.total):
            raw = space.solve(index).raw
            answer = space.make(index).answer
            assert answer is not None
            found = formula(read_plain(calculator, raw))
            written = f"{answer.magnitude!r} {exercise.unit}"
            told = answer.magnitude if exercise.unit == "1" else make_plain(written)
            assert told == pytest.approx(found, rel=1e-6), (exercise.id, raw)
            proven += 1
    assert proven >= 100


def test_all_sheets_of_the_course_print() -> None:
    """Each lesson and each level, on both papers and in large print.

    A lesson's sheet has 1 to 4 pages, a checkpoint over some twenty skills at most 6; in large
    print three times as many.
    """
    library = load_shipped()
    course = Course(library)
    jobs = [collect_tasks(course, [name]) for name in library.lessons]
    levels = {lesson.level for lesson in library.lessons.values()}
    jobs += [collect_checkpoint(course, level, SEED)[:2] for level in Level if level in levels]
    for tasks, title in jobs:
        drawn = draw_sheets(course, tasks, title, count_students(2), SEED)
        limit = 6 if title.startswith("Checkpoint") else 4
        for paper, large in (("a4", False), ("letter", False), ("a4", True)):
            most = limit * 3 if large else limit
            papers = make_worksheets(course, drawn, paper=paper, large=large)
            assert papers.notes == ()
            pages = read_pages(papers.files["worksheets.pdf"])
            assert 2 <= len(pages) <= 2 * most, title
            text = " ".join(pages)
            assert all(task.exercise.title in text for task in tasks)


def test_keys_and_names_never_enter_the_site(shipped_site: Path) -> None:
    """Everything is built, papers first; then every file of the site is searched."""
    course = Course(load_shipped())
    tasks, title = collect_tasks(course, list(load_shipped().lessons))
    drawn = draw_sheets(course, tasks, title, Students(NAMES), SEED)
    answers = json.loads(make_worksheets(course, drawn).files["answers.json"])
    secrets = {SEED, *NAMES, *(word for name in NAMES for word in name.split())}
    for sheet in answers["sheets"]:
        secrets.add(sheet["code"])
        secrets.update(answer["code"] for answer in sheet["answers"])
    searched = 0
    for path in sorted(shipped_site.rglob("*")):
        if path.is_file():
            searched += 1
            contents = path.read_bytes()
            assert path.name not in ("worksheets.pdf", "answers.pdf", "answers.json", "record.pdf")
            for secret in secrets:
                assert secret.encode() not in contents, (path, secret)
    assert searched > 100


def test_many_students() -> None:
    count = choose(200, 2_000)
    course = Course(load_course())
    tasks, title = collect_tasks(course, ["bench"])
    names = tuple(f"Student Ægir {number}" for number in range(1, count + 1))
    papers = make_worksheets(course, draw_sheets(course, tasks, title, Students(names), "1"))
    pages = read_pages(papers.files["worksheets.pdf"])
    assert len(pages) == count
    for number, text in enumerate(pages, 1):
        assert f"Name: Student Ægir {number} Date" in text
        assert f"Sheet {number}," in text
    assert len(json.loads(papers.files["answers.json"])["sheets"]) == count
