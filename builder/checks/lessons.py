"""Rules about the course: what comes before what, what is taught, and what is weighed out."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from fractions import Fraction

from builder.amounts import read_mass, read_volume, tell_amount
from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Route, Severity
from builder.graph import find_breaking_edge, find_circles, find_knots, find_takeable
from builder.model import Hazard, Lesson, Material, Verb
from builder.units import Quantity

AMOUNT_TOLERANCE = Fraction(5, 1000)
"""How far the sum of the steps may lie from the list, as a share of the list."""


@rule("prerequisite-circle", "lessons")
def check_prerequisite_circle(course: Course) -> Iterator[Found]:
    """Lessons need one another in a circle.

    No student could begin any of them. The circle is printed, with the edge whose removal is the
    likeliest mend.

    Failing:

        # file: lessons/pressing.yml
        prerequisites: [varnishing]
        # file: lessons/varnishing.yml
        prerequisites: [pressing]

    Passing:

        # file: lessons/pressing.yml
        prerequisites: []
        # file: lessons/varnishing.yml
        prerequisites: [pressing]
    """
    library = course.library
    graph = course.prerequisite_graph
    for circle in find_circles(graph):
        names = [name for _, name in circle]
        needed, lesson = find_breaking_edge(graph, circle, library)
        way = " -> ".join([*names, names[0]])
        message = (
            f'lesson "{names[0]}" needs itself'
            if len(names) == 1
            else f"these lessons need one another in a circle: {way}"
        )
        places = []
        for before, after in zip(circle, (*circle[1:], circle[0]), strict=True):
            edge = graph.edges[before, after]
            owner = library.lessons.get(after[1])
            if owner is not None:
                places.append((owner, edge["route"], f'"{after[1]}" needs "{before[1]}"'))
        at = library.lessons.get(lesson[1])
        if at is None:
            if not places:
                continue
            at, route = places[0][0], places[0][1]
        else:
            route = graph.edges[needed, lesson]["route"]
        yield Found(
            at,
            route,
            message,
            f'take "{needed[1]}" out of the prerequisites of "{lesson[1]}"'
            + (", or mend another step" if len(names) > 1 else ""),
            related=tuple(place for place in places if place[:2] != (at, route)),
        )


@rule("prerequisite-later-level", "lessons")
def check_prerequisite_later_level(course: Course) -> Iterator[Found]:
    """A lesson needs a lesson of a later level.

    A beginner who follows the levels would be sent forward into work that is meant for later, and
    back again.

    Failing:

        # file: lessons/pressing.yml
        level: beginner
        prerequisites: [varnishing]
        # file: lessons/varnishing.yml
        level: advanced

    Passing:

        # file: lessons/pressing.yml
        level: beginner
        # file: lessons/varnishing.yml
        level: advanced
        prerequisites: [pressing]
    """
    lessons = course.library.lessons
    for lesson in lessons.values():
        for index, name in enumerate(lesson.prerequisites):
            needed = lessons.get(name)
            if needed is not None and needed.level.rank > lesson.level.rank:
                yield Found(
                    lesson,
                    ("prerequisites", index),
                    f'this {lesson.level} lesson needs "{name}", which is {needed.level}',
                    f'move this lesson to level {needed.level}, or "{name}" to {lesson.level}',
                    related=((needed, ("level",), f'the level of "{name}"'),),
                )


@rule("skill-not-taught", "lessons")
def check_skill_not_taught(course: Course) -> Iterator[Found]:
    """A lesson assumes a skill that no lesson before it teaches.

    A student who has done all that is asked for would still stand there without it. "Before" means
    through the prerequisites, however many steps back.

    Failing:

        # file: lessons/pressing.yml
        teaches:
          - {skill: blot-a-flower, text: Blot a flower dry.}
        # file: lessons/varnishing.yml
        assumes: [blot-a-flower]

    Passing:

        # file: lessons/pressing.yml
        teaches:
          - {skill: blot-a-flower, text: Blot a flower dry.}
        # file: lessons/varnishing.yml
        prerequisites: [pressing]
        assumes: [blot-a-flower]
    """
    library = course.library
    lessons = library.lessons
    ancestry = course.ancestry
    known = (("lesson", name) for name in lessons)
    unread = ancestry.mask(ancestry.number) & ~ancestry.mask(known)
    takeable = find_takeable(course.prerequisite_graph)
    for lesson in lessons.values():
        if ("lesson", lesson.id) not in takeable:
            continue  # in or behind a circle, which is reported: nothing comes before anything
        before = ancestry.before[("lesson", lesson.id)] if lesson.assumes else 0
        if before & unread:
            continue  # what a broken or unknown lesson teaches is not known
        for index, skill in enumerate(lesson.assumes):
            if course.is_taught_before(skill, lesson):
                continue
            teaching = course.teachers.get(skill, ())
            elsewhere = [name for name in teaching if name != lesson.id]
            if elsewhere:
                hint = f'"{elsewhere[0]}" teaches it: add it to the prerequisites of this lesson'
            elif teaching:
                hint = "this lesson teaches it itself; take it out of what it assumes"
            else:
                near = _nearest(skill, course.teachers)
                hint = f'did you mean "{near}"?' if near else "no lesson teaches it; write one"
            yield Found(
                lesson,
                ("assumes", index),
                f'no lesson before this one teaches the skill "{skill}"',
                hint,
                related=tuple(
                    (lessons[name], ("teaches",), f'"{name}" teaches it') for name in elsewhere[:1]
                ),
            )


def _nearest(word: str, known: Iterable[str]) -> str | None:
    near = difflib.get_close_matches(word, sorted(known), n=1, cutoff=0.6)
    return near[0] if near else None


@rule("lesson-unreachable", "lessons")
def check_lesson_unreachable(course: Course) -> Iterator[Found]:
    """Nobody can ever come to this lesson.

    Some lesson that it needs, directly or further back, stands in a circle and can never be begun.
    The lessons of the circle itself are reported as `prerequisite-circle`.

    Failing:

        # file: lessons/pressing.yml
        prerequisites: [varnishing]
        # file: lessons/varnishing.yml
        prerequisites: [pressing]
        # file: lessons/framing.yml
        prerequisites: [varnishing]

    Passing:

        # file: lessons/pressing.yml
        prerequisites: []
        # file: lessons/varnishing.yml
        prerequisites: [pressing]
        # file: lessons/framing.yml
        prerequisites: [varnishing]
    """
    graph = course.prerequisite_graph
    takeable = find_takeable(graph)
    if len(takeable) == len(graph):
        return
    knots = find_knots(graph)
    lessons = course.library.lessons
    for name, lesson in lessons.items():
        node = ("lesson", name)
        if node in takeable or node in knots:
            continue
        stuck = [
            (index, each)
            for index, each in enumerate(lesson.prerequisites)
            if ("lesson", each) not in takeable
        ]
        index, blocker = stuck[0]
        why = (
            "which stands in a circle of lessons"
            if ("lesson", blocker) in knots
            else "which cannot be reached either"
        )
        yield Found(
            lesson,
            ("prerequisites", index),
            f'nobody can come to this lesson: it needs "{blocker}", {why}',
            "break the circle first",
        )


@rule("risk-without-lesson", "lessons", Severity.WARNING)
def check_risk_without_lesson(course: Course) -> Iterator[Found]:
    """No lesson warns of this defect.

    A defect that no lesson names among its risks is met unprepared: the lesson in which it happens
    does not say what to watch. Defects of a track that has no lesson yet wait for the first one.

    Failing:

        # file: kb/defects/wrinkled.yml
        summary: The sheet is wavy.
        # file: lessons/pressing.yml
        risks: []

    Passing:

        # file: kb/defects/wrinkled.yml
        summary: The sheet is wavy.
        # file: lessons/pressing.yml
        risks:
          - {defect: wrinkled, watch: Lay the sheet flat and dry.}
    """
    library = course.library
    if any(kind == "lesson" for kind, _ in library.broken):
        return  # the broken lesson may name it
    named = {risk.defect for lesson in library.lessons.values() for risk in lesson.risks}
    taught = {lesson.track for lesson in library.lessons.values()}
    for defect in library.defects.values():
        if defect.id not in named and not taught.isdisjoint(defect.tracks):
            yield Found(
                defect,
                (),
                f'no lesson names "{defect.id}" among its risks',
                "add it to the risks of the lesson in which it comes about, with what to watch",
                key=True,
            )


@rule("cause-untaught", "lessons", Severity.WARNING)
def check_cause_untaught(course: Course) -> Iterator[Found]:
    """A cause sends readers to a lesson that says nothing of what the cause brings about.

    Whoever comes from a flawed piece wants to know how to avoid it. A lesson that does not even
    name one of the defects of this cause among its risks leaves them searching.

    Failing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        lesson: pressing
        # file: lessons/pressing.yml
        risks: []

    Passing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        lesson: pressing
        # file: lessons/pressing.yml
        risks:
          - {defect: wrinkled, watch: Lay the sheet flat and dry.}
    """
    library = course.library
    if any(kind in ("lesson", "defect") for kind, _ in library.broken):
        return  # the broken entry may be the one that names it
    brought = course.brought
    for cause in library.causes.values():
        lesson = library.lessons.get(cause.lesson or "")
        brings = [defect.id for defect in brought.get(cause.id, ())]
        if lesson is None or not brings:
            continue
        if not {risk.defect for risk in lesson.risks} & set(brings):
            named = " or ".join(f'"{name}"' for name in brings)
            yield Found(
                cause,
                ("lesson",),
                f'the lesson "{lesson.id}" names none of what this cause brings about',
                f"add {named} to its risks with what to watch, or name another lesson",
            )


@rule("tool-missing", "lessons", Severity.WARNING)
def check_tool_missing(course: Course) -> Iterator[Found]:
    """A step uses a tool that the lesson's list of tools leaves out.

    The kit of a class and what a student sets out come from the list. What is not in it is missing
    at the bench, at the moment when something is hot.

    Failing:

        # file: lessons/pressing.yml
        tools: [{tool: book}]
        steps:
          - actions:
              - {do: stir, vessel: cup, tool: stick}
        # file: kb/tools.yml
        book: {}
        stick: {}

    Passing with `tools: [{tool: book}, {tool: stick}]` in place of `tools: [{tool: book}]`.
    """
    for lesson in course.library.lessons.values():
        told = {each.tool for each in lesson.tools}
        for number, step in enumerate(lesson.steps):
            for place, action in enumerate(step.actions):
                if action.tool is None or action.tool in told:
                    continue
                told.add(action.tool)
                yield Found(
                    lesson,
                    ("steps", number, "actions", place, "tool"),
                    f'"{action.tool}" is not among the tools of this lesson',
                    f"add {{tool: {action.tool}}} to its tools, with how many and for whom",
                )


@rule("amount-mismatch", "lessons")
def check_amount_mismatch(course: Course) -> Iterator[Found]:
    """What the steps use is not what the list says.

    The kit, the shopping and the cost come from the list of materials, the work from the steps.
    Where they differ, the class runs short, or a dose is wrong. For each material the amounts of
    the steps' `add` and `wet` actions, and of pours straight from a bottle, must come to the amount
    in the list, within 0.5 %. Where one
    of them states no amount, it takes what is left, which must not be less than nothing. In a
    lesson whose steps state no actions at all, only those materials are looked at which the safety
    rules must be able to follow: the flammable ones and those with a limit or a flash point.

    Failing:

        # file: lessons/varnishing.yml
        materials:
          - {material: varnish, amount: 10 g}
        steps:
          - title: Brush it on
            actions:
              - {do: wet, vessel: card, material: varnish, amount: 12 g}
        # file: kb/materials.yml
        varnish: {summary: Clear varnish.}

    Passing with `- {material: varnish, amount: 12 g}` in place of `- {material: varnish,
    amount: 10 g}`.
    """
    materials = course.library.materials
    for lesson, trace in course.traces:
        if not isinstance(lesson, Lesson):
            continue
        put_in = {portion.route for moment in trace.moments for portion in moment.new}
        uses: dict[str, list[tuple[Route, Quantity | None]]] = {}
        any_action = False
        for number, step in enumerate(lesson.steps):
            for place, action in enumerate(step.actions):
                any_action = True
                if action.material is not None:
                    route: Route = ("steps", number, "actions", place)
                    counts = action.do in (Verb.ADD, Verb.WET) or action.amount is not None
                    if counts and route in put_in:
                        uses.setdefault(action.material, []).append((route, action.amount))
        for name in dict.fromkeys([*(each.material for each in lesson.materials), *uses]):
            followed = any_action or _is_followed(course, name)
            if followed and course.library.exists("material", name):
                used = uses.get(name, [])
                yield from _compare(course, lesson, name, materials.get(name), used)


def _is_followed(course: Course, name: str) -> bool:
    """Say whether the safety rules follow a material from step to step."""
    material = course.library.materials.get(name)
    if material is None:
        return False
    flammable = Hazard.FLAMMABLE in course.hazards.materials[name]
    return flammable or bool(material.limits or material.flash_points)


def _compare(
    course: Course,
    lesson: Lesson,
    name: str,
    material: Material | None,
    used: list[tuple[Route, Quantity | None]],
) -> Iterator[Found]:
    listed = [(i, each) for i, each in enumerate(lesson.materials) if each.material == name]
    if not listed:
        route, amount = used[0]
        said = f" with {amount}" if amount else ""
        yield Found(
            lesson,
            (*route, "material"),
            f'this step uses "{name}", which the lesson\'s materials do not list',
            f"add it to the materials{said}",
        )
        return
    place: Route = ("materials", listed[0][0])
    if not used:
        yield Found(
            lesson,
            (*place, "material"),
            f'"{name}" is listed, but no step adds it',
            "take it out of the materials, or state the add or wet action in the step that uses it",
        )
        return
    amounts = [each.amount for _, each in listed] + [each for _, each in used if each is not None]
    by_volume = all(each.dimension != "[mass]" for each in amounts)
    read = read_volume if by_volume else read_mass
    listed_total, used_total = Fraction(0), Fraction(0)
    for each in amounts:
        if read(each, material) is None:
            yield Found(
                lesson,
                (*place, "amount"),
                f'the amounts of "{name}" are partly masses and partly volumes',
                f'write them alike, or add a density to material "{name}"',
            )
            return
    for _, needed in listed:
        listed_total += read(needed.amount, material) or 0
    for _, stated in used:
        used_total += (read(stated, material) or 0) if stated is not None else 0
    open_amount = any(stated is None for _, stated in used)
    over = used_total - listed_total
    allowed = AMOUNT_TOLERANCE * listed_total
    if (over > allowed) or (not open_amount and -over > allowed):
        written = [each.unit for each in amounts if by_volume or each.dimension == "[mass]"]
        unit = written[0]
        yield Found(
            lesson,
            (*place, "amount"),
            f'the materials list {tell_amount(listed_total, unit)} of "{name}", '
            f"the steps use {tell_amount(used_total, unit)}",
            "make the two agree within 0.5 %",
            related=tuple(
                (lesson, (*route, "amount"), f"{stated} here")
                for route, stated in used
                if stated is not None
            ),
        )
