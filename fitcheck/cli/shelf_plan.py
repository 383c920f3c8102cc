"""`fitcheck shelf gaps` and `plan`: whom the shelf serves, and what to buy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.cli.commands import command, section
from fitcheck.cli.common import emit, late, open_catalogue, tell, tell_some, working
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.naming import whole_name
from fitcheck.cli.parameters import (
    CURRENCY,
    FAMILY,
    LIST_FILE,
    MONEY,
    TUNE,
    Money,
    WholeNumber,
    flag,
    list_options,
    once,
    one_currency,
)

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.shelf.demands import Demands, Visits

_WHO = "Machines to serve"
"""Heading of these options in the help."""

_who_options = section(
    _WHO,
    flag("--machines asked", "The machines on record (default).", flag_value="machines"),
    flag(
        "--families asked",
        "Every factory train of every family, under every tune.",
        flag_value="families",
        daily=True,
    ),
    once("--family NAME", "Only this engine family.", FAMILY, daily=True),
    once("--tune NAME", "Only this state of tune.", TUNE),
    flag("--lawful", "Only what the machine's class is sure to allow serves it."),
)
"""`--machines`, `--families`, `--family`, `--tune` and `--lawful`."""


def _read_demands(
    catalogue: Catalogue, given: dict[str, Any], visits: Visits | None = None
) -> Demands:
    """Machines to serve, as these options say; several faults of the visits a line each.

    Raises:
        UsageError: no such family, tune or machine.
    """
    from fitcheck.services.counter.lookup import find_family, find_tune
    from fitcheck.services.shelf.demands import VisitsError, demands_of

    family, tune = given["family"], given["tune"]
    if family is not None:
        family = find_family(catalogue, whole_name(catalogue, "family", family)).id
    if tune is not None:
        tune = find_tune(catalogue, whole_name(catalogue, "tune", tune)).id
    try:
        return demands_of(
            catalogue, given["asked"] or "machines", family=family, tune=tune, visits=visits
        )
    except VisitsError as error:
        if len(error.faults) > 1:
            tell_some(error.faults)
        raise


_TABLE_ROWS = 3


@command("gaps", "fitcheck shelf gaps --family dunlin-50 --families")
@_who_options
@once(
    "--top NUMBER",
    "At most so many ways to close each gap; 0: all. Default: 3 in the table, else all.",
    WholeNumber(0),
    daily=True,
)
@list_options
def gaps_command(*, top: int | None, output_format: str, catalog: str | None, **given: Any) -> int:
    """Show for which machines the shelf holds nothing that serves them, or one choice only.

    By family, with the sets on sale that would close each gap, cheapest first. Fits that are not
    proved serve nobody; they are counted separately. Exit code 3: there is no machine to judge.
    """
    from fitcheck.services.shelf.gaps import gaps

    with open_catalogue(catalog) as catalogue:
        demands = _read_demands(catalogue, given)
        with working("matching"):
            found = gaps(demands, lawful=given["lawful"])
    if top is None and output_format == "table":
        top = _TABLE_ROWS
    most = top or None
    emit(
        output_format,
        late("fitcheck.screens.shelf.plan:print_gaps", found, most),
        late("fitcheck.answers.gaps:gaps_answer", found, most),
        late("fitcheck.answers.gaps:gaps_table", found, most),
    )
    return 0 if found.families else EXIT_NOTHING


@command("plan", "fitcheck shelf plan --budget 300")
@section(
    "The money",
    once(
        "--budget AMOUNT", "The money there is: 500 or '500 CHF'.", MONEY, required=True, daily=True
    ),
    once(
        "--currency CODE",
        "Currency of the budget. Default: that of most sets on sale.",
        CURRENCY,
    ),
    once("--time-limit SECONDS", "Time for the exact answer.", WholeNumber(1, 3600), default=30),
)
@_who_options
@section(
    _WHO,
    once(
        "--visits FILE",
        "How often each machine comes: CSV, a spreadsheet, or YAML of id: number. A machine "
        "not listed counts once.",
        LIST_FILE,
        daily=True,
    ),
)
@list_options
def plan_command(
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
    from fitcheck.services.shelf.demands import read_visits
    from fitcheck.services.shelf.plan import plan

    currency = one_currency({"--budget": budget.currency, "--currency": currency})
    often = None if visits is None else read_visits(visits)
    with open_catalogue(catalog) as catalogue:
        demands = _read_demands(catalogue, given, often)
        with working("planning"):
            found = plan(
                demands,
                budget.amount,
                currency=currency,
                lawful=given["lawful"],
                time_limit_s=float(time_limit),
            )
    if demands.unweighted:
        several = demands.unweighted > 1
        tell(
            f"{demands.unweighted} machine{'s' * several} not in {visits} "
            f"count{'s' * (not several)} once"
        )
    emit(
        output_format,
        late("fitcheck.screens.shelf.plan:print_plan", found),
        late("fitcheck.answers.plan:plan_answer", found),
        late("fitcheck.answers.plan:plan_table", found),
    )
    return 0 if found.bought else EXIT_NOTHING
