"""Follows what the steps of a lesson or fix do to each vessel and surface.

A small abstract interpreter over the actions: what is in a vessel and how much, how hot it has
become, and whether something flammable is on it. The safety rules only look at what comes out.

What it assumes, always on the safe side:

* A vessel is known by its name, whatever its letters' case, spaces and hyphens. A name that first
  appears has nothing in it that is known; a fix begins with the finished thing.
* Flammable means: added to a vessel, wetted onto a surface, or poured along with what holds it, and
  the bottle it was poured from. It stays, on the emptied vessel too, until an `air` action that
  lasts long enough, with no tool that heats, on something in which no liquid stands that is
  flammable through and through.
* A step's temperature window tells how hot the contents are while the step is done: those of the
  vessels that have been heated, or of every vessel of the step where none has been. The window of a
  step that does nothing to any contents is about whatever is warm, or else about what is there.
* A tool that heats does so whatever the verb, and heating never makes anything cooler; only a
  window or `cool` says that something has become so.
* A pour empties the vessel, unless it states an amount; where several pours follow one another
  with no amount, the contents are shared out evenly among them.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum, auto
from fractions import Fraction

from builder.amounts import read_exact, read_mass, read_volume
from builder.diagnostics import Route
from builder.model import Action, Fix, Hazard, Lesson, Material, Step, Tool, Verb
from builder.model.knowledge import FixStep
from builder.units import Quantity

SHORTEST_AIRING_S = 60.0
"""An airing below this many seconds does not count. Not a measured figure, for how long it takes
depends on liquid, amount and draught: only so short that nobody has let vapour clear."""


@dataclass(frozen=True, slots=True)
class Portion:
    """Some of a material that an action put into or onto a vessel.

    Args:
        material: Id of the material.
        amount: As the action states it, or None.
        mass_kg: Its mass, or None where that cannot be told.
        route: The action.
        on_surface: True where it was wetted onto a surface, so that it does not count as contents.
        guessed: A pour of an amount that nobody can hold against the whole. Masses with the same
            mark have their true shares among themselves and mean nothing beside any other.
    """

    material: str
    amount: Quantity | None
    mass_kg: Fraction | None
    route: Route
    on_surface: bool = False
    guessed: Route | None = None


class Airing(Enum):
    """Why an airing does not count."""

    NO_TIME = auto()
    TOO_SHORT = auto()
    HEATED = auto()
    STANDING = auto()


@dataclass(frozen=True, slots=True)
class Wetting:
    """Something flammable on a vessel: which material, by which action.

    `aired` is an `air` action since then that does not count, and `why` says why not.
    """

    material: str
    route: Route
    aired: Route | None = None
    why: Airing | None = None


@dataclass(frozen=True, slots=True)
class Warmth:
    """How hot contents are at most, in kelvin, or None where nothing says; and what says so."""

    kelvin: Fraction | None
    route: Route


@dataclass(frozen=True, slots=True)
class Vessel:
    """What is known of a vessel or surface; `warmth` is None while it has not been heated.

    `just_heated` is the action that heated it, as long as nothing says that it has cooled since: no
    airing, cooling or pour, no wait, and no window below what it was heated to.
    """

    name: str
    contents: tuple[Portion, ...] = ()
    flammable: Wetting | None = None
    warmth: Warmth | None = None
    just_heated: Route | None = None


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

    @property
    def new(self) -> tuple[Portion, ...]:
        """What the action itself put in, as against what came along in a pour."""
        added = self.after.contents[len(self.before.contents) :]
        return tuple(portion for portion in added if portion.route == self.route)


@dataclass(frozen=True, slots=True)
class Trace:
    """All moments of a lesson or fix in order, and the vessels as they are at its end."""

    moments: tuple[Moment, ...]
    vessels: tuple[Vessel, ...]


def find_key(name: str) -> str:
    """Give what a vessel is known by: its name without case, hyphens and doubled spaces.

    Characters that look alike by their definition in Unicode are one, invisible ones are none, and
    a leading "the" is dropped.

    Example:
        `The  Double-Boiler` and `double boiler` are one vessel.
    """
    if name.isascii() and "-" not in name and "_" not in name:
        words = name.casefold().split()  # nearly every name, and names are looked up often
    else:
        plain = unicodedata.normalize("NFKC", name).casefold()
        parted = (
            " " if unicodedata.category(each) in ("Pd", "Pc") else each
            for each in plain
            if unicodedata.category(each) != "Cf"
        )
        words = "".join(parted).split()
    return " ".join(words[1:] if len(words) > 1 and words[0] == "the" else words)


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
            if number and getattr(steps[number - 1], "wait", None) is not None:
                self.rest()
            before = len(self.moments)
            names = {name for act in step.actions for name in (act.vessel, act.into) if name}
            heats = any(self.heats(act) for act in step.actions)
            some_warm = heats or any(self.find(name).warmth for name in names)
            for place, action in enumerate(step.actions):
                route = ("steps", number, "actions", place)
                self.act(number, route, action, warmth, some_warm, shares.get((number, place)))
            done = self.moments[before:]
            elsewhere = any(moment.after.contents or moment.heated for moment in done)
            if warmth is not None and not elsewhere:
                self.hold_warm(number, warmth, may_lower=not step.actions)
        return Trace(tuple(self.moments), tuple(self.vessels.values()))

    def rest(self) -> None:
        """Time has passed in which everything stood."""
        for key, vessel in self.vessels.items():
            self.vessels[key] = replace(vessel, just_heated=None)

    def heats(self, action: Action) -> bool:
        """Say whether an action heats: by its verb, or with a tool that heats."""
        tool = self.tools.get(action.tool) if action.tool else None
        return action.do is Verb.HEAT or (tool is not None and tool.heats)

    def hold_warm(self, number: int, warmth: Warmth, may_lower: bool) -> None:
        """A step with a window that does nothing to any contents: it is about whatever is there."""
        filled = [vessel for vessel in self.vessels.values() if vessel.contents]
        warm = [vessel for vessel in filled if vessel.warmth is not None]
        main = [vessel for vessel in filled if any(map(self.is_base, vessel.contents))]
        for vessel in warm or main or filled:
            known = vessel.warmth.kelvin if vessel.warmth is not None else None
            lowers = known is not None and known >= (warmth.kelvin or 0)
            if lowers and (len(warm) > 1 or not may_lower):
                continue  # it may be about another one, and nobody knows which
            after = replace(vessel, warmth=warmth)
            self.keep(after)
            self.moments.append(Moment(number, warmth.route, None, vessel, after, warmth))

    def is_base(self, portion: Portion) -> bool:
        material = self.materials.get(portion.material)
        return material is not None and material.is_base

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
        heated = self.heats(action)
        before = self.find(action.vessel)
        source = None
        if action.do is Verb.POUR and action.into is not None and not pours_into_itself(action):
            source, before = before, self.find(action.into)
            left, after = self.pour(source, before, action, route, share)
            self.keep(left)
        else:
            after = self.change(before, action, route, heated)
        warmth = after.warmth
        stated = Warmth(read_exact(action.to), (*route, "to")) if action.to else None
        if heated and action.do is not Verb.COOL:
            warmth = _find_heat(route, stated, window, after.warmth)
            unknown = after.warmth is not None and after.warmth.kelvin is None
            if window is not None or not unknown:
                after = replace(after, warmth=warmth)
        elif window is not None and (after.warmth is not None or not some_warm):
            warmth = window
            if after.warmth is not None:
                after = replace(after, warmth=window)
        if action.do is Verb.COOL and stated is not None and after.warmth is not None:
            known = after.warmth.kelvin
            if known is None or (stated.kelvin is not None and stated.kelvin < known):
                after = replace(after, warmth=stated)
        after = replace(after, just_heated=_find_heating(before, after, action, route, heated))
        self.keep(after)
        self.moments.append(Moment(number, route, action, before, after, warmth, heated, source))

    def change(self, vessel: Vessel, action: Action, route: Route, heated: bool) -> Vessel:
        """What an action other than a pour leaves behind, its heat aside."""
        if action.do is Verb.AIR:
            vessel = self.air(vessel, action, route, heated)
        if action.material is None:
            return vessel
        held = any(portion.material == action.material for portion in vessel.contents)
        if held and action.amount is None and action.do not in (Verb.ADD, Verb.WET):
            return vessel  # it only says what is stirred, aired, heated or cooled
        return self.put(vessel, action, route, on_surface=action.do is Verb.WET)

    def air(self, vessel: Vessel, action: Action, route: Route, heated: bool) -> Vessel:
        """Let vapour clear, where the airing is one that clears it."""
        if vessel.flammable is None:
            return vessel
        standing = [portion for portion in vessel.contents if not portion.on_surface]
        why = None
        if action.time is None or action.time.base <= 0:
            why = Airing.NO_TIME
        elif action.time.base < SHORTEST_AIRING_S:
            why = Airing.TOO_SHORT
        elif heated:
            why = Airing.HEATED
        elif standing and all(self.is_flammable(portion.material) for portion in standing):
            why = Airing.STANDING
        if why is None:
            return replace(vessel, flammable=None)
        return replace(vessel, flammable=replace(vessel.flammable, aired=route, why=why))

    def is_flammable(self, name: str) -> bool:
        return Hazard.FLAMMABLE in self.hazards.get(name, ())

    def put(self, vessel: Vessel, action: Action, route: Route, on_surface: bool) -> Vessel:
        """Put an action's material into a vessel."""
        name = action.material
        assert name is not None
        mass_kg = read_mass(action.amount, self.materials.get(name)) if action.amount else None
        portion = Portion(name, action.amount, mass_kg, route, on_surface)
        flammable = Wetting(name, route) if self.is_flammable(name) else vessel.flammable
        return replace(vessel, contents=(*vessel.contents, portion), flammable=flammable)

    def pour(
        self, source: Vessel, target: Vessel, action: Action, route: Route, share: Fraction | None
    ) -> tuple[Vessel, Vessel]:
        """Pour: give what is left of the source, and the target."""
        named, known = action.material, {portion.material for portion in source.contents}
        if named is not None and named not in known:
            # Straight from its bottle, which nobody describes as a vessel.
            target = self.put(target, action, route, on_surface=False)
            if self.is_flammable(named):
                source = replace(source, flammable=Wetting(named, route))
            part = share if share is not None else Fraction(1)  # whatever else is in the bottle
        else:
            found = self.find_part(source, action, share)
            guess = route if found is None else None
            # Any part has the same shares within.
            part = Fraction(1, 2) if found is None else found
            marked = tuple(replace(each, guessed=each.guessed or guess) for each in source.contents)
            source = replace(source, contents=marked)
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
            size = portion.mass_kg if portion.guessed is None else None
            material = self.materials.get(portion.material)
            if by_mass is None and size is not None:
                density = material.density if material else None
                size = size / read_exact(density.value) if density else None
            if size is None:
                return None
            whole += size
        return min(poured / whole, Fraction(1)) if poured is not None and whole else None


def name_tools(tools: Mapping[str, Tool]) -> dict[str, Tool]:
    """Give tools by the keys of their ids and names, the first of each; see `find_key`."""
    named: dict[str, Tool] = {}
    for tool in tools.values():
        named.setdefault(find_key(tool.id), tool)
        named.setdefault(find_key(tool.name), tool)
    return named


def find_tool(
    name: str, entry: Lesson | Fix, tools: Mapping[str, Tool], named: Mapping[str, Tool]
) -> Tool | None:
    """Give the tool that a vessel is: as the lesson says, or the one of that id or name.

    Args:
        name: The vessel.
        entry: What it stands in.
        tools: The course's tools by id.
        named: The same by key, from `name_tools`.
    """
    key = find_key(name)
    if isinstance(entry, Lesson):
        stated = {find_key(each): tool for each, tool in entry.vessels.items()}
        if key in stated:
            return tools.get(stated[key])
    return named.get(key)


def pours_into_itself(action: Action) -> bool:
    """Say whether a pour ends in the vessel it began in, so that nothing moves."""
    return action.into is not None and find_key(action.into) == find_key(action.vessel)


def _find_heat(
    route: Route, stated: Warmth | None, window: Warmth | None, known: Warmth | None
) -> Warmth:
    """Find how hot something heated becomes: as stated, and never cooler than it was."""
    if window is not None:
        told = [window, stated] if stated is not None else [window]
    elif stated is None:
        return Warmth(None, route)
    else:
        told = [stated, known] if known is not None else [stated]
    return max(told, key=lambda each: each.kelvin or 0)


def _find_heating(
    before: Vessel, after: Vessel, action: Action, route: Route, heated: bool
) -> Route | None:
    """Give the heating from which something may still be hot all over."""
    if heated and action.do is not Verb.COOL:
        return route
    if action.do in (Verb.AIR, Verb.COOL, Verb.POUR):
        return None
    known = before.warmth.kelvin if before.warmth else None
    now = after.warmth.kelvin if after.warmth else None
    return None if known is not None and now is not None and now < known else before.just_heated


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
            if pours_into_itself(action):
                continue
            if action.do is Verb.POUR:
                if action.amount is None:
                    open_pours.setdefault(key, []).append((number, place))
                filled = find_key(action.into) if action.into else None
            else:
                filled = key if action.do in (Verb.ADD, Verb.WET) else None
            if filled in open_pours:
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
    before: Iterable[Vessel] = (),
) -> Trace:
    """Follow the actions of a lesson or fix.

    Args:
        entry: The lesson or fix.
        materials: Materials by id.
        tools: Tools by id.
        hazards: Hazards of each material.
        before: Vessels that stand there from what was done before.
    """
    follower = Follower(materials, tools, hazards)
    for vessel in before:
        follower.keep(vessel)
    return follower.follow(entry)
