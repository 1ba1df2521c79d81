"""Formulas: what is refused, what fits together, and the same answer in Python and in V8."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from builder.formulas.dimensions import DimensionError, UnknownNameError, check_formula
from builder.formulas.expression import (
    MAX_DEPTH,
    MAX_LENGTH,
    FormulaError,
    is_name,
    list_lookups,
    parse_formula,
)
from builder.formulas.functions import FUNCTIONS
from builder.formulas.javascript import compile_to_javascript
from builder.formulas.kinds import (
    DIFFERENCE,
    RATIO,
    TEMPERATURE,
    TEXT,
    Environment,
    Form,
    Kind,
    TableKind,
    read_unit_kind,
)
from builder.formulas.lowering import lower_formula
from builder.formulas.python import compile_to_python, list_callables
from builder.twin import arithmetic, primitives
from builder.twin.primitives import FormulaFailure
from tests.helpers import read_yaml
from tests.v8 import TWIN_AT_HAND, Engine, start_engine

CASES: dict[str, list[list[Any]]] = read_yaml(
    (Path(__file__).parents[1] / "cases" / "formulas.yml").read_text(encoding="utf-8")
)

MASS = read_unit_kind("g")
KINDS = Environment(
    {
        "m": MASS,
        "v": read_unit_kind("mL"),
        "t": read_unit_kind("min"),
        "room": TEMPERATURE,
        "hot": TEMPERATURE,
        "warm": DIFFERENCE,
        "shape": TEXT,
        "x": RATIO,
        "note": Kind(optional=True, label="A note"),
        "rows": Kind(Form.ROWS, columns={"name": TEXT, "mass": MASS}),
    },
    {"dyes": TableKind({"strength": RATIO, "begins": MASS}, MASS)},
)
NUMBERS = Environment(
    {
        **dict.fromkeys(("a", "b", "c", "zero", "big"), RATIO),
        "room": TEMPERATURE,
        "hot": TEMPERATURE,
        "note": Kind(optional=True, label="A note"),
        "rows": Kind(Form.ROWS, columns={"name": TEXT, "mass": RATIO, "share": RATIO}),
    },
    {"sample": TableKind({"share": RATIO, "begins": RATIO}, RATIO)},
)
TABLES: dict[str, Any] = {
    "sample": {
        "name": "Sample",
        "rows": {"first": {"share": [0.1, 0.3, 0.2], "begins": [0.0, 0.0, 0.0]}},
        "steps": [[0.0, "first"]],
    }
}
VALUES: dict[str, Any] = {
    "a": 2.0,
    "b": -3.0,
    "c": 0.5,
    "zero": 0.0,
    "big": 1e200,
    "room": 293.15,
    "hot": 343.15,
    "note": None,
    "rows": [
        {"name": "first", "mass": 1.0, "share": 0.004},
        {"name": "second", "mass": 2.0, "share": 0.006},
        {"name": "third", "mass": 3.0, "share": 0.002},
    ],
}


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    names = ", ".join(list_callables())
    run = """
        function run(formula, values, tables) {
            try { return {gives: check_result(formula(values, tables))}; }
            catch (problem) { return {fails: read_failure(problem)}; }
        }
        function check_result(value) {
            return typeof value === "number" ? check_finite(value) : value;
        }
    """
    with start_engine(TWIN_AT_HAND, f"var b = {{{names}}};", run) as started:
        yield started


def run_in_python(text: str) -> dict[str, Any]:
    formula = parse_formula(text)
    check_formula(formula, NUMBERS)
    run = compile_to_python(lower_formula(formula, NUMBERS))
    try:
        value = run(VALUES, TABLES)
        if not isinstance(value, bool | list | str):
            value = arithmetic.check_finite(value)
        return {"gives": value}
    except FormulaFailure as failure:
        return {"fails": str(failure)}


def run_in_v8(text: str, engine: Engine) -> dict[str, Any]:
    formula = parse_formula(text)
    script = compile_to_javascript([lower_formula(formula, NUMBERS)])
    result: dict[str, Any] = engine.call(
        f"(function (v, t) {{ return run({script}[0], v, t); }})", VALUES, TABLES
    )
    return result


@pytest.mark.parametrize(("text", "expected"), CASES["gives"], ids=lambda part: str(part))
def test_both_languages_give_the_same(text: Any, expected: Any, engine: Engine) -> None:
    text = str(text)
    for found in (run_in_python(text), run_in_v8(text, engine)):
        if isinstance(expected, list):
            assert found == {"gives": expected}
        else:
            assert found["gives"] == pytest.approx(expected, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(("text", "reason"), CASES["fails"], ids=lambda part: str(part))
def test_both_languages_fail_in_the_same_words(text: str, reason: str, engine: Engine) -> None:
    assert run_in_python(text) == {"fails": reason}
    assert run_in_v8(text, engine) == {"fails": reason}


@pytest.mark.parametrize(("text", "reason", "place"), CASES["refused"], ids=lambda part: str(part))
def test_what_is_not_on_the_list_is_refused_with_its_place(
    text: Any, reason: str, place: Any
) -> None:
    with pytest.raises(FormulaError) as raised:
        parse_formula(str(text))
    error = raised.value
    if reason.startswith("there is no function"):
        assert error.message.startswith(f"{reason}; there are: abs, all, any, ")
    else:
        assert error.message == reason
    if error.text:
        assert error.text[error.offset :].startswith(str(place))
        shown, carets = error.render().splitlines()
        assert shown[len(carets) - len(carets.lstrip()) :].startswith(str(place)[:1])
        assert set(carets.strip()) == {"^"}


@pytest.mark.parametrize(
    "text",
    [
        "(" * 500 + "a" + ")" * 500,
        "-" * 500 + "a",
        "not " * 200 + "a",
        "+".join(["a"] * 300),
        "a" * (MAX_LENGTH + 1),
        "[" * 300,
        "a" + ".x" * 300,
        "exp(" * (MAX_DEPTH + 1) + "a" + ")" * (MAX_DEPTH + 1),
        "1 if a else " * 60 + "2",
        "a" + "**a" * 60,
        "\0",
        "9" * 1999,
        "sum(" + ",".join(["1"] * 900) + ")",
    ],
    ids=lambda text: text[:20],
)
def test_size_and_depth_are_bounded(text: str) -> None:
    with pytest.raises(FormulaError):
        parse_formula(text)


@pytest.mark.parametrize(("text", "reason", "place"), CASES["mismatched"], ids=lambda p: str(p))
def test_mixed_dimensions_are_refused_with_their_place(text: str, reason: str, place: Any) -> None:
    with pytest.raises(DimensionError) as raised:
        check_formula(parse_formula(text), KINDS)
    error = raised.value
    assert error.message == reason
    assert error.text[error.offset : error.offset + error.length] == str(place)


@pytest.mark.parametrize(("text", "reason", "place"), CASES["unknown"], ids=lambda p: str(p))
def test_unknown_names_are_refused_with_what_there_is(text: str, reason: str, place: str) -> None:
    with pytest.raises(UnknownNameError) as raised:
        check_formula(parse_formula(text), KINDS)
    error = raised.value
    assert error.message == reason
    assert error.text[error.offset : error.offset + error.length] == place


@pytest.mark.parametrize(("text", "dimension"), CASES["fits"], ids=lambda part: str(part))
def test_kinds_that_fit_give_their_dimension(text: str, dimension: str) -> None:
    kind = check_formula(parse_formula(text), KINDS)
    assert ("[temperature]" if kind.point else kind.dimension) == dimension


def test_dimensions_agree_with_the_unit_registry() -> None:
    """The exponents worked out for a product are those pint works out for its units."""
    from builder.units import load_registry

    registry = load_registry()
    for text, units in (
        ("m / v", "kg / m**3"),
        ("m * t ** -2", "kg / s**2"),
        ("(m / v) ** 2 * t", "kg**2 * s / m**6"),
        ("sqrt(v) / warm", "m**1.5 / kelvin"),
    ):
        kind = check_formula(parse_formula(text), KINDS)
        expected = sorted(
            (str(name), float(p)) for name, p in registry(units).dimensionality.items()
        )
        assert [(name, power) for name, power in kind.exponents] == expected


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_every_example_of_the_table_holds_in_both_languages(name: str, engine: Engine) -> None:
    example = FUNCTIONS[name].example
    if name == "names":
        assert run_in_python(example) == {"gives": []}
        return
    assert run_in_python(example) == {"gives": True}
    assert run_in_v8(example, engine) == {"gives": True}


def test_every_function_has_a_line_of_words() -> None:
    for function in FUNCTIONS.values():
        assert function.doc.endswith((".", "them all."))
        assert function.target in dir(arithmetic)


def test_a_formula_reaches_nothing_but_the_table() -> None:
    """The compiled code sees no builtins and no names beyond the functions of the table."""
    formula = parse_formula("a + exp(b)")
    run = compile_to_python(lower_formula(formula, NUMBERS))
    reachable = run.__globals__  # type: ignore[attr-defined]
    assert reachable["__builtins__"] == {}
    assert set(reachable) == {"__builtins__", *list_callables()}


def test_both_sets_of_primitives_have_the_same_names() -> None:
    defined = {
        name
        for name, value in vars(primitives).items()
        if inspect.isfunction(value) and value.__module__ == primitives.__name__
    }
    assert set(primitives.NAMES) == defined
    with start_engine(TWIN_AT_HAND) as engine:
        for name in primitives.NAMES:
            assert engine.call(f"(function () {{ return typeof {name}; }})") == "function"


def test_names_of_the_language_cannot_be_taken() -> None:
    assert is_name("base_mass")
    for taken in ("sum", "pi", "for", "Mass", "_mass", "2x", "a" * 41, "lambda"):
        assert not is_name(taken)


def test_lookups_are_listed_once() -> None:
    formula = parse_formula(
        'table_low("oils", shape, "sap") + table_high("oils", shape, "sap")'
        ' + table_step("steps", m, "limit")'
    )
    assert list_lookups(formula) == (("oils", "sap"), ("steps", "limit"))


def test_line_breaks_count_as_spaces() -> None:
    assert parse_formula("\n a\n  + b \n").text == "a   + b"


def test_quantiles_of_t_agree_with_scipy(engine: Engine) -> None:
    """scipy.special.stdtrit is the reference; the factors of net contents come from it."""
    from scipy.special import stdtrit

    for degrees in (*range(1, 61), 100, 101, 199, 200, 999, 1000):
        expected = pytest.approx(stdtrit(degrees, 0.975), rel=1e-9)
        assert arithmetic.t_quantile(float(degrees)) == expected
        assert engine.call("t_quantile", degrees) == expected
