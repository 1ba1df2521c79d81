"""The shapes that calculators hand out: answers, errors and warnings."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict


class Band(TypedDict):
    """How sure an answer is: its ends in the unit of the answer, and in words for both systems."""

    low: float
    high: float
    open: bool
    text: str
    us: str
    mostly: str


class Answer(TypedDict):
    """One answer: its value in its unit, and as written in both systems."""

    value: Any
    unit: str
    text: str
    us: str
    band: NotRequired[Band]


class InputError(TypedDict):
    """Why there is no answer: at an input ("" for none), and at one of its rows, from 1."""

    input: str
    message: str
    row: NotRequired[int]


class ShownWarning(TypedDict):
    """A warning that holds for what was typed."""

    id: str
    message: str


class Answers(TypedDict, total=False):
    """Answers, or only `errors`."""

    outputs: dict[str, Answer]
    warnings: list[ShownWarning]
    defaults_used: list[str]
    left_out: list[str]
    errors: list[InputError]
