"""The safety page: what holds everywhere, every caution, first aid, and local rules."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from builder.model import Caution
from builder.pages.knowledge.views import SourceView, view_sources
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import Page, Section
from builder.pages.schema_org import describe_part, describe_thing

SIGNALS = ("Danger", "Warning")


@dataclass(frozen=True, slots=True)
class CautionView:
    """A caution with its sources."""

    caution: Caution
    sources: tuple[SourceView, ...]


def view_cautions(maker: PageMaker) -> tuple[CautionView, ...]:
    """Gather all cautions, Danger before Warning, then by title."""
    found = sorted(
        maker.library.cautions.values(),
        key=lambda caution: (SIGNALS.index(caution.signal), caution.title, caution.id),
    )
    return tuple(CautionView(each, view_sources(maker, each.citations)) for each in found)


def _name_caution(maker: PageMaker, caution: Caution) -> str:
    """Name a caution with its signal word: `Danger: Burns`."""
    signal = maker.words.text(f"signal.{caution.signal.lower()}")
    return maker.words.text("caution.label", signal=signal, title=caution.title)


def make_safety_page(maker: PageMaker) -> Page:
    """Make the safety page."""
    address = "safety/"
    title = maker.words.text("safety.title")
    description = maker.words.text("safety.description")
    cautions = view_cautions(maker)
    lead, sections = maker.make_parts(
        "safety.html.j2", address, title=title, description=description, cautions=cautions
    )
    structured = describe_thing(
        "WebPage",
        name=title,
        description=description,
        inLanguage=maker.settings.language,
        isPartOf=describe_part("Course", name=maker.settings.name),
        about=[describe_part("Thing", name=each.caution.title) for each in cautions],
    )
    return Page(
        address,
        title,
        description,
        lead,
        sections,
        kind="safety",
        structured=(structured,),
        anchors=frozenset(f"caution-{each.caution.id}" for each in cautions),
        entries=(
            *(
                Section(
                    f"caution-{each.caution.id}",
                    _name_caution(maker, each.caution),
                    escape(plain(each.caution.happens)),
                )
                for each in cautions
            ),
            *(section for section in sections if section.id != "cautions"),
        ),
    )
