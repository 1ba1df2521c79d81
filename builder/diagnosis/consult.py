"""A whole consultation: what is told in, the plan in the shape that people and programs get it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from builder.diagnosis.guide import build_guide, gather_texts
from builder.library import Library
from builder.twin.diagnosis.plan import LEAST_LISTED, make_plan
from builder.twin.diagnosis.shapes import (
    Findings,
    Guide,
    IndexedNetwork,
    Plan,
    PlanLine,
    Texts,
    Told,
)
from builder.twin.diagnosis.wording import say_likelihood, word_question, word_reason, write_plan

_LINK = re.compile(r"\[([^\]]*)\]\([^)]*\)")
"""A link of Markdown; at a terminal its words are enough."""
MOST_REASONS = 3
MOST_CAUSES = 5


@dataclass(frozen=True, slots=True)
class Adviser:
    """The diagnosis of a course, ready to be asked.

    Args:
        network: Its network, numbered.
        guide: What plans need beside it.
        texts: The words they are told in.
    """

    network: IndexedNetwork
    guide: Guide
    texts: Texts

    def plan(self, told: Told) -> Plan:
        """Work out the plan for what was told."""
        return make_plan(self.network, self.guide, told)

    def write(self, plan: Plan, told: Told) -> list[PlanLine]:
        """Write a plan, line by line."""
        return write_plan(self.texts, plan, told)


def make_adviser(
    library: Library, network: IndexedNetwork, forbidden: Collection[str] = ()
) -> Adviser:
    """Make the diagnosis of a course ready to be asked.

    Args:
        library: The course.
        network: Its network, numbered.
        forbidden: Ids of fixes never to be offered.
    """
    return Adviser(network, build_guide(library, forbidden), gather_texts(library))


def read_answers(
    library: Library,
    present: Sequence[str],
    absent: Sequence[str],
    answers: Sequence[str],
    context: Sequence[str] = (),
) -> tuple[Told, list[str]]:
    """Read what was said on the command line.

    Args:
        library: The course.
        present: Ids of symptoms that are there.
        absent: Ids of symptoms that are not.
        answers: Each `QUESTION=yes`, `QUESTION=no` or `QUESTION=unknown`; a symptom that was asked
            about is answered in the same way.
        context: Each `CONTEXT=OPTION`.

    Returns:
        What was told, and what is wrong with the words, as sentences.
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
    told = tell(findings)
    told["context"] = _read_context(library, context, wrong)
    return told, wrong


def tell(findings: Findings) -> Told:
    """Give findings as all that was told."""
    return {"findings": findings, "context": [], "passed": [], "fits": True, "more": False}


def _read_context(library: Library, words: Sequence[str], wrong: list[str]) -> list[list[str]]:
    contexts = {each.id: each for each in (library.settings.contexts if library.settings else ())}
    said: dict[str, str] = {}
    for word in words:
        name, mark, option = word.partition("=")
        if not mark or name not in contexts:
            hint = _suggest(name, contexts) if contexts else "this course declares none"
            wrong.append(f'there is no context "{name}"; {hint}')
        elif option not in (options := [each.id for each in contexts[name].options]):
            wrong.append(f'"{option}" is no option of "{name}"; write one of {", ".join(options)}')
        elif said.get(name, option) != option:
            wrong.append(f'the context "{name}" is told twice')
        else:
            said[name] = option
    return [[name, option] for name, option in said.items()]


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


def describe_plan(plan: Plan, texts: Texts) -> dict[str, Any]:
    """Give a plan as programs get it: what is promised, and no more."""
    question = plan["next_question"]
    return {
        "verdict": plan["verdict"],
        "stop": [
            {"by": each["by"], "reason": texts["stops"][f"{each['kind']}:{each['by']}"]["reason"]}
            for each in plan["stop"]
        ],
        "hold": [
            {"by": each["by"], "reason": texts["stops"][f"{each['kind']}:{each['by']}"]["reason"]}
            for each in plan["hold"]
        ],
        "unexplained": plan["unexplained"],
        "defects": plan["defects"],
        "causes": [
            {
                "id": each["id"],
                "probability": each["probability"],
                "because": [
                    {"id": reason["id"], "answer": reason["answer"], "bits": reason["bits"]}
                    for reason in each["because"]
                ],
            }
            for each in plan["causes"]
        ],
        "leads": plan["leads"],
        "conflicts": plan["conflicts"],
        "next_question": question and {"id": question["id"], "gain": question["gain"]},
        "fixes": [
            {"id": each["id"], "when": each["when"], "ratio": each["ratio"]}
            for each in plan["fixes"]
        ],
    }


_INDENTED = frozenset({"stop", "stop-do", "stop-ask", "hold", "hold-do", "hold-ask"})
_ROWS = frozenset({"now", "next", "nothing"})


def render_plan(adviser: Adviser, plan: Plan, told: Told, library: Library) -> str:
    """Write a plan for people at a terminal: the same lines as the page draws."""
    lines: list[str] = []
    before = ""
    for line in adviser.write(plan, told):
        role = line["role"]
        if lines and (role.endswith("title") or (role in ("verdict", "lead") and before != role)):
            lines.append("")
        before = role
        if role == "use":
            use = library.defects[line["id"]].harmless or ""
            lines += ["", line["text"], f"  {_LINK.sub(lambda found: found[1], use)}"]
        else:
            lines.append(f"  {line['text']}" if role in _INDENTED | _ROWS else line["text"])
    lines += _render_reasons(adviser.texts, plan)
    question = plan["next_question"]
    if question is not None:
        lines += ["", f"Next: {word_question(adviser.texts, question)['text']} [{question['id']}]"]
    return "\n".join(lines) + "\n"


def _render_reasons(texts: Texts, plan: Plan) -> list[str]:
    causes = [each for each in plan["causes"] if each["probability"] >= LEAST_LISTED]
    if not plan["leads"] or not causes:
        return []
    lines = ["", "Why (a teacher's judgement, not a measurement)"]
    for each in causes[:MOST_CAUSES]:
        name = texts["names"]["cause:" + each["id"]]
        words = say_likelihood(texts, each["probability"])
        lines.append(f"  {_bar(each['probability'])} {name}, {words}")
        reasons = [word_reason(texts, one) for one in each["because"] if one["bits"] > 0]
        if reasons:
            lines.append(f"             because {'; '.join(reasons[:MOST_REASONS])}")
    return lines


def _bar(probability: float) -> str:
    whole = round(probability * 8)
    return f"{'█' * whole}{'·' * (8 - whole)}"
