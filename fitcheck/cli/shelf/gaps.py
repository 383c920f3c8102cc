"""`fitcheck shelf gaps`: machines for which the shelf holds nothing to sell, or one choice."""

from __future__ import annotations

from typing import Any

import click

from fitcheck.cli.common import asked_of, emit
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import Command, WholeNumber, catalog_option, format_option, once
from fitcheck.cli.progress import working
from fitcheck.cli.shelf.planning_options import read_demands, who_options

_TABLE_ROWS = 3


@click.command(
    "gaps", cls=Command, epilog="Example: fitcheck shelf gaps --family dunlin-50 --families"
)
@who_options
@once(
    "--top",
    type=WholeNumber(0),
    metavar="NUMBER",
    help="At most so many ways to close each gap; 0: all. Default: 3 in the table, else all.",
)
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(*, top: int | None, output_format: str, catalog: str | None, **given: Any) -> int:
    """Show for which machines the shelf holds nothing that serves them, or one choice only.

    By family, with the sets on sale that would close each gap, cheapest first. Fits that are not
    proved serve nobody; they are counted apart. Exit code 3: there is no machine to judge.
    """
    from fitcheck.services.shelf.gaps import gaps

    with asked_of(catalog) as catalogue:
        demands = read_demands(catalogue, given)
        with working("matching"):
            found = gaps(demands, lawful=given["lawful"])
    if top is None and output_format == "table":
        top = _TABLE_ROWS
    most = top or None
    if output_format == "table":
        from fitcheck.screens.screen import console
        from fitcheck.screens.shelf.gaps import print_gaps

        print_gaps(console(), found, most)
    else:
        from fitcheck.answers.gaps import gaps_answer, gaps_table

        emit(output_format, lambda: gaps_answer(found, most), lambda: gaps_table(found, most))
    return 0 if found.families else EXIT_NOTHING
