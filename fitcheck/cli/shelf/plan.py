"""`fitcheck shelf plan`: the purchase that serves the most machines for the money."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from fitcheck.cli.common import asked_of, emit, tell
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import (
    LIST_FILE,
    Command,
    WholeNumber,
    catalog_option,
    format_option,
    once,
    section,
)
from fitcheck.cli.progress import working
from fitcheck.cli.shelf.planning_options import WHO, read_demands, who_options
from fitcheck.cli.values import CURRENCY, MONEY, Money

_TOLD = 20
"""So many faulty visits are told of one by one."""


@click.command("plan", cls=Command, epilog="Example: fitcheck shelf plan --budget 300")
@section(
    "The money",
    once(
        "--budget",
        type=MONEY,
        metavar="AMOUNT",
        required=True,
        help="The money there is: 500 or '500 CHF'.",
    ),
    once(
        "--currency",
        type=CURRENCY,
        metavar="CODE",
        help="Currency of the budget. Default: that of most sets on sale.",
    ),
    once(
        "--time-limit",
        type=WholeNumber(1, 3600),
        metavar="SECONDS",
        default=30,
        show_default=True,
        help="Time for the exact answer.",
    ),
)
@who_options
@section(
    WHO,
    once(
        "--visits",
        type=LIST_FILE,
        metavar="FILE",
        help="How often each machine comes: CSV, a spreadsheet, or YAML of id: number. Who is "
        "not in it counts once.",
    ),
)
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    *,
    budget: Money,
    currency: str | None,
    visits: Path | None,
    time_limit: int,
    output_format: str,
    catalog: str | None,
    **given: Any,
) -> int:
    """Plan the purchase that serves the most machines within a budget.

    A machine counts as often as it comes. One piece of each set is bought, at what the shop paid
    last, else at the supplier's list price; sets on the shelf may go with bought ones. The answer
    says how good it is: the best, or how far from the best it may be. Exit code 3: nothing to buy.
    """
    from fitcheck.services.shelf.demands import VisitsError
    from fitcheck.services.shelf.plan import plan
    from fitcheck.services.shelf.visits import read_visits

    if None not in (currency, budget.currency) and currency != budget.currency:
        raise click.UsageError(
            f"--budget is in {budget.currency} and --currency says {currency}; give one of them"
        )
    often = None if visits is None else read_visits(visits)
    with asked_of(catalog) as catalogue:
        try:
            demands = read_demands(catalogue, given, often)
        except VisitsError as error:
            if len(error.faults) > 1:
                for fault in error.faults[:_TOLD]:
                    tell(fault)
            raise
        with working("planning"):
            found = plan(
                demands,
                budget.amount,
                currency=currency or budget.currency,
                lawful=given["lawful"],
                time_limit_s=float(time_limit),
            )
    if demands.unweighted:
        several = demands.unweighted > 1
        tell(
            f"{demands.unweighted} machine{'s' * several} not in {visits} "
            f"count{'s' * (not several)} once"
        )
    if output_format == "table":
        from fitcheck.screens.screen import console
        from fitcheck.screens.shelf.plan import print_plan

        print_plan(console(), found)
    else:
        from fitcheck.answers.plan import plan_answer, plan_table

        emit(output_format, lambda: plan_answer(found), lambda: plan_table(found))
    return 0 if found.bought else EXIT_NOTHING
