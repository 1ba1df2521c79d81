"""The page of each cause, with its fixes in full, and the list of all causes."""

from __future__ import annotations

from dataclasses import dataclass

from builder.frequencies import name_likelihood
from builder.graph import find_rescues
from builder.model import Cause, Caution, Defect, Question, When
from builder.model.knowledge import CauseLink
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
)
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page
from builder.pages.schema_org import describe_collection, describe_part, describe_thing


@dataclass(frozen=True, slots=True)
class EvidenceView:
    """A question, and how often its answer is yes with this cause and without it."""

    question: Question
    yes: str
    otherwise: str
    raises: bool


@dataclass(frozen=True, slots=True)
class BroughtView:
    """A defect that the cause brings, and how likely the cause is behind it."""

    defect: Defect
    picture: str
    how: str | None
    often: str
    words: str
    probability: float


@dataclass(frozen=True, slots=True)
class CausePageView:
    """Everything a cause's page shows."""

    cause: Cause
    common: str
    evidence: tuple[EvidenceView, ...]
    defects: tuple[BroughtView, ...]
    now: tuple[FixView, ...]
    next: tuple[FixView, ...]
    cautions: tuple[Caution, ...]
    lesson: LessonLink | None
    calculator: str | None
    sources: tuple[SourceView, ...]


def view_cause(maker: PageMaker, cause: Cause) -> CausePageView:
    """Gather what a cause's page shows."""
    library = maker.library
    brought = [
        _view_brought(maker, cause, defect, link) for defect, link in _find_defects(maker, cause)
    ]
    next_time = tuple(
        view_fix(maker, library.fixes[link.fix], link.helps)
        for link in sorted(cause.fixes, key=lambda link: (-link.helps, link.fix))
        if library.fixes[link.fix].when is When.NEXT
    )
    now = _view_rescues(maker, cause)
    evidence = tuple(
        EvidenceView(
            question,
            say_often(maker.words, each.yes),
            say_often(maker.words, question.yes_otherwise),
            each.yes > question.yes_otherwise,
        )
        for each in cause.evidence
        for question in (library.questions[each.question],)
    )
    return CausePageView(
        cause,
        say_often(maker.words, cause.how_common),
        evidence,
        tuple(brought),
        now,
        next_time,
        _gather_cautions(maker, (*now, *next_time)),
        view_lesson(library.lessons[cause.lesson]) if cause.lesson else None,
        _name_calculator(maker, cause),
        view_sources(maker, cause.citations),
    )


def _view_rescues(maker: PageMaker, cause: Cause) -> tuple[FixView, ...]:
    """View what saves a thing that the cause acted on, each with the faults it saves from.

    Fixes that throw it away come first: nobody should be led to mend what may not be used.
    """
    library = maker.library
    helps: dict[str, float] = {
        link.fix: link.helps for link in cause.fixes if library.fixes[link.fix].when is When.NOW
    }
    faults: dict[str, list[str]] = {name: [] for name in helps}
    for defect, rescue in find_rescues(library).get(cause.id, ()):
        helps[rescue.fix] = max(helps.get(rescue.fix, 0.0), rescue.helps)
        faults.setdefault(rescue.fix, []).append(defect)
    order = sorted(helps, key=lambda name: (not library.fixes[name].discards, -helps[name], name))
    return tuple(
        view_fix(maker, library.fixes[name], helps[name], faults=faults[name]) for name in order
    )


def _view_brought(maker: PageMaker, cause: Cause, defect: Defect, link: CauseLink) -> BroughtView:
    probability = next(
        each.probability
        for each in maker.course.likelihoods.rank_causes(defect.id)
        if each.cause == cause.id
    )
    return BroughtView(
        defect,
        defect.picture or defect.id,
        link.how,
        say_often(maker.words, link.often),
        maker.words.text(f"likelihood.{name_likelihood(probability)}"),
        round(probability, 4),
    )


def _gather_cautions(maker: PageMaker, fixes: tuple[FixView, ...]) -> tuple[Caution, ...]:
    """Gather the cautions of several fixes, each once, Danger before Warning."""
    found = {caution.id for each in fixes for caution in each.cautions}
    cautions = maker.library.cautions
    return tuple(cautions[name] for name in maker.course.hazards.sort(found))


def _find_defects(maker: PageMaker, cause: Cause) -> list[tuple[Defect, CauseLink]]:
    found = [
        (defect, link)
        for defect in maker.library.defects.values()
        for link in defect.causes
        if link.cause == cause.id
    ]
    return sorted(found, key=lambda pair: (-pair[1].often, pair[0].id))


def _name_calculator(maker: PageMaker, cause: Cause) -> str | None:
    if cause.calculator is None or maker.resolve("calculator", cause.calculator) is None:
        return None
    entry = maker.library.entries.get("calculator", {})[cause.calculator]
    return str(getattr(entry, "name", entry.id))


def make_cause_page(maker: PageMaker, cause: Cause) -> Page:
    """Make a cause's page."""
    address = f"causes/{cause.id}/"
    view = view_cause(maker, cause)
    lead, sections = maker.make_parts("cause.html.j2", address, view=view)
    fixes = (*view.now, *view.next)
    article = describe_thing(
        "TechArticle",
        headline=cause.name,
        description=cause.summary,
        inLanguage=maker.settings.language,
        isPartOf=describe_part("Course", name=maker.settings.name),
        about=describe_part("Thing", name=cause.name, description=plain(cause.what_happens)),
        citation=describe_citations(maker, cause.citations),
    )
    instructions = [
        describe_fix(maker, each.fix, **{"@id": f"#{each.anchor}"}, url=f"#{each.anchor}")
        for each in fixes
    ]
    anchors = {each.anchor for each in fixes}
    anchors |= {f"question-{each.question.id}" for each in view.evidence}
    return Page(
        address,
        cause.name,
        cause.summary,
        lead,
        sections,
        kind="cause",
        structured=(article, *instructions),
        anchors=frozenset(anchors),
    )


def make_cause_list(maker: PageMaker) -> Page:
    """Make the list of all causes."""
    address = "causes/"
    title = maker.words.text("causes.title")
    description = maker.words.text("causes.description")
    causes = sort_by_name(maker.library.causes.values())
    rows = [(each, [defect for defect, _ in _find_defects(maker, each)]) for each in causes]
    lead, sections = maker.make_parts(
        "causes.html.j2", address, title=title, description=description, rows=rows
    )
    items = [(each.name, link_from(address, maker, "cause", each.id)) for each in causes]
    structured = describe_collection(title, description, items)
    return Page(
        address, title, description, lead, sections, kind="causes", structured=(structured,)
    )
