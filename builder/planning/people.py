"""The people of a class, from a list that never enters the site.

A list has a column headed `name`; it may have `allergies`, `asthma` (yes or no), `absent` (numbers
of sessions) and `waiting` (yes for whoever has no place yet).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from builder.hazards import find_material_hazards, read_room_kelvin
from builder.library import Library
from builder.model import Hazard, Lesson

_YES = frozenset({"yes", "y", "true", "1", "x"})
_BREATH = (Hazard.DUST, Hazard.SENSITISER, Hazard.FLAMMABLE, Hazard.CORROSIVE)
"""What may be in the air and trouble whoever has asthma."""


class PeopleError(Exception):
    """A list that cannot be used; the text is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class Person:
    """Someone of a class.

    Args:
        number: The student of the plan, from 1; 0 on the waiting list.
        name: As it is printed.
        allergies: As written, or "".
        asthma: Whether they have it.
        absent: Sessions they miss, counted from 1.
    """

    number: int
    name: str
    allergies: str = ""
    asthma: bool = False
    absent: tuple[int, ...] = ()


def read_people(contents: bytes, file: str, students: int) -> tuple[Person, ...]:
    """Read the people of a class from comma-separated values in UTF-8.

    Args:
        contents: The file.
        file: Its name, for messages.
        students: How many places the class has; whoever comes after them waits.

    Raises:
        PeopleError: If it is no text, has no column "name" or no names, or a cell is wrong.
    """
    try:
        text = contents.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PeopleError(f"{file} is not in UTF-8; save the list as CSV UTF-8") from error
    delimiter = max(",;\t", key=text.partition("\n")[0].count)
    try:
        rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as error:
        raise PeopleError(f"{file} is no list of comma-separated values: {error}") from error
    people: list[Person] = []
    number = 0
    for line, row in enumerate(rows, 2):
        cells = {
            (key or "").strip().casefold(): " ".join((value or "").split())
            for key, value in row.items()
            if isinstance(value, str) or value is None
        }
        if "name" not in cells:
            raise PeopleError(f'{file} has no column headed "name"')
        if not cells["name"]:
            if any(cells.values()):
                raise PeopleError(f"{file}, line {line}: there is no name")
            continue
        waiting = cells.get("waiting", "").casefold() in _YES
        if not waiting and number < students:
            number += 1
            place = number
        else:
            place = 0
        absent = cells.get("absent", "")
        if not re.fullmatch(r"[\d\s,;]*", absent):
            raise PeopleError(
                f'{file}, line {line}: absent is "{absent}"; write the numbers of sessions'
            )
        people.append(
            Person(
                place,
                cells["name"],
                cells.get("allergies", ""),
                cells.get("asthma", "").casefold() in _YES,
                tuple(int(each) for each in re.findall(r"\d+", absent)),
            )
        )
    if not people:
        raise PeopleError(f"{file} holds no names")
    return tuple(people)


def find_concerns(library: Library, lessons: Sequence[Lesson], person: Person) -> tuple[str, ...]:
    """Find the materials of some lessons that someone should sit away from, by name.

    A word of four letters or more of their allergies that stands in a material's name, label or
    hazard statements concerns them; whoever has asthma, all that may be in the air.
    """
    words = set(re.findall(r"[^\W\d]{4,}", person.allergies.casefold()))
    kelvin = read_room_kelvin(library)
    found = []
    for name in dict.fromkeys(each.material for lesson in lessons for each in lesson.materials):
        material = library.materials.get(name)
        if material is None:
            continue
        told = [material.name, material.summary, material.label_name or ""]
        text = " ".join(told).casefold()
        breath = person.asthma and any(
            each in _BREATH for each in find_material_hazards(material, kelvin)
        )
        if breath or any(word.rstrip("s") in text for word in words):
            found.append(material.name)
    return tuple(found)
