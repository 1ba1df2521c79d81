"""Hazards of materials, tools and actions, and the cautions that attach themselves because of them.

A caution says in `applies` where it belongs; nothing in a lesson or fix can take it away. A hazard
counts where a material or tool declares it, and also where its facts show it: a GHS statement, or a
flash point at or below room temperature, makes a hazard whether the entry declares it or not.
"""

from __future__ import annotations

import string
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from builder.diagnostics import Route
from builder.library import Library
from builder.model import Action, Caution, Fix, Hazard, Lesson, Material, Step, Tool, Verb
from builder.model.knowledge import FixStep

USUAL_ROOM_KELVIN = 293.15
"""Room temperature taken where the course states none that can be read: 20 degrees Celsius."""

GHS_HAZARDS: Mapping[str, Hazard] = {
    **dict.fromkeys(("H220", "H221", "H222", "H223"), Hazard.FLAMMABLE),
    **dict.fromkeys(("H224", "H225", "H226", "H228"), Hazard.FLAMMABLE),
    # Explodes or catches fire when heated, by itself, in air, or by the gas that water draws out.
    **dict.fromkeys(("H200", "H201", "H202", "H203", "H204", "H205"), Hazard.FLAMMABLE),
    **dict.fromkeys(("H209", "H210", "H211", "H282", "H283"), Hazard.FLAMMABLE),
    **dict.fromkeys(("H206", "H207", "H208", "H229", "H230", "H231", "H232"), Hazard.FLAMMABLE),
    **dict.fromkeys(("H240", "H241", "H242", "H250", "H251", "H252"), Hazard.FLAMMABLE),
    **dict.fromkeys(("H260", "H261"), Hazard.FLAMMABLE),
    **dict.fromkeys(("H270", "H271", "H272"), Hazard.OXIDISER),
    **dict.fromkeys(("H290", "H314", "H318"), Hazard.CORROSIVE),
    **dict.fromkeys(("H315", "H319", "H320", "H335"), Hazard.IRRITANT),
    **dict.fromkeys(("H317", "H334"), Hazard.SENSITISER),
    **dict.fromkeys(("H300", "H301", "H302", "H304", "H310", "H311", "H312"), Hazard.TOXIC),
    **dict.fromkeys(("H330", "H331", "H332"), Hazard.TOXIC),
    # Harm that stays: to genes, by cancer, to the unborn, to organs, to the infant at the breast.
    **dict.fromkeys(("H340", "H341", "H350", "H351", "H360", "H361", "H362"), Hazard.TOXIC),
    # Statements of the European Union's own.
    **dict.fromkeys(("EUH001", "EUH018", "EUH019", "EUH044", "EUH209"), Hazard.FLAMMABLE),
    **dict.fromkeys(("EUH029", "EUH031", "EUH032", "EUH070"), Hazard.TOXIC),
    **dict.fromkeys(("EUH203", "EUH204", "EUH205", "EUH208"), Hazard.SENSITISER),
    **dict.fromkeys(("EUH380", "EUH381"), Hazard.TOXIC),
    "EUH066": Hazard.IRRITANT,
    "EUH071": Hazard.CORROSIVE,
    **dict.fromkeys(("H370", "H371", "H372", "H373"), Hazard.TOXIC),
}
"""Classes that GHS hazard statements stand for (United Nations GHS, annex 3; from memory).

H227, combustible liquid, makes nothing flammable: its flash point is above every room, and the rule
about flash points looks after it.
"""

_SIGNALS = ("Danger", "Warning")


def read_room_kelvin(library: Library) -> float:
    """Give the room's temperature in kelvin, as the course states it."""
    return library.settings.room.base if library.settings else USUAL_ROOM_KELVIN


def find_material_hazards(material: Material, room_kelvin: float) -> tuple[Hazard, ...]:
    """Find the hazards of a material: those it declares, and those its facts show.

    Args:
        material: The material.
        room_kelvin: Temperature of the room in kelvin, against which flash points are held.

    Returns:
        Hazards in the order of `Hazard`.
    """
    found = set(material.hazards)
    for statement in material.ghs.statements if material.ghs else ():
        for code in statement.code.split("+"):
            plain = code.rstrip(string.ascii_letters)  # H360FD is a kind of H360
            if plain in GHS_HAZARDS:
                found.add(GHS_HAZARDS[plain])
    if any(fact.value.base <= room_kelvin for fact in material.flash_points):
        found.add(Hazard.FLAMMABLE)
    return tuple(hazard for hazard in Hazard if hazard in found)


@dataclass(frozen=True, slots=True)
class Exposure:
    """One reason why a lesson or fix needs a caution.

    Args:
        hazard: What can hurt, or None where only a verb, material or tool is at hand.
        verb: The action's verb, where the reason is an action.
        material: Id of the material, where it is one.
        tool: Id of the tool, where it is one.
        step: Index of the step, or None where it stands in a list of the whole lesson.
        route: Where in the entry.
    """

    hazard: Hazard | None
    verb: Verb | None
    material: str | None
    tool: str | None
    step: int | None
    route: Route


@dataclass(frozen=True, slots=True)
class AttachedCautions:
    """The cautions of one lesson or fix.

    Args:
        overall: Ids of all cautions, Danger before Warning, then by id.
        steps: For each step, ids of the cautions that belong to it, in the same order.
        uncovered: Exposures to a hazard that no caution of the course covers.
    """

    overall: tuple[str, ...]
    steps: tuple[tuple[str, ...], ...]
    uncovered: tuple[Exposure, ...]


@dataclass(frozen=True, slots=True)
class HazardIndex:
    """What the course says about hazards, looked up once for all lessons and fixes."""

    materials: Mapping[str, tuple[Hazard, ...]]
    tools: Mapping[str, Tool]
    cautions: Mapping[str, Caution]
    by_hazard: Mapping[Hazard, tuple[str, ...]]
    by_verb: Mapping[Verb, tuple[str, ...]]
    by_material: Mapping[str, tuple[str, ...]]
    by_tool: Mapping[str, tuple[str, ...]]
    drills: Mapping[Hazard, tuple[str, ...]] = field(default_factory=dict)

    def find_cautions(self, exposure: Exposure) -> set[str]:
        """Find the cautions that apply to an exposure, and those of its hazard's drill."""
        found: set[str] = set()
        if exposure.hazard is not None:
            found.update(self.by_hazard.get(exposure.hazard, ()))
            found.update(self.drills.get(exposure.hazard, ()))
        if exposure.verb is not None:
            found.update(self.by_verb.get(exposure.verb, ()))
        if exposure.material is not None:
            found.update(self.by_material.get(exposure.material, ()))
        if exposure.tool is not None:
            found.update(self.by_tool.get(exposure.tool, ()))
        return found

    def is_covered(self, exposure: Exposure) -> bool:
        """Say whether some caution is about the hazard of an exposure, not just at hand with it.

        A caution for stirring is at hand where something is stirred on a hot plate, and says
        nothing about heat; nor does a caution for a thermometer with which something is heated.
        """
        tool = self.tools.get(exposure.tool) if exposure.tool else None
        about_verb = exposure.verb is Verb.HEAT
        about_tool = tool is not None and (tool.heats or exposure.hazard in tool.hazards)
        told = replace(
            exposure,
            verb=exposure.verb if about_verb else None,
            tool=exposure.tool if about_tool else None,
        )
        return bool(self.find_cautions(told))

    def sort(self, found: set[str]) -> tuple[str, ...]:
        """Order cautions: Danger before Warning, then by id; ids without an entry are left out."""
        known = (name for name in found if name in self.cautions)
        return tuple(
            sorted(known, key=lambda name: (_SIGNALS.index(self.cautions[name].signal), name))
        )


def index_hazards(library: Library) -> HazardIndex:
    """Look up the hazards and cautions of a course once.

    Args:
        library: The course.
    """
    room_kelvin = read_room_kelvin(library)
    by_hazard: defaultdict[Hazard, list[str]] = defaultdict(list)
    by_verb: defaultdict[Verb, list[str]] = defaultdict(list)
    by_material: defaultdict[str, list[str]] = defaultdict(list)
    by_tool: defaultdict[str, list[str]] = defaultdict(list)
    for name, caution in library.cautions.items():
        for hazard in caution.applies.hazards:
            by_hazard[hazard].append(name)
        for verb in caution.applies.actions:
            by_verb[verb].append(name)
        for material in caution.applies.materials:
            by_material[material].append(name)
        for tool in caution.applies.tools:
            by_tool[tool].append(name)
    drills: defaultdict[Hazard, list[str]] = defaultdict(list)
    for drill in library.settings.drills if library.settings else ():
        drills[drill.hazard].extend(drill.cautions)
    return HazardIndex(
        {
            name: find_material_hazards(material, room_kelvin)
            for name, material in library.materials.items()
        },
        library.tools,
        library.cautions,
        {hazard: tuple(names) for hazard, names in by_hazard.items()},
        {verb: tuple(names) for verb, names in by_verb.items()},
        {name: tuple(names) for name, names in by_material.items()},
        {name: tuple(names) for name, names in by_tool.items()},
        {hazard: tuple(names) for hazard, names in drills.items()},
    )


def walk_exposures(index: HazardIndex, entry: Lesson | Fix) -> Iterator[Exposure]:
    """Give every reason for a caution in a lesson or fix, steps first, then the lists.

    Args:
        index: The course's hazards.
        entry: A lesson or fix.
    """
    steps: tuple[Step | FixStep, ...] = entry.steps
    for number, step in enumerate(steps):
        for place, action in enumerate(step.actions):
            yield from _expose_action(index, action, number, ("steps", number, "actions", place))
    if isinstance(entry, Lesson):
        for number, needed in enumerate(entry.materials):
            route: Route = ("materials", number, "material")
            yield from _expose_material(index, needed.material, None, route)
        for number, kept in enumerate(entry.tools):
            yield from _expose_tool(index, kept.tool, None, ("tools", number, "tool"))


def _expose_action(
    index: HazardIndex, action: Action, step: int, route: Route
) -> Iterator[Exposure]:
    tool = index.tools.get(action.tool) if action.tool else None
    heats = action.do is Verb.HEAT or (tool is not None and tool.heats)
    yield Exposure(
        Hazard.HOT if heats else None, action.do, None, action.tool, step, (*route, "do")
    )
    if action.material is not None:
        yield from _expose_material(index, action.material, step, (*route, "material"))
    if action.tool is not None:
        yield from _expose_tool(index, action.tool, step, (*route, "tool"))


def _expose_material(
    index: HazardIndex, material: str, step: int | None, route: Route
) -> Iterator[Exposure]:
    yield Exposure(None, None, material, None, step, route)
    for hazard in index.materials.get(material, ()):
        yield Exposure(hazard, None, material, None, step, route)


def _expose_tool(
    index: HazardIndex, name: str, step: int | None, route: Route
) -> Iterator[Exposure]:
    tool = index.tools.get(name)
    yield Exposure(None, None, None, name, step, route)
    for hazard in tool.hazards if tool else ():
        yield Exposure(hazard, None, None, name, step, route)


def attach_cautions(
    library: Library, entry: Lesson | Fix, index: HazardIndex | None = None
) -> AttachedCautions:
    """Attach to a lesson or fix, and to each of its steps, the cautions that belong there.

    Args:
        library: The course.
        entry: A lesson or fix. Cautions it names itself are kept; it cannot take any away.
        index: What `index_hazards` returned, where many entries are asked about.

    Returns:
        Ordered caution ids, and the hazards that no caution covers.

    Example:
        A step that heats, in a course with a caution that applies to `hot`, carries that caution,
        and so does the lesson as a whole.
    """
    index = index_hazards(library) if index is None else index
    overall = set(entry.cautions)
    steps = [set(getattr(step, "cautions", ())) for step in entry.steps]
    uncovered: list[Exposure] = []
    for exposure in walk_exposures(index, entry):
        found = index.find_cautions(exposure)
        if exposure.hazard is not None and not index.is_covered(exposure):
            uncovered.append(exposure)
        overall |= found
        if exposure.step is not None:
            steps[exposure.step] |= found
    for each in steps:
        overall |= each
    return AttachedCautions(
        index.sort(overall), tuple(index.sort(each) for each in steps), tuple(uncovered)
    )
