"""A pseudo-language: every letter of a text is set in another script, so that what is left in Latin
letters on a page or paper was written by nobody who could be translated."""

from __future__ import annotations

import copy
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import yaml

from builder.library import Library, build_library, collect_files
from builder.model import MarkdownText, PlainText, walk_marks
from builder.words import FOLDER

LANGUAGE = "qps"
"""Set aside for private use in ISO 639; the code that pseudo-languages commonly take."""

_LATIN = "abcdefghijklmnopqrstuvwxyz"
_OTHER = "абцдефгхийклмнопярстувшжыз"
_TABLE = str.maketrans(_LATIN + _LATIN.upper(), _OTHER + _OTHER.upper())
# Quantities, places to fill, links' targets and code are no words.
_KEPT = re.compile(r"(\{[^{}]*\}|\]\([^)]*\)|`[^`]*`|https?://\S+)")
_TOLD = re.compile(r"(?<=<title>)[^<]*|(?<=<desc>)[^<]*")
_ADDRESS = re.compile(r"\b[\w-]+(?:\.[\w-]+)+/\S*")
WORD = re.compile(r"[A-Za-z]{2,}")


def transliterate(text: str) -> str:
    """Set the words of a text in other letters."""
    parts = _KEPT.split(text)
    return "".join(
        part if number % 2 else part.translate(_TABLE) for number, part in enumerate(parts)
    )


def write_words(folder: Path) -> None:
    """Write the table of the pseudo-language beside the English one."""

    def change(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: change(each) for key, each in value.items()}
        return transliterate(value)

    text = (FOLDER / "en.yml").read_text(encoding="utf-8")
    (folder / "en.yml").write_text(text, encoding="utf-8")
    changed = yaml.safe_dump(change(yaml.load(text, yaml.CSafeLoader)), allow_unicode=True)
    (folder / f"{LANGUAGE}.yml").write_text(changed, encoding="utf-8")


def read_course(root: Path) -> Library:
    """Read a course with every text of its author in the pseudo-language."""
    files = collect_files(root)
    library, _ = build_library(files)
    values: dict[str, Any] = {}
    for entry in library.walk():
        source = library.sources[entry.kind, entry.id]
        value = values.setdefault(source.document.file, copy.deepcopy(source.document.value))
        for key in source.route:
            value = value[key]
        for route, mark, text in walk_marks(entry):
            place = value
            for key in route[:-1]:
                place = place[key]
            written = route[-1] in (place if isinstance(place, dict) else range(len(place)))
            is_text = isinstance(mark, PlainText | MarkdownText) and "vessels" not in route
            if is_text and written:
                place[route[-1]] = transliterate(text)
        if isinstance(value.get("vessels"), dict):  # name of a vessel to the id of a tool
            value["vessels"] = {transliterate(name): of for name, of in value["vessels"].items()}
        if entry.kind == "course":
            value["language"] = LANGUAGE
    # JSON is YAML too, and breaks no line.
    changed: dict[str, Any] = {
        file: json.dumps(value, ensure_ascii=False, default=str) for file, value in values.items()
    }
    drawings = {
        name: _TOLD.sub(lambda found: transliterate(found[0]), data.decode()).encode()
        for name, data in files.items()
        if name.endswith(".svg")
    }
    pseudo, findings = build_library({**changed, **drawings})
    told = [found for found in findings if found.rule != "drawing-unsafe"]
    assert told == [], told[:3]
    return pseudo


class _Reader(HTMLParser):
    """Gathers what a reader sees or hears of a page."""

    SPOKEN = ("aria-label", "alt", "title", "placeholder", "data-label", "data-bl-label")
    SILENT = ("script", "style", "code", "pre")
    VOID = ("meta", "link", "input", "br", "img", "hr", "path", "col")

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.silent: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if not self.silent:
            self.texts += [given[name] or "" for name in self.SPOKEN if name in given]
            if given.get("name") == "description":
                self.texts.append(given.get("content") or "")
        quiet = (
            tag in self.SILENT
            or given.get("lang") == "en"
            or given.get("class") in ("bl-drawing", "bl-formula")
        )
        if (self.silent or quiet) and tag not in self.VOID:
            self.silent.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.silent and tag in self.silent:
            while self.silent.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.texts.append(data)


TYPED = ("default", "empty", "inputs", "outputs", "table", "given", "fixed")


def list_typed(library: Library) -> set[str]:
    """List the words that calculators have in their fields at first and in their examples.

    They are what a visitor would type, such as the names of rows, and are no texts of the course.
    """
    found: set[str] = set()

    def walk(value: Any, inside: bool) -> None:
        if isinstance(value, dict):
            for key, each in value.items():
                walk(each, inside or key in TYPED)
        elif isinstance(value, list):
            for each in value:
                walk(each, inside)
        elif isinstance(value, str) and inside:
            found.update(word.lower() for word in WORD.findall(value))

    for lesson in library.lessons.values():
        value = library.sources[lesson.kind, lesson.id].document.value
        walk(value.get("exercises", []), False)
    for entry in library.calculators.values():
        value = library.sources[entry.kind, entry.id].document.value
        walk({"default": [each.get("default") for each in value["inputs"].values()]}, False)
        walk({"empty": [each.get("empty") for each in value["outputs"].values()]}, False)
        walk(value.get("examples", []), False)
        walk({"table": value.get("table", {})}, False)
    return found


def take_out_names(text: str) -> str:
    """Leave addresses on the web out of a text."""
    return _ADDRESS.sub(" ", text)


def read_texts(html: str) -> list[str]:
    """Give what a reader sees or hears of a page, but for code and what is marked as English."""
    reader = _Reader()
    reader.feed(html)
    return reader.texts
