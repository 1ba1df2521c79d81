"""Courses inside tests: one string with a line `# file: kb/defects/x.yml` above each file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from builder.checks import check_library
from builder.diagnostics import Diagnostic, sort_diagnostics
from builder.library import Library, build_library, collect_files
from builder.model import KINDS
from builder.yaml_source import parse_yaml

PRESSED_FLOWERS = Path(__file__).parent / "courses" / "pressed-flowers"

# The pure Python dumper takes ten times as long.
_Dumper: Any = yaml.CSafeDumper

_SEPARATOR = re.compile(r"^# (file|without): (\S+)[ \t]*\n", re.MULTILINE)

_FIELDS: Mapping[str, Mapping[str, Any]] = {
    "course": {
        "name": "Cards",
        "sentence": "How to make cards.",
        "thing": {"one": "card", "many": "cards"},
        "doors": {door: {"title": door, "text": door} for door in ("learn", "fix", "teach")},
        "local_rules": "Ask at home.",
        "tracks": [{"id": "cards", "name": "Cards", "summary": "Cards."}],
        "class_size": 6,
        "room": "20 degC",
    },
    "class": {
        "name": "Class",
        "summary": "A class.",
        "students": 6,
        "sessions": [
            {"date": "2030-09-02", "start": "18:30", "length": "2 h", "lessons": ["pressing"]}
        ],
    },
    "lesson": {
        "title": "Lesson",
        "level": "beginner",
        "track": "cards",
        "summary": "A lesson.",
        "picture": "sheet",
        "teaches": [{"skill": "skill-of-its-own", "text": "Do it."}],
        "intro": "Begin.",
        "steps": [{"title": "Step", "text": "Do it.", "time": "1 min"}],
    },
    "defect": {
        "name": "Defect",
        "summary": "A defect.",
        "tracks": ["cards"],
        "looks": "Bad.",
        "why": "Physics.",
    },
    "cause": {
        "name": "Cause",
        "summary": "A cause.",
        "what_happens": "Something.",
        "how_common": "sometimes",
    },
    "fix": {
        "name": "Fix",
        "when": "now",
        "summary": "A fix.",
        "steps": [{"text": "Do it."}],
        "time": "1 min",
    },
    "symptom": {"name": "Sign", "label": "sign", "text": "Look.", "picture": "sheet"},
    "question": {"ask": "Did it?"},
    "material": {"name": "Material", "summary": "A material."},
    "tool": {"name": "Tool", "summary": "A tool."},
    "caution": {
        "signal": "Warning",
        "title": "Care",
        "happens": "It hurts people.",
        "do": ["Take care."],
        "first_aid": "Rinse with water.",
    },
    "case": {"summary": "A case.", "seen": ["wavy"], "was": ["too-wet"]},
    "term": {"name": "Term", "text": "Words."},
    "citation": {"title": "Source", "certainty": "practice"},
}
_STEP = {"title": "Step", "text": "Do it.", "time": "1 min"}


def split_files(source: str) -> tuple[dict[str, str], set[str]]:
    """Split one string into files, and the paths after `# without:`, which are to be taken away."""
    parts = _SEPARATOR.split(source)
    assert not parts[0].strip(), "text before the first line '# file:'"
    files: dict[str, str] = {}
    without: set[str] = set()
    for word, path, text in zip(parts[1::3], parts[2::3], parts[3::3], strict=True):
        if word == "file":
            files[path] = text
        else:
            assert not text.strip(), f"text after '# without: {path}'"
            without.add(path)
    return files, without


def make_library(source: str | Mapping[str, str]) -> tuple[Library, list[Diagnostic]]:
    """Make a library from inline YAML, with what the reader found."""
    return build_library(split_files(source)[0] if isinstance(source, str) else source)


def check(source: str | Mapping[str, str]) -> tuple[Diagnostic, ...]:
    """Read and check inline YAML: all findings, sorted."""
    library, findings = make_library(source)
    return sort_diagnostics([*findings, *check_library(library)])


@cache
def read_course(folder: Path = PRESSED_FLOWERS) -> Mapping[str, str]:
    """Read a course under `tests/courses/` into memory, once."""
    return {path: contents.decode() for path, contents in collect_files(folder).items()}


def overlay(source: str) -> dict[str, str]:
    """Lay inline files over the pressed-flower course; `# without: path` takes one away."""
    files, without = split_files(source)
    base = dict(read_course())
    for path in without:
        del base[path]
    return {**base, **files}


def complete(source: str) -> dict[str, str]:
    """Fill in the fields that a short example leaves out, and a course where there is none.

    Examples in the manual show only what their rule looks at.
    """
    files = split_files(source)[0]
    files.setdefault("lessons/course.yml", "{}")
    files.setdefault("kb/drawings/sheet.svg", "<svg/>")
    if any(path.startswith("kb/materials") for path in files):
        files.setdefault("kb/citations.yml", "{}")
    completed: dict[str, str] = {}
    for path, text in files.items():
        kind, many = _find_kind(path)
        if kind is None:
            completed[path] = text
            continue
        document, _ = parse_yaml(path, text)
        assert document is not None, f"{path} is not YAML"
        value = document.value
        filled = (
            {name: _fill(kind, fields or {}) for name, fields in value.items()}
            if many
            else _fill(kind, value or {})
        )
        if path == "kb/citations.yml":
            filled = {"stated": _FIELDS["citation"], **filled}
        completed[path] = yaml.dump(filled, Dumper=_Dumper, sort_keys=False, allow_unicode=True)
    return completed


def _find_kind(path: str) -> tuple[str | None, bool]:
    stem = path.removesuffix(".yml")
    if stem == path:
        return None, False
    for kind in KINDS.values():
        if stem == kind.place:
            return kind.name, kind.name != "course"
        if stem.startswith(f"{kind.place}/") and kind.name != "course":
            return kind.name, False
    raise AssertionError(f"{path} is in no place of any kind")


def _practise(skill: str) -> dict[str, Any]:
    options = [{"text": text, "right": text == "A", "why": "Look."} for text in "ABC"]
    words = {"title": "Try", "ask": "Which?", "show": 3, "options": options}
    return {"id": f"try-{skill}", "kind": "choose", "skill": skill, **words}


def _fill(kind: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    filled = {**_FIELDS.get(kind, {}), **fields}
    if kind == "material" and not {"hazards", "ghs", "flash_points", "without"} & set(fields):
        filled["without"] = [{"fact": "hazards", "citation": "stated"}]
    if kind in ("lesson", "fix"):
        steps = filled["steps"]
        words = _STEP if kind == "lesson" else {"text": "Do it."}
        filled["steps"] = [{**words, **step} for step in steps]
    if kind == "lesson" and "exercises" not in filled:
        filled["exercises"] = [_practise(outcome["skill"]) for outcome in filled["teaches"]]
    return filled


def read_yaml(text: str) -> Any:
    """Read YAML as a file of cases holds it; the pure Python reader takes ten times as long."""
    return yaml.load(text, yaml.CSafeLoader)
