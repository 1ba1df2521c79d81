"""The papers of a class plan: the run sheet of each session, and the shopping list."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from builder.course import Course
from builder.papers.bundles import Papers
from builder.papers.class_papers import (
    describe_batch_record,
    describe_door_list,
    describe_labels,
    describe_strips,
)
from builder.papers.data import describe_paper, walk_texts
from builder.papers.exports import guard_cell
from builder.papers.prose_nodes import set_line, set_text
from builder.papers.typst_pdf import find_fonts, make_pdf, tell_missing
from builder.planning.needs import list_needs
from builder.planning.people import Person
from builder.planning.plan import ClassPlan
from builder.planning.telling import list_steps, list_turns, name_steps, say_end, warn_of_heat
from builder.planning.words import write_clock, write_date
from builder.quantities import text_of, write_both


def make_plan_papers(
    course: Course, plan: ClassPlan, *, paper: str = "a4", people: Sequence[Person] = ()
) -> Papers:
    """Make the papers of a class, each named after it.

    `-run-sheet.pdf` has one page a session to hang up, `-turns.pdf` the details, `-door-list.pdf`
    the hazards and whom they concern, `-batch-record.pdf` what is filled in, `-labels.pdf` what is
    left to wait, `-strips.pdf` each student's own run, `-shopping.csv` what to buy.

    Args:
        course: What is worked out of a course without errors.
        plan: The plan of one of its classes.
        paper: "a4" or "letter".
        people: Who they are, where a list was given.
    """
    data = describe_run_sheet(course, plan, paper)
    described = {
        "run-sheet": data,
        "turns": data,
        "door-list": describe_door_list(course, plan, people, paper),
        "batch-record": describe_batch_record(course, plan, paper),
        "labels": describe_labels(course, plan, people, paper),
        "strips": describe_strips(course, plan, people, paper),
    }
    fonts = find_fonts({text for each in described.values() for text in walk_texts(each)})
    notes = tell_missing(fonts)
    for number, held in enumerate(plan.session_plans, 1):
        if held.spare < 0:
            short = -held.spare_minutes
            notes.append(f"session {number} is {short} min too short for its lessons")
    if plan.session_plans[-1].left:
        left = name_steps(course.library, plan.session_plans[-1].left)[0]
        notes.append(f"the class ends before this can be done: {left}")
    name = plan.planned.id
    files = {f"{name}-{kind}.pdf": make_pdf(kind, each, fonts) for kind, each in described.items()}
    files[f"{name}-shopping.csv"] = list_shopping(plan)
    return Papers(files, tuple(notes))


def describe_run_sheet(course: Course, plan: ClassPlan, paper: str) -> dict[str, Any]:
    """Give the data of `run-sheet.typ`: one sheet a session."""
    words = course.library.words
    return {
        **describe_paper(
            course.library, course.library.words.text("paper.run-sheets"), paper, large=False
        ),
        "class": plan.planned.name,
        "students": plan.planned.students,
        "student_count": words.text("teaching.students", n=plan.planned.students),
        "each_does": words.text("paper.each-does", n=plan.planned.students),
        "notes": list(set_text(plan.planned.notes)) if plan.planned.notes else [],
        "sessions": [
            _describe_session(course, plan, number) for number in range(len(plan.session_plans))
        ],
    }


def _describe_session(course: Course, plan: ClassPlan, number: int) -> dict[str, Any]:
    held = plan.session_plans[number]
    library, session = course.library, held.session
    tonight = plan.planned.model_copy(update={"sessions": (session,)})
    lessons = [library.lessons[name] for name in session.lessons]
    cautions = dict.fromkeys(
        name for lesson in lessons for name in course.attach_cautions(lesson).overall
    )
    dangers = [
        library.cautions[name].title
        for name in course.hazards.sort(set(cautions))
        if library.cautions[name].signal == "Danger"
    ]
    return {
        "date": write_date(session.date, course.library.words),
        "start": session.start,
        "end": write_clock(held.start, session.length.base),
        **say_end(held),
        "last": held is plan.session_plans[-1],
        "notes": list(set_text(session.notes)) if session.notes else [],
        "warnings": warn_of_heat(library, course.hazards, held),
        "lessons": [lesson.title for lesson in lessons],
        "brought": name_steps(library, held.brought),
        "left": name_steps(library, held.left),
        "steps": (steps := list_steps(library, held)),
        "missed": list_missed(steps),
        "shared": list_turns(library, held),
        "materials": [
            {"name": need.material.name, "amount": write_both(text_of(need.amount))}
            for need in list_needs(library, tonight)
        ],
        "kit": [{"name": item.tool.name, "count": item.count} for item in plan.kits[number]],
        "minutes": max(1, -(-max(held.makespan, round(session.length.base)) // 60)),
        "heats": [[start / 60, end / 60] for start, end in held.heats],
        "opens": [[start / 60, end / 60] for start, end in held.opens],
        "hours": [
            [minutes, write_clock(held.start, minutes * 60)]
            for minutes in range(0, round(session.length.base) // 60, 15)
        ],
        "talk": library.words.text("paper.talk", minutes=held.talk // 60) if held.talk else "",
        "told": library.words.text("paper.dangers", cautions="; ".join(dangers)) if dangers else "",
        "cautions": [
            {
                "signal": library.cautions[name].signal,
                "title": library.cautions[name].title,
                "do": set_line(library.cautions[name].do[0]),
            }
            for name in course.hazards.sort(set(cautions))
        ],
    }


def list_missed(steps: Iterable[Mapping[str, Any]]) -> list[dict[str, str]]:
    """Say what to do where the expected temperature is missed, once for all steps it goes for.

    Args:
        steps: As `list_steps` gives them.

    Returns:
        Rows of `steps`, the titles, and `do`, in the order of the run.
    """
    told: dict[str, list[str]] = {}
    for step in steps:
        if step["missed"]:
            titles = told.setdefault(step["missed"], [])
            if step["title"] not in titles:
                titles.append(step["title"])
    return [{"steps": ", ".join(titles), "do": do} for do, titles in told.items()]


def list_shopping(plan: ClassPlan) -> bytes:
    """Write the shopping list as comma-separated values, UTF-8 with a byte order mark."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    head = ("material", "needed", "unit", "buy", "price", "currency")
    writer.writerow((*head, "in the cupboard", "price seen"))
    for need in plan.needs:
        packs = ", ".join(f"{count} x {pack}" for count, pack in need.packs)
        cells = (
            need.material.name,
            f"{need.amount.magnitude:.6g}",
            need.amount.unit.text,
            packs,
            f"{need.price.base:.2f}" if need.price else "",
            plan.currency if need.price else "",
            str(need.stock) if need.stock else "",
            tell_seen(pack.seen for pack in need.material.packs),
        )
        writer.writerow([guard_cell(cell) for cell in cells])
    for counted in plan.counted:
        cells = (
            counted.tool.name,
            str(counted.count),
            "pieces",
            ", ".join(f"{count} x {size} pieces" for count, size in counted.packs),
            f"{counted.price.base:.2f}" if counted.price else "",
            plan.currency if counted.price else "",
            "",
            tell_seen(pack.seen for pack in counted.tool.packs),
        )
        writer.writerow([guard_cell(cell) for cell in cells])
    return out.getvalue().encode("utf-8-sig")


def tell_seen(days: Iterable[date | None]) -> str:
    """Tell on which day the oldest of some prices was seen, or nothing."""
    return min((day.isoformat() for day in days if day is not None), default="")
