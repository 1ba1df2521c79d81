"""The shipped class, planned: nobody is in two places, no oven is used twice, nothing hot waits."""

from __future__ import annotations

from itertools import pairwise

import pytest

from builder.course import Course
from builder.library import load_library
from builder.papers.run_sheets import make_plan_papers
from builder.planning.blocks import find_hot_stretches
from builder.planning.plan import plan_class
from builder.planning.sessions import plan_sessions
from builder.planning.telling import list_steps
from tests.pdf import count_pages, read_pages
from tests.shipped import ROOT

pytestmark = pytest.mark.site


CLASSES = sorted(path.stem for path in (ROOT / "lessons" / "classes").glob("*.yml"))


@pytest.mark.parametrize("name", CLASSES)
@pytest.mark.parametrize("students", [1, 8, 30])
def test_a_plan_can_be_done(name: str, students: int) -> None:
    library, _ = load_library(ROOT)
    planned = library.classes[name]
    planned = planned.model_copy(update={"students": students})
    evenings = plan_sessions(library, planned).sessions
    done: list[tuple[int, str, int]] = []
    for evening in evenings:
        shared = evening.room.shared
        assert all(0 <= turn.start < turn.end for turn in evening.turns)
        last = max(each.end for each in (*evening.turns, *evening.chores))
        assert last + evening.clean_up == evening.makespan
        assert evening.at_least <= evening.makespan
        places: dict[object, list[tuple[int, int]]] = {}
        for turn in evening.turns:
            places.setdefault(turn.student, []).append((turn.start, turn.end))
            for hold in turn.holds if turn.student == turn.group[0] else ():
                assert 1 <= hold.unit <= shared[hold.shared].places
                places.setdefault((hold.shared, hold.unit), []).append((hold.start, hold.end))
        for spans in places.values():
            assert all(one[1] <= two[0] for one, two in pairwise(sorted(spans)))
        when = {(turn.student, turn.lesson, turn.step): turn for turn in evening.turns}
        for (student, name, step), turn in when.items():
            steps = library.lessons[name].steps
            following = when.get((student, name, step + 1))
            if following is None:
                continue
            wait = steps[step].wait
            after = turn.end + (round(wait.base) if wait else 0)
            assert following.start >= after
            if any(first <= step < last for first, last in find_hot_stretches(steps)):
                assert following.start == after
        done.extend(when)
    everything = {
        (student, name, step)
        for student in range(1, students + 1)
        for session in planned.sessions
        for name in session.lessons
        for step in range(len(library.lessons[name].steps))
    }
    left = {(name, step) for name, step in evenings[-1].left}
    assert len(done) == len(set(done))
    assert {each for each in everything if (each[1], each[2]) not in left} == set(done)


@pytest.mark.parametrize("name", CLASSES)
def test_a_shipped_class_fits_its_sessions(name: str) -> None:
    library, _ = load_library(ROOT)
    planned = library.classes[name]
    for evening in plan_sessions(library, planned).sessions:
        assert evening.spare >= 0
        assert evening.talk
        assert evening.clean_up


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_run_sheet_ends_on_a_page_with_next_to_nothing(paper: str) -> None:
    library, _ = load_library(ROOT)
    planned = library.classes["millrace-autumn"]
    workings = Course(library)
    made = plan_class(library, planned, workings.plan_run(planned.id), workings.currency)
    body = make_plan_papers(workings, made, paper=paper).files[f"{planned.id}-run-sheet.pdf"]
    for text in read_pages(body):
        assert len(text) > 200, "more than its foot"


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", CLASSES)
def test_every_session_hangs_on_one_page(name: str, paper: str) -> None:
    library, _ = load_library(ROOT)
    planned = library.classes[name]
    course = Course(library)
    made = plan_class(library, planned, course.plan_run(name), course.currency)
    body = make_plan_papers(course, made, paper=paper).files[f"{name}-run-sheet.pdf"]
    assert count_pages(body) == len(planned.sessions)
    pages = ["".join(text.split()) for text in read_pages(body)]
    told = 0
    for text, held in zip(pages, made.session_plans, strict=True):
        for row in list_steps(library, held):
            told += bool(row["missed"])
            assert "".join(row["missed"].split()) in text, "what to do stands on the wall"
            if row["opens"] or row["off"]:
                assert "warm it" not in row["missed"]
    # Nobody has measured how the vessels of the lye lessons cool: nothing is expected there.
    assert bool(told) is (name != "millrace-lye")
