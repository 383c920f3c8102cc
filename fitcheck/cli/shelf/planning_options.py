"""Options that `shelf gaps` and `shelf plan` share: who is to be served."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fitcheck.cli.parameters import once, section

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.shelf.demands import Demands, Visits

WHO = "Machines to serve"
"""Heading of these options in the help."""

F = TypeVar("F", bound=Callable[..., Any])


def who_options(function: F) -> F:
    """`--machines`, `--families`, `--family`, `--tune` and `--lawful`."""
    return section(
        WHO,
        click.option(
            "--machines", "asked", flag_value="machines", help="The machines on record (default)."
        ),
        click.option(
            "--families",
            "asked",
            flag_value="families",
            help="Every factory train of every family, under every tune.",
        ),
        once("--family", metavar="NAME", help="Only this engine family."),
        once("--tune", metavar="NAME", help="Only this state of tune."),
        click.option(
            "--lawful",
            is_flag=True,
            help="Only what the machine's class is sure to allow serves it.",
        ),
    )(function)


def read_demands(
    catalogue: Catalogue, given: dict[str, Any], visits: Visits | None = None
) -> Demands:
    """Machines to serve, as these options say.

    Raises:
        UsageError: no such family, tune or machine.
    """
    from fitcheck.services.counter.lookup import find_family, find_tune
    from fitcheck.services.shelf.demands import demands_of

    family, tune = given["family"], given["tune"]
    return demands_of(
        catalogue,
        given["asked"] or "machines",
        family=None if family is None else find_family(catalogue, family).id,
        tune=None if tune is None else find_tune(catalogue, tune).id,
        visits=visits,
    )
