"""Proves that no seed of a course leads to a bad variant."""

from __future__ import annotations

import random

from builder.exercises import ExerciseBook, Variant
from builder.exercises.calculate import CalculateSpace
from builder.twin.marking import mark_number
from builder.twin.number_format import format_number


def prove_seeds(book: ExerciseBook, seeds: int) -> list[str]:
    """Draw every exercise for a student of each seed; give what is wrong with what was drawn.

    Args:
        book: The course's exercises.
        seeds: How many seeds.
    """
    students = random.Random(2014)  # which student of each seed; any will do
    numbers = [(str(seed), students.randrange(500)) for seed in range(seeds)]
    found: list[str] = []
    for lesson, exercise in book.walk():
        space = book.space(lesson, exercise)
        drawn = {book.choose(lesson, exercise, seed, student) for seed, student in numbers}
        for index in sorted(drawn):
            where = f"{lesson.id}/{exercise.id}: variant {index}"
            if isinstance(space, CalculateSpace):
                solved = space.solve(index)
                if solved.refused or solved.warned:
                    found.append(f"{where}: {solved.refused or solved.warned}")
                    continue
            variant = book.make(lesson, exercise, "1", index)
            found.extend(f"{where}: {problem}" for problem in find_faults(variant))
    return found


def find_faults(variant: Variant) -> list[str]:
    """Say what is wrong with a variant, going by what a student sees and writes."""
    body, faults = variant.body, []
    for text in (body.ask, body.work, body.hint or "", *body.options, *body.notes):
        if "{" in text and not any(sign.isdigit() for sign in text.partition("{")[2][:3]):
            faults.append(f"braces are left in “{text}”")
    if body.answer is not None:
        answer = body.answer
        units = {"units": dict(answer.units)}
        item = {
            "field": answer.field,
            "answer": answer.value,
            "tolerance": answer.tolerance,
            "slips": [[slip.value, slip.tolerance] for slip in answer.slips],
        }
        written = format_number(answer.magnitude, answer.places).replace("\u202f", "")
        for typed in (written, f"{written} {answer.symbol}", repr(answer.magnitude)):
            if mark_number(units, item, typed)[0] != "right":
                faults.append(f"the answer as written, “{typed}”, is not marked right")
        for slip in answer.slips:
            shown = slip.text.rpartition("\u00a0")[0] or slip.text
            if mark_number(units, item, shown.replace("\u202f", ""))[0] != "slip":
                faults.append(f"the slip “{slip.id}”, written {slip.text}, is not recognised")
        if written.strip("-−0.") == "":
            faults.append("the answer is 0")
    else:
        if len(set(body.options)) != len(body.options):
            faults.append("two options are the same")
        if not body.right or (variant.kind != "order" and len(body.right) != 1):
            faults.append("there is not one right answer")
    return faults
