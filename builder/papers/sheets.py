"""Which exercises stand on the sheets, and which variant each student gets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builder.course import Course
from builder.exercises import ExerciseError, Variant, make_code, start_generator
from builder.model import Lesson, Level
from builder.model.exercises import Exercise
from builder.papers.students import Students


class WorksheetError(Exception):
    """Sheets that cannot be made; the text is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class SheetTask:
    """One exercise on every sheet."""

    lesson: Lesson
    exercise: Exercise


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one student gets.

    Args:
        number: 1 for the first.
        name: The student's name, or "".
        code: Check code of the sheet; made from its lessons, the seed and the number.
        variants: One a task, in order.
    """

    number: int
    name: str
    code: str
    variants: tuple[Variant, ...]


@dataclass(frozen=True, slots=True)
class SheetSet:
    """All sheets of one printing.

    Args:
        title: Title of the sheet: the lesson, or the level.
        tasks: The exercises on every sheet, in order.
        sheets: One a student.
        seed: What they were drawn with.
        notes: What the teacher should know, a sentence each.
    """

    title: str
    tasks: tuple[SheetTask, ...]
    sheets: tuple[Sheet, ...]
    seed: str
    notes: tuple[str, ...] = ()


def collect_tasks(course: Course, lessons: Sequence[str]) -> tuple[tuple[SheetTask, ...], str]:
    """Take all exercises of some lessons, in the order of the course.

    Returns:
        The tasks, and a title.

    Raises:
        WorksheetError: If a lesson does not exist, or none has a usable exercise.
    """
    known = course.library.lessons
    for name in lessons:
        if name not in known:
            raise WorksheetError(
                f'there is no lesson "{name}"; {course.library.suggest("lesson", name)}'
            )
    chosen = [known[name] for name in course.order if name in set(lessons)]
    tasks = tuple(
        SheetTask(lesson, exercise)
        for lesson in chosen
        for exercise in course.exercises.list_usable(lesson)
    )
    title = ", ".join(lesson.title for lesson in chosen)
    if not tasks:
        raise WorksheetError(f"{title or 'this choice of lessons'} has no exercises yet")
    return tasks, title


def collect_checkpoint(
    course: Course, level: Level, seed: str
) -> tuple[tuple[SheetTask, ...], str, tuple[str, ...]]:
    """Choose one exercise for each skill that the lessons of a level teach, mixed.

    Where a skill has several exercises, the seed chooses among those away from the bench, if there
    are any; the order is drawn as well, the same for all students of a printing.

    Returns:
        The tasks, a title, and notes on skills that no exercise practises.

    Raises:
        WorksheetError: If the level has no lesson, or none with an exercise.
    """
    lessons = [course.library.lessons[name] for name in course.order]
    taught = [
        (lesson, outcome.skill)
        for lesson in lessons
        if lesson.level is level
        for outcome in lesson.teaches
    ]
    if not taught:
        raise WorksheetError(f"the course has no {level.value} lessons")
    generator = start_generator(seed, "checkpoint", level.value)
    tasks: list[SheetTask] = []
    missing: list[str] = []
    for home, skill in taught:
        found = [
            SheetTask(lesson, exercise)
            for lesson in lessons
            if lesson.level.rank <= level.rank
            for exercise in course.exercises.list_usable(lesson)
            if exercise.skill == skill
        ]
        own = [task for task in found if task.lesson.id == home.id] or found
        quiet = [task for task in own if not task.exercise.hands_on] or own
        if quiet:
            tasks.append(quiet[generator.draw_below(len(quiet))])
        else:
            missing.append(skill)
    if not tasks:
        raise WorksheetError(f"the {level.value} lessons have no exercises yet")
    mixed: list[SheetTask] = []
    while tasks:
        mixed.append(tasks.pop(generator.draw_below(len(tasks))))
    notes = tuple(f'no exercise practises the skill "{skill}"' for skill in missing)
    return tuple(mixed), f"Checkpoint: {level.value} level", notes


def draw_sheets(
    course: Course,
    tasks: Sequence[SheetTask],
    title: str,
    students: Students,
    seed: str,
    notes: tuple[str, ...] = (),
) -> SheetSet:
    """Draw a variant of each task for each student.

    Args:
        course: A course without errors.
        tasks: What stands on every sheet.
        title: Title of the sheet.
        students: Who gets one.
        seed: The same seed always gives the same sheets.
        notes: What the teacher should know, beside what the list of students says.

    Raises:
        WorksheetError: If a variant is refused by its calculator; `check` reports such exercises.
    """
    # Students who get the same variant share it: it is made once.
    made: dict[tuple[str, str, int], Variant] = {}
    sheets: list[Sheet] = []
    lessons = "+".join(dict.fromkeys(task.lesson.id for task in tasks))
    try:
        for place, name in enumerate(students.names):
            variants: list[Variant] = []
            for task in tasks:
                index = course.exercises.choose(task.lesson, task.exercise, seed, place)
                key = (task.lesson.id, task.exercise.id, index)
                if key not in made:
                    made[key] = course.exercises.make(task.lesson, task.exercise, seed, index)
                variants.append(made[key])
            code = make_code(seed, "sheet", lessons, str(place + 1))
            sheets.append(Sheet(place + 1, name, code, tuple(variants)))
    except (ExerciseError, ValueError) as error:
        raise WorksheetError(f"an exercise cannot be used: {error}; run check") from error
    return SheetSet(title, tuple(tasks), tuple(sheets), seed, (*notes, *students.notes))
