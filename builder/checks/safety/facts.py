"""The safety rule about facts: what is left out must not switch a rule off."""

from __future__ import annotations

from collections.abc import Iterator

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.model import Caution, Hazard, Material, Verb
from builder.text import count_words

BURNS_OR_POISONS = frozenset({Hazard.HOT, Hazard.FLAMMABLE, Hazard.CORROSIVE, Hazard.TOXIC})
"""Hazards after which there is something to do at once."""
LIQUID_CODES = frozenset({"H224", "H225", "H226", "H227"})
"""GHS statements that a liquid bears because of its flash point."""
FEWEST_WORDS = 3
"""Words without which nothing is said of what can happen or what to do at once."""
FEWEST_TO_DO = 2
"""Words of something to do, such as `Wear goggles`."""


@rule("fact-missing", "safety")
def check_fact_missing(course: Course) -> Iterator[Found]:
    """A fact on which a rule of safety leans is left out.

    A limit, a flash point or a first aid that is not written cannot be held against anything, so
    leaving it out would be the easiest way to be told that all is well. So what can make skin
    allergic has its limits; a liquid that is flammable or combustible has its flash point; a base
    has its highest safe temperature; what is corrosive says what it must go into; a caution about
    what burns or poisons says the first aid, and every caution says in words what can happen and
    what to do. A material without any hazard says that it has none.

    Where such a fact truly does not exist, the material says so in `without`, with the source that
    tells it: `without: [{fact: flash-point, citation: safety-sheet}]`.

    No rule can see what nobody writes anywhere: a flammable liquid that is entered under an
    innocent name, with `without: hazards`, passes. Enter what the label of the bottle says, sign by
    sign.

    Failing:

        # file: kb/materials.yml
        resin:
          hazards: [sensitiser]
        # file: kb/citations.yml
        safety-sheet: {certainty: practice}

    Passing:

        # file: kb/materials.yml
        resin:
          hazards: [sensitiser]
          limits:
            - {most: 1 %, of: base, citation: safety-sheet}
        petals:
          without:
            - {fact: hazards, citation: safety-sheet}
        # file: kb/citations.yml
        safety-sheet: {certainty: practice}
    """
    for material in course.library.materials.values():
        yield from _check_material(course, material)
    for caution in course.library.cautions.values():
        yield from _check_words(caution)
        yield from _check_first_aid(course, caution)


def _check_material(course: Course, material: Material) -> Iterator[Found]:
    hazards = course.hazards.materials[material.id]
    stated = {each.fact: place for place, each in enumerate(material.without)}

    def lacks(fact: str, route: Route, message: str, hint: str) -> Iterator[Found]:
        if fact not in stated:
            also = f"; where there truly is none, write without: [{{fact: {fact}, citation: ...}}]"
            yield Found(material, route, message, hint + also, key=bool(route))

    if not hazards:
        yield from lacks(
            "hazards",
            (),
            f'material "{material.id}" says neither what is hazardous about it nor that nothing is',
            "write its hazards as its label and its safety data sheet give them",
        )
    elif "hazards" in stated:
        yield Found(
            material,
            ("without", stated["hazards"]),
            f'material "{material.id}" is said to be without hazards, and it has the hazard '
            f"{' and '.join(hazards)}",
            "take the line out, or the hazard, whichever is wrong",
        )
    if Hazard.SENSITISER in hazards and not material.limits and not material.is_base:
        yield from lacks(
            "limits",
            ("hazards",),
            f'material "{material.id}" can make skin allergic, and no limit says how much may '
            "go in",
            "add limits: with the share, of what, and the certificate or sheet that gives it",
        )
    codes = {code for each in (material.ghs.statements if material.ghs else ())
             for code in each.code.split("+")}  # fmt: skip
    liquid = bool(codes & LIQUID_CODES)
    if (Hazard.FLAMMABLE in hazards or liquid) and not material.flash_points:
        yield from lacks(
            "flash-point",
            ("ghs",) if liquid else ("hazards",),
            f'material "{material.id}" is {"flammable" if Hazard.FLAMMABLE in hazards else ""}'
            f"{'combustible' if Hazard.FLAMMABLE not in hazards else ''}, and its flash point is "
            "not stated",
            "add flash_points: with each value that its sheets give",
        )
    if Hazard.CORROSIVE in hazards and not material.goes_into:
        yield from lacks(
            "order",
            ("ghs",) if material.ghs else ("hazards",),
            f'material "{material.id}" is corrosive, and nothing says what it must go into',
            "add goes_into: with the ids of what must be in the vessel before it",
        )
    if material.is_base and material.highest_temperature is None:
        yield from lacks(
            "highest-temperature",
            ("is_base",),
            f'nothing says how hot the base "{material.id}" may become',
            "add highest_temperature: with its value and source",
        )


def _check_words(caution: Caution) -> Iterator[Found]:
    texts: list[tuple[Route, str, int, str]] = [
        (("happens",), caution.happens, FEWEST_WORDS, "what can happen"),
        *(
            (("do", place), line, FEWEST_TO_DO, "what to do")
            for place, line in enumerate(caution.do)
        ),
    ]
    if caution.first_aid is not None:
        texts.append((("first_aid",), caution.first_aid, FEWEST_WORDS, "the first aid"))
    for route, text, fewest, what in texts:
        if count_words(text) < fewest:
            yield Found(
                caution,
                route,
                f'this caution does not say {what}: "{" ".join(text.split())[:40]}"',
                "write it in a sentence that someone in fear can follow",
            )


def _check_first_aid(course: Course, caution: Caution) -> Iterator[Found]:
    if caution.first_aid is not None:
        return
    applies = caution.applies
    library, index = course.library, course.hazards
    found: list[tuple[Route, Hazard]] = [
        (("applies", "hazards"), hazard) for hazard in applies.hazards
    ]
    if Verb.HEAT in applies.actions:
        found.append((("applies", "actions"), Hazard.HOT))
    for name in applies.materials:
        found += [(("applies", "materials"), each) for each in index.materials.get(name, ())]
    for name in applies.tools:
        tool = library.tools.get(name)
        found += [(("applies", "tools"), each) for each in (tool.hazards if tool else ())]
    for route, hazard in found:
        if hazard in BURNS_OR_POISONS:
            yield Found(
                caution,
                route,
                f"this caution is for what has the hazard {hazard}, and it says no first aid",
                "add first_aid: with what to do at once, from a source that you name in citations",
                key=True,
            )
            return
