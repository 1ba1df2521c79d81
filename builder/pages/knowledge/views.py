"""What the templates of these pages are filled with, and the words for chances and sources."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from builder.frequencies import COMMONNESS, nearest_word
from builder.model import Cause, Caution, Certainty, Citation, Defect, Fix, Lesson, Material
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import relative_address
from builder.pages.schema_org import Structured, describe_how_to, describe_sources
from builder.twin import number_format
from builder.words import Words

if TYPE_CHECKING:
    pass

Named = TypeVar("Named", Defect, Cause, Material)


@dataclass(frozen=True, slots=True)
class SourceView:
    """A source as it is named under a text or beside a number."""

    id: str
    title: str
    words: str
    asserted: bool


@dataclass(frozen=True, slots=True)
class LessonLink:
    """A lesson as it is linked to."""

    id: str
    title: str
    text: str
    picture: str


@dataclass(frozen=True, slots=True)
class FixView:
    """A fix as a card.

    Args:
        fix: The entry.
        helps: How often it helps, in words; "" where that depends on the cause.
        causes: The causes it mends, where it stands among the fixes of several.
        faults: The faults it saves from, where it stands on the page of a cause.
        until: The last stage at which it can be done; "" where that is any.
        cautions: All that belong to it, Danger before Warning.
        lesson: The lesson that teaches it.
        sources: Where it comes from.
    """

    fix: Fix
    helps: str
    causes: tuple[Cause, ...]
    faults: tuple[Defect, ...]
    until: str
    cautions: tuple[Caution, ...]
    lesson: LessonLink | None
    sources: tuple[SourceView, ...]

    @property
    def anchor(self) -> str:
        """The card's id on a page where the fix stands in full."""
        return f"fix-{self.fix.id}"


def say_often(words: Words, chance: float) -> str:
    """Say a chance in the word nearest to it; readers see `always` as near 1, not as 1."""
    return words.text(f"often.{nearest_word(chance)}")


COMMON = {
    "in-every-second": "in every second batch",
    "in-every-fifth": "in every fifth batch",
    "in-every-tenth": "in every tenth batch",
    "in-one-of-twenty": "in one batch of twenty",
    "in-one-of-fifty": "in one batch of fifty",
    "in-one-of-hundred": "in one batch of a hundred",
}


def say_common(chance: float) -> str:
    """Say in how many batches something happens, in the words nearest by ratio."""
    nearest = min(COMMONNESS, key=lambda word: abs(math.log(COMMONNESS[word] / chance)))
    return f"about {COMMON[nearest]}"


def write_percent(share: float) -> str:
    """Write a share between 0 and 1 as a whole percentage."""
    return number_format.join_unit(number_format.format_number(share * 100, 0), "%")


def sort_by_name(entries: Iterable[Named]) -> list[Named]:
    """Put entries in order of their names, equals by id."""
    return sorted(entries, key=lambda entry: (entry.name.casefold(), entry.id))


def view_source(
    maker: PageMaker, citation: Citation, certainty: Certainty | None = None
) -> SourceView:
    """Name a source with how sure it is.

    Args:
        maker: What all pages share.
        citation: The source.
        certainty: Of one fact, which may be less sure than the source as a whole.
    """
    sure = certainty or citation.certainty
    words = maker.words.text(f"certainty.{sure.value}")
    asserted = sure in (Certainty.SEEN, Certainty.COMPUTED)
    return SourceView(citation.id, citation.title, words, asserted)


def view_sources(maker: PageMaker, names: Iterable[str]) -> tuple[SourceView, ...]:
    """Name sources by id, in the order given, each once."""
    citations = maker.library.citations
    return tuple(view_source(maker, citations[name]) for name in dict.fromkeys(names))


def view_lesson(lesson: Lesson, text: str | None = None) -> LessonLink:
    """Link to a lesson, with its summary or another text."""
    return LessonLink(lesson.id, lesson.title, text or lesson.summary, lesson.picture)


def view_fix(
    maker: PageMaker,
    fix: Fix,
    chance: float | None = None,
    causes: Iterable[str] = (),
    faults: Iterable[str] = (),
) -> FixView:
    """Make a fix's card.

    Args:
        maker: What all pages are made with.
        fix: The entry.
        chance: The chance that it helps, where the cause is given.
        causes: Ids of the causes it mends, where several are in question.
        faults: Ids of the faults it saves from.
    """
    library = maker.library
    attached = maker.course.attach_cautions(fix)
    return FixView(
        fix,
        say_often(maker.words, chance) if chance is not None else "",
        tuple(library.causes[name] for name in causes),
        tuple(library.defects[name] for name in faults),
        _say_stage(maker, fix),
        tuple(library.cautions[name] for name in attached.overall),
        view_lesson(library.lessons[fix.lesson]) if fix.lesson else None,
        view_sources(maker, fix.citations),
    )


def _say_stage(maker: PageMaker, fix: Fix) -> str:
    """Name the last stage at which a fix can be done, within a sentence."""
    names = [
        option.name
        for context in maker.settings.contexts
        if context.stages
        for option in context.options
        if option.id == fix.until
    ]
    return names[0][:1].lower() + names[0][1:] if names else ""


def describe_fix(maker: PageMaker, fix: Fix, **properties: object) -> Structured:
    """Describe a fix as a schema.org HowTo."""
    library = maker.library
    actions = [action for step in fix.steps for action in step.actions]
    supplies = dict.fromkeys(action.material for action in actions if action.material)
    tools = dict.fromkeys(action.tool for action in actions if action.tool)
    return describe_how_to(
        fix.name,
        [("", plain(step.text)) for step in fix.steps],
        summary=fix.summary,
        seconds=fix.time.base,
        supplies=[library.materials[name].name for name in supplies],
        tools=[library.tools[name].name for name in tools],
        cost=(fix.cost.magnitude, maker.settings.currency) if fix.cost else None,
        **properties,
    )


def describe_citations(maker: PageMaker, names: Iterable[str]) -> list[Structured]:
    """Describe sources for schema.org `citation`; practice and memory are no works to cite."""
    citations = [maker.library.citations[name] for name in dict.fromkeys(names)]
    return describe_sources(
        {"name": each.title, "publisher": each.publisher, "year": each.year}
        for each in citations
        if each.certainty in (Certainty.SEEN, Certainty.COMPUTED)
    )


def link_from(address: str, maker: PageMaker, kind: str, name: str) -> str:
    """Give the relative link from a page to an entry, for structured data."""
    place = maker.resolve(kind, name)
    return relative_address(address, *place) if place else ""
