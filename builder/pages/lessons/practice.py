"""What a lesson gives to work with, between its steps and its way on: calculators, exercises."""

from __future__ import annotations

from builder.exercises import ExerciseBook
from builder.model import Calculator, Lesson
from builder.pages.calculators import render_live, render_scripts
from builder.pages.context import Context
from builder.pages.exercises import make_exercise_section
from builder.pages.records import Section


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
                (
                    calculators[use.calculator],
                    use,
                    render_live(
                        context, context.compile(use.calculator), address, use.inputs, number
                    ),
                )
                for number, use in enumerate(lesson.calculators, 1)
            ],
            scripts=render_scripts(address, (use.calculator for use in lesson.calculators)),
        )
        sections.append(Section("calculators", "Work it out", str(html).strip()))
    exercises = make_exercise_section(context, book, lesson, address)
    return [*sections, exercises] if exercises is not None else sections
