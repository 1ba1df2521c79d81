"""Commands that answer: what went wrong, and how much of what."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from builder.cli.speaking import course_option, fail, format_option, print_findings, print_json, say


@click.command()
@course_option
@format_option
@click.option("--symptom", "present", multiple=True, metavar="ID", help="A sign that is there.")
@click.option("--absent", multiple=True, metavar="ID", help="A sign that is not there.")
@click.option("--answer", "answers", multiple=True, metavar="QUESTION=yes/no")
def diagnose(
    course: Path,
    style: str,
    present: tuple[str, ...],
    absent: tuple[str, ...],
    answers: tuple[str, ...],
) -> None:
    """Rank faults and causes, ask the next question, put the fixes in order.

    With nothing said, on a terminal, it asks.
    """
    from builder.checks import find_unsafe_fixes
    from builder.diagnosis.consult import (
        consult,
        load_network,
        read_answers,
        render_consultation,
        trim_answer,
    )
    from builder.library import load_library

    library = load_library(course)[0]
    if not library.symptoms or not library.defects:
        fail(f"{course} holds no symptoms and defects to go by", style, 1)
    network = load_network(library, find_unsafe_fixes(library))
    if not (present or absent or answers):
        if style == "json" or not (sys.stdin.isatty() and sys.stdout.isatty()):
            fail("say what is seen: --symptom ID (benchlore diagnose asks on a terminal)", style, 2)
        _ask_through(library, network)
        return
    findings, wrong = read_answers(library, present, absent, answers)
    if wrong:
        fail("; ".join(wrong), style, 2)
    answer = consult(network, findings)
    if not answer["possible"]:
        fail("these answers cannot all be so at once; look at them again", style, 1)
    if answer["left_out"]:
        say(f"Too many signs to weigh at once; left out: {', '.join(answer['left_out'])}", style)
    if style == "json":
        print_json(trim_answer(answer))
    else:
        click.echo(render_consultation(library, answer), nl=False)
        question = answer["next_question"]
        if question:
            words = _word_question(library, question)
            click.echo(f"\nNext: {words} [{question['id']}]")


def _word_question(library: Any, question: Any) -> str:
    if question["kind"] == "symptom":
        return f"Do you see this: {library.symptoms[question['id']].name}?"
    return str(library.questions[question["id"]].ask)


def _ask_through(library: Any, network: Any) -> None:
    """Ask a person on a terminal, one thing at a time, until nothing is worth asking."""
    from builder.diagnosis.consult import consult, render_consultation

    symptoms = list(library.symptoms.values())
    for number, symptom in enumerate(symptoms, 1):
        click.echo(f"{number:3}  {symptom.name}")
    chosen: list[str] = []
    while not chosen:
        typed = click.prompt("Which do you see? (numbers, with spaces between)")
        words = typed.replace(",", " ").split()
        numbers = [int(word) for word in words if word.isascii() and word.isdigit()]
        chosen = [symptoms[n - 1].id for n in numbers if 1 <= n <= len(symptoms)]
        if not chosen or len(numbers) != len(words):
            chosen = []
            click.echo(f"Please write one or more numbers from 1 to {len(symptoms)}.")
    told: list[tuple[str, str]] = [(name, "present") for name in chosen]
    while True:
        lists: dict[str, list[str]] = {
            key: [name for name, where in told if where == key]
            for key in ("present", "absent", "yes", "no", "skipped")
        }
        answer = consult(network, lists)  # type: ignore[arg-type]
        click.echo()
        click.echo(render_consultation(library, answer), nl=False)
        question = answer["next_question"]
        if question is None:
            return
        if answer["settled"]:
            click.echo("\nOne cause stands out. You may stop here, or go on.")
        word = click.prompt(
            f"\n{_word_question(library, question)} (yes, no, unknown, back, stop)",
            type=click.Choice(["y", "n", "u", "b", "s", "yes", "no", "unknown", "back", "stop"]),
            show_choices=False,
        )[0]
        if word == "s":
            return
        if word == "b":
            told = told[:-1] if len(told) > len(chosen) else told
            continue
        seen = {"y": "present", "n": "absent"} if question["kind"] == "symptom" else {}
        told.append((question["id"], seen.get(word, {"y": "yes", "n": "no"}.get(word, "skipped"))))


@click.command()
@course_option
@format_option
@click.option("--list", "listing", is_flag=True, help="List all calculators with their inputs.")
@click.argument("calculator", required=False)
@click.argument("values", nargs=-1)
def calculate(
    course: Path, style: str, listing: bool, calculator: str | None, values: tuple[str, ...]
) -> None:
    """Work out one calculator: `calculate ID name=value ...`; the rest keeps its defaults.

    Values may carry units, as in room="72 degF"; a bare number is in the input's own unit. Rows
    are written name: value, name: value.
    """
    from builder.calculators import (
        AskingError,
        describe_calculator,
        read_words,
        render_answers,
        render_listing,
    )

    if listing == bool(calculator):
        fail("name one calculator, or ask for --list", style, 2)
    if listing:
        listed = [describe_calculator(each) for each in _compile_calculators(course, None, style)]
        if style == "json":
            print_json({"calculators": listed})
        else:
            click.echo("\n".join(render_listing(each) for each in listed), nl=False)
        return
    (compiled,) = _compile_calculators(course, calculator, style)
    try:
        typed = read_words(values, compiled)
    except AskingError as error:
        _print_refusal(error.errors, style)
        sys.exit(2)
    result = compiled.calculate(typed)
    if result.errors:
        _print_refusal([(each["input"], each["message"]) for each in result.errors], style)
        sys.exit(1)
    if style == "json":
        print_json(result.to_json())
    else:
        click.echo(render_answers(compiled, result), nl=False)


def _compile_calculators(course: Path, name: str | None, style: str) -> list[Any]:
    """Read the course and compile one calculator or all; stops where there is none or it is broken.

    Findings elsewhere in the course do not matter here.
    """
    from builder.calculators import CalculatorError
    from builder.course import Course
    from builder.diagnostics import Severity
    from builder.library import load_library

    library, findings = load_library(course)
    entries = library.calculators
    file = f"kb/calculators/{name}.yml"
    broken = [
        found
        for found in findings
        if found.severity is Severity.ERROR and found.location.file == file
    ]
    if broken:
        _print_broken(tuple(broken), style)
    if name is not None and name not in entries:
        hint = library.suggest("calculator", name) or "calculate --list shows them all"
        fail(f'there is no calculator "{name}"; {hint}', style, 2)
    read = Course(library)
    try:
        return [read.compile(each) for each in ([name] if name is not None else entries)]
    except CalculatorError as error:
        fail(f"{error}; benchlore check shows where", style, 1)
        raise


def _print_broken(findings: tuple[Any, ...], style: str) -> None:
    """Print the findings of a calculator that could not be read, and stop."""
    from builder.diagnostics import render_json

    if style == "json":
        print_json({"findings": render_json(findings)})
    else:
        print_findings(findings)
    sys.exit(1)


def _print_refusal(errors: Iterable[tuple[str, str]], style: str) -> None:
    """Print why there is no answer: in JSON on standard output, for people on standard error."""
    if style == "json":
        listed = [{"input": name, "message": message} for name, message in errors]
        print_json({"errors": listed})
        return
    for name, message in errors:
        click.echo(f"{name}: {message}" if name else f"error: {message}", err=True)
