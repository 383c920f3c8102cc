"""Thrust and road load against speed, and speed against time, as a picture.

Drawn by matplotlib, an extra (`fitcheck[chart]`) that is imported when a picture is asked for.
Lines differ in dashes and marks as well as in colour. The same answer gives the same bytes with
the same release of matplotlib: no date, no random ids, none of the user's own settings.
"""

from __future__ import annotations

import html
import io
import logging
import re
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from fitcheck.answers.road_words import CONDITIONS, pull_words, range_words, seconds, top_words
from fitcheck.errors import UsageError
from fitcheck.screens.curves import interpolated
from fitcheck.screens.findings.wording import one_line
from fitcheck.services.road.results import Outcome, RoadReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

T = TypeVar("T")

_INCHES = (7.6, 8.2)
_DOTS_PER_INCH = 150

_COLOURS = ("#1a1a1a", "#0b5fa5", "#b3400f", "#11734b", "#7a3b8f", "#8a6a00")
_DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (7, 2, 1.5, 2)), (0, (10, 3)))
_MARKS = ("o", "s", "^", "D", "v", "P")
_LOAD_DASHES: dict[str, Any] = {
    "flat": "-",
    "headwind": (0, (4, 2)),
    "uphill": (0, (1.5, 1.5)),
}

_SETTINGS: Any = {  # any: matplotlib knows its settings by literal names
    "font.family": ["sans-serif"],
    "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial"],
    "font.size": 9.5,
    "text.parse_math": False,
    "svg.fonttype": "none",
    "svg.hashsalt": "fitcheck",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.color": "#dddddd",
    "grid.linewidth": 0.6,
    "axes.axisbelow": True,
}


def _of(styles: Sequence[T], number: int) -> T:
    """The style of a gearing; the first belongs to the present one alone."""
    return styles[0] if number == 0 else styles[1 + (number - 1) % (len(styles) - 1)]


def need_plotting() -> None:
    """Make sure that pictures can be drawn.

    Raises:
        UsageError: matplotlib is not installed.
    """
    try:
        import matplotlib  # noqa: F401, PLC0415 - an extra
    except ImportError:
        raise UsageError(
            "--chart draws with matplotlib, which is not installed; get it with "
            "pip install 'fitcheck[chart]'"
        ) from None


def write_chart(report: RoadReport, path: Path) -> None:
    """Draw into a file whose name ends in .svg or .png.

    Raises:
        UsageError: matplotlib is not installed.
        OSError: the file cannot be written.
    """
    path.write_bytes(chart_bytes(report, path.suffix.lower().removeprefix(".")))


def chart_bytes(report: RoadReport, kind: str) -> bytes:
    """The picture as a file of a kind, `svg` or `png`.

    Raises:
        UsageError: matplotlib is not installed.
    """
    need_plotting()
    import matplotlib as mpl  # noqa: PLC0415 - an extra

    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    page = io.BytesIO()
    with mpl.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a name may hold signs that the font lacks
        mpl.rcdefaults()
        mpl.rcParams.update(_SETTINGS)
        nothing: dict[str, Any] = (
            {"Date": None, "Creator": None, "Format": None, "Type": None}
            if kind == "svg"
            else {"Software": None, "Title": _chart_title(report), "Description": _ascii(report)}
        )
        _draw(report).savefig(page, format=kind, dpi=_DOTS_PER_INCH, metadata=nothing)
    if kind != "svg":
        return page.getvalue()
    return _accessible(page.getvalue().decode("utf-8"), report).encode("utf-8")


def _chart_title(report: RoadReport) -> str:
    """What the picture is of."""
    return f"On the road: {one_line(report.subject.name)}"


def chart_words(report: RoadReport) -> str:
    """The picture in words, for who cannot see it."""
    said = [
        "Above: thrust at the wheel and road load against speed. Below: speed against time.",
        f"As it stands: top speed {top_words(report.before)}, {_time(report.before)}.",
    ]
    said += [
        f"{one_line(one.label)}: {pull_words(one)}, top speed {top_words(one)}, {_time(one)}."
        for one in report.after
    ]
    return " ".join(said)


def _time(one: Outcome) -> str:
    if one.time_45 is not None:
        return f"0 to 45 km/h in {seconds(one.time_45)} s"
    return f"0 to 30 km/h in {seconds(one.time_30)} s" if one.time_30 else "30 km/h not reached"


def _ascii(report: RoadReport) -> str:
    return chart_words(report).encode("latin-1", errors="replace").decode("latin-1")


def _accessible(svg: str, report: RoadReport) -> str:
    """The drawing with a title and a description that screen readers find."""
    title, words = (html.escape(text) for text in (_chart_title(report), chart_words(report)))
    head = (
        f'<title id="fitcheck-title">{title}</title>\n <desc id="fitcheck-desc">{words}</desc>\n '
    )
    found = re.search(r"<svg\b[^>]*>", svg)
    assert found is not None
    opening = found.group()[:-1] + ' role="img" aria-labelledby="fitcheck-title fitcheck-desc">'
    rest = re.sub(r"<metadata>.*?</metadata>\s*", "", svg[found.end() :], flags=re.DOTALL)
    return f"{svg[: found.start()]}{opening}\n {head}{rest.lstrip()}"


def _draw(report: RoadReport) -> Figure:
    from matplotlib.figure import Figure  # noqa: PLC0415 - an extra

    figure = Figure(figsize=_INCHES, layout="constrained")
    upper, lower = figure.subplots(2, 1, height_ratios=[3, 2])
    gearings = [report.before, *report.after]
    _draw_thrust(upper, report, gearings)
    _draw_speed(lower, gearings)
    figure.suptitle(_chart_title(report), fontsize=11, fontweight="bold")
    return figure


def _draw_thrust(axes: Axes, report: RoadReport, gearings: Sequence[Outcome]) -> None:
    fastest = max(max(one.curves.speed_km_h, default=1.0) for one in gearings)
    for name, load in report.loads_n.items():
        axes.plot(
            report.load_speed_km_h,
            load,
            color="#777777",
            linewidth=1.0,
            linestyle=_LOAD_DASHES.get(name, "-"),
            label=f"load {CONDITIONS.get(name, name)}",
        )
    for number, one in enumerate(gearings):
        xs, ys = [*one.curves.speed_km_h], [*one.curves.thrust_n]
        if xs:  # nothing is left beyond the highest engine speed
            xs.append(xs[-1])
            ys.append(0.0)
        axes.plot(xs, ys, **_line(number, one, xs))
        # At the rev limit the speed is the end of the curve, but for rounding.
        top = min(one.flat.speed.value, max(one.curves.speed_km_h, default=0.0))
        thrust = interpolated(one.curves.speed_km_h, one.curves.thrust_n, top)
        if thrust is not None:
            axes.plot(
                [top],
                [thrust],
                _MARKS[number % len(_MARKS)],
                color=_colour(number),
                markersize=8,
                markerfacecolor="white",
                markeredgewidth=1.6,
            )
    axes.set_xlim(0, fastest * 1.04)
    axes.set_ylim(0, None)
    axes.set_xlabel("road speed, km/h")
    axes.set_ylabel("thrust at the wheel, load, N")
    axes.set_title("Thrust and load; large marks: top speed on the flat", fontsize=9.5, loc="left")
    axes.legend(fontsize=8, framealpha=0.9)


def _draw_speed(axes: Axes, gearings: Sequence[Outcome]) -> None:
    for number, one in enumerate(gearings):
        label = f"{_label(one)}: {range_words(one.flat.speed)} km/h"
        axes.plot(
            one.curves.time_s,
            one.curves.time_speed_km_h,
            **(_line(number, one, one.curves.time_s) | {"label": label}),
        )
    axes.set_xlim(0, None)
    axes.set_ylim(0, None)
    axes.set_xlabel("time from standstill at full throttle, s")
    axes.set_ylabel("road speed, km/h")
    axes.set_title("Speed against time; top speeds with their ranges", fontsize=9.5, loc="left")
    axes.legend(fontsize=8, framealpha=0.9, loc="lower right")


def _line(number: int, one: Outcome, xs: Sequence[float]) -> dict[str, Any]:
    """How the line of a gearing looks, its marks at other places than its neighbours'."""
    every = max(len(xs) // 7, 1)
    return {
        "color": _colour(number),
        "linestyle": _of(_DASHES, number),
        "linewidth": 1.7,
        "marker": _of(_MARKS, number),
        "markersize": 4,
        "markevery": (number % every, every),
        "label": _label(one),
    }


def _colour(number: int) -> str:
    return _of(_COLOURS, number)


def _label(one: Outcome) -> str:
    # A leading underscore would keep a line out of the legend.
    return one_line(one.label).lstrip("_") or "?"
