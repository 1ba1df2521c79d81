"""The shipped knowledge base, diagnosed: recorded cases, and every cause that it knows."""

from __future__ import annotations

import itertools
import json
import random
from collections import Counter
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from diagnosis_reference import Findings, Side, no_findings, open_side

from builder.course import Course
from builder.diagnosis.cases import read_findings, run_cases
from builder.diagnosis.consult import Adviser, tell
from builder.diagnosis.network import build_network
from builder.library import Library, load_library
from builder.model import Case, Cause, Defect
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.inference import infer
from builder.twin.diagnosis.shapes import Plan
from tests.shipped import ROOT
from tests.thoroughness import choose

pytestmark = pytest.mark.site

HONEST = 0.3
"""A finding is honest where the cause brings it at least this often."""
MOST_TAPS = 8
LEAST_CASES = 40


@cache
def read_course() -> Library:
    library, _ = load_library(ROOT)
    return library


@cache
def read_adviser() -> Adviser:
    return Course(read_course()).adviser


@cache
def read_network() -> Any:
    return index_network(build_network(read_course()))


def rank(findings: Findings) -> list[str]:
    found = infer(read_network(), findings)  # type: ignore[arg-type]
    return [cause["id"] for cause in found["causes"]]


def answer_yes(cause: Cause, question: str) -> float:
    """Give how often a question is answered yes with a cause."""
    for evidence in cause.evidence:
        if evidence.question == question:
            return evidence.yes
    return read_course().questions[question].yes_otherwise


# Cases


def is_surprising(case: Case) -> bool:
    """Say whether an answer of a case is not what its causes would lead one to expect."""
    causes = [read_course().causes[name] for name in case.was]
    yes = (max(answer_yes(cause, question) for cause in causes) for question in case.answered_yes)
    no = (max(answer_yes(cause, question) for cause in causes) for question in case.answered_no)
    return any(chance < 0.5 for chance in yes) or any(chance > 0.5 for chance in no)


def test_there_are_enough_cases_and_they_are_not_easy() -> None:
    library = read_course()
    cases = library.cases.values()
    assert len(cases) >= LEAST_CASES
    two = {case.id for case in cases if len(case.was) > 1}
    wrong = {case.id for case in cases if is_surprising(case)}
    unknown = {case.id for case in cases if not case.answered_yes and not case.answered_no} | {
        case.id
        for case in cases
        if len(case.answered_yes) + len(case.answered_no) == 1 and not case.absent
    }
    print(f"\n{len(cases)} cases: {len(two)} with two causes, {len(wrong)} with a surprising")
    print(f"answer, {len(unknown)} where next to nothing was answered")
    assert len(two | wrong | unknown) >= len(cases) / 3
    assert len(two) >= 10
    told = Counter(cause for case in cases for cause in case.was)
    assert set(told) == set(library.causes), "every cause has a case"
    assert len(
        {(case.seen, case.absent, case.answered_yes, case.answered_no) for case in cases}
    ) == len(cases)


def test_every_case_finds_a_true_cause_among_the_first_three() -> None:
    results = run_cases(read_course(), read_network())
    assert {result.case: result.first for result in results if result.place > 3} == {}
    first = sum(result.place == 1 for result in results)
    print(f"\na true cause first in {first} of {len(results)} cases")
    assert first >= 0.9 * len(results)


def test_two_causes_at_once_are_both_near_the_top() -> None:
    places = {}
    for case in read_course().cases.values():
        if len(case.was) > 1:
            ranking = rank(read_findings(case))  # type: ignore[arg-type]
            places[case.id] = max(ranking.index(cause) for cause in case.was) + 1
    assert {name: place for name, place in places.items() if place > 4} == {}


@pytest.fixture(scope="module")
def script() -> Iterator[Side]:
    with open_side("script") as side:
        yield side


def test_the_page_says_of_every_case_what_the_terminal_says(script: Side) -> None:
    """The lines shown, word for word, and the question asked, in Python and in V8."""
    there = script.index(build_network(read_course()))  # type: ignore[arg-type]
    for case in read_course().cases.values():
        hold_plans_together(script, there, read_findings(case))  # type: ignore[arg-type]


def hold_plans_together(script: Side, there: Any, findings: Findings) -> None:
    """Hold the lines, the fixes and the next question of Python against those of V8."""
    adviser = read_adviser()
    told = tell(findings)  # type: ignore[arg-type]
    plan = adviser.plan(told)
    theirs = script.call("make_plan", there, adviser.guide, told)
    ours = json.loads(json.dumps(plan))
    assert script.call("write_plan", adviser.texts, theirs, told) == json.loads(
        json.dumps(adviser.write(plan, told))
    ), findings
    assert theirs["fixes"] == ours["fixes"], findings
    asked = [each["next_question"] and each["next_question"]["id"] for each in (ours, theirs)]
    assert asked[0] == asked[1], findings


def test_two_signs_at_once_give_one_plan_in_both_languages(script: Side) -> None:
    """Pairs of signs: a seeded sample in the usual run, every pair where there is time."""
    pairs = list(itertools.combinations(sorted(read_course().symptoms), 2))
    there = script.index(build_network(read_course()))  # type: ignore[arg-type]
    for pair in random.Random(13).sample(pairs, min(len(pairs), choose(60, len(pairs)))):
        hold_plans_together(script, there, no_findings() | {"present": list(pair)})


# Causes


def gather_honest(cause: Cause, defect: Defect) -> Findings:
    """Gather what somebody would tell who has a defect by a cause: the likely signs and answers."""
    findings = no_findings()
    for link in defect.symptoms:
        if link.often >= HONEST:
            findings["present"].append(link.symptom)
    for evidence in cause.evidence:
        if evidence.yes >= HONEST:
            findings["yes"].append(evidence.question)
        else:
            findings["no"].append(evidence.question)
    return findings


def test_every_cause_comes_first_for_some_honest_findings() -> None:
    library = read_course()
    reached: set[str] = set()
    tried: set[str] = set()
    for defect in library.defects.values():
        for link in defect.causes:
            tried.add(link.cause)
            if rank(gather_honest(library.causes[link.cause], defect))[0] == link.cause:
                reached.add(link.cause)
    assert tried == set(library.causes)
    assert tried - reached == set()


def test_the_clearest_sign_of_a_defect_names_it_first() -> None:
    for defect in read_course().defects.values():
        sign = max(defect.symptoms, key=lambda link: link.often).symptom
        told = tell({**no_findings(), "present": [sign]})  # type: ignore[typeddict-item]
        told["context"] = place(defect)
        assert read_adviser().plan(told)["defects"][0]["id"] == defect.id, sign


def place(defect: Defect) -> list[list[str]]:
    """Say what kind of thing a defect is seen on."""
    melted = "melt-and-pour" in defect.tracks
    return [["kind", "melt-and-pour" if melted else "lye"]]


def run_session(cause: Cause, defect: Defect) -> tuple[int, Plan]:
    """Answer honestly what the page asks: the taps it takes to the plan, and the plan then."""
    shown = {link.symptom: link.often for link in defect.symptoms}
    findings = {**no_findings(), "present": [max(shown, key=lambda name: shown[name])]}
    taps = 1
    while True:
        told = tell(findings)  # type: ignore[arg-type]
        told["context"] = place(defect)
        plan = read_adviser().plan(told)
        question = plan["next_question"]
        if question is None:
            # Without a question the page has a button that leads to the plan.
            return max(taps, 2), plan
        name = question["id"]
        if question["kind"] == "symptom":
            findings["present" if shown.get(name, 0.0) >= 0.5 else "absent"].append(name)
        else:
            findings["yes" if answer_yes(cause, name) >= 0.5 else "no"].append(name)
        taps += 1


def test_the_usual_flaw_takes_few_taps() -> None:
    """The usual flaw: a defect by its commonest cause, seen by its clearest sign."""
    library = read_course()
    taps: dict[str, int] = {}
    for defect in library.defects.values():
        link = max(
            defect.causes, key=lambda each: each.often * library.causes[each.cause].how_common
        )
        taps[defect.id], plan = run_session(library.causes[link.cause], defect)
        assert plan["causes"][0]["id"] == link.cause, defect.id
        if not plan["stop"]:  # a sign that stops needs no diagnosis
            assert [lead["id"] for lead in plan["leads"]][:1] == [defect.id]
    counted = sorted(Counter(taps.values()).items())
    print(f"\ntaps to the plan for the usual flaw of {len(taps)} defects: {counted}")
    assert max(taps.values()) <= MOST_TAPS


def test_every_fix_for_now_and_next_is_offered_to_somebody() -> None:
    library = read_course()
    offered: set[str] = set()
    for defect in library.defects.values():
        for link in defect.causes:
            told = tell(gather_honest(library.causes[link.cause], defect))  # type: ignore[arg-type]
            for stage in ("jug", "liquid", "mould", "days"):
                told["context"] = [*place(defect), ["stage", stage]]
                offered |= {fix["id"] for fix in read_adviser().plan(told)["fixes"]}
    assert set(library.fixes) - offered == set()
