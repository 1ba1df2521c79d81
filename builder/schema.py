"""JSON Schema of every kind of entry, for editors that complete and check YAML as it is typed."""

from __future__ import annotations

from typing import Any

from builder.model import KINDS, EntryKind

DIALECT = "https://json-schema.org/draft/2020-12/schema"
SCHEMA_FOLDER = ".benchlore/schema"
"""Where `schema` writes and where the editor comment in the course's files points."""


def make_schemas() -> dict[str, dict[str, Any]]:
    """Make the schema of each kind, for one entry a file and for a file of many.

    Returns:
        File name (`lesson.json`, `symptom.many.json`) to schema, in documented order.
    """
    schemas: dict[str, dict[str, Any]] = {}
    for kind in KINDS.values():
        one = _make_schema(kind)
        schemas[f"{kind.name}.json"] = one
        if kind.name != "course":
            schemas[f"{kind.name}.many.json"] = _make_many(kind, one)
    return schemas


def _make_schema(kind: EntryKind) -> dict[str, Any]:
    schema = kind.model.model_json_schema()
    return {"$schema": DIALECT, **schema, "title": kind.name}


def _make_many(kind: EntryKind, one: dict[str, Any]) -> dict[str, Any]:
    definitions = dict(one.get("$defs", {}))
    entry = {key: value for key, value in one.items() if key not in ("$schema", "$defs")}
    definitions[kind.name] = entry
    return {
        "$schema": DIALECT,
        "title": f"many of kind {kind.name}",
        "type": "object",
        "propertyNames": {"pattern": r"^[a-z0-9]+(?:-[a-z0-9]+)*$"},
        "additionalProperties": {"$ref": f"#/$defs/{kind.name}"},
        "$defs": definitions,
    }


def comment_for(kind: EntryKind, file: str, *, many: bool = False) -> str:
    """Give the editor comment that wires a file of the course to its schema.

    Args:
        kind: What the file holds.
        file: Path relative to the course folder, for instance `kb/defects/haze.yml`.
        many: Whether the file maps ids to entries.
    """
    up = "../" * file.count("/")
    name = f"{kind.name}{'.many' if many else ''}.json"
    return f"# yaml-language-server: $schema={up}{SCHEMA_FOLDER}/{name}"
