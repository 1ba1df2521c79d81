"""What the paper templates show, as plain values."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from builder.exercises import Variant, letter_of
from builder.exercises.filling import describe_figure, fill
from builder.library import Library
from builder.model import Level
from builder.model.exercises import Answered, Slip
from builder.papers.pictures import prepare_drawing
from builder.papers.prose_nodes import set_line, set_text, write_plain
from builder.papers.sheets import SheetSet, SheetTask
from builder.papers.students import Students
from builder.twin.unit_table import UNITS
from builder.words import Words

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Paper sizes by the name a teacher gives."""


def describe_paper(library: Library, title: str, paper: str, large: bool) -> dict[str, Any]:
    """Give what every paper needs: title, course, language, size."""
    course = library.settings
    tag = course.language if course else "en"
    language, _, rest = tag.partition("-")
    return {
        "title": title,
        "course": course.name if course else "",
        "language": language,
        "region": rest if len(rest) == 2 else None,
        "paper": PAPERS[paper],
        "large": large,
        "words": {
            **{
                key: text
                for key, text in library.words.below("paper").items()
                if isinstance(text, str)
            },
            **{f"signal.{key}": text for key, text in library.words.below("signal").items()},
        },
    }


def describe_sheets(library: Library, drawn: SheetSet, paper: str, large: bool) -> dict[str, Any]:
    """Give the data of `sheets.typ`."""
    variants: dict[str, Any] = {}
    drawings: dict[str, Any] = {}
    keys: dict[tuple[str, str, int], str] = {}
    cautions: dict[str, Any] = {}
    sheets = []
    for sheet in drawn.sheets:
        listed = []
        for variant in sheet.variants:
            key = (variant.lesson, variant.exercise, variant.number)
            if key not in keys:
                keys[key] = str(len(keys))
                variants[keys[key]] = _describe_variant(variant, drawings, large)
            listed.append(keys[key])
        sheets.append(
            {
                "number": sheet.number,
                "name": sheet.name,
                "code": sheet.code,
                "variants": listed,
            }
        )
    first = drawn.sheets[0].variants
    tasks = []
    for task, variant in zip(drawn.tasks, first, strict=True):
        answer = variant.body.answer
        tasks.append(
            {
                "title": task.exercise.title,
                "answered": task.exercise.answered,
                "worked_out": task.exercise.worked_out,
                "lesson": task.lesson.id,
                "figure": describe_figure(library.words, answer.symbol, answer.places)
                if answer
                else "",
                "symbol": answer.symbol if answer else "",
                "cautions": list(variant.cautions),
            }
        )
        for name in variant.cautions:
            entry = library.cautions[name]
            shown = [*entry.do, *([entry.happens] if entry.signal == "Danger" else [])]
            cautions[name] = {
                "size": sum(len(text) + 30 for text in shown),
                "signal": entry.signal,
                "title": entry.title,
                "happens": set_line(entry.happens),
                "do": [set_line(line) for line in entry.do],
            }
    return {
        **describe_paper(library, drawn.title, paper, large),
        "tasks": tasks,
        "variants": variants,
        "drawings": {key: picture for _, (key, picture) in drawings.items()},
        "cautions": cautions,
        "sheets": sheets,
    }


def _describe_variant(variant: Variant, drawings: dict[str, Any], large: bool) -> dict[str, Any]:
    body = variant.body
    described: dict[str, Any] = {"ask": set_text(body.ask)}
    if body.options:
        described["options"] = [set_text(option) for option in body.options]
    if body.drawing is not None:
        svg = prepare_drawing(body.drawing.svg, large)
        if svg not in drawings:
            picture = {
                "svg": svg,
                "description": write_plain(body.drawing.description),
                "width": body.drawing.width_mm,
            }
            drawings[svg] = (str(len(drawings)), picture)
        described["drawing"] = drawings[svg][0]
    return described


def describe_key(library: Library, drawn: SheetSet, paper: str, large: bool) -> dict[str, Any]:
    """Give the data of `key.typ`."""
    return {
        **describe_paper(library, drawn.title, paper, large),
        "seed": drawn.seed,
        "notes": list(drawn.notes),
        "sheets": [
            {
                "number": sheet.number,
                "code": sheet.code,
                "name": sheet.name,
                "answers": [variant.answer_text for variant in sheet.variants],
            }
            for sheet in drawn.sheets
        ],
        "tasks": [
            _describe_marking(library, task, place, drawn) for place, task in enumerate(drawn.tasks)
        ],
    }


def _describe_marking(
    library: Library, task: SheetTask, place: int, drawn: SheetSet
) -> dict[str, Any]:
    """Give the marking notes of one exercise, and a row for each different answer to it."""
    exercise = task.exercise
    # Variants that differ in the order of their options only share a row.
    numbers: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    samples: dict[tuple[str, str], Variant] = {}
    for sheet in drawn.sheets:
        variant = sheet.variants[place]
        answer = variant.body.answer
        key = (answer.text if answer else _name_answer(variant), variant.body.work)
        numbers[key].append(sheet.number)
        samples.setdefault(key, variant)
    named: tuple[Slip, ...] = getattr(exercise, "slips", ())
    labels = _label_values(library, getattr(exercise, "calculator", None)) if named else {}
    slips = [set_line(fill(slip.hint, labels)) for slip in named]
    rows = []
    for key, sheets in numbers.items():
        body = samples[key].body
        told = {slip.id: slip.text for slip in body.answer.slips} if body.answer else {}
        rows.append(
            {
                "sheets": write_numbers(sheets),
                "answer": set_line(key[0]),
                "slips": [told.get(slip.id, "–") for slip in named],
                "work": set_text(body.work),
            }
        )
    if exercise.answered is Answered.ORDER:
        # One text holds for all variants; the letters stand in the list by sheet.
        rows = []
    return {
        "title": exercise.title,
        "about": _describe_rule(library.words, next(iter(samples.values()))),
        "slips": slips,
        "notes": [
            (set_line(about), set_line(text)) for about, text in exercise.list_notes(library.words)
        ],
        "rows": rows,
    }


def _name_answer(variant: Variant) -> str:
    """Give the right option in words, since its letter differs from sheet to sheet."""
    body = variant.body
    return body.options[body.right[0]] if len(body.right) == 1 else ""


def _label_values(library: Library, calculator: str | None) -> dict[str, str]:
    """Name the values a hint may show, for a note that holds for all variants."""
    labels = {name: f"({name})" for name in ("reading", "low", "high", "division", "place")}
    entry: Any = library.entries.get("calculator", {}).get(calculator or "")
    for group in ("inputs", "constants", "values", "outputs"):
        for name, part in getattr(entry, group, {}).items():
            labels[name] = f"({part.label or name})"
    return labels


def _describe_rule(words: Words, variant: Variant) -> str:
    """Say what counts as right."""
    answer = variant.body.answer
    if answer is not None and answer.share is not None:
        share = f"{answer.share * 100:.3g}"
        return words.text("paper.right-share", share=share)
    if answer is not None:
        row = answer.tolerance / find_factor(answer.field["unit"], answer.units)
        return words.text("paper.right-reading", amount=f"{row:.3g}", unit=answer.symbol)
    if variant.answered is Answered.ORDER:
        return words.text("paper.right-order")
    return words.text("paper.right-option")


def find_factor(unit: str, units: Mapping[str, Any]) -> float:
    """Give how much of the base unit one of a unit is."""
    return float((units.get(unit) or UNITS[unit])[1])


def write_numbers(numbers: list[int]) -> str:
    """Write sheet numbers shortly: `1, 4–6, 9`."""
    parts: list[str] = []
    start = end = numbers[0]
    for number in [*numbers[1:], -1]:
        if number == end + 1:
            end = number
            continue
        parts.append(str(start) if start == end else f"{start}–{end}")
        start = end = number
    return ", ".join(parts)


def list_answers(library: Library, drawn: SheetSet) -> dict[str, Any]:
    """Give `answers.json`: every sheet with every answer, and what slips lead to."""
    course = library.settings
    return {
        "course": course.name if course else "",
        "title": drawn.title,
        "seed": drawn.seed,
        "lessons": list(dict.fromkeys(task.lesson.id for task in drawn.tasks)),
        "sheets": [
            {
                "number": sheet.number,
                "code": sheet.code,
                "name": sheet.name,
                "answers": [
                    {"question": place + 1, **list_variant(variant)}
                    for place, variant in enumerate(sheet.variants)
                ],
            }
            for sheet in drawn.sheets
        ],
    }


def list_variant(variant: Variant) -> dict[str, Any]:
    """Give a variant's answer as plain values."""
    body = variant.body
    listed: dict[str, Any] = {
        "lesson": variant.lesson,
        "exercise": variant.exercise,
        "variant": variant.number,
        "code": variant.code,
        "kind": variant.kind,
        "answer": variant.answer_text,
        "given": dict(body.given),
    }
    if body.answer is not None:
        factor = find_factor(body.answer.unit, body.answer.units)
        listed["value"] = body.answer.magnitude
        # The course's own units, such as its currency, go by the name people know.
        own = body.answer.unit in body.answer.units
        listed["unit"] = body.answer.symbol if own else body.answer.unit
        listed["tolerance"] = body.answer.tolerance / factor
        listed["slips"] = [
            {"id": slip.id, "answer": slip.text, "hint": write_plain(slip.hint)}
            for slip in body.answer.slips
        ]
    else:
        listed["right"] = [letter_of(place) for place in body.right]
    listed["work"] = write_plain(body.work)
    return listed


def describe_record(
    library: Library, order: tuple[str, ...], students: Students, paper: str, large: bool
) -> dict[str, Any]:
    """Give the data of `record.typ`: every skill of the course, by level and lesson."""
    levels = []
    for level in Level:
        lessons = [
            {
                "title": library.lessons[name].title,
                "skills": [outcome.text for outcome in library.lessons[name].teaches],
            }
            for name in order
            if library.lessons[name].level is level
        ]
        if lessons:
            name = library.words.text(f"level.{level.value}")
            title = library.words.text("paper.level", level=name)
            levels.append({"title": title, "lessons": lessons})
    return {
        **describe_paper(library, library.words.text("paper.record"), paper, large),
        "levels": levels,
        "sheets": [
            {"number": place + 1, "name": name} for place, name in enumerate(students.names)
        ],
    }


def walk_texts(value: Any) -> Iterator[str]:
    """Give every text in some data, drawings left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, part in value.items():
            if key != "svg":
                yield from walk_texts(part)
    elif isinstance(value, list | tuple):
        for part in value:
            yield from walk_texts(part)
