"""Any course: the shortest set of lessons to a goal, against every set there is; both languages."""

from __future__ import annotations

from itertools import chain, combinations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.twin.series import choose_lessons, sum_times
from tests.v8 import TWIN_AT_HAND, Engine, start_engine

SKILLS = ("cut", "glue", "fold", "press")


@st.composite
def draw_course(draw: st.DrawFn) -> list[dict[str, Any]]:
    lessons: list[dict[str, Any]] = []
    for number in range(draw(st.integers(1, 6))):
        earlier = [each["id"] for each in lessons]
        taught = sorted({skill for each in lessons for skill in each["teaches"]})
        lessons.append(
            {
                "id": f"lesson-{number}",
                "needs": draw(st.lists(st.sampled_from(earlier), unique=True, max_size=2))
                if earlier
                else [],
                "assumes": draw(st.lists(st.sampled_from(taught), unique=True, max_size=2))
                if taught
                else [],
                "teaches": draw(
                    st.lists(st.sampled_from(SKILLS), unique=True, min_size=1, max_size=2)
                ),
                "bench": draw(st.integers(1, 9)) * 60,
                "wait": draw(st.integers(0, 9)) * 60,
            }
        )
    return lessons


def is_whole(lessons: list[dict[str, Any]], chosen: set[str], skills: list[str], known: list[str]):  # type: ignore[no-untyped-def]
    """Say whether a set leads to the skills, by the words of the definition alone."""
    by_id = {each["id"]: each for each in lessons}
    taught = {skill for name in chosen for skill in by_id[name]["teaches"]} | set(known)
    somewhere = {skill for each in lessons for skill in each["teaches"]}
    wanted = set(skills) | {skill for name in chosen for skill in by_id[name]["assumes"]}
    return wanted & somewhere <= taught and all(
        needed in chosen or set(by_id[needed]["teaches"]) <= set(known)
        for name in chosen
        for needed in by_id[name]["needs"]
    )


@given(
    draw_course(),
    st.lists(st.sampled_from(SKILLS), unique=True, min_size=1, max_size=2),
    st.lists(st.sampled_from(SKILLS), unique=True, max_size=2),
)
def test_no_set_is_shorter(
    lessons: list[dict[str, Any]], skills: list[str], known: list[str]
) -> None:
    chosen = choose_lessons(lessons, skills, [], known)
    names = [each["id"] for each in lessons]
    bench = {each["id"]: each["bench"] for each in lessons}
    assert [name for name in names if name in chosen] == list(chosen)
    assert is_whole(lessons, set(chosen), skills, known)
    every = chain.from_iterable(combinations(names, count) for count in range(len(names) + 1))
    shortest = min(
        sum(bench[name] for name in each)
        for each in every
        if is_whole(lessons, set(each), skills, known)
    )
    assert sum_times(lessons, chosen)[0] == shortest


@pytest.fixture(scope="module")
def engine() -> Any:
    with start_engine(TWIN_AT_HAND) as started:
        yield started


def test_the_browser_chooses_the_same(engine: Engine) -> None:
    @given(
        draw_course(),
        st.lists(st.sampled_from(SKILLS), unique=True, max_size=2),
        st.lists(st.sampled_from(SKILLS), unique=True, max_size=2),
    )
    def compare(lessons: list[dict[str, Any]], skills: list[str], known: list[str]) -> None:
        named = [lessons[-1]["id"]]
        here = choose_lessons(lessons, skills, named, known)
        assert engine.call("choose_lessons", lessons, skills, named, known) == list(here)
        assert engine.call("sum_times", lessons, here) == list(sum_times(lessons, here))

    compare()
