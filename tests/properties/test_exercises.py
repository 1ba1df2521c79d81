"""Whatever the seed: no variant is refused, warned about, ugly, or mistaken for a slip."""

from __future__ import annotations

from math import comb, factorial

import pytest
from exercise_course import load_course
from exercise_proof import prove_seeds
from hypothesis import given
from hypothesis import strategies as st

from builder.course import Course
from builder.exercises import choose_index
from builder.exercises.combinatorics import pick_each, pick_order, pick_subset
from builder.exercises.filling import fill, find_unknown
from builder.papers.prose_nodes import set_text, write_plain
from builder.twin.marking import classify_answer
from tests.thoroughness import choose


def test_any_seed_of_the_small_course() -> None:
    assert prove_seeds(Course(load_course()).exercises, choose(1_000, 10_000)) == []


@pytest.mark.parametrize("bad", ["refused", "ugly", "slip"])
def test_the_proof_can_fail(bad: str) -> None:
    """A course with one bad variant among many is found out."""
    from exercise_course import SECOND, make_course

    changes = {
        "refused": ("[50 g, 80 g, 100 g, 150 g, 200 g]", "[50 g, 80 g, 100 g, 150 g, 4.5 kg]"),
        "ugly": ("[50 g, 80 g, 100 g, 150 g, 200 g]", "[50 g, 80 g, 100 g, 150 g, 0.3 g]"),
        "slip": ("stock_volume / (1 + 10 * depth)", "stock_volume / (1 + depth)"),
    }
    text = SECOND.replace(*changes[bad])
    assert text != SECOND
    course = Course(make_course(lessons__wool__one_colour=text))
    found = prove_seeds(course.exercises, 200)
    assert found
    assert {line.split(":")[0] for line in found} == {"one-colour/how-much-stock"}


@given(st.text(max_size=20), st.integers(1, 10**9), st.integers(0, 10**6))
def test_neighbours_always_differ(seed: str, total: int, student: int) -> None:
    one = choose_index(seed, "lesson", "exercise", total, student)
    two = choose_index(seed, "lesson", "exercise", total, student + 1)
    assert 0 <= one < total
    assert one != two or total == 1


@given(st.data())
def test_numberings_stay_inside_and_never_repeat(data: st.DataObject) -> None:
    sizes = data.draw(st.lists(st.integers(1, 6), min_size=1, max_size=4))
    total = 1
    for size in sizes:
        total *= size
    indexes = (
        data.draw(st.lists(st.integers(0, total - 1), min_size=2, max_size=2, unique=True))
        if (total > 1)
        else [0]
    )
    picked = {pick_each(index, sizes) for index in indexes}
    assert len(picked) == len(indexes)
    assert all(
        0 <= place < size for each in picked for place, size in zip(each, sizes, strict=True)
    )
    size = data.draw(st.integers(1, 9))
    chosen = data.draw(st.integers(0, size))
    subset = pick_subset(data.draw(st.integers(0, comb(size, chosen) - 1)), size, chosen)
    assert len(set(subset)) == chosen
    assert list(subset) == sorted(subset)
    order = pick_order(data.draw(st.integers(0, factorial(size) - 1)), size)
    assert sorted(order) == list(range(size))


finite = st.floats(-1e9, 1e9)


@given(
    finite, finite, st.floats(0, 1e6), st.lists(st.tuples(finite, st.floats(0, 1e6)), max_size=4)
)
def test_marking_gives_one_verdict(
    value: float, answer: float, tolerance: float, slips: list[tuple[float, float]]
) -> None:
    verdict, place = classify_answer(value, answer, tolerance, slips)
    if verdict == "right":
        assert abs(value - answer) <= tolerance * (1 + 1e-8)
    elif verdict == "slip":
        assert abs(value - slips[place][0]) <= slips[place][1] * (1 + 1e-8)
        assert abs(value - answer) > tolerance
    else:
        assert place == -1
        assert all(abs(value - slip) > window for slip, window in slips)


@given(st.text(max_size=80))
def test_any_text_can_be_set(text: str) -> None:
    set_text(text)
    write_plain(text)
    list(find_unknown(text, set()))


@given(st.text(max_size=30))
def test_a_filled_value_comes_out_as_it_went_in(value: str) -> None:
    plain = " ".join(value.split())
    shown = write_plain(fill("It is {value}, yes.", {"value": plain}))
    assert " ".join(shown.split()) == f"It is {plain}, yes."
