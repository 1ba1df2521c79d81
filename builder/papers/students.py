"""The list of students: a count, or names from a file of comma-separated values."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass

MOST_STUDENTS = 5000
LONGEST_NAME = 80
_HEADINGS = ("name", "names", "student", "students", "pupil", "participant")
_BESIDE = ("number", "no", "no.", "nr", "id", "e-mail", "email", "group", "class", "notes")


class StudentsError(Exception):
    """A list of students that cannot be used; the text is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class Students:
    """Who gets a sheet.

    Args:
        names: One a sheet; "" where only the number is known.
        notes: What the teacher should know about the list, a sentence each.
    """

    names: tuple[str, ...]
    notes: tuple[str, ...] = ()


def count_students(count: int) -> Students:
    """Give so many students without names.

    Raises:
        StudentsError: If there are none, or too many.
    """
    if count < 1:
        raise StudentsError("there is no student, so there is nothing to print")
    if count > MOST_STUDENTS:
        raise StudentsError(f"{count} students are too many; at most {MOST_STUDENTS} at once")
    return Students(("",) * count)


def read_students(contents: bytes, file: str = "the file") -> Students:
    """Read names from comma-separated values.

    Names stand in the column headed "name" (or "student"); without such a heading in the first
    column. Commas, semicolons and tabs part the columns. Empty rows are left out.

    Args:
        contents: The file's bytes, in UTF-8.
        file: Its name, for messages.

    Raises:
        StudentsError: If it is not text, broken, empty or far too long.
    """
    if b"\0" in contents:
        raise StudentsError(
            f"{file} is not a text file; save the list as CSV (comma-separated values, UTF-8)"
        )
    try:
        text = contents.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = contents[: error.start].count(b"\n") + 1
        raise StudentsError(
            f"{file}, line {line}: these letters are not in UTF-8; save the list as CSV UTF-8"
        ) from error
    # Control characters would not print; a form feed or escape in a name is never meant.
    cleaned = "".join(sign if sign >= " " or sign in "\t\r\n" else " " for sign in text)
    rows = _read_rows(cleaned, file)
    filled = [(line, row) for line, row in rows if any(cell.strip() for cell in row)]
    if not filled:
        raise StudentsError(f"{file} holds no names, so there is nothing to print")
    column, headed = _find_column(filled[0][1])
    listed = filled[1:] if headed else filled
    if not listed:
        raise StudentsError(f"{file} holds a heading but no names, so there is nothing to print")
    if len(listed) > MOST_STUDENTS:
        raise StudentsError(
            f"{file} holds {len(listed)} students; at most {MOST_STUDENTS} are printed at once"
        )
    names: list[str] = []
    for line, row in listed:
        name = " ".join(row[column].split()) if column < len(row) else ""
        if not name:
            raise StudentsError(f"{file}, line {line}: there is no name in column {column + 1}")
        if len(name) > LONGEST_NAME:
            raise StudentsError(
                f"{file}, line {line}: the name is longer than {LONGEST_NAME} characters; "
                "is the right column first?"
            )
        names.append(name)
    return Students(tuple(names), tuple(_note_repeats(names)))


def _read_rows(text: str, file: str) -> list[tuple[int, list[str]]]:
    first = text.lstrip().partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            rows.append((reader.line_num, row))
    except csv.Error as error:
        # Python's reader knows two faults: text behind a closing mark, and a mark never closed.
        reason = "text follows a closed quotation mark; double the marks inside a name"
        if "expected after" not in str(error):
            reason = "a quotation mark is not closed"
        raise StudentsError(f"{file}, line {reader.line_num}: {reason}") from error
    return rows


def _find_column(row: list[str]) -> tuple[int, bool]:
    """Give the column of names, and whether the row is a heading."""
    cells = [" ".join(cell.split()).casefold() for cell in row]
    for place, cell in enumerate(cells):
        if cell in _HEADINGS:
            return place, True
    return 0, cells[0] in _BESIDE


def _note_repeats(names: list[str]) -> list[str]:
    twice = sorted(name for name, count in Counter(names).items() if count > 1)
    if not twice:
        return []
    some = ", ".join(twice[:5]) + (" and more" if len(twice) > 5 else "")
    return [f"more than one student is called {some}: tell their sheets apart by number"]
