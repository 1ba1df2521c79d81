"""The command line: reads options, calls the floors below, prints. Nothing else is decided here.

Exit status: 0 fine, 1 the content or the answer has errors, 2 wrong use. Text goes to people, JSON
to programs: one object on standard output and nothing else there. Each command imports what it
needs when it is called, so that a short one starts fast.
"""

from __future__ import annotations

import click

from builder import __version__
from builder.cli import asking, papers, planning, site, starting
from builder.library_warnings import pass_over_library_warnings


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="benchlore")
@click.pass_context
def main(context: click.Context) -> None:
    """Check a course folder and make its teaching site and papers."""
    context.with_resource(pass_over_library_warnings())


for command in (
    site.check,
    site.build,
    site.serve,
    site.pages,
    site.rules,
    asking.calculate,
    asking.diagnose,
    papers.chart,
    papers.worksheet,
    planning.plan,
    starting.new,
    starting.schema,
):
    main.add_command(command)

__all__ = ["main"]
