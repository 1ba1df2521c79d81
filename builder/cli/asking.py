"""Commands that answer: what went wrong, and how much of what."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from builder.cli.speaking import course_option, fail, format_option, print_findings, print_json


@click.command()
@course_option
@format_option
@click.option("--symptom", "present", multiple=True, metavar="ID", help="A sign that is there.")
@click.option("--absent", multiple=True, metavar="ID", help="A sign that is not there.")
@click.option("--answer", "answers", multiple=True, metavar="QUESTION=yes/no")
@click.option("--context", "context", multiple=True, metavar="KEY=VALUE", help="What kind it is.")
def diagnose(
    course: Path,
    style: str,
    present: tuple[str, ...],
    absent: tuple[str, ...],
    answers: tuple[str, ...],
    context: tuple[str, ...],
) -> None:
    """Say what must not be used, name faults and causes, ask the next question, offer fixes.

    With nothing said, on a terminal, it asks.
    """
    from builder.checks import find_unsafe_fixes
    from builder.course import Course
    from builder.diagnosis.consult import describe_plan, make_adviser, read_answers, render_plan
    from builder.library import load_library

    read = Course(load_library(course)[0])
    library = read.library
    if not library.symptoms or not library.defects:
        fail(f"{course} holds no symptoms and defects to go by", style, 1)
    adviser = make_adviser(library, read.indexed_network, find_unsafe_fixes(read))
    if not (present or absent or answers or context):
        if style == "json" or not (sys.stdin.isatty() and sys.stdout.isatty()):
            fail("say what is seen: --symptom ID (benchlore diagnose asks on a terminal)", style, 2)
        ask_through(library, adviser)
        return
    told, wrong = read_answers(library, present, absent, answers, context)
    if wrong:
        fail("; ".join(wrong), style, 2)
    plan = adviser.plan(told)
    if style == "json":
        print_json(describe_plan(plan, adviser.texts))
    else:
        click.echo(render_plan(adviser, plan, told, library), nl=False)


def _choose(prompt: str, count: int, several: bool) -> list[int]:
    """Ask for numbers from 1 to `count`; an empty line is none of them."""
    while True:
        words = click.prompt(prompt, default="", show_default=False).replace(",", " ").split()
        numbers = [int(word) for word in words if word.isascii() and word.isdigit()]
        right = len(numbers) == len(words) and all(1 <= number <= count for number in numbers)
        if right and (several or len(numbers) < 2):
            return [number - 1 for number in numbers]
        click.echo(f"Please write {'numbers' if several else 'one number'} from 1 to {count}.")


def ask_through(library: Any, adviser: Any) -> Any:
    """Ask a person on a terminal, one thing at a time, until nothing is worth asking.

    Returns:
        All that was told.
    """
    from builder.diagnosis.consult import render_plan, tell
    from builder.twin.diagnosis.plan import fits_context
    from builder.twin.diagnosis.wording import word_question

    context: list[list[str]] = []
    for each in library.settings.contexts if library.settings else ():
        click.echo(f"{each.ask} (a number, or nothing to skip)")
        for number, option in enumerate(each.options, 1):
            click.echo(f"{number:3}  {option.name}")
        chosen = _choose("Which?", len(each.options), several=False)
        context += [[each.id, each.options[number].id] for number in chosen]
    notes = {note["id"]: note for note in adviser.guide["notes"] if note["kind"] == "symptom"}
    symptoms = [
        each for each in library.symptoms.values() if fits_context(notes[each.id]["only"], context)
    ]
    for number, symptom in enumerate(symptoms, 1):
        click.echo(f"{number:3}  {symptom.name}")
    chosen = _choose("Which do you see? (numbers; nothing where none fits)", len(symptoms), True)
    seen = [symptoms[number].id for number in chosen]
    said: list[tuple[str, str]] = [(name, "present") for name in seen]
    more = False
    while True:
        lists: Any = {
            key: [name for name, where in said if where == key]
            for key in ("present", "absent", "yes", "no", "skipped")
        }
        told = tell(lists)
        told["context"], told["fits"], told["more"] = context, bool(seen), more
        plan = adviser.plan(told)
        question = plan["next_question"]
        if question is None or question["kind"] == "context":
            click.echo()
            click.echo(render_plan(adviser, plan, told, library), nl=False)
            if more or not seen or not click.confirm("\nShall I ask more?", default=False):
                return told
            more = told["more"] = True
            if adviser.plan(told)["next_question"] is None:
                click.echo("There is nothing more to ask.")
                return told
            continue
        word = click.prompt(
            f"\n{word_question(adviser.texts, question)['text']} (yes, no, unknown, back, plan)",
            type=click.Choice(["y", "n", "u", "b", "p", "yes", "no", "unknown", "back", "plan"]),
            show_choices=False,
        )[0]
        if word == "p":
            click.echo()
            click.echo(render_plan(adviser, plan, told, library), nl=False)
            return told
        if word == "b":
            said = said[:-1] if len(said) > len(seen) else said
            continue
        signs = {"y": "present", "n": "absent"} if question["kind"] == "symptom" else {}
        said.append((question["id"], signs.get(word, {"y": "yes", "n": "no"}.get(word, "skipped"))))


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
