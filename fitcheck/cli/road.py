"""`fitcheck road`: what the machine really does on the road, before and after."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from fitcheck.cli.common import asked_of, emit, tell
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.match import read_subject, subject_options
from fitcheck.cli.named_sets import read_options
from fitcheck.cli.parameters import Command, catalog_option, format_option, once
from fitcheck.cli.progress import working
from fitcheck.cli.road_options import read_road, road_options
from fitcheck.cli.values import reader
from fitcheck.errors import UsageError

_SUFFIXES = (".svg", ".png")


def _chart_file(text: str) -> Path:
    path = Path(text)
    if path.suffix.lower() not in _SUFFIXES:
        raise UsageError(f"{text[:60]!r} says no kind of picture; end its name in .svg or .png")
    return path


@click.command(
    "road",
    cls=Command,
    epilog="Example: fitcheck road dunlin-ten GW-20-108 --measured-top 46",
)
@click.argument("words", nargs=-1, metavar="MACHINE [SETS]...")
@subject_options
@road_options
@once(
    "--chart",
    type=reader("file", _chart_file),
    metavar="FILE",
    help="Also draw thrust and road load, and speed against time, into a .svg or .png file; "
    "needs the extra: pip install 'fitcheck[chart]'.",
)
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    words: tuple[str, ...],
    chart: Path | None,
    output_format: str,
    catalog: str | None,
    **options: Any,
) -> int:
    """Say what MACHINE does on the road as it stands and with each choice of SETS.

    Each of SETS is one choice: a gear set by id or part number, or several joined by +, as in
    MA-1545+MA-21553. With --family and --teeth no machine is named and every word is a choice;
    without any, only the machine as it stands is shown. What the files do not know is estimated,
    and said to be. A top speed by GPS (--measured-top) makes the present speed sure and takes a
    tenth to a fifth off the error of other speeds. The exit code is 3 where every choice is ruled
    out.
    """
    from fitcheck.rules.answers import Verdict
    from fitcheck.services.road.comparing import compare

    if chart is not None:
        from fitcheck.screens.road.chart import need_plotting

        need_plotting()
    by_counts = options["family"] is not None
    machine = None if by_counts else (words[0] if words else None)
    with asked_of(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        choices = read_options(catalogue, subject, words if by_counts else words[1:])
        asked = read_road(catalogue, options)
        with working("working out the road"):
            report = compare(subject, choices, asked)
    if chart is not None:
        from fitcheck.screens.road.chart import write_chart

        with working("drawing"):
            write_chart(report, chart)
    if output_format == "table":
        from fitcheck.screens.road.text import print_road
        from fitcheck.screens.screen import console, shows_braille

        print_road(console(), report, braille=shows_braille())
    else:
        from fitcheck.answers.road import road_answer, road_table

        emit(output_format, lambda: road_answer(report), lambda: road_table(report))
    if chart is not None:
        tell(f"the chart is in {chart}")
    ruled_out = [one.judgement.verdict is Verdict.RULED_OUT for one in choices]
    return EXIT_NOTHING if ruled_out and all(ruled_out) else 0
