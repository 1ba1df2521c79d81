"""What the recorded cases say about the numbers of the knowledge base, as a proposal.

Each number is taken as a chance with a Beta prior: its mean is the number as written, its strength
`PRIOR_STRENGTH` imagined cases. The cases that bear on it are added (Beta-binomial), and the mean
afterwards is proposed. Only cases with a single cause count, because with two it is not known which
of them made the answer or the sign. How common a cause is cannot be learned so: a record of flawed
things is no sample of all things made.

Nothing is ever written: the proposal is a diff for the teacher to read.
"""

from __future__ import annotations

import difflib
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from builder.diagnostics import Location, Route
from builder.library import Library
from builder.model import Entry

PRIOR_STRENGTH = 10.0
"""Imagined cases behind a number as written: a teacher's word weighs as much as ten cases."""
LEAST_CASES = 3
LEAST_CHANGE = 0.05

_VALUE = re.compile(r"[^\s,}#\]]+")


@dataclass(frozen=True, slots=True)
class Proposal:
    """A revised number.

    Args:
        entry: The entry it stands in.
        route: Where in the entry.
        location: File, line and column.
        now: The chance as written.
        proposed: The mean afterwards, to two decimal places.
        cases: How many cases bear on it.
        hits: In how many of these it was so.
    """

    entry: Entry
    route: Route
    location: Location
    now: float
    proposed: float
    cases: int
    hits: int


def update_chance(now: float, hits: int, cases: int) -> float:
    """Give the mean of a Beta prior of strength `PRIOR_STRENGTH` after some cases.

    Example:
        `update_chance(0.5, 10, 10)` is 0.75.
    """
    return (PRIOR_STRENGTH * now + hits) / (PRIOR_STRENGTH + cases)


def propose_numbers(library: Library) -> list[Proposal]:
    """Propose revised frequencies from the cases of a course.

    Returns:
        Proposals by file and line; only numbers with at least `LEAST_CASES` cases that would move
        by at least `LEAST_CHANGE`.
    """
    counts: dict[tuple[str, str, Route], list[int]] = defaultdict(lambda: [0, 0])
    for case in library.cases.values():
        if len(case.was) != 1 or case.was[0] not in library.causes:
            continue
        cause = library.causes[case.was[0]]
        for number, evidence in enumerate(cause.evidence):
            if evidence.question in case.answered_yes or evidence.question in case.answered_no:
                count = counts["cause", cause.id, ("evidence", number, "yes")]
                count[0] += evidence.question in case.answered_yes
                count[1] += 1
        defects = [
            defect
            for defect in library.defects.values()
            if any(link.cause == cause.id for link in defect.causes)
            and any(link.symptom in case.seen for link in defect.symptoms)
        ]
        if len(defects) != 1:
            continue  # which of the defects showed the signs is not on record
        for number, symptom in enumerate(defects[0].symptoms):
            if symptom.symptom in case.seen or symptom.symptom in case.absent:
                count = counts["defect", defects[0].id, ("symptoms", number, "often")]
                count[0] += symptom.symptom in case.seen
                count[1] += 1
    proposals = []
    for (kind, name, route), (hits, cases) in counts.items():
        entry = library.entries[kind][name]
        now = _read_number(entry, route)
        proposed = round(min(0.99, max(0.01, update_chance(now, hits, cases))), 2)
        if cases >= LEAST_CASES and abs(proposed - now) >= LEAST_CHANGE:
            place = library.locate(entry, route)
            proposals.append(Proposal(entry, route, place, now, proposed, cases, hits))
    return sorted(proposals, key=lambda each: each.location)


def _read_number(entry: Entry, route: Route) -> float:
    field, number, name = route
    return float(getattr(getattr(entry, str(field))[int(number)], str(name)))


def write_diff(proposals: list[Proposal], texts: Mapping[str, str]) -> str:
    """Write proposals as a unified diff.

    Args:
        proposals: From `propose_numbers`.
        texts: Each file's text by its path.

    Returns:
        The diff, with a comment in each changed line on how many cases stand behind it; "" where
        there is nothing to propose.
    """
    parts: list[str] = []
    for file in sorted({each.location.file for each in proposals}):
        before = texts[file].splitlines()
        after = list(before)
        mine = [each for each in proposals if each.location.file == file]
        # From the right, so that places further left in a line stay where they are.
        for each in sorted(mine, key=lambda one: one.location, reverse=True):
            row, column = each.location.line - 1, each.location.column - 1
            line = after[row]
            old = _VALUE.match(line, column)
            end = old.end() if old else column
            after[row] = f"{line[:column]}{each.proposed:g}{line[end:]}"
        for each in mine:
            row = each.location.line - 1
            note = f"{each.hits} of {each.cases} cases"
            joint = ";" if "  # " in after[row] else "  #"
            after[row] = f"{after[row]}{joint} {note}"
        diff = difflib.unified_diff(before, after, f"a/{file}", f"b/{file}", lineterm="", n=2)
        parts.extend(f"{line}\n" for line in diff)
    return "".join(parts)
