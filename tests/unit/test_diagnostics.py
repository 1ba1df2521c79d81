"""Findings: sorting, dropping repeats, and both renderings."""

from __future__ import annotations

import pytest

from builder.diagnostics import (
    Diagnostic,
    Location,
    Related,
    Severity,
    has_errors,
    render_json,
    render_text,
    sort_diagnostics,
)

ERROR = Diagnostic(
    "fix-unreachable",
    Severity.ERROR,
    Location("kb/fixes/press-again.yml", 3, 7),
    "fix:press-again",
    "no symptom leads to this fix",
    "name it in a cause",
    (Related(Location("kb/causes/too-wet.yml", 9, 1), "the cause"),),
)
WARNING = Diagnostic(
    "symptom-unused",
    Severity.WARNING,
    Location("kb/symptoms.yml", 12, 1),
    "symptom:torn",
    "no defect shows it",
)


def test_text_names_place_severity_message_and_rule() -> None:
    assert render_text([ERROR, WARNING]) == (
        "kb/fixes/press-again.yml:3:7: error: no symptom leads to this fix [fix-unreachable]\n"
        "  hint: name it in a cause\n"
        "  see kb/causes/too-wet.yml:9:1: the cause\n"
        "  see: teaching/rules/#fix-unreachable\n"
        "kb/symptoms.yml:12:1: warning: no defect shows it [symptom-unused]\n"
        "  see: teaching/rules/#symptom-unused\n"
    )


def test_nothing_to_say_is_no_text() -> None:
    assert render_text([]) == ""
    assert render_json([]) == []


def test_colour_paints_the_severity_only() -> None:
    painted = render_text([ERROR, WARNING], colour=True)
    assert "\x1b[31merror\x1b[0m: no symptom" in painted
    assert "\x1b[33mwarning\x1b[0m: no defect" in painted
    plain = painted.replace("\x1b[31m", "").replace("\x1b[33m", "").replace("\x1b[0m", "")
    assert plain == render_text([ERROR, WARNING])


def test_json_has_exactly_the_promised_keys() -> None:
    assert render_json([ERROR]) == [
        {
            "rule": "fix-unreachable",
            "severity": "error",
            "file": "kb/fixes/press-again.yml",
            "line": 3,
            "column": 7,
            "entry": "fix:press-again",
            "message": "no symptom leads to this fix",
            "hint": "name it in a cause",
            "related": [
                {"file": "kb/causes/too-wet.yml", "line": 9, "column": 1, "note": "the cause"}
            ],
        }
    ]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (Location("a.yml", 9, 9), Location("b.yml", 1, 1)),
        (Location("a.yml", 2, 9), Location("a.yml", 10, 1)),
        (Location("a.yml", 2, 3), Location("a.yml", 2, 12)),
    ],
)
def test_findings_are_sorted_by_file_line_and_column(first: Location, second: Location) -> None:
    early = Diagnostic("z", Severity.WARNING, first, "", "z")
    late = Diagnostic("a", Severity.ERROR, second, "", "a")
    assert sort_diagnostics([late, early]) == (early, late)


def test_one_place_is_sorted_by_rule_and_message_and_repeats_go() -> None:
    place = Location("a.yml")
    findings = [
        Diagnostic(rule, Severity.ERROR, place, "", message)
        for rule, message in (("b", "x"), ("a", "y"), ("a", "x"), ("b", "x"))
    ]
    found = [(each.rule, each.message) for each in sort_diagnostics(findings)]
    assert found == [("a", "x"), ("a", "y"), ("b", "x")]


def test_only_errors_stop_a_build() -> None:
    assert has_errors([WARNING, ERROR])
    assert not has_errors([WARNING])
    assert not has_errors([])
