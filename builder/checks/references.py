"""Rules about names: every entry, track, resource and drawing that is named must exist."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator

from builder.checks.rule import Found, find_problems, rule
from builder.course import Course
from builder.diagnostics import Route, Severity
from builder.library import DRAWINGS
from builder.model import LINKED_KINDS, Entry, RefersTo


@rule("reference-unknown", "references")
def check_reference_unknown(course: Course) -> Iterator[Found]:
    """A name leads to an entry, track or resource that does not exist.

    A page cannot link to it, and the rules about causes and safety cannot follow it. Mostly it is a
    slip of the keyboard, so the nearest existing name is suggested. A link in a text is a reference
    too: `[words](defect:id)`. An entry that exists but cannot be read is reported only once, where
    it stands.

    Failing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wett, often: often}
        # file: kb/causes/too-wet.yml
        summary: The sheet went in wet.

    Passing:

        # file: kb/defects/wrinkled.yml
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        summary: The sheet went in wet.
    """
    library = course.library
    for entry, route, mark, text in course.marks:
        # citation-missing checks the source of a fact.
        if not isinstance(mark, RefersTo) or route[-1] == "citation":
            continue
        if not library.exists(mark.kind, text):
            message = f'there is no {mark.kind} with the id "{text}"'
            yield _unknown(course, entry, route, mark.kind, text, message)
    for entry, route, link in course.links:
        named = link.reference
        if named is not None and not library.exists(*named):
            message = f'a link leads to "{link.target}", which does not exist'
            yield _unknown(course, entry, route, *named, message)
        elif named is None and not link.scheme and not link.is_picture:
            yield Found(
                entry,
                route,
                f'a link leads to "{link.target}", which is no entry',
                "write a kind and an id, such as defect:some-id; kinds are "
                + ", ".join(LINKED_KINDS),
            )
    yield from find_problems(course, "reference-unknown")
    settings = library.settings
    if settings is None:
        return
    tracks = {track.id for track in settings.tracks}
    for lesson in library.lessons.values():
        if lesson.track not in tracks:
            yield _unlisted(course, lesson, ("track",), "track", lesson.track, tracks)
    for defect in library.defects.values():
        for index, track in enumerate(defect.tracks):
            if track not in tracks:
                yield _unlisted(course, defect, ("tracks", index), "track", track, tracks)
    resources = {resource.id for resource in settings.resources}
    for tool in library.tools.values():
        if tool.resource is not None and tool.resource not in resources:
            yield _unlisted(course, tool, ("resource",), "resource", tool.resource, resources)
    for planned in library.classes.values():
        # A class may have another number of a shared tool as well.
        for name in planned.resources:
            if name not in resources and name not in library.tools:
                yield _unlisted(course, planned, ("resources", name), "resource", name, resources)
    zones = {zone.id for zone in settings.zones}
    for entry, route, name in _list_zones(course):
        if name not in zones:
            yield _unlisted(course, entry, route, "zone", name, zones)


def _list_zones(course: Course) -> Iterator[tuple[Entry, Route, str]]:
    """List every place where a part of the room is named."""
    library, settings = course.library, course.library.settings
    if settings is not None:
        for index, resource in enumerate(settings.resources):
            if resource.zone is not None:
                yield settings, ("resources", index, "zone"), resource.zone
        for index, zone in enumerate(settings.zones):
            for name in zone.clear_of:
                yield settings, ("zones", index, "clear_of", name), name
    for material in library.materials.values():
        if material.zone is not None:
            yield material, ("zone",), material.zone
    for tool in library.tools.values():
        if tool.zone is not None:
            yield tool, ("zone",), tool.zone
    for lesson in library.lessons.values():
        for index, step in enumerate(lesson.steps):
            if step.zone is not None:
                yield lesson, ("steps", index, "zone"), step.zone


def _unknown(
    course: Course, entry: Entry, route: Route, kind: str, name: str, message: str
) -> Found:
    hint = course.library.suggest(kind, name)
    return Found(entry, route, message, hint)


def _unlisted(
    course: Course, entry: Entry, route: Route, what: str, name: str, known: Collection[str]
) -> Found:
    near = difflib.get_close_matches(name, sorted(known), n=1, cutoff=0.6)
    if near:
        hint = f'did you mean "{near[0]}"?'
    elif known:
        hint = f"its {what}s are {', '.join(sorted(known))}"
    else:
        hint = f"add it to {what}s in lessons/course.yml"
    message = f'the course has no {what} with the id "{name}"'
    settings = course.library.settings
    assert settings is not None
    also = ((settings, (f"{what}s",), f"the course's {what}s"),) if known else ()
    return Found(entry, route, message, hint, related=also)


@rule("picture-missing", "references")
def check_picture_missing(course: Course) -> Iterator[Found]:
    """A drawing is named that the course does not have.

    A symptom is chosen by its picture, so a missing one leaves a hole in the page. Drawings are SVG
    files in `kb/drawings/`. A defect that names none uses the drawing of its own id; where there is
    no such drawing either, that is a warning, and its page goes without.

    Failing:

        # file: kb/symptoms.yml
        wavy:
          label: wavy sheet
          picture: wavvy-sheet
        # file: kb/drawings/wavy-sheet.svg
        <svg xmlns="http://www.w3.org/2000/svg"/>

    Passing:

        # file: kb/symptoms.yml
        wavy:
          label: wavy sheet
          picture: wavy-sheet
        # file: kb/drawings/wavy-sheet.svg
        <svg xmlns="http://www.w3.org/2000/svg"/>
    """
    library = course.library
    drawings = {*library.drawings, *(name for kind, name in library.broken if kind == "drawing")}

    def missing(entry: Entry, route: Route, name: str, severity: Severity) -> Found:
        near = difflib.get_close_matches(name, sorted(drawings), n=1, cutoff=0.6)
        said = f'did you mean "{near[0]}"?' if near else f"put it into {DRAWINGS}/{name}.svg"
        message = f'there is no drawing "{name}"'
        return Found(entry, route, message, said, severity=severity)

    for symptom in library.symptoms.values():
        if symptom.picture not in drawings:
            yield missing(symptom, ("picture",), symptom.picture, Severity.ERROR)
    for lesson in library.lessons.values():
        if lesson.picture not in drawings:
            yield missing(lesson, ("picture",), lesson.picture, Severity.ERROR)
        for index, step in enumerate(lesson.steps):
            if step.picture is not None and step.picture not in drawings:
                route = ("steps", index, "picture")
                yield missing(lesson, route, step.picture, Severity.ERROR)
    for defect in library.defects.values():
        if defect.picture is not None and defect.picture not in drawings:
            yield missing(defect, ("picture",), defect.picture, Severity.ERROR)
        elif defect.picture is None and defect.id not in drawings:
            yield missing(defect, (), defect.id, Severity.WARNING)
