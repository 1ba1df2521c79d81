"""Decision charts on paper: one a defect, one for the whole bench, and the table card."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from builder.course import Course
from builder.diagnosis.decision_tree import Chart, Split
from builder.diagnosis.decision_words import ChartWords
from builder.drawings.decision_chart import FACES, draw_chart, measure_chart
from builder.library import Library
from builder.model import Lesson, Verb
from builder.papers.bundles import Papers
from builder.papers.data import describe_paper, walk_texts
from builder.papers.pictures import enlarge_type, prepare_drawing
from builder.papers.prose_nodes import set_line
from builder.papers.sheets import WorksheetError
from builder.papers.typst_pdf import FONTS, find_fonts, make_pdf, tell_missing
from builder.quantities import texts_of_window
from builder.twin.diagnosis.inference import infer

CHART_MM = (272.0, 144.0)
"""Room for a drawing on a sheet of A4 or Letter on its side, its texts below left room for."""
LARGEST_MM = 0.27
"""Length of one unit of a drawing at most: letters of 11.5 pt."""
PAPER_TYPE = 1.14
"""The paper's face is narrower than the faces the boxes are measured for, so it may be larger."""
LEAST_MEANING = 0.1
"""A defect this likely is named beside a sign."""
MOST_MEANINGS = 3
CARD_FAULTS = 8
HALVES = {"a4": "a5", "letter": "us-statement"}
"""Size of the card, by the paper it is cut from."""


def make_chart_papers(course: Course, defects: Sequence[str] = (), *, paper: str = "a4") -> Papers:
    """Make `charts.pdf` and `card.pdf`, and each chart as a drawing.

    Args:
        course: A course without errors.
        defects: Ids; none makes the charts of all.
        paper: "a4" or "letter".

    Raises:
        WorksheetError: If there is no such defect, or none has a cause to tell of.
    """
    library = course.library
    for name in defects:
        if name not in library.defects:
            raise WorksheetError(f'there is no defect "{name}"; {library.suggest("defect", name)}')
    charts = course.likelihoods.charts
    wanted = tuple(chart for chart in charts if not defects or chart.defect in defects)
    if not wanted:
        raise WorksheetError("no defect has a cause to tell of, so there is no chart to make")
    sheets = describe_charts(course, wanted, paper)
    card = describe_card(course, charts, paper)
    fonts = find_fonts(set(walk_texts([sheets, card])))
    notes = tell_missing(fonts)
    drawn = {
        f"{chart.defect}.svg": prepare_drawing(draw_chart(library, chart)).encode() + b"\n"
        for chart in wanted
    }
    pdfs = {
        "charts.pdf": make_pdf("charts", sheets, fonts),
        "card.pdf": make_pdf("card", card, fonts),
    }
    return Papers({**pdfs, **drawn}, tuple(notes))


def describe_charts(course: Course, charts: Sequence[Chart], paper: str) -> dict[str, Any]:
    """Give the data of `charts.typ`."""
    library = course.library
    words = ChartWords(library)
    return {
        **describe_paper(library, library.words.text("paper.charts"), paper, large=False),
        "thing": words.thing,
        "groups": list(_describe_signs(course, charts)),
        "charts": [_describe_chart(library, words, chart) for chart in charts],
    }


def _describe_chart(library: Library, words: ChartWords, chart: Chart) -> dict[str, Any]:
    defect = library.defects[chart.defect]
    width, height = measure_chart(library, chart)
    scale = min(LARGEST_MM, CHART_MM[0] / width, CHART_MM[1] / height)
    svg = prepare_drawing(draw_chart(library, chart)).replace(FACES, FONTS[0])
    svg = enlarge_type(svg, PAPER_TYPE)
    return {
        "id": defect.id,
        "name": defect.name,
        "summary": defect.summary,
        "picture": _draw(library, defect.picture or defect.id),
        "harmless": set_line(defect.harmless) if defect.harmless else None,
        "cautions": [
            {
                "signal": library.cautions[name].signal,
                "title": library.cautions[name].title,
                "do": [set_line(each) for each in library.cautions[name].do],
            }
            for name in defect.cautions
        ],
        "drawing": {"svg": svg, "description": words.say_chart(chart), "width": width * scale},
    }


def _draw(library: Library, picture: str) -> dict[str, str] | None:
    svg = library.drawings.get(picture)
    return {"svg": prepare_drawing(svg)} if svg else None


def _describe_signs(course: Course, charts: Sequence[Chart]) -> Iterator[dict[str, Any]]:
    """Give the signs by picture, each with the defects it points to, the likeliest first."""
    library, network = course.library, course.indexed_network
    charted = {chart.defect for chart in charts}
    pictures: dict[str, list[dict[str, Any]]] = {}
    for symptom in library.symptoms.values():
        showing = {
            defect.id
            for defect in library.defects.values()
            if any(link.symptom == symptom.id for link in defect.symptoms)
        }
        found = infer(
            network,
            {"present": [symptom.id], "absent": [], "yes": [], "no": [], "skipped": []},
        )
        means = [
            each["id"]
            for each in found["defects"]
            if each["id"] in showing and each["probability"] >= LEAST_MEANING
        ]
        if means:
            meanings = [
                {"name": library.defects[name].name, "id": name if name in charted else None}
                for name in means[:MOST_MEANINGS]
            ]
            sign = {"name": symptom.name, "means": meanings}
            pictures.setdefault(symptom.picture, []).append(sign)
    for picture, signs in sorted(pictures.items()):
        yield {"picture": _draw(library, picture), "signs": signs}


def describe_card(course: Course, charts: Sequence[Chart], paper: str) -> dict[str, Any]:
    """Give the data of `card.typ`: windows and rules in front, the commonest faults behind.

    Each track that has lessons gets a card of its own, with the dangers of its own lessons: a rule
    that is not for this table hides those that are.
    """
    library = course.library
    tracks = library.settings.tracks if library.settings else ()
    held = {lesson.track for lesson in library.lessons.values()}
    found = infer(
        course.indexed_network,
        {"present": [], "absent": [], "yes": [], "no": [], "skipped": []},
    )
    by_defect = {chart.defect: chart for chart in charts}
    ranked = [each["id"] for each in found["defects"] if each["id"] in by_defect]
    words = ChartWords(library)
    return {
        **describe_paper(library, library.words.text("paper.card"), paper, large=False),
        "paper": HALVES[paper],
        "thing": words.thing,
        "cards": [
            _describe_side(
                course, words, track.id, track.name if len(held) > 1 else "", by_defect, ranked
            )
            for track in tracks
            if track.id in held
        ],
    }


def _describe_side(
    course: Course,
    words: ChartWords,
    track: str,
    name: str,
    charts: Mapping[str, Chart],
    ranked: Sequence[str],
) -> dict[str, Any]:
    """Give the card of one track; its name is left out where it is the only one."""
    library = course.library
    lessons = [lesson for lesson in library.lessons.values() if lesson.track == track]
    attached = {each for lesson in lessons for each in course.attach_cautions(lesson).overall}
    cautions = [library.cautions[each] for each in course.hazards.sort(attached)]
    common = [each for each in ranked if track in (library.defects[each].tracks or (track,))]
    return {
        "track": name,
        "windows": list(_describe_windows(lessons)),
        "dangers": [
            {"title": each.title, "do": [set_line(line) for line in each.do]}
            for each in cautions
            if each.signal == "Danger"
        ],
        "warnings": [each.title for each in cautions if each.signal == "Warning"],
        "faults": [_describe_fault(library, words, charts[each]) for each in common[:CARD_FAULTS]],
    }


def _describe_fault(library: Library, words: ChartWords, chart: Chart) -> dict[str, Any]:
    defect = library.defects[chart.defect]
    return {
        "name": defect.name,
        "picture": _draw(library, defect.picture or defect.id),
        "ask": words.ask(chart.root) if isinstance(chart.root, Split) else "",
        # Where health asks to stop, that stands in the place of what could save the thing.
        "now": defect.stop.do[0] if defect.stop else words.fix(chart.first.now),
        "next": words.fix(chart.first.next),
    }


def _describe_windows(lessons: Iterable[Lesson]) -> Iterator[dict[str, Any]]:
    """Give the windows in which a lesson pours; of a lesson that pours in none, all it has."""
    for lesson in lessons:
        warm = [step for step in lesson.steps if step.temperature is not None]
        pours = [step for step in warm if any(each.do is Verb.POUR for each in step.actions)]
        rows = []
        for step in pours or warm:
            assert step.temperature is not None
            metric, us = texts_of_window(step.temperature)
            rows.append({"step": step.title, "metric": metric, "us": us})
        if rows:
            yield {"lesson": lesson.title, "rows": rows}
