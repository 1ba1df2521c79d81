"""Rules about stops, about where fixes hang, and about how common causes are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Severity
from builder.model import Cause, Defect, Fix, When

OFTEN_SHOWN = 0.5
"""A defect that shows a sign this often should stop where the sign does."""
MOST_CAUSES_A_BATCH = 1.0
"""Causes that act in one batch, on average, at most."""


def _leads_to_use(fix: Fix) -> bool:
    return fix.when is When.NOW and not fix.discards and not fix.sets_aside


@rule("stop-with-rescue", "causes")
def check_stop_with_rescue(course: Course) -> Iterator[Found]:
    """A fix that saves the thing hangs on a defect that forbids its use.

    A defect with a stop says that the thing must not be used. A fix beside it that mends the thing
    would lead somebody to use it all the same. The same holds for a defect that often shows a sign
    with a stop and has none of its own: with the sign denied, the fix would be offered.

    Failing:

        # file: kb/defects/wrinkled.yml
        stop: {reason: Something grows in it., do: [Throw it away.]}
        fixes:
          - {fix: press-again, helps: usually}
        # file: kb/fixes/press-again.yml
        when: now

    Passing:

        # file: kb/defects/wrinkled.yml
        stop: {reason: Something grows in it., do: [Throw it away.]}
        fixes:
          - {fix: throw-away, helps: always}
        # file: kb/fixes/throw-away.yml
        when: now
        discards: true
    """
    library = course.library
    for defect in library.defects.values():
        stopping = _find_stop(course, defect)
        if stopping is None:
            continue
        for index, rescue in enumerate(defect.fixes):
            fix = library.fixes.get(rescue.fix)
            if fix is not None and _leads_to_use(fix):
                yield Found(
                    defect,
                    ("fixes", index, "fix"),
                    f'the fix "{fix.id}" would be offered although {stopping}',
                    "take it out; for one that only puts the thing out of use, say so with "
                    "sets_aside: true or discards: true",
                )
        for link in defect.causes if defect.stop else ():
            cause = library.causes.get(link.cause)
            for index, mend in enumerate(cause.fixes if cause else ()):
                fix = library.fixes.get(mend.fix)
                if cause is not None and fix is not None and _leads_to_use(fix):
                    yield Found(
                        cause,
                        ("fixes", index, "fix"),
                        f'the fix "{fix.id}" hangs on a cause of "{defect.id}" and would be '
                        f"offered although {stopping}",
                        "name it in the fixes of the defects that it does save from",
                    )


def _find_stop(course: Course, defect: Defect) -> str | None:
    """Say what forbids the use of a thing with a defect, or None."""
    if defect.stop is not None:
        return f'"{defect.id}" forbids the use of the thing'
    for link in defect.symptoms:
        symptom = course.library.symptoms.get(link.symptom)
        always = symptom is not None and symptom.stop is not None and not symptom.stop.only
        if always and link.often >= OFTEN_SHOWN:
            return f'the sign "{link.symptom}" forbids it, which "{defect.id}" shows often'
    return None


@rule("fix-out-of-place", "causes", Severity.WARNING)
def check_fix_out_of_place(course: Course) -> Iterator[Found]:
    """A fix hangs where it cannot do what it is for.

    What saves the thing in the hand belongs to the defect: a fix for now that hangs on a cause is
    offered for every fault of that cause, also where it does nothing. What prevents the next
    belongs to the cause. A fix of a defect that is meant for some of its causes names causes the
    defect has, and `until` names a stage of the course. A defect that nothing saves, or not after
    every cause, says so.

    Failing:

        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
        causes:
          - {cause: too-wet, often: often}
        # file: kb/causes/too-wet.yml
        fixes:
          - {fix: press-again, helps: usually}
        # file: kb/fixes/press-again.yml
        when: now

    Passing:

        # file: kb/defects/wrinkled.yml
        symptoms:
          - {symptom: wavy, often: usually}
        causes:
          - {cause: too-wet, often: often}
        fixes:
          - {fix: press-again, helps: usually}
        # file: kb/causes/too-wet.yml
        fixes:
          - {fix: blot-first, helps: usually}
        # file: kb/fixes/press-again.yml
        when: now
        # file: kb/fixes/blot-first.yml
        when: next
    """
    fixes = course.library.fixes
    for cause in course.library.causes.values():
        for index, link in enumerate(cause.fixes):
            fix = fixes.get(link.fix)
            if fix is not None and fix.when is When.NOW:
                yield Found(
                    cause,
                    ("fixes", index, "fix"),
                    f'the fix "{fix.id}" is for the thing in the hand and hangs on a cause',
                    "name it in the fixes of the defects that it saves from, with causes: where it "
                    "helps after some of them only",
                )
    for defect in course.library.defects.values():
        yield from _check_rescues(course, defect)
    yield from _check_stages(course)


def _check_rescues(course: Course, defect: Defect) -> Iterator[Found]:
    brought = {link.cause for link in defect.causes}
    saved: set[str] = set()
    for index, rescue in enumerate(defect.fixes):
        fix = course.library.fixes.get(rescue.fix)
        saved |= set(rescue.causes) or brought
        if fix is not None and fix.when is When.NEXT:
            yield Found(
                defect,
                ("fixes", index, "fix"),
                f'the fix "{fix.id}" is for the next batch and hangs on a defect',
                "name it in the fixes of the causes that it prevents",
            )
        for place, name in enumerate(rescue.causes):
            if name not in brought:
                yield Found(
                    defect,
                    ("fixes", index, "causes", place),
                    f'"{name}" is no cause of "{defect.id}", so this fix is never offered for it',
                    "add it to the causes of the defect, or take it out here",
                )
    for link in defect.causes:
        cause = course.library.causes.get(link.cause)
        old = any(
            course.library.fixes[each.fix].when is When.NOW
            for each in (cause.fixes if cause else ())
            if each.fix in course.library.fixes
        )
        if cause and link.cause not in saved and not (old or defect.stop or defect.nothing_saves):
            yield Found(
                defect,
                ("causes",),
                f'nothing is said for a thing with "{defect.id}" after the cause "{link.cause}"',
                "name a fix for it, or say with nothing_saves that nothing saves it",
                key=True,
            )
            return


def _check_stages(course: Course) -> Iterator[Found]:
    settings = course.library.settings
    stages = {
        option.id
        for context in (settings.contexts if settings else ())
        if context.stages
        for option in context.options
    }
    known = ", ".join(sorted(stages)) or "none"
    for fix in course.library.fixes.values():
        if fix.until is not None and fix.until not in stages:
            yield Found(
                fix,
                ("until",),
                f'"{fix.until}" is no stage of the course',
                f"its stages are: {known}",
            )


@rule("priors-too-high", "causes", Severity.WARNING)
def check_priors_too_high(course: Course) -> Iterator[Found]:
    """The causes of a track act more often than once a batch.

    `how_common` says in how many of all batches a cause acts. Where these numbers add up to more
    than one for the faults of a track, every batch would have a fault, and more; the diagnosis then
    blames causes for being common. Words such as `sometimes` mean 0.3 here, three batches of ten.

    The words made for this, with their figures: `in-every-second` 0.5, `in-every-fifth` 0.2,
    `in-every-tenth` 0.1, `in-one-of-twenty` 0.05, `in-one-of-fifty` 0.02, `in-one-of-hundred` 0.01.
    Elsewhere, for how often something happens once a cause acts or a defect is there: `always`
    0.98, `usually` 0.8, `often` 0.6, `sometimes` 0.3, `rarely` 0.08, `never` 0.01.

    Failing:

        # file: kb/causes.yml
        too-wet: {how_common: often}
        too-soon: {how_common: sometimes}
        too-thick: {how_common: sometimes}

    Passing:

        # file: kb/causes.yml
        too-wet: {how_common: in-every-fifth}
        too-soon: {how_common: in-every-tenth}
        too-thick: {how_common: in-one-of-twenty}
    """
    everything = tuple(course.library.causes.values())
    by_track = [
        tuple(
            cause
            for cause in everything
            if any(track in defect.tracks for defect in course.brought.get(cause.id, ()))
        )
        for track in dict.fromkeys(
            track for defect in course.library.defects.values() for track in defect.tracks
        )
    ]
    causes = max(by_track or [everything], key=_add_up)
    total = _add_up(causes)
    if total > MOST_CAUSES_A_BATCH:
        commonest = max(causes, key=lambda cause: (cause.how_common, cause.id))
        yield Found(
            commonest,
            ("how_common",),
            f"the {len(causes)} causes of one track would act {total:.1f} times in every batch",
            "use the words in-every-tenth, in-one-of-twenty, in-one-of-fifty, in-one-of-hundred, "
            f'or smaller numbers; the commonest is "{commonest.id}" with {commonest.how_common:g}',
        )


def _add_up(causes: Sequence[Cause]) -> float:
    return sum(cause.how_common for cause in causes)
