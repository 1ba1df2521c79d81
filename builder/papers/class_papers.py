"""Papers of a class beside its run sheet: door list, batch record, labels, a strip a student."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from builder.course import Course
from builder.hazards import find_material_hazards, read_room_kelvin
from builder.model import Material, Scale
from builder.papers.data import describe_paper
from builder.planning.make_up import MakeUp, find_make_up, say_make_up
from builder.planning.people import Person, find_concerns
from builder.planning.plan import ClassPlan
from builder.planning.sessions import SessionPlan
from builder.planning.words import write_clock, write_date, write_moment
from builder.quantities import text_of, texts_of_window, write_both
from builder.twin.series import write_span
from builder.units import Quantity
from builder.words import Words


def name_student(words: Words, people: Sequence[Person], number: int) -> str:
    """Give the name of a student, or their number where no list was given."""
    named = (each.name for each in people if each.number == number)
    return next(named, words.text("paper.student-number", number=number))


def describe_door_list(
    course: Course, plan: ClassPlan, people: Sequence[Person], paper: str
) -> dict[str, Any]:
    """Give the data of `door-list.typ`: the materials of each session, and whom they concern."""
    made_up = find_make_up(course.library, plan.session_plans, people)
    return {
        **describe_paper(
            course.library, course.library.words.text("paper.door-list"), paper, large=False
        ),
        "class": plan.planned.name,
        "sessions": [
            _describe_door(course, held, number, people, made_up)
            for number, held in enumerate(plan.session_plans, 1)
        ],
    }


def _describe_door(
    course: Course,
    held: SessionPlan,
    number: int,
    people: Sequence[Person],
    made_up: Sequence[MakeUp],
) -> dict[str, Any]:
    library, words = course.library, course.library.words
    lessons = [library.lessons[name] for name in dict.fromkeys(_list_held(held))]
    names = dict.fromkeys(each.material for lesson in lessons for each in lesson.materials)
    present = [each for each in people if each.number and number not in each.absent]
    kelvin = read_room_kelvin(library)
    concerned = [each for each in present if each.allergies or each.asthma]
    return {
        "date": write_date(held.session.date, course.library.words),
        "start": held.session.start,
        "materials": [_describe_material(words, library.materials[name], kelvin) for name in names],
        "people": [
            {
                "name": each.name,
                "says": "; ".join(
                    part
                    for part in (each.allergies, words.text("paper.asthma") if each.asthma else "")
                    if part
                ),
                "away": ", ".join(find_concerns(library, lessons, each))
                or words.text("paper.ask-them"),
            }
            for each in concerned
        ],
        "absent": [say_make_up(library, each) for each in made_up if each.session == number],
        "waiting": [each.name for each in people if not each.number],
    }


def _list_held(held: SessionPlan) -> list[str]:
    return [turn.lesson for turn in held.turns] or list(held.session.lessons)


def _describe_material(words: Words, material: Material, kelvin: float) -> dict[str, Any]:
    found = [
        words.text(f"hazard.{hazard.value}") for hazard in find_material_hazards(material, kelvin)
    ]
    if material.ghs:
        found += [f"{each.code} {each.text}" for each in material.ghs.statements]
    return {
        "name": material.name,
        "hazards": found or [words.text("paper.none-declared")],
        "label": material.label_name or "",
    }


def describe_batch_record(course: Course, plan: ClassPlan, paper: str) -> dict[str, Any]:
    """Give the data of `batch-record.typ`: a record of each lesson that uses materials."""
    library = course.library
    records = []
    for held in plan.session_plans:
        for name in held.session.lessons:
            lesson = library.lessons[name]
            if not lesson.materials:
                continue
            records.append(
                {
                    "title": lesson.title,
                    "date": write_date(held.session.date, course.library.words),
                    "materials": [
                        {
                            "name": library.materials[each.material].name,
                            "one": write_both(text_of(each.amount))
                            if each.per is Scale.PIECE
                            else "",
                            "all": write_both(
                                text_of(
                                    _multiply(
                                        each.amount,
                                        plan.planned.students if each.per is Scale.PIECE else 1,
                                    )
                                )
                            ),
                        }
                        for each in lesson.materials
                    ],
                    "windows": [
                        {
                            "title": step.title,
                            "window": write_both(texts_of_window(step.temperature)),
                        }
                        for step in lesson.steps
                        if step.temperature is not None
                    ],
                    "waits": [
                        {"title": step.title, "wait": write_span(step.wait.base)}
                        for step in lesson.steps
                        if step.wait is not None
                    ],
                }
            )
    return {
        **describe_paper(library, library.words.text("paper.batch-record"), paper, large=False),
        "class": plan.planned.name,
        "students": plan.planned.students,
        "lessons": records,
    }


def _multiply(quantity: Quantity, times: int) -> Quantity:
    return Quantity(quantity.magnitude * times, quantity.unit)


def describe_labels(
    course: Course, plan: ClassPlan, people: Sequence[Person], paper: str
) -> dict[str, Any]:
    """Give the data of `labels.typ`: a label a student for each thing left to wait."""
    library = course.library
    labels = [
        {
            "who": name_student(course.library.words, people, student),
            "made": write_date(held.session.date, course.library.words),
            "lesson": library.lessons[waiting.lesson].title,
            "step": library.lessons[waiting.lesson].steps[waiting.step].title,
            "until": write_moment(waiting.until, library.words),
            "home": waiting.home,
        }
        for held in plan.session_plans
        for waiting in held.waiting
        for student in range(1, plan.planned.students + 1)
    ]
    return {
        **describe_paper(library, library.words.text("paper.labels"), paper, large=False),
        "labels": labels,
    }


def describe_strips(
    course: Course, plan: ClassPlan, people: Sequence[Person], paper: str
) -> dict[str, Any]:
    """Give the data of `strips.typ`: each student's own run of each session."""
    return {
        **describe_paper(
            course.library, course.library.words.text("paper.strips"), paper, large=False
        ),
        "class": plan.planned.name,
        "sessions": [
            {
                "date": write_date(held.session.date, course.library.words),
                "strips": [
                    {
                        "who": name_student(course.library.words, people, student),
                        "steps": _list_own(course, held, student),
                    }
                    for student in range(1, plan.planned.students + 1)
                ],
            }
            for held in plan.session_plans
        ],
    }


def _list_own(course: Course, held: SessionPlan, student: int) -> list[dict[str, str]]:
    rows = []
    for turn in held.turns:
        if turn.student != student:
            continue
        shared = held.room.shared
        at = [
            f"{shared[each.shared].name} {each.unit}"
            for each in turn.holds
            if shared[each.shared].heats
        ]
        rows.append(
            {
                "start": write_clock(held.start, turn.start),
                "title": course.library.lessons[turn.lesson].steps[turn.step].title,
                "at": ", ".join(dict.fromkeys(at)),
            }
        )
    return rows
