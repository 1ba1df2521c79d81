"""What a lesson gives to work with, between its steps and its way on: calculators, exercises."""

from __future__ import annotations

from builder.exercises import ExerciseBook
from builder.model import Calculator, Lesson
from builder.model.lessons import CalculatorUse
from builder.pages.context import Context
from builder.pages.exercises import make_exercise_section
from builder.pages.records import Section
from builder.quantities import write_braces


def make_practice_sections(
    context: Context, book: ExerciseBook, lesson: Lesson, address: str
) -> list[Section]:
    """Make the sections that stand before "Before and after", in order; empty ones are left out.

    Args:
        context: What all pages share.
        book: The exercises of the course.
        lesson: The lesson.
        address: Of its page.
    """
    sections: list[Section] = []
    calculators = context.library.all_of("calculator", Calculator)
    if lesson.calculators:
        html = context.render(
            "lesson_calculators.html.j2",
            address,
            uses=[
                (calculators[use.calculator], use, _list_inputs(calculators[use.calculator], use))
                for use in lesson.calculators
            ],
        )
        sections.append(Section("calculators", "Work it out", str(html).strip()))
    exercises = make_exercise_section(context, book, lesson, address)
    return [*sections, exercises] if exercises is not None else sections


def _list_inputs(calculator: Calculator, use: CalculatorUse) -> list[tuple[str, str]]:
    """Give the label of each input the lesson fills in, with the lesson's value as text."""
    return [
        (calculator.inputs[name].label, _write_value(value))
        for name, value in use.inputs.items()
        if name in calculator.inputs
    ]


def _write_value(value: str) -> str:
    """Write a value for people: a quantity in both unit systems, anything else as it stands."""
    written = write_braces(value)
    return value if written == "{" + value + "}" else written
