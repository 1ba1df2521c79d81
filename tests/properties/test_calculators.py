"""Whatever is typed into a calculator, Python and V8 give the same answers or the same refusal.

The calculators are those that ship, and the dye bath of the unit tests. Text with signs outside the
Basic Multilingual Plane is left out: the languages count such signs differently, which only shows
where very long text is cut in a message.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from builder.calculators import CompiledCalculator, compile_calculator
from builder.model.calculators import Calculator, Table
from builder.twin.unit_table import SPELLINGS, UNITS
from tests.sample_calculators import compile_bath, write_page_scripts
from tests.v8 import Engine, start_engine

KB = Path(__file__).parents[2] / "kb"


def read_folder(name: str) -> dict[str, Any]:
    """Read the entries of one kind that ship, by id."""
    return {
        path.stem: {"id": path.stem} | yaml.safe_load(path.read_text(encoding="utf-8"))
        for path in sorted((KB / name).glob("*.yml"))
    }


@cache
def compile_shipped() -> dict[str, CompiledCalculator]:
    """Compile everything that ships, and the dye bath."""
    tables = {key: Table.model_validate(entry) for key, entry in read_folder("tables").items()}
    compiled = {
        key: compile_calculator(Calculator.model_validate(entry), tables)
        for key, entry in read_folder("calculators").items()
    }
    return compiled | {"dye-bath": compile_bath()}


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    with start_engine(write_page_scripts(compile_shipped().values())) as started:
        yield started


def spellings_of(dimension: str) -> list[str]:
    return [text for text, unit in SPELLINGS.items() if UNITS[unit][0] == dimension]


NUMBERS = st.one_of(
    st.integers(-5, 500).map(str),
    st.floats(0, 1000, allow_nan=False).map(lambda value: f"{value:.4g}"),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.sampled_from(["0", "1/4", "0,5", "1,234", "1 234.5", "1e3", ".5", "-2", "1e308", "5e-324"]),
)
GARBAGE = st.text(
    alphabet=st.characters(max_codepoint=0xFFFF, exclude_categories=["Cs"]), max_size=90
)


def type_cell(field: Mapping[str, Any]) -> st.SearchStrategy[str]:
    """Give what a reader might type into one field: mostly sensible, sometimes not."""
    kind = field["kind"]
    if kind == "choice":
        names = [name for choice in field["choices"] for name in choice[2]]
        return st.sampled_from(names) | st.text("abc xyz", max_size=6)
    if kind == "text":
        return st.text("abc ", max_size=8)
    units = spellings_of(field["dimension"]) if kind == "quantity" else []
    if kind == "amount":
        units = [*spellings_of("mass"), *spellings_of("volume")]
    unit = st.sampled_from(["", *units]) if units else st.just("")
    usual = st.builds("{} {}".format, NUMBERS, unit)
    odd = st.builds("{} {}".format, NUMBERS, st.sampled_from(sorted(SPELLINGS)))
    return st.one_of(usual, usual, usual, odd)


def type_field(field: Mapping[str, Any]) -> st.SearchStrategy[Any]:
    """Give what a reader might type into an input; rows as text or as mappings."""
    if field["kind"] != "rows":
        default = [field["default"]] if field["default"] is not None else []
        return st.one_of(type_cell(field), st.sampled_from([*default, ""]), GARBAGE)
    columns = field["columns"]
    row = st.tuples(*(type_cell(column) for column in columns))
    as_text = st.lists(row.map(" : ".join), max_size=5).map(";".join)
    as_mappings = st.lists(
        row.map(lambda cells: dict(zip((c["id"] for c in columns), cells, strict=True))), max_size=4
    )
    return st.one_of(as_text, as_text, as_mappings, GARBAGE)


def assert_same(here: Any, there: Any) -> None:
    """Compare answers: numbers to 1e-9 relative and always finite, all else exactly."""
    if isinstance(here, float | int) and not isinstance(here, bool):
        assert math.isfinite(here)
        assert math.isclose(here, there, rel_tol=1e-9, abs_tol=1e-12)
    elif isinstance(here, dict):
        assert list(here) == list(there)
        for name, value in here.items():
            assert_same(value, there[name])
    elif isinstance(here, list):
        assert len(here) == len(there)
        for one, two in zip(here, there, strict=True):
            assert_same(one, two)
    else:
        assert here == there


@given(data=st.data())
@pytest.mark.parametrize("name", sorted(compile_shipped()))
def test_both_languages_agree_whatever_is_typed(
    engine: Engine, name: str, data: st.DataObject
) -> None:
    compiled = compile_shipped()[name]
    fields = {field["id"]: type_field(field) for field in compiled.description["inputs"]}
    chosen = data.draw(st.sets(st.sampled_from(sorted(fields)), max_size=3))
    raw = {field: data.draw(fields[field], label=field) for field in sorted(chosen)}
    here = compiled.calculate(raw).data
    assert_same(dict(here), engine.call("benchlore.calculate", name, raw))
    if "errors" in here:
        assert here["errors"]
        assert all(error["message"] for error in here["errors"])
    else:
        assert here["outputs"]


@pytest.mark.parametrize("name", sorted(compile_shipped()))
def test_plots_and_defaults_agree(engine: Engine, name: str) -> None:
    compiled = compile_shipped()[name]
    assert "outputs" in compiled.calculate().data
    assert_same(dict(compiled.calculate().data), engine.call("benchlore.calculate", name, {}))
    points = compiled.sample_plot()
    found = engine.call("benchlore.samplePlot", name, {})
    if points is None:
        assert found is None
        assert compiled.entry.plot is None
    else:
        assert_same(dict(points), found)
