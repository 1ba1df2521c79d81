"""What calculators say: every text by key, and how its places are filled in.

The texts here are English, for the terminal. A course in another language brings its own, from its
table of words, in the description of each calculator.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.primitives import has_key

SAYS: dict[str, str] = {
    # How sure an answer is.
    "between": "between {low} and {high}",
    "beyond": "{band}, or beyond",
    "mostly": "(mostly from “{input}”)",
    # Joining.
    "and": "{first} and {last}",
    "comma": "{first}, {last}",
    "nothing": "nothing",
    # Bounds of an input.
    "at-least": "at least {bound}",
    "more-than": "more than {bound}",
    "at-most": "at most {bound}",
    "less-than": "less than {bound}",
    "outside": "{label} must be {bounds}; {typed} is outside.",
    # Quantities.
    "unread": "{label}: {problem}.",
    "range": "{label}: {typed} is a range; write one value.",
    "unknown-unit": "{label}: {typed} is not a unit known here.",
    "currency": "Prices are in {currency}.",
    "absolute-zero": "{label}: {typed} lies below absolute zero.",
    "wrong-unit": "{typed} is {found}, and {label} is {wanted}.",
    "weight-ounce": "A weight ounce (oz, 28.35 g) is not a fluid ounce: write mL, or fl oz"
    " (29.57 mL).",
    "fluid-ounce": "A fluid ounce (fl oz, 29.57 mL) is not a weight ounce: weigh it, in g or oz"
    " (28.35 g).",
    "temperature-itself": "Write the temperature itself, in °C or °F.",
    "minutes": "Write min for minutes.",
    "share": "Write a share such as 2 %.",
    # Other kinds of field.
    "pieces": "{label} is a number of pieces; write the number alone.",
    "whole": "{label} is a whole number; {typed} is not.",
    "no-choice": "{label}: there is no {typed}; choose one of {choices}.",
    "no-amount": "{label}: {typed} is not a unit of mass, volume or length.",
    "empty": "{label} is empty.",
    "too-long": "{label}: the text is too long.",
    # Rows.
    "decimal-comma": "{label}: is the comma in {typed} a decimal one? Write a full stop for"
    " decimals, or set rows apart with “;”.",
    "row": "{label}, row {number}: {problem}",
    "row-named": "{label}, row {number} ({name}): {problem}",
    "no-rows": "{label}: there are no rows.",
    "few-rows": "{label}: at least {number} rows are needed.",
    "many-rows": "{label}: at most {number} rows are read.",
    "same-name": "{label}: {name} stands in several rows; write it once.",
    "same-name-differs": "{label}: {name} stands in several rows with different {column}; write it"
    " once.",
    "same-name-together": "{label}: {name} stands in several rows, together: {problem}",
    "many-parts": "there are more parts than columns ({columns}).",
    "missing-part": "{label} is missing; a row is written {columns}.",
    "two-measures": "{label} is {one} and {other_label} is {other}; measure both in the same way.",
    # Answers.
    "no-input": "There is no input named {name}.",
    "choice-is": "{label} is {choice}",
    "not-asked": "{label} is not asked for when {choices}: leave it out, or change that.",
    "no-answer": "There is no answer, because {reason}.",
    "no-answer-of": "{label}: there is no answer, because {reason}.",
    "no-outcome": "There is no answer: {reason}.",
    "too-large": "{label} is too large",
    # Kinds of measure.
    "is-mass": "a mass",
    "is-volume": "a volume",
    "is-length": "a length",
    "is-time": "a time",
    "is-temperature": "a temperature",
    "is-difference": "a temperature difference",
    "is-ratio": "a share or a plain number",
    "is-power": "a power",
    "is-energy": "an energy",
    "is-density": "a density",
    "is-specific-heat": "a specific heat",
    "is-rate": "a rate",
    "is-pressure": "a pressure",
    "is-money": "a price",
    "is-count": "a number of pieces",
    "is-molar-mass": "a molar mass",
    "is-molar-energy": "an energy per mole",
    "is-molar-heat": "a heat per mole and degree",
    "is-other": "another kind of measure",
}


def say_text(of: Mapping[str, Any], key: str, values: Mapping[str, str]) -> str:
    """Give a text in the language of a description or a field, with its places filled in.

    Args:
        of: A description or a field; its `says` holds the texts, else they are English.
        key: As in `SAYS`.
        values: What stands in each place. Braces in a value stay as they are.
    """
    texts: Mapping[str, str] = of["says"] if has_key(of, "says") else SAYS
    parts = split_places(texts[key])
    text = ""
    for index in range(len(parts)):
        text = text + (values[parts[index]] if index % 2 == 1 else parts[index])
    return text


def split_places(message: str) -> list[str]:
    """Cut a message at its places: text, name, text, name ..., text; names stand in braces.

    A place that is not closed falls out.
    """
    parts: list[str] = []
    text = ""
    name = ""
    inside = False
    for index in range(len(message)):
        sign = message[index]
        if sign == "{":
            inside = True
            name = ""
        elif sign == "}" and inside:
            inside = False
            parts.append(text)
            parts.append(name)
            text = ""
        elif inside:
            name = name + sign
        else:
            text = text + sign
    parts.append(text)
    return parts


def join_texts(of: Mapping[str, Any], texts: Sequence[str]) -> str:
    """Join texts as a sentence does: `a, b and c`."""
    text = ""
    for index in range(len(texts)):
        if index == 0:
            text = texts[0]
        else:
            key = "and" if index == len(texts) - 1 else "comma"
            text = say_text(of, key, {"first": text, "last": texts[index]})
    return text
