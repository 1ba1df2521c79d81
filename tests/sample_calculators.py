"""A calculator and a table of another craft, dyeing yarn, that use every part of the schema."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from builder.calculators import CompiledCalculator, compile_calculator, emit_calculator
from builder.model.calculators import Calculator, Table
from builder.twin_scripts import CALCULATORS, NUMBERS, write_scripts
from tests.helpers import read_yaml

DYES = """
id: dyes
name: Dyes
summary: Invented dyes.
columns:
  strength: {label: Strength, unit: mg/g}
  begins: {label: Begins, unit: g}
steps_by: begins
rows:
  madder:
    name: Madder root
    also: [madder, Rubia]
    values:
      strength:
        - {value: 100 to 300 mg/g, citation: book}
        - {value: 90 to 310 mg/g, citation: sheet}
      begins: [{value: 0 g, citation: book}]
  weld:
    name: Weld
    values:
      strength: [{value: 10 to 20 percent, citation: book}]
      begins: [{value: 0.1 kg, citation: book}]
  indigo:
    name: Indigo, powdered
    values:
      begins: [{value: 1 kg, citation: book}]
"""

BATH = """
id: dye-bath
name: Dye bath
summary: How much dye a bath of yarn takes.
inputs:
  yarn:
    label: Yarn
    unit: g
    default: 100 g
    more_than: 0 g
    at_most: 5 kg
  depth:
    label: Depth of shade
    unit: percent
    default: 2 percent
    at_least: 0 percent
    less_than: 8 percent
    bounds_note: More does not bind.
  water:
    label: Water
    unit: mL
    default: 2 L
    at_least: 100 mL
    at_most: 50 L
  bath:
    label: Bath
    unit: degC
    default: 40 degC
    at_least: 5 degC
    at_most: 95 degC
  rise:
    label: Rise
    unit: delta_degC
    default: 20 delta_degC
    at_least: 0 K
    at_most: 90 K
  skeins: {label: Skeins, kind: count, default: 4, at_least: 1, at_most: 50}
  factor: {label: Factor, kind: number, default: 1.5, more_than: 0}
  vessel:
    label: Vessel
    kind: choice
    choices: {pot: Pot, indigo-vat: Indigo vat}
    default: pot
  deep:
    label: Depth of the vat
    unit: cm
    default: 30 cm
    at_least: 10 cm
    shown_when: vessel == "indigo-vat"
  ceiling:
    label: Highest temperature
    unit: degC
    optional: true
    at_most: 100 degC
  note: {label: Note, kind: text, optional: true}
  dyes:
    label: Dyes
    kind: rows
    columns:
      dye: {label: Dye, kind: choice, table: dyes}
      part: {label: Part, kind: quantity, unit: percent, more_than: 0 percent, at_most: 100 percent}
      strength: {label: Strength, kind: quantity, unit: mg/g, optional: true}
    default: "madder: 60 %, weld: 40 %"
    most_rows: 4
  costs:
    label: Costs
    kind: rows
    optional: true
    columns:
      name: {label: Name, kind: text}
      price: {label: Price, kind: quantity, unit: money, at_least: 0 money}
      pack: {label: Pack, kind: amount, more_than: 0}
      used: {label: Used, kind: amount, at_least: 0}
  readings:
    label: Readings
    kind: rows
    columns:
      reading: {label: Reading, kind: quantity, unit: g}
    least_rows: 2
    default: 10 11 12
constants:
  density: {label: Density of water, value: 1 g/mL, citation: book}
  boiling: {label: Boiling point, value: 100 degC, citation: book}
  warm: {label: Warm, value: 60 degC, citation: book}
  wage: {label: Wage, value: 2, citation: book}
values:
  low:
    formula: >-
      sum(row.part * table_low("dyes", row.dye, "strength") for row in dyes)
    unit: percent
    significant: 3
  strength:
    label: Strength of the dyes
    formula: >-
      sum(row.part * (row.strength if given(row.strength)
      else table_middle("dyes", row.dye, "strength")) for row in dyes)
  spare: {formula: 1 / (50 - skeins), label: Spare}
refusals:
  - when: sum(row.part for row in dyes) > 1.000001
    input: dyes
    message: "The parts come to more than {100 percent}."
  - when: given(ceiling) and bath + rise > ceiling
    input: rise
    message: "{bath} and {rise} more is above {ceiling}."
  - when: dye > yarn
    input: depth
    message: That would be {dye} of dye on {yarn} of yarn.
outputs:
  dye:
    label: Dye
    formula: yarn * depth * factor / strength
    unit: g
    significant: 3
    main: true
  ratio:
    label: Water to yarn
    formula: water / yarn * density
    unit: "1"
    places: 1
  hottest:
    label: Hottest
    formula: min(bath + rise, boiling)
    unit: degC
    places: 0
  room_left:
    label: Below the highest
    formula: ceiling - hottest
    unit: delta_degC
    places: 0
    shown_when: given(ceiling)
  strong:
    label: Strong dyes
    formula: names(row.dye for row in dyes if row.part > 0.5)
    empty: none of them
  cost:
    label: Cost
    formula: sum(row.price * row.used / row.pack for row in costs)
    unit: money
    places: 2
    shown_when: given(costs)
  spread: {label: Spread, formula: deviation(row.reading for row in readings), unit: g, places: 3}
  step:
    label: Class
    formula: table_step("dyes", yarn, "begins")
    unit: g
    us: false
  verdict:
    label: Verdict
    cases:
      - {when: vessel == "indigo-vat", text: "Use the vat, {deep} deep."}
      - {when: hottest > warm, text: "Hot: {hottest}."}
      - {text: "Fine for {skeins} in the {vessel}; strong: {strong}."}
warnings:
  deep-shade:
    when: depth > 0.04
    level: note
    message: "{depth} is a deep shade; {20 g} more salt."
  weak:
    when: low < 0.05
    message: The weakest lots give only {low}.
examples:
  - name: By hand
    inputs: {dyes: "weld: 100 %"}
    outputs: {dye: 20 g, hottest: 60 degC, step: 100 g}
    warnings: []
    citation: book
  - name: In ounces
    inputs: {yarn: 4 oz, depth: 1 %, factor: 1, dyes: "madder: 50 %: 500 mg/g"}
    outputs: {dye: 0.16 oz ± 0.0001, strong: none of them}
    citation: book
  - name: Too hot
    inputs: {ceiling: 50 degC}
    refused: rise
    citation: book
readings:
  - {words: The dye is the share of the yarn over its strength., symbols: d = y · s · f / σ}
limits: Invented.
plot:
  title: Dye over depth
  x: {name: depth, label: Depth, unit: percent, start: 0, end: 0.08}
  y: {label: Dye, unit: g}
  curves:
    - {label: Dye, formula: dye}
    - {label: Beyond, formula: yarn * log(depth - 0.04)}
  bands: [{label: Usual, low: yarn * 0.01, high: yarn * 0.2}]
  marks: [{label: Here, x: depth, y: dye}]
table: {input: depth, values: [1 %, 2 %, 4 %], outputs: [dye, ratio]}
"""


def load_table(text: str = DYES) -> Table:
    """Read a table from YAML."""
    return Table.model_validate(read_yaml(text))


def load_calculator(text: str = BATH, **changes: Any) -> Calculator:
    """Read a calculator from YAML, with top-level fields changed or added."""
    fields = read_yaml(text)
    for name, change in changes.items():
        if isinstance(change, dict) and isinstance(fields.get(name), dict):
            change = {**fields[name], **change}
        fields[name] = change
    return Calculator.model_validate(fields)


@cache
def compile_bath(currency: str = "EUR") -> CompiledCalculator:
    """Compile the dye bath once."""
    return compile_calculator(load_calculator(), {"dyes": load_table()}, currency)


def write_page_scripts(calculators: Iterable[CompiledCalculator]) -> str:
    """Give the scripts that a page with these calculators loads, as one text."""
    ordered = sorted(calculators, key=lambda compiled: compiled.entry.id)
    pieces = "".join(emit_calculator(compiled) for compiled in ordered)
    return write_scripts(NUMBERS, CALCULATORS) + pieces
