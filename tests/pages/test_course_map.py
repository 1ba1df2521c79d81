"""The course map: every lesson once, levels in rows, lines from what is needed."""

from __future__ import annotations

import re
from itertools import combinations

import pytest

from builder.course import Course
from builder.drawings.course_map import HEAD, NODE, WIDTH, CourseMap, make_course_map
from builder.library import Library
from tests.helpers import complete, make_library


def course(lessons: dict[str, tuple[str, list[str]]]) -> Library:
    """Make a course of lessons, each with its level and what it needs."""
    files = "".join(
        f"# file: lessons/cards/{name}.yml\n"
        f"title: {name.capitalize()}\nlevel: {level}\nprerequisites: [{', '.join(needs)}]\n"
        for name, (level, needs) in lessons.items()
    )
    library, findings = make_library(complete(files))
    assert not findings
    return library


def map_of(lessons: dict[str, tuple[str, list[str]]]) -> CourseMap | None:
    made = Course(course(lessons))
    return make_course_map(made.library.lessons, made.prerequisite_graph, made.order)


def lay_out(lessons: dict[str, tuple[str, list[str]]]) -> CourseMap:
    drawn = map_of(lessons)
    assert drawn is not None
    return drawn


DIAMOND = {
    "a": ("beginner", []),
    "b": ("beginner", ["a"]),
    "c": ("beginner", ["a"]),
    "d": ("intermediate", ["b", "c", "a"]),
}


def test_lessons_stand_below_all_they_need() -> None:
    drawn = lay_out(DIAMOND)
    tops = {node.lesson.id: node.top for node in drawn.nodes}
    assert tops["a"] < tops["b"] == tops["c"] < tops["d"]
    assert drawn.crossings == 0
    assert [band.name for band in drawn.bands] == ["beginner", "intermediate"]


def test_line_that_follows_from_others_is_not_drawn_but_said() -> None:
    drawn = lay_out(DIAMOND)
    assert len(drawn.paths) == 4  # a-b, a-c, b-d, c-d; a-d follows from them
    last = drawn.nodes[-1]
    assert [lesson.id for lesson in last.needs] == ["a", "b", "c"]


def test_lines_begin_and_end_at_boxes() -> None:
    drawn = lay_out(DIAMOND)
    starts = {(round(node.across * 10, 1), round(node.top + NODE, 1)) for node in drawn.nodes}
    ends = {(round(node.across * 10, 1), round(node.top, 1)) for node in drawn.nodes}
    for path in drawn.paths:
        numbers = [float(each) for each in re.findall(r"[\d.]+", path)]
        assert (numbers[0], numbers[1]) in starts
        assert (numbers[-2], numbers[-1]) in ends


def test_level_begins_below_the_level_before() -> None:
    drawn = lay_out({"z": ("beginner", []), "a": ("advanced", []), "m": ("intermediate", ["z"])})
    assert [node.lesson.id for node in drawn.nodes] == ["z", "m", "a"]
    tops = [node.top for node in drawn.nodes]
    assert tops == sorted(tops)
    assert len(set(tops)) == 3
    for node, band in zip(drawn.nodes, drawn.bands, strict=True):
        assert band.top + HEAD <= node.top + 1e-9
        assert node.top + NODE <= band.top + band.height


def test_wide_rows_are_broken_so_that_boxes_stay_readable() -> None:
    many = {f"l{number}": ("beginner", []) for number in range(10)}
    drawn = lay_out(many)
    assert len(drawn.nodes) == 10
    rows: dict[float, int] = {}
    for node in drawn.nodes:
        rows[node.top] = rows.get(node.top, 0) + 1
    assert sorted(rows.values()) == [1, 3, 3, 3]
    assert drawn.node_width >= 25


def test_boxes_never_overlap_and_stay_inside() -> None:
    lessons = {
        f"l{number:02}": (
            ("beginner", "intermediate", "advanced")[number // 7],
            [f"l{before:02}" for before in range(max(0, number - 4), number) if before % 3],
        )
        for number in range(21)
    }
    drawn = lay_out(lessons)
    half = drawn.node_width / 2
    for node in drawn.nodes:
        assert node.across - half >= 0
        assert node.across + half <= 100
        assert node.top + NODE <= drawn.height
    for one, other in combinations(drawn.nodes, 2):
        apart = abs(one.across - other.across) >= drawn.node_width - 1e-6
        assert apart or abs(one.top - other.top) >= NODE
    for path in drawn.paths:
        across = [float(each) for each in re.findall(r"(?:M|C|[ ])([\d.]+) [\d.]+", path)]
        assert all(0 <= each <= WIDTH for each in across)


@pytest.mark.parametrize("count", [1, 61])
def test_course_too_small_or_too_large_has_no_map(count: int) -> None:
    assert map_of({f"l{n}": ("beginner", []) for n in range(count)}) is None
