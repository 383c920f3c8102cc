"""`fitcheck road`, and what any command may ask of the road model."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import Command, section
from fitcheck.cli.common import asked_of, emit, tell, working
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import Quantity, catalog_option, format_option, once, quantity, reader
from fitcheck.cli.subject import read_options, read_subject, subject_options
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.road.asked import RoadAsked

_RPM = ("500", "30000", "1/min", "engine speed")
"""Limits of any engine speed, as `Quantity` takes them."""

_SPEED = ("5", "250", "km/h", "speed of such a machine")


def _power(text: str) -> tuple[float, float]:
    power, sign, rpm = text.partition("@")
    if not sign:
        raise UsageError(
            f"{text[:30]!r} gives no engine speed; write kW@rpm, like 2.4@6500, since power "
            "without its speed says little"
        )
    return (
        Quantity("0.1", "200", "kW", "power of such an engine", "2.4").read(power),
        Quantity(*_RPM, "6500").read(rpm),
    )


def _ratios(text: str) -> tuple[float, float]:
    """Starting and top ratio; a single number is a fixed ratio."""
    parts = text.split(":")
    if len(parts) > 2:
        raise UsageError(f"{text[:30]!r} is no pair of ratios; write start:top, like 2.6:0.85")
    limits = ("0.2", "20", "", "variator ratio")
    if len(parts) == 1:
        fixed = Quantity(*limits, "1").read(text)
        return fixed, fixed
    low, high = (
        Quantity(*limits, example).read(part)
        for part, example in zip(parts, ("2.6", "0.85"), strict=True)
    )
    if low < high:
        raise UsageError(
            f"{text[:30]}: the starting ratio stands first and is the larger, like 2.6:0.85; are "
            "they swapped?"
        )
    return low, high


def model_options(function: Any) -> Any:
    """What is known better at the counter than in the files; see `read_road`."""
    return section(
        "Known of the machine on the road; overrides the files",
        once(
            "--measured-top",
            type=quantity(*_SPEED, "62"),
            metavar="KM/H",
            help="Top speed now, by GPS, on the flat without wind: calibrates the model.",
        ),
        once(
            "--shown-top",
            type=quantity(*_SPEED, "62"),
            metavar="KM/H",
            help="The same as the speedometer shows it, which may be 10 % + 4 km/h high.",
        ),
        once(
            "--power",
            type=reader("power", _power),
            metavar="KW@RPM",
            help="Peak power at the crankshaft and its engine speed: 2.4@6500.",
        ),
        once(
            "--rev-limit",
            type=quantity(*_RPM, "8500"),
            metavar="RPM",
            help="Highest engine speed.",
        ),
        once(
            "--shift-rpm",
            type=quantity(*_RPM, "6200"),
            metavar="RPM",
            help="Engine speed held while the variator shifts.",
        ),
        once(
            "--engage-rpm",
            type=quantity(*_RPM, "3500"),
            metavar="RPM",
            help="Engine speed at which the clutch grips.",
        ),
        once(
            "--ratios",
            type=reader("ratios", _ratios),
            metavar="START:TOP",
            help="Ratios of the variator, 2.6:0.85; one number for a fixed ratio.",
        ),
        once(
            "--efficiency",
            type=quantity("0.3", "1", "", "efficiency of a driveline", "0.8"),
            metavar="SHARE",
            help="Of the driveline from crankshaft to wheel, 0.3 to 1.",
        ),
        once(
            "--mass",
            type=quantity("20", "1000", "kg", "mass of such a machine", "95"),
            metavar="KG",
            help="Machine in running order, without rider.",
        ),
        once(
            "--rider",
            type=quantity("20", "300", "kg", "mass of rider and load", "75"),
            metavar="KG",
            help="Rider with clothes and load.",
        ),
        once(
            "--drag-area",
            type=quantity("0.05", "3", "m2", "drag area of such a machine", "0.5"),
            metavar="M2",
            help="Drag coefficient times frontal area.",
        ),
        once(
            "--rolling",
            type=quantity("0.001", "0.1", "", "rolling coefficient", "0.015"),
            metavar="SHARE",
            help="Rolling resistance over weight, both wheels: 0.015.",
        ),
        once(
            "--altitude",
            type=quantity("-500", "6000", "m", "height of a road", "400"),
            metavar="M",
            help="Height above sea level, which thins the air.",
        ),
        once(
            "--temperature",
            type=quantity("-40", "60", "°C", "weather to ride in", "20"),
            metavar="C",
            help="Air temperature.",
        ),
        once(
            "--class",
            "vehicle_class",
            metavar="NAME",
            help="Vehicle class to judge by, instead of the machine's own.",
        ),
    )(function)


def road_options(function: Any) -> Any:
    """The same, and at which speeds to tell more."""
    more = section(
        "What else to tell",
        once(
            "--steady",
            type=quantity(*_SPEED, "40"),
            metavar="KM/H",
            help="Steady speed at which to compare the use of fuel.",
        ),
        click.option(
            "--at",
            "extra_speeds",
            type=quantity(*_SPEED, "45"),
            multiple=True,
            metavar="KM/H",
            help="Also tell the engine speed at this road speed; may be given again.",
        ),
    )
    return model_options(more(function))


def read_road(catalogue: Catalogue, options: dict[str, Any]) -> RoadAsked:
    """What the options of `road_options`, or of `model_options` alone, ask of the model.

    Raises:
        UsageError: two options contradict each other, or the class is not there.
    """
    from fitcheck.services.counter.lookup import find_class
    from fitcheck.services.road.asked import RoadAsked

    if options["measured_top"] is not None and options["shown_top"] is not None:
        raise click.UsageError("give --measured-top or --shown-top, not both")
    _in_order(options)
    name = options["vehicle_class"]
    return RoadAsked(
        measured_top_km_h=options["measured_top"],
        shown_top_km_h=options["shown_top"],
        power=options["power"],
        rev_limit_rpm=options["rev_limit"],
        shift_rpm=options["shift_rpm"],
        engage_rpm=options["engage_rpm"],
        ratios=options["ratios"],
        efficiency=options["efficiency"],
        mass_kg=options["mass"],
        rider_kg=options["rider"],
        drag_area_m2=options["drag_area"],
        rolling_coefficient=options["rolling"],
        altitude_m=0.0 if options["altitude"] is None else options["altitude"],
        temperature_c=options["temperature"],
        vehicle_class=None if name is None else find_class(catalogue, name),
        steady_km_h=options.get("steady"),
        extra_speeds_km_h=tuple(sorted(set(options.get("extra_speeds", ())))),
    )


_MODEL = (
    "measured_top",
    "shown_top",
    "power",
    "rev_limit",
    "shift_rpm",
    "engage_rpm",
    "ratios",
    "efficiency",
    "mass",
    "rider",
    "drag_area",
    "rolling",
    "altitude",
    "temperature",
    "vehicle_class",
)


def given_names(options: dict[str, Any]) -> list[str]:
    """Which of `model_options` are given, as they are written."""
    given = [name for name in _MODEL if options[name] is not None]
    return [f"--{name.removeprefix('vehicle_').replace('_', '-')}" for name in given]


def _in_order(options: dict[str, Any]) -> None:
    """The clutch grips below the speed at which the variator shifts, and that below the limit."""
    names = [name for name in ("engage_rpm", "shift_rpm", "rev_limit") if options[name] is not None]
    for lower, upper in pairwise(names):
        if options[lower] >= options[upper]:
            low, high = (f"--{name.replace('_', '-')} {options[name]:g}" for name in (lower, upper))
            raise click.UsageError(f"{low} must be under {high}; are they swapped?")


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
def road_command(
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
