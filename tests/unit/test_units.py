"""Quantities, units and windows.

Conversions are the trade's; sources: NIST Special Publication 811 appendix B and NIST Handbook 44
appendix C for mass and volume (from memory; the digits agree with scipy.constants), the definition
of the degree Fahrenheit for temperature.
"""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from scipy import constants

from builder.twin.unit_table import UNITS
from builder.units import (
    CURRENCIES,
    UnitError,
    ask_registry,
    describe_dimension,
    parse_quantity,
    parse_unit,
    parse_window,
)


@pytest.mark.parametrize(
    ("written", "unit", "expected"),
    [
        ("1 oz", "g", 28.349523125),
        ("1 lb", "g", 453.59237),
        ("4 oz", "g", 113.3980925),
        ("2 lb", "g", 907.18474),
        ("1 floz", "mL", 29.5735295625),
        ("1 fl oz", "mL", 29.5735295625),
        ("1 tbsp", "mL", 14.78676478125),
        ("1 tsp", "mL", 4.92892159375),
        ("1 cup", "mL", 236.5882365),
        ("1 imperial_fluid_ounce", "mL", 28.4130625),
        ("170 degF", "degC", 76.6666666667),
        ("140 °F", "°C", 60.0),
        ("-40 F", "C", -40.0),
        ("212 degF", "degC", 100.0),
        ("10 delta_degF", "delta_degC", 5.5555555556),
        ("60 degC", "K", None),
        ("2 %", "percent", 2.0),
        ("1 h", "min", 60.0),
        ("1.05 g/mL", "kg/m**3", 1050.0),
        ("250 mL", "cm3", 250.0),
    ],
)
def test_conversions(written: str, unit: str, expected: float | None) -> None:
    quantity = parse_quantity(written)
    if expected is None:  # a temperature is no difference
        with pytest.raises(UnitError, match="is a temperature, not a temperature difference"):
            quantity.to(unit)
    else:
        assert quantity.to(unit) == pytest.approx(expected, rel=1e-9)


def test_conversions_agree_with_another_library() -> None:
    assert parse_quantity("1 oz").base == pytest.approx(constants.oz, rel=1e-12)
    assert parse_quantity("1 lb").base == pytest.approx(constants.lb, rel=1e-12)
    assert parse_quantity("1 floz").base == pytest.approx(constants.fluid_ounce, rel=1e-12)
    for fahrenheit in (-40, 32, 98.6, 145, 212):
        celsius = constants.convert_temperature(fahrenheit, "F", "C")
        assert parse_quantity(f"{fahrenheit} degF").to("degC") == pytest.approx(celsius, abs=1e-9)


def test_a_weight_ounce_is_no_fluid_ounce() -> None:
    assert parse_quantity("1 oz").dimension == "[mass]"
    assert parse_quantity("1 fl oz").dimension == "[length] ** 3"
    with pytest.raises(UnitError, match="1 oz is a mass, not a volume"):
        parse_quantity("1 oz").to("mL")


@pytest.mark.parametrize(
    ("written", "magnitude", "unit"),
    [
        ("113 g", 113.0, "g"),
        ("113g", 113.0, "g"),
        (" 113  g ", 113.0, "g"),
        ("0,5 mL", 0.5, "mL"),
        (".5 mL", 0.5, "mL"),
        ("1e-3 kg", 0.001, "kg"),
        ("-18 degC", -18.0, "degC"),
        ("18.90 EUR", 18.9, "EUR"),
        ("20 µL", 20.0, "µL"),
    ],
)
def test_what_was_written_is_kept(written: str, magnitude: float, unit: str) -> None:
    quantity = parse_quantity(written)
    assert quantity.magnitude == magnitude
    assert quantity.unit.text == unit
    assert str(quantity) == f"{magnitude:g} {unit}"


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("113", '"113" has no unit; write for instance "113 g"'),
        ("much", 'there is no number in "much"'),
        ("", 'there is no number in ""'),
        ("g 113", 'there is no number in "g 113"'),
        ("1.2.3 g", '"1.2.3 g" has more than one point, so it is no number'),
        ("3 spoons", '"spoons" is not a unit we know'),
        ("3 __import__('os')", "is not a unit"),
        ("3 g;rm", "is not a unit"),
        ("9e999 g", '"9e999 g" is too large'),
        ("2e15 g", '"2e15 g" is too large'),
        ("3 g**g", "is not a unit"),
        # A grain to the registry, a gram to whoever writes it: fifteen times as much.
        ("0.4 gr", '"gr" may mean two things; write g for gram; a grain is 0.065 g'),
        ("113 G", "write g for gram"),
    ],
)
def test_what_is_no_quantity_says_so(written: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(written)
    assert message in str(caught.value)


def test_a_window_without_unit_says_so() -> None:
    with pytest.raises(
        UnitError, match='"62 to 72" has no unit; write for instance "62 to 72 degC"'
    ):
        parse_window("62 to 72")


def test_money_keeps_to_its_currency() -> None:
    price = parse_quantity("18.90 EUR")
    assert price.dimension == "[eur]"
    with pytest.raises(UnitError):
        price.to("GBP")


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [
        ("57 to 63 degC", 57.0, 63.0),
        ("57-63 degC", 57.0, 63.0),
        ("57 – 63 °C", 57.0, 63.0),
        ("57to63degC", 57.0, 63.0),
        ("60 degC", 60.0, 60.0),
        ("-5 to 5 degC", -5.0, 5.0),
    ],
)
def test_windows(written: str, low: float, high: float) -> None:
    window = parse_window(written)
    assert (window.low.magnitude, window.high.magnitude) == (low, high)
    assert window.dimension == "[temperature]"


def test_a_window_of_fahrenheit_is_the_same_window() -> None:
    # 135 to 145 degF is 57.2222 to 62.7778 degC, by the definition of the scale.
    window = parse_window("135 to 145 degF")
    assert window.low.to("degC") == pytest.approx(57.2222, abs=1e-4)
    assert window.high.to("degC") == pytest.approx(62.7778, abs=1e-4)
    assert str(window) == "135 to 145 degF"


def test_a_window_that_runs_backwards_says_so() -> None:
    with pytest.raises(UnitError, match="runs backwards; write the lower value first"):
        parse_window("63 to 57 degC")
    with pytest.raises(UnitError, match="has no unit"):
        parse_window("57")


def test_units_know_their_dimension_in_words() -> None:
    words = {
        "g": "a mass",
        "mL": "a volume",
        "cm": "a length",
        "min": "a time",
        "degC": "a temperature",
        "K": "a temperature difference",
        "%": "a plain ratio",
        "g/mL": "a density",
    }
    for unit, word in words.items():
        assert describe_dimension(parse_unit(unit).dimension) == word
    assert math.isclose(parse_unit("%").factor, 0.01)


@pytest.mark.parametrize("text", ["1,000 g", "12,500 g", "1,000 to 2,000 g", "900 to 1,000 g"])
def test_a_comma_before_three_digits_is_refused_because_it_may_mean_thousands(text: str) -> None:
    with pytest.raises(UnitError, match="may mean"):
        parse_window(text)
    with pytest.raises(UnitError):
        parse_quantity(text)


def test_a_comma_that_can_only_be_a_decimal_point_is_read_as_one() -> None:
    assert parse_quantity("2,5 g").magnitude == 2.5
    assert parse_quantity("0,125 g").magnitude == 0.125


REGISTRY_NAMES = {
    "floz": "US_fluid_ounce",
    "fl oz": "US_fluid_ounce",
    "tbsp": "tablespoon",
    "tsp": "teaspoon",
    "pint": "US_pint",
    "%": "percent",
    "°C": "degC",
    "°F": "degF",
    "mL/g": "milliliter/gram",
}
COMMON = [
    *(unit for unit in UNITS if unit not in ("ratio", "kelvin")),
    *CURRENCIES,
    *("EUR/h", "USD/hour", "mL/g", "g/L", "kg/kg", "delta_degC/min", "%", "°C", "fl oz", "mins"),
]


@pytest.mark.parametrize("text", COMMON)
def test_common_units_are_as_the_registry_has_them(text: str) -> None:
    quick, asked = parse_unit(text), ask_registry(text, REGISTRY_NAMES.get(text, text))
    assert quick.factor == pytest.approx(asked.factor, rel=1e-12)
    assert quick.offset == pytest.approx(asked.offset, rel=1e-12)
    assert (quick.dimension, quick.exponents) == (asked.dimension, asked.exponents)


def test_common_units_need_no_registry() -> None:
    script = (
        "import sys; from builder.units import parse_unit\n"
        f"[parse_unit(text) for text in {COMMON!r}]\n"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", script], check=True, timeout=60)
