"""The plan on small courses: stops, holds, what is not known, fixes by fault, contexts."""

from __future__ import annotations

from typing import Any

from helpers import complete, make_library

from builder.checks import RULES
from builder.course import Course
from builder.diagnosis.consult import read_answers
from builder.frequencies import COMMONNESS, FREQUENCIES
from builder.twin.diagnosis.fixes import choose_fixes
from builder.twin.diagnosis.shapes import Plan, Told

COURSE = """
# file: lessons/course.yml
contexts:
  - id: paper
    ask: What paper is it?
    options:
      - {id: thin, name: Thin}
      - {id: thick, name: Thick}
  - id: stage
    ask: Where is it?
    stages: true
    options:
      - {id: press, name: In the press}
      - {id: wall, name: On the wall}
# file: kb/symptoms.yml
wavy: {label: wavy, chance_otherwise: 0.001}
fuzzy:
  label: fuzzy
  stop: {reason: It grows., do: [Throw it away.], ask: Ask a doctor.}
dusty:
  label: dusty
  stop: {reason: It may be lead., do: [Wash.], only: {paper: [thick]}, ask_first: true}
pale: {label: pale, chance_otherwise: 0.001}
# file: kb/questions.yml
damp: {ask: "Was it damp?"}
dry: {ask: "Was it dry?", rules_out: [damp]}
sour: {ask: "Does it smell sour?", stop: {reason: It spoils., do: [Throw it away.]}}
# file: kb/defects/wrinkled.yml
symptoms: [{symptom: wavy, often: usually}, {symptom: dusty, often: sometimes}]
causes: [{cause: too-wet, often: often}]
fixes: [{fix: press-again, helps: usually}, {fix: iron-it, helps: often}]
# file: kb/defects/faded.yml
symptoms: [{symptom: pale, often: usually}]
causes: [{cause: too-wet, often: rarely}, {cause: sunned, often: usually}]
nothing_saves: Nothing brings it back.
only: {paper: [thin]}
# file: kb/causes/too-wet.yml
how_common: 0.1
evidence: [{question: damp, yes: usually}]
fixes: [{fix: blot, helps: usually}]
# file: kb/causes/sunned.yml
how_common: 0.1
evidence: [{question: dry, yes: usually}]
fixes: [{fix: hang-dark, helps: usually}]
# file: kb/fixes/press-again.yml
when: now
# file: kb/fixes/iron-it.yml
when: now
until: press
# file: kb/fixes/blot.yml
when: next
# file: kb/fixes/hang-dark.yml
when: next
"""


def make_course() -> Course:
    library, findings = make_library(complete(COURSE))
    assert not [found for found in findings if found.rule != "reference-unknown"]
    return Course(library)


def consult(
    present: list[str], answers: list[str] | None = None, context: list[str] | None = None
) -> tuple[Plan, list[Any], Told]:
    course = make_course()
    told, wrong = read_answers(course.library, present, [], answers or [], context or [])
    assert wrong == []
    plan = course.adviser.plan(told)
    return plan, course.adviser.write(plan, told), told


def list_now(plan: Plan) -> list[str]:
    return [each["id"] for each in plan["fixes"] if each["when"] == "now"]


def test_a_stop_stands_first_with_reason_steps_and_whom_to_ask() -> None:
    plan, lines, _ = consult(["fuzzy", "wavy"], ["damp=no"])
    assert [line["role"] for line in lines[:4]] == ["stop-title", "stop", "stop-do", "stop-ask"]
    assert [line["text"] for line in lines[:4]] == [
        "Do not use this card",
        "Sign: It grows.",
        "Throw it away.",
        "Ask a doctor.",
    ]
    assert list_now(plan) == []
    assert plan["next_question"] is None


def test_an_answer_stops_too() -> None:
    plan, _, _ = consult(["wavy"], ["sour=yes"])
    assert [each["by"] for each in plan["stop"]] == ["sour"]
    assert list_now(plan) == []


def test_what_stops_in_one_context_is_asked_about_first() -> None:
    plan, lines, _ = consult(["dusty"])
    assert [each["by"] for each in plan["hold"]] == ["dusty"]
    assert lines[0]["text"] == "Do not use this card yet"
    assert list_now(plan) == []
    assert plan["next_question"] == {"id": "paper", "kind": "context", "gain": 0.0}
    thick, _, _ = consult(["dusty"], context=["paper=thick"])
    assert [each["by"] for each in thick["stop"]] == ["dusty"]
    thin, _, _ = consult(["dusty"], context=["paper=thin"])
    assert (thin["stop"], thin["hold"]) == ([], [])


def test_a_fix_is_for_its_fault_and_not_for_another_of_the_same_cause() -> None:
    plan, lines, _ = consult(["pale"], ["damp=yes"])
    assert plan["leads"][0]["id"] == "faded"
    assert list_now(plan) == []
    assert "Nothing brings it back." in [line["text"] for line in lines]


def test_a_lead_names_a_cause_that_is_joined_to_it() -> None:
    plan, _, _ = consult(["wavy"], ["dry=yes"])
    (lead,) = plan["leads"]
    assert [cause["id"] for cause in lead["causes"]] == ["too-wet"]


def test_until_when_a_fix_can_be_done() -> None:
    plan, lines, _ = consult(["wavy"])
    assert list_now(plan) == ["press-again", "iron-it"]
    assert "If it is still in the press: Fix" in [line["text"] for line in lines]
    over, _, _ = consult(["wavy"], context=["stage=wall"])
    assert list_now(over) == ["press-again"]
    there, _, _ = consult(["wavy"], context=["stage=press"])
    assert set(list_now(there)) == {"press-again", "iron-it"}


def test_a_context_takes_out_what_does_not_come_in_question() -> None:
    plan, _, _ = consult(["pale"], context=["paper=thick"])
    assert plan["verdict"] == "not-known"
    assert plan["fixes"] == []


def test_answers_that_do_not_go_together_are_named() -> None:
    plan, lines, _ = consult(["wavy"], ["damp=yes", "dry=yes"])
    assert plan["conflicts"] == [["dry", "damp"]]
    assert "These answers do not go together: Was it dry? Yes.; Was it damp? Yes." in [
        line["text"] for line in lines
    ]


def test_none_of_these_is_not_known_and_offers_nothing() -> None:
    course = make_course()
    _, _, told = consult(["wavy"])
    told["fits"] = False
    plan = course.adviser.plan(told)
    assert (plan["verdict"], plan["unexplained"], plan["fixes"]) == ("not-known", 1.0, [])


def test_the_chance_that_nothing_listed_brought_it_by_hand() -> None:
    """Inclusion by arithmetic: P(no listed cause shows the sign and it is seen) over P(seen)."""
    course = make_course()
    plan, _, _ = consult(["pale"], context=["paper=thin"])
    network = course.network
    leak = next(each["leak"] for each in network["symptoms"] if each["id"] == "pale")
    defect = next(each for each in network["defects"] if each["id"] == "faded")
    unlisted = next(each for each in network["defects"] if each["id"].startswith("~"))
    shows, strange = dict(defect["symptoms"])["pale"], dict(unlisted["symptoms"])["pale"]
    prior = next(each["prior"] for each in network["causes"] if each["id"].startswith("~"))
    silent = (1 - leak) * (1 - defect["leak"] * shows) * (1 - prior * strange)
    listed = (1 - 0.1 * 0.08 * shows) * (1 - 0.1 * 0.8 * shows)
    assert abs(plan["unexplained"] - (1 - silent) * listed / (1 - silent * listed)) < 1e-9


def test_the_manual_gives_every_word_with_its_figure() -> None:
    why = " ".join(RULES["priors-too-high"].why.split())
    for word, figure in {**COMMONNESS, **FREQUENCIES}.items():
        assert f"`{word}` {figure:g}" in why, word


def test_nothing_is_thrown_away_for_what_is_only_possible() -> None:
    """A hold lets find out first; the same cause, once it is sure, is a stop with its one fix."""
    course = make_course()
    guide: Any = course.adviser.guide
    bin_it = {
        **next(each for each in guide["remedies"] if each["id"] == "press-again"),
        "id": "bin-it",
        "discards": True,
    }
    lead: Any = {"id": "wrinkled", "probability": 0.9, "causes": [], "signs": ["wavy"]}
    chances = {"wrinkled": 0.9}

    def offer(stopped: bool, held: bool) -> list[str]:
        tried = {**guide, "remedies": [*guide["remedies"], bin_it]}
        fixes = choose_fixes(tried, [lead], chances, {}, {}, stopped, held, 1)  # type: ignore[arg-type]
        return [each["id"] for each in fixes]

    assert offer(stopped=True, held=False) == ["bin-it"]
    assert offer(stopped=False, held=True) == []
    assert offer(stopped=False, held=False) == ["bin-it"], "alone, where it is sure enough"
