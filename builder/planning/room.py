"""The room of a class: what is shared in it and how many of it there are, and what must keep apart.

While a flammable is handled in the open, nothing within its reach heats. A course may say which
parts of its room are clear of each other; all else is within reach.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from builder.hazards import find_material_hazards, read_room_kelvin
from builder.library import Library
from builder.model import Action, Hazard, Lesson, PlannedClass, Step, Verb
from builder.model.lessons import Resource

TEACHER = "teacher"
"""Stands for the hands of the teacher and the helpers among the shared equipment."""


@dataclass(frozen=True, slots=True)
class Shared:
    """Equipment that a class shares.

    Args:
        id: Of the course's resource or of the tool.
        name: For people.
        count: How many there are.
        capacity: How many pieces one takes at once.
        together: Whether they go in and come out together.
        unattended: Whether it may be filled between sessions.
        handling: Seconds to put a piece in and take it out.
        heats: Whether it heats.
    """

    id: str
    name: str
    count: int
    capacity: int = 1
    together: bool = False
    unattended: bool = False
    handling: int = 0
    heats: bool = False

    @property
    def places(self) -> int:
        """How many can be in use at once, each by whoever fills it."""
        return self.count if self.together else self.count * self.capacity


@dataclass(frozen=True)
class ClassRoom:
    """What a class shares, and which parts of its room are clear of each other.

    Args:
        library: The course.
        shared: What is shared, by id.
        flammable: Ids of the materials that can catch fire.
    """

    library: Library
    shared: Mapping[str, Shared]
    flammable: frozenset[str]
    _clear: frozenset[tuple[str, str]] = field(default=frozenset(), repr=False)

    def find_shared(self, tool: str | None) -> str | None:
        """Give the shared equipment that a tool is, or None."""
        entry = self.library.tools.get(tool) if tool is not None else None
        if entry is None:
            return None
        name = entry.resource or entry.id
        return name if name in self.shared else None

    def find_zone(self, step: Step, action: Action) -> str:
        """Give the part of the room an action is done in, or "" where nothing says it."""
        tool = self.library.tools.get(action.tool) if action.tool else None
        if tool is not None:
            resource = self._find_resource(tool.resource)
            zone = tool.zone or (resource.zone if resource else None)
            if zone:
                return zone
        material = self.library.materials.get(action.material) if action.material else None
        return step.zone or (material.zone if material and material.zone else "")

    def _find_resource(self, name: str | None) -> Resource | None:
        course = self.library.settings
        for each in course.resources if course else ():
            if each.id == name:
                return each
        return None

    def is_clear(self, one: str, other: str) -> bool:
        """Say whether two parts of the room are clear of each other."""
        return (one, other) in self._clear or (other, one) in self._clear

    def heats(self, action: Action) -> bool:
        """Say whether an action heats."""
        tool = self.library.tools.get(action.tool) if action.tool else None
        return action.do is Verb.HEAT or (tool is not None and tool.heats)


@dataclass(frozen=True, slots=True)
class RoomSurvey:
    """What a course says of its room, whatever is held there.

    Args:
        library: The course.
        heating: Ids of the resources that heat.
        flammable: Ids of the materials that are flammable at the room's temperature.
        clear: Pairs of parts of the room of which the second is clear of vapour from the first.
    """

    library: Library
    heating: frozenset[str]
    flammable: frozenset[str]
    clear: frozenset[tuple[str, str]]


def survey_room(library: Library) -> RoomSurvey:
    """Look once at the room of a course."""
    course, kelvin = library.settings, read_room_kelvin(library)
    return RoomSurvey(
        library,
        frozenset(tool.resource for tool in library.tools.values() if tool.heats and tool.resource),
        frozenset(
            name
            for name, material in library.materials.items()
            if Hazard.FLAMMABLE in find_material_hazards(material, kelvin)
        ),
        frozenset(
            (zone.id, other) for zone in (course.zones if course else ()) for other in zone.clear_of
        ),
    )


def furnish_room(
    survey: RoomSurvey, lessons: Iterable[Lesson], planned: PlannedClass | None = None
) -> ClassRoom:
    """Find what a class shares.

    Args:
        survey: The room of the course.
        lessons: What it holds.
        planned: The class; it may have another number of the course's equipment.

    Returns:
        The course's own resources, tools that a lesson counts by class and its steps use, and the
        hands of the teacher and the helpers.
    """
    library, course = survey.library, survey.library.settings
    numbers = planned.resources if planned else {}
    shared: dict[str, Shared] = {}
    for each in course.resources if course else ():
        shared[each.id] = Shared(
            each.id,
            each.name,
            numbers.get(each.id, each.count),
            each.capacity,
            each.together,
            each.unattended,
            round(each.handling.base) if each.handling else 0,
            each.id in survey.heating,
        )
    for lesson in lessons:
        used = {action.tool for step in lesson.steps for action in step.actions}
        used |= {name for step in lesson.steps for name in step.holds}
        for needed in lesson.tools:
            tool = library.tools.get(needed.tool)
            if tool is None or needed.per != "class" or tool.resource is not None:
                continue
            if tool.heats or tool.id in used:
                before = shared.get(tool.id)
                count = max(before.count if before else 0, needed.count)
                count = numbers.get(tool.id, count)
                shared[tool.id] = Shared(tool.id, tool.name, count, heats=tool.heats)
    hands = 1 + (planned.helpers if planned else 0)
    text = library.words.text
    name = text("class.teacher") if hands == 1 else text("class.teacher-and-helpers")
    shared[TEACHER] = Shared(TEACHER, name, hands)
    return ClassRoom(library, shared, survey.flammable, survey.clear)


@dataclass(frozen=True, slots=True)
class Handling:
    """What an action does to the air of the room.

    Args:
        heats: Whether it heats.
        opens: The flammable that it handles in the open, or None.
        zone: Where it heats, or "".
        open_zone: Where the flammable is handled, or "".
    """

    heats: bool
    opens: str | None
    zone: str
    open_zone: str = ""


def follow_flammables(room: ClassRoom, lesson: Lesson) -> tuple[tuple[Handling, ...], ...]:
    """Follow what can catch fire through a lesson: for each step, what each action handles.

    A vessel or surface holds what was added, poured or wetted onto it until it has been aired, and
    whoever does anything to it handles that in the open; only to let it cool is no handling.
    """
    library = room.library
    held: dict[str, tuple[str, str]] = {}
    steps: list[tuple[Handling, ...]] = []
    for step in lesson.steps:
        found: list[Handling] = []
        for action in step.actions:
            zone = room.find_zone(step, action)
            vessel = action.vessel.strip().lower()
            if action.material in room.flammable:
                assert action.material is not None
                material = library.materials[action.material]
                held[vessel] = (action.material, step.zone or material.zone or zone)
            opened = held.get(vessel)
            if action.do is Verb.AIR:
                held.pop(vessel, None)
            if action.do is Verb.POUR and action.into is not None:
                into = action.into.strip().lower()
                if opened is not None:
                    held[into] = opened
                opened = opened or held.get(into)
            heats = room.heats(action)
            # To heat what holds it is forbidden by a rule of its own, in every room.
            if opened is None or heats or action.do in (Verb.COOL, Verb.AIR):
                found.append(Handling(heats, None, zone))
            else:
                # Whoever handles it is where it is handled, whatever tool is in the other hand.
                found.append(Handling(heats, opened[0], zone, opened[1] or zone))
        steps.append(tuple(found))
    return tuple(steps)


def list_marks(zones: Iterable[str]) -> list[str]:
    """List the kinds of mark that heat and open flammables have in some parts of the room."""
    return [f"{kind}@{zone}" for kind in ("heat", "open") for zone in zones]


def keep_apart(room: ClassRoom, zones: Iterable[str]) -> dict[str, frozenset[str]]:
    """Say which kinds of mark never overlap: heat, and a flammable within its reach."""
    named = sorted(set(zones))
    apart: dict[str, set[str]] = {kind: set() for kind in list_marks(named)}
    for hot in named:
        for open_zone in named:
            if not hot or not open_zone or not room.is_clear(hot, open_zone):
                apart[f"heat@{hot}"].add(f"open@{open_zone}")
                apart[f"open@{open_zone}"].add(f"heat@{hot}")
    return {kind: frozenset(others) for kind, others in apart.items()}
