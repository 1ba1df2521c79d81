"""Rules about planned classes: time, waits, what is shared, and what must keep apart."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route, Severity
from builder.model import Lesson, PlannedClass
from builder.planning.blocks import Surplus, split_lesson
from builder.planning.calendar import find_start, find_zone, move_on
from builder.planning.room import ClassRoom, furnish_room, keep_apart
from builder.planning.sessions import ClassRun, SessionPlan, Unmet
from builder.planning.telling import name_steps
from builder.planning.words import write_date, write_moment


@rule("session-too-short", "classes", Severity.WARNING)
def check_session_too_short(course: Course) -> Iterator[Found]:
    """A session ends before its last student is done.

    Every student does every step, and they share what heats. The best plan found is held against
    the length of the session. What must first set is left for a later session; after the last one
    there is none, so nothing may be left (`wait-unmet`). The time to talk and to tidy counts, as
    far as the class states it.

    Failing:

        # file: lessons/pressing.yml
        steps:
          - title: Press it
            time: 50 min
        # file: lessons/classes/autumn.yml
        students: 6
        sessions:
          - {date: 2030-09-02, start: "18:30", length: 40 min, lessons: [pressing]}

    Passing with `- {date: 2030-09-02, start: "18:30", length: 1 h, lessons: [pressing]}` in
    place of `- {date: 2030-09-02, start: "18:30", length: 40 min, lessons: [pressing]}`.
    """
    for name, planned in course.library.classes.items():
        for number, held in enumerate(course.plan_run(name).sessions):
            yield from _check_length(planned, number, held)


def _check_length(planned: PlannedClass, number: int, held: SessionPlan) -> Iterator[Found]:
    if held.spare >= 0:
        return
    over = -held.spare_minutes
    needed = -(-held.makespan // 60)
    least = -(-held.at_least // 60)
    tidy = " and the room is tidy" if held.clean_up else ""
    yield Found(
        planned,
        ("sessions", number, "length"),
        f"the last of {planned.students} students is done{tidy} {over} min after this session ends",
        f"give it {needed} min (no plan takes less than {least} min), or move a lesson to another "
        "session",
    )


@rule("wait-unmet", "classes", Severity.ERROR)
def check_wait_unmet(course: Course) -> Iterator[Found]:
    """A class goes on, or ends, before something has waited as long as its lesson says.

    What sets, dries or cures goes on doing so between the sessions, on the calendar. A step that
    comes after the wait is done in the first session that is late enough; a lesson that builds on
    another is not begun before the wait after that one's last step is over. Where a session comes
    too early for it, people take out what has not set. A wait that ends at home, `home: true`,
    holds up nothing; what a lesson carries on from another, `from_lesson`, must have waited.

    Failing:

        # file: lessons/pressing.yml
        steps:
          - title: Lay it under the book
            time: 5 min
            wait: 4 weeks
          - title: Take it out
            time: 5 min
        # file: lessons/classes/autumn.yml
        students: 6
        sessions:
          - {date: 2030-09-02, start: "18:30", length: 1 h, lessons: [pressing]}
          - {date: 2030-09-09, start: "18:30", length: 1 h, lessons: [pressing]}

    Passing:

        # file: lessons/pressing.yml
        steps:
          - title: Lay it under the book
            time: 5 min
            wait: 4 weeks
          - title: Take it out
            time: 5 min
        # file: lessons/mounting.yml
        title: Mount it
        # file: lessons/classes/autumn.yml
        students: 6
        sessions:
          - {date: 2030-09-02, start: "18:30", length: 1 h, lessons: [pressing]}
          - {date: 2030-10-07, start: "18:30", length: 1 h, lessons: [mounting]}
    """
    for name, planned in course.library.classes.items():
        run = course.plan_run(name)
        if any(one.start > two.start for one, two in pairwise(run.sessions)):
            continue  # class-out-of-order says it
        told = {unmet.lesson for unmet in run.unmet if unmet.session is not None}
        for unmet in run.unmet:
            if unmet.session is None and unmet.lesson in told:
                continue
            yield _describe_unmet(course, planned, run, unmet)


def _describe_unmet(course: Course, planned: PlannedClass, run: ClassRun, unmet: Unmet) -> Found:
    lesson = course.library.lessons[unmet.lesson]
    step = lesson.steps[unmet.step]
    wait = step.wait or "its wait"
    until = write_moment(unmet.until)
    waits = [(lesson, ("steps", unmet.step, "wait" if step.wait else "time"), "what must wait")]
    what = f'"{step.title}" of "{lesson.id}" waits for {wait}, until {until}'
    if unmet.session is not None:
        return Found(
            planned,
            ("sessions", unmet.session, "date"),
            f'{what}; "{unmet.by}" needs it in this session, on {write_moment(unmet.wanted)}',
            f"hold this session on {write_date(unmet.until.date())} or later, or move "
            f'"{unmet.by}" to a later one',
            related=waits,
        )
    last = len(run.sessions) - 1
    lacking = name_steps(course.library, [(lesson.id, unmet.steps[0])])[0] if unmet.steps else ""
    undone = f'; "{lacking}" is left undone' if lacking else ""
    return Found(
        planned,
        ("sessions", last, "date"),
        f"{what}, and the class ends on {write_moment(unmet.wanted)}{undone}",
        f"add a make-up date on {write_date(unmet.until.date())} or later, make the last session "
        "longer where it is a matter of hours, or write home: true where the wait ends at home",
        severity=Severity.WARNING,
        related=waits,
    )


@rule("room-hazard", "classes", Severity.ERROR)
def check_room_hazard(course: Course) -> Iterator[Found]:
    """Something heats within reach of an open flammable, or after all heat is to be off.

    While anyone adds, pours, spreads or stirs what can catch fire, its vapour is in the room, and
    nothing within its reach may heat: not for this student and not for any other. A course says in
    its `zones` which parts of the room are clear of each other, with the reason; all else is within
    reach. A step with `heat_off: true` says that nothing in the room heats any more until the end
    of the session. The plan of a class obeys both by time; this rule says when it cannot.

    Failing:

        # file: kb/materials.yml
        spirit: {hazards: [flammable]}
        # file: kb/cautions.yml
        fire: {applies: {hazards: [flammable]}}
        heat: {applies: {hazards: [hot]}}
        # file: lessons/varnishing.yml
        steps:
          - title: Warm the sheets while you varnish
            time: 20 min
            wait: 1 h
            heat_off: true
            actions:
              - {do: wet, vessel: card, material: spirit}
          - title: Warm the paste
            time: 5 min
            actions:
              - {do: heat, vessel: pan}

    Passing:

        # file: kb/materials.yml
        spirit: {hazards: [flammable]}
        # file: kb/cautions.yml
        fire: {applies: {hazards: [flammable]}}
        heat: {applies: {hazards: [hot]}}
        # file: lessons/varnishing.yml
        steps:
          - title: Warm the paste
            time: 5 min
            actions:
              - {do: heat, vessel: pan}
          - title: Varnish, with all heat off
            time: 20 min
            heat_off: true
            actions:
              - {do: wet, vessel: card, material: spirit}
    """
    library = course.library
    for lesson in library.lessons.values():
        yield from _check_own_heat(course, lesson)
    for name, planned in library.classes.items():
        for number, held in enumerate(course.plan_run(name).sessions):
            if held.clashing:
                steps = name_steps(library, held.clashing)
                yield Found(
                    planned,
                    ("sessions", number, "lessons"),
                    f"no order was found in which {planned.students} students heat in this session "
                    f'without a flammable in reach, or before all heat is off: "{steps[0]}"'
                    + (f" and {len(steps) - 1} more" if len(steps) > 1 else ""),
                    "let several heat together, declare zones of the room that are clear of each "
                    "other, or divide the class",
                )


def _check_own_heat(course: Course, lesson: Lesson) -> Iterator[Found]:
    room = furnish_room(course.room, [lesson])
    off: int | None = None
    for number, step in enumerate(lesson.steps):
        for place, action in enumerate(step.actions):
            if off is not None and room.heats(action):
                yield Found(
                    lesson,
                    ("steps", number, "actions", place),
                    f'this heats "{action.vessel}", and all heat is off from an earlier step on',
                    "heat before that step, or take heat_off away from it",
                    related=[(lesson, ("steps", off, "heat_off"), "all heat off from here")],
                )
        off = number if step.heat_off and off is None else off
    blocks = split_lesson(room, lesson).blocks
    zones = {mark.kind.partition("@")[2] for block in blocks for mark in block.marks}
    apart = keep_apart(room, zones)
    for block in blocks:
        for one, other in combinations(block.marks, 2):
            meets = one.after < other.after + other.length and other.after < one.after + one.length
            if meets and other.kind in apart[one.kind]:
                late = max(one.after, other.after)
                step_time = [each for each in block.steps if each.after <= late][-1]
                yield Found(
                    lesson,
                    ("steps", step_time.step),
                    "in this step something heats while a flammable is handled in the open, within "
                    "reach of it",
                    "stop heating before it is opened, or say in zones of the course that the two "
                    "places are clear of each other",
                )
                break


@rule("capacity-exceeded", "classes", Severity.ERROR)
def check_capacity_exceeded(course: Course) -> Iterator[Found]:
    """A step takes more of something shared than there is, or more pieces than it holds.

    Turns are planned at what the class shares. What a step takes at once must be there: two ovens
    where the room has one, six pieces in a pot that takes four, and no order of turns helps. A
    lesson's list of tools is held against the room too.

    Failing:

        # file: lessons/course.yml
        resources:
          - {id: kiln, name: Kiln, count: 1, capacity: 4, together: true}
        # file: kb/tools.yml
        small-kiln: {resource: kiln, heats: true}
        # file: kb/cautions.yml
        heat: {applies: {hazards: [hot]}}
        # file: lessons/firing.yml
        steps:
          - title: Fire six tiles
            time: 10 min
            wait: 9 h
            together: 6
            actions:
              - {do: heat, vessel: tiles, tool: small-kiln, keeps: true}

    Passing with `- {id: kiln, name: Kiln, count: 1, capacity: 6, together: true}` in place of
    `- {id: kiln, name: Kiln, count: 1, capacity: 4, together: true}`.
    """
    library = course.library
    for lesson in library.lessons.values():
        room = furnish_room(course.room, [lesson])
        for surplus in split_lesson(room, lesson).surplus:
            yield _describe_surplus(room, lesson, surplus)
        yield from _check_group(room, lesson)
        yield from _check_kit(course, lesson)
    for name, planned in library.classes.items():
        run = course.plan_run(name)
        for lesson_id, surplus in run.surplus:
            room = run.sessions[0].room
            alone = furnish_room(course.room, [library.lessons[lesson_id]])
            if surplus not in split_lesson(alone, library.lessons[lesson_id]).surplus:
                yield Found(
                    planned,
                    ("resources",) if planned.resources else ("name",),
                    f'step {surplus.step + 1} of "{lesson_id}" takes {surplus.wanted} of '
                    f'"{surplus.shared}" at once, and this class has {surplus.there}',
                    "plan more of them, or leave the lesson out",
                    related=[(library.lessons[lesson_id], ("steps", surplus.step), "the step")],
                )


def _describe_surplus(room: ClassRoom, lesson: Lesson, surplus: Surplus) -> Found:
    name = room.shared[surplus.shared].name
    return Found(
        lesson,
        ("steps", surplus.step),
        f'this takes {surplus.wanted} of "{name}" at once, and there are places for '
        f"{surplus.there}",
        "do one after the other, with a time for each action, or give the room more of them",
    )


def _check_kit(course: Course, lesson: Lesson) -> Iterator[Found]:
    """Hold the list of tools against what the class shares."""
    settings = course.library.settings
    there = {each.id: each for each in settings.resources} if settings else {}
    for place, kept in enumerate(lesson.tools):
        tool = course.library.tools.get(kept.tool)
        shared = there.get(tool.resource or "") if tool else None
        if settings is not None and shared is not None and kept.count > shared.count:
            yield Found(
                lesson,
                ("tools", place, "count"),
                f'this lesson needs {kept.count} of "{kept.tool}", and the room has {shared.count} '
                f'of "{shared.name}"',
                "make do with what there is, or give the room more of them",
                related=[(settings, ("resources",), "what the room has")],
            )


def _check_group(room: ClassRoom, lesson: Lesson) -> Iterator[Found]:
    for number, step in enumerate(lesson.steps):
        for action in step.actions:
            name = room.find_shared(action.tool)
            shared = room.shared[name] if name else None
            if step.together and shared and shared.together and step.together > shared.capacity:
                yield Found(
                    lesson,
                    ("steps", number, "together"),
                    f'{step.together} pieces at once, and one "{shared.name}" takes '
                    f"{shared.capacity}",
                    f"let no more than {shared.capacity} do it together",
                )


@rule("class-out-of-order", "classes", Severity.WARNING)
def check_class_out_of_order(course: Course) -> Iterator[Found]:
    """A class holds its sessions, or the lessons of them, in an order that cannot be.

    Sessions follow each other in time, and a lesson comes after those it needs as far as the class
    holds them: else people are asked for what they are shown a week later, and what has set since
    the last session is taken out before it was made. A lesson that is held twice is mostly a slip
    of the pen; where it is meant, the session says so in `again`.

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
        yield from _check_repeated(planned)


def _check_times(course: Course, planned: PlannedClass) -> Iterator[Found]:
    zone = find_zone(course.library, planned)
    for number, (before, session) in enumerate(pairwise(planned.sessions), 1):
        if find_start(session, zone) < move_on(find_start(before, zone), before.length.base):
            yield Found(
                planned,
                ("sessions", number, "date"),
                f"this session begins on {session.date} at {session.start}, before the one above "
                "it has ended",
                "put the sessions in order of time, one after the other",
            )


def _check_repeated(planned: PlannedClass) -> Iterator[Found]:
    first: dict[str, Route] = {}
    for number, session in enumerate(planned.sessions):
        for place, name in enumerate(session.lessons):
            route: Route = ("sessions", number, "lessons", place)
            if name in first and name not in session.again:
                yield Found(
                    planned,
                    route,
                    f'"{name}" is held a second time here',
                    f"take one of the two out; where both are meant, write again: [{name}] in this "
                    "session",
                    related=[(planned, first[name], "the first time")],
                )
            first.setdefault(name, route)


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
