"""`fitcheck options`: every choice for one engine family."""

from __future__ import annotations

from typing import Any

import click

from fitcheck.cli.common import asked_of, emit
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.match import filter_options, list_road_options, read_request
from fitcheck.cli.parameters import (
    Command,
    WholeNumber,
    catalog_option,
    format_option,
    once,
    section,
)
from fitcheck.cli.progress import working

_TABLE_ROWS = 5


@click.command(
    "options",
    cls=Command,
    epilog="Example: fitcheck options dunlin-50 --housing short --tune stock",
)
@click.argument("family")
@section(
    "Which lists",
    once("--housing", metavar="NAME", help="Only this gearbox housing."),
    once("--wheel", type=WholeNumber(4, 30), metavar="INCHES", help="Only this wheel size."),
    once("--tune", metavar="NAME", help="Only this state of tune."),
)
@filter_options
@list_road_options
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    family: str,
    *,
    housing: str | None,
    wheel: int | None,
    tune: str | None,
    output_format: str,
    catalog: str | None,
    **filters: Any,
) -> int:
    """Show every choice for one engine FAMILY, by housing, wheel size and tune.

    The table shows the first rows of each list, --top 0 all of them; --format csv gives all. On
    the road each factory train is judged with the engine, the variator and the tyre of the works.
    """
    from fitcheck.services.counter.lookup import find_family, find_housing, find_tune
    from fitcheck.services.counter.options import options

    with asked_of(catalog) as catalogue:
        entry = find_family(catalogue, family)
        if filters["top"] is None and output_format == "table":
            filters["top"] = _TABLE_ROWS
        groups = options(
            catalogue,
            entry,
            read_request(catalogue, filters, output_format),
            housing=None if housing is None else find_housing(entry, housing),
            wheel_size_in=wheel,
            tune=None if tune is None else find_tune(catalogue, tune).id,
        )
    if output_format == "table":
        from fitcheck.screens.counter.options import print_options
        from fitcheck.screens.screen import console

        listed = print_options(console(), entry.id, entry.record, groups)
        return 0 if listed else EXIT_NOTHING
    with working("matching"):
        all_groups = list(groups)
    from fitcheck.answers.match import options_answer, options_table

    emit(
        output_format,
        lambda: options_answer(entry, all_groups),
        lambda: options_table(all_groups),
    )
    return 0 if any(group.result.combinations for group in all_groups) else EXIT_NOTHING
