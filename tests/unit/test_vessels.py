"""What the steps do to vessels, as the safety rules see it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from helpers import complete, make_library

from builder.amounts import read_exact, read_mass, read_volume, tell_amount
from builder.course import Course
from builder.units import parse_quantity, parse_unit
from builder.vessels import Trace, Vessel, find_key

MATERIALS = """\
# file: kb/materials.yml
base: {is_base: true}
oil:
  density: {value: 0.8 g/mL, citation: a}
spirit: {hazards: [flammable]}
# file: kb/tools.yml
ring: {heats: true}
spoon: {}
"""


def trace(*steps: str) -> Trace:
    """Follow a lesson whose steps hold the given actions, `temperature` lines included."""
    text = "# file: lessons/one.yml\nsteps:\n"
    for step in steps:
        lines = [line.strip() for line in step.strip().splitlines() if line.strip()]
        window = next((line for line in lines if line.startswith("temperature")), None)
        actions = "".join(f"      - {{{line}}}\n" for line in lines if line != window)
        text += f"  - title: Step\n    {window or 'time: 1 min'}\n"
        text += f"    actions:\n{actions}" if actions else "    actions: []\n"
    library, findings = make_library(complete(text + MATERIALS))
    assert findings == []
    ((_, found),) = Course(library).traces
    return found


def end(found: Trace, name: str) -> Vessel:
    return next(vessel for vessel in found.vessels if find_key(vessel.name) == find_key(name))


def grams(vessel: Vessel) -> dict[str, float]:
    totals: dict[str, float] = {}
    for portion in vessel.contents:
        assert portion.mass_kg is not None
        totals[portion.material] = totals.get(portion.material, 0) + float(portion.mass_kg) * 1000
    return {name: round(mass, 6) for name, mass in totals.items()}


def celsius(vessel: Vessel) -> float | None:
    assert vessel.warmth is not None
    kelvin = vessel.warmth.kelvin
    return None if kelvin is None else float(kelvin) - 273.15


def test_a_vessel_is_known_by_its_name_without_case_and_spaces() -> None:
    found = trace(
        """do: add, vessel: Big  Jug, material: base, amount: 5 g
        do: add, vessel: big jug, material: base, amount: 6 g"""
    )
    (jug,) = found.vessels
    assert grams(jug) == {"base": 11}


def test_a_volume_counts_by_its_density_and_without_one_is_unknown() -> None:
    found = trace(
        """do: add, vessel: jug, material: oil, amount: 10 mL
        do: add, vessel: jug, material: base, amount: 10 mL
        do: add, vessel: jug, material: base"""
    )
    masses = [portion.mass_kg for portion in end(found, "jug").contents]
    assert masses == [Fraction(8, 1000), None, None]


def test_a_pour_moves_everything_and_what_is_flammable_stays_on_both() -> None:
    found = trace(
        """do: add, vessel: cup, material: spirit, amount: 2 g
        do: add, vessel: cup, material: oil, amount: 1 g
        do: add, vessel: jug, material: base, amount: 100 g
        do: pour, vessel: cup, into: jug"""
    )
    assert end(found, "cup").contents == ()
    assert end(found, "cup").flammable is not None
    assert grams(end(found, "jug")) == {"base": 100, "spirit": 2, "oil": 1}
    assert end(found, "jug").flammable is not None


def test_a_pour_of_an_amount_moves_that_part() -> None:
    found = trace(
        """do: add, vessel: jug, material: base, amount: 90 g
        do: add, vessel: jug, material: oil, amount: 10 g
        do: pour, vessel: jug, into: cup, amount: 25 g"""
    )
    assert grams(end(found, "cup")) == {"base": 22.5, "oil": 2.5}
    assert grams(end(found, "jug")) == {"base": 67.5, "oil": 7.5}


def test_a_pour_of_a_volume_goes_by_density() -> None:
    found = trace(
        """do: add, vessel: jug, material: oil, amount: 80 g
        do: pour, vessel: jug, into: cup, amount: 25 mL"""
    )
    assert grams(end(found, "cup")) == {"oil": 20}


def test_a_pour_of_unknown_part_keeps_the_shares_but_spoils_a_mixture() -> None:
    lone = trace(
        """do: add, vessel: jug, material: base, amount: 90 g
        do: add, vessel: jug, material: oil, amount: 10 g
        do: pour, vessel: jug, into: cup, amount: 25 mL"""
    )
    shares = grams(end(lone, "cup"))
    assert shares["oil"] / shares["base"] == pytest.approx(1 / 9)
    mixed = trace(
        """do: add, vessel: jug, material: base, amount: 90 g
        do: add, vessel: jug, material: oil, amount: 10 g
        do: add, vessel: cup, material: base, amount: 10 g
        do: pour, vessel: jug, into: cup, amount: 25 mL"""
    )
    marks = {portion.material: portion.guessed for portion in end(mixed, "cup").contents}
    assert marks["oil"] is not None
    assert [each.guessed for each in end(mixed, "cup").contents if each.material == "base"] == [
        None,
        marks["oil"],
    ]


def test_pours_without_an_amount_share_the_contents_evenly() -> None:
    found = trace(
        """do: add, vessel: jug, material: base, amount: 90 g
        do: pour, vessel: jug, into: first
        do: pour, vessel: jug, into: second
        do: pour, vessel: jug, into: third
        do: add, vessel: jug, material: base, amount: 5 g
        do: pour, vessel: jug, into: third"""
    )
    assert [grams(end(found, name)) for name in ("first", "second", "third")] == [
        {"base": 30},
        {"base": 30},
        {"base": 35},
    ]
    assert end(found, "jug").contents == ()


def test_a_pour_from_a_bottle_puts_in_its_material() -> None:
    found = trace("do: pour, vessel: bottle, into: cup, material: spirit, amount: 3 g")
    assert grams(end(found, "cup")) == {"spirit": 3}
    assert end(found, "cup").flammable is not None


def test_airing_clears_only_with_a_time() -> None:
    wet = "do: wet, vessel: card, material: spirit"
    assert end(trace(wet), "card").flammable is not None
    unclear = end(trace(f"{wet}\ndo: air, vessel: card"), "card").flammable
    assert unclear is not None
    assert unclear.aired == ("steps", 0, "actions", 1)
    assert end(trace(f"{wet}\ndo: air, vessel: card, time: 5 min"), "card").flammable is None
    assert end(trace(f"{wet}\ndo: air, vessel: card, time: 0 min"), "card").flammable is not None
    other = trace(f"{wet}\ndo: air, vessel: table, time: 5 min")
    assert end(other, "card").flammable is not None


def test_heat_states_its_temperature_or_the_window_does_or_nobody() -> None:
    heat = "do: heat, vessel: jug"
    assert celsius(end(trace(f"{heat}, to: 70 degC"), "jug")) == pytest.approx(70)
    assert celsius(end(trace(f"temperature: 60 to 65 degC\n{heat}"), "jug")) == pytest.approx(65)
    both = trace(f"temperature: 60 to 75 degC\n{heat}, to: 70 degC")
    assert celsius(end(both, "jug")) == pytest.approx(75)
    assert celsius(end(trace(heat), "jug")) is None


def test_cooling_lowers_and_never_raises() -> None:
    heat = "do: heat, vessel: jug, to: 70 degC"
    assert celsius(end(trace(f"{heat}\ndo: cool, vessel: jug, to: 50 degC"), "jug")) == 50
    assert celsius(end(trace(f"{heat}\ndo: cool, vessel: jug, to: 80 degC"), "jug")) == 70
    unknown = trace("do: heat, vessel: jug\ndo: cool, vessel: jug, to: 50 degC")
    assert celsius(end(unknown, "jug")) == 50
    assert end(trace("do: cool, vessel: jug, to: 50 degC"), "jug").warmth is None


def test_a_window_is_about_what_is_warm() -> None:
    found = trace(
        "do: heat, vessel: jug, to: 70 degC",
        """temperature: 55 to 60 degC
        do: add, vessel: jug, material: base, amount: 1 g
        do: add, vessel: cup, material: oil, amount: 1 g""",
    )
    assert celsius(end(found, "jug")) == 60
    assert end(found, "cup").warmth is None
    lone = trace("temperature: 55 to 60 degC\ndo: add, vessel: cup, material: oil, amount: 1 g")
    (moment,) = lone.moments
    assert moment.warmth is not None
    assert float(moment.warmth.kelvin or 0) == pytest.approx(333.15)


def test_a_pour_brings_its_heat_along() -> None:
    found = trace(
        """do: heat, vessel: jug, to: 70 degC
        do: add, vessel: cup, material: oil, amount: 1 g
        do: add, vessel: jug, material: base, amount: 1 g
        do: pour, vessel: jug, into: cup"""
    )
    assert celsius(end(found, "cup")) == 70
    assert end(found, "jug").warmth is None


def test_a_tool_that_heats_heats_whatever_the_verb() -> None:
    found = trace(
        """do: stir, vessel: jug, tool: ring
        do: stir, vessel: jug, tool: spoon
        do: heat, vessel: jug"""
    )
    assert [moment.heated for moment in found.moments] == [True, False, True]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("3 g", "0.003 kg"),
        ("16 oz", "1 lb"),
        ("3 tsp", "1 tbsp"),
        ("2 tbsp", "1 fl oz"),
        ("154.4 degF", "68 degC"),
        ("203 degF", "95 degC"),
        ("0,5 mL", "500 µL"),
        ("3 %", "0.03 g/g"),
    ],
)
def test_amounts_are_exact(one: str, other: str) -> None:
    assert read_exact(parse_quantity(one)) == read_exact(parse_quantity(other))


def test_a_volume_without_density_has_no_mass() -> None:
    assert read_mass(parse_quantity("1 mL"), None) is None
    assert read_volume(parse_quantity("1 g"), None) is None
    assert read_mass(parse_quantity("1 g"), None) == Fraction(1, 1000)
    assert read_volume(parse_quantity("1 mL"), None) == Fraction(1, 10**6)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        ("0.0010399 kg", "g", "1.03 g"),
        ("0.0010399 mL", "mL", "0.00103 mL"),
        ("12345.6789 g", "g", "12345.67 g"),
        ("3 g", "g", "3 g"),
        ("300 g", "g", "300 g"),
        ("0 g", "g", "0 g"),
        ("205 degF", "degC", "96.11 degC"),
    ],
)
def test_amounts_are_told_rounded_down(value: str, unit: str, text: str) -> None:
    assert tell_amount(read_exact(parse_quantity(value)), parse_unit(unit)) == text
