"""`fitcheck why`: one combination worked out, with every rule's answer."""

from __future__ import annotations

from typing import Any

import click

from fitcheck.cli.common import asked_of, echo_json
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.match import margins_option, read_subject, subject_options
from fitcheck.cli.parameters import Command, catalog_option, format_option


@click.command("why", cls=Command, epilog="Example: fitcheck why dunlin-ten GW-20-108")
@click.argument("words", nargs=-1, metavar="MACHINE SETS...")
@subject_options
@margins_option
@format_option("table", "json")
@catalog_option
def command(
    words: tuple[str, ...],
    *,
    margins: bool,
    output_format: str,
    catalog: str | None,
    **options: Any,
) -> int:
    """Work out what SETS do to MACHINE, and say why they fit or not.

    SETS are ids or part numbers. With --family and --teeth no machine is named and every word is
    a set. The exit code is 3 where the sets are ruled out.
    """
    from fitcheck.rules.answers import Verdict
    from fitcheck.services.counter.why import explain

    by_counts = options["family"] is not None
    machine = None if by_counts else (words[0] if words else None)
    names = words if by_counts else words[1:]
    with asked_of(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        if not names:
            raise click.UsageError("name the gear sets after the machine: fitcheck why MACHINE SET")
        told = explain(subject, names)
    if output_format == "json":
        from fitcheck.answers.why import why_answer

        echo_json(why_answer(told, margins=margins))
    else:
        from fitcheck.screens.counter.why import print_why
        from fitcheck.screens.screen import console

        print_why(console(), told, margins=margins)
    return EXIT_NOTHING if told.combination.judgement.verdict is Verdict.RULED_OUT else 0
