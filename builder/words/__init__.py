"""The words of ours that students and visitors see: one table a language, looked up by key.

A second language is one more file beside `en.yml` with the same keys. Texts hold places in braces,
`{n} students`; one that depends on a number is a table by plural form (`one`, `other`, and what
else CLDR knows of the language), chosen by the value of `n`. Findings and the terminal stay
English.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from markupsafe import Markup, escape

FOLDER = Path(__file__).parent
"""Where the tables are: `en.yml` and one more for each further language."""

PLURAL_FORMS = frozenset({"zero", "one", "two", "few", "many", "other"})
"""Names that CLDR has for plural forms (Unicode Technical Standard 35, part 3)."""

_PLACE = re.compile(r"\{(\w+)\}")

Forms = str | Mapping[str, str]
"""A text, or the texts by plural form."""


class Words:
    """The table of one language.

    Args:
        language: Its code, as the file is named.
        texts: Key, such as `lesson.need`, to the text or its plural forms.
    """

    def __init__(self, language: str, texts: Mapping[str, Forms]) -> None:
        self.language = language
        self.texts = texts

    def text(self, key: str, **values: object) -> str:
        """Give a text with its places filled in.

        Args:
            key: For instance `lesson.need`.
            **values: What stands in each place; `n` chooses the plural form as well.

        Raises:
            KeyError: If there is no such text, or a place has no value.

        Example:
            `words.text("teaching.students", n=8)` is `8 students`.
        """
        return _PLACE.sub(lambda found: str(values[found[1]]), self._find(key, values))

    def html(self, key: str, **values: object) -> Markup:
        """Give the same for a template: values are escaped unless they are HTML already."""
        written = str(escape(self._find(key, values)))
        return Markup(_PLACE.sub(lambda found: str(escape(values[found[1]])), written))

    def below(self, area: str) -> dict[str, Forms]:
        """Give every text of an area by the rest of its key, for a script or a paper."""
        start = f"{area}."
        return {
            key.removeprefix(start): forms
            for key, forms in sorted(self.texts.items())
            if key.startswith(start)
        }

    def _find(self, key: str, values: Mapping[str, object]) -> str:
        forms = self.texts[key]
        if isinstance(forms, str):
            return forms
        form = _plural_rule(self.language)(values["n"])
        return forms.get(form, forms["other"])


def list_languages() -> tuple[str, ...]:
    """List the codes of the languages that there is a table for, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.yml")))


def find_language(language: str) -> str | None:
    """Give the code of the table that serves a language: `en` serves `en-GB`; None if none does."""
    known = list_languages()
    return next((code for code in (language, language.partition("-")[0]) if code in known), None)


@cache
def load_words(language: str) -> Words:
    """Load the table that serves a language.

    Args:
        language: A code such as `en` or `en-GB`.

    Raises:
        LookupError: If no table serves it; the rule `language-unknown` says so of a course.
    """
    code = find_language(language)
    if code is None:
        raise LookupError(f'there are no words in "{language}"')
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with (FOLDER / f"{code}.yml").open(encoding="utf-8") as file:
        return Words(code, dict(_flatten(yaml.load(file, loader), "")))


def _flatten(table: Mapping[str, Any], start: str) -> Iterator[tuple[str, Forms]]:
    for name, value in table.items():
        if isinstance(value, str):
            yield f"{start}{name}", value
        elif value.keys() <= PLURAL_FORMS:
            yield f"{start}{name}", dict(value)
        else:
            yield from _flatten(value, f"{start}{name}.")


@cache
def _plural_rule(language: str) -> Any:
    """Give the CLDR rule that chooses the plural form for a number."""
    from babel import Locale, UnknownLocaleError

    try:
        return Locale.parse(language, sep="-").plural_form
    except (UnknownLocaleError, ValueError):
        return Locale.parse("en").plural_form
