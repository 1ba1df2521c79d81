"""Safety rules about what must stand around a hazard: a drill, and a caution."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.hazards import Exposure, walk_exposures
from builder.model import Fix, Hazard, Lesson, Protection
from builder.model.lessons import Drill


@rule("drill-missing", "safety")
def check_drill_missing(course: Course) -> Iterator[Found]:
    """A dangerous material is used without the drill that it needs.

    For some hazards reading a caution is not enough: what to wear, what to have at hand and what to
    do at once must have been learnt before. The course lists these in `drills`. A lesson that uses
    such a material must be of the drill's level or later, must have the drill's lesson among its
    prerequisites (or be that lesson), and must list the drill's equipment. The drill's cautions
    attach themselves. A fix that uses such a material must name, in `lesson`, a lesson that
    satisfies all this. The same holds for a tool with such a hazard, and where a hazard has several
    drills, for all of them. What is corrosive needs a drill always, so a course that has none
    cannot use it.

    Together the drill's tools and cautions must cover what the hazard needs. For what is corrosive
    that is equipment for eyes and hands (a tool says in `gives` what it protects), sleeves,
    ventilation and what to do with a spill (a tool, or a caution that says so in `tells`), and
    first aid.

    Failing:

        # file: lessons/course.yml
        drills: []
        # file: lessons/bleaching.yml
        level: beginner
        materials:
          - {material: strong-bleach, amount: 5 g}
        # file: kb/materials.yml
        strong-bleach: {hazards: [corrosive]}

    Passing:

        # file: lessons/course.yml
        drills:
          - hazard: corrosive
            level: advanced
            lesson: splash-drill
            tools: [goggles, gloves, coat]
            cautions: [splashes]
        # file: lessons/splash-drill.yml
        level: advanced
        # file: lessons/bleaching.yml
        level: advanced
        prerequisites: [splash-drill]
        materials:
          - {material: strong-bleach, amount: 5 g}
        tools: [{tool: goggles}, {tool: gloves}, {tool: coat}]
        # file: kb/materials.yml
        strong-bleach: {hazards: [corrosive]}
        # file: kb/tools.yml
        goggles: {gives: [eyes]}
        gloves: {gives: [hands]}
        coat: {gives: [sleeves]}
        # file: kb/cautions.yml
        splashes:
          tells: [ventilation, spill]
          first_aid: Rinse with plenty of water and call the emergency service.
    """
    library = course.library
    settings = library.settings
    if settings is None:
        return
    drilled = {drill.hazard for drill in settings.drills}
    for number, drill in enumerate(settings.drills):
        yield from _check_drill(course, number, drill)
    for entry in course.practical:
        seen: set[tuple[str, Hazard]] = set()
        for exposure in walk_exposures(course.hazards, entry):
            name, hazard = exposure.material or exposure.tool, exposure.hazard
            # A verb is no thing to be handled; the action's material and tool come by themselves.
            if name is None or hazard is None or exposure.verb is not None:
                continue
            if (name, hazard) in seen:
                continue
            seen.add((name, hazard))
            for number, drill in enumerate(settings.drills):
                if drill.hazard is hazard:
                    yield from _hold_to_drill(course, entry, exposure, number, drill)
            if hazard is Hazard.CORROSIVE and hazard not in drilled:
                owner = library.materials if exposure.material else library.tools
                yield Found(
                    entry,
                    exposure.route,
                    f'"{name}" has the hazard corrosive, and the course has no drill for that',
                    "add a drill to lessons/course.yml: its lesson, the equipment, and cautions "
                    "with first aid",
                    related=[(owner[name], (), f'"{name}"')],
                )


def _hold_to_drill(
    course: Course, entry: Lesson | Fix, exposure: Exposure, number: int, drill: Drill
) -> Iterator[Found]:
    library = course.library
    settings = library.settings
    assert settings is not None
    name = exposure.material or exposure.tool

    def report(message: str, hint: str, route: Route = exposure.route) -> Found:
        return Found(
            entry,
            route,
            f'"{name}" has the hazard {drill.hazard}; {message}',
            hint,
            related=[(settings, ("drills", number), "the drill")],
        )

    lesson: Lesson | None
    if isinstance(entry, Fix):
        lesson = library.lessons.get(entry.lesson) if entry.lesson else None
        if lesson is None:
            if entry.lesson is None or not library.exists("lesson", entry.lesson):
                yield report(
                    "this fix names no lesson that teaches how to handle it",
                    f'add lesson: with "{drill.lesson}", or a lesson that needs it',
                )
            return
    else:
        lesson = entry
    if lesson.level.rank < drill.level.rank:
        yield report(
            f'lesson "{lesson.id}" is {lesson.level}, and nothing with it is handled before the '
            f"level {drill.level}",
            f"use it in lessons of the level {drill.level}",
        )
    drilled = ("lesson", drill.lesson)
    if lesson.id != drill.lesson and not course.ancestry.comes_before(
        drilled, ("lesson", lesson.id)
    ):
        yield report(
            f'lesson "{lesson.id}" does not come after the drill "{drill.lesson}"',
            f'add "{drill.lesson}" to the prerequisites of "{lesson.id}"',
        )
    listed = {each.tool for each in lesson.tools}
    lacking = [name for name in drill.tools if name not in listed]
    if lacking:
        words = ", ".join(f'"{name}"' for name in lacking)
        yield report(
            f'lesson "{lesson.id}" does not list the equipment of the drill: {words}',
            f"add {words} to the tools of the lesson",
        )


EQUIPMENT = frozenset({Protection.EYES, Protection.HANDS})
"""What no words can stand in for."""
_SPLASHES = (
    Protection.EYES,
    Protection.HANDS,
    Protection.SLEEVES,
    Protection.VENTILATION,
    Protection.FIRST_AID,
    Protection.SPILL,
)
NEEDED: Mapping[Hazard, tuple[Protection, ...]] = {
    Hazard.CORROSIVE: _SPLASHES,
    Hazard.TOXIC: (
        Protection.HANDS,
        Protection.VENTILATION,
        Protection.FIRST_AID,
        Protection.SPILL,
    ),
    Hazard.OXIDISER: (
        Protection.EYES,
        Protection.HANDS,
        Protection.FIRE,
        Protection.FIRST_AID,
        Protection.SPILL,
    ),
    Hazard.FLAMMABLE: (
        Protection.VENTILATION,
        Protection.FIRE,
        Protection.FIRST_AID,
        Protection.SPILL,
    ),
}
"""What the drill of a hazard must cover; of any other hazard, the first aid. Corrosive: after
St John Ambulance, first-aid advice on chemical burns, and makers' data sheets of strong alkalis.
The others are common practice, no source."""
_WORDS: Mapping[Protection, str] = {
    Protection.EYES: "the eyes (a tool with gives: [eyes], such as goggles)",
    Protection.HANDS: "the hands (a tool with gives: [hands], such as gloves)",
    Protection.SLEEVES: "arms and body (gives: or tells: [sleeves], such as a coat)",
    Protection.VENTILATION: "ventilation (gives: or tells: [ventilation])",
    Protection.FIRST_AID: "first aid (a caution with first_aid:)",
    Protection.SPILL: "a spill (gives: or tells: [spill])",
    Protection.FIRE: "a fire (gives: or tells: [fire])",
}


def _check_drill(course: Course, number: int, drill: Drill) -> Iterator[Found]:
    """Hold what a drill names against what its hazard needs."""
    library, settings = course.library, course.library.settings
    assert settings is not None
    tools = [library.tools[name] for name in drill.tools if name in library.tools]
    cautions = [library.cautions[name] for name in drill.cautions if name in library.cautions]
    if len(tools) < len(drill.tools) or len(cautions) < len(drill.cautions):
        return  # what cannot be read is reported on its own
    given = {each for tool in tools for each in tool.gives}
    told = {each for caution in cautions for each in caution.tells} - EQUIPMENT
    if any(caution.first_aid for caution in cautions):
        told.add(Protection.FIRST_AID)
    needed = NEEDED.get(drill.hazard, (Protection.FIRST_AID,))
    lacking = [_WORDS[each] for each in needed if each not in given | told]
    if lacking:
        yield Found(
            settings,
            ("drills", number),
            f"the drill for what is {drill.hazard} does not cover {'; '.join(lacking)}",
            "name tools and cautions in it that do, each with what it gives or tells",
            key=True,
        )


@rule("caution-missing", "safety")
def check_caution_missing(course: Course) -> Iterator[Found]:
    """A hazard is met that no caution of the course covers.

    Cautions attach themselves to every lesson and fix, and to the step, where a material, a tool or
    an action needs one: a caution says in `applies` which hazards, actions, materials or tools it
    is for. This finding means that there is none to attach, so the page would be silent about a
    danger. Heating counts as the hazard `hot`. Hazards follow from a material's hazard statements
    and flash point as well as from its field `hazards`, so leaving that field out changes nothing.

    Failing:

        # file: lessons/varnishing.yml
        materials:
          - {material: varnish, amount: 2 g}
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}

    Passing:

        # file: lessons/varnishing.yml
        materials:
          - {material: varnish, amount: 2 g}
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}
        # file: kb/cautions.yml
        vapour:
          title: Vapour catches fire
          applies: {hazards: [flammable]}
    """
    library = course.library
    if any(kind == "caution" for kind, _ in library.broken):
        return  # the caution that is missing may be the one that cannot be read
    for entry in course.practical:
        seen: set[tuple[str | None, str | None, Hazard | None]] = set()
        for exposure in course.attach_cautions(entry).uncovered:
            key = (exposure.material, exposure.tool, exposure.hazard)
            if exposure.hazard is None or key in seen:
                continue
            seen.add(key)
            if exposure.material is not None:
                what = f'material "{exposure.material}" has the hazard {exposure.hazard}'
            elif exposure.verb is not None:
                what = f"this action heats (hazard {exposure.hazard})"
            else:
                what = f'tool "{exposure.tool}" has the hazard {exposure.hazard}'
            yield Found(
                entry,
                exposure.route,
                f"{what}, and no caution of the course covers that",
                f"write a caution with applies: {{hazards: [{exposure.hazard}]}}",
            )
