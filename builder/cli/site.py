"""Commands that check the course and make or serve its site."""

from __future__ import annotations

import os
import sys
import time
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from builder.cli.speaking import (
    course_option,
    fail,
    format_option,
    print_findings,
    print_json,
    print_pointer,
    refuse_place,
    say,
)
from builder.output import OutputError, check_output_folder

if TYPE_CHECKING:
    from builder.build import Checked


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
                f"Of {_count(cases['total'], 'case')} ({cases['invented']} invented) "
                f"a true cause comes first in {cases['top1']}, "
                f"among the first three in {cases['top3']}."
            )
        click.echo(checked.summary)
        print_pointer(checked.findings)
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
        _stop_for_errors(built.checked, "No site was made; the one that stood is untouched.", style)
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
@format_option
@click.option("--out", type=click.Path(path_type=Path), required=True, help="The docs folder.")
def pages(course: Path, style: str, out: Path) -> None:
    """Write the same pages as a docs folder of Markdown, for another host."""
    from builder.build import build_course
    from builder.pages import write_docs_folder, write_host_settings

    refuse_place(course, out, style)
    try:
        check_output_folder(out)
        say("Checking the course ...", style)
        built = build_course(course)
        if built.site is None:
            _stop_for_errors(
                built.checked, "No pages were written; those that stood are untouched.", style
            )
        written = write_docs_folder(built.site, out)
        settings = write_host_settings(built.site)
    except OutputError as error:
        fail(str(error), style, 2)
    except OSError as error:
        fail(f"{out} cannot be written to: {error.strerror}", style, 2)
    if style == "json":
        print_json({"pages": written, "out": str(out)})
        return
    print_findings(built.checked.findings)
    click.echo(f"{written} pages in {out}")
    say(f"The other host needs these settings, here as MkDocs takes them:\n{settings}", style)


@click.command()
@click.option("--course", expose_value=False, help="Not needed: the rules are the same for all.")
@format_option
@click.argument("rule_id", metavar="[ID]", required=False)
def rules(style: str, rule_id: str | None) -> None:
    """List the rules of the check, or tell what one finds, why, and how to pass it."""
    from builder.checks import RULES

    if rule_id is None:
        if style == "json":
            print_json({"rules": [_describe_rule(each) for each in RULES.values()]})
            return
        width = max(map(len, RULES))
        for each in RULES.values():
            click.echo(f"{each.id:{width}}  {each.severity:7}  {each.summary}")
        return
    if rule_id not in RULES:
        near = get_close_matches(rule_id, RULES, 1)
        meant = f'did you mean "{near[0]}"?' if near else "benchlore rules lists them"
        fail(f'there is no rule "{rule_id}"; {meant}', style, 2)
    found = RULES[rule_id]
    if style == "json":
        examples = {"why": found.why, "failing": found.failing, "passing": found.passing}
        print_json({**_describe_rule(found), **examples})
    else:
        click.echo(found.manual)


def _describe_rule(found: Any) -> dict[str, str]:
    return {
        "id": found.id,
        "severity": str(found.severity),
        "family": found.family,
        "summary": found.summary,
    }


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


def _stop_for_errors(checked: Checked, kept: str, style: str) -> NoReturn:
    """Show what is wrong with the content, say what was `kept`, and end with 1."""
    from builder.diagnostics import render_json

    if style == "json":
        print_json({"findings": render_json(checked.findings)})
    else:
        print_findings(checked.findings)
        click.echo(checked.summary)
        print_pointer(checked.findings)
        say(kept, style)
    sys.exit(1)


def _quieten_host() -> None:
    """Keep the theme's notice about its own future off the terminal."""
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
