"""The rule about recorded cases: the diagnosis must find what each turned out to be."""

from __future__ import annotations

from collections.abc import Iterator

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnosis.cases import GOOD_PLACE, explain_miss, run_cases


@rule("case-misdiagnosed", "cases")
def check_case_misdiagnosed(course: Course) -> Iterator[Found]:
    """A recorded case comes out wrong: none of its causes is among the first three.

    Cases are what really happened, so they are tests of the numbers in causes and defects. A case
    that comes out wrong shows which answer misled it, and the one number that would have to be
    another; whether to change it, or to doubt the case, is the teacher's to judge.

    Failing:

        # file: kb/cases/lost-petal.yml
        seen: [wavy]
        answered_no: [sheet-still-damp, book-lifted-early]
        was: [too-wet]
        # file: kb/symptoms.yml
        wavy: {name: Wavy}
        # file: kb/questions.yml
        sheet-still-damp: {ask: Was the sheet still damp?}
        book-lifted-early: {ask: Was the book lifted early?}
        # file: kb/defects/wrinkled.yml
        symptoms: [{symptom: wavy, often: usually}]
        causes:
          - {cause: too-wet, often: often}
          - {cause: too-soon, often: often}
          - {cause: too-light, often: often}
          - {cause: too-thick, often: often}
        # file: kb/causes.yml
        too-wet:
          how_common: rarely
          evidence: [{question: sheet-still-damp, yes: always}]
        too-soon: {how_common: often}
        too-light: {how_common: often}
        too-thick: {how_common: often}

    Passing:

        # file: kb/cases/lost-petal.yml
        seen: [wavy]
        answered_yes: [sheet-still-damp]
        was: [too-wet]
        # file: kb/symptoms.yml
        wavy: {name: Wavy}
        # file: kb/questions.yml
        sheet-still-damp: {ask: Was the sheet still damp?}
        # file: kb/defects/wrinkled.yml
        symptoms: [{symptom: wavy, often: usually}]
        causes:
          - {cause: too-wet, often: often}
          - {cause: too-soon, often: often}
        # file: kb/causes.yml
        too-wet:
          how_common: rarely
          evidence: [{question: sheet-still-damp, yes: always}]
        too-soon: {how_common: often}
    """
    library = course.library
    for result in run_cases(library, course.indexed_network):
        if result.place <= GOOD_PLACE:
            continue
        case = library.cases[result.case]
        if not any(name in library.causes for name in case.was):
            continue  # the unknown cause is reported on its own
        miss = explain_miss(library, course.indexed_network, case)
        message = (
            f'this case had the cause "{miss.cause}", and the diagnosis puts it at place '
            f"{result.place}, after {', '.join(result.first)}"
        )
        if miss.misled_by:
            told = " and ".join(f'"{name}"' for name in miss.misled_by[:2])
            message += f"; most misleading was {told}"
        related = []
        if miss.change is None:
            hint = "no single number would change that; look at the answers of the case again"
        else:
            change = miss.change
            hint = f'{change.what} would have to be "{change.wanted}" (it is {change.now:g})'
            related = [(change.entry, change.route, "the number that would have to change")]
        yield Found(case, ("was",), message, hint, related=related)
