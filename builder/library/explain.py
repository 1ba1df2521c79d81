"""The reader's complaints about an entry, turned into findings that an author understands."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel

from builder.diagnostics import Diagnostic, Route, Severity
from builder.library.entries import Source
from builder.model import EntryKind
from builder.model.common import ID_PATTERN
from builder.model.knowledge import ADDRESS_PATTERN, GHS_PATTERN, LABEL_PATTERN

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


_ID_HINT = "an id is lower-case words joined by hyphens, such as first-layer"
_PATTERNS = {
    ID_PATTERN: _ID_HINT,
    r"^[A-Z]{3}$": "write the three capital letters of a currency, such as EUR",
    r"^([01]\d|2[0-3]):[0-5]\d$": 'write the time of day in quotes, such as "18:30"',
    GHS_PATTERN: "write a code as on the label, such as H225, H360FD, H301+H311 or P210",
    ADDRESS_PATTERN: "write an address that begins with https:// and holds no spaces",
    LABEL_PATTERN: "write one word or two, with one space between",
}
"""What to write where a text does not fit its pattern."""


def _show(found: Any) -> str:
    """Show a value as it stands in a file."""
    return str(found).lower() if isinstance(found, bool) else repr(found)


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


_CUT_NUMBER = re.compile(r"^\d+\s*[A-Za-z%°µ/]*$")


def explain(
    kind: EntryKind, where: str, source: Source, value: dict[str, Any], problem: dict[str, Any]
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
            if _CUT_NUMBER.match(name):  # in braces a comma ends the value: {amount: 0,4 g}
                what = f'"{name}" seems to be the end of a number that a comma has cut in two'
                hint = "write the number with a point, for instance 0.4 g"
        case "value_error":
            what = str(problem["msg"]).removeprefix("Value error, ")
        case "string_pattern_mismatch" if name == "id" and not isinstance(found, dict):
            what = f'"{found}" is not an id'
            hint = _ID_HINT
            if len(field_route) == 1:  # an entry's own id is its file's name or its key
                field_route, key = (), True
        case "string_pattern_mismatch":
            said = f'"{found}"' if len(str(found)) <= 80 else f'"{str(found)[:77]}..."'
            what = f'{said} is not a value for "{name}"'
            pattern = str(problem["msg"]).split("pattern '")[-1].removesuffix("'")
            hint = _PATTERNS.get(pattern, f"it must fit the pattern {pattern}")
        case "enum" | "literal_error":
            what = f'"{found}" is not a value for "{name}"'
            hint = f"write {str(problem['msg']).removeprefix('Input should be ')}"
        case other if other in _NAMES:
            said = "is empty" if found is None else f"is {_show(found)}"
            what = f'"{name}" {said}; it must be {_NAMES[other]}'
        case "union_tag_invalid" | "union_tag_not_found":
            chosen = found.get("kind") if isinstance(found, dict) else None
            what = f'{name} has the kind "{chosen}"' if chosen else f"{name} has no kind"
            kinds = _list_varieties(kind.model, value, field_route)
            hint = f"write kind: and one of {', '.join(kinds)}"
        case "int_type" | "int_parsing" | "int_from_float":
            what = f'"{name}" {_say_found(found)}; it must be a whole number'
            hint = "write it in figures, for instance 8"
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal" as other:
            limit = str(problem["msg"]).split()[-1]
            words = {"greater_than": "more than", "less_than": "less than"}
            words |= {"greater_than_equal": "at least", "less_than_equal": "at most"}
            what = f'"{name}" {_say_found(found)}; it must be {words[other]} {limit}'
        case "too_short":
            least, held = problem["ctx"]["min_length"], problem["ctx"]["actual_length"]
            needed = "one item" if least == 1 else f"{least} items"
            holds = "is empty" if held == 0 else f"holds only {held}"
            what = f'"{name}" {holds}; it needs at least {needed}'
        case _:
            rest = str(problem["msg"])
            what = f'"{name}" {_say_found(found)}: {rest[0].lower()}{rest[1:]}'
    place = source.document.locate((*source.route, *field_route), key=key)
    return Diagnostic(rule, Severity.ERROR, place, where, what, hint)


def _say_found(found: Any) -> str:
    said = "is empty" if found in (None, "", [], {}) else f"is {found!r}"
    return said if len(said) <= 80 else f"{said[:77]}..."


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


def _describe_owner(kind: EntryKind, route: Route) -> str:
    names = [str(part) for part in route if isinstance(part, str)]
    if not names:
        return f"a {kind.name}"
    return f'an item of "{names[-1]}"' if isinstance(route[-1], int) else f'"{names[-1]}"'
