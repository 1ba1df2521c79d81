"""Editors and builder agree on the shipped course: each file names its schema and fits it."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from builder.library.loader import find_kind
from builder.schema import comment_for, make_schemas
from tests.shipped import ROOT

pytestmark = pytest.mark.site
SCHEMAS = make_schemas()
FILES = sorted(
    path.relative_to(ROOT).as_posix()
    for folder in ("lessons", "kb")
    for path in (ROOT / folder).rglob("*.yml")
)


class TextLoader(yaml.CSafeLoader):
    """Reads as an editor's YAML 1.2 does: yes, no and dates stay text."""


TextLoader.yaml_implicit_resolvers = {
    letter: [
        (tag, pattern)
        for tag, pattern in resolvers
        if not tag.endswith((":timestamp", ":bool")) or letter in "tTfF"
    ]
    for letter, resolvers in yaml.CSafeLoader.yaml_implicit_resolvers.items()
}


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_each_schema_is_valid_in_its_dialect(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])


@pytest.mark.parametrize("file", FILES)
def test_a_file_names_its_schema_and_fits_it(file: str) -> None:
    text = (ROOT / file).read_text(encoding="utf-8")
    placed = find_kind(file)
    assert placed is not None
    kind, many = placed
    assert text.splitlines()[0] == comment_for(kind, file, many=many)
    schema = SCHEMAS[f"{kind.name}{'.many' if many else ''}.json"]
    value = json.loads(json.dumps(yaml.load(text, Loader=TextLoader)))
    jsonschema.Draft202012Validator(schema).validate(value)


def test_there_are_files_to_look_at() -> None:
    assert len(FILES) > 200
    assert all(Path(ROOT / file).is_file() for file in FILES)
