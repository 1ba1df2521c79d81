"""`plan --to` and `plan --evenings`: what leads to a skill, and what a term holds."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner, Result

from builder.cli import main
from tests.helpers import PRESSED_FLOWERS


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["plan", *words, "--course", str(PRESSED_FLOWERS)])


def test_the_way_to_a_skill() -> None:
    told = json.loads(run("--to", "cook-paste", "--format", "json").output)
    assert told["lessons"] == ["pressing", "mounting"]
    assert told["bench_minutes"] == 7 + 23
    assert told["waiting_minutes"] == 7 * 24 * 60 + 20 + 12 * 60
    assert [each["lessons"] for each in told["sessions"]] == [["pressing"], ["mounting"]]
    assert told["unfitting"] == []


def test_what_is_known_is_skipped() -> None:
    told = json.loads(
        run("--to", "mounting", "--knows", "blot-a-flower", "--format", "json").output
    )
    assert told["lessons"] == ["mounting"]
    assert told["skipped"] == ["pressing"]


def test_a_term_waits_for_what_must_wait() -> None:
    """The flower lies for seven days; evenings are four days apart, so the second is too early."""
    told = json.loads(
        run(
            *("--evenings", "3", "--length", "150 min", "--every", "4", "--format", "json"),
            *("--begin", "2030-09-02"),
        ).output
    )
    assert [each["lessons"] for each in told["sessions"]] == [["pressing"], [], ["mounting"]]
    assert [each["date"] for each in told["sessions"]] == ["2030-09-02", "2030-09-06", "2030-09-10"]


def test_what_does_not_fit_says_why_and_what_would_mend_it() -> None:
    told = json.loads(
        run("--evenings", "2", "--length", "70 min", "--students", "8", "--format", "json").output
    )
    (left,) = told["unfitting"]
    assert left["lesson"] == "mounting"
    assert "with 8 students it takes" in left["why"]
    assert "min of 70" in left["why"]
    assert "students" in left["mend"]
    words = run("--evenings", "1", "--length", "150 min").output
    assert "Does not fit:" in words
    assert "Press a flower: it waits until day 7 after the first evening, after the last" in words


def test_several_skills_may_stand_behind_one_option_with_commas() -> None:
    apart = run("--to", "pressing", "--to", "blot-a-flower").output
    assert run("--to", "pressing, blot-a-flower").output == apart
    assert run("--to", "pressing,sing").exit_code == 2


def test_wrong_use_is_said_plainly() -> None:
    assert "none is called so; the skills are blot-a-flower" in run("--to", "sing").output
    assert run("--to", "sing").exit_code == 2
    assert run("autumn", "--to", "pressing").exit_code == 2
    slip = run("--to", "blot-a-flowr").output
    assert 'did you mean "blot-a-flower"?' in slip
    assert "the skills are" not in slip
    assert '"150 min"' in run("--evenings", "2", "--length", "150").output
    assert "no length of time" in run("--evenings", "2", "--length", "3 kg").output
    assert run().exit_code == 2
    assert not Path("plan-None").exists()
