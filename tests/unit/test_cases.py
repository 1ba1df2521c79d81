"""Recorded cases, what they teach, and a consultation from end to end."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from helpers import PRESSED_FLOWERS, overlay

from builder.checks import find_unsafe_fixes
from builder.cli import main
from builder.course import Course
from builder.diagnosis.cases import explain_miss, run_cases
from builder.diagnosis.consult import describe_plan, read_answers
from builder.diagnosis.learning import propose_numbers, write_diff
from builder.diagnosis.network import build_network, update_chance
from builder.library import Library, build_library
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.shapes import IndexedNetwork

CASE = "# file: kb/cases/{name}.yml\nsummary: A case.\nseen: [wavy]\n{more}was: [{was}]\n"


def load_network(library: Library) -> IndexedNetwork:
    return index_network(build_network(library))


def write_cases(*cases: tuple[str, str]) -> dict[str, str]:
    text = "".join(
        CASE.format(name=f"case-{number}", more=more, was=was)
        for number, (more, was) in enumerate(cases)
    )
    return dict(overlay(text))


def test_a_case_is_found_at_the_place_of_its_best_cause() -> None:
    library, _ = build_library(
        write_cases(("yes: [less-than-a-week]\n", "lifted-early"), ("", "lifted-early"))
    )
    found, unsure = run_cases(library, load_network(library))
    assert (found.case, found.place, found.first[0]) == ("case-0", 1, "lifted-early")
    assert unsure.place == 2  # without an answer the commoner cause comes first


def test_a_miss_names_what_misled_and_the_smallest_change() -> None:
    library, _ = build_library(write_cases(("no: [less-than-a-week]\n", "lifted-early")))
    miss = explain_miss(library, Course(library).indexed_network, library.cases["case-0"])
    assert miss.cause == "lifted-early"
    assert miss.misled_by == ("less-than-a-week",)


def test_the_mean_moves_as_a_beta_prior_says() -> None:
    """Beta-binomial: prior Beta(k m, k (1 - m)), k = 10; arithmetic on the textbook formula."""
    assert update_chance(0.5, 10, 10) == pytest.approx(0.75)
    assert update_chance(0.8, 0, 0) == pytest.approx(0.8)
    assert update_chance(0.2, 0, 30) == pytest.approx(0.05)


def test_what_the_cases_say_is_proposed_as_a_diff_and_never_written() -> None:
    files = write_cases(*[("no: [picked-in-dew]\n", "flower-too-wet")] * 6)
    library, findings = build_library(files)
    assert findings == []
    proposals = propose_numbers(library)
    (wet,) = [each for each in proposals if each.entry.id == "flower-too-wet"]
    assert (wet.now, wet.hits, wet.cases) == (0.8, 0, 6)
    assert wet.proposed == pytest.approx(10 * 0.8 / 16)
    diff = write_diff(proposals, files, date(2030, 5, 2))
    assert "-  - {question: picked-in-dew, yes: usually}" in diff
    counted = "yes: usually, learned: {hits: 0, cases: 6, on: 2030-05-02}}"
    assert f"+  - {{question: picked-in-dew, {counted}" in diff
    again, _ = build_library(files)
    assert again.causes["flower-too-wet"].evidence[0].yes == 0.8
    # Taken over, it proposes nothing more: the same cases are never counted twice.
    path = "kb/causes/flower-too-wet.yml"
    files[path] = files[path].replace("yes: usually}", counted)
    taken, findings = build_library(files)
    assert findings == []
    assert [each for each in propose_numbers(taken) if each.entry.id == "flower-too-wet"] == []
    invented = {
        name: text.replace("was:", "origin: invented\nwas:") if "/cases/" in name else text
        for name, text in files.items()
    }
    assert propose_numbers(build_library(invented)[0]) == []


def test_few_cases_or_two_causes_at_once_propose_nothing() -> None:
    few, _ = build_library(write_cases(*[("no: [picked-in-dew]\n", "flower-too-wet")] * 2))
    assert propose_numbers(few) == []
    both, _ = build_library(
        write_cases(*[("no: [picked-in-dew]\n", "flower-too-wet, lifted-early")] * 6)
    )
    assert propose_numbers(both) == []


def test_words_on_the_command_line_are_read_or_named() -> None:
    library, _ = build_library(overlay(""))
    told, wrong = read_answers(
        library, ["wavy"], ["brown-edge"], ["picked-in-dew=yes", "less-than-a-week=unknown"]
    )
    findings = told["findings"]
    assert wrong == []
    assert findings["yes"] == ["picked-in-dew"]
    assert findings["skipped"] == ["less-than-a-week"]
    _, wrong = read_answers(
        library,
        ["wavi", "wavy"],
        ["wavy"],
        ["picked-in-dew", "picked-in-due=yes", "less-than-a-week=yes", "less-than-a-week=no"],
    )
    assert wrong == [
        'there is no symptom "wavi"; did you mean "wavy"?',
        '"picked-in-dew" is no answer; write QUESTION=yes, QUESTION=no or =unknown',
        'there is no question "picked-in-due"; did you mean "picked-in-dew"?',
        'the question "less-than-a-week" is answered both yes and no',
        'the symptom "wavy" is said to be there and not to be there',
    ]


def test_a_symptom_that_was_asked_about_is_answered_like_a_question() -> None:
    library, _ = build_library(overlay(""))
    told, wrong = read_answers(library, ["wavy"], [], ["damp-feel=no", "brown-edge=unknown"])
    findings = told["findings"]
    assert wrong == []
    assert (findings["present"], findings["absent"]) == (["wavy"], ["damp-feel"])
    assert findings["skipped"] == ["brown-edge"]
    _, wrong = read_answers(library, ["wavy"], [], ["wavy=no"])
    assert wrong == ['the symptom "wavy" is said to be there and not to be there']


def test_a_fix_that_breaks_a_rule_of_safety_is_not_offered(tmp_path: Path) -> None:
    """The course of the rule about heat after something flammable, whose fix does just that."""
    bad = Path(__file__).parents[1] / "rules" / "heat-after-flammable" / "bad.yml"

    def offer(name: str, files: Mapping[str, str]) -> set[str]:
        for path, text in files.items():
            (tmp_path / name / path).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / name / path).write_text(text)
        words = ["diagnose", "--course", str(tmp_path / name), "--format", "json"]
        done = CliRunner().invoke(main, [*words, "--symptom", "wavy"])
        assert done.exit_code == 0, done.output
        return {fix["id"] for fix in json.loads(done.output)["fixes"]}

    assert "press-again" in offer("safe", overlay(""))
    files = overlay(bad.read_text())
    assert find_unsafe_fixes(Course(build_library(files)[0])) == {"press-again"}
    assert "press-again" not in offer("unsafe", files)


def test_a_consultation_ranks_explains_and_orders() -> None:
    library, _ = build_library(overlay(""))
    adviser = Course(library).adviser
    told, _ = read_answers(library, ["wavy"], [], ["less-than-a-week=yes"])
    answer = describe_plan(adviser.plan(told), adviser.texts)
    assert answer["verdict"] == "explained"
    assert answer["causes"][0]["id"] == "lifted-early"
    reasons = {reason["id"] for reason in answer["causes"][0]["because"]}
    assert "less-than-a-week" in reasons
    assert answer["defects"][0]["id"] == "wrinkled-sheet"
    assert "brown-petals" not in {each["id"] for each in answer["defects"][:1]}
    assert answer["fixes"][0] == {
        "id": "press-again",
        "when": "now",
        "ratio": answer["fixes"][0]["ratio"],
    }
    whens = [fix["when"] for fix in answer["fixes"]]
    assert whens == sorted(whens, reverse=True)  # now before next


def test_the_command_gives_the_shape_of_the_contract() -> None:
    run = CliRunner()
    words = ["diagnose", "--course", str(PRESSED_FLOWERS), "--format", "json", "--symptom", "wavy"]
    done = run.invoke(main, words)
    assert done.exit_code == 0, done.output
    answer = json.loads(done.output)
    promised = {"verdict", "stop", "unexplained", "defects", "causes", "next_question", "fixes"}
    assert promised <= set(answer)
    assert set(answer["defects"][0]) == {"id", "probability"}
    assert set(answer["next_question"]) == {"id", "gain"}
    assert all(set(fix) == {"id", "when", "ratio"} for fix in answer["fixes"])
    for cause in answer["causes"]:
        assert set(cause) == {"id", "probability", "because"}
        assert 0 <= cause["probability"] <= 1
        assert isinstance(cause["because"], list)
    assert {fix["when"] for fix in answer["fixes"]} <= {"now", "next"}


def test_a_slip_on_the_command_line_gets_a_suggestion_and_status_2() -> None:
    run = CliRunner()
    course = ["--course", str(PRESSED_FLOWERS)]
    done = run.invoke(main, ["diagnose", *course, "--symptom", "wavvy"])
    assert done.exit_code == 2
    assert 'did you mean "wavy"?' in done.output
    nothing = run.invoke(main, ["diagnose", *course])
    assert nothing.exit_code == 2
    assert "--symptom" in nothing.output


def test_check_learn_prints_json() -> None:
    run = CliRunner()
    words = ["check", "--learn", "--format", "json", "--course", str(PRESSED_FLOWERS)]
    done = run.invoke(main, words)
    assert done.exit_code == 0, done.output
    assert set(json.loads(done.output)) == {"prior_strength", "proposals", "diff"}


def test_an_answer_that_speaks_for_another_cause_misleads_too() -> None:
    library, _ = build_library(write_cases(("yes: [picked-in-dew]\n", "lifted-early")))
    miss = explain_miss(library, Course(library).indexed_network, library.cases["case-0"])
    assert miss.misled_by == ("picked-in-dew",)


def test_the_number_that_would_have_to_change_may_be_another_causes() -> None:
    """Three causes that differ from the true one in nothing but an answer they claim too often."""
    files = write_cases(("yes: [smooth]\n", "lifted-early"))
    files["kb/questions/smooth.yml"] = "ask: Is it smooth?\nyes_otherwise: 0.4\n"
    links = ""
    for name in ("rival-a", "rival-b", "rival-c"):
        files[f"kb/causes/{name}.yml"] = (
            "name: Rival\nsummary: It is.\nwhat_happens: So.\nhow_common: 0.1\n"
            "evidence:\n  - {question: smooth, yes: 0.55}\n"
            "fixes:\n  - {fix: press-again, helps: often}\n"
        )
        links += f"  - {{cause: {name}, often: sometimes}}\n"
    path = "kb/defects/wrinkled-sheet.yml"
    files[path] = files[path].replace("  - {cause: flower-too-wet, often: often}\n", links)
    files[path] = files[path].replace(", causes: [flower-too-wet]", "")
    library, _ = build_library(files)
    (result,) = run_cases(library, load_network(library))
    assert result.place == 4
    change = explain_miss(library, Course(library).indexed_network, library.cases["case-0"]).change
    assert change is not None
    assert (change.entry.id, change.route) == ("rival-a", ("how_common",))
