"""Follows what the steps of a lesson or fix do to each vessel and surface.

A small abstract interpreter over the actions: what is in a vessel and how much, how hot it has
become, and whether something flammable is on it. The safety rules only look at what comes out.

What it assumes, always on the safe side:

* A vessel is known by its name, whatever its letters' case and spaces. A name that first appears
  has nothing in it that is known; a fix begins with the finished thing.
* Flammable means: added to a vessel, wetted onto a surface, or poured along with what holds it. It
  stays, on the emptied vessel too, until an `air` action with a time.
* A step's temperature window tells how hot the contents are while the step is done: those of the
  vessels that have been heated, or of every vessel of the step where none has been.
* A pour empties the vessel, unless it states an amount; where several pours follow one another
  with no amount, the contents are shared out evenly among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from builder.checks.amounts import read_exact, read_mass, read_volume
from builder.diagnostics import Route
from builder.model import Action, Fix, Hazard, Lesson, Material, Step, Tool, Verb
from builder.model.knowledge import FixStep
from builder.units import Quantity


@dataclass(frozen=True, slots=True)
class Portion:
    """Some of a material that an action put into or onto a vessel.

    Args:
        material: Id of the material.
        amount: As the action states it, or None.
        mass_kg: Its mass, or None where that cannot be told.
        route: The action.
        on_surface: True where it was wetted onto a surface, so that it does not count as contents.
    """

    material: str
    amount: Quantity | None
    mass_kg: Fraction | None
    route: Route
    on_surface: bool = False


@dataclass(frozen=True, slots=True)
class Wetting:
    """Something flammable on a vessel: which material, by which action.

    `aired` is an `air` action since then that states no time and so does not count.
    """

    material: str
    route: Route
    aired: Route | None = None


@dataclass(frozen=True, slots=True)
class Warmth:
    """How hot contents are at most, in kelvin, or None where nothing says; and what says so."""

    kelvin: Fraction | None
    route: Route


@dataclass(frozen=True, slots=True)
class Vessel:
    """What is known of a vessel or surface; `warmth` is None while it has not been heated."""

    name: str
    contents: tuple[Portion, ...] = ()
    flammable: Wetting | None = None
    warmth: Warmth | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """One vessel at one action.

    Args:
        step: Index of the step.
        route: The action, or the step's temperature where the step has no actions.
        action: The action, or None.
        before: The vessel as the action found it.
        after: The vessel as the action left it.
        warmth: How hot its contents are meanwhile; None where it was never heated.
        heated: Whether the action heats it: by its verb, or with a tool that heats.
        source: For a pour into this vessel: the one poured from, as it was.
    """

    step: int
    route: Route
    action: Action | None
    before: Vessel
    after: Vessel
    warmth: Warmth | None
    heated: bool = False
    source: Vessel | None = None


@dataclass(frozen=True, slots=True)
class Trace:
    """All moments of a lesson or fix in order, and the vessels as they are at its end."""

    moments: tuple[Moment, ...]
    vessels: tuple[Vessel, ...]


def find_key(name: str) -> str:
    """Give what a vessel is known by: its name without case and without doubled spaces."""
    return " ".join(name.casefold().split())


@dataclass
class Follower:
    """Follows one lesson or fix; use `follow`."""

    materials: Mapping[str, Material]
    tools: Mapping[str, Tool]
    hazards: Mapping[str, tuple[Hazard, ...]]
    vessels: dict[str, Vessel] = field(default_factory=dict)
    moments: list[Moment] = field(default_factory=list)

    def find(self, name: str) -> Vessel:
        return self.vessels.get(find_key(name), Vessel(" ".join(name.split())))

    def keep(self, vessel: Vessel) -> None:
        self.vessels[find_key(vessel.name)] = vessel

    def follow(self, entry: Lesson | Fix) -> Trace:
        steps: tuple[Step | FixStep, ...] = entry.steps
        shares = dict(_share_pours(steps))
        for number, step in enumerate(steps):
            window = getattr(step, "temperature", None)
            warmth = None
            if window is not None:
                route: Route = ("steps", number, "temperature")
                warmth = Warmth(read_exact(window.high), route)
            if not step.actions and warmth is not None:
                self.hold_warm(number, warmth)
            names = {name for act in step.actions for name in (act.vessel, act.into) if name}
            heats = any(act.do is Verb.HEAT for act in step.actions)
            some_warm = heats or any(self.find(name).warmth for name in names)
            for place, action in enumerate(step.actions):
                route = ("steps", number, "actions", place)
                self.act(number, route, action, warmth, some_warm, shares.get((number, place)))
        return Trace(tuple(self.moments), tuple(self.vessels.values()))

    def hold_warm(self, number: int, warmth: Warmth) -> None:
        """A step with a window and no actions: it is about whatever is warm."""
        for vessel in list(self.vessels.values()):
            if vessel.warmth is not None and vessel.contents:
                after = replace(vessel, warmth=warmth)
                self.keep(after)
                self.moments.append(Moment(number, warmth.route, None, vessel, after, warmth))

    def act(
        self,
        number: int,
        route: Route,
        action: Action,
        window: Warmth | None,
        some_warm: bool,
        share: Fraction | None,
    ) -> None:
        """Follow one action."""
        tool = self.tools.get(action.tool) if action.tool else None
        heated = action.do is Verb.HEAT or (tool is not None and tool.heats)
        before = self.find(action.vessel)
        source = None
        if action.do is Verb.POUR and action.into is not None:
            source, before = before, self.find(action.into)
            left, after = self.pour(source, before, action, route, share)
            self.keep(left)
        else:
            after = self.change(before, action, route)
        warmth = after.warmth
        if action.do is Verb.HEAT:
            stated = [Warmth(read_exact(action.to), (*route, "to"))] if action.to else []
            stated += [window] if window else []
            warmth = max(stated, key=lambda each: each.kelvin or 0, default=Warmth(None, route))
            after = replace(after, warmth=warmth)
        elif window is not None and (after.warmth is not None or not some_warm):
            warmth = window
            if after.warmth is not None:
                after = replace(after, warmth=window)
        if action.do is Verb.COOL and action.to is not None and after.warmth is not None:
            cooled = Warmth(read_exact(action.to), (*route, "to"))
            known = after.warmth.kelvin
            if known is None or (cooled.kelvin is not None and cooled.kelvin < known):
                after = replace(after, warmth=cooled)
        self.keep(after)
        self.moments.append(Moment(number, route, action, before, after, warmth, heated, source))

    def change(self, vessel: Vessel, action: Action, route: Route) -> Vessel:
        """What an action other than a pour leaves behind, its heat aside."""
        if action.do is Verb.AIR:
            if action.time is not None and action.time.magnitude > 0:
                return replace(vessel, flammable=None)
            if vessel.flammable is not None:
                return replace(vessel, flammable=replace(vessel.flammable, aired=route))
            return vessel
        if action.material is None:
            return vessel
        return self.put(vessel, action, route, on_surface=action.do is Verb.WET)

    def put(self, vessel: Vessel, action: Action, route: Route, on_surface: bool) -> Vessel:
        """Put an action's material into a vessel."""
        name = action.material
        assert name is not None
        mass_kg = read_mass(action.amount, self.materials.get(name)) if action.amount else None
        portion = Portion(name, action.amount, mass_kg, route, on_surface)
        flammable = vessel.flammable
        if Hazard.FLAMMABLE in self.hazards.get(name, ()):
            flammable = Wetting(name, route)
        return replace(vessel, contents=(*vessel.contents, portion), flammable=flammable)

    def pour(
        self, source: Vessel, target: Vessel, action: Action, route: Route, share: Fraction | None
    ) -> tuple[Vessel, Vessel]:
        """Pour: give what is left of the source, and the target."""
        known = {portion.material for portion in source.contents}
        if action.material is not None and action.material not in known:
            # Straight from its bottle, which nobody describes as a vessel.
            return source, self.put(target, action, route, on_surface=False)
        part = self.find_part(source, action, share)
        if part is None and target.contents:
            # Nobody can tell what this makes of the mixture in the target.
            moved = tuple(replace(portion, mass_kg=None) for portion in source.contents)
            stays = source.contents
        else:
            part = Fraction(1, 2) if part is None else part  # any part has the same shares within
            moved = tuple(_scale(portion, part) for portion in source.contents)
            stays = () if part == 1 else tuple(_scale(each, 1 - part) for each in source.contents)
        left = replace(source, contents=stays, warmth=source.warmth if stays else None)
        warmths = [vessel.warmth for vessel in (source, target) if vessel.warmth is not None]
        unknown = [warmth for warmth in warmths if warmth.kelvin is None]
        hottest = max(warmths, key=lambda each: each.kelvin or 0, default=None)
        return left, replace(
            target,
            contents=(*target.contents, *moved),
            flammable=target.flammable or source.flammable,
            warmth=unknown[0] if unknown else hottest,
        )

    def find_part(self, source: Vessel, action: Action, share: Fraction | None) -> Fraction | None:
        """Give the part of the source that a pour takes, or None where its amount cannot tell."""
        if action.amount is None:
            return share if share is not None else Fraction(1)
        by_mass = read_mass(action.amount, None)
        poured = by_mass if by_mass is not None else read_volume(action.amount, None)
        whole = Fraction(0)
        for portion in source.contents:
            size = portion.mass_kg
            material = self.materials.get(portion.material)
            if by_mass is None and size is not None:
                density = material.density if material else None
                size = size / read_exact(density.value) if density else None
            if size is None:
                return None
            whole += size
        return min(poured / whole, Fraction(1)) if poured is not None and whole else None


def _scale(portion: Portion, part: Fraction) -> Portion:
    if part == 1 or portion.mass_kg is None:
        return portion
    return replace(portion, mass_kg=portion.mass_kg * part)


def _share_pours(
    steps: tuple[Step | FixStep, ...],
) -> Iterator[tuple[tuple[int, int], Fraction]]:
    """Find the part of a vessel's contents that goes with each pour that states no amount."""
    open_pours: dict[str, list[tuple[int, int]]] = {}
    for number, step in enumerate(steps):
        for place, action in enumerate(step.actions):
            key = find_key(action.vessel)
            if action.do is Verb.POUR:
                if action.amount is None:
                    open_pours.setdefault(key, []).append((number, place))
                filled = find_key(action.into) if action.into else None
            else:
                filled = key if action.do in (Verb.ADD, Verb.WET) else None
            if filled in open_pours and not (action.do is Verb.POUR and filled == key):
                yield from _share(open_pours.pop(filled))
    for pours in open_pours.values():
        yield from _share(pours)


def _share(pours: list[tuple[int, int]]) -> Iterator[tuple[tuple[int, int], Fraction]]:
    for place, pour in enumerate(pours):
        yield pour, Fraction(1, len(pours) - place)


def follow(
    entry: Lesson | Fix,
    materials: Mapping[str, Material],
    tools: Mapping[str, Tool],
    hazards: Mapping[str, tuple[Hazard, ...]],
) -> Trace:
    """Follow the actions of a lesson or fix.

    Args:
        entry: The lesson or fix.
        materials: Materials by id.
        tools: Tools by id.
        hazards: Hazards of each material.
    """
    return Follower(materials, tools, hazards).follow(entry)
