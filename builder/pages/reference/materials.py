"""The materials: what each is, what it can do to people, its limits, and where it is used."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from builder.hazards import find_material_hazards, read_room_kelvin
from builder.library import walk_references
from builder.model import Certainty, Material
from builder.model.common import Fact
from builder.pages.knowledge.views import (
    SourceView,
    sort_by_name,
    view_source,
    view_sources,
)
from builder.pages.maker import PageMaker
from builder.pages.prose import plain, show_quantity
from builder.pages.records import Page, Section
from builder.pages.schema_org import describe_collection
from builder.units import Quantity


@dataclass(frozen=True, slots=True)
class FactView:
    """A number that is a fact: what it is about, its value, its source."""

    about: str
    value: Markup
    source: SourceView
    note: str | None
    first: bool = True


@dataclass(frozen=True, slots=True)
class UseView:
    """An entry in which a material is used."""

    kind: str
    id: str
    name: str


@dataclass(frozen=True, slots=True)
class MaterialView:
    """Everything the page shows of one material."""

    material: Material
    hazards: tuple[str, ...]
    ghs_source: SourceView | None
    flash_points: tuple[FactView, ...]
    facts: tuple[FactView, ...]
    uses: tuple[UseView, ...]
    cautions: tuple[UseView, ...]
    sources: tuple[SourceView, ...]

    @property
    def anchor(self) -> str:
        """Its id on the page."""
        return f"material-{self.material.id}"


def view_materials(maker: PageMaker) -> tuple[MaterialView, ...]:
    """Gather every material, by name."""
    library, words = maker.library, maker.words
    room = read_room_kelvin(library)
    uses = _find_uses(maker)
    views = []
    for material in sort_by_name(library.materials.values()):
        hazards = find_material_hazards(material, room)
        cautions = [
            UseView("caution", caution.id, caution.title)
            for caution in library.cautions.values()
            if material.id in caution.applies.materials
            or any(hazard in caution.applies.hazards for hazard in hazards)
        ]
        views.append(
            MaterialView(
                material,
                tuple(maker.words.text(f"hazard.{hazard.value}") for hazard in hazards),
                view_sources(maker, [material.ghs.citation])[0] if material.ghs else None,
                tuple(
                    _view_fact(maker, words.text("materials.flash-point"), fact.value, fact)
                    for fact in sorted(material.flash_points, key=lambda fact: fact.value.base)
                ),
                tuple(_list_facts(maker, material)),
                tuple(uses[material.id].values()),
                tuple(cautions),
                view_sources(maker, material.citations),
            )
        )
    return tuple(views)


def _list_facts(maker: PageMaker, material: Material) -> list[FactView]:
    words = maker.words
    facts = []
    if material.highest_temperature:
        fact = material.highest_temperature
        facts.append(_view_fact(maker, words.text("materials.highest"), fact.value, fact))
    for limit in material.limits:
        of = words.text("materials.of-base")
        if limit.of == "product":
            of = words.text("materials.of-product", thing=maker.settings.thing.one)
        facts.append(_view_fact(maker, words.text("materials.at-most", of=of), limit.most, limit))
    if material.density:
        facts.append(
            _view_fact(
                maker, words.text("materials.density"), material.density.value, material.density
            )
        )
    for absent in material.without:
        about = words.text(f"materials.about.{absent.fact}")
        source = view_source(maker, maker.library.citations[absent.citation])
        facts.append(
            FactView(about, Markup.escape(words.text("materials.none")), source, absent.note)
        )
    return facts


def _view_fact(maker: PageMaker, about: str, value: Quantity, fact: Fact) -> FactView:
    source = view_source(maker, maker.library.citations[fact.citation])
    return FactView(about, show_quantity(value), source, fact.note)


def _find_uses(maker: PageMaker) -> defaultdict[str, dict[tuple[str, str], UseView]]:
    uses: defaultdict[str, dict[tuple[str, str], UseView]] = defaultdict(dict)
    for entry in (*maker.library.lessons.values(), *maker.library.fixes.values()):
        name = str(getattr(entry, "name", None) or getattr(entry, "title", entry.id))
        for _, kind, named in walk_references(entry):
            if kind == "material" and maker.resolve(entry.kind, entry.id):
                uses[named][entry.kind, entry.id] = UseView(entry.kind, entry.id, name)
    return uses


def make_materials_page(maker: PageMaker) -> Page:
    """Make the page of materials."""
    address = "materials/"
    title = maker.words.text("materials.title")
    description = maker.words.text("materials.description")
    materials = view_materials(maker)
    lead, sections = maker.make_parts(
        "materials.html.j2",
        address,
        title=title,
        description=description,
        materials=materials,
        certainties=Certainty,
    )
    items = [(each.material.name, f"#{each.anchor}") for each in materials]
    return Page(
        address,
        title,
        description,
        lead,
        sections,
        kind="materials",
        structured=(describe_collection(title, description, items),),
        entries=tuple(
            Section(each.anchor, each.material.name, escape(plain(each.material.summary)))
            for each in materials
        ),
    )
