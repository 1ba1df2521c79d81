"""Calculators: what they read, answer and refuse, in Python and in V8 alike; and their checks."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from builder.calculators import (
    CalculatorError,
    check_calculator,
    check_table,
    compile_calculator,
    compile_table,
    describe_calculator,
    render_answers,
    render_listing,
)
from builder.formulas.javascript import compile_to_javascript
from builder.model.calculators import Calculator, Table
from builder.twin import calculators as runtime
from builder.twin.quantities import read_quantity
from builder.units import load_registry
from tests.golden import check_golden
from tests.helpers import read_yaml
from tests.sample_calculators import (
    BATH,
    DYES,
    compile_bath,
    load_calculator,
    load_table,
    write_page_scripts,
)
from tests.v8 import TWIN_AT_HAND, Engine, start_engine

CASES: list[dict[str, Any]] = read_yaml(
    (Path(__file__).parents[1] / "cases" / "inputs.yml").read_text(encoding="utf-8")
)["read"]
TABLES = {"dyes": load_table()}
EXAMPLE = {"name": "One", "outputs": {"half": "50 g"}, "citation": "book"}


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    with start_engine(write_page_scripts([compile_bath()])) as started:
        yield started


@pytest.fixture(scope="module")
def bare_engine() -> Iterator[Engine]:
    """The runtime with nothing around it, so that single functions can be called."""
    with start_engine(TWIN_AT_HAND) as started:
        yield started


def run_both(engine: Engine, raw: Mapping[str, Any]) -> dict[str, Any]:
    """Run the dye bath in both languages, insist that they agree, and give what Python gave."""
    here = dict(compile_bath().calculate(raw).data)
    there = engine.call("benchlore.calculate", "dye-bath", raw)
    assert_same(here, there)
    return here


def assert_same(here: Any, there: Any) -> None:
    if isinstance(here, float | int) and not isinstance(here, bool):
        assert math.isfinite(here)
        assert math.isclose(here, there, rel_tol=1e-9, abs_tol=1e-12)
    elif isinstance(here, dict):
        assert list(here) == list(there)
        for name in here:
            assert_same(here[name], there[name])
    elif isinstance(here, list):
        assert len(here) == len(there)
        for one, two in zip(here, there, strict=True):
            assert_same(one, two)
    else:
        assert here == there


def simple(**fields: Any) -> Calculator:
    """Make a calculator that halves a mass, with some fields changed."""
    base: dict[str, Any] = {
        "id": "halve",
        "name": "Halve",
        "summary": "Halves.",
        "inputs": {"whole": {"label": "Whole", "unit": "g", "default": "100 g"}},
        "outputs": {"half": {"label": "Half", "formula": "whole / 2", "unit": "g"}},
        "examples": [EXAMPLE, EXAMPLE],
        "readings": [{"words": "w", "symbols": "s"}],
        "limits": "None.",
    }
    return Calculator.model_validate(base | fields)


def find_problems(**fields: Any) -> list[tuple[str, str, str]]:
    """Check a changed calculator; gives place, rule and message of each problem."""
    return [
        ("/".join(map(str, problem.route)), problem.rule, problem.message)
        for problem in check_calculator(simple(**fields), TABLES)
    ]


# Reading ------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['field']}={case['typed']}")
def test_what_is_typed_is_read_or_refused_in_both_languages(
    case: dict[str, Any], bare_engine: Engine
) -> None:
    description = compile_bath().description
    field = next(part for part in description["inputs"] if part["id"] == case["field"])
    typed = str(case["typed"])
    here = runtime.read_field(description, typed, field)
    there = bare_engine.call("read_field", description, typed, field)
    assert_same(list(here), there)
    if "says" in case:
        assert here[:2] == [None, case["says"]]
    else:
        assert here[1] == ""
        assert_same(case["is"], here[0])


def test_rows_may_come_as_mappings(engine: Engine) -> None:
    rows = [{"dye": "weld", "part": "100 %"}, {"dye": "", "part": ""}, {"dye": None}]
    as_text = run_both(engine, {"dyes": "weld: 100 %"})
    assert run_both(engine, {"dyes": rows}) == as_text


def test_numbers_may_come_as_numbers() -> None:
    assert compile_bath().calculate({"yarn": 200, "skeins": 3}).outputs["dye"]["value"] > 0


def test_a_refused_row_is_named_by_its_number(engine: Engine) -> None:
    (error,) = run_both(engine, {"dyes": "weld: 100 %; madder: 5 g"})["errors"]
    assert (error["input"], error["row"]) == ("dyes", 2)
    (error,) = run_both(engine, {"yarn": "x"})["errors"]
    assert "row" not in error


# Calculating --------------------------------------------------------------------------------


def test_defaults_give_an_answer_with_text_in_both_systems(engine: Engine) -> None:
    found = run_both(engine, {})
    # By hand: 100 g * 2 % * 1.5 / (0.6 * 20 % + 0.4 * 15 %) = 16.67 g.
    assert found["outputs"]["dye"]["value"] == pytest.approx(3 / 0.18)
    assert found["outputs"]["dye"]["text"] == "16.7\u00a0g"
    assert found["outputs"]["dye"]["us"] == "0.59\u00a0oz"
    assert found["outputs"]["hottest"]["us"] == "140\u00a0°F"
    assert found["outputs"]["strong"]["value"] == ["madder"]
    assert found["outputs"]["verdict"]["text"] == "Fine for 4 in the Pot; strong: madder."
    assert "room_left" not in found["outputs"]
    assert "cost" not in found["outputs"]
    assert found["warnings"] == []


def test_what_is_given_shows_the_answers_that_need_it(engine: Engine) -> None:
    found = run_both(
        engine,
        {
            "ceiling": "95",
            "costs": "a: 12.5: 2 lb: 1 lb, b: 3 EUR: 100: 8",
            "vessel": "Indigo vat",
            "depth": "5",
        },
    )
    assert found["outputs"]["cost"]["text"] == "6.49\u00a0EUR"
    assert found["outputs"]["room_left"]["text"] == "35\u00a0°C"
    assert found["outputs"]["room_left"]["us"] == "63\u00a0°F"
    assert found["outputs"]["verdict"]["text"] == "Use the vat, 30\u00a0cm (11.8\u00a0in) deep."
    assert found["warnings"] == [
        {
            "id": "deep-shade",
            "message": "5\u00a0% is a deep shade; 20\u00a0g (0.71\u00a0oz) more salt.",
        }
    ]


def test_all_unreadable_inputs_are_named_at_once(engine: Engine) -> None:
    found = run_both(engine, {"yarn": "4 fl oz", "bath": "", "depth": "2", "colour": "red"})
    assert [error["input"] for error in found["errors"]] == ["colour", "yarn", "bath"]
    assert found["errors"][0]["message"] == "There is no input named “colour”."


def test_refusals_come_in_order_and_show_quantities(engine: Engine) -> None:
    assert run_both(engine, {"dyes": "madder: 60 %, weld: 50 %", "ceiling": "50 degC"}) == {
        "errors": [{"input": "dyes", "message": "The parts come to more than 100\u00a0%."}]
    }
    assert run_both(engine, {"ceiling": "50 degC"}) == {
        "errors": [
            {
                "input": "rise",
                "message": "40\u00a0°C (104\u00a0°F) and 20\u00a0°C (36\u00a0°F) more is above"
                " 50\u00a0°C (122\u00a0°F).",
            }
        ]
    }


def test_a_refusal_comes_before_the_plain_failure_of_a_later_value(engine: Engine) -> None:
    """With 50 skeins `spare` divides by zero; a refusal that does not need it still speaks."""
    refused = run_both(engine, {"skeins": "50", "dyes": "weld: 1 %", "depth": "7", "factor": "9"})
    assert refused["errors"][0]["input"] == "depth"
    failed = run_both(engine, {"skeins": "50"})
    assert failed == {
        "errors": [
            {
                "input": "skeins",
                "message": "Spare: there is no answer, because it would divide by zero.",
            }
        ]
    }


def test_a_missing_cell_of_a_table_is_a_refusal(engine: Engine) -> None:
    found = run_both(engine, {"dyes": "indigo: 50 %"})
    assert found["errors"][0]["message"] == (
        'Strength of the dyes: there is no answer, because the row "indigo" of Dyes has no value'
        " for strength."
    )


def test_hidden_fields_are_not_checked(engine: Engine) -> None:
    assert "outputs" in run_both(engine, {"deep": ""})
    assert run_both(engine, {"deep": "30 cm"})["errors"] == [
        {
            "input": "deep",
            "message": "Depth of the vat is not asked for when Vessel is “Pot”: leave it out, or"
            " change that.",
        }
    ]
    assert run_both(engine, {"deep": "nonsense", "vessel": "indigo-vat"})["errors"]


def test_answers_that_are_too_large_are_refused(engine: Engine) -> None:
    found = run_both(engine, {"factor": "1e15", "yarn": "5 kg", "dyes": "weld: 0.001 %"})
    assert "errors" in found


def test_json_holds_what_programs_read() -> None:
    bath = compile_bath()
    answer = bath.calculate().to_json()
    assert set(answer) == {"outputs", "warnings", "defaults_used"}
    assert answer["defaults_used"][:3] == ["yarn", "depth", "water"]
    assert "deep" not in answer["defaults_used"]  # not asked for
    assert "yarn" not in bath.calculate({"yarn": "50 g"}).to_json()["defaults_used"]
    assert set(answer["outputs"]["dye"]) == {"value", "unit", "text"}
    registry = load_registry()
    for output in answer["outputs"].values():
        registry.Unit(output["unit"])  # pint reads every unit
    assert bath.calculate({"yarn": "x"}).to_json() == {
        "errors": [{"input": "yarn", "message": "Yarn: there is no number in “x”."}]
    }
    json.dumps(answer)


def test_every_known_unit_is_named_as_pint_reads_it() -> None:
    from builder.twin.number_format import UNITS

    registry = load_registry()
    for unit in UNITS:
        registry.Unit(runtime.name_unit({"units": {}}, unit))


def test_money_is_of_the_course() -> None:
    pounds = compile_bath("GBP")
    raw = {"costs": "a: £12.5: 100: 8"}
    assert pounds.calculate(raw).outputs["cost"]["text"] == "1.00\u00a0GBP"
    assert pounds.calculate(raw).outputs["cost"]["unit"] == "GBP"
    assert "Prices are in GBP" in pounds.calculate({"costs": "a: 5 EUR: 1: 1"}).errors[0]["message"]


def test_values_are_given_in_base_units() -> None:
    values = compile_bath().read_values({"yarn": "1 lb"})
    assert values is not None
    assert values["yarn"] == pytest.approx(0.45359237)
    assert compile_bath().read_values({"yarn": ""}) is None


# Plot and list ------------------------------------------------------------------------------


def test_a_plot_runs_along_an_input_and_leaves_gaps(engine: Engine) -> None:
    bath = compile_bath()
    here = bath.sample_plot({"yarn": "200 g"})
    assert here is not None
    assert_same(here, engine.call("benchlore.samplePlot", "dye-bath", {"yarn": "200 g"}))
    dye, beyond = here["curves"]
    assert len(dye) == 81
    assert dye[-1] == pytest.approx([8.0, 200 * 0.08 * 1.5 / 0.18])
    assert 0 < len(beyond) < 81  # no logarithm of what is not positive
    assert here["bands"][0] == pytest.approx([2.0, 40.0])
    assert here["marks"][0] == pytest.approx([2.0, 200 * 0.02 * 1.5 / 0.18])
    assert bath.sample_plot({"yarn": ""}) is None
    assert compile_calculator(simple(), {}).sample_plot() is None


def test_a_calculator_is_listed_with_inputs_and_outputs() -> None:
    described = describe_calculator(compile_bath())
    assert described["inputs"][0] == {
        "name": "yarn",
        "label": "Yarn",
        "kind": "quantity",
        "unit": "g",
        "default": "100 g",
        "optional": False,
        "bounds": "more than 0\u00a0g and at most 5\u00a0kg (11\u00a0lb)",
        "choices": [],
        "columns": [],
    }
    assert described["outputs"][0] == {"name": "dye", "label": "Dye", "unit": "g"}
    text = render_listing(described)
    assert text.startswith("dye-bath: How much dye a bath of yarn takes.\n")
    assert "  vessel  Vessel: pot, indigo-vat, default pot\n" in text
    assert "  -> verdict  Verdict\n" in text


# Scripts ------------------------------------------------------------------------------------


def test_scripts_are_plain_and_fill_one_namespace() -> None:
    script = write_page_scripts([compile_bath()])
    assert not re.search(r"^\s*(import|export)\b", script, re.MULTILINE)
    assert "</script" not in script
    with start_engine("var before = Object.keys(globalThis).join();", script) as engine:
        added = engine.call(
            "(function () { return Object.keys(globalThis).filter("
            "function (name) { return before.split(',').indexOf(name) < 0; }); })"
        )
    assert added == ["benchlore"]


def test_formulas_are_compiled_as_kept(accept: bool) -> None:
    """Every division, power and look-up is a call to a function of ours; `+` stays a plain `+`."""
    text = compile_to_javascript(compile_bath().trees)
    check_golden("dye-bath-formulas.js", text, accept)
    assert " / " not in text
    assert "v.bath + v.rise" in text


def test_the_long_form_is_the_same_in_both_languages(bare_engine: Engine) -> None:
    bath = compile_bath()
    assert_same(bath.description, bare_engine.call("expand_description", bath.short))


@pytest.mark.parametrize(
    ("same", "typed", "expected"),
    [
        ("keep", "a: 1 %, b: 2 %, A: 3 %", [["a", 0.01], ["b", 0.02], ["A", 0.03]]),
        ("add", "a: 1 %, b: 2 %, A: 3 %", [["a", 0.04], ["b", 0.02]]),
        ("add", "a: 60 %, a: 50 %", "Parts: “a” stands in several rows, together: Part must be"),
        ("refuse", "a: 1 %, b: 2 %, A: 3 %", "Parts: “A” stands in several rows; write it once."),
    ],
)
def test_rows_of_one_name_are_kept_added_or_refused(same: str, typed: str, expected: Any) -> None:
    entry = simple(
        inputs={
            "parts": {
                "label": "Parts",
                "kind": "rows",
                "same_name": same,
                "default": "x: 1 %",
                "columns": {
                    "name": {"label": "Name", "kind": "text"},
                    "part": {
                        "label": "Part",
                        "kind": "quantity",
                        "unit": "percent",
                        "at_most": "100 %",
                    },
                },
            }
        },
        outputs={"whole": {"label": "Whole", "formula": "sum(r.part for r in parts)", "unit": "%"}},
    )
    compiled = compile_calculator(entry, {})
    values = compiled.read_values({"parts": typed})
    if isinstance(expected, str):
        assert expected in compiled.calculate({"parts": typed}).errors[0]["message"]
    else:
        assert values is not None
        found = [[row["name"], pytest.approx(row["part"])] for row in values["parts"]]
        assert found == expected


def test_a_required_input_is_never_our_example() -> None:
    inputs = {
        "a": {"label": "A", "unit": "g", "default": "1 g", "required": True},
        "b": {"label": "B", "unit": "g", "default": "2 g"},
    }
    outputs = {"c": {"label": "C", "formula": "a + b", "unit": "g"}}
    compiled = compile_calculator(simple(inputs=inputs, outputs=outputs), {})
    assert compiled.calculate().outputs["c"]["value"] == pytest.approx(3)
    assert compiled.calculate().examples == ("a", "b")
    assert compiled.calculate({"a": "5 g"}).examples == ("b",)
    waiting = compiled.calculate({"b": "5 g"})
    assert waiting.outputs == {}
    assert waiting.to_json()["left_out"] == ["c"]
    assert "Left out until you give your own values (A): C." in render_answers(compiled, waiting)


def test_rows_from_a_spreadsheet_fill_their_columns(engine: Engine) -> None:
    pasted = "Madder root\t60 %\t\nweld\t40 %\t200 mg/g\n"
    expected = [["Madder root", "60 %", ""], ["weld", "40 %", "200 mg/g"]]
    bath = compile_bath()
    field = next(each for each in bath.description["inputs"] if each["id"] == "dyes")
    assert runtime.part_rows(bath.description, pasted, field) == expected
    assert engine.call("benchlore.partRows", "dye-bath", "dyes", pasted) == expected
    values = bath.read_values({"dyes": pasted})
    assert values is not None
    assert [row["part"] for row in values["dyes"]] == pytest.approx([0.6, 0.4])
    across = engine.call("benchlore.partRows", "dye-bath", "readings", "10\t11\t12,5")
    assert across == [["10"], ["11"], ["12,5"]]


# Checks -------------------------------------------------------------------------------------


def test_a_sound_calculator_and_table_have_no_problems() -> None:
    assert check_calculator(load_calculator(), TABLES) == []
    assert check_table(load_table()) == []
    assert find_problems() == []


def test_a_mixed_formula_is_reported_with_a_caret() -> None:
    (problem,) = check_calculator(
        simple(
            inputs={
                "whole": {"label": "Whole", "unit": "g", "default": "1 g"},
                "water": {"label": "Water", "unit": "mL", "default": "1 mL"},
            },
            outputs={"half": {"label": "Half", "formula": "whole + water", "unit": "g"}},
        ),
        {},
    )
    assert problem.route == ("outputs", "half", "formula")
    assert problem.rule == "unit-mismatch"
    assert problem.message == (
        '"whole" is a mass and "water" is a volume: you can only add like and like'
    )
    assert problem.hint == "whole + water\n                ^^^^^"


HALF = {"label": "Half", "formula": "whole / 2", "unit": "g"}


@pytest.mark.parametrize(
    ("fields", "place", "rule", "message"),
    [
        (
            {"outputs": {"half": HALF | {"unit": "mL"}}},
            "outputs/half/formula",
            "unit-mismatch",
            "the formula gives a mass; mL is a volume",
        ),
        (
            {"outputs": {"half": HALF | {"unit": "zorkle"}}},
            "outputs/half/unit",
            "value-invalid",
            '"zorkle" is not a unit we know',
        ),
        (
            {"outputs": {"half": HALF | {"formula": "hole / 2"}}},
            "outputs/half/formula",
            "formula-invalid",
            'there is no name "hole" here; there are: whole',
        ),
        (
            {"outputs": {"half": HALF | {"formula": "whole.real"}}},
            "outputs/half/formula",
            "formula-invalid",
            "a full stop may only lead to a column of a row",
        ),
        (
            {"outputs": {"half": HALF | {"formula": "whole > 1 * whole"}}},
            "outputs/half/formula",
            "unit-mismatch",
            "this is a condition; for an answer in words write cases",
        ),
        (
            {"outputs": {"half": {"label": "Half", "formula": "whole / 2"}}},
            "outputs/half",
            "value-invalid",
            "a number needs a unit",
        ),
        (
            {"outputs": {"half": HALF, "pi": HALF}},
            "outputs/pi",
            "formula-invalid",
            '"pi" is a word of the formula language; choose another name',
        ),
        (
            {"values": {"half": {"formula": "whole"}}},
            "outputs/half",
            "id-duplicate",
            '"half" stands in values already; choose another name',
        ),
        (
            {"values": {"v1": {"formula": "later"}, "later": {"formula": "whole"}}},
            "values/v1/formula",
            "formula-invalid",
            'there is no name "later" here; there are: whole',
        ),
        (
            {"inputs": {"whole": {"label": "Whole", "unit": "g", "default": "5 mL"}}},
            "inputs/whole/default",
            "value-invalid",
            "the default is refused: “5 mL” is a volume, and Whole is a mass. A fluid ounce"
            " (fl oz, 29.57 mL) is not a weight ounce: weigh it, in g or oz (28.35 g).",
        ),
        (
            {
                "inputs": {
                    "whole": {"label": "Whole", "unit": "g", "default": "5 g", "at_most": "2 cm"}
                }
            },
            "inputs/whole/at_most",
            "unit-mismatch",
            "“2 cm” is a length, and Whole is a mass.",
        ),
        (
            {"refusals": [{"when": "whole", "input": "whole", "message": "No."}]},
            "refusals/0/when",
            "unit-mismatch",
            '"whole" is a mass, not a condition such as a > b',
        ),
        (
            {"refusals": [{"when": "whole > 0", "input": "hole", "message": "No."}]},
            "refusals/0/input",
            "reference-unknown",
            'there is no input "hole"',
        ),
        (
            {"warnings": {"w": {"when": "whole > 0", "message": "{hole} is much."}}},
            "warnings/w/message",
            "formula-invalid",
            '"{hole}" is neither a quantity nor a name that can be shown',
        ),
        (
            {"constants": {"k": {"label": "K", "value": "5 zorkles", "citation": "book"}}},
            "constants/k/value",
            "value-invalid",
            '"zorkles" is not a unit we know',
        ),
        (
            {
                "outputs": {
                    "half": HALF,
                    "say": {"label": "Say", "cases": [{"when": "whole > 0", "text": "x"}]},
                }
            },
            "outputs/say/cases",
            "value-invalid",
            "no text is left for all other cases; give a last one without when",
        ),
        (
            {
                "inputs": {
                    "whole": {"label": "Whole", "unit": "g", "default": "1 g"},
                    "dye": {"label": "Dye", "kind": "choice", "table": "inks", "default": "x"},
                }
            },
            "inputs/dye/table",
            "reference-unknown",
            'there is no table "inks"; there are: dyes',
        ),
        (
            {
                "inputs": {
                    "whole": {
                        "label": "Whole",
                        "unit": "g",
                        "default": "1 g",
                        "shown_when": "whole > 0",
                    },
                }
            },
            "inputs/whole/shown_when",
            "formula-invalid",
            'there is no name "whole" here; there are: none',
        ),
    ],
)
def test_each_fault_is_reported_at_its_place(
    fields: dict[str, Any], place: str, rule: str, message: str
) -> None:
    assert (place, rule, message) in find_problems(**fields)


def test_all_faults_are_reported_at_once_and_stop_compiling() -> None:
    broken = simple(
        outputs={"half": HALF | {"formula": "whole +"}, "two": HALF | {"formula": "nothing"}}
    )
    with pytest.raises(CalculatorError) as raised:
        compile_calculator(broken, {})
    assert [problem.route[1] for problem in raised.value.problems] == ["half", "two"]


@pytest.mark.parametrize(
    ("example", "place", "message"),
    [
        (
            {"outputs": {"half": "51 g"}},
            "outputs/half",
            '"One": half comes to 50, and 51 g is expected (within 0.5)',
        ),
        (
            {"outputs": {"half": "50.1 g ± 0.05"}},
            "outputs/half",
            '"One": half comes to 50, and 50.1 g ± 0.05 is expected (within 0.05)',
        ),
        (
            {"outputs": {"half": "50 mL"}},
            "outputs/half",
            '"One": "50 mL" is not in a unit of half, such as g',
        ),
        (
            {"outputs": {"half": "much"}},
            "outputs/half",
            '"One": "much" is not a number with a unit, such as "19.43 min ± 0.02"',
        ),
        (
            {"outputs": {"third": "33 g"}},
            "outputs/third",
            '"One" has no answer "third"; it has half',
        ),
        (
            {"outputs": {}, "refused": "whole"},
            "refused",
            '"One" must be refused at "whole", but it gives an answer',
        ),
        (
            {"inputs": {"whole": "x"}},
            "inputs",
            '"One" is refused: Whole: there is no number in “x”.',
        ),
        (
            {"warnings": ["much"]},
            "warnings",
            '"One" must bring the warnings much; it brings none',
        ),
    ],
)
def test_a_wrong_worked_example_is_reported(
    example: dict[str, Any], place: str, message: str
) -> None:
    found = find_problems(examples=[EXAMPLE | example, EXAMPLE])
    assert found == [(f"examples/0/{place}", "worked-example-wrong", message)]


@pytest.mark.parametrize("expected", ["50 g", "50.0", "0.05 kg", "1.7637 oz", "49 g ± 1", "5e1 g"])
def test_an_example_agrees_to_the_last_digit_written(expected: str) -> None:
    assert find_problems(examples=[EXAMPLE | {"outputs": {"half": expected}}, EXAMPLE]) == []


def test_a_table_of_values_must_have_answers() -> None:
    table = {"input": "whole", "values": ["10 g", "x"], "outputs": ["half"]}
    found = find_problems(table=table)
    assert found[0][0] == "table/values/1"
    assert found[0][1] == "worked-example-wrong"


@pytest.mark.parametrize(
    ("before", "after", "message"),
    [
        ("100 to 300 mg/g", "300 to 100 mg/g", "runs backwards"),
        ("100 to 300 mg/g", "100 to 300 g", "is a mass; the column holds a plain ratio"),
        ("{value: 0 g,", "{value: 5 mL,", "is a volume; the column holds a mass"),
        ("{value: 0.1 kg,", "{value: 0 kg,", 'the row "weld" begins no higher'),
        ("steps_by: begins", "steps_by: starts", 'the table has no column "starts"'),
        (
            "      begins: [{value: 1 kg, citation: book}]",
            "      strength: [{value: 5 mg/g, citation: book}]",
            'the row "indigo" does not say where it begins',
        ),
        ("begins: {label: Begins, unit: g}", "begins: {label: Begins, unit: zorkle}", "zorkle"),
    ],
)
def test_a_broken_table_is_reported(before: str, after: str, message: str) -> None:
    assert before in DYES
    problems = check_table(load_table(DYES.replace(before, after, 1)))
    assert any(message in problem.message for problem in problems)


def test_a_cell_holds_all_its_sources() -> None:
    """Least and greatest over both sources, and the middle of these; converted where needed."""
    table = compile_bath().description["tables"]["dyes"]
    assert table["rows"]["madder"]["strength"] == pytest.approx([0.09, 0.31, 0.2])
    assert table["rows"]["weld"]["strength"] == pytest.approx([0.1, 0.2, 0.15])
    assert table["steps"] == [[0.0, "madder"], [0.1, "weld"], [1.0, "indigo"]]


def test_the_order_of_sources_changes_nothing() -> None:
    lines = DYES.splitlines()
    first = next(at for at, line in enumerate(lines) if "100 to 300 mg/g" in line)
    lines[first], lines[first + 1] = lines[first + 1], lines[first]
    turned = Table.model_validate(read_yaml("\n".join(lines)))
    assert turned != load_table()
    assert compile_table(turned).data == compile_table(load_table()).data


def test_the_sample_uses_every_kind_of_field() -> None:
    fields = read_yaml(BATH)["inputs"].values()
    kinds = {field.get("kind", "quantity") for field in fields}
    assert kinds == {"quantity", "number", "count", "choice", "text", "rows"}


def test_a_band_keeps_its_units_and_can_be_read_back() -> None:
    inputs = {
        "t": {"label": "T", "unit": "min", "default": "70 min", "error": "5 min"},
        "m": {"label": "M", "unit": "g", "default": "200 g", "error_share": "5 %"},
    }
    outputs = {
        "time": {"label": "Time", "formula": "t", "unit": "min", "places": 0},
        "mass": {"label": "Mass", "formula": "m * 2", "unit": "g", "places": 1, "rounding": "down"},
    }
    answers = compile_calculator(simple(inputs=inputs, outputs=outputs), {}).calculate().outputs
    texts = [answers[name]["band"]["text"].replace("\u00a0", " ") for name in outputs]
    assert texts == ["between 1 h 5 min and 1 h 15 min", "between 380 and 420 g"]
    assert answers["mass"]["band"]["mostly"] == "(mostly from “M”)"
    assert answers["mass"]["text"].replace("\u00a0", " ") == "400 g"
    for name in outputs:
        read = read_quantity({}, answers[name]["band"]["text"])
        assert read["problem"] == ""
        assert read["low"] < read["high"]


@pytest.mark.parametrize(
    ("field", "text", "message"),
    [
        ("error", "5 min", '"5 min" is not in the unit of the input'),
        ("error", "0 g", '"0 g" is not above nothing'),
        ("error_share", "5 g", '"5 g" is not a share such as 5 %'),
        ("error", "much", 'there is no number in "much"'),
    ],
)
def test_an_error_must_fit_its_input(field: str, text: str, message: str) -> None:
    inputs = {"m": {"label": "M", "unit": "g", "default": "200 g", field: text}}
    entry = simple(inputs=inputs, outputs={"n": {"label": "N", "formula": "m", "unit": "g"}})
    with pytest.raises(CalculatorError) as refusal:
        compile_calculator(entry, {})
    assert message in str(refusal.value)
