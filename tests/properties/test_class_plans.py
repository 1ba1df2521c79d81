"""Hundreds of random classes: each plan can be done, by a checker with a model of its own."""

from __future__ import annotations

import copy

import pytest

from builder.planning.kit import list_kits
from builder.planning.sessions import plan_sessions
from tests.class_checker import check_kit, check_run, draw_class, write_files
from tests.helpers import complete, make_library

BATCHES = 8
OF_EACH = 30


@pytest.mark.parametrize("batch", range(BATCHES))
def test_any_plan_can_be_done(batch: int) -> None:
    for seed in range(batch * OF_EACH, (batch + 1) * OF_EACH):
        course, lessons, planned = draw_class(seed)
        written = write_files(course, lessons, planned)
        library, findings = make_library(complete(written))
        assert not findings, f"seed {seed}: {findings}"
        run = plan_sessions(library, library.classes["drawn"], work=600)
        wrong = list(check_run(course, lessons, planned, run))
        assert wrong == [], f"seed {seed}"
        assert run.sessions[0].clashing == ()
        kits = list_kits(library, run.sessions, planned["students"])
        assert list(check_kit(lessons, run, kits)) == [], f"seed {seed}"


def test_the_checker_sees_what_is_wrong() -> None:
    """A plan that was right for more ovens, less wait or another order is found out."""
    seen: set[str] = set()
    for seed in range(60):
        course, lessons, planned = draw_class(seed)
        library, _ = make_library(complete(write_files(course, lessons, planned)))
        run = plan_sessions(library, library.classes["drawn"], work=0)
        fewer = copy.deepcopy(course)
        fewer["resources"][0]["count"] = 0
        slower = copy.deepcopy(lessons)
        for lesson in slower.values():
            for step in lesson["steps"]:
                step["wait"] = "9999 min"
        open_air = copy.deepcopy(lessons)
        for lesson in open_air.values():
            for step in lesson["steps"]:
                step["actions"] = [*step.get("actions", ()), {"do": "wet", "material": "spirit"}]
        for changed in ((fewer, lessons), (course, slower), (course, open_air)):
            seen.update(each.partition(":")[0] for each in check_run(*changed, planned, run))
            seen.update(each.partition(": ")[2] for each in check_run(*changed, planned, run))
    assert "heat while a flammable is open" in seen
    assert any("in use, 0 there" in each for each in seen)
    assert any("before its wait is over" in each for each in seen)
