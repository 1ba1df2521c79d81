"""Exports: QTI 3.0 checked for structure, and plain CSV.

The schema of QTI 3.0 is not at hand without a download, so what follows checks the structure
against the published specification (1EdTech, QTI 3.0 Assessment, Section and Item information
model): names, required attributes, order of children, references within an item and the package.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from functools import cache
from typing import Any
from xml.etree.ElementTree import Element, fromstring

import pytest
from exercise_course import load_course

from builder.course import Course
from builder.papers import collect_tasks
from builder.papers.exports import ITEM, PACKAGE, export_csv, export_qti

ORDER = (
    "qti-response-declaration",
    "qti-outcome-declaration",
    "qti-item-body",
    "qti-response-processing",
    "qti-modal-feedback",
)
IDENTIFIER = re.compile(r"[A-Za-z_][\w.-]*")


@cache
def read_package() -> dict[str, bytes]:
    course = Course(load_course())
    tasks, _ = collect_tasks(course, course.order)
    data = export_qti(course, tasks, "1").files["exercises-qti.zip"]
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert package.testzip() is None
        assert package.namelist()[0] == "imsmanifest.xml"
        return {name: package.read(name) for name in package.namelist()}


def name_of(element: Element) -> str:
    """Give an element's name without its namespace."""
    return element.tag.partition("}")[2]


def items() -> dict[str, Element]:
    """Give the items of the package by file."""
    return {
        name: fromstring(data) for name, data in read_package().items() if name.startswith("items/")
    }


def test_the_manifest_lists_every_file_once() -> None:
    root = fromstring(read_package()["imsmanifest.xml"])
    assert root.tag == f"{{{PACKAGE}}}manifest"
    assert [name_of(child) for child in root] == ["metadata", "organizations", "resources"]
    assert [child.text for child in root[0]] == ["QTI Package", "3.0.0"]
    listed: list[str] = []
    for resource in root[2]:
        assert resource.get("type") == "imsqti_item_xmlv3p0"
        files = [str(file.get("href")) for file in resource]
        assert files[0] == resource.get("href")
        listed.extend(files)
    assert sorted(listed) == sorted(set(read_package()) - {"imsmanifest.xml"})
    identifiers = [resource.get("identifier") for resource in root[2]]
    assert len(set(identifiers)) == len(identifiers)


def test_every_variant_is_an_item_of_the_standard() -> None:
    assert len(items()) == 12 + 12 + 6 + 12 + 4 + 12 + 12  # twelve each, or as many as there are
    for file, root in items().items():
        assert root.tag == f"{{{ITEM}}}qti-assessment-item"
        assert f"items/{root.get('identifier')}.xml" == file
        assert root.get("title")
        assert root.get("adaptive") == root.get("time-dependent") == "false"
        names = [name_of(child) for child in root]
        assert names == sorted(names, key=ORDER.index), "children in the order of the model"
        assert names.count("qti-item-body") == names.count("qti-response-processing") == 1
        for element in root.iter():
            identifier = element.get("identifier")
            assert identifier is None or IDENTIFIER.fullmatch(identifier)


def test_what_an_item_refers_to_is_declared() -> None:
    for root in items().values():
        declared = {
            str(child.get("identifier")): child
            for child in root
            if name_of(child).endswith("-declaration")
        }
        assert set(declared) == {"RESPONSE", "SCORE", "FEEDBACK"}
        for element in root.iter():
            if name_of(element) in ("qti-variable", "qti-correct", "qti-set-outcome-value"):
                assert element.get("identifier") in declared
            if "interaction" in name_of(element):
                assert element.get("response-identifier") == "RESPONSE"
            if name_of(element) == "img":
                picture = str(element.get("src")).removeprefix("../")
                assert picture in read_package()
                assert element.get("alt")
        shown = {
            str(child.get("identifier")) for child in root if name_of(child) == "qti-modal-feedback"
        }
        given = {
            value.text
            for outcome in root.iter(f"{{{ITEM}}}qti-set-outcome-value")
            if outcome.get("identifier") == "FEEDBACK"
            for value in outcome
        }
        assert given <= shown
        choices = {str(c.get("identifier")) for c in root.iter(f"{{{ITEM}}}qti-simple-choice")}
        correct = [str(v.text) for v in declared["RESPONSE"].iter(f"{{{ITEM}}}qti-value")]
        if choices:
            assert set(correct) <= choices
            assert len(set(correct)) == len(correct)
        else:
            assert declared["RESPONSE"].get("base-type") == "float"
            float(correct[0])


def run_item(root: Element, response: Any) -> tuple[float, str]:
    """Run an item's response processing, as a player would: score and feedback."""
    space = f"{{{ITEM}}}"
    declared = next(root.iter(f"{space}qti-response-declaration"))
    correct = [str(value.text) for value in declared.iter(f"{space}qti-value")]
    score, feedback = 0.0, ""
    for branch in next(root.iter(f"{space}qti-response-condition")):
        compare = branch[0]
        wanted: Any = correct if name_of(compare[1]) == "qti-correct" else [compare[1].text]
        if name_of(compare) == "qti-equal":
            low, high = map(float, str(compare.get("tolerance")).split())
            target = float(wanted[0])
            met = target - low <= response <= target + high
        else:
            met = (response if isinstance(response, list) else [response]) == wanted
        if met:
            for outcome in branch[1:]:
                if outcome.get("identifier") == "SCORE":
                    score = float(str(outcome[0].text))
                else:
                    feedback = str(outcome[0].text)
            break
    return score, feedback


def test_items_mark_as_the_pages_do() -> None:
    course = Course(load_course())
    for lesson, exercise in course.exercises.walk():
        for number in range(min(12, course.exercises.space(lesson, exercise).total)):
            variant = course.exercises.draw(lesson, exercise, "1", number)
            root = items()[f"items/{lesson.id}-{exercise.id}-{number + 1}.xml"]
            answer = variant.body.answer
            if answer is not None:
                assert run_item(root, answer.magnitude) == (1.0, "right")
                for slip in answer.slips:
                    per_unit = {"mL": 1e-6, "g": 1e-3, "degC": 1.0}[answer.unit]
                    typed = answer.magnitude + (slip.value - answer.value) / per_unit
                    assert run_item(root, typed) == (0.0, slip.id)
            elif variant.kind == "order":
                letters = variant.answer_text.split()
                assert run_item(root, letters) == (1.0, "right")
                assert run_item(root, letters[::-1]) == (0.0, "")
            else:
                for place, letter in enumerate("ABCD"[: len(variant.body.options)]):
                    expected = (0.0, f"note-{letter}")
                    if place in variant.body.right:
                        expected = (1.0, "right")
                    assert run_item(root, letter) == expected


def test_csv_has_a_row_for_each_variant() -> None:
    course = Course(load_course())
    tasks, _ = collect_tasks(course, course.order)
    data = export_csv(course, tasks, "1").files["exercises.csv"]
    assert data.startswith(b"\xef\xbb\xbf"), "spreadsheets take it for UTF-8"
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert len(rows) == len(items())
    row = next(row for row in rows if row["exercise"] == "how-much-stock")
    lesson, exercise = next(
        each for each in course.exercises.walk() if each[1].id == row["exercise"]
    )
    variant = course.exercises.draw(lesson, exercise, "1", 0)
    assert variant.body.answer is not None
    assert float(row["answer"]) == pytest.approx(variant.body.answer.magnitude, abs=0.5)
    assert row["unit"] == "mL"
    assert "is the dry dye." in row["slips"]
    choice = next(row for row in rows if row["exercise"] == "what-first")
    assert choice["options"].startswith("A. ")
    assert choice["answer"] in "ABCD"
