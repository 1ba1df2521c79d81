"""One reader for every quantity: authors' files, visitors' fields, Python and the browser."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from builder.twin.calculators.measures import read_measure
from builder.twin.number_format import convert_from_base, format_both, format_quantity
from builder.twin.quantities import find_spelling, is_bare, join_typed, read_quantity
from builder.twin.unit_table import SPELLINGS, TWO_MEANINGS, UNITS
from builder.units import UnitError, load_registry, parse_window
from tests.v8 import TWIN_AT_HAND, Engine, start_engine

TABLE = Path(__file__).parent.parent / "cases" / "quantities.yml"
CASES: dict[str, Any] = yaml.safe_load(TABLE.read_text(encoding="utf-8"))
BASE_UNITS = {
    "mass": "kg",
    "volume": "m**3",
    "length": "m",
    "time": "s",
    "temperature": "kelvin",
    "ratio": "dimensionless",
    "density": "kg/m**3",
    "specific heat": "J/kg/K",
    "rate": "1/s",
}


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    with start_engine(TWIN_AT_HAND) as started:
        yield started


def make_field(dimension: str) -> dict[str, Any]:
    """A visitor's field that takes anything of a dimension."""
    unit = next(key for key, row in UNITS.items() if row[0] == dimension)
    return {
        "label": "It",
        "unit": unit,
        "dimension": dimension,
        "low": None,
        "high": None,
        "low_open": False,
        "high_open": False,
        "note": "",
    }


def to_base(read: Any) -> tuple[float, float]:
    row = read["row"]
    return read["low"] * row[1] + row[2], read["high"] * row[1] + row[2]


def ends(case: dict[str, Any]) -> tuple[float, float]:
    value = case["is"]
    return (value[0], value[1]) if isinstance(value, list) else (value, value)


@pytest.mark.parametrize("case", CASES["read"], ids=lambda case: case["typed"])
def test_a_spelling_is_read_by_authors_visitors_and_the_browser(
    case: dict[str, Any], engine: Engine
) -> None:
    typed, expected = case["typed"], pytest.approx(ends(case), rel=1e-12)
    here = read_quantity({}, typed)
    assert here["problem"] == ""
    assert here["row"][0] == case["of"]
    assert to_base(here) == expected
    assert engine.call("read_quantity", {}, typed) == json.loads(json.dumps(here))
    window = parse_window(typed)
    assert (window.low.base, window.high.base) == expected
    field = make_field(case["of"])
    value, problem = read_measure({"units": {}}, typed, field)
    if isinstance(case["is"], list):
        assert problem == f"It: “{typed}” is a range; write one value."
    else:
        assert problem == ""
        assert value == pytest.approx(case["is"], rel=1e-12)


@pytest.mark.parametrize("case", CASES["refused"], ids=lambda case: case["typed"] or "empty")
def test_a_spelling_is_refused_everywhere_for_the_same_reason(
    case: dict[str, Any], engine: Engine
) -> None:
    here = read_quantity({}, case["typed"])
    assert case["says"] in here["problem"]
    assert engine.call("read_quantity", {}, case["typed"]) == here
    with pytest.raises(UnitError) as refusal:
        parse_window(case["typed"])
    assert str(refusal.value) == here["problem"].replace("“", '"').replace("”", '"')
    for dimension in ("mass", "time"):
        assert read_measure({"units": {}}, case["typed"], make_field(dimension)) == [
            None,
            f"It: {here['problem']}.",
        ]


@pytest.mark.parametrize("typed", CASES["bare"])
def test_a_number_alone_is_known_as_one(typed: str, engine: Engine) -> None:
    assert is_bare(typed)
    assert engine.call("is_bare", typed) is True
    assert engine.call("join_typed", typed, "g") == join_typed(typed, "g") == f"{typed} g"
    with pytest.raises(UnitError, match="has no unit"):
        parse_window(typed)


@pytest.mark.parametrize("typed", CASES["unknown"])
def test_a_unit_that_nobody_knows_is_refused(typed: str, engine: Engine) -> None:
    assert not is_bare(typed)
    read = read_quantity({}, typed)
    assert read["row"] is None
    assert engine.call("read_quantity", {}, typed) == read
    value, problem = read_measure({"units": {}}, typed, make_field("mass"))
    assert value is None
    assert problem
    with pytest.raises(UnitError):
        parse_window(typed)


@pytest.mark.parametrize("case", CASES["read"], ids=lambda case: case["typed"])
def test_the_registry_agrees(case: dict[str, Any]) -> None:
    registry = load_registry()
    read = read_quantity({}, case["typed"])
    key = find_spelling({}, read["unit"])
    name = {"percent": "percent", "floz": "US_fluid_ounce", "g/hg": "g/hectogram"}.get(key, key)
    name = name if key != "pint" else "US_pint"
    base = BASE_UNITS[case["of"]]
    found = registry.Quantity(read["high"], name).to(base).magnitude
    assert found == pytest.approx(ends(case)[1], rel=1e-9)


def test_every_spelling_leads_to_a_unit_and_none_of_them_has_two_meanings() -> None:
    for spelling, key in SPELLINGS.items():
        assert key in UNITS
        if spelling not in TWO_MEANINGS:
            assert find_spelling({}, spelling) == key
    for spelling in TWO_MEANINGS:
        assert find_spelling({}, spelling) == ""


@pytest.mark.parametrize("unit", sorted(set(UNITS) - {"ratio"}))
@given(magnitude=st.floats(0.01, 99999.0))
def test_what_the_site_prints_is_read_back(unit: str, magnitude: float) -> None:
    row = UNITS[unit]
    base = magnitude * row[1] + row[2]
    for text in (
        format_quantity(base, unit, "significant", 4),
        format_both(base, unit, "significant", 4),
    ):
        read = read_quantity({}, text)
        assert read["problem"] == ""
        assert read["row"] is not None, text
        if row[0] == "difference":
            # A bare K or °C behind a number is read as a temperature; a field of differences
            # takes only its size.
            assert read["low"] * read["row"][1] == pytest.approx(base, rel=1e-3)
        else:
            again = read["low"] * read["row"][1] + read["row"][2]
            slack = 0.5 * row[1] if row[0] == "time" else 0.0
            again = convert_from_base(again, row)
            assert again == pytest.approx(magnitude, rel=1e-3, abs=slack / row[1] + 0.01)
