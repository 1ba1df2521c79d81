"""The calculate command: answers, refusals, slips of the keyboard, and the list."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from builder.cli import main
from tests.helpers import PRESSED_FLOWERS

# 120 g of paste at 20 %, brought to 8 %: the starch, 24 g, stays the same, so 300 g in all.
ASKED = ("thin-paste", "paste_mass=120 g", "target=8")


def run(*arguments: str, course: Path = PRESSED_FLOWERS) -> Result:
    return CliRunner().invoke(main, ["calculate", "--course", str(course), *arguments])


def read_json(done: Result) -> dict[str, Any]:
    """Read the one object on standard output; nothing else may stand anywhere."""
    assert done.stderr == ""
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_answers_stand_in_lines_with_both_unit_systems() -> None:
    done = run(*ASKED)
    assert done.exit_code == 0
    assert done.stdout.replace("\u00a0", " ").splitlines() == [
        "Water to stir in  180.0 g (6.35 oz)",
        "Thin paste        300.0 g (10.6 oz)",
        "Our examples, not your values: Its strength 20 %.",
    ]


def test_json_holds_value_unit_and_text() -> None:
    found = read_json(run(*ASKED, "--format", "json"))
    assert found["warnings"] == []
    assert list(found["outputs"]) == ["water", "total"]
    assert found["defaults_used"] == ["strength"]
    assert set(found["outputs"]["water"]) == {"value", "unit", "text"}
    assert found["outputs"]["total"]["value"] == pytest.approx(300)
    assert found["outputs"]["total"]["unit"] == "g"


def test_other_units_are_taken() -> None:
    found = read_json(run("thin-paste", "paste_mass=1 lb", "--format", "json"))
    # One pound is 453.59237 g by definition; 20 % to 10 % doubles it.
    assert found["outputs"]["total"]["value"] == pytest.approx(907.18474)


def test_a_refusal_names_the_input_and_ends_with_one() -> None:
    words = ("thin-paste", "strength=5 %", "target=8 %")
    done = run(*words)
    assert done.exit_code == 1
    assert done.stdout == ""
    assert done.stderr.startswith("target: Water only makes a paste thinner.")
    refused = run(*words, "--format", "json")
    assert refused.exit_code == 1
    (error,) = read_json(refused)["errors"]
    assert error["input"] == "target"
    assert error["message"] == done.stderr.removeprefix("target: ").rstrip("\n")


@pytest.mark.parametrize(
    ("words", "name", "message"),
    [
        (
            ("thin-paste", "pastemass=1 g"),
            "pastemass",
            'thin-paste has no input "pastemass". Did you mean "paste_mass"?',
        ),
        (
            ("thin-paste", "zzz=1"),
            "zzz",
            'thin-paste has no input "zzz". It takes paste_mass, strength, target.',
        ),
        (
            ("thin-paste", "120"),
            "",
            '"120" is not a value; write name=value, as in paste_mass=...',
        ),
        (("thin-paste", "target=1", "target=2"), "target", '"target" is given twice.'),
    ],
)
def test_a_slip_in_a_word_is_wrong_use(words: tuple[str, ...], name: str, message: str) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert done.stderr == f"{name or 'error'}: {message}\n"
    in_json = run(*words, "--format", "json")
    assert in_json.exit_code == 2
    assert read_json(in_json) == {"errors": [{"input": name, "message": message}]}


def test_a_slip_in_the_calculators_name_gets_a_suggestion() -> None:
    done = run("thinpaste")
    assert done.exit_code == 2
    assert 'there is no calculator "thinpaste"; did you mean "thin-paste"?' in done.stderr


def test_a_value_may_hold_an_equals_sign_and_rows() -> None:
    done = run("thin-paste", "target=a=b")
    assert done.exit_code == 1
    assert "“a=b”" in done.stderr


def test_the_list_tells_inputs_and_outputs() -> None:
    done = run("--list")
    assert done.exit_code == 0
    assert done.stdout.startswith("thin-paste: How much water")
    assert "  paste_mass (g)  Paste, default 100 g\n" in done.stdout
    assert "  -> water (g)  Water to stir in\n" in done.stdout
    (listed,) = read_json(run("--list", "--format", "json"))["calculators"]
    assert [each["name"] for each in listed["inputs"]] == ["paste_mass", "strength", "target"]


@pytest.mark.parametrize("words", [(), ("thin-paste", "--list")])
def test_one_calculator_or_the_list(words: tuple[str, ...]) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert done.stderr == "error: name one calculator, or ask for --list\n"


def test_a_broken_calculator_shows_its_findings(tmp_path: Path) -> None:
    (tmp_path / "kb" / "calculators").mkdir(parents=True)
    (tmp_path / "lessons").mkdir()
    broken = tmp_path / "kb" / "calculators" / "halve.yml"
    broken.write_text("name: Halve\nsummary: Halves.\n", encoding="utf-8")
    done = run("halve", course=tmp_path)
    assert done.exit_code == 1
    assert "kb/calculators/halve.yml:1:1: error:" in done.stdout
    assert "field-missing" in done.stdout
    in_json = run("halve", "--format", "json", course=tmp_path)
    assert {each["rule"] for each in read_json(in_json)["findings"]} == {"field-missing"}


def test_a_formula_that_cannot_run_is_told_without_a_traceback(tmp_path: Path) -> None:
    folder = tmp_path / "kb" / "calculators"
    folder.mkdir(parents=True)
    (tmp_path / "lessons").mkdir()
    text = (PRESSED_FLOWERS / "kb" / "calculators" / "thin-paste.yml").read_text(encoding="utf-8")
    text = text.replace("formula: paste_mass + water", "formula: paste_mass + strength")
    (folder / "thin-paste.yml").write_text(text, encoding="utf-8")
    done = run("thin-paste", course=tmp_path)
    assert done.exit_code == 1
    assert done.stderr.startswith("error: ")
    assert "benchlore check shows where" in done.stderr
    assert "Traceback" not in done.stderr
