"""Recorded cases, run through the diagnosis as tests of the knowledge base.

A case says what was seen and answered, and which causes it turned out to have. It is well diagnosed
where one of these is among the first three; `explain_miss` says what misled it otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from builder.diagnosis.network import UNLISTED, build_network
from builder.diagnostics import Route
from builder.frequencies import COMMONNESS, FREQUENCIES, nearest_word
from builder.library import Library
from builder.model import Case, Entry
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.inference import infer
from builder.twin.diagnosis.questions import explain
from builder.twin.diagnosis.shapes import Findings, IndexedNetwork

GOOD_PLACE = 3
"""A true cause at this place or before counts as found."""


@dataclass(frozen=True, slots=True)
class CaseResult:
    """How a case was diagnosed.

    Args:
        case: Id of the case.
        first: The causes ranked first, most probable first.
        place: Place of the best of the true causes, counted from 1.
    """

    case: str
    first: tuple[str, ...]
    place: int


@dataclass(frozen=True, slots=True)
class Change:
    """One number that would have to be another for a case to come out.

    Args:
        entry: The entry it stands in.
        route: Where in the entry.
        now: The chance as it is.
        wanted: The word for the nearest chance that would do.
        what: What it says, in words.
    """

    entry: Entry
    route: Route
    now: float
    wanted: str
    what: str


@dataclass(frozen=True, slots=True)
class Miss:
    """Why a case was not found.

    Args:
        cause: The true cause that came nearest.
        misled_by: Ids of the answers or signs that spoke for the cause put first rather than for
            it, strongest first.
        change: The smallest single change that would bring it among the first; None where no one
            number does.
    """

    cause: str
    misled_by: tuple[str, ...]
    change: Change | None


def read_findings(case: Case) -> Findings:
    """Give what a case reports in the shape the diagnosis takes."""
    return {
        "present": list(case.seen),
        "absent": list(case.absent),
        "yes": list(case.answered_yes),
        "no": list(case.answered_no),
        "skipped": [],
    }


def _rank_causes(network: IndexedNetwork, findings: Findings) -> list[str]:
    """Rank the causes as people get them: those no finding has to do with come last."""
    causes = [each for each in infer(network, findings)["causes"] if each["id"] != UNLISTED]
    return [each["id"] for linked in (True, False) for each in causes if each["linked"] is linked]


def run_case(network: IndexedNetwork, case: Case) -> CaseResult:
    """Diagnose a case."""
    ranked = _rank_causes(network, read_findings(case))
    places = [ranked.index(cause) + 1 for cause in case.was if cause in ranked]
    return CaseResult(case.id, tuple(ranked[:GOOD_PLACE]), min(places, default=len(ranked) + 1))


def run_cases(library: Library, network: IndexedNetwork) -> tuple[CaseResult, ...]:
    """Diagnose every case of a course, in order of id.

    Args:
        library: The course.
        network: Its diagnosis, numbered.
    """
    return tuple(run_case(network, case) for case in library.cases.values())


def explain_miss(library: Library, network: IndexedNetwork, case: Case) -> Miss:
    """Say what misled a case, and which one number would have to change.

    Args:
        library: The course.
        network: Its diagnosis, numbered.
        case: A case of it whose true causes are not among the first.

    Returns:
        The explanation. Every word for how often is tried for every number that joins the true
        cause, or one of those put before it, to what was seen and answered; of those that do, the
        smallest change is named.
    """
    findings = read_findings(case)
    ranked = _rank_causes(network, findings)
    cause = min(
        (name for name in case.was if name in ranked), key=ranked.index, default=case.was[0]
    )
    moves: dict[str, float] = {}
    for explained in explain(network, findings, [ranked[0], cause]):
        sign = -1.0 if explained["id"] == cause else 1.0
        for reason in explained["because"]:
            # A sign that is there misleads nobody by being another cause's as well.
            if reason["kind"] == "question" or sign * reason["sign"] > 0 > sign:
                moves[reason["id"]] = moves.get(reason["id"], 0.0) + sign * reason["bits"]
    misled = sorted((-move, name) for name, move in moves.items() if move > 0.0)
    change = _find_change(library, case, cause, ranked[:GOOD_PLACE])
    return Miss(cause, tuple(name for _, name in misled), change)


def _find_change(library: Library, case: Case, cause: str, before: list[str]) -> Change | None:
    best: tuple[float, Change] | None = None
    numbers = [each for name in (cause, *before) for each in _list_numbers(library, case, name)]
    for entry, route, now, what in (*numbers, *_list_backgrounds(library, case)):
        words = COMMONNESS if route == ("how_common",) else FREQUENCIES
        for word, chance in words.items():
            effort = abs(math.log(chance / (1 - chance)) - math.log(now / (1 - now)))
            if (
                chance == now
                or word == nearest_word(now)
                or (best is not None and effort >= best[0])
            ):
                continue
            changed = _change_number(library, entry, route, chance)
            if run_case(index_network(build_network(changed)), case).place <= GOOD_PLACE:
                best = effort, Change(entry, route, now, word, what)
    return best[1] if best else None


def _list_numbers(
    library: Library, case: Case, name: str
) -> Iterator[tuple[Entry, Route, float, str]]:
    """List the numbers that join a cause to what a case reports."""
    cause = library.causes.get(name)
    if cause is None:
        return
    yield cause, ("how_common",), cause.how_common, f'how common "{name}" is'
    answered = {*case.answered_yes, *case.answered_no}
    for number, evidence in enumerate(cause.evidence):
        if evidence.question in answered:
            what = f'how often "{evidence.question}" is answered yes when "{name}" acts'
            yield cause, ("evidence", number, "yes"), evidence.yes, what
    looked_for = {*case.seen, *case.absent}
    for defect in library.defects.values():
        links = [number for number, link in enumerate(defect.causes) if link.cause == name]
        for number in links:
            what = f'how often "{name}" brings "{defect.id}"'
            yield defect, ("causes", number, "often"), defect.causes[number].often, what
        for number, symptom in enumerate(defect.symptoms):
            if links and symptom.symptom in looked_for:
                what = f'how often "{defect.id}" shows "{symptom.symptom}"'
                yield defect, ("symptoms", number, "often"), symptom.often, what


def _list_backgrounds(library: Library, case: Case) -> Iterator[tuple[Entry, Route, float, str]]:
    """List how often the answers and signs of a case come without what they speak for."""
    for name in (*case.answered_yes, *case.answered_no):
        if question := library.questions.get(name):
            what = f'how often "{name}" is answered yes without any of its causes'
            yield question, ("yes_otherwise",), question.yes_otherwise, what
    for name in (*case.seen, *case.absent):
        if symptom := library.symptoms.get(name):
            what = f'how often "{name}" shows without any of its defects'
            yield symptom, ("chance_otherwise",), symptom.chance_otherwise, what


def _change_number(library: Library, entry: Entry, route: Route, chance: float) -> Library:
    """Give the course with one number changed."""
    if len(route) == 1:
        changed = entry.model_copy(update={str(route[0]): chance})
    else:
        field, number, name = str(route[0]), int(route[1]), str(route[2])
        links = list(getattr(entry, field))
        links[number] = links[number].model_copy(update={name: chance})
        changed = entry.model_copy(update={field: tuple(links)})
    entries = {**library.entries, entry.kind: {**library.entries[entry.kind], entry.id: changed}}
    return replace(library, entries=entries)
