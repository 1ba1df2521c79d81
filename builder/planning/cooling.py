"""How hot each vessel is while a lesson goes on, and whether its windows are kept.

Newton's law of cooling: in a room of steady temperature the gap to the room shrinks by the same
share each minute, T(t) = R + (T0 - R) e^(-t/tau). Tau, the time constant, belongs to one mass in
one vessel. Between two readings it is taken to grow evenly with the mass, as heat stored does while
the walls lose it alike; beyond a single reading, with the cube root of the mass, as for bodies of
one shape. It is a model, good to a few degrees: a lid, a draught or a cold vessel spoil it, and it
ends where the contents begin to set.

Whoever heats may stop anywhere between the lowest temperature that the step allows and the highest
it names; from there on the lesson's own times decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import exp, log

from builder.hazards import read_room_kelvin
from builder.library import Library
from builder.model import Action, Lesson, Material, Tool, Verb
from builder.planning.blocks import Block
from builder.planning.room import ClassRoom
from builder.units import Window

TOLERANCE_KELVIN = 0.5
"""By so much a window may be missed: the model and the usual probe are no better."""
LARGEST_ADDITION = 0.1
"""Less than this share of the contents, added to them, is taken to leave them as warm as they were;
our own estimate. After more of it nothing is known until they are heated again."""
LEAST_TAU_S = 60.0
HEAT_MARGIN_KELVIN = 10.0
"""Contents with a flash point no more than this above a window are not warmed up again."""


@dataclass(frozen=True, slots=True)
class Cooled:
    """How hot the contents of a vessel are expected to be while a step is done.

    Args:
        step: The step's place in the lesson, from 0.
        vessel: The vessel.
        start: In kelvin, when the step begins or its heating ends.
        end: In kelvin, when it ends for this vessel.
        missed: Whether the step's window cannot be kept by the lesson's own times.
        held_back: What is in it, or None, because of which it may not be heated again.
    """

    step: int
    vessel: str
    start: float
    end: float
    missed: bool
    held_back: str | None


def find_time_constant(tool: Tool, mass: float, room: float) -> float | None:
    """Give the time constant of a vessel with so much in it, in seconds.

    Args:
        tool: The vessel.
        mass: Of its contents, in kilograms.
        room: In kelvin.

    Returns:
        None where the tool has no readings above the room's temperature.
    """
    taus = sorted(
        (each.mass.base, each.time.base / log((each.first.base - room) / (each.second.base - room)))
        for each in tool.cools
        if each.second.base > room
    )
    if not taus:
        return None
    if len(taus) == 1:
        known, tau = taus[0]
        return float(tau * (mass / known) ** (1 / 3))
    above = next((n for n in range(1, len(taus)) if mass <= taus[n][0]), len(taus) - 1)
    (low, first), (high, second) = taus[above - 1], taus[above]
    if high == low:
        return float(first)
    return float(max(LEAST_TAU_S, first + (second - first) * (mass - low) / (high - low)))


@dataclass
class _Heating:
    """How hot a vessel can be when its heating ends, and how fast it cools from there."""

    at: int
    tau: float
    low: float
    high: float

    def find_share(self, moment: int) -> float:
        """Give the share of the gap to the room that is left at a moment of the block."""
        return exp(-(moment - self.at) / self.tau)


@dataclass
class _Contents:
    """What a vessel holds, and its last heating, as long as it tells how warm it is."""

    mass: float = 0.0
    catches_fire: tuple[tuple[float, str], ...] = ()
    heating: _Heating | None = None


@dataclass(frozen=True)
class _Held:
    """A window held against a heating."""

    step: int
    vessel: str
    heating: _Heating
    begun: float | None
    shares: tuple[float, float]
    held_back: str | None

    def settle(self, room: float) -> Cooled:
        """Tell the temperatures, once all windows after the heating are known."""
        heating = self.heating
        begun = (heating.low + heating.high) / 2 if self.begun is None else self.begun
        start, end = (room + (begun - room) * share for share in self.shares)
        return Cooled(self.step, self.vessel, start, end, self.begun is not None, self.held_back)


class _Follower:
    """Follows the vessels of a lesson."""

    def __init__(self, library: Library, lesson: Lesson, flammable: frozenset[str]) -> None:
        self.library = library
        self.lesson = lesson
        self.flammable = flammable
        self.room = read_room_kelvin(library)
        self.contents: dict[str, _Contents] = {}
        listed = [library.tools[each.tool] for each in lesson.tools if each.tool in library.tools]
        cooling = [tool for tool in listed if tool.cools]
        self.only = cooling[0] if len(cooling) == 1 else None

    def find_tool(self, vessel: str) -> Tool | None:
        """Give the tool that a vessel is; where a lesson says none, the one that has readings."""
        name = self.lesson.vessels.get(vessel)
        return self.library.tools.get(name) if name is not None else self.only

    def see(self, vessel: str) -> _Contents:
        return self.contents.setdefault(vessel, _Contents())

    def follow(self, block: Block) -> Iterator[_Held]:
        for contents in self.contents.values():
            contents.heating = None  # how long ago the block before was done is not known
        for timed in block.steps:
            step = self.lesson.steps[timed.step]
            times = step.together or 1
            seen: dict[str, tuple[int, int]] = {}
            heated: set[str] = set()
            for action, span in zip(step.actions, timed.spans, strict=True):
                begin, end = timed.after + span.start, timed.after + span.end
                if action.do is Verb.HEAT:
                    self._heat(action, step.temperature, end)
                    heated.add(action.vessel)
                    seen.pop(action.vessel, None)
                    first = end
                else:
                    first = begin
                for vessel in (action.vessel, action.into):
                    known = self.contents.get(vessel or "")
                    if vessel and known and known.heating:
                        before = seen.get(vessel, (first, first))
                        seen[vessel] = (min(before[0], first), max(before[1], end))
                self._change(action, times)
            if step.temperature is None:
                continue
            if not step.actions:
                hot = [name for name, each in self.contents.items() if each.heating]
                seen = dict.fromkeys(hot, (timed.after, timed.after + timed.length))
            for vessel, (begin, end) in seen.items():
                if self.contents[vessel].heating is None:  # something cold came in meanwhile
                    continue
                start = begin if vessel in heated else timed.after
                yield self._hold(timed.step, vessel, (start, end), step.temperature)

    def _heat(self, action: Action, window: Window | None, end: int) -> None:
        contents = self.see(action.vessel)
        tool = self.find_tool(action.vessel)
        tau = find_time_constant(tool, contents.mass, self.room) if tool and contents.mass else None
        contents.heating = None
        tops = [each.base for each in (action.to, window.high if window else None) if each]
        if tau is not None and tops:
            high = min(tops)
            low = min(window.low.base, high) if window else high
            contents.heating = _Heating(end, tau, low, high)

    def _change(self, action: Action, times: int) -> None:
        """Follow what goes into and out of vessels."""
        contents = self.see(action.vessel)
        if action.do in (Verb.ADD, Verb.WET) and action.material is not None:
            material = self.library.materials.get(action.material)
            if material is not None:
                self._add(contents, material, _weigh(action, material) * times)
        if action.do is Verb.POUR and action.into is not None:
            into = self.see(action.into)
            self._join(into, contents.mass, contents.catches_fire)
            contents.mass = 0.0

    def _add(self, contents: _Contents, material: Material, mass: float) -> None:
        flash = [each.value.base for each in material.flash_points]
        if material.id in self.flammable:
            flash.append(0.0)
        self._join(contents, mass, ((min(flash), material.name),) if flash else ())

    def _join(
        self, contents: _Contents, mass: float, catches_fire: tuple[tuple[float, str], ...]
    ) -> None:
        if contents.mass and mass > LARGEST_ADDITION * contents.mass:
            contents.heating = None
        contents.mass += mass
        contents.catches_fire = tuple(sorted({*contents.catches_fire, *catches_fire}))

    def _hold(self, step: int, vessel: str, times: tuple[int, int], window: Window) -> _Held:
        """Hold the contents against a window, from a first to a last moment of the block.

        What was possible before and keeps the window stays possible; where nothing does, the window
        is missed, and the model goes on as if nobody had asked.
        """
        contents = self.contents[vessel]
        heating = contents.heating
        assert heating is not None
        shares = (heating.find_share(times[0]), heating.find_share(times[1]))
        room = self.room
        most = room + (window.high.base + TOLERANCE_KELVIN - room) / shares[0]
        least = room + (window.low.base - TOLERANCE_KELVIN - room) / shares[1]
        low, high = max(heating.low, least), min(heating.high, most)
        begun = None
        if low > high:
            begun = heating.high if heating.high < least else heating.low
        else:
            heating.low, heating.high = low, high
        limit = window.high.base + HEAT_MARGIN_KELVIN
        held_back = next((name for at, name in contents.catches_fire if at <= limit), None)
        return _Held(step, vessel, heating, begun, shares, held_back)


def _weigh(action: Action, material: Material) -> float:
    """Give the mass that an action adds, in kilograms; 0 where that cannot be told."""
    if action.amount is None:
        return 0.0
    if action.amount.dimension == "[mass]":
        return float(action.amount.base)
    return float(action.amount.base * material.density.value.base) if material.density else 0.0


def follow_warmth(room: ClassRoom, lesson: Lesson, blocks: Sequence[Block]) -> tuple[Cooled, ...]:
    """Follow how hot the vessels of a lesson are, in each step that states a window.

    Args:
        room: What is shared, from `furnish_room`.
        lesson: The lesson.
        blocks: Of it, from `split_lesson`: within a block all times are known.

    Returns:
        A row for each step and vessel that the model can tell about.
    """
    follower = _Follower(room.library, lesson, room.flammable)
    held = [row for block in blocks for row in follower.follow(block)]
    return tuple(row.settle(follower.room) for row in held)
