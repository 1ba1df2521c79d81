"""Commands that print: worksheets with their key, and decision charts."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
from builder.output import OutputError, write_files

if TYPE_CHECKING:
    from builder.build import Checked


@click.command()
@course_option
@format_option
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
    from builder.papers import StudentsError, WorksheetError
    from builder.papers.orders import Order, fill_order

    refuse_place(course, out, style)
    order = Order(lessons, checkpoint, record, exported, students, seed, paper, large_print)
    checked = check_whole(course, style)
    say("Making the papers ...", style)
    try:
        papers = fill_order(checked.course, order)
        placed = out or Path(order.folder)
        write_files(placed, papers.files)
    except (StudentsError, WorksheetError, OutputError) as error:
        fail(str(error), style, 2)
    report_papers(placed, papers, style)


@click.command()
@course_option
@format_option
@click.argument("defects", nargs=-1)
@click.option("--out", type=click.Path(path_type=Path), help="Folder that the files go into.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
def chart(course: Path, style: str, defects: tuple[str, ...], out: Path | None, paper: str) -> None:
    """Make decision charts (of all defects, or of those named) and the table card."""
    from builder.papers import WorksheetError
    from builder.papers.decision_charts import make_chart_papers

    refuse_place(course, out, style)
    checked = check_whole(course, style)
    say("Making the charts ...", style)
    try:
        papers = make_chart_papers(checked.course, defects, paper=paper)
        placed = out or Path("charts")
        write_files(placed, papers.files)
    except (WorksheetError, OutputError) as error:
        fail(str(error), style, 2)
    report_papers(placed, papers, style)


def check_whole(course: Path, style: str) -> Checked:
    """Check a course that papers are to be made of; stops where it has errors."""
    from builder.build import check_course
    from builder.diagnostics import render_json

    checked = check_course(course)
    if not checked.sound:
        if style == "json":
            print_json({"findings": render_json(checked.findings)})
        else:
            print_findings(checked.findings)
            click.echo(f"{checked.summary} Nothing was printed.")
        sys.exit(1)
    return checked


def report_papers(placed: Path, papers: Any, style: str) -> None:
    """Say which files were written, and what the teacher should know about them."""
    if style == "json":
        print_json({"out": str(placed), "files": sorted(papers.files), "notes": list(papers.notes)})
        return
    for note in papers.notes:
        click.echo(f"note: {note}", err=True)
    for name in sorted(papers.files):
        click.echo(placed / name)
