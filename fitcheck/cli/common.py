"""Steps that several commands share: open the catalogue, read counts, print, say what goes on."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.kernel.teeth import Pair

__all__ = ["echo_data", "echo_json", "open_catalogue", "read_counts", "tell"]


def open_catalogue(path: str | None) -> Catalogue:
    """Load the catalogue; say on stderr which one it is if nobody named it, and what is amiss."""
    from fitcheck.catalogue.reader import load
    from fitcheck.cli.progress import working

    with working("reading the catalogue") as progress:
        catalogue = load(path, progress=progress.reading)
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
    from fitcheck.report.findings.wording import one_line

    click.echo(f"fitcheck: {one_line(message)}", err=True)


def echo_json(data: Any) -> None:
    """Print JSON, readable; in UTF-8, or with escapes where stdout can write less."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2)
    click.echo(json.dumps(data, indent=2) if _unwritable(text) else text)


def echo_data(text: str) -> None:
    """Print text that another program will read, whole or not at all.

    Raises:
        UsageError: stdout is set to an encoding that cannot write some character of it.
    """
    lost = _unwritable(text)
    if lost:
        raise UsageError(
            f"the answer holds {lost!a}, which stdout cannot write as {sys.stdout.encoding}; "
            "set PYTHONIOENCODING=utf-8"
        )
    click.echo(text, nl=False)


def _unwritable(text: str) -> str:
    """The first character that stdout has no way to write; empty where it can write all."""
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError as error:
        return text[error.start]
    return ""


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
