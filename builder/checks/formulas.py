"""Rules about calculators: formulas that can be read, units that agree, answers that hold."""

from __future__ import annotations

from collections.abc import Iterator

from builder.checks.rule import Found, find_problems, rule
from builder.course import Course
from builder.diagnostics import Severity


@rule("formula-invalid", "formulas")
def check_formula_invalid(course: Course) -> Iterator[Found]:
    """A formula of a calculator cannot be read, or uses a name that nothing stands for.

    Formulas are written as Python writes expressions, with the names of inputs, constants and
    earlier values and the functions of one table, and nothing else: whatever a formula cannot say
    can never run. The finding shows the formula with a mark under the place.

    Failing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        outputs:
          water: {label: Water, formula: dye * 20 +, unit: g}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.

    Passing with `water: {label: Water, formula: dye * 20, unit: g}` in place of `water: {label:
    Water, formula: dye * 20 +, unit: g}`.
    """
    yield from find_problems(course, "formula-invalid")


@rule("unit-mismatch", "formulas")
def check_unit_mismatch(course: Course) -> Iterator[Found]:
    """A formula adds, compares or gives things of different kinds, such as a mass and a volume.

    Grams and millilitres look alike on a recipe and are not: only a density leads from one to the
    other. A temperature and a difference of temperatures are different things too. The finding
    marks the place in the formula.

    Failing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much in all.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
          water: {label: Water, unit: mL, default: 200 mL}
        outputs:
          bath: {label: Bath, formula: dye + water, unit: g}
        examples:
          - {name: One, outputs: {bath: 210 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {bath: 205 g}, citation: bench}
        readings: [{words: Dye and water., symbols: b = d + w}]
        limits: For cold water.

    Passing with `water: {label: Water, unit: g, default: 200 g}` in place of `water: {label:
    Water, unit: mL, default: 200 mL}`.
    """
    yield from find_problems(course, "unit-mismatch")


@rule("worked-example-wrong", "formulas")
def check_worked_example_wrong(course: Course) -> Iterator[Found]:
    """A worked example of a calculator does not come out as it is written.

    Worked examples are answers from outside: a published table, a reference library, a sum done by
    hand. They are run again at every check, so a formula that is changed by mistake is found before
    anyone weighs by it.

    Failing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        examples:
          - {name: One, outputs: {water: 210 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.

    Passing with `- {name: One, outputs: {water: 200 g}, citation: bench}` in place of `- {name:
    One, outputs: {water: 210 g}, citation: bench}`.
    """
    yield from find_problems(course, "worked-example-wrong")


@rule("condition-settled", "formulas")
def check_condition_settled(course: Course) -> Iterator[Found]:
    """A condition of a calculator can never hold, or always must, whatever is typed.

    A warning that can never come warns nobody. Mostly a share was held against a percentage: 5 %
    is 0.05 in a formula, so a share of at most 1 is never above 5. The bounds of the inputs are
    followed through all values and outputs. A warning that is to stand always leaves `when` out.

    Failing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
          share: {label: Share, unit: percent, default: 2 %, at_least: 0 %, at_most: 100 %}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        warnings:
          strong: {when: share > 5, message: That is strong.}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.

    Passing with `strong: {when: share > 0.05, message: That is strong.}` in place of `strong:
    {when: share > 5, message: That is strong.}`.
    """
    yield from find_problems(course, "condition-settled")


@rule("example-missing", "formulas", Severity.WARNING)
def check_example_missing(course: Course) -> Iterator[Found]:
    """A danger or a refusal of a calculator is shown by no worked example.

    What keeps people from harm must be seen at work at every check. A danger whose condition was
    turned round by mistake, and a refusal that never comes, look right until somebody is hurt.

    Failing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        constants:
          pot: {label: What the pot holds, value: 1 kg, citation: bench}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        warnings:
          over: {when: water > pot, level: danger, message: The pot runs over.}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.

    Passing with `- {name: Two, inputs: {dye: 60 g}, outputs: {water: 1200 g}, citation: bench}` in
    place of `- {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}`.
    """
    yield from find_problems(course, "example-missing")
