"""Hazards that follow from facts, and cautions that attach themselves."""

from __future__ import annotations

import pytest
from helpers import complete, make_library, overlay

from builder.hazards import (
    USUAL_ROOM_KELVIN,
    attach_cautions,
    find_material_hazards,
    index_hazards,
    read_room_kelvin,
)
from builder.library import Library
from builder.model import Hazard, Material


def flowers(source: str = "") -> Library:
    return make_library(overlay(source))[0]


def make_material(**fields: object) -> Material:
    return Material.model_validate({"id": "x", "name": "X", "summary": "X.", **fields})


def label(*codes: str) -> dict[str, object]:
    statements = [{"code": code, "text": "Words"} for code in codes]
    return {"revision": "invented", "statements": statements, "citation": "sheet"}


# Hazard statements: United Nations GHS, annex 3, from memory; H225, H319 and H336 stand together
# on the label of isopropyl alcohol.
@pytest.mark.parametrize(
    ("fields", "hazards"),
    [
        ({}, ()),
        ({"hazards": ["dust", "flammable"]}, (Hazard.FLAMMABLE, Hazard.DUST)),
        ({"ghs": label("H225", "H319", "H336")}, (Hazard.FLAMMABLE, Hazard.IRRITANT)),
        ({"ghs": label("H314")}, (Hazard.CORROSIVE,)),
        ({"ghs": label("H317"), "hazards": ["dust"]}, (Hazard.SENSITISER, Hazard.DUST)),
        ({"ghs": label("H301+H311")}, (Hazard.TOXIC,)),
        ({"ghs": label("H272")}, (Hazard.OXIDISER,)),
        ({"ghs": label("H242")}, (Hazard.FLAMMABLE,)),
        ({"ghs": label("H250", "H260")}, (Hazard.FLAMMABLE,)),
        ({"ghs": label("H351")}, (Hazard.TOXIC,)),
        ({"ghs": label("H360FD")}, (Hazard.TOXIC,)),
        ({"ghs": label("EUH208")}, (Hazard.SENSITISER,)),
        ({"ghs": label("EUH071")}, (Hazard.CORROSIVE,)),
        ({"ghs": label("H227", "P210")}, ()),
        ({"flash_points": [{"value": "12 degC", "citation": "a"}]}, (Hazard.FLAMMABLE,)),
        ({"flash_points": [{"value": "20 degC", "citation": "a"}]}, (Hazard.FLAMMABLE,)),
        ({"flash_points": [{"value": "48 degC", "citation": "a"}]}, ()),
        (
            {
                "flash_points": [
                    {"value": "48 degC", "citation": "a"},
                    {"value": "15 degC", "citation": "b"},
                ]
            },
            (Hazard.FLAMMABLE,),
        ),
    ],
)
def test_facts_make_hazards(fields: dict[str, object], hazards: tuple[Hazard, ...]) -> None:
    assert find_material_hazards(make_material(**fields), 293.15) == hazards


def test_the_room_is_the_courses_or_the_usual_one() -> None:
    assert read_room_kelvin(flowers()) == pytest.approx(293.15)
    warm = make_library(complete("# file: lessons/course.yml\nroom: 30 degC\n"))[0]
    assert read_room_kelvin(warm) == pytest.approx(303.15)
    assert read_room_kelvin(flowers("# without: lessons/course.yml\n")) == USUAL_ROOM_KELVIN


def test_cautions_attach_to_the_steps_that_need_them_and_to_the_whole() -> None:
    library = flowers()
    attached = attach_cautions(library, library.lessons["mounting"])
    assert attached.overall == ("varnish-vapour", "hot-things", "oil-on-skin")
    assert attached.steps == (
        ("hot-things",),
        (),
        ("oil-on-skin",),
        (),
        ("varnish-vapour",),
    )
    assert attached.uncovered == ()


def test_a_lesson_without_hazards_has_no_cautions() -> None:
    library = flowers()
    assert attach_cautions(library, library.lessons["pressing"]).overall == ()


def test_a_fix_gets_its_cautions_too() -> None:
    library = flowers()
    attached = attach_cautions(library, library.fixes["cool-the-paste"])
    assert attached.overall == ("hot-things",)
    assert attached.steps == (("hot-things",),)


def test_the_index_changes_nothing_but_the_time() -> None:
    library = flowers()
    index = index_hazards(library)
    for entry in (*library.lessons.values(), *library.fixes.values()):
        assert attach_cautions(library, entry, index) == attach_cautions(library, entry)


LESSON = """\
# file: lessons/inking.yml
materials: [{material: ink, amount: 1 g}]
tools: [{tool: knife}]
cautions: [of-its-own]
steps:
  - cautions: [of-the-step]
    actions: [{do: stir, vessel: pot}]
# file: kb/materials.yml
ink: {hazards: [irritant]}
# file: kb/tools.yml
knife: {hazards: [sharp]}
# file: kb/cautions.yml
of-its-own: {}
of-the-step: {}
by-verb: {applies: {actions: [stir]}}
by-material: {applies: {materials: [ink]}}
by-tool: {signal: Danger, applies: {tools: [knife]}}
by-hazard: {applies: {hazards: [irritant]}}
for-something-else: {applies: {hazards: [toxic], actions: [heat], materials: [other]}}
"""


def test_any_one_match_attaches_and_what_is_named_stays() -> None:
    library = make_library(complete(LESSON))[0]
    attached = attach_cautions(library, library.lessons["inking"])
    assert attached.overall == (
        "by-tool",
        "by-hazard",
        "by-material",
        "by-verb",
        "of-its-own",
        "of-the-step",
    )
    assert attached.steps == (("by-verb", "of-the-step"),)


def test_a_drill_brings_its_cautions_along() -> None:
    source = (
        "# file: lessons/course.yml\n"
        "drills:\n  - {hazard: irritant, level: beginner, lesson: inking, tools: [knife], "
        "cautions: [of-the-drill]}\n" + LESSON + "of-the-drill: {}\n"
    )
    library = make_library(complete(source))[0]
    assert "of-the-drill" in attach_cautions(library, library.lessons["inking"]).overall


def test_what_no_caution_covers_is_named_with_its_place() -> None:
    bare = make_library(complete(LESSON[: LESSON.index("# file: kb/cautions.yml")]))[0]
    found = attach_cautions(bare, bare.lessons["inking"]).uncovered
    assert [(each.material or each.tool, each.hazard, each.route) for each in found] == [
        ("ink", Hazard.IRRITANT, ("materials", 0, "material")),
        ("knife", Hazard.SHARP, ("tools", 0, "tool")),
    ]
