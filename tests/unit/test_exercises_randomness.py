"""The documented generator: the same numbers for ever, fair, and never the same for neighbours."""

from __future__ import annotations

from itertools import pairwise
from math import comb, factorial

import pytest

from builder.exercises.combinatorics import pick_each, pick_order, pick_subset
from builder.exercises.randomness import (
    ALPHABET,
    SplitMix64,
    choose_index,
    hash_text,
    make_code,
    start_generator,
)


def test_it_gives_the_published_numbers() -> None:
    """The reference sequence of SplitMix64 for seed 1234567, as given with the Java original."""
    generator = SplitMix64(1234567)
    assert [generator.draw() for _ in range(5)] == [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]


def test_a_seed_starts_with_sha_256() -> None:
    """FIPS 180-4: SHA-256 of "abc" begins ba7816bf 8f01cfea."""
    assert hash_text("abc") == 0xBA7816BF8F01CFEA


def test_sheets_printed_today_can_be_printed_again_in_ten_years() -> None:
    """Golden numbers: a change here makes every printed sheet useless, so there is none."""
    generator = start_generator("1", "a", "b")
    assert [generator.draw_below(100) for _ in range(8)] == [28, 41, 95, 12, 71, 59, 20, 55]
    indexes = [choose_index("1", "bench", "what-first", 192, student) for student in range(8)]
    assert indexes == [146, 117, 88, 59, 30, 1, 164, 135]
    assert make_code("1", "bench", "what-first", "0") == "LDXQR"


def test_draws_are_fair() -> None:
    generator = start_generator("fair")
    counts = [0] * 6
    for _ in range(60_000):
        counts[generator.draw_below(6)] += 1
    assert max(abs(count - 10_000) for count in counts) < 400  # over four standard deviations


@pytest.mark.parametrize("limit", [0, -1, 2**64 + 1])
def test_an_impossible_limit_is_refused(limit: int) -> None:
    with pytest.raises(ValueError, match="cannot draw below"):
        SplitMix64(1).draw_below(limit)


@pytest.mark.parametrize("total", [1, 2, 3, 4, 12, 36, 191, 400, 2_003])
def test_every_variant_comes_once_before_any_comes_twice(total: int) -> None:
    for seed in ("1", "2", "practice"):
        seen = [choose_index(seed, "lesson", "exercise", total, k) for k in range(2 * total)]
        assert sorted(seen[:total]) == list(range(total))
        assert seen[total:] == seen[:total]
        if total > 1:
            assert all(one != two for one, two in pairwise(seen))


def test_another_seed_lesson_or_exercise_gives_other_variants() -> None:
    def draw(seed: str, lesson: str, exercise: str) -> list[int]:
        return [choose_index(seed, lesson, exercise, 400, k) for k in range(6)]

    first = draw("1", "a", "b")
    assert draw("1", "a", "b") == first
    assert first not in (draw("2", "a", "b"), draw("1", "c", "b"), draw("1", "a", "c"))


def test_codes_are_short_and_have_no_letters_easily_confused() -> None:
    codes = {make_code("1", "lesson", str(number)) for number in range(5000)}
    assert all(len(code) == 5 and set(code) <= set(ALPHABET) for code in codes)
    assert not set("0O1I2Z5S8") & set(ALPHABET)
    assert len(codes) > 4990


def test_numbering_gives_each_combination_once() -> None:
    sizes = (2, 3, 4)
    assert len({pick_each(index, sizes) for index in range(24)}) == 24
    assert pick_each(5, [2, 3]) == (1, 2)
    subsets = [pick_subset(index, 6, 3) for index in range(comb(6, 3))]
    assert subsets == sorted(set(subsets))
    assert subsets[0] == (0, 1, 2)
    assert subsets[-1] == (3, 4, 5)
    orders = [pick_order(index, 4) for index in range(factorial(4))]
    assert orders == sorted(set(orders))
    assert orders[0] == (0, 1, 2, 3)
