"""The index by sign: what you see leads to what it is."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from builder.model import Defect, Symptom
from builder.pages.knowledge.consultation import SCRIPT, describe_consultation
from builder.pages.knowledge.views import link_from, say_often
from builder.pages.maker import PageMaker
from builder.pages.prose import plain
from builder.pages.records import ASSET_FOLDER, Page, Section, dump_for_script, relative_address
from builder.pages.schema_org import describe_collection
from builder.twin_scripts import DIAGNOSIS


@dataclass(frozen=True, slots=True)
class MeaningView:
    """A defect that a sign points to, and how often the defect shows it."""

    defect: Defect
    often: str


@dataclass(frozen=True, slots=True)
class SignView:
    """A sign with the defects it points to, the likeliest first."""

    symptom: Symptom
    meanings: tuple[MeaningView, ...]

    @property
    def anchor(self) -> str:
        """Its id on the page."""
        return f"symptom-{self.symptom.id}"


def view_signs(maker: PageMaker) -> tuple[SignView, ...]:
    """Gather every sign, the most common first.

    A defect counts as common as its causes make it; see `_weigh_defects`.
    """
    library = maker.library
    weights = _weigh_defects(maker)
    pointing: dict[str, list[tuple[float, float, Defect]]] = {}
    for defect in library.defects.values():
        for link in defect.symptoms:
            weight = weights[defect.id] * link.often
            pointing.setdefault(link.symptom, []).append((weight, link.often, defect))
    signs: list[tuple[float, str, SignView]] = []
    for name, symptom in library.symptoms.items():
        found = sorted(pointing.get(name, ()), key=lambda each: (-each[0], each[2].id))
        view = SignView(
            symptom,
            tuple(MeaningView(each[2], say_often(maker.words, each[1])) for each in found),
        )
        signs.append((-sum(each[0] for each in found), name, view))
    return tuple(view for _, _, view in sorted(signs, key=lambda each: each[:2]))


def _weigh_defects(maker: PageMaker) -> dict[str, float]:
    """Give the chance that a defect comes of at least one of its listed causes."""
    library = maker.library
    weights: dict[str, float] = {}
    for defect in library.defects.values():
        none = 1.0
        for link in defect.causes:
            none *= 1 - library.causes[link.cause].how_common * link.often
        weights[defect.id] = 1 - none
    return weights


def choose_first(maker: PageMaker, signs: tuple[SignView, ...]) -> list[SignView]:
    """Choose the signs to begin with: those that stop, and for each defect its commonest."""
    clearest = {
        max(defect.symptoms, key=lambda link: link.often).symptom
        for defect in maker.library.defects.values()
        if defect.symptoms
    }
    return [each for each in signs if each.symptom.id in clearest or each.symptom.stop]


def make_diagnose_page(maker: PageMaker) -> Page:
    """Make the index by sign."""
    address = "diagnose/"
    thing = maker.settings.thing
    title = maker.words.text("diagnose.title", one=thing.one)
    description = maker.words.text("diagnose.description", one=thing.one)
    signs = view_signs(maker)
    first = choose_first(maker, signs)
    consultation = Markup(dump_for_script(describe_consultation(maker, address)))
    scripts = [relative_address(address, ASSET_FOLDER + name) for name in (DIAGNOSIS, SCRIPT)]
    lead, sections = maker.make_parts(
        "diagnose.html.j2",
        address,
        title=title,
        description=description,
        signs=signs,
        first=first,
        rest=[each for each in signs if each not in first],
        consultation=consultation,
        scripts=scripts,
    )
    items = [
        (each.symptom.name, link_from(address, maker, "symptom", each.symptom.id)) for each in signs
    ]
    structured = describe_collection(title, description, items)
    return Page(
        address,
        title,
        description,
        lead,
        sections,
        kind="diagnose",
        structured=(structured,),
        anchors=frozenset(each.anchor for each in signs),
        entries=tuple(
            Section(each.anchor, each.symptom.name, escape(plain(each.symptom.text)))
            for each in signs
        ),
    )
