"""Rules about values that only make sense, or do not, beside other values."""

from __future__ import annotations

import re
from collections.abc import Iterator

from pydantic import BaseModel

from builder.checks.rule import Found, find_problems, rule
from builder.course import Course
from builder.diagnostics import Route
from builder.hazard_statements import find_unknown_codes
from builder.model import Action, Entry, Fix, Lesson, MarkdownText, Step, Verb
from builder.model.knowledge import FixStep
from builder.text import find_quantities
from builder.units import CURRENCIES, Quantity, UnitError, parse_window
from builder.vessels import pours_into_itself
from builder.words import find_language, list_languages

NEAR_KELVIN = 0.6
"""What metric and US numbers of the same temperature may differ by, each rounded to a degree."""


@rule("value-invalid", "values")
def check_value_invalid(course: Course) -> Iterator[Found]:
    """A value is not what its field holds.

    A quantity without a unit, a word that is none of the choices, text where a list belongs: the
    reader reports all of these, with what the field may hold. So are values that go wrong only
    together: a price in another currency than the course's, a currency that is not known, an action
    that lacks what its verb needs (`add` and `wet` a material, `pour` another place to pour into),
    a symptom, cause, question or fix that an entry names twice, a limit of more than the whole
    product, a step that heats above or below its own window, a heating to less than was just
    reached, a hazard statement that does not exist, a time or an amount of nothing, a case in which
    a sign is both seen and absent or a question answered both ways, and braces in a text that hold
    no quantity.

    Failing:

        # file: lessons/course.yml
        currency: EUR
        room: 21
        # file: kb/materials.yml
        varnish:
          packs:
            - {amount: 250 mL, price: 7.50 USD}

    Passing:

        # file: lessons/course.yml
        currency: EUR
        room: 21 degC
        # file: kb/materials.yml
        varnish:
          packs:
            - {amount: 250 mL, price: 7.50 EUR}
    """
    yield from _check_currency(course)
    for entry in course.practical:
        yield from _check_actions(course, entry)
    yield from _check_heatings(course)
    yield from _check_doubled(course)
    yield from _check_limits(course)
    yield from _check_statements(course)
    yield from _check_nothings(course)
    yield from _check_contradictions(course)
    yield from _check_braces(course)
    yield from find_problems(course, "value-invalid")


@rule("language-unknown", "values")
def check_language_unknown(course: Course) -> Iterator[Found]:
    """The course is in a language that the site has no words for.

    Headings, buttons and the words of the papers that no author writes come from one table for each
    language. Without it the pages would mix two languages, and say of one that it is the other.

    Failing:

        # file: lessons/course.yml
        language: tlh

    Passing:

        # file: lessons/course.yml
        language: en-GB
    """
    settings = course.library.settings
    if settings is not None and find_language(settings.language) is None:
        known = ", ".join(list_languages())
        yield Found(
            settings,
            ("language",),
            f'there are no words of the site in "{settings.language}"',
            f"write one of those there are: {known}",
        )


def _check_currency(course: Course) -> Iterator[Found]:
    library = course.library
    settings = library.settings
    if settings is None:
        return
    if settings.currency not in CURRENCIES:
        yield Found(
            settings,
            ("currency",),
            f'"{settings.currency}" is not a currency that prices can be written in',
            f"write one of {', '.join(CURRENCIES)}",
        )
        return
    prices: list[tuple[Entry, Route, Quantity]] = [
        (material, ("packs", index, "price"), pack.price)
        for material in library.materials.values()
        for index, pack in enumerate(material.packs)
    ]
    prices.extend(
        (fix, ("cost",), fix.cost) for fix in library.fixes.values() if fix.cost is not None
    )
    for entry, route, price in prices:
        if price.dimension != f"[{settings.currency.lower()}]":
            yield Found(
                entry,
                route,
                f'"{price}" is not in {settings.currency}, the currency of the course',
                f"write the price in {settings.currency}; no rate of exchange is known",
                related=((settings, ("currency",), "the currency of the course"),),
            )


def _check_actions(course: Course, entry: Lesson | Fix) -> Iterator[Found]:
    steps: tuple[Step | FixStep, ...] = entry.steps
    for number, step in enumerate(steps):
        for place, action in enumerate(step.actions):
            route: Route = ("steps", number, "actions", place)
            if action.do in (Verb.ADD, Verb.WET) and action.material is None:
                yield Found(
                    entry,
                    route,
                    f'the action "{action.do}" names no material',
                    "add material: with the id of what goes in or on",
                )
            if action.do is Verb.POUR and action.into is None:
                yield Found(
                    entry,
                    route,
                    'the action "pour" does not say where to',
                    "add into: with the name of the vessel or surface",
                )
            if action.do is Verb.POUR and pours_into_itself(action):
                yield Found(
                    entry,
                    (*route, "into"),
                    f'"{action.vessel}" is poured into itself',
                    "name the vessel or surface that it goes into, or write the action stir",
                )
            yield from _check_reach(course, entry, step, route, action)
            if action.do is not Verb.POUR and action.into is not None:
                yield Found(
                    entry,
                    (*route, "into"),
                    f'"into" does not belong to the action "{action.do}"',
                    "name what is acted on in vessel:, or use the action pour",
                )


def _check_reach(
    course: Course, entry: Lesson | Fix, step: Step | FixStep, route: Route, action: Action
) -> Iterator[Found]:
    """Hold what an action heats to against the window in which its step is done.

    What cools may cool on, while the step waits.
    """
    window = step.temperature if isinstance(step, Step) else None
    if window is None or action.to is None or action.do is not Verb.HEAT:
        return
    too_high = action.to.base > window.high.base + NEAR_KELVIN
    if too_high or action.to.base < window.low.base - NEAR_KELVIN:
        yield Found(
            entry,
            (*route, "to"),
            f"this heats to {action.to}, and the step says {window}",
            "make the temperature of the step and what its action reaches agree",
        )


def _check_heatings(course: Course) -> Iterator[Found]:
    """Find what is heated to less than it has, with nothing between that lets it cool."""
    for entry, trace in course.traces:
        for moment in trace.moments:
            action, before = moment.action, moment.before
            if action is None or action.do is not Verb.HEAT or action.to is None:
                continue
            known = before.warmth.kelvin if before.warmth else None
            if before.just_heated is None or known is None:
                continue
            if action.to.base < float(known) - NEAR_KELVIN:
                yield Found(
                    entry,
                    (*moment.route, "to"),
                    f'"{moment.after.name}" is heated to {action.to} here, and it was heated to '
                    "more than that just before",
                    "say between what lets it cool (an action cool, a wait, a window), or mend one "
                    "of the two",
                    related=[(entry, before.just_heated, "where it was heated before")],
                )


def _check_doubled(course: Course) -> Iterator[Found]:
    library = course.library
    named: list[tuple[Entry, str, str, list[str]]] = []
    for defect in library.defects.values():
        named.append((defect, "symptoms", "symptom", [each.symptom for each in defect.symptoms]))
        named.append((defect, "causes", "cause", [each.cause for each in defect.causes]))
    for cause in library.causes.values():
        named.append((cause, "evidence", "question", [each.question for each in cause.evidence]))
        named.append((cause, "fixes", "fix", [each.fix for each in cause.fixes]))
    for entry, field, kind, names in named:
        for place, name in enumerate(names):
            first = names.index(name)
            if first != place:
                yield Found(
                    entry,
                    (field, place, kind),
                    f'the {kind} "{name}" stands twice among the {field} of this {entry.kind}',
                    "keep the one that says how often it is so",
                    related=((entry, (field, first, kind), "the first one"),),
                )


MAY_BE_NONE = frozenset(
    {"set_up", "talk", "clean_up", "reminder", "handling", "demonstration", "wash"}
)
"""Times that may be nothing: who needs none says so."""
_SIZES = frozenset({"[time]", "[mass]", "[length] ** 3"})


def _check_nothings(course: Course) -> Iterator[Found]:
    """Find times and amounts of nothing: a slip, or a blank that was filled in for later."""
    for entry in course.library.walk():
        if entry.kind in ("course", "lesson", "class", "fix", "material", "tool"):
            for route, quantity in _walk_quantities(entry, ()):
                if not quantity.base and quantity.dimension in _SIZES:
                    what = "time" if quantity.dimension == "[time]" else "amount"
                    yield Found(
                        entry,
                        route,
                        f'"{quantity}" is no {what} at all',
                        f"write the {what} it really takes, or leave the field out where it may be",
                    )


def _walk_quantities(value: object, route: Route) -> Iterator[tuple[Route, Quantity]]:
    if isinstance(value, Quantity):
        yield route, value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            if name not in MAY_BE_NONE:
                yield from _walk_quantities(getattr(value, name), (*route, name))
    elif isinstance(value, tuple):
        for place, each in enumerate(value):
            yield from _walk_quantities(each, (*route, place))


def _check_contradictions(course: Course) -> Iterator[Found]:
    for case in course.library.cases.values():
        for one, other, what in (
            ("seen", "absent", "both seen and absent"),
            ("answered_yes", "answered_no", "answered both yes and no"),
        ):
            first = list(getattr(case, one))
            for place, name in enumerate(getattr(case, other)):
                if name in first:
                    yield Found(
                        case,
                        (other, place),
                        f'"{name}" is {what} in this case',
                        "keep one of the two",
                        related=[(case, (one, first.index(name)), "the other place")],
                    )


def _check_statements(course: Course) -> Iterator[Found]:
    for material in course.library.materials.values():
        for number, statement in enumerate(material.ghs.statements if material.ghs else ()):
            for code in find_unknown_codes(statement.code):
                yield Found(
                    material,
                    ("ghs", "statements", number, "code"),
                    f'there is no hazard statement "{code}"',
                    "copy the code from the label or from section 2 of the safety data sheet",
                )


def _check_limits(course: Course) -> Iterator[Found]:
    for material in course.library.materials.values():
        for number, limit in enumerate(material.limits):
            if limit.of == "product" and limit.most.base > 1:
                yield Found(
                    material,
                    ("limits", number, "most"),
                    f'"{limit.most}" is more than the whole product',
                    "write a share of at most 100 %, or of: base if it is a share of the base",
                )


def _check_braces(course: Course) -> Iterator[Found]:
    for entry, route, mark, text in course.marks:
        if not isinstance(mark, MarkdownText) or "{" not in text:
            continue
        for written in find_quantities(text):
            if not re.search(r"\d", written):
                continue
            try:
                parse_window(written)
            except UnitError as error:
                yield Found(
                    entry,
                    route,
                    f'the braces in "{{{written}}}" hold no quantity: {error}',
                    "write a number and a unit, such as {60 degC} or {57 to 63 degC}, "
                    "or leave the braces out",
                )
