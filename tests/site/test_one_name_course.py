"""The shipped course: one name for each thing, and sources that can be found again."""

from __future__ import annotations

import re

import pytest

from builder.library import load_library
from builder.model import Certainty
from tests.shipped import ROOT

pytestmark = pytest.mark.site

SECTION = "## One name for each thing"


def test_the_manual_lists_one_name_for_each_thing() -> None:
    """The table of the manual and the glossary's `instead_of` say the same."""
    library, _ = load_library(ROOT)
    manual = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert SECTION in manual
    rows = re.findall(r"^\| (.+?) \| (.+?) \|$", manual.split(SECTION)[1], re.MULTILINE)
    listed = {name: set(lost.split(", ")) for name, lost in rows if name not in ("name", "---")}
    kept = {
        term.name.lower(): set(term.instead_of)
        for term in library.terms.values()
        if term.instead_of
    }
    assert listed == kept
    assert len(kept) >= 15


def test_every_source_can_be_found_again_or_says_why_not() -> None:
    """A publisher with a year or a number, or a reason why these cannot be given."""
    library, _ = load_library(ROOT)
    bare = [
        each.id
        for each in library.citations.values()
        if each.certainty is not Certainty.INVENTED
        and not (each.publisher and (each.year or each.number))
        and not each.not_named
        and each.certainty is not Certainty.COMPUTED
    ]
    assert bare == []
    assert sum(1 for each in library.citations.values() if each.address) >= 8


def test_first_aid_gives_its_minutes() -> None:
    """As published: burns and chemical burns 20 min, eyes 15 min, lye in eyes 20 min."""
    library, _ = load_library(ROOT)
    without = [
        each.id
        for each in library.cautions.values()
        if each.first_aid and not re.search(r"\{\d+ min\}|\{\d+ min\} or more", each.first_aid)
    ]
    assert without == ["electricity", "no-food-tools"]  # switch off, call; nothing is timed there
    lye = library.cautions["lye"].first_aid or ""
    assert lye.count("{20 min} or more") == 2
    assert "Never vinegar" in lye
    for name in ("alcohol-vapour", "irritant-splash", "scent-skin"):
        assert "{15 min}" in (library.cautions[name].first_aid or "")
