"""What the plan needs of a course beside its network: stops, fixes, efforts, contexts, words."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType

from builder.diagnosis.network import MINUTES_PER_MONEY, UNLISTED, weigh_cost_minutes
from builder.frequencies import LIKELIHOODS
from builder.library import Library
from builder.model.knowledge import Cause, Defect, Fix, Question, Stop, Symptom, When
from builder.twin.diagnosis.shapes import (
    FindingNote,
    Guide,
    Link,
    Narrowing,
    Only,
    Remedy,
    Saving,
    StopRule,
    StopText,
    Texts,
)
from builder.words import Words, load_words

EFFORT_MINUTES: Mapping[str, float] = MappingProxyType(
    {"look": 0.2, "feel": 0.5, "recall": 0.5, "fetch": 5.0, "wait": 60.0}
)
"""What finding out costs a person; a judgement. A day's wait is not a day's work."""
STAKE_MINUTES = 30.0
"""What a wrong verdict on a cause costs: about another batch; a judgement."""
GRAVE_STAKE_MINUTES = 150.0
"""The same for a cause that may harm, or for which the thing is thrown away."""


def build_guide(library: Library, forbidden: Collection[str] = ()) -> Guide:
    """Gather what the plan needs.

    Args:
        library: The course.
        forbidden: Ids of fixes never to be offered, because they break a rule of safety.

    Returns:
        Plain data, in order of ids.
    """
    stops: list[StopRule] = [
        {
            "by": entry.id,
            "kind": kind,  # type: ignore[typeddict-item]
            "only": _list_only(entry.stop.only),
            "ask_first": entry.stop.ask_first,
        }
        for kind, entry, _ in _list_stopping(library)
        if entry.stop is not None
    ]
    return {
        "unlisted": UNLISTED,
        "stakes": _weigh_stakes(library),
        "stops": stops,
        "remedies": [
            _describe_remedy(library, fix)
            for fix in library.fixes.values()
            if fix.id not in forbidden
        ],
        "notes": [
            *(_note_symptom(library, each) for each in library.symptoms.values()),
            *(_note_question(library, each) for each in library.questions.values()),
        ],
        "narrowings": _list_narrowings(library),
        "contexts": [
            {
                "id": context.id,
                "options": [option.id for option in context.options],
                "stages": context.stages,
            }
            for context in (library.settings.contexts if library.settings else ())
        ],
    }


def _list_stopping(
    library: Library,
) -> list[tuple[str, Symptom | Question | Defect | Cause, str]]:
    return [
        *(("symptom", each, each.name) for each in library.symptoms.values()),
        *(("question", each, each.ask) for each in library.questions.values()),
        *(("defect", each, each.name) for each in library.defects.values()),
        *(("cause", each, each.name) for each in library.causes.values()),
    ]


def _list_only(only: Mapping[str, tuple[str, ...]]) -> list[Only]:
    return [{"context": name, "options": list(options)} for name, options in sorted(only.items())]


def _weigh_stakes(library: Library) -> list[Link]:
    discarding = {fix.id for fix in library.fixes.values() if fix.discards}
    grave = {cause.id for cause in library.causes.values() if cause.stop}
    for defect in library.defects.values():
        for link in defect.causes:
            if defect.stop:
                grave.add(link.cause)
        for rescue in defect.fixes:
            if rescue.fix in discarding:
                grave.update(rescue.causes or (link.cause for link in defect.causes))
    for cause in library.causes.values():
        if any(link.fix in discarding for link in cause.fixes):
            grave.add(cause.id)
    stakes: list[Link] = [
        (name, GRAVE_STAKE_MINUTES if name in grave else STAKE_MINUTES) for name in library.causes
    ]
    return [*stakes, (UNLISTED, STAKE_MINUTES)]


def _describe_remedy(library: Library, fix: Fix) -> Remedy:
    money = library.settings.money_in_work.to("min") if library.settings else MINUTES_PER_MONEY
    now = fix.when is When.NOW
    return {
        "id": fix.id,
        "when": fix.when.value,
        "cost_minutes": weigh_cost_minutes(fix, money),
        "until": _number_stage(library, fix.until),
        "discards": fix.discards,
        "sets_aside": fix.sets_aside,
        "checks": fix.checks,
        "saves": list_savings(library, fix) if now else [],
        "prevents": []
        if now
        else [
            (cause.id, link.helps)
            for cause in library.causes.values()
            for link in cause.fixes
            if link.fix == fix.id
        ],
    }


def list_savings(library: Library, fix: Fix) -> list[Saving]:
    """List which faults a fix for the thing in the hand saves it from.

    A fix that hangs on a cause, as older courses write it, counts for every fault of that cause.
    """
    found: list[Saving] = []
    for defect in library.defects.values():
        for rescue in defect.fixes:
            if rescue.fix == fix.id:
                found += [
                    {"defect": defect.id, "cause": cause, "helps": rescue.helps}
                    for cause in (rescue.causes or ("",))
                ]
        for brought in defect.causes:
            cause = library.causes.get(brought.cause)
            for link in cause.fixes if cause else ():
                if link.fix == fix.id:
                    found.append({"defect": defect.id, "cause": brought.cause, "helps": link.helps})
    return found


def _number_stage(library: Library, name: str | None) -> int:
    for context in library.settings.contexts if library.settings else ():
        names = [option.id for option in context.options]
        if context.stages and name in names:
            return names.index(name)
    return -1


def _note_symptom(library: Library, symptom: Symptom) -> FindingNote:
    return {
        "id": symptom.id,
        "kind": "symptom",
        "effort_minutes": EFFORT_MINUTES[symptom.effort],
        "unpicked": 1.0 - symptom.unpicked if symptom.unpicked is not None else 0.0,
        "since": _number_stage(library, symptom.since),
        "rules_out": [],
        "only": _list_only(symptom.only),
    }


def _note_question(library: Library, question: Question) -> FindingNote:
    return {
        "id": question.id,
        "kind": "question",
        "effort_minutes": EFFORT_MINUTES[question.effort],
        "unpicked": 0.0,
        "since": _number_stage(library, question.since),
        "rules_out": list(question.rules_out),
        "only": _list_only(question.only),
    }


def _list_narrowings(library: Library) -> list[Narrowing]:
    found: list[Narrowing] = []
    for defect in library.defects.values():
        only = [*_list_only(defect.only), *_list_tracks(library, defect)]
        if only:
            found.append({"id": defect.id, "kind": "defect", "only": only})
    for cause in library.causes.values():
        if cause.only:
            found.append({"id": cause.id, "kind": "cause", "only": _list_only(cause.only)})
    return found


def _list_tracks(library: Library, defect: Defect) -> list[Only]:
    """Say in which contexts a defect comes in question because of its tracks."""
    found: list[Only] = []
    for context in library.settings.contexts if library.settings else ():
        if any(option.tracks for option in context.options):
            options = [
                option.id
                for option in context.options
                if not option.tracks or set(option.tracks) & set(defect.tracks)
            ]
            found.append({"context": context.id, "options": options})
    return found


def gather_texts(library: Library, words: Words | None = None) -> Texts:
    """Gather the words that plans of a course are told in.

    Args:
        library: The course.
        words: Our own words; English where left out.
    """
    words = words or load_words("en")
    one = library.settings.thing.one if library.settings else "thing"
    names = {
        **{f"symptom:{each.id}": each.name for each in library.symptoms.values()},
        **{f"question:{each.id}": each.ask for each in library.questions.values()},
        **{f"defect:{each.id}": each.name for each in library.defects.values()},
        **{f"cause:{each.id}": each.name for each in library.causes.values()},
        **{f"fix:{each.id}": each.name for each in library.fixes.values()},
    }
    stages: list[str] = []
    for context in library.settings.contexts if library.settings else ():
        names[f"context:{context.id}"] = context.ask
        if context.stages:
            stages = [option.name[:1].lower() + option.name[1:] for option in context.options]
    return {
        "names": names,
        "stops": {
            f"{kind}:{entry.id}": _word_stop(entry.stop)
            for kind, entry, _ in _list_stopping(library)
            if entry.stop is not None
        },
        "unsaved": {
            each.id: each.nothing_saves for each in library.defects.values() if each.nothing_saves
        },
        "usable": {each.id: True for each in library.defects.values() if each.harmless},
        "discards": {each.id: True for each in library.fixes.values() if each.discards},
        "stages": stages,
        "likelihoods": [(least, words.text(f"likelihood.{key}")) for least, key in LIKELIHOODS],
        "phrases": {key: words.text(f"advice.{key}", one=one) for key in words.below("advice")},
    }


def _word_stop(stop: Stop) -> StopText:
    return {"reason": stop.reason, "do": list(stop.do), "ask": stop.ask or ""}
