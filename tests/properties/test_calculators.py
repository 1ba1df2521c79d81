"""Whatever is typed into a calculator, Python and V8 give the same answers or the same refusal.

The calculators are those that ship, and the dye bath of the unit tests. Text with signs outside the
Basic Multilingual Plane is left out: the languages count such signs differently, which only shows
where very long text is cut in a message.
"""

from __future__ import annotations

import math
import random
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
from builder.twin import calculators as runtime
from builder.twin.quantities import read_quantity
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
        assert here["outputs"] or here["left_out"]


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


def type_sound(field: Mapping[str, Any], data: st.DataObject) -> Any:
    """Draw a value that a field accepts, in a unit of either system."""
    if field["kind"] == "choice":
        return data.draw(st.sampled_from([choice[0] for choice in field["choices"]]))
    if field["kind"] not in ("quantity", "number"):
        return field["default"]
    row = UNITS.get(field["unit"])
    low, high = field["low"], field["high"]
    if row is None or low is None or high is None:
        return field["default"]
    share = data.draw(st.floats(0.001, 0.999), label=field["id"])
    base = low * (high / low) ** share if low > 0 else low + (high - low) * share**3
    return f"{(base - row[2]) / row[1]:.6g} {field['unit']}"


def read_shown(text: str) -> tuple[float, str]:
    read = read_quantity({}, text)
    assert read["problem"] == ""
    assert read["row"] is not None or read["unit"] == "", text
    row = read["row"] or [None, 1.0, 0.0]
    if row[0] == "temperature":
        return read["low"] * row[1] + row[2], "temperature"
    return read["low"] * row[1], row[0]


@given(data=st.data())
@pytest.mark.parametrize("name", sorted(compile_shipped()))
def test_a_most_is_never_shown_above_itself_nor_a_least_below(
    name: str, data: st.DataObject
) -> None:
    """In both systems; and a figure that is shown is never far from the value either."""
    compiled = compile_shipped()[name]
    raw = {
        field["id"]: type_sound(field, data)
        for field in compiled.description["inputs"]
        if field["default"] is not None
    }
    result = compiled.calculate(raw)
    for output in compiled.description["outputs"]:
        answer = result.outputs.get(output["id"])
        if answer is None or output["form"] != "number" or output["unit"] not in UNITS:
            continue
        row = UNITS[output["unit"]]
        offset = row[2] if row[0] == "temperature" else 0.0
        value = answer["value"] * row[1] + offset
        for text in filter(None, (answer["text"], answer["us"])):
            shown, dimension = read_shown(text)
            if row[0] == "difference" and dimension == "temperature":
                read = read_quantity({}, text)
                shown = read["low"] * read["row"][1]
            room = abs(value) * 1e-9 + 1e-12
            if output["direction"] == "down":
                assert shown <= value + room, (output["id"], text)
            if output["direction"] == "up":
                assert shown >= value - room, (output["id"], text)


@given(base=st.floats(5.0, 99999.0), limit=st.floats(0.1, 19.0), certificate=st.floats(0.1, 60.0))
def test_the_largest_dose_fed_back_is_over_no_limit(
    base: float, limit: float, certificate: float
) -> None:
    compiled = compile_shipped()["scent-dose"]
    raw = {
        "base_mass": f"{base:.4g} g",
        "base_limit": f"{limit:.3g} %",
        "certificate_limit": f"{certificate:.3g} %",
    }
    answer = compiled.calculate(raw).outputs["largest_dose"]
    mass, _ = read_shown(raw["base_mass"])
    for text in filter(None, (answer["text"], answer["us"])):
        dose, _ = read_shown(text)
        again = compiled.calculate(raw | {"load": f"{dose / mass * 100:.15g} %"})
        assert not again.errors
        found = {warning["id"] for warning in again.warnings}
        assert not found & {"over-base-limit", "over-certificate"}, text


@given(fat=st.floats(20.0, 5000.0), discount=st.floats(0.0, 15.0))
def test_the_alkali_shown_keeps_the_discount_that_was_asked(fat: float, discount: float) -> None:
    compiled = compile_shipped()["lye-amount"]
    raw = {"oils": f"olive: {fat:.5g} g", "discount": f"{discount:.3g} %"}
    answer = compiled.calculate(raw).outputs["alkali_mass"]
    pure = compiled.read_values(raw | {"discount": "0 %"})
    assert pure is not None
    for text in (answer["text"], answer["us"]):
        shown, _ = read_shown(text)
        kept = 1 - shown * 0.99 / pure["pure"]
        assert kept >= float(f"{discount:.3g}") / 100 - 1e-9
        assert kept <= float(f"{discount:.3g}") / 100 + 0.002


def list_unsure_names() -> list[str]:
    return [
        name
        for name, compiled in compile_shipped().items()
        if any(field["error"] or field["error_share"] for field in compiled.description["inputs"])
    ]


@pytest.mark.parametrize("name", list_unsure_names())
def test_every_draw_within_the_errors_lies_in_the_band(name: str) -> None:
    """The band says that every answer lies in it whose readings are off by no more than stated."""
    compiled = compile_shipped()[name]
    description, formulas = compiled.description, compiled.formulas
    example = next(each for each in compiled.entry.examples if each.refused is None)
    for seed, raw in enumerate(({}, example.inputs)):
        values = dict(compiled.read_values(raw) or {})
        bands = {
            key: answer["band"]
            for key, answer in compiled.calculate(raw).outputs.items()
            if "band" in answer
        }
        assert bands
        unsure = runtime.list_unsure(description, formulas, values)
        draw = random.Random(seed)
        for _ in range(10_000 if seed == 0 else 500):
            moved = dict(values)
            for key, off in unsure:
                moved[key] = values[key] + draw.uniform(-off, off)
            if runtime.compute(description, formulas, moved) is not None:
                assert all(band["open"] for band in bands.values())
                continue
            for key, band in bands.items():
                output = next(each for each in description["outputs"] if each["id"] == key)
                row = runtime.unit_row(description, output["unit"])
                found = (moved[key] - row[2]) / row[1]
                room = 1e-9 * (abs(found) + 1.0)
                assert band["low"] - room <= found <= band["high"] + room, (key, found, band)
