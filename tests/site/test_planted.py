"""Faults planted in a copy of the shipped course: each is found under its rule, at its line.

A file of `tests/planted` is laid over the course. A line that ends in `#! rule` has a fault that
the rule must find there; a file without such a line is a right construction of the same shape, of
which nothing is said. The sections follow the classes: what runs, texts, facts, order and vessels.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import pytest

from builder.checks import RULES, run_checks
from builder.course import Course
from builder.diagnostics import Diagnostic
from builder.library import build_library, collect_files
from tests.helpers import split_files
from tests.shipped import ROOT

PLANTED = Path(__file__).parent.parent / "planted"
_MARK = re.compile(r"  #! ([a-z-]+)$")
LESSON = """\
title: Planted
level: advanced
track: melt-and-pour
summary: A lesson planted for a test.
picture: sweating
prerequisites: [bench-and-safety]
teaches: [{{skill: planted-{name}, text: Do it.}}]
intro: Begin.
{body}exercises:
  - {{id: try-1, kind: choose, skill: planted-{name}, title: Try, ask: Which?, show: 3,
     options: [{{text: A, right: true, why: Yes.}}, {{text: B, why: No.}}, {{text: C, why: No.}}]}}
"""


def read_planted() -> dict[str, str]:
    """Read all planted files; a lesson gets the fields that do not matter."""
    files: dict[str, str] = {}
    for path in sorted(PLANTED.glob("*.yml")):
        for name, text in split_files(path.read_text(encoding="utf-8"))[0].items():
            assert name not in files, name
            if name.startswith("lessons/planted/"):
                text = LESSON.format(name=Path(name).stem, body=text)
            files[name] = text
    return files


DRILLS = """\
drills:
  - {hazard: corrosive, level: advanced, lesson: how-much, tools: [spatula], cautions: [lye]}
  - {hazard: corrosive, level: advanced, lesson: how-much, tools: [gloves], cautions: [lye]}
  - {hazard: corrosive, level: advanced, lesson: how-much, tools: [goggles], cautions: [lye]}
  - {hazard: corrosive, level: advanced, lesson: how-much, tools: [goggles, gloves],
     cautions: [no-food-tools]}
  - {hazard: toxic, level: advanced, lesson: how-much, tools: [tray], cautions: [blade]}
  - {hazard: corrosive, level: advanced, lesson: how-much, tools: [goggles, gloves],
     cautions: [lye]}
"""
"""The last covers what it must: goggles, gloves, and a caution on clothes, air, spills, aid."""


@pytest.fixture(scope="module")
def planted() -> Mapping[str, str]:
    return read_planted()


@pytest.fixture(scope="module")
def findings(planted: Mapping[str, str]) -> list[Diagnostic]:
    shipped = {path: text for path, text in collect_files(ROOT).items() if isinstance(text, bytes)}
    bare = {name: strip_marks(text) for name, text in planted.items()}
    before, after = shipped["lessons/course.yml"].decode().split("\ndrills:\n")
    course = f"{before}\n{DRILLS}{after}"
    library, reading = build_library({**shipped, **bare, "lessons/course.yml": course})
    return [*reading, *run_checks(Course(library))]


def strip_marks(text: str) -> str:
    return "\n".join(_MARK.sub("", line) for line in text.split("\n"))


def list_marks(planted: Mapping[str, str]) -> set[tuple[str, int, str]]:
    return {
        (name, number, found[1])
        for name, text in planted.items()
        for number, line in enumerate(text.split("\n"), 1)
        if (found := _MARK.search(line))
    }


def test_each_fault_is_found_under_its_rule_at_its_line(
    planted: Mapping[str, str], findings: list[Diagnostic]
) -> None:
    found = {(each.location.file, each.location.line, each.rule) for each in findings}
    assert sorted(list_marks(planted) - found) == []


def test_right_constructions_of_the_same_shape_stay_silent(
    planted: Mapping[str, str], findings: list[Diagnostic]
) -> None:
    looked_for = {rule for _, _, rule in list_marks(planted)}
    looked_for |= {rule.id for rule in RULES.values() if rule.family == "safety"}
    right = set(planted) - {name for name, _, _ in list_marks(planted)}
    assert len(right) >= 10
    said = [
        f"{each.location}: {each.message} [{each.rule}]"
        for each in findings
        if each.location.file in right and each.rule in looked_for
    ]
    assert said == []


def test_each_class_has_five_variations(planted: Mapping[str, str]) -> None:
    counts = Counter(rule for _, _, rule in list_marks(planted))
    assert set(counts) <= set(RULES)
    few = {rule: count for rule, count in counts.items() if count < 5}
    assert few == {}


def test_a_drill_that_leaves_something_out_is_found(findings: list[Diagnostic]) -> None:
    course = (ROOT / "lessons" / "course.yml").read_text(encoding="utf-8")
    before = course.splitlines().index("drills:")
    found = {
        each.location.line - before
        for each in findings
        if each.location.file == "lessons/course.yml" and each.rule == "drill-missing"
    }
    assert found == {2, 3, 4, 5, 7}
