"""The command that plans: a class with its papers, or a series of lessons."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from builder.cli.papers import check_whole, report_papers
from builder.cli.speaking import course_option, fail, format_option, print_json, refuse_place, say
from builder.output import OutputError, write_files

if TYPE_CHECKING:
    from builder.course import Course
    from builder.library import Library
    from builder.papers.class_calendar import Announced
    from builder.units import Quantity


@click.command()
@course_option
@format_option
@click.argument("planned", metavar="[CLASS]", required=False)
@click.option("--out", type=click.Path(path_type=Path), help="Folder that the files go into.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
@click.option(
    "--people",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A CSV file of who comes: name, allergies, asthma, absent, waiting.",
)
@click.option(
    "--cupboard",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A CSV file of what is there already: material, amount.",
)
@click.option("--to", "goals", multiple=True, help="A series: the skill or lesson it leads to.")
@click.option("--knows", multiple=True, help="A series: a skill or lesson that people bring.")
@click.option("--evenings", type=click.IntRange(1, 200), help="A series: how many evenings.")
@click.option("--length", help='A series: the length of an evening, for instance "150 min".')
@click.option("--students", type=click.IntRange(1, 500), help="A series: how many come.")
@click.option(
    "--begin", type=click.DateTime(["%Y-%m-%d"]), help="A series: date of the first evening."
)
@click.option(
    "--every",
    type=click.IntRange(1, 366),
    default=7,
    show_default=True,
    help="A series: days from one evening to the next.",
)
def plan(
    course: Path,
    style: str,
    planned: str | None,
    out: Path | None,
    paper: str,
    people: Path | None,
    cupboard: Path | None,
    goals: tuple[str, ...],
    knows: tuple[str, ...],
    evenings: int | None,
    length: str | None,
    students: int | None,
    begin: datetime | None,
    every: int,
) -> None:
    """Plan a class: who does what when, kit, shopping list, cost. Or a series of lessons.

    Of a CLASS it writes a run sheet for each session, the shopping list and a calendar (to
    plan-CLASS, where --out names no other folder). Without one it plans a series: the shortest set
    of lessons to a skill (--to), or what a term holds (--evenings and --length).
    """
    series = bool(goals or evenings)
    if series and planned:
        fail("name a class, or ask for a series with --to or --evenings, not both", style, 2)
    if not series and not planned:
        checked = check_whole(course, style)
        fail(f"name a class, or ask for a series; {_list_classes(checked.library)}", style, 2)
    if series:
        goals, knows = _part(goals), _part(knows)
        wanted = _read_length(length, style)
        read = check_whole(course, style).course
        day = begin.date() if begin else None
        _plan_series(read, style, goals, knows, evenings, wanted, students, day, every)
        return
    assert planned is not None
    _plan_class(course, style, planned, out, paper, people, cupboard)


def _part(names: tuple[str, ...]) -> tuple[str, ...]:
    # Whoever has more than one skill in mind writes them as a list, with commas.
    return tuple(part.strip() for name in names for part in name.split(",") if part.strip())


def _read_length(length: str | None, style: str) -> Quantity:
    from builder.planning.series import DEFAULT_LENGTH
    from builder.units import UnitError, parse_quantity

    if length is None:
        return DEFAULT_LENGTH
    if length.strip().replace(".", "", 1).isdigit():
        meant = f"{length.strip()} min"
        fail(f'--length: "{length}" has no unit; write for instance "{meant}"', style, 2)
    try:
        wanted = parse_quantity(length)
    except UnitError as error:
        fail(f"--length: {error}", style, 2)
    if wanted.dimension != "[time]" or wanted.base <= 0:
        fail(f'--length: "{length}" is no length of time; write for instance "150 min"', style, 2)
    return wanted


def _plan_series(
    read: Course,
    style: str,
    goals: tuple[str, ...],
    knows: tuple[str, ...],
    evenings: int | None,
    length: Quantity,
    students: int | None,
    first: date | None,
    every: int,
) -> None:
    from builder.planning.series import SeriesError, count_evenings, plan_series, plan_term
    from builder.planning.series_words import describe_series, render_series

    library = read.library
    settings = library.settings
    count = students or (settings.class_size if settings else 1)
    like = next(iter(library.classes.values()), None)
    say("Planning the series ...", style)
    try:
        series = plan_series(library, read.order, goals, knows)
    except SeriesError as error:
        fail(str(error), style, 2)
    if evenings:
        term = plan_term(
            library,
            series,
            evenings,
            length,
            students=count,
            first=first,
            every_days=every,
            like=like,
        )
    else:
        term = count_evenings(
            library, series, length, students=count, first=first, every_days=every, like=like
        )
    if style == "json":
        print_json(describe_series(library, series, term))
    else:
        click.echo(render_series(library, series, term, count), nl=False)


def _plan_class(
    course: Path,
    style: str,
    planned: str,
    out: Path | None,
    paper: str,
    people: Path | None,
    cupboard: Path | None,
) -> None:
    from builder.papers import Papers
    from builder.papers.class_calendar import make_calendar
    from builder.papers.run_sheets import make_plan_papers
    from builder.planning.how_many import count_how_many
    from builder.planning.make_up import describe_make_up, find_make_up, say_make_up
    from builder.planning.needs import StockError, read_stock
    from builder.planning.people import PeopleError, read_people
    from builder.planning.plan import describe_plan, plan_class, render_how_many, render_plan

    refuse_place(course, out, style)
    checked = check_whole(course, style)
    library = checked.library
    if planned not in library.classes:
        fail(f'there is no class "{planned}"; {_suggest_class(library, planned)}', style, 2)
    entry, read = library.classes[planned], checked.course
    try:
        stock = read_stock(library, cupboard.read_bytes(), cupboard.name) if cupboard else None
    except StockError as error:
        fail(str(error), style, 2)
    made = plan_class(library, entry, read.plan_run(planned), read.currency, stock)
    placed = out or Path(f"plan-{planned}")
    try:
        listed = read_people(people.read_bytes(), people.name, entry.students) if people else ()
        papers = make_plan_papers(read, made, paper=paper, people=listed)
        calendar = make_calendar(library, made.run, _read_calendar(placed / f"{planned}.ics"))
        files = {**papers.files, f"{planned}.ics": calendar}
        write_files(placed, files)
    except (OutputError, PeopleError) as error:
        fail(str(error), style, 2)
    made_up = find_make_up(library, made.session_plans, listed)
    if style == "json":
        print_json(
            {
                **describe_plan(library, made, count_how_many(library, made.run)),
                "make_up": [describe_make_up(work) for work in made_up],
                "out": str(placed),
                "files": sorted(files),
                "notes": list(papers.notes),
            }
        )
        return
    click.echo(render_plan(library, made), nl=False)
    click.echo(render_how_many(made, count_how_many(library, made.run)), nl=False)
    for work in made_up:
        click.echo(f"Session {work.session}: {say_make_up(library, work)}")
    report_papers(placed, Papers(files, papers.notes), style)


def _read_calendar(path: Path) -> dict[str, Announced]:
    """Read the calendar given out before, so that what has been moved since is known."""
    from builder.papers.class_calendar import read_announced

    try:
        return read_announced(path.read_bytes())
    except OSError:
        return {}


def _suggest_class(library: Library, wrong: str) -> str:
    if library.classes:
        return library.suggest("class", wrong)
    return "write one into lessons/classes/, with students, sessions and their lessons"


def _list_classes(library: Library) -> str:
    if not library.classes:
        return "the course has no class yet"
    return f"the course has the classes {', '.join(library.classes)}"
