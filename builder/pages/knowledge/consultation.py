"""What the interactive diagnosis carries: the network, and every word it shows."""

from __future__ import annotations

from typing import Any

from builder.frequencies import LIKELIHOODS
from builder.pages.maker import PageMaker
from builder.pages.prose import plain, text_of
from builder.twin.diagnosis.fixes import DISCARD_FIRST

SCRIPT = "diagnose.js"
STYLE = "diagnose.css"


def describe_consultation(maker: PageMaker, address: str) -> dict[str, Any]:
    """Describe the diagnosis for the page's script.

    Args:
        maker: What these pages are made with.
        address: Of the page, from which links lead.

    Returns:
        Plain data: `network` as the model takes it, and names, texts and links by id.
    """
    library = maker.library
    prose = maker.prose(address)
    fixes: dict[str, Any] = {}
    for fix in library.fixes.values():
        attached = maker.course.attach_cautions(fix)
        fixes[fix.id] = {
            "name": fix.name,
            "link": prose.link("fix", fix.id),
            "summary": fix.summary,
            "time": text_of(fix.time)[0],
            "steps": [str(prose.block(step.text)) for step in fix.steps],
            "cautions": list(attached.overall),
            "discards": fix.discards,
        }
    return {
        "network": maker.course.network,
        "words": LIKELIHOODS,
        "serious": DISCARD_FIRST,
        "thing": {"one": maker.settings.thing.one, "many": maker.settings.thing.many},
        "symptoms": {
            symptom.id: {"name": symptom.name, "text": str(prose.block(symptom.text))}
            for symptom in library.symptoms.values()
        },
        "questions": {
            question.id: {"ask": question.ask, "explain": str(prose.block(question.explain))}
            for question in library.questions.values()
        },
        "defects": {
            defect.id: {
                "name": defect.name,
                "link": prose.link("defect", defect.id),
                "picture": defect.picture or defect.id,
                "use": str(prose.block(defect.harmless)),
                "cautions": list(defect.cautions),
            }
            for defect in library.defects.values()
        },
        "causes": {
            cause.id: {
                "name": cause.name,
                "link": prose.link("cause", cause.id),
                "summary": cause.summary,
                "lesson": _link(prose, "lesson", cause.lesson, library.lessons, "title"),
                "calculator": _link(
                    prose, "calculator", cause.calculator, library.calculators, "name"
                ),
            }
            for cause in library.causes.values()
        },
        "fixes": fixes,
        "cautions": {
            caution.id: {
                "signal": caution.signal,
                "title": caution.title,
                "do": plain(caution.do[0]),
                "link": prose.link("caution", caution.id),
            }
            for caution in library.cautions.values()
        },
    }


def _link(prose: Any, kind: str, name: str | None, entries: Any, field: str) -> Any:
    if name is None or name not in entries:
        return None
    return {"name": getattr(entries[name], field), "link": prose.link(kind, name)}
