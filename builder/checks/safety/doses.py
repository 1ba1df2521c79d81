"""The safety rule about how much of a material may go in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from builder.amounts import read_exact, tell_amount
from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.model import Fix, Hazard, Lesson, Material
from builder.model.knowledge import Limit
from builder.model.lessons import Scale
from builder.units import parse_unit
from builder.vessels import Portion, Trace, Vessel

SCALED_TO = (1, 500)
"""The fewest and the most things that a lesson's amounts are shown for; what is in between lies
between these in its shares too."""
ADDS_UP = frozenset({Hazard.SENSITISER, Hazard.TOXIC})
"""Of materials with one of these hazards, each takes its part of what the skin may get: half of one
limit and half of another are one whole. The usual rule where nothing is known of how they act
together; common practice, no source."""
_AS_USUAL = frozenset({Scale.PIECE})


@rule("dose-over-limit", "safety")
def check_dose_over_limit(course: Course) -> Iterator[Found]:
    """More of a material goes in than its limit allows.

    Limits protect skin and lungs, and keep the thing sound. A limit is a share of the base or of
    the finished product; where a material has several, the lowest governs. All that the steps put
    into a vessel counts, and goes along when it is poured. Numbers are compared exactly as written,
    so that 3 g in 100 g of base is 3 % and no more. The message says the largest amount that would
    be allowed. A lesson's amounts grow with the number of things made, those listed `per: batch` do
    not; so the limit must hold for one thing and for many as well as for what the steps state.
    Where an amount is missing, no base is stated, or a volume has no density, the dose
    cannot be told, which is an error too. What is wetted onto something that holds no base, such as
    an empty dish or a cloth, is no dose.

    Materials that can sensitise or poison add up: of two in the same base, each may take half of
    its own limit, or one a third and the other two thirds. One that has no limit of its own counts
    against the lowest limit of the others.

    Failing:

        # file: lessons/stirring.yml
        steps:
          - title: Stir in the varnish
            actions:
              - {do: add, vessel: pan, material: paste, amount: 100 g}
              - {do: add, vessel: pan, material: varnish, amount: 3.1 g}
        # file: kb/materials.yml
        paste: {is_base: true}
        varnish:
          limits:
            - {most: 3 %, of: base, citation: safety-sheet}
        # file: kb/citations.yml
        safety-sheet: {certainty: practice}

    Passing with `- {do: add, vessel: pan, material: varnish, amount: 3 g}` in place of `- {do:
    add, vessel: pan, material: varnish, amount: 3.1 g}`.
    """
    limited = {name: each for name, each in course.library.materials.items() if each.limits}
    for entry, trace in course.traces:
        used = {portion.material for moment in trace.moments for portion in moment.after.contents}
        if used & limited.keys():
            yield from _Doses(course, entry, trace, limited, _find_scales(entry)).check()


def _find_scales(entry: Lesson | Fix) -> dict[str, frozenset[Scale]]:
    """Find how each material listed in a lesson grows with the number made."""
    scales: dict[str, frozenset[Scale]] = {}
    for each in entry.materials if isinstance(entry, Lesson) else ():
        scales[each.material] = scales.get(each.material, frozenset()) | {each.per}
    return scales


class _Most(NamedTuple):
    """The most that a limit allows, and what it is a share of, both in kilograms."""

    kg: Fraction
    number: int
    limit: Limit
    whole_kg: Fraction


@dataclass(frozen=True, slots=True)
class _Doses:
    course: Course
    entry: Lesson | Fix
    trace: Trace
    limited: Mapping[str, Material]
    scales: Mapping[str, frozenset[Scale]]

    def check(self) -> Iterator[Found]:
        told: set[tuple[str, Route]] = set()
        met_base: set[Route] = set()
        for vessel, is_end in self.walk_vessels():
            with_base = any(self.is_base(portion.material) for portion in vessel.contents)
            if with_base:
                met_base.update(portion.route for portion in vessel.contents)
            for name in dict.fromkeys(portion.material for portion in vessel.contents):
                if name not in self.limited:
                    continue
                doses = [each for each in vessel.contents if each.material == name]
                key = (name, doses[-1].route)
                if key in told:
                    continue
                if with_base:
                    found = self.compare(vessel, self.limited[name], doses)
                elif is_end and self.never_met_base(vessel, doses[-1], met_base):
                    found = self.report_unsure(doses[-1], f'"{vessel.name}" holds no base')
                else:
                    continue
                if found is not None:
                    told.add(key)
                    yield found
            if with_base:
                yield from self.compare_together(vessel, told)

    def walk_vessels(self) -> Iterator[tuple[Vessel, bool]]:
        """Give each vessel when something is poured out of it, and all of them at the end."""
        for moment in self.trace.moments:
            if moment.source is not None:
                yield moment.source, False
        for vessel in self.trace.vessels:
            yield vessel, True

    def is_base(self, name: str) -> bool:
        material = self.course.library.materials.get(name)
        return material is not None and material.is_base

    def never_met_base(self, vessel: Vessel, dose: Portion, met_base: set[Route]) -> bool:
        known = self.course.library.materials
        read = all(portion.material in known for portion in vessel.contents)
        # What is only wetted onto a tool, a cloth or an empty vessel is no dose of anything.
        return read and not dose.on_surface and dose.route not in met_base

    def compare(self, vessel: Vessel, material: Material, doses: list[Portion]) -> Found | None:
        last = doses[-1]
        for dose in doses:
            if dose.mass_kg is None:
                return self.report_unsure(dose, _tell_missing(dose))
        for beside in vessel.contents:
            counts = self.is_base(beside.material) or not beside.on_surface
            guessed = next((each for each in doses if each.guessed != beside.guessed), None)
            if counts and guessed is not None:
                odd = beside if beside.guessed is not None else guessed
                why = f'how much "{odd.material}" went along in a pour is not known'
                return self.report_unsure(last, why)
        bases = (each for each in vessel.contents if self.is_base(each.material))
        unknown = next((each for each in bases if each.mass_kg is None), None)
        if unknown is not None and self.has_limit_of_base(material):
            why = f'how much "{unknown.material}" is in "{vessel.name}" is not stated'
            return self.report_unsure(last, why)
        dose_kg, allowed = self.weigh(vessel, material, Fraction(1), Fraction(1))
        if not allowed:
            return None
        most = min(allowed, key=lambda each: each[:2])
        if dose_kg > most.kg:
            return self.report_over(vessel, material, doses, dose_kg, most)
        return self.compare_scaled(vessel, material, last)

    def compare_together(self, vessel: Vessel, told: set[tuple[str, Route]]) -> Iterator[Found]:
        """Add up what the materials that act alike take of their limits."""
        hazards = self.course.hazards.materials
        materials = self.course.library.materials
        alike = [
            name
            for name in dict.fromkeys(portion.material for portion in vessel.contents)
            if ADDS_UP & set(hazards.get(name, ()))
            and (name in self.limited or not materials[name].is_base)
        ]
        limited = [name for name in alike if name in self.limited]
        alone = {(each.material, each.route) for each in vessel.contents}
        if len(alike) < 2 or not limited or alone & told:
            return  # nothing to add up, or one of them is too much by itself
        # What has no limit of its own is held against the limits of the others: no less is known.
        borrowed = tuple(limit for name in limited for limit in self.limited[name].limits)
        parts = [
            self.find_part(
                vessel,
                self.limited.get(name) or materials[name].model_copy(update={"limits": borrowed}),
            )
            for name in alike
        ]
        last = next(each for each in reversed(vessel.contents) if each.material in alike)
        key = (" ".join(alike), last.route)
        if sum(parts) <= 1 or key in told:
            return
        told.add(key)
        listed = ", ".join(
            f'"{name}" takes {float(part * 100):.3g} %'
            + ("" if name in self.limited else " (it has no limit, so that of the others counts)")
            for name, part in zip(alike, parts, strict=True)
        )
        yield Found(
            self.entry,
            last.route,
            f'together these are over what their limits allow in "{vessel.name}": {listed} of its '
            f"own limit, {float(sum(parts) * 100):.3g} % in all",
            "take less of each, so that the parts come to 100 % at most",
            related=[
                (self.limited[name], ("limits",), f'the limits of "{name}"') for name in limited
            ],
        )

    def find_part(self, vessel: Vessel, material: Material) -> Fraction:
        """Give what a dose takes of its own limit, the one that governs; 1 is all of it."""
        dose_kg, allowed = self.weigh(vessel, material, Fraction(1), Fraction(1))
        return max(
            (
                dose_kg / most.whole_kg / read_exact(most.limit.most)
                for most in allowed
                if most.whole_kg and read_exact(most.limit.most)
            ),
            default=Fraction(0),
        )

    def has_limit_of_base(self, material: Material) -> bool:
        return not material.is_base and any(limit.of == "base" for limit in material.limits)

    def weigh(
        self, vessel: Vessel, material: Material, batches: Fraction, pieces: Fraction
    ) -> tuple[Fraction, list[_Most]]:
        """Give a dose in kilograms, and the most that each limit allows.

        Args:
            vessel: What it is in.
            material: What is dosed.
            batches: How often what is listed for the batch goes in.
            pieces: How often what is listed for a piece goes in.
        """
        dose_kg, base_kg, others_kg = Fraction(0), Fraction(0), Fraction(0)
        for each in vessel.contents:
            times = [
                batches if scale is Scale.BATCH else pieces
                for scale in self.scales.get(each.material, _AS_USUAL)
            ]
            worst = max(times) if each.material == material.id else min(times)
            mass_kg = (each.mass_kg or Fraction(0)) * worst
            if each.material == material.id:
                dose_kg += mass_kg
            elif not each.on_surface:
                others_kg += mass_kg
            if self.is_base(each.material):
                base_kg += mass_kg
        allowed = []
        for index, limit in enumerate(material.limits):
            share = read_exact(limit.most)
            if limit.of == "base":
                if not material.is_base:
                    allowed.append(_Most(share * base_kg, index, limit, base_kg))
            elif share < 1:
                # Of a product of others + dose: dose / (others + dose) <= share.
                most_kg = share * others_kg / (1 - share)
                allowed.append(_Most(most_kg, index, limit, others_kg + dose_kg))
        return dose_kg, allowed

    def compare_scaled(self, vessel: Vessel, material: Material, last: Portion) -> Found | None:
        """Hold the dose against its limits for other numbers of pieces than the steps state."""
        own = self.scales.get(material.id)
        if not isinstance(self.entry, Lesson) or own is None:
            return None
        others = [
            each.material
            for each in vessel.contents
            if self.scales.get(each.material, _AS_USUAL) != own
        ]
        if not others and len(own) == 1:
            return None  # all grow alike
        settings = self.course.library.settings
        for count in SCALED_TO:
            pieces = Fraction(count, max(self.entry.makes, 1))
            dose_kg, allowed = self.weigh(vessel, material, Fraction(1), pieces)
            most = min(allowed, key=lambda each: each[:2])
            if dose_kg <= most.kg:
                continue
            listed = [each.material for each in self.entry.materials]
            other = others[0] if others else material.id
            made = (settings.thing.one if count == 1 else settings.thing.many) if settings else ""
            return Found(
                self.entry,
                ("materials", listed.index(material.id)),
                f'"{material.id}" and "{other}" do not grow alike: for {count} {made} there would '
                f'be {self.tell(dose_kg, last, material)} of "{material.id}", '
                f"{_tell_share(dose_kg, most)} of the {most.limit.of}; the limit is "
                f'{most.limit.most} (source "{most.limit.citation}")',
                f'write the same per: for "{material.id}" and "{other}" in the materials',
                related=[
                    (material, ("limits", most.number), "the limit that governs"),
                    *(
                        (self.entry, ("materials", listed.index(name)), f'"{name}" is listed here')
                        for name in {other} & {*listed} - {material.id}
                    ),
                ],
            )
        return None

    def report_over(
        self,
        vessel: Vessel,
        material: Material,
        doses: list[Portion],
        dose_kg: Fraction,
        most: _Most,
    ) -> Found:
        last = doses[-1]
        return Found(
            self.entry,
            (*last.route, "amount"),
            f'{self.tell(dose_kg, last, material)} of "{material.id}" in "{vessel.name}" is '
            f"{_tell_share(dose_kg, most)} of the {most.limit.of}; the limit is {most.limit.most} "
            f'(source "{most.limit.citation}")',
            f"at most {self.tell(most.kg, last, material)} may go in",
            related=[
                (material, ("limits", most.number), "the limit that governs"),
                *(
                    (self.entry, dose.route, f'"{material.id}" goes in here too')
                    for dose in doses[:-1]
                    if dose.route != last.route
                ),
            ],
        )

    def tell(self, mass_kg: Fraction, dose: Portion, material: Material) -> str:
        """Word a mass the way the author wrote the dose: by mass or by volume."""
        amount = dose.amount
        if amount is None or amount.dimension == "[mass]":
            return tell_amount(mass_kg, amount.unit if amount else parse_unit("g"))
        assert material.density is not None
        return tell_amount(mass_kg / read_exact(material.density.value), amount.unit)

    def report_unsure(self, dose: Portion, why: str) -> Found:
        material = self.limited[dose.material]
        return Found(
            self.entry,
            dose.route,
            f'the dose of "{dose.material}" cannot be told: {why}',
            "state the amounts of it and of the base in the same vessel; a volume needs the "
            "material's density",
            related=[(material, ("limits",), "its limits")],
        )


def _tell_share(dose_kg: Fraction, most: _Most) -> str:
    if not most.whole_kg:
        return "all"
    percent = float(dose_kg / most.whole_kg * 100)
    return f"{percent:.3g} %" if percent < 1000 else f"{percent:.0f} %"


def _tell_missing(dose: Portion) -> str:
    if dose.amount is None:
        return "this action states no amount"
    if dose.amount.dimension == "[mass]":
        return "how much of it goes along when it is poured is not known"
    return f"{dose.amount} is a volume, and the material has no density"
