"""Makes the papers of a printing: sheets, key and answers, as files in memory."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from builder.course import Course
from builder.papers.data import (
    describe_key,
    describe_record,
    describe_sheets,
    list_answers,
    walk_texts,
)
from builder.papers.sheets import SheetSet
from builder.papers.students import Students
from builder.papers.typst_pdf import Fonts, find_fonts, make_pdf, split_clusters, tell_missing


@dataclass(frozen=True, slots=True)
class Papers:
    """Files in memory, and what the teacher should know about them.

    Args:
        files: Contents by name.
        notes: Sentences for the teacher.
    """

    files: Mapping[str, bytes]
    notes: tuple[str, ...] = ()


def choose_fonts(
    texts: set[str], names: tuple[str, ...]
) -> tuple[Fonts, tuple[str, ...], list[str]]:
    """Choose fonts, and keep names that cannot be printed off the paper.

    Args:
        texts: Everything printed besides names.
        names: The students' names.

    Returns:
        The fonts; the names as they will be printed, "" where a letter has no shape; and notes.
    """
    fonts = find_fonts([*texts, *names])
    if not fonts.missing:
        return fonts, names, []
    notes: list[str] = []
    kept: list[str] = []
    for place, name in enumerate(names):
        lacking = [each for each in split_clusters(name) if each in fonts.missing]
        if lacking:
            notes.append(
                f"sheet {place + 1}: no font on this machine has the letters "
                f"{' '.join(dict.fromkeys(lacking))} of {name}; the name is left as a blank line"
            )
        kept.append("" if lacking else name)
    return find_fonts([*texts, *kept]), tuple(kept), notes


def make_worksheets(
    course: Course, drawn: SheetSet, *, paper: str = "a4", large: bool = False
) -> Papers:
    """Make `worksheets.pdf`, `answers.pdf` and `answers.json`.

    Args:
        course: A course without errors.
        drawn: Who gets what.
        paper: "a4" or "letter".
        large: Large print.
    """
    library = course.library
    sheets = describe_sheets(library, drawn, paper, large)
    key = describe_key(library, drawn, paper, large)
    names = tuple(sheet.name for sheet in drawn.sheets)
    own = set(walk_texts([_without_names(sheets), _without_names(key)]))
    fonts, printed, notes = choose_fonts(own, names)
    notes.extend(tell_missing(fonts))
    for data in (sheets, key):
        for sheet, name in zip(data["sheets"], printed, strict=True):
            sheet["name"] = name
    answers = json.dumps(list_answers(library, drawn), ensure_ascii=False, indent=1)
    return Papers(
        {
            "worksheets.pdf": make_pdf("sheets", sheets, fonts),
            "answers.pdf": make_pdf("key", key, fonts),
            "answers.json": answers.encode() + b"\n",
        },
        (*drawn.notes, *notes),
    )


def make_record(
    course: Course, students: Students, *, paper: str = "a4", large: bool = False
) -> Papers:
    """Make `record.pdf`, a record of skills for each student.

    Args:
        course: A course without errors.
        students: Who gets one.
        paper: "a4" or "letter".
        large: Large print.
    """
    order = course.order
    data = describe_record(course.library, order, students, paper, large)
    fonts, printed, notes = choose_fonts(set(walk_texts(_without_names(data))), students.names)
    data = describe_record(course.library, order, replace(students, names=printed), paper, large)
    return Papers({"record.pdf": make_pdf("record", data, fonts)}, (*students.notes, *notes))


def _without_names(data: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **data,
        "sheets": [
            {name: value for name, value in sheet.items() if name != "name"}
            for sheet in data["sheets"]
        ],
    }
