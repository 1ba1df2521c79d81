"""What all commands share: their options, and how they speak to people and to programs."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])


def course_option(command: F) -> F:
    return click.option(
        "--course",
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        default=Path(),
        help="The course folder (default: here).",
    )(command)


def format_option(command: F) -> F:
    return click.option(
        "--format",
        "style",
        type=click.Choice(["text", "json"]),
        default="text",
        help="Text for people or JSON for programs.",
    )(command)


_NOT_UTF8 = re.compile("[\ud800-\udfff]")


def print_json(value: Any) -> None:
    text = json.dumps(value, ensure_ascii=False, indent=2)
    # Bytes of a path that are not UTF-8 would go out as they are, and no reader would take that.
    click.echo(_NOT_UTF8.sub(lambda found: f"\\u{ord(found[0]):04x}", text))


def say(text: str, style: str) -> None:
    """Tell people how it goes: on standard error, and only where text was asked for."""
    if style == "text":
        click.echo(text, err=True)


def fail(message: str, style: str, status: int) -> None:
    """Stop with a message, in the form that was asked for."""
    if style == "json":
        print_json({"errors": [{"message": message}]})
    else:
        click.echo(f"error: {message}", err=True)
    sys.exit(status)


def refuse_place(course: Path, out: Path | None, style: str) -> None:
    """Stop at once where results would go into the course itself."""
    from builder.output import OutputError, check_place

    try:
        if out is not None:
            check_place(course, out)
    except OutputError as error:
        fail(str(error), style, 2)


def print_findings(findings: tuple[Any, ...]) -> None:
    from builder.diagnostics import render_text

    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    text = render_text(findings, colour=colour)
    click.echo(text, nl=False, color=colour)


def print_pointer(findings: tuple[Any, ...]) -> None:
    from builder.diagnostics import point_to_rules

    if findings:
        click.echo(point_to_rules(findings))
