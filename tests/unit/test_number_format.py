"""Number text is the same in Python and in V8, and its units agree with the unit registry."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.twin import number_format, unit_table
from builder.units import load_registry
from tests.helpers import read_yaml
from tests.v8 import TWIN_AT_HAND, Engine, start_engine

CASES: list[dict[str, Any]] = read_yaml(
    (Path(__file__).parents[1] / "cases" / "figures.yml").read_text(encoding="utf-8")
)


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    with start_engine(TWIN_AT_HAND) as started:
        yield started


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['call']}{case['with']}")
def test_both_languages_give_what_the_case_says(case: dict[str, Any], engine: Engine) -> None:
    assert getattr(number_format, case["call"])(*case["with"]) == case["gives"]
    assert engine.call(case["call"], *case["with"]) == case["gives"]


@pytest.mark.parametrize("unit", sorted(unit_table.UNITS))
def test_every_unit_has_the_factor_of_the_registry(unit: str) -> None:
    dimension, factor, offset, _ = unit_table.UNITS[unit]
    registry = load_registry()
    spelt = {"ratio": "dimensionless", "floz": "US_fluid_ounce", "K": "delta_degC"}.get(unit, unit)
    spelt = {"tbsp": "tablespoon", "tsp": "teaspoon", "pint": "US_pint"}.get(spelt, spelt)
    if dimension == "temperature":
        zero = registry.Quantity(0.0, spelt).to("kelvin").magnitude
        hundred = registry.Quantity(100.0, spelt).to("kelvin").magnitude
        assert offset == pytest.approx(zero, abs=1e-9)
        assert factor == pytest.approx((hundred - zero) / 100, rel=1e-12)
        return
    assert offset == 0.0
    assert factor == pytest.approx(registry.Quantity(1.0, spelt).to_base_units().m, rel=1e-12)


def test_every_spelling_leads_to_a_unit_and_is_folded() -> None:
    for spelling, unit in unit_table.SPELLINGS.items():
        assert unit in unit_table.UNITS
        assert spelling == spelling.lower().strip()
        assert not spelling.endswith(".")


@given(
    value=st.floats(min_value=-1e14, max_value=1e14, allow_nan=False),
    places=st.integers(min_value=0, max_value=9),
)
def test_rounding_moves_a_number_by_half_a_place_at_most(value: float, places: int) -> None:
    rounded = number_format.round_half_up(value, places)
    assert abs(rounded - value) <= 0.5 * 10.0**-places + abs(value) * 1e-11


@given(
    value=st.floats(min_value=-1e18, max_value=1e18, allow_nan=False),
    unit=st.sampled_from(sorted(unit_table.UNITS)),
    style=st.sampled_from(["places", "significant", "plain"]),
    digits=st.integers(min_value=1, max_value=9),
)
def test_both_languages_write_any_quantity_alike(
    engine: Engine, value: float, unit: str, style: str, digits: int
) -> None:
    written = number_format.format_both(value, unit, style, digits)
    assert engine.call("format_both", value, unit, style, digits) == written
    assert "nan" not in written.lower()
