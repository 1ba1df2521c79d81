"""What the interactive diagnosis carries: the network, and every word it shows."""

from __future__ import annotations

from typing import Any

from builder.diagnosis.guide import gather_texts
from builder.pages.maker import PageMaker
from builder.pages.prose import plain, text_of

SCRIPT = "diagnose.js"
STYLE = "diagnose.css"


def describe_consultation(maker: PageMaker, address: str) -> dict[str, Any]:
    """Describe the diagnosis for the page's script.

    Args:
        maker: What these pages are made with.
        address: Of the page, from which links lead.

    Returns:
        Plain data: `network` and `guide` as the model takes them, `texts` that plans are told in,
        our own `words`, and what is shown beside by id.
    """
    library = maker.library
    prose = maker.prose(address)
    words, thing = maker.words, maker.settings.thing
    return {
        "network": maker.course.network,
        "guide": maker.course.adviser.guide,
        "texts": gather_texts(library, words),
        "words": {
            key: words.text(f"diagnose.{key}", one=thing.one, often="")
            for key in words.below("diagnose")
        },
        "contexts": [
            {
                "id": context.id,
                "ask": context.ask,
                "options": [
                    {"id": option.id, "name": option.name, "note": option.note or ""}
                    for option in context.options
                ],
            }
            for context in maker.settings.contexts
        ],
        "symptoms": {
            symptom.id: str(prose.block(symptom.text)) for symptom in library.symptoms.values()
        },
        "questions": {
            question.id: str(prose.block(question.explain))
            for question in library.questions.values()
        },
        "defects": {
            defect.id: {
                "link": prose.link("defect", defect.id),
                "picture": defect.picture or defect.id,
                "use": str(prose.block(defect.harmless)),
                "cautions": list(defect.cautions),
            }
            for defect in library.defects.values()
        },
        "causes": {
            cause.id: {
                "link": prose.link("cause", cause.id),
                "lesson": _link(prose, "lesson", cause.lesson, library.lessons, "title"),
                "calculator": _link(
                    prose, "calculator", cause.calculator, library.calculators, "name"
                ),
            }
            for cause in library.causes.values()
        },
        "fixes": {
            fix.id: {
                "link": prose.link("fix", fix.id),
                "summary": fix.summary,
                "time": text_of(fix.time)[0],
                "steps": [str(prose.block(step.text)) for step in fix.steps],
                "cautions": list(maker.course.attach_cautions(fix).overall),
            }
            for fix in library.fixes.values()
        },
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
