"""Exercises on the page: what stands without script, and what the script finds."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

from exercise_course import load_course

from builder.course import Course
from builder.exercises import PRACTICE
from builder.pages import Site, make_site
from builder.twin_scripts import MARKING, write_script


@cache
def load_site() -> Site:
    return make_site(Course(load_course()))


def make_page(lesson: str) -> str:
    return load_site().by_address[f"lessons/{lesson}/"].html


def read_data(html: str) -> list[dict[str, Any]]:
    """Give the variants of each exercise on a page."""
    found = re.findall(r"<script type=\"application/json\" data-bl-variants>(.*?)</script>", html)
    return [json.loads(text) for text in found]


def test_without_script_the_first_variant_stands_with_its_solution_folded() -> None:
    html = make_page("one-colour")
    book = Course(load_course()).exercises
    lesson = load_course().lessons["one-colour"]
    for exercise in lesson.exercises:
        variant = book.draw(lesson, exercise, PRACTICE, 0)
        start = html.index(f'data-bl-exercise="{exercise.id}"')
        part = html[start : html.index("</script>", start)]
        assert exercise.title in part
        assert "<details" in part
        assert "Worked solution" in part
        assert variant.answer_text in part
        for option in variant.body.options:
            assert f"<li>{option}</li>" in part


def test_the_variants_on_the_page_are_those_of_the_practice_seed() -> None:
    book = Course(load_course()).exercises
    for lesson in load_course().lessons.values():
        data = read_data(make_page(lesson.id))
        assert len(data) == len(lesson.exercises)
        for exercise, told in zip(lesson.exercises, data, strict=True):
            total = book.space(lesson, exercise).total
            assert told["answered"] == exercise.answered
            assert len(told["variants"]) == min(12, total)
            for number, variant in enumerate(told["variants"]):
                body = book.draw(lesson, exercise, PRACTICE, number).body
                if body.answer is not None:
                    assert variant["item"]["answer"] == body.answer.value
                    assert variant["item"]["slips"] == [
                        [slip.value, slip.tolerance] for slip in body.answer.slips
                    ]
                    assert len(variant["slips"]) == len(body.answer.slips)
                else:
                    assert variant["right"] == list(body.right)
                    assert len(variant["options"]) == len(body.options)


def test_drawings_stand_once_and_are_named_by_what_is_seen() -> None:
    html = make_page("bench")
    pictures = re.findall(r'<template data-bl-picture="(\d+)">', html)
    assert pictures == [str(number) for number in range(6)]
    assert 'aria-label="A thermometer lying on its side.' in html
    used = {variant["drawing"] for variant in read_data(html)[2]["variants"]}
    assert used == set(range(6))


def test_what_is_done_at_the_bench_carries_its_cautions() -> None:
    html = make_page("bench")
    start = html.index('data-bl-exercise="read-bath"')
    assert "Steam" in html[start : html.index("data-bl-variants", start)]


def test_a_lesson_without_exercises_has_no_section() -> None:
    html = make_page("ikat")
    assert "data-bl-practice" not in html
    assert "exercises.js" not in html


def test_scripts_come_from_the_site_itself() -> None:
    html = make_page("bench")
    assert '<script src="../../assets/benchlore/twin-marking.js" defer></script>' in html
    assets = {asset.file for asset in load_site().assets}
    assert {f"assets/benchlore/{name}" for name in ("twin-marking.js", "exercises.js")} <= assets
    assert {"assets/benchlore/exercises.css"} <= assets


def test_data_cannot_close_its_script() -> None:
    for data in re.findall(r"data-bl-variants>(.*?)</script>", make_page("bench")):
        assert "<" not in data


def test_the_marking_script_is_small_and_plain() -> None:
    script = write_script(MARKING)
    assert len(script) < 40_000
    assert "import " not in script
    assert "export " not in script
