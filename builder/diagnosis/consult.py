"""A whole consultation: what is known in, the answer in the shape that people and programs get."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Sequence
from typing import Any

from builder.diagnosis.network import build_network
from builder.library import Library
from builder.twin.diagnosis.fixes import rank_fixes
from builder.twin.diagnosis.indexing import index_network
from builder.twin.diagnosis.inference import infer
from builder.twin.diagnosis.questions import choose_question, explain, is_settled
from builder.twin.diagnosis.shapes import Findings, IndexedNetwork

EXPLAINED = 5
"""How many of the likeliest causes say why."""
LEAST_SHOWN = 0.02


def load_network(library: Library, forbidden: Collection[str] = ()) -> IndexedNetwork:
    """Make the network of a course, ready to be asked.

    Args:
        library: The course.
        forbidden: Ids of fixes never to be offered.
    """
    return index_network(build_network(library, forbidden))


def read_answers(
    library: Library,
    present: Sequence[str],
    absent: Sequence[str],
    answers: Sequence[str],
) -> tuple[Findings, list[str]]:
    """Read what was said on the command line.

    Args:
        library: The course.
        present: Ids of symptoms that are there.
        absent: Ids of symptoms that are not.
        answers: Each `QUESTION=yes`, `QUESTION=no` or `QUESTION=unknown`; a symptom that was asked
            about is answered in the same way.

    Returns:
        The findings, and what is wrong with the words, as sentences.
    """
    wrong: list[str] = []
    said: dict[str, str] = {}
    for name in (*present, *absent):
        if name not in library.symptoms:
            wrong.append(f'there is no symptom "{name}"; {_suggest(name, library.symptoms)}')
    for answer in answers:
        question, mark, word = answer.partition("=")
        word = {"y": "yes", "n": "no", "?": "unknown"}.get(word.lower(), word.lower())
        if not mark or word not in ("yes", "no", "unknown"):
            wrong.append(f'"{answer}" is no answer; write QUESTION=yes, QUESTION=no or =unknown')
        elif question not in library.questions and question not in library.symptoms:
            hint = _suggest(question, library.questions)
            wrong.append(f'there is no question "{question}"; {hint}')
        elif said.get(question, word) != word:
            wrong.append(f'the question "{question}" is answered both yes and no')
        else:
            said[question] = word
    signs = {name for name in said if name not in library.questions}
    seen = {*present} | {name for name in signs if said[name] == "yes"}
    missing = {*absent} | {name for name in signs if said[name] == "no"}
    for both in sorted(seen & missing):
        wrong.append(f'the symptom "{both}" is said to be there and not to be there')
    findings: Findings = {
        "present": sorted(seen),
        "absent": sorted(missing),
        "yes": sorted(name for name in said if name not in signs and said[name] == "yes"),
        "no": sorted(name for name in said if name not in signs and said[name] == "no"),
        "skipped": sorted(name for name in said if said[name] == "unknown"),
    }
    return findings, wrong


def _suggest(name: str, known: Collection[str]) -> str:
    # Ids are words; the one that shares most of them is likelier meant than the one spelt nearest.
    words = {word[:5] for word in name.lower().split("-") if len(word) > 2}
    shared = {each: len(words & {part[:5] for part in each.split("-")}) for each in known}
    most = max(shared.values(), default=0)
    alike = sorted(each for each in known if most and shared[each] == most)
    near = difflib.get_close_matches(name, alike or known, n=1, cutoff=0.5) or alike[:1]
    if near:
        return f'did you mean "{near[0]}"?'
    return f"some of them are {', '.join(sorted(known)[:6])}"


def consult(network: IndexedNetwork, findings: Findings) -> dict[str, Any]:
    """Diagnose.

    Args:
        network: From `load_network`.
        findings: What is known.

    Returns:
        `defects`, `causes` (the first few with `because`), `next_question` or None, and `fixes`,
        those for this batch before those for the next; and whether the findings are `possible`, the
        case is `settled`, and which findings were `left_out`.
    """
    result = infer(network, findings)
    linked = [each for each in result["causes"] if each["linked"]]
    first = [each["id"] for each in linked[:EXPLAINED]]
    because = {each["id"]: each["because"] for each in explain(network, findings, first)}
    question = choose_question(network, findings)
    return {
        "possible": result["possible"],
        "defects": [
            {"id": each["id"], "probability": each["probability"]}
            for each in result["defects"]
            if each["linked"]
        ],
        "causes": [
            {
                "id": each["id"],
                "probability": each["probability"],
                "because": [
                    {"id": reason["id"], "answer": reason["answer"], "bits": reason["bits"]}
                    for reason in because.get(each["id"], [])
                ],
            }
            for each in linked
        ],
        "next_question": question,
        "fixes": [
            {"id": fix["id"], "when": fix["when"], "ratio": fix["ratio"], "mends": fix["mends"]}
            for fix in rank_fixes(network, result["causes"])
        ],
        "settled": is_settled(result["causes"]),
        "left_out": result["left_out"],
    }


def trim_answer(answer: dict[str, Any]) -> dict[str, Any]:
    """Give a consultation as programs get it: what is promised, and no more."""
    question = answer["next_question"]
    return {
        "defects": answer["defects"],
        "causes": answer["causes"],
        "next_question": question and {name: question[name] for name in ("id", "gain")},
        "fixes": [{name: fix[name] for name in ("id", "when", "ratio")} for fix in answer["fixes"]],
    }


def render_consultation(library: Library, answer: dict[str, Any]) -> str:
    """Write a consultation for people."""
    lines: list[str] = []
    if not answer["possible"]:
        lines += ["These answers cannot all be so at once; look at them again.", ""]
    defects = [each for each in answer["defects"] if each["probability"] >= LEAST_SHOWN][:4]
    if defects:
        lines.append("What it may be")
        lines += [
            f"  {_bar(each['probability'])} {library.defects[each['id']].name}" for each in defects
        ]
    causes = [each for each in answer["causes"] if each["probability"] >= LEAST_SHOWN][:5]
    if causes:
        lines += ["", "Why (a teacher's judgement, not a measurement)"]
        for each in causes:
            lines.append(f"  {_bar(each['probability'])} {library.causes[each['id']].name}")
            reasons = [
                _name_reason(library, reason) for reason in each["because"] if reason["bits"] > 0
            ][:3]
            if reasons:
                lines.append(f"             because: {'; '.join(reasons)}")
    for when, title in (("now", "What to do now"), ("next", "Next time")):
        fixes = [each for each in answer["fixes"] if each["when"] == when][:3]
        if fixes:
            lines += ["", title]
            lines += [f"  {library.fixes[each['id']].name}" for each in fixes]
    if not lines:
        lines.append("Say what you see: --symptom ID.")
    return "\n".join(lines) + "\n"


def _bar(probability: float) -> str:
    whole = round(probability * 8)
    return f"{'█' * whole}{'·' * (8 - whole)}"


def _name_reason(library: Library, reason: dict[str, Any]) -> str:
    name = reason["id"]
    if name in library.symptoms:
        symptom = library.symptoms[name].name
        return symptom if reason["answer"] == "yes" else f"not: {symptom}"
    return f"{library.questions[name].ask} {reason['answer'].capitalize()}"
