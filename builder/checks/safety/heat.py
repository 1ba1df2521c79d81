"""Safety rules about heat: what must not be heated, and what must not become too hot."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from builder.amounts import read_exact, tell_amount
from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.hazards import read_room_kelvin
from builder.model import Entry, Fix, Lesson, Material, Verb
from builder.model.knowledge import TemperatureFact
from builder.vessels import (
    Airing,
    Moment,
    Trace,
    Vessel,
    Warmth,
    Wetting,
    find_key,
    find_tool,
    follow,
)

_AIRINGS: Mapping[Airing, tuple[str, str]] = {
    Airing.NO_TIME: (
        "this airs it for no stated time",
        "state for how long it is aired: add time: to that action",
    ),
    Airing.TOO_SHORT: (
        "this airs it too briefly to count",
        "air it until nothing of it can be smelt or felt, and give that as the time",
    ),
    Airing.HEATED: (
        "this airs it with a tool that heats",
        "air it without heat, for instance by an open window",
    ),
    Airing.STANDING: (
        "this airs it, but nothing else is in it, and what stands as a liquid does not clear",
        "pour it out and air what is left, or heat something else; where it only wets a surface, "
        "write the action wet instead of add",
    ),
}
"""What to say of an airing that does not count, and how to mend it."""


@rule("heat-after-flammable", "safety")
def check_heat_after_flammable(course: Course) -> Iterator[Found]:
    """Something is heated that was wetted with a flammable material before.

    Vapour that has not cleared meets heat, a spark or a glowing wire, and burns or bursts, in a
    closed oven above all. So whatever a flammable material was added to, wetted onto, or came to by
    pouring must not be heated again: not by the action `heat`, and not by any action with a tool
    that heats. Only an `air` action on it clears it: in a ventilated place, without heat, for a
    stated time of at least a minute. A vessel in which nothing but a flammable liquid stands does
    not clear. Names of vessels count without regard to case, spaces and hyphens. A material is
    flammable if it says so, if its hazard statements say so, or if its flash point is at or below
    room temperature.

    The other way round harms as much: nothing flammable is wetted onto what was heated by the
    action before, with nothing between that lets it cool, nor comes onto a tool that heats. What
    one lesson of a session leaves wet is wet in the next one too. And where something is heated
    that nothing was ever put into, under a name of its own, while something flammable is about, it
    may be the very thing that was wetted: one thing has one name.

    Failing:

        # file: lessons/varnishing.yml
        steps:
          - title: Varnish the card
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 2 g}
          - title: Iron it flat
            actions:
              - {do: heat, vessel: Card, tool: iron, to: 60 degC}
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}
        # file: kb/tools.yml
        iron: {heats: true}

    Passing:

        # file: lessons/varnishing.yml
        steps:
          - title: Varnish the card
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 2 g}
          - title: Let it dry by the open window
            actions:
              - {do: air, vessel: card, time: 12 h}
          - title: Iron it flat
            actions:
              - {do: heat, vessel: Card, tool: iron, to: 60 degC}
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}
        # file: kb/tools.yml
        iron: {heats: true}
    """
    for entry, trace in course.traces:
        for moment in trace.moments:
            wetting = moment.after.flammable or moment.before.flammable
            if not moment.heated or wetting is None or moment.action is None:
                continue
            vessel = moment.after.name
            same = wetting.route == moment.route
            how = f"with {moment.action.tool}" if moment.action.tool else "here"
            message = (
                f'"{vessel}" is heated {how} in the very action that puts "{wetting.material}" '
                "on it, which is flammable"
                if same
                else f'"{vessel}" is heated {how} although "{wetting.material}", which is '
                "flammable, was put on it before"
            )
            related: list[tuple[Entry, Route, str]] = []
            if not same:
                related.append((entry, wetting.route, f'"{wetting.material}" comes onto it here'))
            hint = (
                f'heat it first, or put an action "air" on "{vessel}" between, in a ventilated '
                "place and with a time"
            )
            if wetting.aired is not None and wetting.why is not None:
                note, hint = _AIRINGS[wetting.why]
                if wetting.aired != moment.route:
                    related.append((entry, wetting.aired, note))
            yield Found(entry, moment.route, message, hint, related=related)
        yield from _check_onto_hot(course, entry, trace)
        yield from _check_unknown(course, entry, trace)
    yield from _check_sessions(course)


def _check_onto_hot(course: Course, entry: Lesson | Fix, trace: Trace) -> Iterator[Found]:
    """Find what is flammable and comes onto something that is still hot from heating."""
    for moment in trace.moments:
        wetting = moment.after.flammable
        if moment.action is None or moment.heated or wetting is None:
            continue
        if wetting.route != moment.route and moment.source is None:
            continue  # it came there before
        vessel = moment.after.name
        onto = moment.action.do is Verb.WET and wetting.route == moment.route
        if onto and moment.after.just_heated is not None:
            yield Found(
                entry,
                moment.route,
                f'"{wetting.material}", which is flammable, is put onto "{vessel}" right after it '
                "was heated",
                f'let "{vessel}" cool first: an action cool, a wait, or a step whose temperature '
                "window says so",
                related=[(entry, moment.after.just_heated, f'"{vessel}" is heated here')],
            )
        tool = find_tool(vessel, entry, course.library.tools, course.named_tools)
        if tool is not None and tool.heats:
            yield Found(
                entry,
                moment.route,
                f'"{wetting.material}", which is flammable, comes onto "{vessel}", a tool that '
                "heats",
                "put it onto something that never heats",
                related=[(tool, ("heats",), "what says that it heats")],
            )


def _check_unknown(course: Course, entry: Lesson | Fix, trace: Trace) -> Iterator[Found]:
    """Find what is heated empty, under a new name, while something else is wet."""
    names = [
        {find_key(each) for each in (term.name, *term.also, *term.instead_of)}
        for term in course.library.terms.values()
    ]
    wet: dict[str, tuple[str, Wetting]] = {}
    seen: set[str] = set()
    for moment in trace.moments:
        vessel = moment.after
        key = find_key(vessel.name)
        new = key not in seen and not moment.before.contents and not vessel.contents
        tool = find_tool(vessel.name, entry, course.library.tools, course.named_tools)
        # Who numbers things, or calls them the first and the second tray, tells them apart.
        others = [each for other, each in wet.items() if not {*other.split()} & {*key.split()}]
        called = [
            each for other, each in wet.items() if other != key and _is_called(names, other, key)
        ]
        if moment.heated and tool is None and (called or (new and others)):
            name, wetting = (called or others)[-1]
            why = (
                f'which the glossary has as another name of "{name}"'
                if called
                else "nothing says what is in it"
            )
            yield Found(
                entry,
                moment.route,
                f'"{vessel.name}" is heated, {why}, and "{name}" is wet with '
                f'"{wetting.material}", which is flammable',
                f"if they are one thing, give it one name; if not, say what goes into "
                f'"{vessel.name}", or heat it before anything flammable is at hand',
                related=[(entry, wetting.route, f'"{wetting.material}" comes onto "{name}" here')],
            )
        seen.add(key)
        if moment.action is not None:
            seen.add(find_key(moment.action.vessel))
        if moment.source is not None:
            seen.add(find_key(moment.source.name))
        if vessel.flammable is not None:
            wet[key] = vessel.name, vessel.flammable
        else:
            wet.pop(key, None)


def _is_called(names: list[set[str]], one: str, other: str) -> bool:
    """Say whether two vessels may be one thing, by the names that the glossary has for it."""
    for each in names:
        first, second = (_take_out(each, key) for key in (one, other))
        if first is None or second is None or first[0] == second[0]:
            continue  # of two numbered jugs each is called a jug
        if first[1] == second[1] or not (first[1] and second[1]):
            return True
    return False


def _take_out(names: set[str], key: str) -> tuple[str, str] | None:
    """Give the name that a vessel is called by, and what else its name says; None where none is."""
    found = max((name for name in names if f" {name} " in f" {key} "), key=len, default=None)
    return (found, f" {key} ".replace(f" {found} ", " ", 1).strip()) if found else None


def _check_sessions(course: Course) -> Iterator[Found]:
    """Follow what one lesson of a session leaves wet into the lessons after it."""
    library, hazards = course.library, course.hazards.materials
    for planned in library.classes.values():
        for number, session in enumerate(planned.sessions):
            left: dict[str, tuple[Lesson, Vessel]] = {}
            for place, name in enumerate(session.lessons):
                lesson = library.lessons.get(name)
                if lesson is None:
                    continue
                wet = [replace(each, contents=(), warmth=None) for _, each in left.values()]
                trace = follow(lesson, library.materials, library.tools, hazards, wet)
                told: set[str] = set()
                for moment in trace.moments:
                    key = find_key(moment.after.name)
                    origin = left.get(key)
                    wetting = moment.after.flammable
                    if origin is None or wetting is not origin[1].flammable or key in told:
                        continue
                    if moment.heated and wetting is not None:
                        told.add(key)
                        yield Found(
                            planned,
                            ("sessions", number, "lessons", place),
                            f'"{name}" heats "{moment.after.name}", which "{origin[0].id}" leaves '
                            f'wet with "{wetting.material}" in the same session',
                            "let it air at the end of the lesson before, hold the lessons in "
                            "sessions of their own, or name two things by two names",
                            related=[
                                (origin[0], wetting.route, f'"{wetting.material}" comes onto it'),
                                (lesson, moment.route, "it is heated here"),
                            ],
                        )
                for vessel in trace.vessels:
                    key = find_key(vessel.name)
                    if vessel.flammable is None:
                        left.pop(key, None)
                    elif key not in left or vessel.flammable is not left[key][1].flammable:
                        left[key] = lesson, vessel


@rule("above-flash-point", "safety")
def check_above_flash_point(course: Course) -> Iterator[Found]:
    """A material is used at or above its flash point.

    At its flash point a liquid gives off enough vapour to catch fire from a spark or flame; well
    below it, it does not. So it may go only into something that is cooler, and may not be heated to
    that temperature afterwards. How hot the contents are is read from the upper end of the step's
    temperature window or, where there is none, from the last heating of the vessel, by the action
    `heat` or with a tool that heats; if neither says it, or the base is in a vessel of which no
    action says that it was ever heated, that is an error too. Heating never makes
    anything cooler, so what has become too hot needs the action `cool` or a window that says it has
    cooled. Where sources give different flash points, the lowest that lies above the room's
    temperature governs.

    A material whose flash point is at or below room temperature gives off such vapour wherever it
    stands open, so no window could satisfy this rule. Such a material counts as flammable instead:
    `heat-after-flammable` keeps it from heat, and its caution stands on every page that uses it.

    Failing:

        # file: lessons/stirring.yml
        steps:
          - title: Warm the paste
            actions:
              - {do: add, vessel: pan, material: paste, amount: 100 g}
              - {do: heat, vessel: pan, to: 75 degC}
          - title: Stir in the varnish
            temperature: 65 to 75 degC
            actions:
              - {do: add, vessel: pan, material: varnish, amount: 1 g}
        # file: kb/materials.yml
        paste: {is_base: true}
        varnish:
          flash_points:
            - {value: 71 degC, citation: safety-sheet}
        # file: kb/citations.yml
        safety-sheet: {certainty: practice}

    Passing with `temperature: 45 to 50 degC` in place of `temperature: 65 to 75 degC`.
    """
    room_kelvin = read_room_kelvin(course.library)
    governing: dict[str, tuple[int, TemperatureFact]] = {}
    for name, material in course.library.materials.items():
        above = [
            each for each in enumerate(material.flash_points) if each[1].value.base > room_kelvin
        ]
        if above:
            governing[name] = min(above, key=lambda each: (each[1].value.base, each[0]))
    for entry, trace in course.traces:
        told: set[tuple[str, Route]] = set()
        unsure: set[tuple[str, str]] = set()
        for moment in trace.moments:
            contents = moment.after.contents
            for name in dict.fromkeys(portion.material for portion in contents):
                if name not in governing:
                    continue
                index, fact = governing[name]
                if moment.warmth is None:
                    # A base is heated somewhere; where nothing says so, nobody knows how hot it is.
                    key = ("", name)  # told once: what is poured on stays as it was
                    base = any(course.library.is_base(each.material) for each in contents)
                    if base and key not in unsure:
                        unsure.add(key)
                        yield _report_unsure(course, entry, moment, name, fact)
                elif moment.warmth.kelvin is None:
                    key = (moment.after.name.casefold(), name)
                    if key not in unsure:
                        unsure.add(key)
                        yield _report_unsure(course, entry, moment, name, fact)
                elif moment.warmth.kelvin >= read_exact(fact.value):
                    if (name, moment.warmth.route) in told:
                        continue
                    told.add((name, moment.warmth.route))
                    yield _report_flash(course, entry, moment, name, index, fact)


def _report_unsure(
    course: Course, entry: Lesson | Fix, moment: Moment, name: str, fact: TemperatureFact
) -> Found:
    vessel = moment.after.name
    heated = moment.warmth.route if moment.warmth else None
    return Found(
        entry,
        moment.route,
        f'nothing says how hot "{vessel}" is with "{name}" in it, whose flash point is '
        f'{fact.value} (source "{fact.citation}")',
        f'state the step\'s temperature window, or to: where "{vessel}" is heated',
        related=[(entry, heated, f'"{vessel}" is heated here')] if heated else [],
    )


def _report_flash(
    course: Course,
    entry: Lesson | Fix,
    moment: Moment,
    name: str,
    index: int,
    fact: TemperatureFact,
) -> Found:
    library = course.library
    warmth = moment.warmth
    assert warmth is not None
    material = library.materials[name]
    given = len(material.flash_points)
    lower = any(each.value.base < fact.value.base for each in material.flash_points)
    which = f", the lowest of {given} given" if given > 1 else ""
    which = ", the lowest given that is above the room's temperature" if lower else which
    added = any(portion.route == moment.route for portion in moment.after.contents)
    happens = "goes into" if added else "is in"
    return Found(
        entry,
        moment.route,
        f'"{name}" {happens} "{moment.after.name}" at up to {_tell(warmth, fact)}; its flash point '
        f'is {fact.value}{which} (source "{fact.citation}")',
        f"keep it below {fact.value} while that material is in it: let it cool first, and say so "
        "in the step's temperature window",
        related=[
            (entry, warmth.route, "how hot it is here"),
            (material, ("flash_points", index), "the flash point that governs"),
        ],
    )


def _tell(warmth: Warmth, fact: TemperatureFact) -> str:
    assert warmth.kelvin is not None
    return tell_amount(warmth.kelvin, fact.value.unit)


@rule("over-safe-temperature", "safety")
def check_over_safe_temperature(course: Course) -> Iterator[Found]:
    """Something becomes hotter than its highest safe temperature.

    Above it a material boils, burns, spits, breaks down or gives off what nobody should breathe;
    the material says which temperature that is, and who says so. Neither the upper end of a step's
    temperature window nor the `to` of a heating may lie above the lowest such limit of anything
    in the vessel. A heating that states neither cannot be checked, so it is an error where the
    vessel holds something with a limit.

    Failing:

        # file: lessons/stirring.yml
        steps:
          - title: Warm the paste
            actions:
              - {do: add, vessel: pan, material: paste, amount: 100 g}
              - {do: heat, vessel: pan, to: 98 degC}
        # file: kb/materials.yml
        paste:
          highest_temperature: {value: 90 degC, citation: label-of-the-jar}
        # file: kb/citations.yml
        label-of-the-jar: {certainty: practice}

    Passing with `- {do: heat, vessel: pan, to: 80 degC}` in place of `- {do: heat, vessel: pan,
    to: 98 degC}`.
    """
    library = course.library
    limited = {
        name: material
        for name, material in library.materials.items()
        if material.highest_temperature is not None
    }
    for entry, trace in course.traces:
        told: set[tuple[str, Route]] = set()
        for moment in trace.moments:
            for name in dict.fromkeys(portion.material for portion in moment.after.contents):
                if name not in limited or moment.warmth is None:
                    continue
                if (name, moment.warmth.route) in told:
                    continue
                told.add((name, moment.warmth.route))
                vessel = moment.after.name
                yield from _hold_against(course, entry, limited[name], vessel, moment.warmth)
        if isinstance(entry, Lesson) and not any(each.after.contents for each in trace.moments):
            yield from _check_bare_windows(course, entry, limited)


def _check_bare_windows(
    course: Course, lesson: Lesson, limited: dict[str, Material]
) -> Iterator[Found]:
    """Where no action puts anything anywhere, windows are about all that the lesson lists."""
    for number, step in enumerate(lesson.steps):
        if step.temperature is None:
            continue
        warmth = Warmth(read_exact(step.temperature.high), ("steps", number, "temperature"))
        for needed in lesson.materials:
            material = limited.get(needed.material)
            if material is not None:
                yield from _hold_against(course, lesson, material, "the vessel", warmth)


def _hold_against(
    course: Course, entry: Lesson | Fix, material: Material, vessel: str, warmth: Warmth
) -> Iterator[Found]:
    fact = material.highest_temperature
    assert fact is not None
    limit = (
        f'the highest safe temperature of "{material.id}" is {fact.value} '
        f'(source "{fact.citation}")'
    )
    also = [(material, ("highest_temperature",), "its highest safe temperature")]
    if warmth.kelvin is None:
        yield Found(
            entry,
            warmth.route,
            f'nothing says how hot "{vessel}" becomes here; {limit}',
            "add to: with the highest temperature reached, or the step's temperature window",
            related=also,
        )
    elif warmth.kelvin > read_exact(fact.value):
        yield Found(
            entry,
            warmth.route,
            f'"{vessel}" may become {_tell(warmth, fact)} hot here; {limit}',
            f"stay at or below {fact.value}",
            related=also,
        )
