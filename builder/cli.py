"""The command line: reads options, calls the floors below, prints. Nothing else is decided here.

Exit status: 0 fine, 1 the content or the answer has errors, 2 wrong use. Text goes to people, JSON
to programs: one object on standard output and nothing else there.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from builder import __version__
from builder.output import OutputError, write_files
from builder.starters import STARTERS

F = TypeVar("F", bound=Callable[..., Any])


def _course_option(command: F) -> F:
    return click.option(
        "--course",
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        default=Path(),
        help="The course folder (default: here).",
    )(command)


def _format_option(command: F) -> F:
    return click.option(
        "--format",
        "style",
        type=click.Choice(["text", "json"]),
        default="text",
        help="Text for people or JSON for programs.",
    )(command)


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


def _say(text: str, style: str) -> None:
    """Tell people how it goes: on standard error, and only where text was asked for."""
    if style == "text":
        click.echo(text, err=True)


def _fail(message: str, style: str, status: int) -> None:
    """Stop with a message, in the form that was asked for."""
    if style == "json":
        _print_json({"errors": [{"message": message}]})
    else:
        click.echo(f"error: {message}", err=True)
    sys.exit(status)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="benchlore")
def main() -> None:
    """Check a course folder and make its teaching site and papers."""


@main.command()
@_course_option
@_format_option
@click.option(
    "--learn",
    is_flag=True,
    help="Propose numbers that fit the recorded cases, as a diff; nothing is written.",
)
def check(course: Path, style: str, learn: bool) -> None:
    """Read everything and report every finding at once."""
    from builder.build import check_course
    from builder.diagnostics import render_json

    checked = check_course(course)
    if learn:
        _print_proposals(course, checked.library, style)
        sys.exit(0 if checked.sound else 1)
    if style == "json":
        _print_json(
            {
                "findings": render_json(checked.findings),
                "counts": checked.counts,
                "cases": checked.cases,
            }
        )
    else:
        _print_findings(checked.findings)
        kinds = ", ".join(f"{number} {kind}" for kind, number in checked.counts.items() if number)
        click.echo(f"Read {kinds or 'nothing'}.")
        cases = checked.cases
        if cases["total"]:
            click.echo(
                f"Of {cases['total']} recorded cases a true cause comes first in {cases['top1']}, "
                f"among the first three in {cases['top3']}."
            )
        click.echo(checked.summary)
    sys.exit(0 if checked.sound else 1)


def _print_proposals(course: Path, library: Any, style: str) -> None:
    """Print what the recorded cases say about the numbers of the knowledge base."""
    from builder.diagnosis.learning import PRIOR_STRENGTH, propose_numbers, write_diff

    proposals = propose_numbers(library)
    files = {each.location.file for each in proposals}
    texts = {file: (course / file).read_text(encoding="utf-8") for file in files}
    diff = write_diff(proposals, texts)
    if style == "json":
        _print_json(
            {
                "prior_strength": PRIOR_STRENGTH,
                "proposals": [
                    {
                        "entry": f"{each.entry.kind}:{each.entry.id}",
                        "file": each.location.file,
                        "line": each.location.line,
                        "now": each.now,
                        "proposed": each.proposed,
                        "cases": each.cases,
                        "hits": each.hits,
                    }
                    for each in proposals
                ],
                "diff": diff,
            }
        )
        return
    click.echo(diff, nl=False)
    click.echo(
        f"{len(proposals)} numbers would move; a number as written weighs as much as "
        f"{PRIOR_STRENGTH:g} cases. Nothing was written.",
        err=True,
    )


def _print_findings(findings: tuple[Any, ...]) -> None:
    from builder.diagnostics import render_text

    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    text = render_text(findings, colour=colour)
    click.echo(text, nl=False, color=colour)


@main.command()
@_course_option
@_format_option
@click.option("--out", type=click.Path(path_type=Path), help="Where the site goes.")
@click.option("--strict", is_flag=True, help="Warnings of the host stop the build too.")
def build(course: Path, style: str, out: Path | None, strict: bool) -> None:
    """Check the course, then make the site."""
    from builder.build import build_course
    from builder.diagnostics import render_json

    started = time.perf_counter()
    _say("Checking the course ...", style)
    built = build_course(course)
    if built.site is None:
        if style == "json":
            _print_json({"findings": render_json(built.checked.findings)})
        else:
            _print_findings(built.checked.findings)
            click.echo(built.checked.summary)
            _say("No site was made; the one that stood is untouched.", style)
        sys.exit(1)
    if style == "text":
        _print_findings(built.checked.findings)
    _say(f"Making {len(built.site.pages)} pages ...", style)
    _quieten_host()
    from builder.plugin import build_with_host

    try:
        placed = build_with_host(course, out, built, strict=strict)
    except OutputError as error:
        _fail(str(error), style, 2)
    seconds = round(time.perf_counter() - started, 2)
    result = {"pages": len(built.site.pages), "seconds": seconds, "out": str(placed)}
    if style == "json":
        _print_json(result)
    else:
        click.echo(f"{result['pages']} pages in {seconds} s: {placed / 'index.html'}")


@main.command()
@_course_option
@_format_option
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
        _fail(f"{course} holds no symptoms and defects to go by", style, 1)
    network = load_network(library, find_unsafe_fixes(library))
    if not (present or absent or answers):
        if style == "json" or not (sys.stdin.isatty() and sys.stdout.isatty()):
            _fail(
                "say what is seen: --symptom ID (benchlore diagnose asks on a terminal)", style, 2
            )
        _ask_through(library, network)
        return
    findings, wrong = read_answers(library, present, absent, answers)
    if wrong:
        _fail("; ".join(wrong), style, 2)
    answer = consult(network, findings)
    if not answer["possible"]:
        _fail("these answers cannot all be so at once; look at them again", style, 1)
    if answer["left_out"]:
        _say(f"Too many signs to weigh at once; left out: {', '.join(answer['left_out'])}", style)
    if style == "json":
        _print_json(trim_answer(answer))
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


@main.command()
@_course_option
@click.option("--address", help="Host and port, for instance 127.0.0.1:8000.")
def serve(course: Path, address: str | None) -> None:
    """Serve the site live; findings show here and on the page."""
    import logging

    _quieten_host()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    from builder.plugin import serve_with_host

    try:
        serve_with_host(course, address)
    except OutputError as error:
        _fail(str(error), "text", 2)


@main.command()
@_course_option
@click.argument("kind", type=click.Choice(STARTERS))
@click.argument("name")
def new(course: Path, kind: str, name: str) -> None:
    """Write a commented starting file that passes check."""
    from builder.library import load_library
    from builder.output import write_whole
    from builder.starters import StarterError, make_id, make_starter

    library = None if kind == "course" else load_library(course)[0]
    try:
        files = make_starter(kind, name, library)
        root = course / make_id(name) if kind == "course" else course
    except StarterError as error:
        _fail(str(error), "text", 2)
    taken = [str(root / file) for file in files if (root / file).exists()]
    if library and not taken:
        entry = make_id(name)
        taken = [f"a {kind} with the id {entry}"] if library.knows(kind, entry) else []
    if taken:
        _fail(f"{taken[0]} is there already; choose another name", "text", 2)
    try:
        for file, text in files.items():
            (root / file).parent.mkdir(parents=True, exist_ok=True)
            write_whole(root / file, text.encode())
            click.echo(root / file)
    except OSError as error:
        _fail(f"{root} cannot be written to: {error.strerror}", "text", 2)


@main.command()
@_course_option
@click.option(
    "--out", type=click.Path(path_type=Path), help="Folder (default: where editors look)."
)
def schema(course: Path, out: Path | None) -> None:
    """Write the JSON Schema of every kind of entry, for editors."""
    from builder.output import write_whole
    from builder.schema import SCHEMA_FOLDER, make_schemas

    folder = out or course / SCHEMA_FOLDER
    try:
        folder.mkdir(parents=True, exist_ok=True)
        schemas = make_schemas()
        for name, body in schemas.items():
            write_whole(folder / name, json.dumps(body, indent=2).encode() + b"\n")
    except OSError as error:
        _fail(f"{folder} cannot be written to: {error.strerror}", "text", 2)
    click.echo(f"{len(schemas)} schemas in {folder}")


@main.command()
@_course_option
@_format_option
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
        _fail("name one calculator, or ask for --list", style, 2)
    if listing:
        listed = [describe_calculator(each) for each in _compile_calculators(course, None, style)]
        if style == "json":
            _print_json({"calculators": listed})
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
        _print_json(result.to_json())
    else:
        click.echo(render_answers(compiled, result), nl=False)


def _compile_calculators(course: Path, name: str | None, style: str) -> list[Any]:
    """Read the course and compile one calculator or all; stops where there is none or it is broken.

    Findings elsewhere in the course do not matter here.
    """
    from builder.calculators import CalculatorError, compile_calculator
    from builder.diagnostics import Severity
    from builder.library import load_library
    from builder.model import Calculator, Table

    library, findings = load_library(course)
    entries = library.all_of("calculator", Calculator)
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
        _fail(f'there is no calculator "{name}"; {hint}', style, 2)
    tables = library.all_of("table", Table)
    currency = library.course.currency if library.course else "EUR"
    wanted = [name] if name is not None else list(entries)
    try:
        return [compile_calculator(entries[each], tables, currency) for each in wanted]
    except CalculatorError as error:
        _fail(f"{error}; benchlore check shows where", style, 1)
        raise


def _print_broken(findings: tuple[Any, ...], style: str) -> None:
    """Print the findings of a calculator that could not be read, and stop."""
    from builder.diagnostics import render_json

    if style == "json":
        _print_json({"findings": render_json(findings)})
    else:
        _print_findings(findings)
    sys.exit(1)


def _print_refusal(errors: Iterable[tuple[str, str]], style: str) -> None:
    """Print why there is no answer: in JSON on standard output, for people on standard error."""
    if style == "json":
        listed = [{"input": name, "message": message} for name, message in errors]
        _print_json({"errors": listed})
        return
    for name, message in errors:
        click.echo(f"{name}: {message}" if name else f"error: {message}", err=True)


@main.command()
@_course_option
@_format_option
@click.argument("lessons", nargs=-1)
@click.option("--students", help="A CSV file with names, or how many (default: the class size).")
@click.option("--seed", type=int, default=1, show_default=True, help="Another seed, other sheets.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder that the files go into.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
@click.option("--large-print", is_flag=True, help="Large print.")
@click.option(
    "--checkpoint",
    type=click.Choice(["beginner", "intermediate", "advanced"]),
    help="A mixed sheet over the skills of a level, instead of lessons.",
)
@click.option("--record", is_flag=True, help="A record of skills to sign, instead of sheets.")
@click.option(
    "--export",
    "exported",
    type=click.Choice(["qti", "csv"]),
    help="Exercises for other classrooms (QTI 3.0 or plain CSV), instead of sheets.",
)
def worksheet(
    course: Path,
    style: str,
    lessons: tuple[str, ...],
    students: str | None,
    seed: int,
    out: Path | None,
    paper: str,
    large_print: bool,
    checkpoint: str | None,
    record: bool,
    exported: str | None,
) -> None:
    """Make a sheet for each student, all different, and the answer key."""
    from builder.build import check_course
    from builder.diagnostics import render_json
    from builder.worksheets import StudentsError, WorksheetError
    from builder.worksheets.orders import Order, fill_order

    order = Order(lessons, checkpoint, record, exported, students, seed, paper, large_print)
    checked = check_course(course)
    if not checked.sound:
        if style == "json":
            _print_json({"findings": render_json(checked.findings)})
        else:
            _print_findings(checked.findings)
            click.echo(f"{checked.summary} Nothing was printed.")
        sys.exit(1)
    _say("Making the papers ...", style)
    try:
        papers = fill_order(checked.library, order)
        placed = out or Path(order.folder)
        write_files(placed, papers.files)
    except (StudentsError, WorksheetError, OutputError) as error:
        _fail(str(error), style, 2)
    _report_papers(placed, papers, style)


@main.command()
@_course_option
@_format_option
@click.argument("defects", nargs=-1)
@click.option("--out", type=click.Path(path_type=Path), help="Folder that the files go into.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
def chart(course: Path, style: str, defects: tuple[str, ...], out: Path | None, paper: str) -> None:
    """Make decision charts (of all defects, or of those named) and the table card."""
    from builder.build import check_course
    from builder.diagnostics import render_json
    from builder.worksheets import WorksheetError
    from builder.worksheets.charts import make_chart_papers

    checked = check_course(course)
    if not checked.sound:
        if style == "json":
            _print_json({"findings": render_json(checked.findings)})
        else:
            _print_findings(checked.findings)
            click.echo(f"{checked.summary} Nothing was printed.")
        sys.exit(1)
    _say("Making the charts ...", style)
    try:
        papers = make_chart_papers(checked.library, defects, paper=paper)
        placed = out or Path("charts")
        write_files(placed, papers.files)
    except (WorksheetError, OutputError) as error:
        _fail(str(error), style, 2)
    _report_papers(placed, papers, style)


def _report_papers(placed: Path, papers: Any, style: str) -> None:
    """Say which files were written, and what the teacher should know about them."""
    if style == "json":
        _print_json(
            {"out": str(placed), "files": sorted(papers.files), "notes": list(papers.notes)}
        )
        return
    for note in papers.notes:
        click.echo(f"note: {note}", err=True)
    for name in sorted(papers.files):
        click.echo(placed / name)


def _quieten_host() -> None:
    """Keep the theme's notice about its own future off the terminal."""
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
