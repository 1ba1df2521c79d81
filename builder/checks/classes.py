"""Rules about planned classes: whether the time of a session is enough."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Severity
from builder.model import PlannedClass
from builder.planning.sessions import SessionPlan
from builder.planning.telling import name_steps
from builder.planning.words import find_start


@rule("session-too-short", "classes", Severity.WARNING)
def check_session_too_short(course: Course) -> Iterator[Found]:
    """A session ends before its last student is done.

    Every student does every step, and they share what heats. The best plan found is held against
    the length of the session. What must first set is left for the next session; after the last one
    there is none, so nothing may be left. Talking and tidying are not counted: leave time for them.

    Failing:

        # file: lessons/pressing.yml
        steps:
          - title: Press it
            time: 50 min
        # file: lessons/classes/autumn.yml
        students: 6
        sessions:
          - {date: 2030-09-02, start: "18:30", length: 40 min, lessons: [pressing]}

    Passing:

        # file: lessons/pressing.yml
        steps:
          - title: Press it
            time: 50 min
        # file: lessons/classes/autumn.yml
        students: 6
        sessions:
          - {date: 2030-09-02, start: "18:30", length: 1 h, lessons: [pressing]}
    """
    for name, planned in course.library.classes.items():
        session_plans = course.plan_sessions(name)
        for number, held in enumerate(session_plans):
            yield from _check_length(course, planned, number, held)
        yield from _check_left(course, planned, session_plans)


def _check_length(
    course: Course, planned: PlannedClass, number: int, held: SessionPlan
) -> Iterator[Found]:
    if held.spare >= 0:
        return
    over = -held.spare_minutes
    needed = -(-held.makespan // 60)
    least = -(-held.at_least // 60)
    yield Found(
        planned,
        ("sessions", number, "length"),
        f"the last of {planned.students} students is done {over} min after this session ends",
        f"give it {needed} min (no plan takes less than {least} min), or move a lesson to another "
        "session",
    )


def _check_left(
    course: Course, planned: PlannedClass, session_plans: tuple[SessionPlan, ...]
) -> Iterator[Found]:
    library, last = course.library, session_plans[-1]
    left = []
    for name, step in last.left:
        wait = library.lessons[name].steps[step - 1].wait
        # What takes longer than any session is seen to at home.
        if wait is None or wait.base < last.session.length.base:
            left.append((name, step))
    if left:
        words = name_steps(library, left)[0]
        yield Found(
            planned,
            ("sessions", len(session_plans) - 1, "length"),
            f'the class ends before this can be done, because it must wait first: "{words}"',
            "make the last session longer, or add one",
        )


@rule("class-out-of-order", "classes", Severity.WARNING)
def check_class_out_of_order(course: Course) -> Iterator[Found]:
    """A class holds its sessions, or the lessons of them, in an order that cannot be.

    Sessions follow each other in time, and a lesson comes after those it needs as far as the class
    holds them: else people are asked for what they are shown a week later, and what has set since
    the last session is taken out before it was made.

    Failing:

        # file: lessons/pressing.yml
        title: Press a flower
        # file: lessons/mounting.yml
        prerequisites: [pressing]
        # file: lessons/classes/autumn.yml
        sessions:
          - {date: 2030-09-09, start: "18:30", length: 2 h, lessons: [mounting]}
          - {date: 2030-09-02, start: "18:30", length: 2 h, lessons: [pressing]}

    Passing:

        # file: lessons/pressing.yml
        title: Press a flower
        # file: lessons/mounting.yml
        prerequisites: [pressing]
        # file: lessons/classes/autumn.yml
        sessions:
          - {date: 2030-09-02, start: "18:30", length: 2 h, lessons: [pressing]}
          - {date: 2030-09-09, start: "18:30", length: 2 h, lessons: [mounting]}
    """
    for planned in course.library.classes.values():
        yield from _check_times(course, planned)
        yield from _check_prerequisites(course, planned)


def _check_times(course: Course, planned: PlannedClass) -> Iterator[Found]:
    for number, (before, session) in enumerate(pairwise(planned.sessions), 1):
        if find_start(session) < find_start(before) + timedelta(seconds=before.length.base):
            yield Found(
                planned,
                ("sessions", number, "date"),
                f"this session begins on {session.date} at {session.start}, before the one above "
                "it has ended",
                "put the sessions in order of time, one after the other",
            )


def _check_prerequisites(course: Course, planned: PlannedClass) -> Iterator[Found]:
    held = [name for session in planned.sessions for name in session.lessons]
    place = 0
    for number, session in enumerate(planned.sessions):
        for index, name in enumerate(session.lessons):
            lesson = course.library.lessons.get(name)
            for needed in lesson.prerequisites if lesson else ():
                if needed in held and needed not in held[:place]:
                    yield Found(
                        planned,
                        ("sessions", number, "lessons", index),
                        f'"{name}" needs "{needed}", which this class holds later',
                        f'hold "{needed}" first',
                    )
            place += 1
