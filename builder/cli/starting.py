"""Commands that write what an author starts from: new entries, and schemas for editors."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import click

from builder.cli.speaking import course_option, fail, refuse_place
from builder.starters import STARTERS


@click.command()
@course_option
@click.argument("kind", type=click.Choice(STARTERS))
@click.argument("name")
@click.option("--id", "chosen", help="Its id (default: made of the name).")
def new(course: Path, kind: str, name: str, chosen: str | None) -> None:
    """Write a commented starting file that passes check."""
    from builder.library import load_library
    from builder.output import write_whole
    from builder.starters import StarterError, check_id, make_id, make_starter

    library = None if kind == "course" else load_library(course)[0]
    try:
        entry = make_id(name) if chosen is None else check_id(chosen)
        files = make_starter(kind, name, library, entry)
        if kind == "case" and library and sys.stdin.isatty() and sys.stdout.isatty():
            files = _ask_case(library, files, name)
        root = course / entry if kind == "course" else course
    except StarterError as error:
        fail(str(error), "text", 2)
    taken = [str(root / file) for file in files if (root / file).exists()]
    if library and not taken:
        taken = [f"a {kind} with the id {entry}"] if library.knows(kind, entry) else []
    if taken:
        fail(f"{taken[0]} is there already; choose another name", "text", 2)
    try:
        for file, text in files.items():
            (root / file).parent.mkdir(parents=True, exist_ok=True)
            write_whole(root / file, text.encode())
            click.echo(root / file)
    except OSError as error:
        fail(f"{root} cannot be written to: {error.strerror}", "text", 2)


def _ask_case(library: Any, files: dict[str, str], name: str) -> dict[str, str]:
    """Ask at the terminal what the page asks, and write it down as a case."""
    from builder.cli.asking import ask_through
    from builder.course import Course
    from builder.twin.diagnosis.wording import write_visit
    from builder.words import load_words

    told = ask_through(library, Course(library).adviser)
    hint = load_words("en").text("diagnose.keep-was")
    (file, text), *_ = files.items()
    head = text.split("\n", 1)[0]
    summary = json.dumps(name.strip(), ensure_ascii=False)
    body = write_visit(told, hint).replace(
        "summary: A visit, kept from the diagnosis.", f"summary: {summary}"
    )
    return {file: f"{head}\n{body}"}


@click.command()
@course_option
@click.option(
    "--out", type=click.Path(path_type=Path), help="Folder (default: where editors look)."
)
def schema(course: Path, out: Path | None) -> None:
    """Write the JSON Schema of every kind of entry, for editors."""
    from builder.output import write_whole
    from builder.schema import SCHEMA_FOLDER, make_schemas

    refuse_place(course, out, "text")
    folder = out or course / SCHEMA_FOLDER
    try:
        folder.mkdir(parents=True, exist_ok=True)
        schemas = make_schemas()
        for name, body in schemas.items():
            write_whole(folder / name, json.dumps(body, indent=2).encode() + b"\n")
    except OSError as error:
        fail(f"{folder} cannot be written to: {error.strerror}", "text", 2)
    click.echo(f"{len(schemas)} schemas in {folder}")
