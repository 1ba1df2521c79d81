"""The plan: all that page, terminal, charts and papers say about a thing, worked out once.

The order of what matters:

1. Health hangs on what is seen. A sign or an answer that forbids the use of the thing is a stop
   whatever the probabilities say; so is a defect or a cause that does, once it is likely. Beside a
   stop no fix is offered that leads to using the thing. Below that there is a *hold*: what might
   forbid the use and is not ruled out. Only fixes that find this out are offered then.
2. The course may not know. One cause stands for all that is not listed; `unexplained` is the chance
   that no listed cause brought any sign seen, and from `NOT_KNOWN` on that is the verdict.
3. What saves the thing belongs to the fault, and counts by the chance of the fault (or of the fault
   brought by one cause); what prevents the next belongs to the cause.
4. A question is worth what it saves: for each cause the stake (the minutes a wrong verdict costs)
   times the expected fall of the chance of being wrong, less the effort of finding out.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.diagnosis.evidence import NO_CAUSE
from builder.twin.diagnosis.fixes import LEAST_MENDS, choose_fixes
from builder.twin.diagnosis.indexing import mark_findings
from builder.twin.diagnosis.inference import (
    infer_beliefs,
    infer_defects,
    infer_edges,
    infer_unexplained,
    link_causes,
    link_defects,
    rank_numbers,
)
from builder.twin.diagnosis.questions import (
    expect_value,
    explain_marks,
    list_finalists,
    list_suspects,
    screen_finding,
)
from builder.twin.diagnosis.shapes import (
    Beliefs,
    Chance,
    Findings,
    Guide,
    IndexedNetwork,
    Lead,
    Only,
    Plan,
    PlannedCause,
    PlannedQuestion,
    StopFound,
    Told,
)

NOT_KNOWN = 0.35
"""From this chance on that no listed cause brought any sign, the course does not know."""
SIGN_NOT_KNOWN = 0.5
"""From this chance on that no listed cause brought one of several signs, it is named."""
LEAST_LEAD = 0.1
MOST_LEADS = 3
LIKELY = 0.5
"""A cause this likely is named beside the likeliest."""
STOP_DEFECT = 0.3
STOP_CAUSE = 0.7
HOLD_DEFECT = 0.08
HOLD_CAUSE = 0.15
LEAST_VALUE_MINUTES = 1.0
"""An answer that is worth less than this is not asked for."""
MOST_QUESTIONS = 7
EXPLAINED_CAUSES = 5
"""How many of the likeliest causes say why."""
LEAST_LISTED = 0.02
SCREEN_MINUTES = 30.0
"""Stands for the stake of one bit where only the screen can be asked."""


def find_option(context: Sequence[Sequence[str]], name: str) -> str:
    """Find what was told of a context, or ""."""
    for pair in context:
        if pair[0] == name:
            return pair[1]
    return ""


def fits_context(only: Sequence[Only], context: Sequence[Sequence[str]]) -> bool:
    """Say whether something comes in question in a context; what is not told rules nothing out."""
    for each in only:
        told = find_option(context, each["context"])
        if told != "":
            inside = False
            for option in each["options"]:
                if option == told:
                    inside = True
            if not inside:
                return False
    return True


def knows_context(only: Sequence[Only], context: Sequence[Sequence[str]]) -> bool:
    """Say whether every context that something depends on is told."""
    return all(find_option(context, each["context"]) != "" for each in only)


def has_id(ids: Sequence[str], name: str) -> bool:
    """Say whether a list holds an id."""
    return any(each == name for each in ids)


def narrow_network(
    network: IndexedNetwork, guide: Guide, context: Sequence[Sequence[str]]
) -> IndexedNetwork:
    """Take out of a network what does not come in question: its chances become 0.

    Args:
        network: From `index_network`; not changed.
        guide: Of the same course.
        context: What was told of the contexts.
    """
    cause_numbers: dict[str, int] = {}
    for c in range(len(network["cause_ids"])):
        cause_numbers[network["cause_ids"][c]] = c
    defect_numbers: dict[str, int] = {}
    for d in range(len(network["defect_ids"])):
        defect_numbers[network["defect_ids"][d]] = d
    priors = network["priors"][:]
    leaks = network["defect_leaks"][:]
    chances: list[list[float]] = []
    for row in network["cause_chances"]:
        chances.append(row[:])
    for each in guide["narrowings"]:
        if not fits_context(each["only"], context):
            if each["kind"] == "cause":
                priors[cause_numbers[each["id"]]] = 0.0
            else:
                d = defect_numbers[each["id"]]
                leaks[d] = 0.0
                for j in range(len(network["defect_causes"][d])):
                    c = network["defect_causes"][d][j]
                    chances[c][network["defect_places"][d][j]] = 0.0
    narrowed: IndexedNetwork = {
        "cause_ids": network["cause_ids"],
        "priors": priors,
        "cause_defects": network["cause_defects"],
        "cause_chances": chances,
        "cause_questions": network["cause_questions"],
        "acting_chances": network["acting_chances"],
        "resting_chances": network["resting_chances"],
        "defect_ids": network["defect_ids"],
        "defect_leaks": leaks,
        "defect_symptoms": network["defect_symptoms"],
        "symptom_chances": network["symptom_chances"],
        "defect_causes": network["defect_causes"],
        "defect_places": network["defect_places"],
        "finding_ids": network["finding_ids"],
        "finding_leaks": network["finding_leaks"],
        "telling_no": network["telling_no"],
        "finding_defects": network["finding_defects"],
        "finding_chances": network["finding_chances"],
        "finding_causes": network["finding_causes"],
        "finding_places": network["finding_places"],
        "symptom_count": network["symptom_count"],
    }
    return narrowed


def list_open_signs(
    network: IndexedNetwork, guide: Guide, context: Sequence[Sequence[str]]
) -> list[str]:
    """List the symptoms that come in question in a context, for pictures to choose from.

    One that stops always does, where its own `only` allows; another one where some defect that
    comes in question shows it.
    """
    narrowed = narrow_network(network, guide, context)
    live: list[bool] = []
    for d in range(len(narrowed["defect_ids"])):
        alive = narrowed["defect_leaks"][d] > 0.0
        live.append(alive and narrowed["defect_ids"][d] != guide["unlisted"])
    signs: list[str] = []
    for note in guide["notes"]:
        if note["kind"] == "symptom" and fits_context(note["only"], context):
            stops = False
            for rule in guide["stops"]:
                if rule["kind"] == "symptom" and rule["by"] == note["id"]:
                    stops = True
            for f in range(narrowed["symptom_count"]):
                if narrowed["finding_ids"][f] == note["id"]:
                    for d in narrowed["finding_defects"][f]:
                        if live[d]:
                            stops = True
            if stops:
                signs.append(note["id"])
    return signs


def list_notes(network: IndexedNetwork, guide: Guide) -> list[int]:
    """Give for each note of the guide the number of its finding."""
    symptoms: dict[str, int] = {}
    questions: dict[str, int] = {}
    for f in range(len(network["finding_ids"])):
        if f < network["symptom_count"]:
            symptoms[network["finding_ids"][f]] = f
        else:
            questions[network["finding_ids"][f]] = f
    numbers: list[int] = []
    for note in guide["notes"]:
        if note["kind"] == "symptom":
            numbers.append(symptoms[note["id"]])
        else:
            numbers.append(questions[note["id"]])
    return numbers


def mark_told(
    network: IndexedNetwork, guide: Guide, numbers: Sequence[int], told: Told
) -> list[float]:
    """Mark the findings, and what was plainly to be seen and was not picked as a weak no.

    A sign that no defect shows, such as one that only stops, is left out: it has no say in what is
    wrong.
    """
    findings = told["findings"]
    marks = mark_findings(network, findings)
    for f in range(network["symptom_count"]):
        if marks[f] > 0:
            shown = False
            for i in range(len(network["finding_defects"][f])):
                d = network["finding_defects"][f][i]
                if network["defect_ids"][d] != guide["unlisted"]:
                    shown = True
            if not shown:
                marks[f] = 0.0
    if len(findings["present"]) > 0:
        for i in range(len(numbers)):
            f = numbers[i]
            note = guide["notes"][i]
            skipped = has_id(findings["skipped"], note["id"])
            open_sign = not skipped and not has_id(findings["present"], note["id"])
            if marks[f] == 0.0 and note["unpicked"] > 0.0 and open_sign:
                marks[f] = -note["unpicked"]
    return marks


def find_conflicts(guide: Guide, findings: Findings) -> list[list[str]]:
    """List the pairs of questions answered yes that cannot both be so."""
    pairs: list[list[str]] = []
    for note in guide["notes"]:
        if note["kind"] == "question" and has_id(findings["yes"], note["id"]):
            for other in note["rules_out"]:
                if has_id(findings["yes"], other):
                    known = False
                    for pair in pairs:
                        if pair[0] == other and pair[1] == note["id"]:
                            known = True
                    if not known:
                        pairs.append([note["id"], other])
    return pairs


def find_stage(guide: Guide, told: Told) -> int:
    """Find the stage a thing has at least reached, by what was told; -1 where nothing says."""
    stage = -1
    for context in guide["contexts"]:
        if context["stages"]:
            name = find_option(told["context"], context["id"])
            for i in range(len(context["options"])):
                if context["options"][i] == name:
                    return i
    for note in guide["notes"]:
        ids = told["findings"]["yes"]
        if note["kind"] == "symptom":
            ids = told["findings"]["present"]
        if note["since"] > stage and has_id(ids, note["id"]):
            stage = note["since"]
    return stage


def find_stops(
    guide: Guide, told: Told, defects: dict[str, float], causes: dict[str, float]
) -> tuple[list[StopFound], list[StopFound]]:
    """Find what forbids the use of the thing, and what might.

    Args:
        guide: Of the course.
        told: What was told.
        defects: Probability of each defect that a finding has to do with.
        causes: The same for causes.

    Returns:
        Stops: a sign seen, a yes, a defect from `STOP_DEFECT` and a cause from `STOP_CAUSE` on.
        Holds: a defect or cause below that, from `HOLD_DEFECT` and `HOLD_CAUSE` on; and a sign or
        answer that forbids it in some contexts, of which nothing is told and which are asked first.
    """
    stops: list[StopFound] = []
    holds: list[StopFound] = []
    for rule in guide["stops"]:
        probability = 0.0
        least = 1.0
        hold = 1.0
        if rule["kind"] == "symptom":
            probability = 1.0 if has_id(told["findings"]["present"], rule["by"]) else 0.0
        elif rule["kind"] == "question":
            probability = 1.0 if has_id(told["findings"]["yes"], rule["by"]) else 0.0
        elif rule["kind"] == "defect":
            least = STOP_DEFECT
            hold = HOLD_DEFECT
            if rule["by"] in defects:
                probability = defects[rule["by"]]
        else:
            least = STOP_CAUSE
            hold = HOLD_CAUSE
            if rule["by"] in causes:
                probability = causes[rule["by"]]
        if probability >= hold and fits_context(rule["only"], told["context"]):
            found: StopFound = {
                "by": rule["by"],
                "kind": rule["kind"],
                "probability": probability,
            }
            known = knows_context(rule["only"], told["context"])
            if probability >= least and known:
                stops.append(found)
            elif known or rule["ask_first"]:
                holds.append(found)
    return stops, holds


def lead_faults(
    network: IndexedNetwork,
    guide: Guide,
    seen: Sequence[int],
    present: list[float],
    linked: Sequence[bool],
    edges: Sequence[Sequence[float]],
) -> list[Lead]:
    """Choose the faults that explain what was seen, each with the causes that brought it.

    The likeliest fault comes first; another one is named where it explains a sign that those before
    do not, or is likelier than not.
    """
    leads: list[Lead] = []
    covered: list[bool] = []
    for _ in network["finding_ids"]:
        covered.append(False)
    for d in rank_numbers(present):
        name = network["defect_ids"][d]
        if name != guide["unlisted"] and linked[d] and present[d] >= LEAST_LEAD:
            signs: list[str] = []
            fresh = False
            for f in seen:
                for s in network["defect_symptoms"][d]:
                    if s == f:
                        signs.append(network["finding_ids"][f])
                        if not covered[f]:
                            fresh = True
            if len(signs) > 0 and len(leads) < MOST_LEADS and (fresh or present[d] >= LIKELY):
                for s in network["defect_symptoms"][d]:
                    covered[s] = True
                lead: Lead = {
                    "id": name,
                    "probability": present[d],
                    "causes": lead_causes(network, guide, d, edges),
                    "signs": signs,
                }
                leads.append(lead)
    return leads


def lead_causes(
    network: IndexedNetwork, guide: Guide, defect: int, edges: Sequence[Sequence[float]]
) -> list[Chance]:
    """Name the likeliest cause to have brought a defect, and others likelier than not."""
    chances: list[float] = []
    for j in range(len(network["defect_causes"][defect])):
        c = network["defect_causes"][defect][j]
        chances.append(edges[c][network["defect_places"][defect][j]])
    causes: list[Chance] = []
    for j in rank_numbers(chances):
        name = network["cause_ids"][network["defect_causes"][defect][j]]
        least = LEAST_LISTED if len(causes) == 0 else LIKELY
        if chances[j] >= least and name != guide["unlisted"]:
            cause: Chance = {"id": name, "probability": chances[j]}
            causes.append(cause)
    return causes


def choose_context(guide: Guide, told: Told, holds: Sequence[StopFound]) -> PlannedQuestion | None:
    """Choose a context to ask first: one that decides whether the thing may be used."""
    for hold in holds:
        for rule in guide["stops"]:
            if rule["by"] == hold["by"] and rule["kind"] == hold["kind"]:
                for each in rule["only"]:
                    known = find_option(told["context"], each["context"]) != ""
                    if not known and not has_id(told["passed"], each["context"]):
                        return {"id": each["context"], "kind": "context", "gain": 0.0}
    return None


def choose_worth(
    network: IndexedNetwork,
    guide: Guide,
    numbers: Sequence[int],
    beliefs: Beliefs,
    told: Told,
) -> PlannedQuestion | None:
    """Choose the question whose answer is worth most beyond the effort of finding out."""
    findings = told["findings"]
    count = len(findings["yes"]) + len(findings["no"]) + len(findings["skipped"])
    if not told["more"] and count + len(findings["absent"]) >= MOST_QUESTIONS:
        return None
    ruled_out: list[str] = []
    for note in guide["notes"]:
        if note["kind"] == "question" and has_id(findings["yes"], note["id"]):
            for other in note["rules_out"]:
                ruled_out.append(other)
    closed: list[bool] = []
    efforts: list[float] = []
    for _ in network["finding_ids"]:
        closed.append(True)
        efforts.append(0.0)
    for i in range(len(numbers)):
        note = guide["notes"][i]
        name = note["id"]
        asked = has_id(findings["skipped"], name)
        if note["kind"] == "symptom":
            asked = asked or has_id(findings["present"], name) or has_id(findings["absent"], name)
        else:
            asked = asked or has_id(findings["yes"], name) or has_id(findings["no"], name)
            asked = asked or has_id(ruled_out, name)
        closed[numbers[i]] = asked or not fits_context(note["only"], told["context"])
        efforts[numbers[i]] = note["effort_minutes"]
    stakes: list[float] = []
    for _ in network["cause_ids"]:
        stakes.append(0.0)
    by_id: dict[str, float] = {}
    for link in guide["stakes"]:
        by_id[link[0]] = link[1]
    for c in range(len(network["cause_ids"])):
        if network["cause_ids"][c] in by_id:
            stakes[c] = by_id[network["cause_ids"][c]]
    suspects = list_suspects(network, beliefs)
    silent: list[float] = []
    for _ in network["cause_ids"]:
        silent.append(1.0)
    best = -1
    best_value = 0.0
    best_worth = 0.0
    for f in list_finalists(network, beliefs, suspects, closed):
        if beliefs["exact"]:
            value = expect_value(network, beliefs, suspects, stakes, f)
        else:
            value = SCREEN_MINUTES * screen_finding(network, beliefs, suspects, silent, f)
        worth = value - efforts[f]
        if (value >= LEAST_VALUE_MINUTES or told["more"]) and worth > best_worth + 1e-9:
            best = f
            best_value = value
            best_worth = worth
    if best < 0:
        return None
    return {
        "id": network["finding_ids"][best],
        "kind": "symptom" if best < network["symptom_count"] else "question",
        "gain": best_value,
    }


def make_plan(whole: IndexedNetwork, guide: Guide, told: Told) -> Plan:
    """Work out the plan.

    Args:
        whole: From `index_network`.
        guide: Of the same course.
        told: All that was told; ids the course does not have are passed over.

    Returns:
        Everything that is shown. Without a sign, and after "none of these fits", the verdict is
        that the course does not know.
    """
    context = told["context"]
    findings = told["findings"]
    network = narrow_network(whole, guide, context)
    numbers = list_notes(network, guide)
    marks = mark_told(network, guide, numbers, told)
    beliefs = infer_beliefs(network, marks)
    possible = beliefs["possible"]
    if not possible:
        nothing: list[float] = []
        for _ in marks:
            nothing.append(0.0)
        beliefs = infer_beliefs(network, nothing)
    present = infer_defects(network, beliefs)
    defect_linked = link_defects(network, beliefs, present)
    cause_linked = link_causes(network, beliefs)
    edge_chances = infer_edges(network, beliefs)
    seen: list[int] = []
    for f in beliefs["positive"]:
        if f < network["symptom_count"]:
            seen.append(f)
    unlisted = NO_CAUSE
    for c in range(len(network["cause_ids"])):
        if network["cause_ids"][c] == guide["unlisted"]:
            unlisted = c
    unexplained = 1.0
    strange: list[str] = []
    if len(seen) > 0 and possible:
        unexplained = infer_unexplained(network, beliefs, seen, unlisted)
        for f in seen:
            alone = unexplained
            if len(seen) > 1:
                alone = infer_unexplained(network, beliefs, [f], unlisted)
            if alone >= SIGN_NOT_KNOWN:
                strange.append(network["finding_ids"][f])
    known = told["fits"] and unexplained < NOT_KNOWN
    defect_chances: dict[str, float] = {}
    listed_defects: list[Chance] = []
    for d in rank_numbers(present):
        name = network["defect_ids"][d]
        if defect_linked[d] and name != guide["unlisted"] and present[d] > 0.0:
            defect_chances[name] = present[d]
            entry: Chance = {"id": name, "probability": present[d]}
            listed_defects.append(entry)
    cause_chances: dict[str, float] = {}
    first: list[str] = []
    ranked: list[int] = []
    for c in rank_numbers(beliefs["acting"]):
        if cause_linked[c] and c != unlisted and beliefs["acting"][c] > 0.0:
            cause_chances[network["cause_ids"][c]] = beliefs["acting"][c]
            ranked.append(c)
            if len(first) < EXPLAINED_CAUSES and known:
                first.append(network["cause_ids"][c])
    explained = explain_marks(network, marks, beliefs, first)
    listed_causes: list[PlannedCause] = []
    for i in range(len(ranked)):
        c = ranked[i]
        listed: PlannedCause = {
            "id": network["cause_ids"][c],
            "probability": beliefs["acting"][c],
            "because": explained[i]["because"] if i < len(explained) else [],
        }
        listed_causes.append(listed)
    leads: list[Lead] = []
    if known:
        leads = lead_faults(network, guide, seen, present, defect_linked, edge_chances)
    edges: dict[str, float] = {}
    behind: dict[str, float] = {}
    for c in range(len(network["cause_ids"])):
        for k in range(len(network["cause_defects"][c])):
            d = network["cause_defects"][c][k]
            for lead in leads:
                if lead["id"] == network["defect_ids"][d]:
                    edges[network["cause_ids"][c] + ">" + lead["id"]] = edge_chances[c][k]
                    if edge_chances[c][k] >= LEAST_MENDS:
                        behind[network["cause_ids"][c]] = beliefs["acting"][c]
    stops, holds = find_stops(guide, told, defect_chances, cause_chances)
    stage = find_stage(guide, told)
    stopped = len(stops) > 0
    fixes = choose_fixes(
        guide, leads, defect_chances, behind, edges, stopped, len(holds) > 0, stage
    )
    question = choose_context(guide, told, holds)
    by_sign = False
    for stop in stops:
        if stop["kind"] == "symptom" or stop["kind"] == "question":
            by_sign = True
    if question is None and not by_sign and told["fits"] and possible and len(seen) > 0:
        question = choose_worth(network, guide, numbers, beliefs, told)
    unsaved: list[str] = []
    if not stopped and len(holds) == 0:
        for lead in leads:
            unsaved.append(lead["id"])
    verdict: str = "not-known"
    if known and len(leads) > 0:
        verdict = "partly" if len(strange) > 0 else "explained"
    plan: Plan = {
        "verdict": verdict,  # type: ignore[typeddict-item]
        "stop": stops,
        "hold": holds,
        "unexplained": unexplained if told["fits"] else 1.0,
        "unexplained_signs": strange,
        "conflicts": find_conflicts(guide, findings),
        "leads": leads,
        "defects": listed_defects,
        "causes": listed_causes,
        "next_question": question,
        "fixes": fixes,
        "nothing_saves": unsaved,
        "exact": beliefs["exact"],
    }
    return plan
