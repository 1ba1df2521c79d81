"""Exercises for other classrooms: QTI 3.0 packages and plain CSV.

QTI 3.0 is the Question and Test Interoperability standard of 1EdTech (2022). Each variant is one
item; a number is compared with its tolerance and a usual slip shows its hint, as on our own pages.
The items keep to the parts of the standard that every player has: choice, order and text entry.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from builder.course import Course
from builder.exercises import Variant, letter_of
from builder.exercises.filling import describe_figure
from builder.model.exercises import Answered
from builder.papers.bundles import Papers
from builder.papers.data import find_factor
from builder.papers.pictures import prepare_drawing
from builder.papers.prose_nodes import Node, set_text, write_plain
from builder.papers.sheets import SheetTask
from builder.words import load_words

VARIANTS = 12
"""Variants of one exercise in an export, where there are as many."""
ITEM = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
_STAMP = (1980, 1, 1, 0, 0, 0)
_TAGS = {"b": "strong", "i": "em", "code": "code"}


def walk_variants(
    course: Course, tasks: Sequence[SheetTask], seed: str
) -> Iterator[tuple[SheetTask, int, Variant]]:
    """Give the exported variants of each exercise: the task, a number from 1, the variant."""
    for task in tasks:
        total = course.exercises.space(task.lesson, task.exercise).total
        for number in range(min(VARIANTS, total)):
            variant = course.exercises.draw(task.lesson, task.exercise, seed, number)
            yield task, number + 1, variant


def export_csv(course: Course, tasks: Sequence[SheetTask], seed: str) -> Papers:
    """Write exercises as comma-separated values, one variant a row, UTF-8 with a byte order mark.

    Args:
        course: A course without errors.
        tasks: What is exported.
        seed: What variants are drawn with.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(
        (
            "lesson",
            "exercise",
            "variant",
            "code",
            "kind",
            "skill",
            "title",
            "task",
            "drawing",
            "options",
            "answer",
            "unit",
            "tolerance",
            "hint",
            "slips",
            "work",
        )
    )
    for _, number, variant in walk_variants(course, tasks, seed):
        body, answer = variant.body, variant.body.answer
        options = [
            f"{letter_of(place)}. {write_plain(option)}"
            for place, option in enumerate(body.options)
        ]
        slips = (
            [f"{slip.text}: {write_plain(slip.hint)}" for slip in answer.slips] if answer else []
        )
        tolerance = answer.tolerance / find_factor(answer.unit, answer.units) if answer else ""
        writer.writerow(
            guard_cell(cell)
            for cell in (
                variant.lesson,
                variant.exercise,
                number,
                variant.code,
                variant.kind,
                variant.skill,
                variant.title,
                write_plain(body.ask),
                write_plain(body.drawing.description) if body.drawing else "",
                "\n".join(options),
                f"{answer.magnitude:.{answer.places}f}" if answer else variant.answer_text,
                answer.symbol if answer else "",
                f"{tolerance:.6g}" if answer else "",
                write_plain(body.hint) if body.hint else "",
                "\n".join(slips),
                write_plain(body.work),
            )
        )
    return Papers({"exercises.csv": out.getvalue().encode("utf-8-sig")})


def guard_cell(cell: Any) -> str:
    """Keep a spreadsheet from reading a text as a formula."""
    text = str(cell)
    number = text.lstrip("-").replace(".", "", 1).isdigit()
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") and not number else text


def export_qti(course: Course, tasks: Sequence[SheetTask], seed: str) -> Papers:
    """Write exercises as a QTI 3.0 package: a manifest, an item a variant, and their drawings.

    Args:
        course: A course without errors.
        tasks: What is exported.
        seed: What variants are drawn with.
    """
    settings = course.library.settings
    language = settings.language if settings else "en"
    files: dict[str, bytes] = {}
    resources: list[tuple[str, str, tuple[str, ...]]] = []
    for task, number, variant in walk_variants(course, tasks, seed):
        name = f"{task.lesson.id}-{task.exercise.id}-{number}"
        pictures: tuple[str, ...] = ()
        if variant.body.drawing is not None:
            picture = f"images/{name}.svg"
            files[picture] = prepare_drawing(variant.body.drawing.svg).encode()
            pictures = (picture,)
        files[f"items/{name}.xml"] = _write_xml(make_item(name, variant, language))
        resources.append((name, f"items/{name}.xml", pictures))
    files["imsmanifest.xml"] = _write_xml(_make_manifest(resources))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for path in sorted(files, key=lambda path: (path != "imsmanifest.xml", path)):
            entry = zipfile.ZipInfo(path, _STAMP)
            entry.compress_type = zipfile.ZIP_DEFLATED
            package.writestr(entry, files[path])
    return Papers({"exercises-qti.zip": out.getvalue()})


def _write_xml(root: Element) -> bytes:
    indent(root)
    text = tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _make_manifest(resources: Sequence[tuple[str, str, tuple[str, ...]]]) -> Element:
    root = Element("manifest", {"xmlns": PACKAGE, "identifier": "exercises"})
    metadata = SubElement(root, "metadata")
    SubElement(metadata, "schema").text = "QTI Package"
    SubElement(metadata, "schemaversion").text = "3.0.0"
    SubElement(root, "organizations")
    listed = SubElement(root, "resources")
    for name, path, pictures in resources:
        resource = SubElement(
            listed,
            "resource",
            {"identifier": name, "type": "imsqti_item_xmlv3p0", "href": path},
        )
        for file in (path, *pictures):
            SubElement(resource, "file", {"href": file})
    return root


def make_item(name: str, variant: Variant, language: str) -> Element:
    """Make one item.

    Args:
        name: Its identifier.
        variant: What it asks.
        language: BCP 47 tag of its text.
    """
    body = variant.body
    root = Element(
        "qti-assessment-item",
        {
            "xmlns": ITEM,
            "identifier": name,
            "title": variant.title,
            "adaptive": "false",
            "time-dependent": "false",
            "xml:lang": language,
        },
    )
    declared = SubElement(root, "qti-response-declaration", {"identifier": "RESPONSE"})
    correct = SubElement(declared, "qti-correct-response")
    if body.answer is not None:
        declared.attrib.update({"cardinality": "single", "base-type": "float"})
        SubElement(correct, "qti-value").text = repr(body.answer.magnitude)
    else:
        ordered = variant.answered is Answered.ORDER
        cardinality = "ordered" if ordered else "single"
        declared.attrib.update({"cardinality": cardinality, "base-type": "identifier"})
        for place in body.right:
            SubElement(correct, "qti-value").text = letter_of(place)
    _declare_outcome(root, "SCORE", "float", "0")
    _declare_outcome(root, "FEEDBACK", "identifier", None)
    shown = SubElement(root, "qti-item-body")
    _add_blocks(shown, body.ask)
    if body.drawing is not None:
        paragraph = SubElement(shown, "p")
        alternative = write_plain(body.drawing.description)
        SubElement(paragraph, "img", {"src": f"../images/{name}.svg", "alt": alternative})
    if body.answer is not None:
        paragraph = SubElement(shown, "p")
        paragraph.text = (
            describe_figure(load_words(language), body.answer.symbol, body.answer.places) + " "
        )
        attributes = {"response-identifier": "RESPONSE", "expected-length": "10"}
        SubElement(paragraph, "qti-text-entry-interaction", attributes)
    else:
        _add_options(shown, variant)
    _add_processing(root, variant)
    _add_feedback(root, "right", body.work)
    for slip in body.answer.slips if body.answer else ():
        _add_feedback(root, slip.id, slip.hint)
    for place, note in enumerate(body.notes):
        if place not in body.right:
            _add_feedback(root, f"note-{letter_of(place)}", note)
    return root


def _declare_outcome(root: Element, name: str, base_type: str, default: str | None) -> None:
    declared = SubElement(
        root,
        "qti-outcome-declaration",
        {"identifier": name, "cardinality": "single", "base-type": base_type},
    )
    if default is not None:
        SubElement(SubElement(declared, "qti-default-value"), "qti-value").text = default


def _add_options(shown: Element, variant: Variant) -> None:
    ordered = variant.answered is Answered.ORDER
    attributes = {"response-identifier": "RESPONSE", "shuffle": "false"}
    if not ordered:
        attributes["max-choices"] = "1"
    interaction = SubElement(
        shown, "qti-order-interaction" if ordered else "qti-choice-interaction", attributes
    )
    for place, option in enumerate(variant.body.options):
        choice = SubElement(interaction, "qti-simple-choice", {"identifier": letter_of(place)})
        _add_blocks(choice, option)


def _add_processing(root: Element, variant: Variant) -> None:
    """Compare the response with the answer, then with what usual slips or wrong options give."""
    answer = variant.body.answer
    processing = SubElement(root, "qti-response-processing")
    condition = SubElement(processing, "qti-response-condition")
    first = SubElement(condition, "qti-response-if")
    factor = find_factor(answer.unit, answer.units) if answer else 1.0
    compare = _start_comparison(first, answer.tolerance / factor if answer else None)
    SubElement(compare, "qti-correct", {"identifier": "RESPONSE"})
    _set_outcome(first, "SCORE", "float", "1")
    _set_outcome(first, "FEEDBACK", "identifier", "right")
    others: list[tuple[str, str, str, float | None]] = []
    if answer is not None:
        for slip in answer.slips:
            shifted = answer.magnitude + (slip.value - answer.value) / factor
            others.append((slip.id, "float", repr(shifted), slip.tolerance / factor))
    elif variant.answered is not Answered.ORDER:
        for place in range(len(variant.body.notes)):
            if place not in variant.body.right:
                others.append((f"note-{letter_of(place)}", "identifier", letter_of(place), None))
    for name, base_type, value, tolerance in others:
        branch = SubElement(condition, "qti-response-else-if")
        compare = _start_comparison(branch, tolerance)
        SubElement(compare, "qti-base-value", {"base-type": base_type}).text = value
        _set_outcome(branch, "FEEDBACK", "identifier", name)


def _start_comparison(parent: Element, tolerance: float | None) -> Element:
    if tolerance is not None:
        attributes = {"tolerance-mode": "absolute", "tolerance": f"{tolerance!r} {tolerance!r}"}
        compare = SubElement(parent, "qti-equal", attributes)
    else:
        compare = SubElement(parent, "qti-match")
    SubElement(compare, "qti-variable", {"identifier": "RESPONSE"})
    return compare


def _set_outcome(parent: Element, name: str, base_type: str, value: str) -> None:
    outcome = SubElement(parent, "qti-set-outcome-value", {"identifier": name})
    SubElement(outcome, "qti-base-value", {"base-type": base_type}).text = value


def _add_feedback(root: Element, name: str, text: str) -> None:
    feedback = SubElement(
        root,
        "qti-modal-feedback",
        {"outcome-identifier": "FEEDBACK", "identifier": name, "show-hide": "show"},
    )
    _add_blocks(SubElement(feedback, "qti-content-body"), text)


def _add_blocks(parent: Element, text: str) -> None:
    """Add a Markdown text as paragraphs, lists and tables of XHTML."""
    for node in set_text(text):
        _add_block(parent, node)


def _add_block(parent: Element, node: Node) -> None:
    if isinstance(node, str):
        SubElement(parent, "p").text = node
        return
    kind, content = node
    if kind in ("ul", "ol"):
        listed = SubElement(parent, kind)
        for item in content:
            place = SubElement(listed, "li")
            for part in item:
                _add_block(place, part)
    elif kind == "table":
        table = SubElement(parent, "table")
        for number, row in enumerate(content):
            if number < 2:
                group = SubElement(table, "tbody" if number else "thead")
            line = SubElement(group, "tr")
            for cell in row:
                _add_run(SubElement(line, "td" if number else "th"), cell)
    else:
        _add_run(SubElement(parent, "p"), node)


def _add_run(parent: Element, node: Node) -> None:
    if isinstance(node, str):
        if len(parent):
            parent[-1].tail = (parent[-1].tail or "") + node
        else:
            parent.text = (parent.text or "") + node
    elif node[0] == "br":
        SubElement(parent, "br")
    elif node[0] == "code":
        SubElement(parent, "code").text = node[1]
    else:
        place = SubElement(parent, _TAGS[node[0]]) if node[0] in _TAGS else parent
        for run in node[1]:
            _add_run(place, run)
