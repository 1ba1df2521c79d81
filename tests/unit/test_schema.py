"""The JSON Schemas accept what the builder accepts; that they are valid is checked elsewhere."""

from __future__ import annotations

import jsonschema
import pytest

from builder.model import KINDS
from builder.schema import make_schemas
from builder.starters import make_starter
from tests.helpers import read_yaml

SCHEMAS = make_schemas()


def test_every_kind_has_a_schema_and_every_field_a_place_in_it() -> None:
    for kind in KINDS.values():
        schema = SCHEMAS[f"{kind.name}.json"]
        assert set(schema["properties"]) == set(kind.model.model_fields) - {"id"}


def test_a_starting_file_fits_its_schema_and_a_slip_does_not() -> None:
    files = make_starter("course", "Paper flowers", None)
    course = read_yaml(files["lessons/course.yml"])
    jsonschema.validate(course, SCHEMAS["course.json"])
    with pytest.raises(jsonschema.ValidationError, match="tracs"):
        jsonschema.validate({**course, "tracs": []}, SCHEMAS["course.json"])
    lesson = read_yaml(files["lessons/main/first-steps.yml"])
    jsonschema.validate({"first": lesson}, SCHEMAS["lesson.many.json"])
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"Not An Id": lesson}, SCHEMAS["lesson.many.json"])
