"""The drawings of the shipped course: small, safe to inline, readable by ear and in the dark."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from builder.library import load_library
from tests.shipped import ROOT

pytestmark = pytest.mark.site
DRAWINGS = sorted((ROOT / "kb" / "drawings").glob("*.svg"))
SPACE = "{http://www.w3.org/2000/svg}"
SHAPES = {"svg", "title", "desc", "g", "path", "circle", "ellipse", "rect", "line", "polyline"}
SHAPES |= {"polygon"}
COLOUR = re.compile(r"^(none|currentColor|var\(--d-[a-z]+, ?(#[0-9A-Fa-f]{3,8}|currentColor)\))$")


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_a_drawing_may_be_inlined_anywhere(path: Path) -> None:
    assert path.stat().st_size < 5_000
    root = ElementTree.parse(path).getroot()
    assert root.get("role") == "img"
    assert len(root.get("viewBox", "").split()) == 4
    assert (root.findtext(f"{SPACE}title") or "").strip()
    assert len((root.findtext(f"{SPACE}desc") or "").split()) >= 3
    for element in root.iter():
        assert element.tag.removeprefix(SPACE) in SHAPES, element.tag
        for name, value in element.attrib.items():
            # Ids and what refers to them break when several drawings stand on a page.
            assert name not in ("id", "class", "style", "href", "filter", "clip-path", "mask"), name
            assert not name.startswith("on"), name
            if name in ("fill", "stroke"):
                assert COLOUR.match(value), value


def test_every_defect_has_a_drawing_of_its_own() -> None:
    library, _ = load_library(ROOT)
    pictures = [defect.picture or defect.id for defect in library.defects.values()]
    assert len(set(pictures)) == len(pictures)
    assert set(pictures) <= set(library.drawings)


def test_every_sign_has_a_drawing_of_its_own() -> None:
    library, _ = load_library(ROOT)
    pictures = [symptom.picture for symptom in library.symptoms.values()]
    assert len(set(pictures)) == len(pictures)
    assert set(pictures) <= set(library.drawings)
    faults = {defect.picture or defect.id for defect in library.defects.values()}
    assert not faults & set(pictures)


def test_no_two_drawings_are_the_same() -> None:
    texts = [path.read_text(encoding="utf-8") for path in DRAWINGS]
    bodies = [re.sub(r"<(title|desc)>.*?</\1>", "", text, flags=re.DOTALL) for text in texts]
    doubled = {body for body in bodies if bodies.count(body) > 1}
    names = [path.stem for path, body in zip(DRAWINGS, bodies, strict=True) if body in doubled]
    assert names in ([], ["favicon", "mark"])
