"""Rules about the chain from a symptom over defects and causes to fixes."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route, Severity
from builder.frequencies import FREQUENCIES
from builder.graph import Gap, Node, find_gap
from builder.model import Entry, When

PARTING_CHANCE = 0.15
"""How far two chances must lie apart to tell two causes apart: nearly one word of how often."""

_JOINS: Mapping[str, tuple[str, str, str]] = {
    # kind that should lead on: (who declares the edge, its field, whether it lies on the lower end)
    "symptom": ("defect", "symptoms", "lower"),
    "defect": ("defect", "causes", "upper"),
    "cause": ("cause", "fixes", "upper"),
}


@rule("fix-unreachable", "causes")
def check_fix_unreachable(course: Course) -> Iterator[Found]:
    """No symptom leads to this fix.

    Whoever stands there with a flawed thing begins with what can be seen. A fix that no chain
    symptom -> defect -> cause -> fix leads to is never offered to anybody, however good it is. The
    message shows how far up the chain holds together, and the one edge that would mend it.

    Failing:

        # file: kb/symptoms.yml
        wavy: {label: wavy sheet}
        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
        # file: kb/causes/too-wet.yml
        fixes:
          - {fix: press-again, helps: usually}
        # file: kb/fixes/press-again.yml
        when: now

    Passing:

        # file: kb/symptoms.yml
        wavy: {label: wavy sheet}
        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        fixes:
          - {fix: press-again, helps: usually}
        # file: kb/fixes/press-again.yml
        when: now
    """
    yield from _check_reach(course, course.library.fixes)


@rule("cause-unreachable", "causes")
def check_cause_unreachable(course: Course) -> Iterator[Found]:
    """No symptom leads to this cause.

    A cause that no defect names, or only defects without symptoms, can never come out of a
    diagnosis, and nobody learns from it.

    Failing:

        # file: kb/causes/too-wet.yml
        summary: The sheet went in wet.

    Passing:

        # file: kb/symptoms.yml
        wavy: {label: wavy sheet}
        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        summary: The sheet went in wet.
    """
    yield from _check_reach(course, course.library.causes)


def _check_reach(course: Course, entries: Mapping[str, Entry]) -> Iterator[Found]:
    graph = course.cause_graph
    holes = graph.graph["holes"]
    for name, entry in entries.items():
        node = (entry.kind, name)
        gap = find_gap(graph, node, course.reachable)
        if gap is None:
            continue
        # What cannot be read may hold just the edge that is missing; it is reported already.
        unsure = holes & {gap.missing, _JOINS[gap.missing][0]}
        if _is_rescue(course, gap.chain[0]):
            unsure |= holes & {"defect"}
        if unsure or graph.nodes[gap.chain[0]].get("broken"):
            continue
        message = f"no symptom leads to this {entry.kind}: {_tell_chain(course, gap)}"
        related = tuple(_declarations(course, gap))
        yield Found(entry, (), message, _tell_mend(course, gap), key=True, related=related)


def _name(node: Node) -> str:
    return f'{node[0]} "{node[1]}"'


def _is_rescue(course: Course, node: Node) -> bool:
    """Say whether a node is a fix for the thing in the hand, which a defect should name."""
    fix = course.library.fixes.get(node[1]) if node[0] == "fix" else None
    return fix is not None and fix.when is When.NOW


def _tell_chain(course: Course, gap: Gap) -> str:
    """Word where the chain breaks, from the node asked for upwards."""
    upwards = list(reversed(gap.chain))
    parts = []
    for lower, upper in pairwise(upwards):
        subject = "it" if lower == upwards[0] else _name(lower)
        parts.append(f"{_name(upper)} names {subject}")
    if gap.missing == "symptom":
        broken = "that defect has no symptoms"
    else:
        missing = "defect" if _is_rescue(course, gap.chain[0]) else gap.missing
        broken = f"no {missing} names {_name(gap.chain[0]) if parts else 'it'}"
    return f"{', '.join(parts)}, but {broken}" if parts else broken


def _tell_mend(course: Course, gap: Gap) -> str:
    """Word the one edge that mends the chain."""
    owner, field, end = _JOINS[gap.missing]
    top = gap.chain[0]
    if end == "lower":
        return f"add a symptom to the {field} of {_name(top)}{_place(course, top)}"
    draft = course.draft_owners.get(top)
    if draft is not None:
        return (
            f"{_name(draft)}{_place(course, draft)} names it and is a draft; when it is ready, "
            'take its line "draft: true" out'
        )
    if _is_rescue(course, top):
        owner = "defect"
    hint = f"add {_name(top)} to the {field} of a {owner} that a symptom leads to"
    guess = _guess_owner(course, owner, top)
    return f'{hint}, perhaps "{guess[1]}"{_place(course, guess)}' if guess else hint


def _guess_owner(course: Course, kind: str, node: Node) -> Node | None:
    """Guess which entry should lead to a node: the one that lacks it, or one of a like name."""
    graph = course.cause_graph
    reached = [name for name in course.library.entries[kind] if (kind, name) in course.reachable]
    lacking = [name for name in reached if not graph.out_degree((kind, name))]
    if node[0] == "fix" and kind == "defect":
        lacking = []
    if len(lacking) == 1:
        return kind, lacking[0]
    near = difflib.get_close_matches(node[1], reached, n=1, cutoff=0.6)
    return (kind, near[0]) if near else None


def _place(course: Course, node: Node) -> str:
    source = course.library.sources.get(node)
    return f" ({source.document.file})" if source else ""


def _declarations(course: Course, gap: Gap) -> Iterator[tuple[Entry, Route, str]]:
    graph = course.cause_graph
    for upper, lower in pairwise(gap.chain):
        edge = graph.edges[upper, lower]
        owner = course.library.entries[edge["owner"][0]].get(edge["owner"][1])
        if owner is not None:
            yield owner, edge["route"], f"{_name(upper)} names {_name(lower)} here"


@rule("cause-without-fix", "causes")
def check_cause_without_fix(course: Course) -> Iterator[Found]:
    """A cause names no fix.

    Telling someone what went wrong without telling what to do about it leaves them where they were.
    At the least there is something to do differently next time. Fixes that never help are none.

    Failing:

        # file: kb/causes/too-wet.yml
        fixes: []

    Passing:

        # file: kb/causes/too-wet.yml
        fixes:
          - {fix: blot-first, helps: usually}
        # file: kb/fixes/blot-first.yml
        when: next
    """
    for cause in course.library.causes.values():
        if not cause.fixes:
            yield Found(
                cause,
                ("fixes",),
                f'cause "{cause.id}" names no fix',
                "name at least one fix, with how often it helps; for something that cannot be "
                "saved, a fix for the next batch",
                key=True,
            )
        elif all(link.helps <= FREQUENCIES["never"] for link in cause.fixes):
            yield Found(
                cause,
                ("fixes", 0, "helps"),
                f'cause "{cause.id}" names only fixes that never help',
                "name a fix that helps, or say how often these do",
            )


@rule("defect-without-symptom", "causes")
def check_defect_without_symptom(course: Course) -> Iterator[Found]:
    """A defect has no symptom.

    Nobody can come to it from what they see, so neither can they come to its causes and fixes.
    Signs that all show rarely or never are none.

    Failing:

        # file: kb/defects/wrinkled.yml
        symptoms: []

    Passing:

        # file: kb/symptoms.yml
        wavy: {label: wavy sheet}
        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
    """
    for defect in course.library.defects.values():
        if not defect.symptoms:
            yield Found(
                defect,
                ("symptoms",),
                f'defect "{defect.id}" has no symptoms',
                "name at least one sign that can be seen, felt or smelt, with how often it shows",
                key=True,
            )
        elif all(link.often <= FREQUENCIES["rarely"] for link in defect.symptoms):
            yield Found(
                defect,
                ("symptoms", 0, "often"),
                f'every sign of defect "{defect.id}" shows rarely or never, so it is never found',
                "name the sign by which it is known, or say how often these truly show",
            )


@rule("defect-without-cause", "causes")
def check_defect_without_cause(course: Course) -> Iterator[Found]:
    """A defect has no cause.

    Its page could only describe the harm. The causes carry the fixes, so without one there is no
    help either.

    Failing:

        # file: kb/defects/wrinkled.yml
        causes: []

    Passing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        summary: The sheet went in wet.
    """
    for defect in course.library.defects.values():
        if not defect.causes:
            yield Found(
                defect,
                ("causes",),
                f'defect "{defect.id}" has no causes',
                "name at least one cause, with how often it brings this defect",
                key=True,
            )


@rule("symptom-unused", "causes", Severity.WARNING)
def check_symptom_unused(course: Course) -> Iterator[Found]:
    """No defect shows this symptom.

    It stands among the pictures to choose from, and whoever chooses it is led nowhere: to no
    defect, no cause and no fix. A warning, because a symptom may be written before its defect. A
    sign with a stop needs no defect: it says what to do by itself.

    Failing:

        # file: kb/symptoms.yml
        wavy: {label: wavy sheet}

    Passing:

        # file: kb/symptoms.yml
        wavy: {label: wavy sheet}
        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
    """
    graph = course.cause_graph
    if "defect" in graph.graph["holes"]:
        return
    for symptom in course.library.symptoms.values():
        if symptom.stop is None and not graph.out_degree(("symptom", symptom.id)):
            yield Found(
                symptom,
                (),
                f'no defect shows the symptom "{symptom.id}"',
                "add it to the symptoms of a defect, or remove it",
                key=True,
            )


@rule("causes-indistinguishable", "causes", Severity.WARNING)
def check_causes_indistinguishable(course: Course) -> Iterator[Found]:
    """Nothing that can be asked or seen tells two causes of a defect apart.

    Diagnosis would show both with the same certainty for ever, whatever is answered. Two causes are
    told apart by a question which is answered yes clearly more often when one of them acts (by
    nearly one word of how often: `often` against `usually` is enough), or by a symptom of some
    other defect that only one of them brings.

    Failing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wet, often: often}
          - {cause: too-soon, often: often}
        # file: kb/causes/too-wet.yml
        evidence:
          - {question: damp-room, yes: often}
        # file: kb/causes/too-soon.yml
        evidence:
          - {question: damp-room, yes: often}
        # file: kb/questions.yml
        damp-room: {ask: "Was the room damp?"}

    Passing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wet, often: often}
          - {cause: too-soon, often: often}
        # file: kb/causes/too-wet.yml
        evidence:
          - {question: damp-room, yes: often}
        # file: kb/causes/too-soon.yml
        evidence:
          - {question: taken-out-early, yes: usually}
        # file: kb/questions.yml
        damp-room: {ask: "Was the room damp?"}
        taken-out-early: {ask: "Was it taken out within a week?"}
    """
    library = course.library
    causes = library.causes
    answers = {
        name: {each.question: each.yes for each in cause.evidence} for name, cause in causes.items()
    }
    told: set[tuple[str, str]] = set()
    for defect in library.defects.values():
        known = sorted({link.cause for link in defect.causes} & causes.keys())
        for first, second in combinations(known, 2):
            if (first, second) in told or _told_apart(course, answers, first, second):
                continue
            told.add((first, second))
            asked = sorted(
                {each.question for name in known for each in causes[name].evidence}
                - {each.question for each in causes[first].evidence}
                - {each.question for each in causes[second].evidence}
            )
            places = [index for index, link in enumerate(defect.causes) if link.cause == second]
            hint = (
                "ask about something that only one of them needs or leaves behind: what was done "
                "or used, in which order, when it showed, or where on the thing it shows"
            )
            if asked:
                words = " or ".join(f'"{name}"' for name in asked[:2])
                hint += f"; perhaps {words}, which other causes of this defect use"
            yield Found(
                defect,
                ("causes", places[0], "cause"),
                f'nothing tells the causes "{first}" and "{second}" apart',
                hint,
                related=(
                    (causes[first], ("evidence",), f'evidence of "{first}"'),
                    (causes[second], ("evidence",), f'evidence of "{second}"'),
                ),
            )


def _told_apart(
    course: Course, answers: Mapping[str, Mapping[str, float]], first: str, second: str
) -> bool:
    questions = course.library.questions
    for name in answers[first].keys() | answers[second].keys():
        question = questions.get(name)
        if question is None:
            return True  # the unknown question is reported already
        otherwise = question.yes_otherwise
        apart = answers[first].get(name, otherwise) - answers[second].get(name, otherwise)
        if abs(apart) >= PARTING_CHANCE:
            return True
    graph = course.cause_graph
    brought = [set(graph.predecessors(("cause", name))) for name in (first, second)]
    if brought[0] == brought[1]:
        return False
    shows = [{s for defect in side for s in graph.predecessors(defect)} for side in brought]
    return shows[0] != shows[1]
