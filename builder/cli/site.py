"""Commands that check the course and make or serve its site."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from typing import Any

import click

from builder.cli.speaking import (
    course_option,
    fail,
    format_option,
    print_findings,
    print_json,
    refuse_place,
    say,
)
from builder.output import OutputError, check_output_folder


@click.command()
@course_option
@format_option
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
        print_json(
            {
                "findings": render_json(checked.findings),
                "counts": checked.counts,
                "cases": checked.cases,
            }
        )
    else:
        print_findings(checked.findings)
        kinds = ", ".join(_count(number, kind) for kind, number in checked.counts.items() if number)
        click.echo(f"Read {kinds or 'nothing'}.")
        cases = checked.cases
        if cases["total"]:
            click.echo(
                f"Of {cases['total']} cases ({cases['invented']} invented) a true cause comes "
                f"first in {cases['top1']}, "
                f"among the first three in {cases['top3']}."
            )
        click.echo(checked.summary)
    sys.exit(0 if checked.sound else 1)


def _count(number: int, kind: str) -> str:
    if number == 1:
        return f"1 {kind}"
    return f"{number} {kind}{'es' if kind.endswith(('s', 'x')) else 's'}"


def _print_proposals(course: Path, library: Any, style: str) -> None:
    """Print what the recorded cases say about the numbers of the knowledge base."""
    from datetime import date

    from builder.diagnosis.learning import propose_numbers, write_diff
    from builder.diagnosis.network import PRIOR_STRENGTH

    proposals = propose_numbers(library)
    files = {each.location.file for each in proposals}
    texts = {file: (course / file).read_text(encoding="utf-8") for file in files}
    diff = write_diff(proposals, texts, date.today())
    if style == "json":
        print_json(
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


@click.command()
@course_option
@format_option
@click.option("--out", type=click.Path(path_type=Path), help="Where the site goes.")
@click.option("--strict", is_flag=True, help="Warnings of the host stop the build too.")
def build(course: Path, style: str, out: Path | None, strict: bool) -> None:
    """Check the course, then make the site."""
    from builder.build import build_course
    from builder.diagnostics import render_json

    started = time.perf_counter()
    refuse_place(course, out, style)
    if out is not None:
        try:
            check_output_folder(out)
        except OutputError as error:
            fail(str(error), style, 2)
    say("Checking the course ...", style)
    built = build_course(course)
    if built.site is None:
        if style == "json":
            print_json({"findings": render_json(built.checked.findings)})
        else:
            print_findings(built.checked.findings)
            click.echo(built.checked.summary)
            say("No site was made; the one that stood is untouched.", style)
        sys.exit(1)
    if style == "text":
        print_findings(built.checked.findings)
    say(f"Making {len(built.site.pages)} pages ...", style)
    _quieten_host()
    from builder.plugin import build_with_host

    try:
        placed = build_with_host(course, out, built, strict=strict)
    except OutputError as error:
        fail(str(error), style, 2)
    seconds = round(time.perf_counter() - started, 2)
    result = {"pages": len(built.site.pages), "seconds": seconds, "out": str(placed)}
    if style == "json":
        print_json(result)
    else:
        click.echo(f"{result['pages']} pages in {seconds} s: {placed / 'index.html'}")


@click.command()
@course_option
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
        fail(str(error), "text", 2)


def _quieten_host() -> None:
    """Keep the theme's notice about its own future off the terminal."""
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
