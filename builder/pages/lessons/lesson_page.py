"""The page of one lesson."""

from __future__ import annotations

from markupsafe import Markup

from builder.drawings.temperature_timeline import draw_strip, make_rows
from builder.model import Caution, Lesson, Material, Scale
from builder.model.lessons import LessonMaterial
from builder.pages.amounts import show_amount, show_step_amounts
from builder.pages.knowledge.views import view_sources
from builder.pages.lesson_views import LessonView, StepView, make_steps
from builder.pages.lessons.practice import make_practice_sections
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page
from builder.pages.schema_org import Structured, describe_how_to, describe_thing


def make_lesson_page(maker: PageMaker, view: LessonView) -> Page:
    """Make the page of a lesson."""
    shelf = maker.shelf
    lesson = view.lesson
    address = f"lessons/{lesson.id}/"
    throughout, steps = make_steps(maker.course, shelf, lesson)
    made = _say_made(maker, lesson)
    lead, sections = maker.make_parts(
        "lesson.html.j2",
        address,
        lesson=lesson,
        makes_words=made,
        amounts=[show_step_amounts(maker.words, lesson, each, made) for each in lesson.steps],
        view=view,
        track=next((t.name for t in maker.settings.tracks if t.id == lesson.track), ""),
        materials=_list_materials(maker, lesson),
        tools=[(maker.library.tools[each.tool], each) for each in lesson.tools],
        throughout=throughout,
        steps=steps,
        strip=draw_strip(make_rows(lesson, maker.words), shelf.scale, maker.words),
        risks=[(maker.library.defects[risk.defect], risk.watch) for risk in lesson.risks],
        assumes=[
            (*shelf.skills[skill], maker.library.lessons[shelf.skills[skill][1]].title)
            for skill in lesson.assumes
            if skill in shelf.skills
        ],
        sources=view_sources(maker, lesson.citations),
    )
    before = [section.id for section in sections].index("next")
    practice = make_practice_sections(maker, lesson, address)
    return Page(
        address=address,
        title=lesson.title,
        description=lesson.summary,
        lead=lead,
        sections=(*sections[:before], *practice, *sections[before:]),
        kind="lesson",
        structured=_describe_lesson(maker, view, steps),
        anchors=_list_anchors(throughout, steps),
    )


def _say_made(maker: PageMaker, lesson: Lesson) -> str:
    """Say how many things a lesson makes: `2 cards`."""
    if lesson.makes == 0:
        return maker.words.text("lesson.makes-nothing")
    thing = maker.settings.thing
    things = thing.one if lesson.makes == 1 else thing.many
    return maker.words.text("script.lesson.makes-things", count=lesson.makes, things=things)


def _list_materials(
    maker: PageMaker, lesson: Lesson
) -> list[tuple[Material, Markup, LessonMaterial]]:
    """Give each material with its amount as HTML and the lesson's line about it."""
    return [
        (
            maker.library.materials[each.material],
            show_amount(each.amount, lesson.makes if each.per is Scale.PIECE else 0),
            each,
        )
        for each in lesson.materials
    ]


def _list_anchors(throughout: tuple[Caution, ...], steps: tuple[StepView, ...]) -> frozenset[str]:
    found = {f"step-{step.number}" for step in steps}
    found.update(f"caution-{each.id}" for step in steps for each, _ in step.cautions)
    found.update(f"caution-{caution.id}" for caution in throughout)
    return frozenset(found)


def _describe_lesson(
    maker: PageMaker, view: LessonView, steps: tuple[StepView, ...]
) -> tuple[Structured, ...]:
    lesson, library = view.lesson, maker.library
    shared = {
        "inLanguage": maker.settings.language,
        "educationalLevel": view.level,
        "teaches": [outcome.text for outcome in lesson.teaches],
    }
    return (
        describe_thing(
            "LearningResource",
            name=lesson.title,
            description=lesson.summary,
            learningResourceType="lesson",
            isPartOf={"@type": "Course", "name": maker.settings.name},
            competencyRequired=[needed.title for needed in view.needs],
            **shared,
        ),
        describe_how_to(
            lesson.title,
            [(step.step.title, plain(step.step.text)) for step in steps],
            summary=lesson.summary,
            seconds=view.bench_seconds + view.wait_seconds,
            supplies=[library.materials[each.material].name for each in lesson.materials],
            tools=[library.tools[each.tool].name for each in lesson.tools],
            inLanguage=maker.settings.language,
        ),
    )
