"""Safety rules about what must not meet: in the wrong order, or in the wrong vessel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.model import Fix, Lesson, Material, Tool
from builder.vessels import Moment, Trace, find_key, find_tool


@rule("order-unsafe", "safety")
def check_order_unsafe(course: Course) -> Iterator[Found]:
    """Something is put together in the order that hurts.

    Some things must go into others and never the other way round, because what is poured onto them
    boils, spits or bursts. A material says in `goes_into` what must be in the vessel before it. So
    none of that may come onto it where it lies alone, and it may not be put onto anything else
    before. Weighed into a dry cup and tipped from there into the jug is right; into what has been
    there from the beginning more may be added later.

    Failing:

        # file: lessons/mordant.yml
        steps:
          - actions:
              - {do: add, vessel: jug, material: strong-salt, amount: 5 g}
              - {do: add, vessel: jug, material: water, amount: 100 g}
        # file: kb/materials.yml
        strong-salt: {hazards: [irritant], goes_into: [water]}
        water: {}

    Passing:

        # file: lessons/mordant.yml
        steps:
          - actions:
              - {do: add, vessel: cup, material: strong-salt, amount: 5 g}
              - {do: add, vessel: jug, material: water, amount: 90 g}
              - {do: pour, vessel: cup, into: jug}
              - {do: add, vessel: jug, material: water, amount: 10 g}
        # file: kb/materials.yml
        strong-salt: {hazards: [irritant], goes_into: [water]}
        water: {}
    """
    ordered = {
        name: material for name, material in course.library.materials.items() if material.goes_into
    }
    for entry, trace in course.traces if ordered else ():
        yield from _follow_order(entry, trace, ordered)


def _follow_order(
    entry: Lesson | Fix, trace: Trace, ordered: Mapping[str, Material]
) -> Iterator[Found]:
    for moment in trace.moments:
        held = [portion.material for portion in moment.before.contents]
        count = len(moment.before.contents)
        added = [portion.material for portion in moment.after.contents[count:]]
        arriving = set(added)
        for name, material in ordered.items():
            takes = set(material.goes_into)
            if name in held and not _is_within(held, name, takes) and arriving - {name}:
                what = next(each for each in added if each != name)
                yield _report_order(entry, moment, what, name, material)
            elif (
                name in arriving
                and held
                and name not in held
                and not takes & set(held)
                # What came along with it in a pour counts as being there before it.
                and not _is_within(added, name, takes)
            ):
                yield _report_order(entry, moment, held[-1], name, material, onto=False)


def _is_within(contents: list[str], name: str, takes: set[str]) -> bool:
    """Say whether what a material must go into was in the vessel before it."""
    return bool(takes & set(contents[: contents.index(name)]))


def _report_order(
    entry: Lesson | Fix,
    moment: Moment,
    other: str,
    name: str,
    material: Material,
    onto: bool = True,
) -> Found:
    vessel = moment.after.name
    into = " or ".join(f'"{each}"' for each in material.goes_into)
    happens = (
        f'"{other}" goes onto "{name}" in "{vessel}"'
        if onto
        else f'"{name}" goes onto "{other}" in "{vessel}"'
    )
    return Found(
        entry,
        moment.route,
        f'{happens}; "{name}" itself must go into {into}, which must be there first',
        f'put {into} into the vessel first, then "{name}" into it, little by little',
        related=[(material, ("goes_into",), "what it must go into")],
    )


@rule("vessel-unfit", "safety")
def check_vessel_unfit(course: Course) -> Iterator[Found]:
    """Something is put into a vessel, or touched with a tool, that it attacks.

    It eats a hole, gives off a gas that burns, or takes something poisonous with it. A material
    says in `attacks` what must not meet it, a tool in `made_of` what it consists of; what a tool's
    name says of it counts too. A vessel is the tool that the lesson's `vessels` say, or the one of
    the same id or name, or, among the tools of the lesson, one whose name contains all its words,
    as a pot is the enamel pot that is listed. A vessel that has the substance in its own name is
    known by that.

    Failing:

        # file: lessons/mordant.yml
        tools: [{tool: zinc-pot}]
        steps:
          - actions:
              - {do: add, vessel: pot, material: sour-bath, amount: 100 g}
        # file: kb/materials.yml
        sour-bath: {hazards: [irritant], attacks: [zinc, copper]}
        # file: kb/tools.yml
        zinc-pot: {name: Zinc pot}

    Passing:

        # file: lessons/mordant.yml
        tools: [{tool: zinc-pot}, {tool: glass-jar}]
        steps:
          - actions:
              - {do: add, vessel: jar, material: sour-bath, amount: 100 g}
        # file: kb/materials.yml
        sour-bath: {hazards: [irritant], attacks: [zinc, copper]}
        # file: kb/tools.yml
        zinc-pot: {name: Zinc pot}
        glass-jar: {name: Glass jar, made_of: [glass]}
    """
    attacking = {
        name: material for name, material in course.library.materials.items() if material.attacks
    }
    for entry, trace in course.traces if attacking else ():
        told: set[tuple[str, str]] = set()
        for moment in trace.moments:
            for portion in moment.after.contents:
                material = attacking.get(portion.material)
                if material is None:
                    continue
                for route, what, tool, substance in _find_unfit(course, entry, moment, material):
                    if (portion.material, what) in told:
                        continue
                    told.add((portion.material, what))
                    yield Found(
                        entry,
                        route,
                        f'"{portion.material}" meets "{what}", and it attacks {substance}',
                        "use one that is made of something it does not attack; its safety data "
                        "sheet names some",
                        related=[
                            (material, ("attacks",), "what must not meet it"),
                            *([(tool, (), f'"{tool.id}"')] if tool else []),
                        ],
                    )


def _find_unfit(
    course: Course, entry: Lesson | Fix, moment: Moment, material: Material
) -> Iterator[tuple[Route, str, Tool | None, str]]:
    """Give what touches the contents and is attacked: place, name, tool, substance."""
    library = course.library
    vessel = moment.after.name
    own = _find_substance(vessel, (), material)
    if own is not None:
        yield moment.route, vessel, None, own
        return
    for tool in _find_tools(course, entry, vessel):
        found = _find_substance(f"{tool.id} {tool.name}", tool.made_of, material)
        if found is not None:
            yield moment.route, vessel, tool, found
            return
    used = library.tools.get(moment.action.tool or "") if moment.action else None
    if used is not None:
        found = _find_substance(f"{used.id} {used.name}", used.made_of, material)
        if found is not None:
            yield (*moment.route, "tool"), used.id, used, found


def _find_substance(name: str, made_of: tuple[str, ...], material: Material) -> str | None:
    words = set(find_key(name).split())
    made = {word for each in made_of for word in find_key(each).split()}
    stated = bool(made)
    for substance in material.attacks:
        key = set(find_key(substance).split())
        if key <= made or (not stated and key <= words):
            return substance
    return None


def _find_tools(course: Course, entry: Lesson | Fix, vessel: str) -> list[Tool]:
    """Give the tools that a vessel may be, going by its name."""
    tools = course.library.tools
    exact = find_tool(vessel, entry, tools, course.named_tools)
    if exact is not None:
        return [exact]
    words = set(find_key(vessel).split())
    listed = [each.tool for each in entry.tools] if isinstance(entry, Lesson) else []
    return [
        tool
        for tool in (tools[name] for name in listed if name in tools)
        if words <= set(find_key(f"{tool.id} {tool.name}").split())
    ]
