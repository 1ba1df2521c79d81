"""Reading: files in memory become entries; whatever is wrong becomes a finding."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Any

from pydantic import ValidationError

from builder.diagnostics import Diagnostic, Location, Related, Severity
from builder.library.entries import Library, Source
from builder.library.explain import explain
from builder.model import KINDS, Entry, Kind
from builder.yaml_source import parse_yaml

FOLDERS = ("lessons", "kb")
DRAWINGS = "kb/drawings"


def collect_files(root: Path) -> dict[str, bytes]:
    """Read the YAML files and drawings of a course folder into memory.

    Args:
        root: The course folder, which holds `lessons/` and `kb/`.

    Returns:
        Path relative to the folder, with forward slashes, to contents; in order of path.

    Raises:
        OSError: If a file cannot be read.
    """
    files: dict[str, bytes] = {}
    for folder in FOLDERS:
        for path in sorted((root / folder).rglob("*")):
            hidden = any(part.startswith(".") for part in path.relative_to(root).parts)
            if path.suffix in (".yml", ".yaml", ".svg") and path.is_file() and not hidden:
                files[path.relative_to(root).as_posix()] = path.read_bytes()
    return files


def build_library(files: Mapping[str, bytes | str]) -> tuple[Library, list[Diagnostic]]:
    """Make a library of files in memory.

    Args:
        files: Path relative to the course folder to contents.

    Returns:
        The library of all entries that could be read, and the findings about the others.
    """
    builder = _Builder()
    for file in sorted(files):
        if file.startswith(f"{DRAWINGS}/"):
            builder.take_drawing(file, files[file])
        elif file.endswith((".yml", ".yaml")):
            builder.take_file(file, files[file])
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
        if path.suffix == ".svg" and path.parent.as_posix() == DRAWINGS:
            text = contents if isinstance(contents, str) else contents.decode("utf-8", "replace")
            self.drawings[path.stem] = text

    def take_file(self, file: str, contents: bytes | str) -> None:
        placed = _find_kind(file)
        if placed is None:
            self.findings.append(
                Diagnostic(
                    "value-invalid",
                    Severity.WARNING,
                    Location(file),
                    "",
                    "this file is in no place where entries are kept, so it is not read",
                    "entries are kept in "
                    + ", ".join(f"{kind.place}.yml or {kind.place}/" for kind in KINDS.values()),
                )
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
            self.findings.append(
                Diagnostic(
                    "value-invalid",
                    Severity.ERROR,
                    document.locate(()),
                    "",
                    f"this file must map each {kind.name}'s id to its fields",
                    "write an id, a colon, and the fields indented below it",
                )
            )

    def take_entry(self, kind: Kind, name: str, value: Any, source: Source) -> None:
        if (kind.name, name) in self.sources:
            first = self.sources[kind.name, name]
            self.findings.append(
                Diagnostic(
                    "id-duplicate",
                    Severity.ERROR,
                    source.document.locate(source.route, key=True),
                    f"{kind.name}:{name}",
                    f'there is a second {kind.name} with the id "{name}"',
                    "rename one of the two",
                    (Related(first.document.locate(first.route, key=True), "the first one"),),
                )
            )
            return
        self.sources[kind.name, name] = source
        where = f"{kind.name}:{name}"
        if not isinstance(value, dict):
            empty = value is None or value == ""
            said = "is empty" if empty else "must be a mapping of fields to values"
            self.findings.append(
                Diagnostic(
                    "value-invalid",
                    Severity.ERROR,
                    source.document.locate(source.route, key=True),
                    where,
                    f'{kind.name} "{name}" {said}',
                    "write its fields one a line, each followed by a colon and its value",
                )
            )
            self.broken.add((kind.name, name))
            return
        if "id" in value:
            self.findings.append(
                Diagnostic(
                    "field-unknown",
                    Severity.ERROR,
                    source.document.locate((*source.route, "id"), key=True),
                    where,
                    'the field "id" is not written',
                    "the id is the name of the file, or the key in a file of many; remove the line",
                )
            )
        try:
            entry = kind.model.model_validate({**value, "id": name})
        except ValidationError as error:
            self.broken.add((kind.name, name))
            problems = error.errors(include_url=False, include_context=False)
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

    def finish(self) -> tuple[Library, list[Diagnostic]]:
        entries = {kind: dict(sorted(found.items())) for kind, found in self.entries.items()}
        library = Library(
            entries, self.sources, frozenset(self.broken), frozenset(self.drafts), self.drawings
        )
        if library.course is None and ("course", "course") not in self.broken:
            self.findings.append(
                Diagnostic(
                    "field-missing",
                    Severity.ERROR,
                    Location("lessons/course.yml"),
                    "course:course",
                    "there is no lessons/course.yml, which names the course, its tracks and words",
                    "start one with: benchlore new course NAME",
                )
            )
        return library, self.findings


def _find_kind(file: str) -> tuple[Kind, bool] | None:
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
