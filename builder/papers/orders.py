"""What a teacher asks for in one go, and the files it leads to."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from builder.course import Course
from builder.library import Library
from builder.model import Level
from builder.papers.bundles import Papers, make_record, make_worksheets
from builder.papers.exports import export_csv, export_qti
from builder.papers.sheets import (
    WorksheetError,
    collect_checkpoint,
    collect_tasks,
    draw_sheets,
)
from builder.papers.students import Students, StudentsError, count_students, read_students


@dataclass(frozen=True, slots=True)
class Order:
    """What is wanted.

    Args:
        lessons: Ids of lessons; for exports, none means all.
        checkpoint: Level of a checkpoint sheet, or None.
        record: True for records of skills.
        exported: "qti", "csv" or None.
        students: A file, a count, or None for the class size of the course.
        seed: The seed.
        paper: "a4" or "letter".
        large: Large print.
    """

    lessons: tuple[str, ...] = ()
    checkpoint: str | None = None
    record: bool = False
    exported: str | None = None
    students: str | None = None
    seed: int = 1
    paper: str = "a4"
    large: bool = False

    @property
    def folder(self) -> str:
        """Name of the folder, where none is given: one a kind of paper."""
        if self.exported:
            return f"exercises-{self.exported}"
        if self.record:
            return "record"
        return f"checkpoint-{self.checkpoint}" if self.checkpoint else "worksheets"


def choose_students(library: Library, students: str | None) -> Students:
    """Read who gets a sheet: a file, a count, or the class size of the course.

    Raises:
        StudentsError: If it is neither a count nor a readable list.
    """
    if students is None:
        return count_students(library.settings.class_size if library.settings else 1)
    text = students.strip()
    if text.lstrip("-+").isascii() and text.lstrip("-+").isdigit():
        return count_students(int(text[:9]))
    path = Path(students)
    try:
        contents = path.read_bytes()
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise StudentsError(
            f"{students} is neither a number nor a file that can be read ({reason})"
        ) from error
    return read_students(contents, path.name)


def fill_order(course: Course, order: Order) -> Papers:
    """Make the files of an order.

    Args:
        course: A course without errors.
        order: What is wanted.

    Raises:
        WorksheetError: If the order contradicts itself, or nothing can be made of it.
        StudentsError: If the list of students cannot be used.
    """
    library = course.library
    wanted = [
        name
        for name, asked in (
            ("--checkpoint", order.checkpoint),
            ("--record", order.record),
            ("--export", order.exported),
        )
        if asked
    ]
    if len(wanted) > 1:
        raise WorksheetError(f"{' and '.join(wanted)} make different things; ask for one at a time")
    if order.lessons and (order.checkpoint or order.record):
        raise WorksheetError(f"{wanted[0]} chooses its own lessons; name none")
    if not order.lessons and not wanted:
        listed = ", ".join(library.lessons) or "none yet"
        raise WorksheetError(f"name a lesson, or several; the course has {listed}")
    if order.exported:
        lessons = order.lessons or course.order
        tasks, _ = collect_tasks(course, lessons)
        export = export_qti if order.exported == "qti" else export_csv
        return export(course, tasks, str(order.seed))
    students = choose_students(library, order.students)
    if order.record:
        return make_record(course, students, paper=order.paper, large=order.large)
    seed = str(order.seed)
    notes: tuple[str, ...] = ()
    if order.checkpoint:
        tasks, title, notes = collect_checkpoint(course, Level(order.checkpoint), seed)
    else:
        tasks, title = collect_tasks(course, order.lessons)
    drawn = draw_sheets(course, tasks, title, students, seed, notes)
    return make_worksheets(course, drawn, paper=order.paper, large=order.large)
