"""The rule that holds what people read against what is checked: quantities in texts of lessons."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.hazards import read_room_kelvin
from builder.model import Entry, Fix, Lesson, MarkdownText, Material, Step, Verb, walk_marks
from builder.model.knowledge import FixStep
from builder.text import find_stated
from builder.units import Quantity, UnitError, Window, parse_quantity, parse_window
from builder.vessels import Trace

CLOSE = 0.015
"""How far an amount in a text may be from the one it repeats, rounded to be read."""
WEIGHED = 0.03
"""How far a dose that was weighed may be from the share it comes from: to what a scale shows."""
OF_ANOTHER_KIND = 2
"""A share of more than so many times the largest limit is no dose that somebody might weigh."""
NEAR_KELVIN = 0.6
"""What a temperature in a text may differ, rounded to a degree of either scale."""
SMALL = ("[mass]", "[length] ** 3")


@rule("text-differs", "text")
def check_text_differs(course: Course) -> Iterator[Found]:
    """A text says another quantity than what is checked.

    The rules of safety follow the actions, windows and facts; people follow the words. So a
    quantity in braces is held against them. In the text of a step that states amounts in its
    actions, and wherever a lesson lists its base, an amount must be one of the lesson's. A
    temperature must lie in the step's window, or be what an action heats or cools to, a limit of a
    material that the lesson uses, or the room's. Where a step airs something, the text may not give
    less time for it. A share must be a limit or a dose of what the lesson uses. What a lesson fills
    into a calculator, as a limit, a dose, a flash point, a density, the amount of base or the room,
    must be what its materials and actions say: the calculator names such inputs in `repeats`.

    Where a number is meant to be another one, say so in place: `{also 5 mL}` is shown as `{5 mL}`
    and held against nothing.

    Failing:

        # file: lessons/stirring.yml
        materials:
          - {material: varnish, amount: 1.5 g}
        steps:
          - text: Add {15 g} of varnish to the card.
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 1.5 g}
        # file: kb/materials.yml
        varnish: {hazards: [irritant]}

    Passing:

        # file: lessons/stirring.yml
        materials:
          - {material: varnish, amount: 1.5 g}
        steps:
          - text: Add {1.5 g} of varnish to the card, with the pipette of {also 5 mL}.
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 1.5 g}
        # file: kb/materials.yml
        varnish: {hazards: [irritant]}
    """
    for entry, trace in course.traces:
        held = _Repeated(course, entry, trace)
        steps: tuple[Step | FixStep, ...] = entry.steps
        for number, step in enumerate(steps):
            yield from _check_step(held, number, step)
        yield from _check_shares(held)
        if isinstance(entry, Lesson):
            yield from _check_uses(held, entry)


@dataclass
class _Repeated:
    """What a lesson or fix uses, and every number of it that a text may repeat."""

    course: Course
    entry: Lesson | Fix
    trace: Trace
    told: set[tuple[Route, str]] = field(default_factory=set)

    @cached_property
    def materials(self) -> list[Material]:
        """The materials that it lists, or puts anywhere."""
        names = {
            portion.material for moment in self.trace.moments for portion in moment.after.contents
        }
        if isinstance(self.entry, Lesson):
            names |= {each.material for each in self.entry.materials}
        known = self.course.library.materials
        return [known[name] for name in sorted(names) if name in known]

    @cached_property
    def amounts(self) -> list[tuple[str, float]]:
        """Every amount: dimension, and value in its base unit; masses in kilograms."""
        found = [action.amount for step in self.entry.steps for action in step.actions]
        if isinstance(self.entry, Lesson):
            found += [each.amount for each in self.entry.materials]
            for use in self.entry.calculators:
                found += list(filter(None, map(_read, use.inputs.values())))
        amounts = [(each.dimension, each.base) for each in found if each is not None]
        # The most that a limit allows is a number that a lesson works out, too.
        bases = [value for _, each in self.bases if (value := each.base)]
        for material in self.materials:
            for limit in material.limits:
                share = limit.most.base
                whole = share if limit.of == "base" or share >= 1 else share / (1 - share)
                amounts += [("[mass]", whole * base) for base in bases]
        for moment in self.trace.moments:
            masses = [portion.mass_kg for portion in moment.after.contents]
            if masses and None not in masses:
                amounts.append(("[mass]", float(sum(each for each in masses if each is not None))))
        return amounts

    @property
    def bases(self) -> list[tuple[int, Quantity]]:
        """The amounts of base that a lesson lists, by their place in the list."""
        listed = self.entry.materials if isinstance(self.entry, Lesson) else ()
        return [
            (place, each.amount)
            for place, each in enumerate(listed)
            if self.course.library.is_base(each.material) and each.amount.dimension == "[mass]"
        ]

    @cached_property
    def temperatures(self) -> list[float]:
        """Facts that any text may name, in kelvin."""
        facts = [read_room_kelvin(self.course.library)]
        for material in self.materials:
            facts += [fact.value.base for fact in material.flash_points]
            if material.highest_temperature is not None:
                facts.append(material.highest_temperature.value.base)
        return facts

    @cached_property
    def doses(self) -> list[tuple[Quantity, Entry, Route]]:
        """What is dosed into the base, as shares of it, and the action that puts it in."""
        found: list[tuple[Quantity, Entry, Route]] = []
        for moment in self.trace.moments:
            masses = [(each, float(each.mass_kg or 0)) for each in moment.after.contents]
            base = sum(kg for each, kg in masses if self.course.library.is_base(each.material))
            for portion, kg in masses:
                if base and kg and not self.course.library.is_base(portion.material):
                    share = parse_quantity(f"{kg / base * 100:.4g} %")
                    found.append((share, self.entry, portion.route))
        return found

    @cached_property
    def shares(self) -> list[float]:
        """Limits of what is used, what is dosed of it, and what is filled into calculators."""
        found = [limit.most.base for material in self.materials for limit in material.limits]
        for moment in self.trace.moments:
            masses: dict[str, float] = {}
            for portion in moment.after.contents:
                masses[portion.material] = masses.get(portion.material, 0.0) + float(
                    portion.mass_kg or 0
                )
            base = sum(mass for name, mass in masses.items() if self.course.library.is_base(name))
            whole = sum(masses.values())
            for mass in masses.values():
                found += [mass / each for each in (base, whole) if each]
        if isinstance(self.entry, Lesson):
            for use in self.entry.calculators:
                read = filter(None, map(_read, use.inputs.values()))
                found += [each.base for each in read if each.dimension == "dimensionless"]
        return found


def _read(text: str) -> Quantity | None:
    try:
        return parse_quantity(text)
    except UnitError:
        return None


def _list_windows(text: str) -> Iterator[tuple[str, Window]]:
    for written in find_stated(text) if "{" in text else ():
        try:
            yield written, parse_window(written)
        except UnitError:
            continue


def _check_step(held: _Repeated, number: int, step: Step | FixStep) -> Iterator[Found]:
    route: Route = ("steps", number)
    texts = [(field, getattr(step, field, None)) for field in ("text", "see")]
    listed = bool(held.bases)
    amounts = listed or any(action.amount is not None for action in step.actions)
    for name, text in texts:
        for written, window in _list_windows(text or ""):
            place = (*route, name)
            if window.dimension in SMALL and amounts:
                yield from _check_amount(held, place, written, window)
            elif window.dimension == "[temperature]":
                yield from _check_temperature(held, number, step, place, written, window)
    yield from _check_airing(held, number, step)


def _check_amount(held: _Repeated, place: Route, written: str, window: Window) -> Iterator[Found]:
    for end in {window.low.base, window.high.base}:
        near = any(
            dimension == window.dimension and abs(value - end) <= CLOSE * max(value, end)
            for dimension, value in held.amounts
        )
        if not near and not _matches_density(held, window, end):
            yield Found(
                held.entry,
                place,
                f'the text says "{written}", and neither an action nor the list of materials has '
                "that amount",
                "make the text and the action agree; where another amount is meant, write "
                f"{{also {written}}}",
            )
            return


def _matches_density(held: _Repeated, window: Window, end: float) -> bool:
    """Say whether a volume is a known mass of something used, or the other way round."""
    for material in held.materials:
        if material.density is None:
            continue
        density = material.density.value.base
        other = end * density if window.dimension != "[mass]" else end / density
        wanted = "[mass]" if window.dimension != "[mass]" else "[length] ** 3"
        if any(
            dimension == wanted and abs(value - other) <= CLOSE * max(value, other)
            for dimension, value in held.amounts
        ):
            return True
    return False


def _check_temperature(
    held: _Repeated, number: int, step: Step | FixStep, place: Route, written: str, window: Window
) -> Iterator[Found]:
    stated = step.temperature if isinstance(step, Step) else None
    reached = [action.to.base for action in step.actions if action.to is not None]
    for end in {window.low.base, window.high.base}:
        if any(abs(each - end) <= NEAR_KELVIN for each in (*reached, *held.temperatures)):
            continue
        if stated is not None:
            fits = stated.low.base - NEAR_KELVIN <= end <= stated.high.base + NEAR_KELVIN
            if not fits:
                yield Found(
                    held.entry,
                    place,
                    f'the text says "{written}", and this step is done at {stated}',
                    "make the text and the window agree; where another temperature is meant, "
                    f"write {{also {written}}}",
                )
                return
        elif reached:
            if end > max(reached) + NEAR_KELVIN:
                yield Found(
                    held.entry,
                    place,
                    f'the text says "{written}", and the hottest that an action of this step '
                    "states is less",
                    "make the text and the action agree; where another temperature is meant, "
                    f"write {{also {written}}}",
                )
                return
        else:
            limit = _find_limit(held, number)
            if limit is not None and end >= limit[0]:
                yield Found(
                    held.entry,
                    place,
                    f'the text says "{written}", and "{limit[1].id}" in this step must stay below '
                    "that",
                    "say it in the step's temperature window, where it is checked; where another "
                    f"thing is meant, write {{also {written}}}",
                    related=[(limit[1], (limit[2],), "its limit")],
                )
                return


def _find_limit(held: _Repeated, number: int) -> tuple[float, Material, str] | None:
    """Give the lowest temperature that what stands there must not reach, at a step."""
    names: dict[str, None] = {}
    for moment in held.trace.moments:
        if moment.step <= number:
            names.update(dict.fromkeys(portion.material for portion in moment.after.contents))
    room = read_room_kelvin(held.course.library)
    limits = []
    for name in names:
        material = held.course.library.materials.get(name)
        if material is None:
            continue
        flashes = [fact.value.base for fact in material.flash_points if fact.value.base > room]
        if flashes:
            limits.append((min(flashes), material, "flash_points"))
        if material.highest_temperature is not None:
            value = material.highest_temperature.value.base + NEAR_KELVIN
            limits.append((value, material, "highest_temperature"))
    return min(limits, key=lambda each: each[0], default=None)


def _check_airing(held: _Repeated, number: int, step: Step | FixStep) -> Iterator[Found]:
    """Find a text that lets vapour clear for less time than the action says."""
    aired = [
        action.time.base
        for action in step.actions
        if action.do is Verb.AIR and action.time is not None
    ]
    times = [
        (written, window)
        for written, window in _list_windows(step.text)
        if window.dimension == "[time]"
    ]
    if not aired or not times:
        return
    longest = max(times, key=lambda each: each[1].high.base)
    if longest[1].high.base < min(aired) * (1 - CLOSE):
        yield Found(
            held.entry,
            ("steps", number, "text"),
            f'the text says "{longest[0]}", and the action that airs takes longer',
            "give people the time in which it truly clears",
        )


def _check_shares(held: _Repeated) -> Iterator[Found]:
    """Hold every share that a text names against the limits and doses of what is used."""
    limited = [material for material in held.materials if material.limits]
    if not limited:
        return
    for route, mark, text in walk_marks(held.entry):
        if not isinstance(mark, MarkdownText) or "%" not in text or route[0] == "exercises":
            continue
        for written, window in _list_windows(text):
            if window.dimension != "dimensionless":
                continue
            for end in {window.low.base, window.high.base}:
                if any(abs(each - end) <= CLOSE * max(each, end, 1e-9) for each in held.shares):
                    continue
                largest = max(limit.most.base for each in limited for limit in each.limits)
                if end > OF_ANOTHER_KIND * largest:
                    continue  # no share of these: a strength, a humidity, a part of the whole
                yield Found(
                    held.entry,
                    route,
                    f'the text says "{written}", which is neither a limit nor a dose of what is '
                    "used here",
                    "write the limit or the dose as it is now; where another share is meant, write "
                    f"{{also {written}}}",
                    related=[(each, ("limits",), f'the limits of "{each.id}"') for each in limited],
                )
                break


def _check_uses(held: _Repeated, lesson: Lesson) -> Iterator[Found]:
    """Hold what a lesson fills into calculators against what its materials say."""
    for number, use in enumerate(lesson.calculators):
        for written, window in _list_windows(use.text or ""):
            if window.dimension in SMALL and held.bases:
                yield from _check_amount(held, ("calculators", number, "text"), written, window)
        calculator = held.course.library.calculators.get(use.calculator)
        for name, typed in use.inputs.items():
            asked = calculator.inputs.get(name) if calculator else None
            given = _read(typed)
            if asked is None or asked.repeats is None or given is None:
                continue
            known = list(_list_facts(held, asked.repeats))
            if known and not any(
                fact.dimension == given.dimension
                and abs(fact.base - given.base)
                <= max((WEIGHED if asked.repeats == "dose" else CLOSE) * fact.base, 1e-12)
                for fact, _, _ in known
            ):
                said = ", ".join(dict.fromkeys(str(fact) for fact, _, _ in known))
                yield Found(
                    lesson,
                    ("calculators", number, "inputs", name),
                    f'this lesson fills in {typed} as "{asked.label}", and what it repeats is '
                    f"{said}",
                    "write the same here and there; whoever changes one changes the other",
                    related=[(owner, route, str(fact)) for fact, owner, route in known],
                )


def _list_facts(held: _Repeated, what: str) -> Iterator[tuple[Quantity, Entry, Route]]:
    """Give what the materials of a lesson say of one sort of fact."""
    for material in held.materials:
        if what == "flash-point":
            for place, fact in enumerate(material.flash_points):
                yield fact.value, material, ("flash_points", place, "value")
        elif what in ("limit-of-base", "limit-of-product"):
            for place, limit in enumerate(material.limits):
                if what == f"limit-of-{limit.of}":
                    yield limit.most, material, ("limits", place, "most")
        elif what == "density" and material.density is not None:
            yield material.density.value, material, ("density", "value")
    if what == "room" and held.course.library.settings is not None:
        yield held.course.library.settings.room, held.course.library.settings, ("room",)
    if what == "dose":
        yield from held.doses
    if what == "base":
        for number, amount in held.bases:
            yield amount, held.entry, ("materials", number, "amount")
