"""A series and its term in words, for the terminal, and as plain values for programs."""

from __future__ import annotations

from typing import Any

from builder.library import Library
from builder.planning.series import Evening, FilledTerm, Series
from builder.planning.telling import name_steps
from builder.planning.words import write_clock, write_date
from builder.twin.series import write_span


def describe_series(library: Library, series: Series, term: FilledTerm) -> dict[str, Any]:
    """Give a series in the shape that programs read."""
    lessons = library.lessons
    return {
        "lessons": list(series.lessons),
        "bench_minutes": round(series.bench_seconds / 60, 1),
        "waiting_minutes": round(series.wait_seconds / 60, 1),
        "sessions": [_describe_evening(each) for each in term.evenings],
        "unfitting": [
            {"lesson": each.lesson, "why": each.why, "mend": each.mend} for each in term.unfitting
        ],
        "skipped": list(series.skipped),
        "carried": [{"from": one, "to": other} for one, other in series.carried],
        "reasons": dict(series.reasons),
        "titles": {name: lessons[name].title for name in series.lessons},
    }


def _describe_evening(evening: Evening) -> dict[str, Any]:
    held = evening.plan
    return {
        "evening": evening.number,
        "date": evening.day.isoformat() if evening.day else None,
        "lessons": list(evening.lessons),
        "minutes": round(held.makespan / 60, 1) if held else 0,
        "brought": _list_steps(held.brought) if held else [],
        "left": _list_steps(held.left) if held else [],
    }


def _list_steps(steps: tuple[tuple[str, int], ...]) -> list[dict[str, Any]]:
    return [{"lesson": lesson, "step": step + 1} for lesson, step in steps]


def render_series(library: Library, series: Series, term: FilledTerm, students: int) -> str:
    """Write a series for a terminal."""
    lessons = library.lessons
    count = len(series.lessons)
    noun = "lesson" if count == 1 else "lessons"
    lines = [
        f"{count} {noun}, {write_span(series.bench_seconds)} at the bench and "
        f"{write_span(series.wait_seconds)} waiting, for one student",
        "",
    ]
    lines += [f"  {lessons[name].title}: {series.reasons[name]}" for name in series.lessons]
    if series.skipped:
        lines.append(f"  skipped: {', '.join(lessons[name].title for name in series.skipped)}")
    for one, other in series.carried:
        lines.append(f"  carried on: from {lessons[one].title} to {lessons[other].title}")
    people = "1 student" if students == 1 else f"{students} students"
    lines += ["", f"Evenings, for {people}:"]
    for evening in term.evenings:
        day = f", {write_date(evening.day)}" if evening.day else ""
        lines.append(f"{evening.number}{day}")
        lines += [f"   {lessons[name].title}" for name in evening.lessons]
        held = evening.plan
        if held and held.turns:
            lines += [f"   first: {name}" for name in name_steps(library, held.brought)]
            done = write_clock(held.start, held.makespan)
            lines.append(f"   {-(-held.makespan // 60)} min, all are done at {done}")
        elif not evening.lessons:
            lines.append("   nothing fits")
    if term.unfitting:
        lines += ["", "Does not fit:"]
        lines += [
            f"   {lessons[each.lesson].title}: {each.why}; {each.mend}" for each in term.unfitting
        ]
    return "\n".join(lines) + "\n"
