"""How long `check` takes, by the size of the course: the time per entry must not grow."""

from __future__ import annotations

import gc
import sys
import time
from pathlib import Path

import pytest

from builder.checks import RULES, Context, check_library
from builder.library import build_library
from tests.helpers import open_book

sys.path.insert(0, str(Path(__file__).parent))
from generate_course import generate_course

pytestmark = pytest.mark.benchmark

SIZES = (100, 1_000, 10_000)
MOST_GROWTH = 11.0
"""Ten times the entries may take eleven times as long; what is more is no longer linear."""


@pytest.fixture(scope="module")
def courses() -> dict[int, dict[str, str]]:
    return {size: generate_course(size) for size in SIZES}


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
    courses: dict[int, dict[str, str]], size: int
) -> None:
    library, _ = build_library(courses[size])
    assert sum(1 for _ in library.walk()) == size


def test_the_time_per_entry_does_not_grow(courses: dict[int, dict[str, str]]) -> None:
    measure(courses[100])  # imports and the unit registry
    times: dict[int, list[tuple[float, float]]] = {size: [] for size in SIZES}
    # Side by side, so that a busy machine slows all sizes alike; the best of each counts. The
    # small ones are measured more often, to be as sure of them as of the large one.
    for _ in range(3):
        for size, repeats in zip(SIZES, (5, 3, 1), strict=True):
            times[size].extend(measure(courses[size]) for _ in range(repeats))
    print()
    best = {}
    for size in SIZES:
        read = min(each[0] for each in times[size])
        checked = min(each[1] for each in times[size])
        best[size] = read + checked
        print(
            f"check {size:>6} entries: {best[size]:7.3f} s "
            f"(reading {read:.3f}, rules {checked:.3f}), {best[size] / size * 1e6:.0f} us an entry"
        )
    growth = best[10_000] / best[1_000]
    print(f"growth from 1,000 to 10,000 entries: {growth:.2f} times")
    assert growth <= MOST_GROWTH


def test_no_rule_takes_more_than_its_share(courses: dict[int, dict[str, str]]) -> None:
    """Each rule alone, at both sizes: one that is quadratic shows here before it hurts."""
    slow = []
    seconds: dict[str, list[float]] = {rule: [] for rule in RULES}
    for size in (1_000, 10_000):
        library, _ = build_library(courses[size])
        context = Context(open_book(library))
        check_library(library)
        for rule_id, rule in RULES.items():
            if rule.check is not None:
                list(rule.check(context))  # what is shared is worked out
                start = time.process_time()
                list(rule.check(context))
                seconds[rule_id].append(time.process_time() - start)
    print()
    for rule_id, taken in sorted(seconds.items(), key=lambda each: each[1][-1:], reverse=True):
        if taken:
            print(f"{rule_id:>26}: {taken[0] * 1e3:8.2f} ms, {taken[1] * 1e3:8.2f} ms")
            # Very short times say nothing about growth.
            if taken[1] > 0.1 and taken[1] > 30 * taken[0]:
                slow.append(rule_id)
    assert slow == []
