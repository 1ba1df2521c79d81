"""The safety rule about names of vessels: what cannot be told apart cannot be followed."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from builder.checks.rule import Found, rule
from builder.checks.safety.doses import check_dose_over_limit
from builder.checks.safety.heat import (
    check_above_flash_point,
    check_heat_after_flammable,
    check_over_safe_temperature,
)
from builder.checks.safety.meeting import check_order_unsafe, check_vessel_unfit
from builder.course import Course
from builder.diagnostics import Route
from builder.model import Fix, Lesson, Step
from builder.model.knowledge import FixStep
from builder.vessels import find_key

SHORTEST_WORD = 4
"""Words with fewer letters may differ by one letter and be meant, as cup and cap are."""


FOLLOWING = (
    check_heat_after_flammable,
    check_above_flash_point,
    check_over_safe_temperature,
    check_dose_over_limit,
    check_order_unsafe,
    check_vessel_unfit,
)
"""The rules that follow vessels by their names."""


_JOINING = frozenset({"of", "for", "with", "the", "a"})
"""Words that join others, as in cup of red, which is the red cup."""


@rule("vessel-unclear", "safety")
def check_vessel_unclear(course: Course) -> Iterator[Found]:
    """Two names of vessels in one lesson look like one name.

    The safety rules follow each vessel by its name. If what was wetted as "table" is heated as
    "tabel", they see two vessels, of which neither does harm. So names may not differ by one letter
    of a word of four letters or more, by the "s" of the plural, or only by the order of their words
    (red cup, cup of red), where joining the two would break a rule of safety; and a name may not
    mix letters of two alphabets that look alike. Case, spaces and hyphens make no difference, and
    numbers and single letters (jug 1, jug 2, cup A, cup B) may tell vessels apart.

    Failing:

        # file: lessons/varnishing.yml
        steps:
          - title: Varnish the card
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 2 g}
          - title: Iron it flat
            actions:
              - {do: heat, vessel: cards, to: 50 degC}
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}

    Passing:

        # file: lessons/varnishing.yml
        steps:
          - title: Varnish the card
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 2 g}
          - title: Iron it flat
            actions:
              - {do: air, vessel: card, time: 12 h}
              - {do: heat, vessel: cards, to: 50 degC}
        # file: kb/materials.yml
        varnish: {hazards: [flammable]}
    """
    for entry in course.practical:
        first: dict[str, tuple[str, Route]] = {}
        for route, name in _walk_names(entry):
            key = find_key(name)
            if key in first:
                continue
            first[key] = name, route
            alphabets = _find_mixture(name)
            if alphabets:
                yield Found(
                    entry,
                    route,
                    f'the name "{name}" has {" and ".join(alphabets)} letters, which look alike',
                    "type the name anew, with the letters of one alphabet",
                )
        for one, other in _find_slips(list(first)):
            (name, route), (before, at) = first[other], first[one]
            if not _changes_verdict(course, entry, one, other):
                continue
            yield Found(
                entry,
                route,
                f'"{name}" is nearly the name "{before}"; if both mean one vessel, the rules '
                "about safety cannot follow it",
                f'write "{before}" here too, or give the two names that differ by a whole word',
                related=[(entry, at, f'the first "{before}"')],
            )


def _changes_verdict(course: Course, entry: Lesson | Fix, one: str, other: str) -> bool:
    """Say whether a rule of safety finds more where two names are taken for one vessel."""
    names = {name for _, name in _walk_names(entry) if find_key(name) in (one, other)}
    joined = _find_broken(course, _join(entry, one, other), names)
    return bool(joined - _find_broken(course, entry, names))


def _join(entry: Lesson | Fix, one: str, other: str) -> Lesson | Fix:
    steps = []
    for step in entry.steps:
        actions = []
        for action in step.actions:
            named = {"vessel": action.vessel, "into": action.into}
            same = {field: one for field, name in named.items() if name and find_key(name) == other}
            actions.append(action.model_copy(update=same))
        steps.append(step.model_copy(update={"actions": tuple(actions)}))
    return entry.model_copy(update={"steps": tuple(steps)})


def _find_broken(
    course: Course, entry: Lesson | Fix, names: set[str]
) -> set[tuple[str, Route, str]]:
    """Give what the rules that follow vessels find in one lesson or fix, whatever the names."""

    def forget(message: str) -> str:
        for name in names:
            message = message.replace(f'"{name}"', "it")
        return message

    entries = {**course.library.entries, "lesson": {}, "fix": {}, "class": {}}
    entries[entry.kind] = {entry.id: entry}
    alone = Course(replace(course.library, entries=entries))
    return {
        (each.id, found.route, forget(found.message))
        for each in FOLLOWING
        for found in (each.check(alone) if each.check else ())
    }


def _walk_names(entry: Lesson | Fix) -> Iterator[tuple[Route, str]]:
    steps: tuple[Step | FixStep, ...] = entry.steps
    for number, step in enumerate(steps):
        for place, action in enumerate(step.actions):
            route: Route = ("steps", number, "actions", place)
            yield (*route, "vessel"), action.vessel
            if action.into is not None:
                yield (*route, "into"), action.into


def _find_mixture(name: str) -> tuple[str, ...]:
    """Give the alphabets that a name mixes, or nothing."""
    if name.isascii():
        return ()
    alphabets = {_find_alphabet(each) for each in name} & {"Latin", "Cyrillic"}
    for is_letter, word in groupby(name, str.isalpha):
        if is_letter:
            found = {_find_alphabet(each) for each in word} & {"Latin", "Cyrillic", "Greek"}
            alphabets = found if len(found) > 1 else alphabets
    return tuple(sorted(alphabets)) if len(alphabets) > 1 else ()


def _find_alphabet(letter: str) -> str:
    return unicodedata.name(letter, "").partition(" ")[0].capitalize()


def _find_slips(keys: list[str]) -> Iterator[tuple[str, str]]:
    """Find pairs of names that differ by a slip in one word, in order of the second."""
    # Names that differ by a slip share what is left when the letter in question is taken away.
    seen: dict[tuple[str, ...], list[str]] = {}
    turned: dict[tuple[str, ...], str] = {}
    for key in keys:
        words = key.split()
        found: dict[str, None] = {}
        same = turned.setdefault(tuple(sorted({*words} - _JOINING)), key)
        if same != key:
            found[same] = None
        for place, word in enumerate(words):
            rest = (*words[:place], "", *words[place + 1 :])
            if not word.isalpha():
                continue
            for part in {word, *(word[:cut] + word[cut + 1 :] for cut in range(len(word)))}:
                for other in seen.get((*rest, part), ()):
                    if _is_slip(other.split()[place], word):
                        found[other] = None
                seen.setdefault((*rest, part), []).append(key)
        for other in found:
            yield other, key


def _is_slip(one: str, other: str) -> bool:
    if one == other or not one.isalpha():
        return False
    short, long = sorted((one, other), key=len)
    if long == f"{short}s":
        return len(short) >= SHORTEST_WORD - 1
    if len(short) < SHORTEST_WORD or len(long) - len(short) > 1:
        return False
    begin = 0
    while begin < len(short) and short[begin] == long[begin]:
        begin += 1
    if len(short) < len(long):
        return short[begin:] == long[begin + 1 :]
    swapped = long[begin + 1 : begin + 2] + long[begin]
    return short[begin + 1 :] == long[begin + 1 :] or (
        short[begin : begin + 2] == swapped and short[begin + 2 :] == long[begin + 2 :]
    )
