"""What a lesson gives to work with, between its steps and its way on: calculators, exercises."""

from __future__ import annotations

from markupsafe import Markup

from builder.model import Lesson
from builder.model.lessons import CalculatorUse
from builder.pages.calculators import render_live, render_scripts
from builder.pages.exercises import make_exercise_section
from builder.pages.maker import PageMaker
from builder.pages.records import Section


def make_practice_sections(maker: PageMaker, lesson: Lesson, address: str) -> list[Section]:
    """Make the sections that stand before "Before and after", in order; empty ones are left out.

    Args:
        maker: What all pages share.
        lesson: The lesson.
        address: Of its page.
    """
    sections: list[Section] = []
    calculators = maker.library.calculators
    if lesson.calculators:
        html = maker.render(
            "lesson_calculators.html.j2",
            address,
            uses=[
                (calculators[use.calculator], use, _render_use(maker, address, use, number))
                for number, use in enumerate(lesson.calculators, 1)
            ],
            scripts=render_scripts(address, (use.calculator for use in lesson.calculators)),
        )
        sections.append(
            Section("calculators", maker.words.text("lesson.calculators"), str(html).strip())
        )
    exercises = make_exercise_section(maker, lesson, address)
    return [*sections, exercises] if exercises is not None else sections


def _render_use(maker: PageMaker, address: str, use: CalculatorUse, number: int) -> Markup:
    compiled = maker.course.compile(use.calculator)
    return render_live(maker, compiled, address, use.inputs, number)
