"""Field types that every kind of entry shares: ids, references, text, quantities, how often."""

from __future__ import annotations

import zoneinfo
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, get_args, get_origin

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    WithJsonSchema,
)
from pydantic.json_schema import SkipJsonSchema

from builder.diagnostics import Route
from builder.frequencies import COMMONNESS, FREQUENCIES
from builder.units import (
    CURRENCIES,
    Quantity,
    UnitError,
    Window,
    describe_dimension,
    parse_quantity,
    parse_window,
)

ID_PATTERN = r"^[a-z0-9]+(?:-[a-z0-9]+)*$"
Id = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
"""A kebab-case id, for instance `first-layer`."""


@dataclass(frozen=True, slots=True)
class RefersTo:
    """Marks a text field as the id of an entry of this kind."""

    kind: str


@dataclass(frozen=True, slots=True)
class MarkdownText:
    """Marks a text field as Markdown for readers; raw HTML in it is shown as text, never run."""


@dataclass(frozen=True, slots=True)
class PlainText:
    """Marks a text field as plain: whatever stands in it is shown as it stands, everywhere.

    `braces` says that names and quantities in braces are filled in all the same.
    """

    braces: bool = False


def Ref(kind: str) -> Any:
    """Give the type of a field that holds the id of an entry of a kind."""
    return Annotated[
        str,
        StringConstraints(pattern=ID_PATTERN),
        RefersTo(kind),
        WithJsonSchema(
            {"type": "string", "pattern": ID_PATTERN, "description": f"Id of a {kind}."}
        ),
    ]


Text = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True), MarkdownText()]
"""Markdown for readers, never empty. Links to entries are written `[words](defect:id)`; a quantity
in braces, `{60 degC}` or `{57 to 63 degC}`, is shown in metric and US units."""
Line = Annotated[
    str,
    StringConstraints(min_length=1, max_length=200, strip_whitespace=True),
    PlainText(),
]
"""One line of plain text: a name, a title, a label. Markdown in it is shown as it stands."""
LineWithQuantities = Annotated[
    str,
    StringConstraints(min_length=1, max_length=200, strip_whitespace=True),
    PlainText(braces=True),
]
"""One line of plain text, in which a quantity in braces is shown in metric and US units."""
Picture = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
"""Name of a drawing in `kb/drawings/`, without `.svg`."""


def _read_quantity(dimensions: tuple[str, ...], example: str) -> Any:
    def read(value: Any) -> Quantity:
        if isinstance(value, Quantity):
            return value
        if not isinstance(value, str):
            raise ValueError(f"{value} has no unit; write a quantity such as {example}")
        try:
            quantity = parse_quantity(value)
        except UnitError as error:
            raise ValueError(str(error)) from error
        if quantity.dimension not in dimensions:
            wanted = " or ".join(describe_dimension(name) for name in dimensions)
            raise ValueError(f'"{value}" is {describe_dimension(quantity.dimension)}, not {wanted}')
        _refuse_impossible(quantity, value)
        return quantity

    return read


def _refuse_impossible(quantity: Quantity, written: str) -> None:
    """Refuse what is less than nothing: no such mass, time or temperature can be."""
    if quantity.base < 0:
        least = "absolute zero" if quantity.dimension == "[temperature]" else "nothing"
        raise ValueError(f'"{written}" is less than {least}')


def _read_window(dimension: str) -> Any:
    def read(value: Any) -> Window:
        if isinstance(value, Window):
            return value
        if not isinstance(value, str):
            raise ValueError(f"{value} has no unit; write a window such as 57 to 63 degC")
        try:
            window = parse_window(value)
        except UnitError as error:
            raise ValueError(str(error)) from error
        if window.dimension != dimension:
            wanted = describe_dimension(dimension)
            raise ValueError(f'"{value}" is {describe_dimension(window.dimension)}, not {wanted}')
        _refuse_impossible(window.low, value)
        return window

    return read


def _quantity_type(example: str, *dimensions: str) -> Any:
    schema = {"type": "string", "description": f"A quantity with its unit, for instance {example}."}
    return Annotated[
        Quantity, BeforeValidator(_read_quantity(dimensions, example)), WithJsonSchema(schema)
    ]


_MONEY = tuple(f"[{code.lower()}]" for code in CURRENCIES)
Mass = _quantity_type("113 g", "[mass]")
Amount = _quantity_type("113 g or 2 mL", "[mass]", "[length] ** 3")
Duration = _quantity_type("20 min", "[time]")
Temperature = _quantity_type("60 degC", "[temperature]")
Share = _quantity_type("2 %", "dimensionless")
Density = _quantity_type("0.95 g/mL", "[mass] / [length] ** 3")
Price = _quantity_type("18.90 EUR", *_MONEY)


def _read_time_zone(value: Any) -> str:
    if isinstance(value, str) and value in load_time_zones():
        return value
    raise ValueError(f'"{value}" is no time zone; write one such as Europe/Berlin')


@cache
def load_time_zones() -> frozenset[str]:
    """Load the names of all time zones (the IANA time zone database)."""
    return frozenset(zoneinfo.available_timezones())


TimeZone = Annotated[
    str,
    BeforeValidator(_read_time_zone),
    WithJsonSchema({"type": "string", "description": "A time zone, for instance Europe/Berlin."}),
]
TemperatureWindow = Annotated[
    Window,
    BeforeValidator(_read_window("[temperature]")),
    WithJsonSchema({"type": "string", "description": "A window, for instance 57 to 63 degC."}),
]


def _read_frequency(value: Any, words: Mapping[str, float] = FREQUENCIES) -> float:
    if isinstance(value, str) and value in FREQUENCIES:
        return FREQUENCIES[value]
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if number and 0 < value < 1:
        return float(value)
    raise ValueError(
        f'"{value}" does not say how often; write one of {", ".join(words)}, '
        "or a number between 0 and 1"
    )


HowOften = Annotated[
    float,
    BeforeValidator(_read_frequency),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": list(FREQUENCIES)},
                {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
            ],
            "description": "How often: a word, or a number between 0 and 1.",
        }
    ),
]
"""How often, held as a chance between 0 and 1."""


def _read_commonness(value: Any) -> float:
    if isinstance(value, str) and value in COMMONNESS:
        return COMMONNESS[value]
    return _read_frequency(value, COMMONNESS)


HowCommon = Annotated[
    float,
    BeforeValidator(_read_commonness),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": [*COMMONNESS, *FREQUENCIES]},
                {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
            ],
            "description": "In how many batches: a word, or a number between 0 and 1.",
        }
    ),
]
"""In how many of all batches, held as a chance between 0 and 1."""


class Level(StrEnum):
    """Levels of a course, in the order they are taught."""

    BEGINNER = "beginner"
    INTERMEDIATE = "intermediate"
    ADVANCED = "advanced"

    @property
    def rank(self) -> int:
        """0 for the first level taught."""
        return list(Level).index(self)


class Hazard(StrEnum):
    """What can hurt, in classes close to those of GHS; declared by materials and tools."""

    FLAMMABLE = "flammable"
    CORROSIVE = "corrosive"
    IRRITANT = "irritant"
    SENSITISER = "sensitiser"
    TOXIC = "toxic"
    OXIDISER = "oxidiser"
    DUST = "dust"
    HOT = "hot"
    SHARP = "sharp"
    ELECTRIC = "electric"


class Protection(StrEnum):
    """What keeps people safe, or helps when something went wrong: what a tool or caution is for.

    `sleeves` stands for all that covers arms and body.
    """

    EYES = "eyes"
    HANDS = "hands"
    SLEEVES = "sleeves"
    VENTILATION = "ventilation"
    FIRST_AID = "first-aid"
    SPILL = "spill"
    FIRE = "fire"


class Part(BaseModel):
    """A piece of an entry: frozen, and refusing fields it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Entry(Part):
    """An entry of the course. Its id is the name of its file, or its key in a file of many."""

    kind: ClassVar[str]
    old_names: ClassVar[Mapping[str, str]] = MappingProxyType({})
    """Names that fields had before, or that other programs write back for them; still read."""
    id: SkipJsonSchema[Id]
    draft: bool = Field(
        default=False,
        description="true leaves the entry out of the course and the site until it is ready.",
    )


class Fact(Part):
    """A number that is a fact, with where it comes from."""

    citation: Ref("citation") = Field(description="Id of the source.")  # type: ignore[valid-type]
    note: Text | None = Field(default=None, description="What to bear in mind about it.")


@cache
def _marked_fields(model: type[BaseModel]) -> tuple[tuple[str, object | None, bool], ...]:
    """List the fields that hold a mark or may lead to one: name, mark, whether to look inside."""
    found: list[tuple[str, object | None, bool]] = []
    for name, info in model.model_fields.items():
        marks = [
            mark
            for mark in (*info.metadata, *_marks_within(info.annotation))
            if isinstance(mark, RefersTo | MarkdownText | PlainText)
        ]
        models = any(True for _ in _models_within(info.annotation))
        if marks or models:
            found.append((name, marks[0] if marks else None, models))
    return tuple(found)


def _marks_within(annotation: Any) -> Iterator[object]:
    # Of a mapping, the values are walked.
    arguments = get_args(annotation)
    for argument in arguments[1:] if get_origin(annotation) is dict else arguments:
        yield argument
        yield from _marks_within(argument)


def _models_within(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for argument in get_args(annotation):
        yield from _models_within(argument)


def walk_marks(part: BaseModel, route: Route = ()) -> Iterator[tuple[Route, object, str]]:
    """Walk an entry and give every marked text in it.

    Yields:
        The route, the mark (`RefersTo`, `MarkdownText` or `PlainText`), and the text.
    """
    for name, mark, inside in _marked_fields(type(part)):
        value = getattr(part, name)
        if value is None:
            continue
        yield from _walk_value(value, (*route, name), mark, inside)


def _walk_value(
    value: Any, route: Route, mark: object | None, inside: bool
) -> Iterator[tuple[Route, object, str]]:
    if isinstance(value, str):
        if mark is not None:
            yield route, mark, value
    elif isinstance(value, BaseModel):
        if inside:
            yield from walk_marks(value, route)
    elif isinstance(value, tuple | list):
        for index, part in enumerate(value):
            yield from _walk_value(part, (*route, index), mark, inside)
    elif isinstance(value, dict):
        for key, part in value.items():
            yield from _walk_value(part, (*route, key), mark, inside)
