"""`fitcheck identify`: which factory trains have the counted teeth."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of, emit
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import Command, WholeNumber, catalog_option, format_option, once
from fitcheck.cli.values import read_counts


@click.command("identify", cls=Command, epilog="Example: fitcheck identify 15/46 14/55 --wheel 10")
@click.argument("counts", nargs=-1, required=True, metavar="PAIRS...")
@once(
    "--wheel",
    type=WholeNumber(4, 30),
    metavar="INCHES",
    help="Rim size of the driven wheel, 4 to 30.",
)
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    counts: tuple[str, ...], wheel: int | None, output_format: str, catalog: str | None
) -> int:
    """Say which families, housings and factory trains have the counted PAIRS.

    Write the pairs from input shaft to wheel: fitcheck identify 14/45 13/48. Exact trains come
    first, then those that one slip in counting or writing would explain.
    """
    from fitcheck.services.counter.identify import identify

    pairs = read_counts(" ".join(counts))
    with asked_of(catalog) as catalogue:
        found = identify(catalogue, pairs, wheel)
    if output_format == "table":
        from fitcheck.screens.counter.identify import print_candidates
        from fitcheck.screens.screen import console

        print_candidates(console(), pairs, found)
    else:
        from fitcheck.answers.identify import identify_answer, identify_table

        emit(
            output_format,
            lambda: identify_answer(catalogue, pairs, wheel, found),
            lambda: identify_table(found),
        )
    return 0 if found else EXIT_NOTHING
