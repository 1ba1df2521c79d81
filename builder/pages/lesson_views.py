"""What the pages of the lessons show, worked out before any template is filled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from builder.course import Course
from builder.drawings.course_map import CourseMap, make_course_map
from builder.drawings.heat_scale import HeatScale, make_heat_scale
from builder.drawings.temperature_timeline import find_heated_to, write_time
from builder.model import Caution, Lesson, Step
from builder.quantities import text_of, texts_of_window
from builder.words import Words, load_words


@dataclass(frozen=True, slots=True)
class Badge:
    """The temperature at the left of a step: its texts, and its shade on the scale."""

    metric: str
    us: str
    shade: int


@dataclass(frozen=True, slots=True)
class StepView:
    """One step as a card.

    Args:
        number: From 1.
        step: The entry's step.
        time: At the bench, as text.
        wait: After it, as text, or "".
        badge: Its temperature, where it states one.
        cautions: Those that no earlier step bears, each with whether it stands in full here.
        reminders: Those that an earlier step bears too.
    """

    number: int
    step: Step
    time: str
    wait: str
    badge: Badge | None
    cautions: tuple[tuple[Caution, bool], ...]
    reminders: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class LessonView:
    """One lesson.

    Args:
        lesson: The entry.
        bench_seconds: Sum of its steps' times.
        wait_seconds: Sum of its steps' waits.
        needs: Lessons it names as prerequisites, in teaching order.
        leads_to: Lessons that name it, in teaching order.
    """

    lesson: Lesson
    bench_seconds: float
    wait_seconds: float
    needs: tuple[Lesson, ...]
    leads_to: tuple[Lesson, ...]

    @property
    def level(self) -> str:
        """Its level, as a word for people."""
        return self.lesson.level.value.capitalize()

    @property
    def bench(self) -> str:
        """Its time at the bench, as text."""
        return write_time(self.bench_seconds)

    @property
    def wait(self) -> str:
        """Its waiting time, as text; "" where there is none."""
        return write_time(self.wait_seconds) if self.wait_seconds else ""


@dataclass(frozen=True, slots=True)
class Shelf:
    """All lessons, and what is worked out once for the whole course."""

    views: Mapping[str, LessonView]
    words: Words
    scale: HeatScale
    skills: Mapping[str, tuple[str, str]]
    """Skill to its words and the lesson that teaches it first."""


def make_map(course: Course) -> CourseMap | None:
    """Lay out the map of a course."""
    return make_course_map(course.library.lessons, course.prerequisite_graph, course.order)


def make_shelf(course: Course) -> Shelf:
    """Work out what the pages of all lessons share, lessons in teaching order."""
    settings = course.library.settings
    assert settings is not None, "a site has a course"
    lessons, graph = course.library.lessons, course.prerequisite_graph
    rank = {name: number for number, name in enumerate(course.order)}

    def sort(nodes: Iterable[tuple[str, str]]) -> tuple[Lesson, ...]:
        return tuple(lessons[name] for _, name in sorted(nodes, key=lambda node: rank[node[1]]))

    views: dict[str, LessonView] = {}
    skills: dict[str, tuple[str, str]] = {}
    for name in course.order:
        lesson = lessons[name]
        node = ("lesson", name)
        views[name] = LessonView(
            lesson,
            sum(step.time.base for step in lesson.steps),
            sum(step.wait.base for step in lesson.steps if step.wait),
            sort(graph.predecessors(node)),
            sort(graph.successors(node)),
        )
        for outcome in lesson.teaches:
            skills.setdefault(outcome.skill, (outcome.text, name))
    return Shelf(
        views,
        load_words(settings.language),
        make_heat_scale(course.library),
        skills,
    )


def make_steps(
    course: Course, shelf: Shelf, lesson: Lesson
) -> tuple[tuple[Caution, ...], tuple[StepView, ...]]:
    """Share out the cautions of a lesson, so that each stands in full once.

    A caution stands in full at the top where it holds throughout: it is a Danger, belongs to no
    step in particular, or to half of them or more. The first step it belongs to bears it in short;
    any other caution stands in full there, the most of it folded. Later steps remind of it.

    Returns:
        The cautions that hold throughout, and the steps.
    """
    library, attached = course.library, course.attach_cautions(lesson)
    many = max(2.0, len(lesson.steps) / 2)
    throughout = []
    for name in attached.overall:
        count = sum(name in names for names in attached.steps)
        if count == 0 or count >= many or library.cautions[name].signal == "Danger":
            throughout.append(name)
    seen: set[str] = set()
    steps = []
    for number, (step, names) in enumerate(zip(lesson.steps, attached.steps, strict=True), 1):
        fresh = [name for name in names if name not in seen]
        known = [name for name in names if name in seen]
        seen.update(fresh)
        steps.append(
            StepView(
                number,
                step,
                write_time(step.time.base),
                write_time(step.wait.base) if step.wait else "",
                _make_badge(step, shelf),
                tuple((library.cautions[name], name not in throughout) for name in fresh),
                tuple(library.cautions[name] for name in known),
            )
        )
    return tuple(library.cautions[name] for name in throughout), tuple(steps)


def _make_badge(step: Step, shelf: Shelf) -> Badge | None:
    scale, words = shelf.scale, shelf.words
    window = step.temperature
    if window is not None:
        middle = (window.low.base + window.high.base) / 2
        return Badge(*texts_of_window(window), scale.shade(middle))
    heated = find_heated_to(step)
    if heated is None:
        return None
    metric, us = (
        words.text("lesson.heated-to", temperature=text) if text else "" for text in text_of(heated)
    )
    return Badge(metric, us, scale.shade(heated.base))
