"""Papers for a class: a worksheet a student, all different, the answer key, records of skills."""

from __future__ import annotations

from builder.papers.bundles import Papers, make_record, make_worksheets
from builder.papers.sheets import (
    Sheet,
    SheetSet,
    SheetTask,
    WorksheetError,
    collect_checkpoint,
    collect_tasks,
    draw_sheets,
)
from builder.papers.students import Students, StudentsError, count_students, read_students

__all__ = [
    "Papers",
    "Sheet",
    "SheetSet",
    "SheetTask",
    "Students",
    "StudentsError",
    "WorksheetError",
    "collect_checkpoint",
    "collect_tasks",
    "count_students",
    "draw_sheets",
    "make_record",
    "make_worksheets",
    "read_students",
]
