"""The diagnosis network of a course: plain data made from its defects, causes, symptoms, fixes.

Entries that a defect or cause names but the course does not have make no link.
"""

from __future__ import annotations

from builder.diagnosis.shapes import Network
from builder.library import Library

DEFECT_LEAK = 0.002
"""How often a defect comes without any listed cause: a teacher's judgement, not a measurement."""


def build_network(library: Library) -> Network:
    """Build the network of a course.

    Args:
        library: The course.

    Returns:
        Plain data, entries in order of id; costs of fixes are their time in minutes.
    """
    causes, defects = library.causes, library.defects
    return {
        "causes": [
            {
                "id": cause.id,
                "prior": cause.how_common,
                "defects": [
                    (defect.id, link.often)
                    for defect in defects.values()
                    for link in defect.causes
                    if link.cause == cause.id
                ],
                "questions": [
                    (link.question, link.yes, 0.0)
                    for link in cause.evidence
                    if link.question in library.questions
                ],
            }
            for cause in causes.values()
        ],
        "defects": [
            {
                "id": defect.id,
                "leak": DEFECT_LEAK,
                "symptoms": [
                    (link.symptom, link.often)
                    for link in defect.symptoms
                    if link.symptom in library.symptoms
                ],
            }
            for defect in defects.values()
        ],
        "symptoms": [
            {"id": symptom.id, "leak": symptom.chance_otherwise}
            for symptom in library.symptoms.values()
        ],
        "questions": [
            {"id": question.id, "leak": question.yes_otherwise, "telling": "yes"}
            for question in library.questions.values()
        ],
        "fixes": [
            {
                "id": fix.id,
                "when": fix.when.value,
                "cost_minutes": fix.time.base / 60,
                "mends": [
                    (cause.id, link.helps)
                    for cause in causes.values()
                    for link in cause.fixes
                    if link.fix == fix.id
                ],
                "discards": fix.discards,
                "forbidden": False,
            }
            for fix in library.fixes.values()
        ],
    }
