"""The rule about advice in texts: to heat, or to use what catches fire, without saying when."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route, Severity
from builder.model import Calculator, Entry, Fix, Hazard, Lesson, Step
from builder.model.knowledge import FixStep
from builder.text import read_words


def _list(words: str) -> frozenset[str]:
    return frozenset(words.split())


HEAT = ("heat", "reheat", "warm", "rewarm", "boil", "bake", "microwave", "cook")
"""Verbs of common English that advise heating; a course adds those of its craft."""
USE = ("add", "use", "spray", "mist", "wipe", "wet", "pour", "put", "brush", "dip", "rinse")
"""Verbs that advise to use a material."""
CONDITIONS = _list(
    """
    if unless only before until when while once never not no nothing without instead provided
    whether first cold cool cooled cools aired airy window outside away far cannot except already
    neither nor below under after
    """
)
"""Words that say when something holds, or that it must not be."""
_SENTENCE = re.compile(r"(?<=[.;:!?])\s+")
_LEAD = r"(?:^|[,;:(]\s*|\b(?:and|or|then|to|please|again|simply|just|must|should|can|may)\s+)"
_OBJECT = (
    "it|them|the|this|that|these|those|a|an|your|its|their|each|every|both|all|some|one|more|again"
    "|up|back|until|for|gently|slowly|longer|further|everything"
)
_NEVER = re.compile(r"$^")


@rule("advice-unconditional", "text", Severity.WARNING)
def check_advice_unconditional(course: Course) -> Iterator[Found]:
    """A text advises to heat, or to use what catches fire, and does not say when that is safe.

    A reader who looks for help reads one sentence, perhaps with the thing in hand that was wetted a
    minute ago. Where no action stands beside the words that the rules of safety could follow, the
    words themselves must name the condition: `Warm it again only if nothing flammable has touched
    it`. That holds for what a calculator says, for the steps of a lesson and of a fix that state no
    such action, and for the line that sums a fix up, as soon as the course uses anything flammable.

    The check knows verbs of common English, and those that the course names in `heating_words`; a
    tool that heats and a material that is flammable are known by their names. It reads only
    English, and it knows a condition by words such as only, if and before.

    Failing:

        # file: kb/fixes/flatten.yml
        steps:
          - text: Warm it again, and press it flat.
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}

    Passing:

        # file: kb/fixes/flatten.yml
        steps:
          - text: Warm it again, only if no varnish has touched it, and press it flat.
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}
    """
    settings = course.library.settings
    if settings is None or settings.language.partition("-")[0] != "en":
        return
    words = _Words(course)
    if not words.flammable:
        return
    for entry, route, text in _walk_advice(course):
        sentences = _SENTENCE.split(read_words(text))
        for place, sentence in enumerate(sentences):
            found = words.find(sentence)
            near = " ".join(sentences[max(place - 1, 0) : place + 2]).casefold()
            if found and not CONDITIONS & set(re.findall(r"[a-z']+", near)):
                yield Found(
                    entry,
                    route,
                    f'"{" ".join(sentence.split())[:70]}" advises to {found}, and does not say '
                    "when that is safe",
                    "name the condition, such as: only if nothing flammable has touched it",
                )
                break


class _Words:
    """What advises to heat or to use a flammable, in the words of a course."""

    def __init__(self, course: Course) -> None:
        self.course = course

    @cached_property
    def flammable(self) -> list[str]:
        """Words by which flammable materials are called."""
        library, hazards = self.course.library, self.course.hazards.materials
        names = [
            library.materials[name].name
            for name, found in hazards.items()
            if Hazard.FLAMMABLE in found
        ]
        return sorted({word for name in names for word in re.findall(r"[a-z]{4,}", name.lower())})

    @cached_property
    def heating(self) -> re.Pattern[str]:
        settings = self.course.library.settings
        verbs = [*HEAT, *(settings.heating_words if settings else ())]
        verb = "|".join(map(re.escape, verbs))
        # What follows tells the verb from the adjective: a warm pan, and warm it.
        return re.compile(rf"{_LEAD}(?:{verb})(?:\s+(?:{_OBJECT})\b|\s*[.!]?$)", re.IGNORECASE)

    @cached_property
    def tools(self) -> re.Pattern[str]:
        """Being put into or onto something that heats."""
        tools = self.course.library.tools.values()
        words = {
            re.escape(word)
            for tool in tools
            if tool.heats
            for word in (tool.name.lower(), tool.name.lower().split()[-1])
        }
        if not words:
            return _NEVER
        return re.compile(
            rf"\b(?:in|into|on|onto|over|to)\s+(?:the|a|an)\s+(?:\w+\s+)?(?:{'|'.join(words)})\b",
            re.IGNORECASE,
        )

    @cached_property
    def using(self) -> re.Pattern[str]:
        return re.compile(
            rf"{_LEAD}(?:{'|'.join(USE)})\b[^.;:]{{0,50}}\b(?:{'|'.join(self.flammable)})\b",
            re.IGNORECASE,
        )

    def find(self, sentence: str) -> str:
        """Say what a sentence advises, or ""."""
        if self.heating.search(sentence):
            return "heat"
        verbs = re.search(rf"{_LEAD}(?:put|set|place|hold|lay|return|press)\b", sentence, re.I)
        if verbs and self.tools.search(sentence):
            return "heat"
        return "use what catches fire" if self.using.search(sentence) else ""


def _walk_advice(course: Course) -> Iterator[tuple[Entry, Route, str]]:
    """Give the texts that advise where no action is followed."""
    for calculator in course.library.calculators.values():
        yield from _walk_calculator(calculator)
    for entry in course.practical:
        yield from _walk_steps(entry)


def _walk_calculator(calculator: Calculator) -> Iterator[tuple[Entry, Route, str]]:
    for name, output in calculator.outputs.items():
        for place, case in enumerate(output.cases):
            yield calculator, ("outputs", name, "cases", place, "text"), case.text
        if output.note is not None:
            yield calculator, ("outputs", name, "note"), output.note
    for name, warning in calculator.warnings.items():
        yield calculator, ("warnings", name, "message"), warning.message
    for place, refusal in enumerate(calculator.refusals):
        yield calculator, ("refusals", place, "message"), refusal.message


def _walk_steps(entry: Lesson | Fix) -> Iterator[tuple[Entry, Route, str]]:
    if isinstance(entry, Fix):
        yield entry, ("summary",), entry.summary
    else:
        for place, risk in enumerate(entry.risks):
            yield entry, ("risks", place, "watch"), risk.watch
    steps: tuple[Step | FixStep, ...] = entry.steps
    for number, step in enumerate(steps):
        if not step.actions:
            yield entry, ("steps", number, "text"), step.text
