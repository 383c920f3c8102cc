"""`fitcheck identify`: which factory trains have the counted teeth."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of, echo_data, echo_json
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import Command, WholeNumber, catalog_option, format_option, once
from fitcheck.cli.values import read_counts

__all__ = ["command"]


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
    from fitcheck.services.identify import identify

    pairs = read_counts(" ".join(counts))
    with asked_of(catalog) as catalogue:
        found = identify(catalogue, pairs, wheel)
    if output_format == "table":
        from fitcheck.report.identify_text import print_candidates
        from fitcheck.report.screen import console

        print_candidates(console(), pairs, found)
    elif output_format == "json":
        from fitcheck.report.identify_json import identify_data

        echo_json(identify_data(catalogue, pairs, wheel, found))
    else:
        from fitcheck.report import identify_rows

        as_text = identify_rows.as_csv if output_format == "csv" else identify_rows.as_markdown
        echo_data(as_text(found))
    return 0 if found else EXIT_NOTHING
