"""The course folder as a `Library`: every entry typed and indexed, every place on record.

Reading is in two parts, so that tests need no disk: `collect_files` takes the YAML files of a
folder into memory, `build_library` makes entries of them. Whatever is wrong becomes a finding; the
broken entry is left out and the rest goes on.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any, TypeVar, cast, get_args

from pydantic import BaseModel, ValidationError

from builder.diagnostics import Diagnostic, Location, Related, Route, Severity
from builder.model import (
    KINDS,
    Case,
    Cause,
    Caution,
    Citation,
    Course,
    Defect,
    Entry,
    Fix,
    Kind,
    Lesson,
    Material,
    PlannedClass,
    Question,
    RefersTo,
    Symptom,
    Term,
    Tool,
    walk_marks,
)
from builder.yaml_source import Document, parse_yaml

FOLDERS = ("lessons", "kb")
DRAWINGS = "kb/drawings"

E = TypeVar("E", bound=Entry)


@dataclass(frozen=True, slots=True)
class Source:
    """Where an entry stands: its document, and the route to it within the document."""

    document: Document
    route: Route = ()


@dataclass(frozen=True, slots=True)
class Library:
    """Everything the course folder says.

    `entries` maps a kind's name to its entries by id, in order of id. `broken` holds the
    (kind, id) of entries that were found but could not be read, so that a reference to one of them
    is not reported as unknown on top; `drafts` those of entries that are not ready yet.
    """

    entries: Mapping[str, Mapping[str, Entry]]
    sources: Mapping[tuple[str, str], Source] = field(repr=False)
    broken: frozenset[tuple[str, str]] = frozenset()
    drafts: frozenset[tuple[str, str]] = frozenset()
    drawings: Mapping[str, str] = field(default_factory=dict, repr=False)

    def all_of(self, kind: str, model: type[E]) -> Mapping[str, E]:
        """Give the entries of a kind by id."""
        # `KINDS` says which model a kind has; looking at each entry again would cost every caller.
        assert KINDS[kind].model is model
        return cast(Mapping[str, E], self.entries.get(kind, {}))

    @property
    def course(self) -> Course | None:
        """The course, or None where `lessons/course.yml` is missing or broken."""
        return self.all_of("course", Course).get("course")

    @property
    def lessons(self) -> Mapping[str, Lesson]:
        """Lessons by id."""
        return self.all_of("lesson", Lesson)

    @property
    def classes(self) -> Mapping[str, PlannedClass]:
        """Planned classes by id."""
        return self.all_of("class", PlannedClass)

    @property
    def defects(self) -> Mapping[str, Defect]:
        """Defects by id."""
        return self.all_of("defect", Defect)

    @property
    def causes(self) -> Mapping[str, Cause]:
        """Causes by id."""
        return self.all_of("cause", Cause)

    @property
    def fixes(self) -> Mapping[str, Fix]:
        """Fixes by id."""
        return self.all_of("fix", Fix)

    @property
    def symptoms(self) -> Mapping[str, Symptom]:
        """Symptoms by id."""
        return self.all_of("symptom", Symptom)

    @property
    def questions(self) -> Mapping[str, Question]:
        """Questions by id."""
        return self.all_of("question", Question)

    @property
    def materials(self) -> Mapping[str, Material]:
        """Materials by id."""
        return self.all_of("material", Material)

    @property
    def tools(self) -> Mapping[str, Tool]:
        """Tools by id."""
        return self.all_of("tool", Tool)

    @property
    def cautions(self) -> Mapping[str, Caution]:
        """Cautions by id."""
        return self.all_of("caution", Caution)

    @property
    def cases(self) -> Mapping[str, Case]:
        """Cases by id."""
        return self.all_of("case", Case)

    @property
    def terms(self) -> Mapping[str, Term]:
        """Glossary terms by id."""
        return self.all_of("term", Term)

    @property
    def citations(self) -> Mapping[str, Citation]:
        """Citations by id."""
        return self.all_of("citation", Citation)

    def walk(self) -> Iterable[Entry]:
        """Give every entry, kinds in documented order, ids in order."""
        for kind in KINDS:
            yield from self.entries.get(kind, {}).values()

    def knows(self, kind: str, entry: str) -> bool:
        """Say whether an id is taken, by an entry, a draft or one that could not be read."""
        return (kind, entry) in self.sources

    def locate(self, entry: Entry, route: Route = (), *, key: bool = False) -> Location:
        """Give the file, line and column of a place within an entry."""
        source = self.sources[entry.kind, entry.id]
        return source.document.locate((*source.route, *route), key=key)

    def report(
        self,
        rule: str,
        entry: Entry,
        route: Route,
        message: str,
        hint: str = "",
        *,
        severity: Severity = Severity.ERROR,
        key: bool = False,
        related: Iterable[tuple[Entry, Route, str]] = (),
    ) -> Diagnostic:
        """Make a finding about a place within an entry."""
        return Diagnostic(
            rule,
            severity,
            self.locate(entry, route, key=key),
            f"{entry.kind}:{entry.id}",
            message,
            hint,
            tuple(Related(self.locate(other, path), note) for other, path, note in related),
        )

    def suggest(self, kind: str, wrong: str) -> str:
        """Word a hint for an id that does not exist: the nearest one, with its place."""
        if (kind, wrong) in self.drafts:
            return f'{kind} "{wrong}" is a draft; take its line "draft: true" out'
        known = self.entries.get(kind, {})
        near = difflib.get_close_matches(wrong, known, n=1, cutoff=0.6)
        if near:
            place = self.locate(known[near[0]])
            return f'did you mean "{near[0]}"? ({place.file}:{place.line})'
        if not known:
            return f"there is no {kind} in the course yet"
        sample = ", ".join(sorted(known)[:6])
        return f"a {kind} of this course is one of {sample}{', ...' if len(known) > 6 else ''}"


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
            if not many:
                self.broken.add((kind.name, stem))
            return
        source = Source(document)
        if not many:
            self.take_entry(kind, stem, document.value, source)
        elif isinstance(document.value, dict):
            for name, value in document.value.items():
                self.take_entry(kind, name, value, Source(document, (name,)))
        elif document.value is not None:
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
        place = source.document.locate(source.route, key=True)
        where = f"{kind.name}:{name}"
        if not isinstance(value, dict):
            empty = value is None or value == ""
            said = "is empty" if empty else "must be a mapping of fields to values"
            self.findings.append(
                Diagnostic(
                    "value-invalid",
                    Severity.ERROR,
                    place,
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
                self.findings.append(_explain(kind, where, source, value, dict(problem)))
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


_NAMES = {
    "string_type": "text",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "tuple_type": "a list",
    "dict_type": "a mapping",
    "model_type": "a mapping of fields to values",
    "model_attributes_type": "a mapping of fields to values",
    "float_type": "a number",
}


def _true_route(value: Any, route: Route) -> Route:
    """Leave out of a reader's route what is no key of the file: the name of a variety of entry."""
    true: list[str | int] = []
    for position, part in enumerate(route):
        last = position == len(route) - 1
        inside_list = isinstance(value, list) and isinstance(part, int) and part < len(value)
        if inside_list or (isinstance(value, dict) and part in value):
            value = value[part]
        elif not last:
            continue
        true.append(part)
    return tuple(true)


def _name_field(route: Route) -> str:
    """Name a field for an author: `time`, or `item 2 of steps`."""
    if not route:
        return ""
    if isinstance(route[-1], int):
        names = [part for part in route if isinstance(part, str)]
        return f"item {route[-1] + 1} of {names[-1]}" if names else f"item {route[-1] + 1}"
    return route[-1]


def _explain(
    kind: Kind, where: str, source: Source, value: dict[str, Any], problem: dict[str, Any]
) -> Diagnostic:
    """Turn one complaint of the reader into a finding an author understands."""
    field_route = _true_route(value, tuple(part for part in problem["loc"] if part != "[key]"))
    name = _name_field(field_route)
    found = problem.get("input")
    rule, key, hint = "value-invalid", False, ""
    match problem["type"]:
        case "missing":
            rule, key = "field-missing", True
            owner = field_route[:-1]
            what = f'the field "{name}" is missing'
            model = _model_at(kind.model, value, owner)
            description = (model.model_fields[name].description or "") if model else ""
            hint = f"add {name}: {description}".rstrip(": ") if description else f'add "{name}:"'
            place = source.document.locate((*source.route, *owner), key=not owner)
            return Diagnostic(rule, Severity.ERROR, place, where, what, hint)
        case "extra_forbidden":
            rule, key = "field-unknown", True
            model = _model_at(kind.model, value, field_route[:-1])
            fields = [each for each in (model.model_fields if model else {}) if each != "id"]
            near = difflib.get_close_matches(name, fields, n=1, cutoff=0.6)
            owner_name = _describe_owner(kind, field_route[:-1])
            what = f'{owner_name} has no field "{name}"'
            hint = f'did you mean "{near[0]}"?' if near else f"its fields are {', '.join(fields)}"
        case "value_error":
            what = str(problem["msg"]).removeprefix("Value error, ")
        case "string_pattern_mismatch" if name == "id" and not isinstance(found, dict):
            what = f'"{found}" is not an id'
            hint = "an id is lower-case words joined by hyphens, such as first-layer"
            if len(field_route) == 1:  # an entry's own id is its file's name or its key
                field_route, key = (), True
        case "string_pattern_mismatch":
            what = f'"{found}" is not a value for "{name}"'
            hint = f"it must fit the pattern {problem['msg'].split('pattern ')[-1]}"
        case "enum" | "literal_error":
            what = f'"{found}" is not a value for "{name}"'
            hint = f"write {str(problem['msg']).removeprefix('Input should be ')}"
        case other if other in _NAMES:
            said = "is empty" if found is None else f"is {found!r}"
            what = f'"{name}" {said}; it must be {_NAMES[other]}'
        case "union_tag_invalid" | "union_tag_not_found":
            chosen = found.get("kind") if isinstance(found, dict) else None
            what = f'{name} has the kind "{chosen}"' if chosen else f"{name} has no kind"
            kinds = _list_varieties(kind.model, value, field_route)
            hint = f"write kind: and one of {', '.join(kinds)}"
        case "too_short":
            what = f'"{name}" is empty; it needs at least one item'
        case _:
            said = "is empty" if found in (None, "", [], {}) else f"is {found!r}"
            if len(said) > 80:
                said = f"{said[:77]}..."
            rest = str(problem["msg"])
            what = f'"{name}" {said}: {rest[0].lower()}{rest[1:]}'
    place = source.document.locate((*source.route, *field_route), key=key)
    return Diagnostic(rule, Severity.ERROR, place, where, what, hint)


def _model_at(model: type[BaseModel], value: Any, route: Route) -> type[BaseModel] | None:
    """Find the model of the part that a route leads to."""
    current: type[BaseModel] | None = model
    inner: list[type[BaseModel]] = [model]
    for part in route:
        value = value[part] if part in value or isinstance(part, int) else None
        if current is not None and isinstance(part, str) and part in current.model_fields:
            inner = list(_inner_models(current.model_fields[part].annotation))
        current = _choose_model(inner, value)
    return current


def _list_varieties(model: type[BaseModel], value: Any, route: Route) -> list[str]:
    """List the names of the varieties that an entry may have at a place."""
    owner = _model_at(model, value, route[:-2])
    field = next((part for part in reversed(route) if isinstance(part, str)), "")
    info = owner.model_fields.get(field) if owner else None
    models = list(_inner_models(info.annotation)) if info else []
    named = [each.model_fields["kind"].annotation for each in models if "kind" in each.model_fields]
    return [str(name) for annotation in named for name in get_args(annotation)]


def _choose_model(models: list[type[BaseModel]], value: Any) -> type[BaseModel] | None:
    """Choose among the varieties of an entry by the field that names the variety."""
    if len(models) > 1 and isinstance(value, dict):
        for model in models:
            named = model.model_fields.get("kind")
            if named is not None and value.get("kind") in get_args(named.annotation):
                return model
    return models[0] if models else None


def _inner_models(annotation: Any) -> Iterator[Any]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return iter([annotation])
    return iter([model for part in get_args(annotation) for model in _inner_models(part)])


def _describe_owner(kind: Kind, route: Route) -> str:
    names = [str(part) for part in route if isinstance(part, str)]
    if not names:
        return f"a {kind.name}"
    return f'an item of "{names[-1]}"' if isinstance(route[-1], int) else f'"{names[-1]}"'


def walk_references(entry: Entry) -> Iterable[tuple[Route, str, str]]:
    """Give every reference an entry makes: route, kind, id."""
    for route, mark, text in walk_marks(entry):
        if isinstance(mark, RefersTo):
            yield route, mark.kind, text
