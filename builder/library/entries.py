"""The `Library`: every entry of a course typed and indexed, every place on record."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar, cast

from builder.diagnostics import Location, Route
from builder.model import (
    KINDS,
    Calculator,
    Case,
    Cause,
    Caution,
    Citation,
    CourseSettings,
    Defect,
    Entry,
    Fix,
    Lesson,
    Material,
    PlannedClass,
    Question,
    RefersTo,
    Symptom,
    Table,
    Term,
    Tool,
    walk_marks,
)
from builder.words import Words, find_language, load_words
from builder.yaml_source import Document

E = TypeVar("E", bound=Entry)


@dataclass(frozen=True, slots=True)
class Source:
    """Where an entry stands: its document, and the route to it within the document."""

    document: Document
    route: Route = ()


class EntriesOf(Generic[E]):
    """An attribute of a library: the entries of one kind by id.

    Args:
        model: The class of the kind.
    """

    def __init__(self, model: type[E]) -> None:
        self.kind = model.kind

    def __get__(self, library: Library, owner: type[Library]) -> Mapping[str, E]:
        return cast(Mapping[str, E], library.entries.get(self.kind, {}))


@dataclass(frozen=True, slots=True)
class Library:
    """Everything the course folder says.

    `entries` maps a kind's name to its entries by id, in order of id. `broken` holds the
    (kind, id) of entries that were found but could not be read, so that a reference to one of them
    is not reported as unknown on top, with the id `*` where a whole file of many could not be read;
    `drafts` those of entries that are not ready yet.
    """

    entries: Mapping[str, Mapping[str, Entry]]
    sources: Mapping[tuple[str, str], Source] = field(repr=False)
    broken: frozenset[tuple[str, str]] = frozenset()
    drafts: frozenset[tuple[str, str]] = frozenset()
    drawings: Mapping[str, str] = field(default_factory=dict, repr=False)

    lessons = EntriesOf(Lesson)
    classes = EntriesOf(PlannedClass)
    defects = EntriesOf(Defect)
    causes = EntriesOf(Cause)
    fixes = EntriesOf(Fix)
    symptoms = EntriesOf(Symptom)
    questions = EntriesOf(Question)
    materials = EntriesOf(Material)
    tools = EntriesOf(Tool)
    cautions = EntriesOf(Caution)
    calculators = EntriesOf(Calculator)
    tables = EntriesOf(Table)
    cases = EntriesOf(Case)
    terms = EntriesOf(Term)
    citations = EntriesOf(Citation)

    @property
    def settings(self) -> CourseSettings | None:
        """The course, or None where `lessons/course.yml` is missing or broken."""
        return cast("CourseSettings | None", self.entries.get("course", {}).get("course"))

    @property
    def words(self) -> Words:
        """Our words in the language of the course; in English where there are none in it."""
        language = self.settings.language if self.settings else "en"
        return load_words(find_language(language) or "en")

    def walk(self) -> Iterable[Entry]:
        """Give every entry, kinds in documented order, ids in order."""
        for kind in KINDS:
            yield from self.entries.get(kind, {}).values()

    def knows(self, kind: str, entry: str) -> bool:
        """Say whether an id is taken, by an entry, a draft or one that could not be read."""
        return (kind, entry) in self.sources

    def exists(self, kind: str, entry: str) -> bool:
        """Say whether an entry is there, or may be: what cannot be read is reported on its own."""
        broken = self.broken
        return (
            entry in self.entries.get(kind, {}) or (kind, entry) in broken or (kind, "*") in broken
        )

    def is_base(self, material: str) -> bool:
        """Say whether a material is one that shares of the base refer to."""
        found = self.materials.get(material)
        return found is not None and found.is_base

    def locate(self, entry: Entry, route: Route = (), *, key: bool = False) -> Location:
        """Give the file, line and column of a place within an entry."""
        source = self.sources[entry.kind, entry.id]
        found = source.document.locate((*source.route, *route), key=key)
        if route and route[0] in entry.old_names.values():
            # It may stand there under a name it had before: then that leads further.
            for old, new in entry.old_names.items():
                if new == route[0]:
                    other = source.document.locate((*source.route, old, *route[1:]), key=key)
                    found = max(found, other)
        return found

    def suggest(self, kind: str, wrong: str) -> str:
        """Word a hint for an id that does not exist: the nearest one, with its place."""
        if (kind, wrong) in self.drafts:
            return f'{kind} "{wrong}" is a draft; take its line "draft: true" out'
        known = self.entries.get(kind, {})
        near = difflib.get_close_matches(wrong, known, n=1, cutoff=0.6)
        if near:
            place = self.locate(known[near[0]])
            return f'did you mean "{near[0]}"? ({place.file}:{place.line})'
        if not known:
            return f"there is no {kind} in the course yet"
        sample = ", ".join(sorted(known)[:6])
        return f"a {kind} of this course is one of {sample}{', ...' if len(known) > 6 else ''}"


def walk_references(entry: Entry) -> Iterable[tuple[Route, str, str]]:
    """Give every reference an entry makes: route, kind, id."""
    for route, mark, text in walk_marks(entry):
        if isinstance(mark, RefersTo):
            yield route, mark.kind, text
