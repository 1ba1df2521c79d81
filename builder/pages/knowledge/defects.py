"""The page of each defect, and the grid of all of them."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from builder.diagnosis.decision_tree import Chart, Leaf
from builder.diagnosis.likelihood import RankedCause, RankedQuestion
from builder.drawings.cause_graph import draw_cause_graph
from builder.drawings.decision_chart import draw_chart, list_chart
from builder.frequencies import name_likelihood
from builder.model import Cause, Caution, Defect, Question, Symptom, When
from builder.pages.knowledge.graph_view import view_cause_graph
from builder.pages.knowledge.views import (
    FixView,
    LessonLink,
    SourceView,
    describe_citations,
    describe_fix,
    link_from,
    say_often,
    sort_by_name,
    view_fix,
    view_lesson,
    view_sources,
    write_percent,
)
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page
from builder.pages.schema_org import describe_collection, describe_part, describe_thing

FIRST_QUESTIONS = 5
"""Questions shown at once; the others, which tell less, are folded below them."""


@dataclass(frozen=True, slots=True)
class SymptomView:
    """A sign of the defect and how often it shows."""

    symptom: Symptom
    often: str


@dataclass(frozen=True, slots=True)
class NeighbourView:
    """A defect that looks alike."""

    defect: Defect
    tell: str


@dataclass(frozen=True, slots=True)
class CauseView:
    """A cause, and how likely it is once the defect is known."""

    cause: Cause
    how: str | None
    words: str
    percent: str
    probability: float


@dataclass(frozen=True, slots=True)
class QuestionView:
    """A question, and the causes its yes speaks for and against."""

    question: Question
    raised: tuple[Cause, ...]
    lowered: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class DefectView:
    """Everything a defect's page shows."""

    defect: Defect
    picture: str
    symptoms: tuple[SymptomView, ...]
    neighbours: tuple[NeighbourView, ...]
    cautions: tuple[Caution, ...]
    now: tuple[FixView, ...]
    next: tuple[FixView, ...]
    questions: tuple[QuestionView, ...]
    causes: tuple[CauseView, ...]
    lessons: tuple[LessonLink, ...]
    sources: tuple[SourceView, ...]

    @property
    def lost(self) -> bool:
        """Whether there is nothing but to throw the thing away."""
        return bool(self.now) and all(each.fix.discards for each in self.now)


def picture_of(defect: Defect) -> str:
    """Name a defect's drawing."""
    return defect.picture or defect.id


def view_defect(maker: PageMaker, defect: Defect) -> DefectView:
    """Gather what a defect's page shows."""
    library = maker.library
    ranked = maker.course.likelihoods.rank_causes(defect.id)
    return DefectView(
        defect,
        picture_of(defect),
        tuple(
            SymptomView(library.symptoms[link.symptom], say_often(maker.words, link.often))
            for link in sorted(defect.symptoms, key=lambda link: (-link.often, link.symptom))
        ),
        tuple(
            NeighbourView(library.defects[each.defect], each.tell) for each in defect.look_alikes
        ),
        tuple(library.cautions[name] for name in defect.cautions),
        _view_fixes(maker, defect, When.NOW),
        _view_fixes(maker, defect, When.NEXT),
        tuple(
            _view_question(maker, each)
            for each in maker.course.likelihoods.rank_questions(defect.id)
        ),
        _view_causes(maker, defect, ranked),
        _find_lessons(maker, defect),
        view_sources(maker, defect.citations),
    )


def _view_fixes(maker: PageMaker, defect: Defect, when: When) -> tuple[FixView, ...]:
    library = maker.library
    return tuple(
        view_fix(maker, library.fixes[each.fix], causes=each.causes)
        for each in maker.course.likelihoods.rank_fixes(defect.id, when)
    )


def _view_question(maker: PageMaker, ranked: RankedQuestion) -> QuestionView:
    library = maker.library
    return QuestionView(
        library.questions[ranked.question],
        tuple(library.causes[name] for name in ranked.raised),
        tuple(library.causes[name] for name in ranked.lowered),
    )


def _view_causes(
    maker: PageMaker, defect: Defect, ranked: tuple[RankedCause, ...]
) -> tuple[CauseView, ...]:
    how = {link.cause: link.how for link in defect.causes}
    causes = maker.library.causes
    return tuple(
        CauseView(
            causes[each.cause],
            how[each.cause],
            maker.words.text(f"likelihood.{name_likelihood(each.probability)}"),
            write_percent(each.probability),
            round(each.probability, 4),
        )
        for each in ranked
    )


def _find_lessons(maker: PageMaker, defect: Defect) -> tuple[LessonLink, ...]:
    """Find the lessons that warn of a defect or teach how to avoid one of its causes."""
    library = maker.library
    texts: dict[str, str | None] = {}
    for lesson in library.lessons.values():
        for risk in lesson.risks:
            if risk.defect == defect.id:
                texts.setdefault(lesson.id, risk.watch)
    for link in defect.causes:
        taught = library.causes[link.cause].lesson
        if taught:
            texts.setdefault(taught, None)
    lessons = [library.lessons[name] for name in texts]
    lessons.sort(key=lambda lesson: (lesson.level.rank, lesson.id))
    return tuple(view_lesson(lesson, texts[lesson.id]) for lesson in lessons)


def _show_chart(maker: PageMaker, chart: Chart) -> tuple[Markup, Markup] | None:
    """Give a chart as a drawing and as a list; None where it has no question to ask."""
    if isinstance(chart.root, Leaf):
        return None
    library = maker.library
    return Markup(draw_chart(library, chart)), list_chart(library, chart)


def make_defect_page(maker: PageMaker, defect: Defect) -> Page:
    """Make a defect's page."""
    address = f"defects/{defect.id}/"
    view = view_defect(maker, defect)
    ranked = [each.cause.id for each in view.causes]
    graph = draw_cause_graph(view_cause_graph(maker, defect, address, ranked), maker.words)
    chart = maker.course.likelihoods.make_chart(defect.id)
    lead, sections = maker.make_parts(
        "defect.html.j2",
        address,
        view=view,
        graph=graph,
        chart=_show_chart(maker, chart) if chart else None,
        first_questions=FIRST_QUESTIONS,
    )
    article = describe_thing(
        "TechArticle",
        headline=defect.name,
        description=defect.summary,
        inLanguage=maker.settings.language,
        isPartOf=describe_part("Course", name=maker.settings.name),
        about=describe_part(
            "Thing", name=defect.name, description=f"{plain(defect.looks)} {plain(defect.why)}"
        ),
        articleSection=[section.title for section in sections],
        citation=describe_citations(maker, defect.citations),
    )
    instructions = [
        describe_fix(maker, each.fix, url=link_from(address, maker, "fix", each.fix.id))
        for each in view.now
    ]
    return Page(
        address,
        defect.name,
        defect.summary,
        lead,
        sections,
        kind="defect",
        structured=(article, *instructions),
    )


def make_defect_list(maker: PageMaker) -> Page:
    """Make the grid of all defects."""
    address = "defects/"
    thing = maker.settings.thing
    title = maker.words.text("defects.title", thing=thing.one)
    description = maker.words.text("defects.description", thing=thing.one)
    defects = sort_by_name(maker.library.defects.values())
    tracks = [
        (track, [each for each in defects if track.id in each.tracks])
        for track in maker.settings.tracks
    ]
    lead, sections = maker.make_parts(
        "defects.html.j2",
        address,
        title=title,
        description=description,
        tracks=[(track, found) for track, found in tracks if found],
        picture_of=picture_of,
    )
    items = [(each.name, link_from(address, maker, "defect", each.id)) for each in defects]
    structured = describe_collection(title, description, items)
    return Page(
        address, title, description, lead, sections, kind="defects", structured=(structured,)
    )
