"""From the entries of a course to the network of the diagnosis."""

from __future__ import annotations

import itertools
import math

import pytest
from helpers import complete, make_library
from hypothesis import given
from hypothesis import strategies as st

from builder.diagnosis.guide import build_guide
from builder.diagnosis.network import (
    MINUTES_PER_MONEY,
    SEEN_WRONGLY,
    UNLISTED,
    build_network,
    link_answers,
)
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.inference import infer

COURSE = """
# file: kb/symptoms.yml
wavy: {label: wavy sheet, chance_otherwise: 0.02}
# file: kb/questions.yml
damp: {ask: "Was it damp?", yes_otherwise: 0.25}
# file: kb/defects/wrinkled.yml
symptoms:
  - {symptom: wavy, often: usually}
causes:
  - {cause: too-wet, often: often}
  - {cause: too-dry, often: often}
# file: kb/causes/too-wet.yml
how_common: 0.1
evidence:
  - {question: damp, yes: usually}
fixes:
  - {fix: press-again, helps: usually}
# file: kb/causes/too-dry.yml
how_common: 0.1
evidence:
  - {question: damp, yes: never}
# file: kb/fixes/press-again.yml
when: now
time: 10 min
cost: 0.50 EUR
"""


def yes(leak: float, links: dict[str, tuple[float, float]], acting: set[str]) -> float:
    no = 1 - leak
    for cause, (when_acting, when_resting) in links.items():
        no *= 1 - (when_acting if cause in acting else when_resting)
    return 1 - no


def test_a_course_becomes_a_network() -> None:
    library, findings = make_library(complete(COURSE))
    assert not [found for found in findings if found.rule != "reference-unknown"]
    network = build_network(library)
    assert [cause["id"] for cause in network["causes"]] == ["too-dry", "too-wet", UNLISTED]
    assert network["causes"][1]["defects"] == [("wrinkled", 0.6)]
    # One report in ten overlooks the sign; one thing in some hundreds shows it by mistake.
    assert network["defects"][0]["symptoms"] == [("wavy", pytest.approx(0.8 * 0.9))]
    (wavy,) = network["symptoms"]
    assert wavy["leak"] == pytest.approx(1 - (1 - 0.02) * (1 - SEEN_WRONGLY))
    (remedy,) = build_guide(library)["remedies"]
    assert (remedy["id"], remedy["when"]) == ("press-again", "now")
    # A fix for the thing in the hand that hangs on a cause counts for each fault of that cause.
    assert remedy["saves"] == [{"defect": "wrinkled", "cause": "too-wet", "helps": 0.8}]
    assert remedy["cost_minutes"] == pytest.approx(10 + 0.5 * MINUTES_PER_MONEY)


def test_a_yes_that_is_rarer_with_a_cause_speaks_against_it() -> None:
    library, _ = make_library(complete(COURSE))
    indexed = index_network(build_network(library))

    def ask(**answers: list[str]) -> dict[str, float]:
        blank = {"present": ["wavy"], "absent": [], "yes": [], "no": [], "skipped": []}
        found = infer(indexed, {**blank, **answers})  # type: ignore[typeddict-item]
        return {cause["id"]: cause["probability"] for cause in found["causes"]}

    before, damp, not_damp = ask(), ask(yes=["damp"]), ask(no=["damp"])
    assert damp["too-wet"] > before["too-wet"] > not_damp["too-wet"]
    assert damp["too-dry"] < before["too-dry"] < not_damp["too-dry"]


CHANCES = st.floats(0.001, 0.999)


@given(CHANCES, st.dictionaries(st.sampled_from("abcdef"), CHANCES))
def test_the_stated_chances_come_out_again(otherwise: float, acting: dict[str, float]) -> None:
    leak, links = link_answers(otherwise, acting)
    assert 0 <= leak <= 1
    assert all(0 <= chance <= 1 for pair in links.values() for chance in pair)
    assert yes(leak, links, set()) == pytest.approx(otherwise, abs=1e-9)
    against = [cause for cause in acting if acting[cause] < otherwise]
    no = 1 - otherwise
    possible = math.prod(no / (1 - acting[cause]) for cause in against) > no
    for cause, chance in acting.items():
        given_alone = yes(leak, links, {cause})
        if cause not in against or possible:
            assert given_alone == pytest.approx(chance, abs=1e-9)
        else:
            assert given_alone <= otherwise + 1e-9
    for first, second in itertools.combinations(against, 2):
        both = yes(leak, links, {first, second})
        assert both <= yes(leak, links, {first}) + 1e-9


def test_one_cause_against_is_exact_however_strong() -> None:
    leak, links = link_answers(0.9, {"a": 0.01})
    assert yes(leak, links, {"a"}) == pytest.approx(0.01)
    assert yes(leak, links, set()) == pytest.approx(0.9)


def test_money_weighs_as_the_course_says() -> None:
    library, _ = make_library(
        complete("# file: lessons/course.yml\nmoney_in_work: 10 min\n" + COURSE)
    )
    (fix,) = build_guide(library)["remedies"]
    assert fix["cost_minutes"] == pytest.approx(10 + 0.5 * 10)


def test_a_fix_that_is_forbidden_is_never_offered() -> None:
    library, _ = make_library(complete(COURSE))
    assert [each["id"] for each in build_guide(library)["remedies"]] == ["press-again"]
    assert build_guide(library, {"press-again"})["remedies"] == []
