"""The rule about amounts that hurt when they are wrong: each is worked out again at every check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from builder.amounts import read_mass, read_volume
from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.model import Hazard, Lesson, Material
from builder.model.lessons import Computed, LessonMaterial
from builder.units import UnitError, parse_unit

CLOSE = 0.005
"""How far an amount in a lesson may be from what its calculator gives, as a share of it."""


@rule("unsafe-amount", "formulas")
def check_unsafe_amount(course: Course) -> Iterator[Found]:
    """An amount in a lesson is not what its calculator gives, or the calculator refuses it.

    Some amounts hurt when they are wrong. A lesson that says how an amount was worked out has it
    worked out again at every check; it may differ by 0.5 %. A material with `computed_by`, and any
    that is corrosive, may not stand in a lesson without that, nor be put in by a fix, which cannot
    say how an amount was worked out. One of which no amount can be too much says so in
    `without: [{fact: calculator, citation: ...}]`. What an amount is worked out from must be the
    lesson's own materials, named under `from_materials`, so that no one changes a recipe and leaves
    its dangerous part as it was. A recipe holds one such part: a second one worked out from the
    same materials would double it. A material may state the inputs and the output of its calculator
    that are its own (`computed_as`, `computed_output`), so that no amount of something else is
    taken for it. Numbers that a lesson fills into a calculator are tried too.

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

    Passing with `amount: 20 g` in place of `amount: 12 g`.
    """
    for lesson in course.library.lessons.values():
        for number, part in enumerate(lesson.materials):
            yield from _check_part(course, lesson, ("materials", number), part)
        for number, use in enumerate(lesson.calculators):
            refused = _refuse(course, use.calculator, use.inputs)
            if refused:
                yield Found(
                    lesson,
                    ("calculators", number, "inputs"),
                    f'the calculator "{use.calculator}" refuses the numbers of this lesson: '
                    f"{refused}",
                    "change the numbers until it gives an answer",
                )
    yield from _check_fixes(course)


def _check_fixes(course: Course) -> Iterator[Found]:
    for fix in course.library.fixes.values():
        for number, step in enumerate(fix.steps):
            for place, action in enumerate(step.actions):
                material = course.library.materials.get(action.material or "")
                if material is None or not _must_be_computed(course, material):
                    continue
                yield Found(
                    fix,
                    ("steps", number, "actions", place, "material"),
                    f'amounts of "{material.id}" must come from {_name_calculator(material)}, and '
                    "a fix cannot say how one was worked out",
                    "put this work into a lesson, where the amount is computed, and name that "
                    "lesson here",
                    related=[(material, ("computed_by",), "the calculator it must come from")]
                    if material.computed_by
                    else [],
                )


def _must_be_computed(course: Course, material: Material) -> bool:
    """Say whether each amount of a material must say which calculator it comes from."""
    if material.computed_by is not None:
        return True
    corrosive = Hazard.CORROSIVE in course.hazards.materials[material.id]
    return corrosive and all(each.fact != "calculator" for each in material.without)


def _name_calculator(material: Material) -> str:
    if material.computed_by is not None:
        return f'the calculator "{material.computed_by}"'
    return "a calculator, because it is corrosive"


def _check_part(
    course: Course, lesson: Lesson, route: Route, part: LessonMaterial
) -> Iterator[Found]:
    library = course.library
    material = library.materials.get(part.material)
    demanded = material is not None and _must_be_computed(course, material)
    computed = part.computed
    if (
        material is not None
        and demanded
        and (computed is None or material.computed_by not in (None, computed.calculator))
    ):
        yield Found(
            lesson,
            (*route, "material"),
            f'amounts of "{part.material}" must come from {_name_calculator(material)}, and this '
            "one does not say how it was worked out",
            f"add computed: with calculator: {material.computed_by or '...'}, the inputs, and the "
            "output it equals",
        )
        return
    if computed is None:
        return
    if material is not None and demanded:
        other = _find_other(material, computed)
        if other:
            yield Found(
                lesson,
                (*route, "computed"),
                f'this is not the amount of "{part.material}": {other}',
                "work it out for this material",
                related=[(material, (), "what it must be worked out as")],
            )
            return
        twin = _find_twin(course, lesson, part)
        if twin:
            yield Found(
                lesson,
                (*route, "computed"),
                f'"{part.material}" is worked out from the same materials as the "{twin}" listed '
                "before it, so together they are too much",
                "list one of the two, with the whole amount",
            )
            return
    loose = list(_find_loose(course, computed)) if demanded else []
    if loose:
        yield Found(
            lesson,
            (*route, "computed"),
            f'"{loose[0]}" is what "{part.material}" is worked out from, and it is not taken from '
            "the materials of this lesson",
            f"add from_materials: with {loose[0]} and the materials it stands for",
        )
        return
    inputs, problem = _fill_inputs(lesson, part, computed)
    if problem:
        yield Found(
            lesson,
            (*route, "computed", "from_materials"),
            problem,
            "name materials of this lesson that are listed with the same per:",
        )
        return
    refused = _refuse(course, computed.calculator, inputs)
    if refused:
        yield Found(
            lesson,
            (*route, "computed"),
            f'the calculator "{computed.calculator}" refuses this amount: {refused}',
            "change the inputs until it gives an answer, then take the amount from there",
        )
        return
    compiled, _ = course.try_compile(computed.calculator)
    if compiled is None:
        return  # the calculator itself is reported
    values = compiled.read_values(inputs) or {}
    found = values.get(computed.output)
    if not isinstance(found, float):
        yield Found(
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
            yield Found(
                lesson,
                (*route, "amount"),
                f"{part.amount} cannot be held against what "
                f'"{computed.calculator}" gives in {unit.text}',
                f"write the amount in {unit.text}",
            )
            return
        amount = float(converted)
    if abs(amount - found) > CLOSE * abs(found):
        given = compiled.calculate(inputs).outputs[computed.output]["text"]
        yield Found(
            lesson,
            (*route, "amount"),
            f'{part.amount} of "{part.material}" is not what "{computed.calculator}" gives: '
            f"{given}",
            f"write {given}, or mend the inputs under computed",
        )


def _find_other(material: Material, computed: Computed) -> str:
    """Say in which input or output a calculation is one of another material, or ""."""
    if material.computed_output not in (None, computed.output):
        return f'its amount is the output "{material.computed_output}", not "{computed.output}"'
    for name, value in material.computed_as.items():
        if computed.inputs.get(name) != value:
            return f"its calculation has the input {name}: {value}"
    return ""


def _find_twin(course: Course, lesson: Lesson, part: LessonMaterial) -> str:
    """Give the dangerous part, listed before this one, that the same materials were used for."""
    used = _list_sources(part)
    for each in lesson.materials:
        if each is part:
            return ""
        material = course.library.materials.get(each.material)
        if material and _must_be_computed(course, material) and used & _list_sources(each):
            return str(each.material)
    return ""


def _list_sources(part: LessonMaterial) -> set[str]:
    """Give the materials that an amount was worked out from."""
    wanted = part.computed.from_materials.values() if part.computed else ()
    texts = [
        row for each in wanted for row in (each.values() if isinstance(each, dict) else [each])
    ]
    return {text.partition(":")[0].strip() for text in texts}


def _find_loose(course: Course, computed: Computed) -> Iterator[str]:
    """Give the inputs that stand for amounts and are not taken from the lesson's materials."""
    calculator = course.library.calculators.get(computed.calculator)
    for name, entry in calculator.inputs.items() if calculator else ():
        units = [column.unit for column in entry.columns.values()] or [entry.unit]
        if name not in computed.from_materials and any(map(_is_amount, units)):
            yield name


def _is_amount(unit: str | None) -> bool:
    try:
        return unit is not None and parse_unit(unit).dimension in ("[mass]", "[length] ** 3")
    except UnitError:
        return False  # `1` and `money`, or reported with the calculator


def _fill_inputs(
    lesson: Lesson, part: LessonMaterial, computed: Computed
) -> tuple[dict[str, str], str]:
    """Fill the inputs of a calculation, amounts from the lesson's list; or say what is wrong."""
    inputs = dict(computed.inputs)
    for name, wanted in computed.from_materials.items():
        rows = wanted if isinstance(wanted, dict) else {"": wanted}
        cells = []
        for row, written in rows.items():
            material, _, rest = (each.strip() for each in written.partition(":"))
            listed = [each for each in lesson.materials if each.material == material]
            if not listed:
                return {}, f'"{material}" is not among the materials of this lesson'
            if any(each.per != part.per for each in listed):
                return {}, f'"{material}" and "{part.material}" do not grow alike'
            if len({each.amount.unit.text for each in listed}) > 1:
                return {}, f'"{material}" is listed in several units'
            unit = listed[0].amount.unit
            amount = f"{sum(each.amount.magnitude for each in listed):.12g} {unit.text}"
            cells.append(": ".join(filter(None, (row, amount, rest))))
        inputs[name] = ", ".join(cells)
    return inputs, ""


def _refuse(course: Course, calculator: str, inputs: Mapping[str, str]) -> str:
    """Say why a calculator refuses what was filled in, or "" where it gives an answer."""
    compiled, _ = course.try_compile(calculator)
    if compiled is None:
        return ""  # missing or broken: reported on its own
    return "; ".join(str(error["message"]) for error in compiled.calculate(inputs).errors)
