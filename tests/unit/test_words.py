"""Our words: found by key, filled in, and none too many or too few."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from markupsafe import Markup

from builder import words as words_module
from builder.twin.calculators.messages import SAYS
from builder.words import PLURAL_FORMS, Words, find_language, list_languages, load_words

BUILDER = Path(words_module.__file__).parent.parent
ENGLISH = load_words("en")
PLACE = re.compile(r"\{(\w+)\}")

# `t("lesson.need")` in templates, `words.text("lesson.need")` in Python, `words("row")` in scripts.
# A key may be put together: `t("level." ~ name)`, `words.text(f"level.{name}")`.
USES = (
    re.compile(r'\bt\(\s*"([a-z0-9.-]+)"(\s*~)?'),
    re.compile(r'\b(?:text|html)\(\s*f?["\']([a-z0-9-]+\.[a-z0-9.-]*)(\{)?'),
)
# Texts with a dot, but for the names of the files that a page saves.
PAPER_USE = re.compile(r'\bsay\(\s*"([a-z0-9.-]+)"()')
SCRIPT_USE = re.compile(r'"((?!practice\.json|visit\.yml)[a-z0-9-]+\.[a-z0-9-]+)"()')


def list_uses() -> tuple[set[str], set[str]]:
    """List the keys that are used, and the beginnings of those that are put together."""
    whole: set[str] = set()
    begun: set[str] = set()
    for path in sorted(BUILDER.rglob("*")):
        if path.suffix in (".py", ".j2", ".html"):
            patterns, area = USES, ""
        elif path.suffix == ".js":
            patterns, area = (SCRIPT_USE,), "script."
        elif path.suffix == ".typ":
            patterns, area = (PAPER_USE,), "paper."
        else:
            continue
        text = path.read_text(encoding="utf-8")
        for pattern in patterns:
            for found in pattern.finditer(text):
                (begun if found[2] else whole).add(area + found[1])
    return whole, begun


def test_every_key_that_is_used_is_in_the_table() -> None:
    whole, begun = list_uses()
    assert len(whole) > 100
    assert sorted(whole - ENGLISH.texts.keys()) == []
    for start in begun:
        assert any(key.startswith(start) for key in ENGLISH.texts), start


def test_every_text_of_the_table_is_used() -> None:
    whole, begun = list_uses()
    unused = [
        key
        for key in ENGLISH.texts
        if key not in whole and not any(key.startswith(start) for start in begun)
    ]
    assert unused == []


def test_calculators_say_on_the_terminal_what_they_say_on_the_page() -> None:
    assert ENGLISH.below("calculator-says") == SAYS


def list_places(forms: object) -> set[str]:
    texts = forms.values() if isinstance(forms, dict) else [forms]
    return {place for text in texts for place in PLACE.findall(str(text))}


@pytest.mark.parametrize("language", list_languages())
def test_every_language_has_the_same_keys_and_places(language: str) -> None:
    texts = load_words(language).texts
    assert sorted(texts) == sorted(ENGLISH.texts)
    for key, forms in texts.items():
        if isinstance(forms, dict):
            assert "other" in forms, key
            assert set(forms) <= PLURAL_FORMS, key
        assert list_places(forms) == list_places(ENGLISH.texts[key]), key


def test_a_number_chooses_the_plural_form() -> None:
    words = Words("en", {"bead": {"one": "{n} bead", "other": "{n} beads"}})
    assert [words.text("bead", n=n) for n in (0, 1, 2)] == ["0 beads", "1 bead", "2 beads"]
    # CLDR 45, plural rules: Polish has one, few (2-4, not 12-14) and many for whole numbers.
    polish = {"one": "{n} a", "few": "{n} b", "many": "{n} c", "other": "{n} d"}
    words = Words("pl", {"bead": polish})
    said = [words.text("bead", n=n) for n in (1, 2, 5, 12, 22)]
    assert said == ["1 a", "2 b", "5 c", "12 c", "22 b"]


def test_values_in_html_are_escaped_unless_they_are_html() -> None:
    words = Words("en", {"from": "from <{lesson}>"})
    assert words.html("from", lesson="a & b") == "from &lt;a &amp; b&gt;"
    assert words.html("from", lesson=Markup("<i>a</i>")) == "from &lt;<i>a</i>&gt;"


def test_a_missing_key_or_value_is_a_fault_of_ours() -> None:
    words = Words("en", {"from": "from {lesson}"})
    with pytest.raises(KeyError):
        words.text("form", lesson="a")
    with pytest.raises(KeyError):
        words.text("from")


def test_a_region_is_served_by_its_language() -> None:
    assert find_language("en-GB") == "en"
    assert find_language("tlh") is None
    with pytest.raises(LookupError):
        load_words("tlh")
