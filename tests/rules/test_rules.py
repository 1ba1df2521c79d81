"""Every rule of `check`, on what breaks it and on what keeps it.

The examples of a rule stand in its docstring, where the manual takes them from; `example.txt`, in a
folder named after the rule, is what the rule says of the failing one, word for word. Where a rule
has more to it than its example shows, `bad.yml` and `good.yml` are laid over the pressed-flower
course of `tests/courses`, and `expected.txt` is all that `check` says about the first. After a
change of wording, `pytest tests/rules --accept` writes both anew.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import check, complete, overlay, split_files

from builder.checks import RULES
from builder.course import Course
from builder.diagnostics import Diagnostic, Severity, render_text, sort_diagnostics
from builder.library import build_library

HERE = Path(__file__).parent
FOLDERS = sorted(path.name for path in HERE.iterdir() if path.is_dir() and path.name[0] not in "_.")
FURTHER = [name for name in FOLDERS if (HERE / name / "bad.yml").exists()]
"""Rules with cases beyond their example."""


def test_every_rule_has_a_folder_and_every_folder_a_rule() -> None:
    assert sorted(RULES) == FOLDERS


def test_the_course_beneath_is_clean() -> None:
    assert render_text(check(overlay(""))) == ""


@pytest.mark.parametrize("rule", FURTHER)
def test_what_breaks_the_rule_is_reported_word_for_word(rule: str, accept: bool) -> None:
    findings = check(overlay((HERE / rule / "bad.yml").read_text()))
    rendered = render_text(findings)
    expected = HERE / rule / "expected.txt"
    if accept:
        expected.write_text(rendered)
    assert rendered == expected.read_text()
    assert rule in {found.rule for found in findings}


@pytest.mark.parametrize("rule", FURTHER)
def test_what_keeps_the_rule_is_clean(rule: str) -> None:
    assert render_text(check(overlay((HERE / rule / "good.yml").read_text()))) == ""


@pytest.mark.parametrize("rule", sorted(RULES))
def test_every_rule_is_explained(rule: str) -> None:
    told = RULES[rule]
    assert told.id == rule
    assert told.summary.endswith(".")
    assert len(told.why.split()) >= 15, "the manual says why it matters"
    assert told.failing
    assert told.passing


def find_in_example(rule: str, example: str) -> tuple[Diagnostic, ...]:
    """Give what the reader and the rule itself find in an example of the manual."""
    told = RULES[rule]
    if told.check is None:  # what the reader reports shows only in files as they stand
        files = split_files(example)[0]
        found = [each for each in build_library(files)[1] if each.location.file in files]
        own = [each for each in found if each.rule == rule]
        return sort_diagnostics(own or found)
    library, reading = build_library(complete(example))
    return sort_diagnostics([*reading, *told.run(Course(library))])


@pytest.mark.parametrize("rule", sorted(RULES))
def test_the_failing_example_is_reported_word_for_word(rule: str, accept: bool) -> None:
    found = find_in_example(rule, RULES[rule].failing)
    assert {each.rule for each in found} == {rule}, "an example shows its own rule only"
    expected = HERE / rule / "example.txt"
    if accept:
        expected.parent.mkdir(exist_ok=True)
        expected.write_text(render_text(found))
    assert render_text(found) == expected.read_text()


@pytest.mark.parametrize("rule", sorted(RULES))
def test_the_passing_example_passes(rule: str) -> None:
    assert find_in_example(rule, RULES[rule].passing) == ()


def test_safety_rules_are_errors_whatever_they_find() -> None:
    safety = {rule.id for rule in RULES.values() if rule.family == "safety"}
    assert safety == {
        "heat-after-flammable",
        "above-flash-point",
        "dose-over-limit",
        "over-safe-temperature",
        "drill-missing",
        "caution-missing",
        "vessel-unclear",
        "fact-missing",
        "order-unsafe",
        "vessel-unfit",
    }
    for rule in sorted(safety):
        findings = check(overlay((HERE / rule / "bad.yml").read_text()))
        severities = {found.severity for found in findings if found.rule == rule}
        assert severities == {Severity.ERROR}
