"""Reading: files in memory become entries; whatever is wrong becomes a finding."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from pydantic import ValidationError

from builder.diagnostics import Diagnostic, Location, Related, Severity
from builder.library.entries import Library, Source
from builder.library.explain import explain
from builder.model import KINDS, Entry, EntryKind, RefersTo, walk_marks
from builder.model.common import ID_PATTERN
from builder.svg_reader import read_drawing
from builder.yaml_source import parse_yaml

FOLDERS = ("lessons", "kb")
DRAWINGS = "kb/drawings"
SUFFIXES = (".yml", ".yaml", ".svg")


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A file or folder that is there and cannot be read, or is none of ours, and how to mend that.

    A warning breaks nothing: the course is read as if it were not there.
    """

    why: str
    hint: str
    is_folder: bool = False
    severity: Severity = Severity.ERROR


_STRAY = Unreadable(
    "this file is in no form that a course is written in, so it is read by nobody",
    "entries end in .yml and drawings in .svg, in small letters; keep anything else elsewhere",
    severity=Severity.WARNING,
)


def collect_files(root: Path) -> dict[str, bytes | Unreadable]:
    """Read the YAML files and drawings of a course folder into memory.

    Args:
        root: The course folder, which holds `lessons/` and `kb/`.

    Returns:
        Path relative to the folder, with forward slashes, to contents; in order of path. What
        cannot be read is there too, with the reason; folders only where they cannot be read.
    """
    files: dict[str, bytes | Unreadable] = {}

    def keep(path: str, contents: bytes | Unreadable) -> None:
        relative = Path(path).relative_to(root)
        if not any(part.startswith(".") for part in relative.parts):
            files[relative.as_posix()] = contents

    def refuse(error: OSError) -> None:
        keep(str(error.filename), _refuse("folder", error))

    for folder in FOLDERS:
        if not (root / folder).is_dir():
            continue
        for place, folders, names in os.walk(root / folder, onerror=refuse):
            for name in folders:
                path = os.path.join(place, name)
                if os.path.islink(path):
                    why = "this is a link to a folder, which is not followed"
                    keep(path, Unreadable(why, "put the files themselves here", True))
                elif os.path.splitext(name)[1].lower() in SUFFIXES:
                    why = "this is a folder with the name of a file, so it is no entry"
                    keep(path, Unreadable(why, "put a file of this name here, or rename it"))
            for name in names:
                path = os.path.join(place, name)
                if os.path.splitext(name)[1] in SUFFIXES:
                    keep(path, _read_file(path))
                elif folder == FOLDERS[0] or os.path.splitext(name)[1].lower() in SUFFIXES:
                    keep(path, _STRAY)
    return {path: files[path] for path in sorted(files, key=_place_of)}


def _place_of(path: str) -> tuple[int, list[str]]:
    parts = path.split("/")
    return FOLDERS.index(parts[0]), parts


def _read_file(path: str) -> bytes | Unreadable:
    if os.path.islink(path) and not os.path.exists(path):
        return Unreadable(
            "this is a link to a file that is not there", "put the file itself here, or remove it"
        )
    if not os.path.isfile(path):
        return Unreadable("this is no ordinary file", "put a file here, or remove it")
    try:
        with open(path, "rb") as file:
            return file.read()
    except OSError as error:
        return _refuse("file", error)


def _refuse(what: str, error: OSError) -> Unreadable:
    reason = (error.strerror or "unknown reason").lower()
    hint = f"see to it that you may read this {what}, or remove it"
    return Unreadable(f"this {what} cannot be read: {reason}", hint, what == "folder")


def build_library(
    files: Mapping[str, bytes | str | Unreadable],
) -> tuple[Library, list[Diagnostic]]:
    """Make a library of files in memory.

    Args:
        files: Path relative to the course folder to contents, or to why they cannot be read.

    Returns:
        The library of all entries that could be read, and the findings about the others.
    """
    builder = _Builder()
    for file in sorted(files):
        contents = files[file]
        if isinstance(contents, Unreadable):
            builder.take_unreadable(file, contents)
        elif file.startswith(f"{DRAWINGS}/"):
            builder.take_drawing(file, contents)
        elif file.endswith((".yml", ".yaml")):
            builder.take_file(file, contents)
    return builder.finish()


def load_library(root: Path) -> tuple[Library, list[Diagnostic]]:
    """Read a course folder from disk; see `build_library`."""
    return build_library(collect_files(root))


class _Builder:
    """Collects entries file by file."""

    def __init__(self) -> None:
        self.entries: dict[str, dict[str, Entry]] = {kind: {} for kind in KINDS}
        self.sources: dict[tuple[str, str], Source] = {}
        self.broken: set[tuple[str, str]] = set()
        self.drafts: set[tuple[str, str]] = set()
        self.findings: list[Diagnostic] = []
        self.drawings: dict[str, str] = {}

    def take_drawing(self, file: str, contents: bytes | str) -> None:
        path = PurePosixPath(file)
        if path.suffix != ".svg" or path.parent.as_posix() != DRAWINGS:
            why = f"this file is not read, because drawings stand in {DRAWINGS} itself, as .svg"
            self.warn(file, why, "move it there, or remove it")
            return
        if not re.match(ID_PATTERN, path.stem):
            hint = "name it in small letters and digits with hyphens, such as first-layer.svg"
            self.warn(file, "no entry can name a drawing that is called this", hint)
        svg, refused = read_drawing(contents, path.stem)
        if svg:
            self.drawings[path.stem] = svg
        else:
            self.broken.add(("drawing", path.stem))
        self.findings.extend(
            Diagnostic(
                "drawing-unsafe",
                Severity.ERROR,
                Location(file, each.line, each.column),
                "",
                each.message,
                each.hint,
            )
            for each in refused
        )

    def report(
        self,
        rule: str,
        place: Location,
        message: str,
        hint: str,
        related: tuple[Related, ...] = (),
        *,
        where: str = "",
    ) -> None:
        self.findings.append(Diagnostic(rule, Severity.ERROR, place, where, message, hint, related))

    def warn(self, file: str, message: str, hint: str) -> None:
        self.findings.append(
            Diagnostic("value-invalid", Severity.WARNING, Location(file), "", message, hint)
        )

    def take_unreadable(self, file: str, found: Unreadable) -> None:
        if found.severity is Severity.WARNING:
            self.warn(file, found.why, found.hint)
            return
        self.report("yaml-syntax", Location(file), found.why, found.hint)
        path = PurePosixPath(file)
        if found.is_folder:
            for kind in KINDS.values():
                if f"{file}/".startswith(f"{kind.place}/") or kind.place.startswith(f"{file}/"):
                    self.broken.add((kind.name, "*"))
        elif (placed := find_kind(file)) is not None and path.suffix != ".svg":
            self.broken.add((placed[0].name, "*" if placed[1] else path.stem))

    def take_file(self, file: str, contents: bytes | str) -> None:
        placed = find_kind(file)
        if placed is None:
            self.warn(
                file,
                "this file is in no place where entries are kept, so it is not read",
                "entries are kept in "
                + ", ".join(f"{kind.place}.yml or {kind.place}/" for kind in KINDS.values()),
            )
            return
        kind, many = placed
        document, findings = parse_yaml(file, contents)
        self.findings.extend(findings)
        stem = PurePosixPath(file).stem
        if document is None:
            self.broken.add((kind.name, "*" if many else stem))
            return
        source = Source(document)
        if not many:
            self.take_entry(kind, stem, document.value, source)
        elif isinstance(document.value, dict):
            for name, value in document.value.items():
                self.take_entry(kind, name, value, Source(document, (name,)))
        elif document.value is not None:
            self.broken.add((kind.name, "*"))
            self.report(
                "value-invalid",
                document.locate(()),
                f"this file must map each {kind.name}'s id to its fields",
                "write an id, a colon, and the fields indented below it",
            )

    def take_entry(self, kind: EntryKind, name: str, value: Any, source: Source) -> None:
        if (kind.name, name) in self.sources:
            first = self.sources[kind.name, name]
            self.report(
                "id-duplicate",
                source.document.locate(source.route, key=True),
                f'there is a second {kind.name} with the id "{name}"',
                "rename one of the two",
                (Related(first.document.locate(first.route, key=True), "the first one"),),
                where=f"{kind.name}:{name}",
            )
            return
        self.sources[kind.name, name] = source
        where = f"{kind.name}:{name}"
        if not isinstance(value, dict):
            empty = value is None or value == ""
            said = "is empty" if empty else "must be a mapping of fields to values"
            self.report(
                "value-invalid",
                source.document.locate(source.route, key=True),
                f'{kind.name} "{name}" {said}',
                "write its fields one a line, each followed by a colon and its value",
                where=where,
            )
            self.broken.add((kind.name, name))
            return
        if "id" in value:
            self.report(
                "field-unknown",
                source.document.locate((*source.route, "id"), key=True),
                'the field "id" is not written',
                "the id is the name of the file, or the key in a file of many; remove the line",
                where=where,
            )
        try:
            entry = kind.model.model_validate({**_rename(kind, value), "id": name})
        except ValidationError as error:
            self.broken.add((kind.name, name))
            problems = error.errors(include_url=False)
            broken_inside = {
                problem["loc"][:end] for problem in problems for end in range(len(problem["loc"]))
            }
            for problem in problems:
                if problem["type"] == "too_short" and problem["loc"] in broken_inside:
                    continue  # the list is short only because its broken items were left out
                self.findings.append(explain(kind, where, source, value, dict(problem)))
        else:
            if entry.draft:
                self.drafts.add((kind.name, name))
            else:
                self.entries[kind.name][name] = entry
                self.find_cut_texts(entry, where, source)

    def find_cut_texts(self, entry: Entry, where: str, source: Source) -> None:
        """Report texts that end where a comment begins."""
        cut = source.document.cut
        for route, mark, text in walk_marks(entry) if cut else ():
            if isinstance(mark, RefersTo):
                continue
            place = source.document.locate((*source.route, *route))
            if (place.line, place.column) in cut:
                self.findings.append(
                    Diagnostic(
                        "text-cut",
                        Severity.WARNING,
                        place,
                        where,
                        f'this text ends in "{text[-30:]}", because a comment begins after it',
                        "put the text in quotes, or the comment in a line of its own",
                    )
                )

    def finish(self) -> tuple[Library, list[Diagnostic]]:
        entries = {kind: dict(sorted(found.items())) for kind, found in self.entries.items()}
        library = Library(
            entries, self.sources, frozenset(self.broken), frozenset(self.drafts), self.drawings
        )
        if ("course", "course") in self.drafts:
            source = self.sources["course", "course"]
            self.report(
                "field-missing",
                source.document.locate(("draft",), key=True),
                "the course itself is a draft, so there is none",
                'take the line "draft: true" out',
                where="course:course",
            )
        elif library.settings is None and not {("course", "course"), ("course", "*")} & self.broken:
            self.report(
                "field-missing",
                Location("lessons/course.yml"),
                "there is no lessons/course.yml, which names the course, its tracks and words",
                "start one with: benchlore new course NAME",
                where="course:course",
            )
        return library, self.findings


def _rename(kind: EntryKind, value: dict[str, Any]) -> dict[str, Any]:
    """Give the fields of an entry their names of today; a field under both keeps the new one."""
    old = kind.model.old_names
    if not old.keys() & value.keys():
        return value
    renamed = {old.get(name, name): each for name, each in value.items()}
    return {**renamed, **{name: each for name, each in value.items() if name not in old}}


def find_kind(file: str) -> tuple[EntryKind, bool] | None:
    """Give the kind a file holds and whether it holds many entries; None where it has no place."""
    path = PurePosixPath(file)
    place = path.with_suffix("").as_posix()
    for kind in KINDS.values():
        if kind.name == "course":
            if place == kind.place:
                return kind, False
        elif place == kind.place:
            return kind, True
        elif place.startswith(f"{kind.place}/"):
            return kind, False
    return None
