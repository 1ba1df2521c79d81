"""Starting files for new entries: commented, complete, and clean under `check` as they stand."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from builder.library import Library
from builder.model import KINDS
from builder.model.common import ID_PATTERN
from builder.schema import comment_for

STARTERS = tuple(KINDS)
"""Kinds that can be started: every one, with `templates/new/<kind>.yml`."""

_TEMPLATES = Path(__file__).parent / "templates" / "new"


class StarterError(ValueError):
    """A name of which no id can be made; the text is a sentence for the author."""


def make_id(name: str) -> str:
    """Make an id of a name: `Second Layer` becomes `second-layer`, `Séance` becomes `seance`.

    Raises:
        StarterError: If nothing is left that may stand in an id.
    """
    letters = unicodedata.normalize("NFKD", name.casefold())
    bare = "".join(letter for letter in letters if not unicodedata.combining(letter))
    made = re.sub(r"[^a-z0-9]+", "-", bare).strip("-")
    if not made:
        raise StarterError(f'no id can be made of "{name}"; choose one with --id, as in --id first')
    return made


def check_id(entry: str) -> str:
    """Give an id that an author chose.

    Raises:
        StarterError: If it cannot be one.
    """
    if not re.match(ID_PATTERN, entry) or entry.endswith("\n"):
        raise StarterError(
            f'"{entry}" cannot be an id; use letters a to z, digits, and hyphens between them'
        )
    return entry


def make_starter(
    kind: str, name: str, library: Library | None, entry: str | None = None
) -> dict[str, str]:
    """Make the files of a new entry.

    Args:
        kind: One of `STARTERS`.
        name: What it is called.
        library: The course it goes into; None for a new course.
        entry: Its id; made of the name where it is not given.

    Returns:
        Path relative to the course folder (for a new course: relative to the new folder, which is
        named after the id) to text.

    Raises:
        StarterError: If the name cannot be written, or no id can be made of it.
    """
    if not name.strip() or any(unicodedata.category(each) in ("Cc", "Cs") for each in name):
        raise StarterError("the name cannot be read; write it in UTF-8, without control characters")
    entry = entry or make_id(name)
    title = name.strip() if name.strip() != entry else entry.replace("-", " ").capitalize()
    if kind == "course":
        return _make_course(title)
    course = library.settings if library else None
    file = f"{KINDS[kind].place}/{entry}.yml"
    if kind == "lesson" and course:
        file = f"lessons/{course.tracks[0].id}/{entry}.yml"
    drawings = sorted(library.drawings) if library else []
    text = _fill(
        f"{kind}.yml",
        comment=comment_for(KINDS[kind], file),
        name=entry,
        title=_quote(title),
        one=course.thing.one if course else "thing",
        many=course.thing.many if course else "things",
        track=course.tracks[0].id if course else "main",
        currency=course.currency if course else "EUR",
        picture=drawings[0] if drawings else "first-steps",
    )
    return {file: text}


def _make_course(title: str) -> dict[str, str]:
    lesson = "lessons/main/first-steps.yml"
    return {
        "mkdocs.yml": _fill("mkdocs.yml", title=_quote(title)),
        "lessons/course.yml": _fill(
            "course.yml",
            comment=comment_for(KINDS["course"], "lessons/course.yml"),
            title=_quote(title),
        ),
        lesson: _fill("first-lesson.yml", comment=comment_for(KINDS["lesson"], lesson)),
        "kb/drawings/first-steps.svg": _fill("drawing.svg"),
    }


def _fill(template: str, **values: str) -> str:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES), undefined=StrictUndefined, keep_trailing_newline=True
    )
    return environment.get_template(template).render(**values)


def _quote(text: str) -> str:
    """Write text as a quoted YAML value, whatever stands in it."""
    import json

    return json.dumps(text, ensure_ascii=False)
