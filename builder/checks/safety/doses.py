"""The safety rule about how much of a material may go in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from builder.checks.amounts import read_exact, tell_amount
from builder.checks.rule import Context
from builder.checks.vessels import Portion, Trace, Vessel
from builder.diagnostics import Diagnostic, Route
from builder.model import Fix, Lesson, Material
from builder.model.knowledge import Limit
from builder.units import parse_unit


def check_dose_over_limit(context: Context) -> Iterator[Diagnostic]:
    """More of a material goes in than its limit allows.

    Limits protect skin and lungs, and keep the thing sound. A limit is a share of the base or of
    the finished product; where a material has several, the lowest governs. All that the steps put
    into a vessel counts, and goes along when it is poured. Numbers are compared exactly as written,
    so that 3 g in 100 g of base is 3 % and no more. The message says the largest amount that would
    be allowed. Where an amount is missing, no base is stated, or a volume has no density, the dose
    cannot be told, which is an error too. What is wetted onto something that holds no base, such as
    an empty dish or a cloth, is no dose.

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

    Passing:

        # file: lessons/stirring.yml
        steps:
          - title: Stir in the varnish
            actions:
              - {do: add, vessel: pan, material: paste, amount: 100 g}
              - {do: add, vessel: pan, material: varnish, amount: 3 g}
        # file: kb/materials.yml
        paste: {is_base: true}
        varnish:
          limits:
            - {most: 3 %, of: base, citation: safety-sheet}
        # file: kb/citations.yml
        safety-sheet: {certainty: practice}
    """
    limited = {name: each for name, each in context.library.materials.items() if each.limits}
    for entry, trace in context.traces:
        used = {portion.material for moment in trace.moments for portion in moment.after.contents}
        if used & limited.keys():
            yield from _Doses(context, entry, trace, limited).check()


@dataclass(frozen=True, slots=True)
class _Doses:
    context: Context
    entry: Lesson | Fix
    trace: Trace
    limited: dict[str, Material]

    def check(self) -> Iterator[Diagnostic]:
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

    def walk_vessels(self) -> Iterator[tuple[Vessel, bool]]:
        """Give each vessel when something is poured out of it, and all of them at the end."""
        for moment in self.trace.moments:
            if moment.source is not None:
                yield moment.source, False
        for vessel in self.trace.vessels:
            yield vessel, True

    def is_base(self, name: str) -> bool:
        material = self.context.library.materials.get(name)
        return material is not None and material.is_base

    def never_met_base(self, vessel: Vessel, dose: Portion, met_base: set[Route]) -> bool:
        known = self.context.library.materials
        read = all(portion.material in known for portion in vessel.contents)
        # What is only wetted onto a tool, a cloth or an empty vessel is no dose of anything.
        return read and not dose.on_surface and dose.route not in met_base

    def compare(
        self, vessel: Vessel, material: Material, doses: list[Portion]
    ) -> Diagnostic | None:
        last = doses[-1]
        for dose in doses:
            if dose.mass_kg is None:
                return self.report_unsure(dose, _tell_missing(dose))
        dose_kg = sum((each.mass_kg or Fraction(0) for each in doses), Fraction(0))
        bases = [each for each in vessel.contents if self.is_base(each.material)]
        base_kg = sum((each.mass_kg or Fraction(0) for each in bases), Fraction(0))
        others_kg = sum(
            (
                each.mass_kg or Fraction(0)
                for each in vessel.contents
                if each.material != material.id and not each.on_surface
            ),
            Fraction(0),
        )
        allowed: list[tuple[Fraction, int, Limit]] = []
        for index, limit in enumerate(material.limits):
            share = read_exact(limit.most)
            if limit.of == "base":
                unknown = next((each for each in bases if each.mass_kg is None), None)
                if material.is_base:
                    continue
                if unknown is not None:
                    why = f'how much "{unknown.material}" is in "{vessel.name}" is not stated'
                    return self.report_unsure(last, why)
                allowed.append((share * base_kg, index, limit))
            elif share < 1:
                # Of a product of others + dose: dose / (others + dose) <= share.
                allowed.append((share * others_kg / (1 - share), index, limit))
        if not allowed:
            return None
        most_kg, index, limit = min(allowed, key=lambda each: each[:2])
        if dose_kg <= most_kg:
            return None
        whole_kg = base_kg if limit.of == "base" else others_kg + dose_kg
        share_text = f"{float(dose_kg / whole_kg * 100):.3g} %" if whole_kg else "all"
        return self.context.library.report(
            "dose-over-limit",
            self.entry,
            (*last.route, "amount"),
            f'{self.tell(dose_kg, last, material)} of "{material.id}" in "{vessel.name}" is '
            f"{share_text} of the {limit.of}; the limit is {limit.most} "
            f'(source "{limit.citation}")',
            f"at most {self.tell(most_kg, last, material)} may go in",
            related=[
                (material, ("limits", index), "the limit that governs"),
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

    def report_unsure(self, dose: Portion, why: str) -> Diagnostic:
        material = self.limited[dose.material]
        return self.context.library.report(
            "dose-over-limit",
            self.entry,
            dose.route,
            f'the dose of "{dose.material}" cannot be told: {why}',
            "state the amounts of it and of the base in the same vessel; a volume needs the "
            "material's density",
            related=[(material, ("limits",), "its limits")],
        )


def _tell_missing(dose: Portion) -> str:
    if dose.amount is None:
        return "this action states no amount"
    if dose.amount.dimension == "[mass]":
        return "how much of it goes along when it is poured is not known"
    return f"{dose.amount} is a volume, and the material has no density"
