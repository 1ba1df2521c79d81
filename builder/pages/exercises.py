"""Exercises on a lesson's page: practice that checks itself, and reads well without script.

The first variant of each exercise stands as text, its worked solution behind a disclosure. A script
then takes the other variants from data on the page: answer, check, hint, another one like it. The
variants are those of a seed of their own, so nothing of a printed sheet or its key is here.
"""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from builder.exercises import PRACTICE, Drawing, Variant
from builder.exercises.filling import describe_figure
from builder.model import Lesson
from builder.model.exercises import Exercise
from builder.pages.maker import PageMaker
from builder.pages.prose import Prose
from builder.pages.records import Section, dump_for_script

ASSET_FOLDER = "assets/benchlore/"
VARIANTS = 12
"""Variants of one exercise on the page, where there are as many."""
STYLE = "exercises.css"


def make_exercise_section(maker: PageMaker, lesson: Lesson, address: str) -> Section | None:
    """Make the section of a lesson's exercises, or None where it has none.

    Args:
        maker: What all pages share.
        lesson: The lesson.
        address: Of its page.
    """
    usable = maker.course.exercises.list_usable(lesson)
    if not usable:
        return None
    drawings: dict[str, int] = {}
    prose = maker.prose(address)
    views = [_view_exercise(maker, lesson, exercise, prose, drawings) for exercise in usable]
    html = maker.render(
        "lesson_exercises.html.j2",
        address,
        lesson=lesson,
        views=views,
        pictures=[Markup(svg) for svg in drawings],
        assets="../" * address.count("/") + ASSET_FOLDER,
        skills={outcome.skill: outcome.text for outcome in lesson.teaches},
    )
    return Section("exercises", maker.words.text("lesson.exercises"), str(html).strip())


def _view_exercise(
    maker: PageMaker,
    lesson: Lesson,
    exercise: Exercise,
    prose: Prose,
    drawings: dict[str, int],
) -> dict[str, Any]:
    """Give what the template shows of one exercise, and its data for the script."""
    book = maker.course.exercises
    total = min(VARIANTS, book.space(lesson, exercise).total)
    variants = [book.draw(lesson, exercise, PRACTICE, number) for number in range(total)]
    data = [_describe_variant(variant, prose, drawings) for variant in variants]
    first = variants[0]
    answer = first.body.answer
    # How an answer is read is the same for all variants.
    shared = {"field": dict(answer.field), "units": dict(answer.units)} if answer else {}
    cautions = [maker.library.cautions[name] for name in first.cautions]
    return {
        "exercise": exercise,
        "variant": first,
        "shown": data[0],
        "figure": describe_figure(maker.words, answer.symbol, answer.places) if answer else "",
        "symbol": answer.symbol if answer else "",
        "cautions": cautions,
        "data": Markup(
            dump_for_script({"answered": exercise.answered, **shared, "variants": data})
        ),
    }


def _describe_variant(variant: Variant, prose: Prose, drawings: dict[str, int]) -> dict[str, Any]:
    """Give one variant as HTML and numbers."""
    body = variant.body
    described: dict[str, Any] = {
        "ask": prose.block(body.ask),
        "work": prose.block(body.work),
        "answer": variant.answer_text,
    }
    if body.hint:
        described["hint"] = prose.block(body.hint)
    if body.drawing is not None:
        described["drawing"] = drawings.setdefault(_prepare(body.drawing), len(drawings))
    if body.answer is not None:
        described["item"] = {
            "answer": body.answer.value,
            "tolerance": body.answer.tolerance,
            "slips": [[slip.value, slip.tolerance] for slip in body.answer.slips],
        }
        described["slips"] = [prose.block(slip.hint) for slip in body.answer.slips]
    else:
        described["options"] = [prose.line(option) for option in body.options]
        described["notes"] = [prose.line(note) for note in body.notes]
        described["right"] = list(body.right)
    return described


def _prepare(drawing: Drawing) -> str:
    """Make a drawing part of the page, named by what is seen on it."""
    label = Markup.escape(" ".join(drawing.description.split()))
    svg = drawing.svg.replace('role="img"', "", 1)
    width = f"max-width:{drawing.width_mm * 0.28:.1f}em"
    opening = f'<svg class="bl-instrument" role="img" aria-label="{label}" style="{width}"'
    return svg.replace("<svg", opening, 1)
