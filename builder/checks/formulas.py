"""Rules about calculators: formulas that can be read, units that agree, answers that hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from builder.checks.amounts import read_mass, read_volume
from builder.checks.rule import Context, make_rule
from builder.diagnostics import Diagnostic, Route, Severity
from builder.model import Lesson
from builder.model.lessons import LessonMaterial
from builder.units import parse_unit

CLOSE = 0.005
"""How far an amount in a lesson may be from what its calculator gives, as a share of it."""


def _report_problems(context: Context, *rules: str) -> Iterator[Diagnostic]:
    for entry, problem in context.calculator_problems:
        if problem.rule in rules:
            yield context.library.report(
                problem.rule, entry, problem.route, problem.message, problem.hint
            )


def check_formula_invalid(context: Context) -> Iterator[Diagnostic]:
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

    Passing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.
    """
    yield from _report_problems(context, "formula-invalid", "value-invalid", "reference-unknown")


def check_unit_mismatch(context: Context) -> Iterator[Diagnostic]:
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

    Passing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much in all.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
          water: {label: Water, unit: g, default: 200 g}
        outputs:
          bath: {label: Bath, formula: dye + water, unit: g}
        examples:
          - {name: One, outputs: {bath: 210 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {bath: 205 g}, citation: bench}
        readings: [{words: Dye and water., symbols: b = d + w}]
        limits: For cold water.
    """
    yield from _report_problems(context, "unit-mismatch")


def check_worked_example_wrong(context: Context) -> Iterator[Diagnostic]:
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

    Passing:

        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.
    """
    yield from _report_problems(context, "worked-example-wrong")


def check_unsafe_amount(context: Context) -> Iterator[Diagnostic]:
    """An amount in a lesson is not what its calculator gives, or the calculator refuses it.

    Some amounts hurt when they are wrong. A lesson that says how an amount was worked out has it
    worked out again at every check; it may differ by 0.5 %. A material with `computed_by` may not
    stand in a lesson without that, nor be put in by a fix, which cannot say how an amount was
    worked out. Numbers that a lesson fills into a calculator are tried too.

    Failing:

        # file: lessons/cards/first.yml
        materials:
          - material: starch
            amount: 12 g
            computed: {calculator: water-bath, inputs: {dye: 1 g}, output: water}
        # file: kb/materials.yml
        starch: {name: Starch}
        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.

    Passing:

        # file: lessons/cards/first.yml
        materials:
          - material: starch
            amount: 20 g
            computed: {calculator: water-bath, inputs: {dye: 1 g}, output: water}
        # file: kb/materials.yml
        starch: {name: Starch}
        # file: kb/calculators/water-bath.yml
        name: Water bath
        summary: How much water.
        inputs:
          dye: {label: Dye, unit: g, default: 10 g}
        outputs:
          water: {label: Water, formula: dye * 20, unit: g}
        examples:
          - {name: One, outputs: {water: 200 g}, citation: bench}
          - {name: Two, inputs: {dye: 5 g}, outputs: {water: 100 g}, citation: bench}
        readings: [{words: Twenty times the dye., symbols: w = 20 d}]
        limits: For cold water.
    """
    for lesson in context.library.lessons.values():
        for number, part in enumerate(lesson.materials):
            yield from _check_part(context, lesson, ("materials", number), part)
        for number, use in enumerate(lesson.calculators):
            refused = _refuse(context, use.calculator, use.inputs)
            if refused:
                yield context.library.report(
                    "unsafe-amount",
                    lesson,
                    ("calculators", number, "inputs"),
                    f'the calculator "{use.calculator}" refuses the numbers of this lesson: '
                    f"{refused}",
                    "change the numbers until it gives an answer",
                )
    yield from _check_fixes(context)


def _check_fixes(context: Context) -> Iterator[Diagnostic]:
    for fix in context.library.fixes.values():
        for number, step in enumerate(fix.steps):
            for place, action in enumerate(step.actions):
                material = context.library.materials.get(action.material or "")
                if material is None or material.computed_by is None:
                    continue
                yield context.library.report(
                    "unsafe-amount",
                    fix,
                    ("steps", number, "actions", place, "material"),
                    f'amounts of "{material.id}" must come from the calculator '
                    f'"{material.computed_by}", and a fix cannot say how one was worked out',
                    "put this work into a lesson, where the amount is computed, and name that "
                    "lesson here",
                    related=[(material, ("computed_by",), "the calculator it must come from")],
                )


def _check_part(
    context: Context, lesson: Lesson, route: Route, part: LessonMaterial
) -> Iterator[Diagnostic]:
    library = context.library
    material = library.materials.get(part.material)
    demanded = material.computed_by if material else None
    computed = part.computed
    if demanded and (computed is None or computed.calculator != demanded):
        yield library.report(
            "unsafe-amount",
            lesson,
            (*route, "material"),
            f'amounts of "{part.material}" must come from the calculator "{demanded}", and this '
            "one does not say how it was worked out",
            f"add computed: with calculator: {demanded}, the inputs, and the output it equals",
        )
        return
    if computed is None:
        return
    refused = _refuse(context, computed.calculator, computed.inputs)
    if refused:
        yield library.report(
            "unsafe-amount",
            lesson,
            (*route, "computed"),
            f'the calculator "{computed.calculator}" refuses this amount: {refused}',
            "change the inputs until it gives an answer, then take the amount from there",
        )
        return
    compiled, _ = context.workings.try_compile(computed.calculator)
    if compiled is None:
        return  # the calculator itself is reported
    values = compiled.read_values(computed.inputs) or {}
    found = values.get(computed.output)
    if not isinstance(found, float):
        yield library.report(
            "unsafe-amount",
            lesson,
            (*route, "computed", "output"),
            f'"{computed.output}" is no number that the calculator "{computed.calculator}" gives',
            f"it gives {', '.join(compiled.entry.outputs)}",
        )
        return
    unit = parse_unit(compiled.entry.outputs[computed.output].unit or "dimensionless")
    amount = part.amount.base
    if part.amount.dimension != unit.dimension:
        read = read_mass if unit.dimension == "[mass]" else read_volume
        converted = read(part.amount, material)
        if unit.dimension not in ("[mass]", "[length] ** 3") or converted is None:
            yield library.report(
                "unsafe-amount",
                lesson,
                (*route, "amount"),
                f"{part.amount} cannot be held against what "
                f'"{computed.calculator}" gives in {unit.text}',
                f"write the amount in {unit.text}",
            )
            return
        amount = float(converted)
    if abs(amount - found) > CLOSE * abs(found):
        given = compiled.calculate(computed.inputs).outputs[computed.output]["text"]
        yield library.report(
            "unsafe-amount",
            lesson,
            (*route, "amount"),
            f'{part.amount} of "{part.material}" is not what "{computed.calculator}" gives: '
            f"{given}",
            f"write {given}, or mend the inputs under computed",
        )


def _refuse(context: Context, calculator: str, inputs: Mapping[str, str]) -> str:
    """Say why a calculator refuses what was filled in, or "" where it gives an answer."""
    compiled, _ = context.workings.try_compile(calculator)
    if compiled is None:
        return ""  # missing or broken: reported on its own
    return "; ".join(str(error["message"]) for error in compiled.calculate(inputs).errors)


RULES = (
    make_rule("formula-invalid", Severity.ERROR, "formulas", check_formula_invalid),
    make_rule("unit-mismatch", Severity.ERROR, "formulas", check_unit_mismatch),
    make_rule("worked-example-wrong", Severity.ERROR, "formulas", check_worked_example_wrong),
    make_rule("unsafe-amount", Severity.ERROR, "formulas", check_unsafe_amount),
)
