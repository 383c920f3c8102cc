"""Options and steps that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.kernel.teeth import Pair

__all__ = [
    "catalog_option",
    "echo_json",
    "format_option",
    "open_catalogue",
    "read_counts",
    "tell",
]

F = TypeVar("F", bound=Callable[..., Any])


def catalog_option(function: F) -> F:
    """`--catalog`: the folder or file to read."""
    return click.option(
        "--catalog",
        metavar="PATH",
        help="Catalogue folder or file. Left out: $FITCHECK_CATALOG, then ./catalog here or "
        "above, then the built-in demo.",
    )(function)


def format_option(*names: str) -> Callable[[F], F]:
    """`--format` with the first name as default."""

    def add(function: F) -> F:
        return click.option(
            "--format",
            "output_format",
            type=click.Choice(names, case_sensitive=False),
            default=names[0],
            show_default=True,
            help="How to print the answer.",
        )(function)

    return add


def open_catalogue(path: str | None) -> Catalogue:
    """Load the catalogue; say on stderr which one it is if nobody named it, and what is amiss."""
    from fitcheck.catalogue.reader import load

    catalogue = load(path)
    if catalogue.is_demo and path is None:
        tell(
            "no catalogue given: using the built-in demo, whose families, suppliers and parts "
            "are invented"
        )
    errors = [finding for finding in catalogue.findings if finding.severity == "error"]
    if errors:
        first = errors[0]
        records = "one error" if len(errors) == 1 else f"{len(errors)} errors"
        tell(
            f"{records} in the catalogue, what is wrong is left out; the first at {first.span}: "
            f"{first.message} (fitcheck check shows all)"
        )
    return catalogue


def tell(message: str) -> None:
    """One line on stderr."""
    click.echo(f"fitcheck: {message}", err=True)


def echo_json(data: Any) -> None:
    """Print JSON, readable and in UTF-8."""
    import json

    click.echo(json.dumps(data, ensure_ascii=False, indent=2))


def read_counts(texts: tuple[str, ...]) -> tuple[Pair, ...]:
    """Read counted pairs from words of the command line.

    Raises:
        UsageError: what was counted makes no train.
    """
    from fitcheck.kernel.teeth import TeethError, read_train

    try:
        return read_train(" ".join(texts))
    except TeethError as error:
        raise UsageError(f"tooth counts: {error}") from None
