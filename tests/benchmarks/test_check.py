"""How long `check` takes, by the size of the course: the time per entry must not grow."""

from __future__ import annotations

import gc
import statistics
import sys
import time
from pathlib import Path

import pytest

from builder.checks import RULES, check_library
from builder.course import Course
from builder.library import build_library

sys.path.insert(0, str(Path(__file__).parent))
from generate_course import generate_course

pytestmark = pytest.mark.benchmark

SIZES = (100, 1_000, 10_000)
ROUNDS = 5
MOST_GROWTH = 11.0
"""Ten times the entries may take eleven times as long; what is more is no longer linear."""


@pytest.fixture(scope="module")
def courses() -> dict[int, list[dict[str, str]]]:
    """Give courses of each size, as many entries of each; no two alike, as no command meets two."""
    return {
        size: [generate_course(size, seed) for seed in range(SIZES[-1] // size)] for size in SIZES
    }


def measure(files: dict[str, str]) -> tuple[float, float]:
    """Give the processor seconds that reading and checking take, collector off as in the command.

    Processor time, because other work on the machine does not count in it.
    """
    gc.collect()
    gc.disable()
    try:
        start = time.process_time()
        library, reading = build_library(files)
        middle = time.process_time()
        findings = check_library(library)
        end = time.process_time()
    finally:
        gc.enable()
    assert reading == []
    assert findings == []
    return middle - start, end - middle


@pytest.mark.parametrize("size", SIZES)
def test_the_synthetic_course_has_the_size_it_says(
    courses: dict[int, list[dict[str, str]]], size: int
) -> None:
    library, _ = build_library(courses[size][-1])
    assert sum(1 for _ in library.walk()) == size


def test_the_time_per_entry_does_not_grow(courses: dict[int, list[dict[str, str]]]) -> None:
    for size in SIZES:
        measure(courses[size][0])  # imports, and memory once asked for
    rounds = []
    # As many entries of each size in a round, so that a machine that slows down for a while slows
    # all sizes alike: the least of many short runs against the least of few long ones would not.
    for _ in range(ROUNDS):
        taken = {}
        for size in SIZES:
            runs = [measure(course) for course in courses[size]]
            taken[size] = sum(map(sum, runs)), sum(reading for reading, _ in runs)
        rounds.append(taken)
    print()
    for size in SIZES:
        whole, reading = (statistics.median(each[size][part] for each in rounds) for part in (0, 1))
        each = SIZES[-1] / 1e6
        print(
            f"check {size:>6} entries: {whole / each:.0f} us an entry, "
            f"{reading / each:.0f} of them reading"
        )
    for size in SIZES[:-1]:
        growths = [SIZES[-1] / size * each[SIZES[-1]][0] / each[size][0] for each in rounds]
        growth = statistics.median(growths)
        print(
            f"growth from {size:,} to {SIZES[-1]:,} entries: {growth:.2f} times "
            f"({min(growths):.2f} to {max(growths):.2f} over {ROUNDS} rounds)"
        )
    assert growth <= MOST_GROWTH


def test_no_rule_takes_more_than_its_share(courses: dict[int, list[dict[str, str]]]) -> None:
    """Each rule alone, at both sizes: one that is quadratic shows here before it hurts."""
    slow = []
    seconds: dict[str, list[float]] = {rule: [] for rule in RULES}
    for size in (1_000, 10_000):
        library, _ = build_library(courses[size][0])
        context = Course(library)
        check_library(library)
        for rule_id, rule in RULES.items():
            if rule.check is not None:
                list(rule.run(context))  # what is shared is worked out
                start = time.process_time()
                list(rule.run(context))
                seconds[rule_id].append(time.process_time() - start)
    print()
    for rule_id, taken in sorted(seconds.items(), key=lambda each: each[1][-1:], reverse=True):
        if taken:
            print(f"{rule_id:>26}: {taken[0] * 1e3:8.2f} ms, {taken[1] * 1e3:8.2f} ms")
            # Very short times say nothing about growth.
            if taken[1] > 0.1 and taken[1] > 30 * taken[0]:
                slow.append(rule_id)
    assert slow == []
