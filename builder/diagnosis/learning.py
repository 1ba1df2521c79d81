"""What the recorded cases say about the numbers of the knowledge base, as a proposal.

Each number is taken as a chance with a Beta prior: its mean is the number as written, its strength
`PRIOR_STRENGTH` imagined cases. The cases that bear on it are added (Beta-binomial), and the mean
afterwards is proposed. Only cases with a single cause count, because with two it is not known which
of them made the answer or the sign; only recorded ones, not invented ones; and what a case does
not say counts for nothing. How common a cause is, and how often it brings a defect, cannot be
learned so: a record of flawed things is no sample of all things made.

The number as written stays; the counts and their day stand beside it (`learned`), so that running
it again on the same cases proposes nothing. Nothing is ever written: the proposal is a diff for the
teacher to read.
"""

from __future__ import annotations

import difflib
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from builder.diagnosis.network import learn, update_chance
from builder.diagnostics import Location, Route
from builder.library import Library
from builder.model import Entry

LEAST_CASES = 3
LEAST_CHANGE = 0.05

_LEARNED = re.compile(r"^, learned: \{[^}]*\}")
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


def propose_numbers(library: Library) -> list[Proposal]:
    """Propose revised frequencies from the cases of a course.

    Returns:
        Proposals by file and line; only numbers with at least `LEAST_CASES` cases that would move
        by at least `LEAST_CHANGE`.
    """
    counts: dict[tuple[str, str, Route], list[int]] = defaultdict(lambda: [0, 0])
    for case in library.cases.values():
        if case.origin != "recorded" or len(case.was) != 1 or case.was[0] not in library.causes:
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
        link = getattr(entry, str(route[0]))[int(route[1])]
        written = float(getattr(link, str(route[2])))
        now = learn(written, link.learned)
        proposed = round(min(0.99, max(0.01, update_chance(written, hits, cases))), 2)
        if cases >= LEAST_CASES and abs(proposed - now) >= LEAST_CHANGE:
            place = library.locate(entry, route)
            proposals.append(Proposal(entry, route, place, now, proposed, cases, hits))
    return sorted(proposals, key=lambda each: each.location)


def write_diff(proposals: list[Proposal], texts: Mapping[str, str], today: date) -> str:
    """Write proposals as a unified diff.

    Args:
        proposals: From `propose_numbers`.
        texts: Each file's text by its path.
        today: The day on which the cases were counted.

    Returns:
        The diff: beside each number, which stays as it is written, the counts of cases and the day;
        "" where there is nothing to propose. Run again after it was taken over, it is empty.
    """
    parts: list[str] = []
    for file in sorted({each.location.file for each in proposals}):
        before = texts[file].splitlines()
        after = list(before)
        mine = [each for each in proposals if each.location.file == file]
        # From below and from the right, so that places before stay where they are.
        for each in sorted(mine, key=lambda one: one.location, reverse=True):
            row, column = each.location.line - 1, each.location.column - 1
            line = after[row]
            old = _VALUE.match(line, column)
            end = old.end() if old else column
            counted = f"learned: {{hits: {each.hits}, cases: {each.cases}, on: {today:%Y-%m-%d}}}"
            if "{" in line[:column]:
                rest = _LEARNED.sub("", line[end:])
                after[row] = f"{line[:end]}, {counted}{rest}"
            else:
                indent = " " * (len(line) - len(line.lstrip(" -")))
                follows = after[row + 1].strip() if row + 1 < len(after) else ""
                if follows.startswith("learned: {"):
                    del after[row + 1]
                after.insert(row + 1, f"{indent}{counted}")
        diff = difflib.unified_diff(before, after, f"a/{file}", f"b/{file}", lineterm="", n=2)
        parts.extend(f"{line}\n" for line in diff)
    return "".join(parts)
