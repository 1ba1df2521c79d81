"""What a plan says, line by line: page, terminal and paper draw these lines and add no words.

Each line has a role (`stop`, `lead`, `now` and so on) that says how it is drawn, and pieces, of
which those that name an entry become links on a page. The builder's own words come in as
`phrases`, those of the course as `names`.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

from builder.twin.diagnosis.shapes import (
    Piece,
    Plan,
    PlanLine,
    PlannedFix,
    PlannedQuestion,
    Reason,
    StopFound,
    Texts,
    Told,
)

MOST_NOW = 2
MOST_NEXT = 3


def say_likelihood(texts: Texts, probability: float) -> str:
    """Say a probability in words."""
    for pair in texts["likelihoods"]:
        if probability >= pair[0]:
            return pair[1]
    return ""


def say(text: str) -> Piece:
    """Make a piece of plain text."""
    return {"text": text, "kind": "", "id": ""}


def name_entry(texts: Texts, kind: str, name: str) -> Piece:
    """Make a piece that names an entry."""
    return {"text": texts["names"][kind + ":" + name], "kind": kind, "id": name}


def make_line(role: str, name: str, pieces: list[Piece]) -> PlanLine:
    """Make a line of its pieces."""
    text = ""
    for piece in pieces:
        text = text + piece["text"]
    return {"role": role, "id": name, "text": text, "pieces": pieces}


def write_stops(texts: Texts, stops: Sequence[StopFound], role: str, lines: list[PlanLine]) -> None:
    """Write why the thing must not be used, or not yet, and what to do with it."""
    said: dict[str, bool] = {}
    for stop in stops:
        stop_text = texts["stops"][stop["kind"] + ":" + stop["by"]]
        pieces = [name_entry(texts, stop["kind"], stop["by"])]
        if stop["kind"] == "defect" or stop["kind"] == "cause":
            pieces.append(say(", " + say_likelihood(texts, stop["probability"])))
        if stop["kind"] == "question":
            pieces.append(say(" " + texts["phrases"]["yes"]))
        pieces.append(say(texts["phrases"]["colon"] + stop_text["reason"]))
        lines.append(make_line(role, stop["by"], pieces))
        # What is only possible is first found out; nobody is told to throw the thing away for it.
        sure = role == "stop" or stop["kind"] == "symptom" or stop["kind"] == "question"
        for sentence in stop_text["do"] if sure else []:
            if sentence not in said:
                said[sentence] = True
                lines.append(make_line(role + "-do", stop["by"], [say(sentence)]))
        if sure and stop_text["ask"] != "" and stop_text["ask"] not in said:
            said[stop_text["ask"]] = True
            lines.append(make_line(role + "-ask", stop["by"], [say(stop_text["ask"])]))


def write_verdict(texts: Texts, plan: Plan, told: Told, lines: list[PlanLine]) -> None:
    """Write what the course does not know, and which answers do not go together."""
    phrases = texts["phrases"]
    if plan["verdict"] == "not-known":
        if told["fits"] and len(told["findings"]["present"]) == 0:
            lines.append(make_line("verdict", "nothing", [say(phrases["nothing-seen"])]))
        else:
            lines.append(make_line("verdict", "not-known", [say(phrases["not-known"])]))
            lines.append(make_line("verdict-do", "not-known", [say(phrases["tell-teacher"])]))
    if plan["verdict"] == "partly":
        pieces = [say(phrases["partly"])]
        for i in range(len(plan["unexplained_signs"])):
            if i > 0:
                pieces.append(say("; "))
            pieces.append(name_entry(texts, "symptom", plan["unexplained_signs"][i]))
        pieces.append(say("."))
        lines.append(make_line("verdict", "partly", pieces))
    for pair in plan["conflicts"]:
        pieces = [
            say(phrases["conflict"]),
            name_entry(texts, "question", pair[0]),
            say(" " + phrases["yes"] + "; "),
            name_entry(texts, "question", pair[1]),
            say(" " + phrases["yes"]),
        ]
        lines.append(make_line("conflict", pair[0], pieces))


def write_leads(texts: Texts, plan: Plan, lines: list[PlanLine]) -> None:
    """Write the faults that explain what was seen, each with the causes that brought it."""
    for lead in plan["leads"]:
        pieces = [
            name_entry(texts, "defect", lead["id"]),
            say(", " + say_likelihood(texts, lead["probability"]) + "."),
        ]
        for i in range(len(lead["causes"])):
            cause = lead["causes"][i]
            pieces.append(say(texts["phrases"]["behind"] if i == 0 else texts["phrases"]["and"]))
            pieces.append(name_entry(texts, "cause", cause["id"]))
            pieces.append(say(", " + say_likelihood(texts, cause["probability"])))
        if len(lead["causes"]) > 0:
            pieces.append(say("."))
        lines.append(make_line("lead", lead["id"], pieces))


def write_fix(texts: Texts, fix: PlannedFix) -> PlanLine:
    """Write a fix, and until when it can be done where that is not known to be over."""
    pieces: list[Piece] = []
    if fix["until"] >= 0 and fix["until"] < len(texts["stages"]):
        pieces.append(say(texts["phrases"]["still"] + texts["stages"][fix["until"]]))
        pieces.append(say(texts["phrases"]["colon"]))
    pieces.append(name_entry(texts, "fix", fix["id"]))
    return make_line(fix["when"], fix["id"], pieces)


def write_fixes(texts: Texts, plan: Plan, lines: list[PlanLine]) -> None:
    """Write what to do with this thing, and what to do next time."""
    phrases = texts["phrases"]
    now: list[PlanLine] = []
    after: list[PlanLine] = []
    lost = False
    for fix in plan["fixes"]:
        if fix["when"] == "now" and len(now) < MOST_NOW:
            now.append(write_fix(texts, fix))
            if fix["id"] in texts["discards"]:
                lost = True
        if fix["when"] == "next" and len(after) < MOST_NEXT:
            after.append(write_fix(texts, fix))
    unsaved: list[PlanLine] = []
    for name in plan["nothing_saves"]:
        if name in texts["unsaved"]:
            unsaved.append(make_line("nothing", name, [say(texts["unsaved"][name])]))
    if len(plan["leads"]) > 0 or len(now) > 0:
        stopped = len(plan["stop"]) > 0
        barred = stopped or len(plan["hold"]) > 0
        if not barred or len(now) > 0:
            title = phrases["save"]
            if len(plan["hold"]) > 0:
                title = phrases["find-out"]
            if lost or stopped:
                title = phrases["lost"]
            lines.append(make_line("now-title", "", [say(title)]))
            for line in now:
                lines.append(line)
            for line in unsaved:
                lines.append(line)
            if len(now) == 0 and len(unsaved) == 0:
                lines.append(make_line("nothing", "", [say(phrases["nothing-now"])]))
        lines.append(make_line("next-title", "", [say(phrases["next"])]))
        for line in after:
            lines.append(line)
        if len(after) == 0:
            lines.append(make_line("nothing", "", [say(phrases["nothing-next"])]))


def write_plan(texts: Texts, plan: Plan, told: Told) -> list[PlanLine]:
    """Write the plan.

    Args:
        texts: The words of the course.
        plan: From `make_plan`.
        told: What it was made from.

    Returns:
        The lines in the order in which they are shown: stops, holds, what is not known, conflicts,
        faults, this thing, the next, and that the numbers are approximate where they are.
    """
    lines: list[PlanLine] = []
    phrases = texts["phrases"]
    if len(plan["stop"]) > 0:
        lines.append(make_line("stop-title", "", [say(phrases["stop"])]))
        write_stops(texts, plan["stop"], "stop", lines)
    if len(plan["hold"]) > 0:
        if len(plan["stop"]) == 0:
            lines.append(make_line("hold-title", "", [say(phrases["hold"])]))
        write_stops(texts, plan["hold"], "hold", lines)
    write_verdict(texts, plan, told, lines)
    write_leads(texts, plan, lines)
    if len(plan["stop"]) == 0 and len(plan["hold"]) == 0:
        for lead in plan["leads"]:
            if lead["id"] in texts["usable"]:
                pieces = [name_entry(texts, "defect", lead["id"]), say(phrases["usable"])]
                lines.append(make_line("use", lead["id"], pieces))
    write_fixes(texts, plan, lines)
    if not plan["exact"]:
        lines.append(make_line("note", "approximate", [say(phrases["approximate"])]))
    return lines


def word_question(texts: Texts, question: PlannedQuestion) -> PlanLine:
    """Word what is asked next."""
    piece = name_entry(texts, question["kind"], question["id"])
    pieces = [piece]
    if question["kind"] == "symptom":
        pieces = [say(texts["phrases"]["do-you-see"]), piece, say("?")]
    return make_line("question", question["id"], pieces)


def word_reason(texts: Texts, reason: Reason) -> str:
    """Word one reason why a cause is likely."""
    phrases = texts["phrases"]
    yes = reason["answer"] == "yes"
    name = texts["names"][reason["kind"] + ":" + reason["id"]]
    if reason["kind"] == "symptom":
        return (phrases["you-see"] if yes else phrases["you-do-not-see"]) + name
    return name + " " + (phrases["yes"] if yes else phrases["no"])


def write_visit(told: Told, unlisted: str) -> str:
    """Write a visit as the text of a case, for a teacher to keep.

    Args:
        told: All that was told.
        unlisted: What stands where the teacher fills in what it turned out to be.

    Returns:
        YAML, a draft until the cause is filled in; ids only, so that nothing needs quotes.
    """
    findings = told["findings"]
    lines = ["draft: true", "summary: A visit, kept from the diagnosis.", "origin: recorded"]
    seen = ", ".join(findings["present"])
    lines.append("seen: [" + (seen if seen != "" else "id-of-a-sign") + "]")
    lines.append("absent: [" + ", ".join(findings["absent"]) + "]")
    lines.append("answered_yes: [" + ", ".join(findings["yes"]) + "]")
    lines.append("answered_no: [" + ", ".join(findings["no"]) + "]")
    pairs: list[str] = []
    for pair in told["context"]:
        pairs.append(pair[0] + ": " + pair[1])
    lines.append("context: {" + ", ".join(pairs) + "}")
    lines.append("# " + unlisted)
    lines.append("was: [id-of-a-cause]")
    return "\n".join(lines) + "\n"
