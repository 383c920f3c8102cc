"""`fitcheck road`, and what any command may ask of the road model."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section, together
from fitcheck.cli.common import emit, late, open_catalogue, tell, working
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.naming import whole_name
from fitcheck.cli.parameters import (
    MACHINE_AND_SETS,
    VEHICLE_CLASS,
    Id,
    Reader,
    list_options,
    long_option,
    many,
    once,
    quantity,
)
from fitcheck.cli.subject import read_options, read_subject, split_words, subject_options
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.screens.screen import Screen
    from fitcheck.services.road.figures import RoadAsked
    from fitcheck.services.road.results import RoadReport


def _rpm(example: str) -> Reader:
    return quantity("500", "30000", "1/min", "engine speed", example)


def _speed(example: str) -> Reader:
    return quantity("5", "250", "km/h", "speed of such a machine", example)


def _ratio(example: str) -> Reader:
    return quantity("0.2", "20", "", "variator ratio", example)


def _power(text: str) -> tuple[float, float]:
    power, sign, rpm = text.partition("@")
    if not sign:
        raise UsageError(
            f"{text[:30]!r} gives no engine speed; write kW@rpm, like 2.4@6500, since power "
            "without its speed says little"
        )
    kw = quantity("0.1", "200", "kW", "power of such an engine", "2.4")
    return kw.read(power), _rpm("6500").read(rpm)


def _ratios(text: str) -> tuple[float, float]:
    """Starting and top ratio; a single number is a fixed ratio."""
    parts = text.split(":")
    if len(parts) > 2:
        raise UsageError(f"{text[:30]!r} is no pair of ratios; write start:top, like 2.6:0.85")
    if len(parts) == 1:
        fixed = _ratio("1").read(text)
        return fixed, fixed
    low, high = _ratio("2.6").read(parts[0]), _ratio("0.85").read(parts[1])
    if low < high:
        raise UsageError(
            f"{text[:30]}: the starting ratio stands first and is the larger, like 2.6:0.85; are "
            "they swapped?"
        )
    return low, high


_EFFICIENCY = quantity("0.3", "1", "", "efficiency of a driveline", "0.8")
_MASS = quantity("20", "1000", "kg", "mass of such a machine", "95")
_RIDER = quantity("20", "300", "kg", "mass of rider and load", "75")
_DRAG_AREA = quantity("0.05", "3", "m2", "drag area of such a machine", "0.5")
_ROLLING = quantity("0.001", "0.1", "", "rolling coefficient", "0.015")
_HEIGHT = quantity("-500", "6000", "m", "height of a road", "400")
_WEATHER = quantity("-40", "60", "°C", "weather to ride in", "20")


_KNOWN: dict[str, tuple[str, str, Reader | Id]] = {
    "measured_top_km_h": (
        "--measured-top KM/H",
        "Top speed now, by GPS, on the flat without wind: calibrates the model.",
        _speed("62"),
    ),
    "shown_top_km_h": (
        "--shown-top KM/H",
        "The same as the speedometer shows it, which may be 10 % + 4 km/h high.",
        _speed("62"),
    ),
    "power": (
        "--power KW@RPM",
        "Peak power at the crankshaft and its engine speed: 2.4@6500.",
        Reader("power", _power),
    ),
    "rev_limit_rpm": ("--rev-limit RPM", "Rev limit of the engine.", _rpm("8500")),
    "shift_rpm": ("--shift-rpm RPM", "Engine speed held while the variator shifts.", _rpm("6200")),
    "engage_rpm": ("--engage-rpm RPM", "Engine speed at which the clutch engages.", _rpm("3500")),
    "ratios": (
        "--ratios START:TOP",
        "Ratios of the variator, 2.6:0.85; one number for a fixed ratio.",
        Reader("ratios", _ratios),
    ),
    "efficiency": (
        "--efficiency SHARE",
        "Of the driveline from crankshaft to wheel, 0.3 to 1.",
        _EFFICIENCY,
    ),
    "mass_kg": ("--mass KG", "Machine in running order, without rider.", _MASS),
    "rider_kg": ("--rider KG", "Rider with clothes and load.", _RIDER),
    "drag_area_m2": ("--drag-area M2", "Drag coefficient times frontal area.", _DRAG_AREA),
    "rolling_coefficient": (
        "--rolling SHARE",
        "Rolling resistance over weight, both wheels: 0.015.",
        _ROLLING,
    ),
    "altitude_m": ("--altitude M", "Height above sea level, which thins the air.", _HEIGHT),
    "temperature_c": ("--temperature C", "Air temperature.", _WEATHER),
    "vehicle_class": (
        "--class NAME",
        "Vehicle class to judge by, instead of the machine's own.",
        VEHICLE_CLASS,
    ),
}
"""Fields of `RoadAsked` that any command may set: the option as written, its help, its value."""

model_options = section(
    "Known of the machine on the road; overrides the files",
    *(once(f"{written} {field}", words, kind) for field, (written, words, kind) in _KNOWN.items()),
)
"""What is known better at the counter than in the files; see `read_road`."""

road_options = together(
    model_options,
    section(
        "What else to show",
        once(
            "--steady KM/H steady_km_h",
            "Steady speed at which to compare the use of fuel.",
            _speed("40"),
        ),
        many(
            "--at KM/H extra_speeds_km_h",
            "Also show the engine speed at this road speed; may be given again.",
            _speed("45"),
        ),
    ),
)
"""The same, and at which speeds to tell more."""


def read_road(catalogue: Catalogue, options: dict[str, Any]) -> RoadAsked:
    """What the options of `road_options`, or of `model_options` alone, ask of the model.

    Raises:
        UsageError: two options contradict each other, or the class is not there.
    """
    from fitcheck.services.counter.lookup import find_class
    from fitcheck.services.road.figures import RoadAsked

    fields = (*_KNOWN, "steady_km_h")
    given = {name: options[name] for name in fields if options.get(name) is not None}
    if "measured_top_km_h" in given and "shown_top_km_h" in given:
        raise click.UsageError("give --measured-top or --shown-top, not both")
    # The clutch engages below the speed at which the variator shifts, and that below the limit.
    rpms = [name for name in ("engage_rpm", "shift_rpm", "rev_limit_rpm") if name in given]
    for lower, upper in pairwise(rpms):
        if given[lower] >= given[upper]:
            low, high = (f"{_option(name)} {given[name]:g}" for name in (lower, upper))
            raise click.UsageError(f"{low} must be under {high}; are they swapped?")
    if "vehicle_class" in given:
        name = whole_name(catalogue, "vehicle-class", given["vehicle_class"])
        given["vehicle_class"] = find_class(catalogue, name)
    speeds = tuple(sorted(set(options.get("extra_speeds_km_h", ()))))
    return RoadAsked(**given, extra_speeds_km_h=speeds)


def list_given(options: dict[str, Any]) -> list[str]:
    """Which of `model_options` are given, as they are written."""
    return [_option(name) for name in _KNOWN if options[name] is not None]


def _option(field: str) -> str:
    return _KNOWN[field][0].split()[0]


_SUFFIXES = (".svg", ".png")


def _chart_file(text: str) -> Path:
    path = Path(text)
    if path.suffix.lower() not in _SUFFIXES:
        raise UsageError(f"{text[:60]!r} says no kind of picture; end its name in .svg or .png")
    return path


@command(
    "road",
    "fitcheck road dunlin-ten GW-20-108 --measured-top 46",
    "fitcheck road dunlin-ten GW-20-108 MA-1545+SA-107 --rider 95",
)
@click.argument("words", nargs=-1, type=MACHINE_AND_SETS, metavar="MACHINE [SETS]...")
@subject_options
@road_options
@once(
    "--chart FILE",
    "Also draw thrust and road load, and speed against time, into a .svg or .png file; "
    "needs the extra: pip install 'fitcheck[chart]'.",
    Reader("file", _chart_file),
)
@long_option
@list_options
def road_command(
    words: tuple[str, ...],
    chart: Path | None,
    long: bool,
    output_format: str,
    catalog: str | None,
    **options: Any,
) -> int:
    """Say what MACHINE does on the road as it stands and with each choice of SETS.

    Each of SETS is one choice: a gear set by id or part number, or several joined by +, as in
    MA-1545+MA-21553. With --family and --teeth no machine is named and every word is a choice;
    without any, only the machine as it stands is shown. What the files do not know is estimated,
    and said to be. A top speed by GPS (--measured-top) makes the present speed sure and takes a
    tenth to a sixth off the error of other speeds. The exit code is 3 where every choice is ruled
    out.
    """
    from fitcheck.rules.answers import Verdict
    from fitcheck.services.road.comparing import compare

    if chart is not None:
        from fitcheck.screens.road.chart import need_plotting

        need_plotting()
    machine, names = split_words(words, options)
    with open_catalogue(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        choices = read_options(catalogue, subject, names)
        asked = read_road(catalogue, options)
        with working("working out the road"):
            report = compare(subject, choices, asked)
    if chart is not None:
        from fitcheck.screens.road.chart import write_chart

        with working("drawing"):
            write_chart(report, chart)
    asked_for_more = asked.steady_km_h is not None or bool(asked.extra_speeds_km_h)
    glance = late("fitcheck.screens.road.glance:print_road_glance", report, whole=asked_for_more)
    emit(
        output_format,
        (lambda out: _print_road(out, report)) if long else glance,
        late("fitcheck.answers.road:road_answer", report),
        late("fitcheck.answers.road:road_table", report),
    )
    if chart is not None:
        tell(f"the chart is in {chart}")
    ruled_out = [one.judgement.verdict is Verdict.RULED_OUT for one in choices]
    return EXIT_NOTHING if ruled_out and all(ruled_out) else 0


def _print_road(out: Screen, report: RoadReport) -> None:
    from fitcheck.screens.road.text import print_road
    from fitcheck.screens.screen import shows_braille

    print_road(out, report, braille=shows_braille())
