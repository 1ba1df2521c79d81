"""The sources: every citation, grouped by how sure it is, with what relies on it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from html import escape

from builder.library import walk_references
from builder.model import Certainty, Citation
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page, Section
from builder.pages.schema_org import describe_collection, describe_sources

USER_KINDS = ("lesson", "defect", "cause", "fix", "material", "caution", "calculator")


@dataclass(frozen=True, slots=True)
class UserView:
    """An entry that relies on a source."""

    kind: str
    id: str
    name: str


@dataclass(frozen=True, slots=True)
class CitationView:
    """A source and the entries that rely on it."""

    citation: Citation
    users: tuple[UserView, ...]

    @property
    def imprint(self) -> str:
        """Publisher, number and year, as far as they are known."""
        parts = (self.citation.publisher, self.citation.number, self.citation.year)
        return ", ".join(str(part) for part in parts if part)


@dataclass(frozen=True, slots=True)
class GroupView:
    """The sources of one certainty."""

    id: str
    title: str
    meaning: str
    citations: tuple[CitationView, ...]


def view_groups(maker: PageMaker) -> tuple[GroupView, ...]:
    """Gather the sources, the surest first, each by title."""
    library = maker.library
    users: defaultdict[str, dict[tuple[str, str], UserView]] = defaultdict(dict)
    for entry in library.walk():
        if entry.kind not in USER_KINDS or maker.resolve(entry.kind, entry.id) is None:
            continue
        name = str(getattr(entry, "name", None) or getattr(entry, "title", entry.id))
        for _, kind, named in walk_references(entry):
            if kind == "citation":
                users[named][entry.kind, entry.id] = UserView(entry.kind, entry.id, name)
    groups = []
    for certainty in Certainty:
        found = sorted(
            (each for each in library.citations.values() if each.certainty is certainty),
            key=lambda each: (each.title.casefold(), each.id),
        )
        views = tuple(CitationView(each, tuple(users[each.id].values())) for each in found)
        if views:
            sure = certainty.value
            title = maker.words.text(f"certainty-group.{sure}")
            meaning = maker.words.text(f"certainty-meaning.{sure}")
            groups.append(GroupView(sure, title, meaning, views))
    return tuple(groups)


def make_sources_page(maker: PageMaker) -> Page:
    """Make the page of sources."""
    address = "sources/"
    title = maker.words.text("sources.title")
    description = maker.words.text("sources.description")
    groups = view_groups(maker)
    lead, sections = maker.make_parts(
        "sources.html.j2", address, title=title, description=description, groups=groups
    )
    published = describe_sources(
        {
            "name": each.citation.title,
            "publisher": each.citation.publisher,
            "year": each.citation.year,
        }
        for group in groups
        if group.id in (Certainty.SEEN, Certainty.COMPUTED)
        for each in group.citations
    )
    structured = describe_collection(title, description, [], citation=published)
    return Page(
        address,
        title,
        description,
        lead,
        sections,
        kind="sources",
        background=True,
        structured=(structured,),
        anchors=frozenset(
            f"citation-{each.citation.id}" for group in groups for each in group.citations
        ),
        entries=tuple(
            Section(
                f"citation-{each.citation.id}",
                each.citation.title,
                escape(plain(each.citation.detail or "")),
            )
            for group in groups
            for each in group.citations
        ),
    )
