"""Random formulas and random products give the same in Python and in V8, or the same refusal."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.formulas.dimensions import check_formula
from builder.formulas.expression import FormulaError, parse_formula
from builder.formulas.javascript import compile_to_javascript
from builder.formulas.kinds import RATIO, TEXT, Environment, Form, Kind
from builder.formulas.lowering import lower_formula
from builder.formulas.python import compile_to_python, list_callables
from builder.twin import arithmetic
from builder.twin.primitives import FormulaFailure
from tests.v8 import TWIN_AT_HAND, Engine, start_engine

NAMES = Environment(
    {
        **dict.fromkeys(("a", "b", "c"), RATIO),
        "rows": Kind(Form.ROWS, columns={"name": TEXT, "m": RATIO, "s": RATIO}),
    }
)
RUN = """
function run(formula, values) {
    try { return {gives: check_finite(formula(values, {}))}; }
    catch (problem) { return {fails: read_failure(problem)}; }
}
"""


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    names = ", ".join(list_callables())
    with start_engine(TWIN_AT_HAND, f"var b = {{{names}}};", RUN) as started:
        yield started


def grow(numbers: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    """Give formulas one level deeper than those given."""
    sign = st.sampled_from(["+", "-", "*", "/"])
    compare = st.sampled_from(["<", "<=", ">", ">=", "==", "!="])
    condition = st.builds("{} {} {}".format, numbers, compare, numbers)
    one = st.sampled_from(["abs", "sqrt", "log", "exp", "floor", "ceil", "round"])
    many = st.sampled_from(["min", "max", "sum", "mean"])
    return st.one_of(
        st.builds("({} {} {})".format, numbers, sign, numbers),
        st.builds("{} {} {}".format, numbers, sign, numbers),
        st.builds("-{}".format, numbers),
        st.builds("({}) ** {}".format, numbers, st.sampled_from(["2", "3", "-1", "0.5"])),
        st.builds("({} if {} else {})".format, numbers, condition, numbers),
        st.builds(
            "({0} if {1} and not {2} else {3})".format,
            numbers,
            condition,
            condition.map("({})".format),
            numbers,
        ),
        st.builds("{}({})".format, one, numbers),
        st.builds("{}({}, {})".format, many, numbers, numbers),
        st.builds(
            "sum(row.m * ({}) for row in rows if row.s > {})".format,
            st.sampled_from(["1", "a", "row.s", "b + 1"]),
            st.sampled_from(["0", "0.5"]),
        ),
        st.builds("{} * {}".format, st.just("max(row.m - row.s for row in rows)"), numbers),
    )


FORMULAS = st.recursive(
    st.one_of(
        st.sampled_from(["a", "b", "c", "pi"]),
        st.integers(0, 9).map(str),
        st.floats(0, 1e6).map(repr),
    ),
    grow,
    max_leaves=12,
)
NUMBERS = st.floats(-1e6, 1e6) | st.integers(-3, 3).map(float)
ROWS = st.lists(st.fixed_dictionaries({"m": NUMBERS, "s": st.floats(0, 1)}), max_size=4)


@given(text=FORMULAS, a=NUMBERS, b=NUMBERS, c=NUMBERS, rows=ROWS)
def test_both_languages_agree_on_any_formula(
    engine: Engine, text: str, a: float, b: float, c: float, rows: list[dict[str, float]]
) -> None:
    refused = find_error(text)
    if refused is not None:
        assert any(word in refused.message for word in ("nested", "parts", "longer"))
        return
    formula = parse_formula(text)
    lowered = lower_formula(formula, NAMES)
    values: dict[str, Any] = {"a": a, "b": b, "c": c, "rows": rows}
    try:
        here = {"gives": arithmetic.check_finite(compile_to_python(lowered)(values, {}))}
    except FormulaFailure as failure:
        here = {"fails": str(failure)}
    script = compile_to_javascript([lowered])
    there = engine.call(f"(function (v) {{ return run({script}[0], v); }})", values)
    if "fails" in here or "fails" in there:
        assert here == there
    else:
        size = abs(here["gives"])
        assert math.isclose(here["gives"], there["gives"], rel_tol=1e-9, abs_tol=1e-9), size


SHARES = st.integers(1, 99999).flatmap(
    lambda digits: st.integers(2, 6).map(lambda places: Decimal(digits).scaleb(-places))
)


@given(one=SHARES, two=SHARES, nudge=st.sampled_from([Decimal(0), Decimal(1), Decimal(-1)]))
def test_products_are_compared_as_decimals(
    engine: Engine, one: Decimal, two: Decimal, nudge: Decimal
) -> None:
    """At the product itself, and one digit beside it, the answer is that of exact decimals."""
    limit = one * two + nudge.scaleb((one * two).as_tuple().exponent)  # type: ignore[operator]
    expected = one * two > limit
    factors = [float(one), float(two)]
    assert arithmetic.exceeds_exact(float(limit), factors) is expected
    assert engine.call("exceeds_exact", float(limit), factors) is expected


def find_error(text: str) -> FormulaError | None:
    """Read a text as a formula; any other exception than a refusal is a fault of ours."""
    try:
        check_formula(parse_formula(text), NAMES)
    except FormulaError as error:
        return error
    return None


@given(
    text=st.text(max_size=80)
    | st.text(
        alphabet=st.sampled_from(list("abm.()[]{}+-*/%<>=!,:;'\"_ 019\\#@^~&|\n")), max_size=60
    )
)
def test_any_text_is_a_formula_or_a_clean_refusal(text: str) -> None:
    error = find_error(text)
    if error is not None:
        assert error.message
        assert 0 <= error.offset <= len(error.text)
        assert error.render().count("\n") == 1
