"""The page on top speed against gearing, docs/top-speed-and-gearing.md, with its picture.

`python -m fitcheck.screens.reference.gearing --write` writes both; without `--write` it only says
whether the committed files are in step. It is run in a checkout, where the demo is ./catalog.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from fitcheck.answers.reference import write_or_compare
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import UsageError
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.road.comparing import TurnOverPoint, turn_over

_ROOT = Path(__file__).parents[3]
DOCUMENT = _ROOT / "docs" / "top-speed-and-gearing.md"
PICTURE = _ROOT / "docs" / "top-speed-and-gearing.svg"

_TABLE = (-10, 0, 5, 10, 15, 20, 30, 40)
_CURVE = tuple(range(-20, 41))
_DRAWN = ("curlew-fen", "whimbrel-skerry", "turnstone-pebble", "dunlin-ten")

_INTRO = """\
# Top speed against gearing

What a taller drive really does to the top speed of the demo's standard machines, on the flat and
in still air, by [the road model](road-model.md). The page is made from the demo catalogue, whose
engines are invented; their shape is what the trade knows (common practice, no source): a standard
engine takes 10 to 15 % more road speed, and more than that often costs top speed.

![Curves of real top speed against gearing](top-speed-and-gearing.svg)

Each curve rises as long as the engine runs past its power peak, or into its rev limit, in the top
ratio. It turns over where the road holds the engine at its peak. Beyond that the variator no longer
comes fully out; the engine stays at its shift rpm, and the curve runs level at what that rpm gives.
What is lost then is the pull at the start. Against a wind or uphill the turn comes sooner.

Real top speed in km/h, the best of each row in bold; `r` after a figure: limited by the rev limit.

"""


def gearing_reference() -> str:
    """The page's text."""
    catalogue = load(_ROOT / "catalog")
    heads = map(_signed, _TABLE)
    head = "| machine | best at | " + " | ".join(heads) + " |"
    rule = "|---|---:|" + "---:|" * len(_TABLE)
    rows = [_row(name, catalogue) for name in _standard(catalogue)]
    return _INTRO + "\n".join([head, rule, *rows]) + "\n"


def _signed(percent: int) -> str:
    return f"{percent:+d} %" if percent else "now"


def _standard(catalogue: Catalogue) -> Iterable[str]:
    """Machines of the stock tune that the model has all figures for."""
    for name, entry in catalogue.machines.items():
        if entry.record.tune == "stock":
            try:
                turn_over(subject_of(catalogue, name), [0])
            except UsageError:
                continue
            yield name


def _row(name: str, catalogue: Catalogue) -> str:
    subject = subject_of(catalogue, name)
    best = max(turn_over(subject, range(-20, 61)), key=lambda point: round(point.top_km_h, 2))
    points = turn_over(subject, _TABLE)
    most = max(point.top_km_h for point in points)
    cells = [_cell(point, point.top_km_h == most) for point in points]
    return f"| {name} | {best.percent:+z.0f} % | " + " | ".join(cells) + " |"


def _cell(point: TurnOverPoint, best: bool) -> str:
    figure = f"{point.top_km_h:.1f}"
    return (f"**{figure}**" if best else figure) + (" r" if point.limit == "revs" else "")


def gearing_picture() -> str:
    """The picture: one curve a machine, drawn to scale, named at its end."""
    catalogue = load(_ROOT / "catalog")
    left, top, width, height = 44, 14, 440, 270
    lowest, highest = 30.0, 100.0

    def x(percent: float) -> float:
        return left + width * (percent - _CURVE[0]) / (_CURVE[-1] - _CURVE[0])

    def y(speed: float) -> float:
        return top + height * (highest - speed) / (highest - lowest)

    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 610 330" role="img" '
        'font-family="sans-serif" font-size="12">\n'
        "<title>Real top speed against gearing</title>\n"
        "<desc>Top speed rises with a taller drive, turns over between 5 and 20 percent, and then "
        "runs level below its best. The table beside it gives the figures.</desc>\n"
        '<rect width="610" height="330" fill="#fff"/>'
    )
    speeds = [
        f'<path d="M{left} {y(speed):.1f}H{left + width}" stroke="#ddd"/>'
        f'<text x="{left - 6}" y="{y(speed) + 4:.1f}" text-anchor="end">{speed}</text>'
        for speed in range(int(lowest), int(highest) + 1, 10)
    ]
    percents = [
        f'<path d="M{x(percent):.1f} {top}V{top + height}" '
        f'stroke="{"#999" if percent == 0 else "#eee"}"/>'
        f'<text x="{x(percent):.1f}" y="{top + height + 16}" '
        f'text-anchor="middle">{_signed(percent)}</text>'
        for percent in range(_CURVE[0], _CURVE[-1] + 1, 10)
    ]
    parts = [head, *speeds, *percents]
    for name in _DRAWN:
        points = turn_over(subject_of(catalogue, name), _CURVE)
        line = " ".join(f"{x(p.percent):.1f},{y(p.top_km_h):.1f}" for p in points)
        best = max(points, key=lambda point: point.top_km_h)
        parts.append(
            f'<polyline points="{line}" fill="none" stroke="#124" stroke-width="2"/>'
            f'<circle cx="{x(best.percent):.1f}" cy="{y(best.top_km_h):.1f}" r="4" fill="#124"/>'
            f'<text x="{left + width + 8}" y="{y(points[-1].top_km_h) + 4:.1f}">{name}</text>'
        )
    parts.append(
        f'<text x="{left + width / 2}" y="{top + height + 36}" text-anchor="middle">road-speed '
        "change of the gearing; top speed in km/h upward, the best marked</text></svg>\n"
    )
    return "\n".join(parts)


def main(arguments: Sequence[str] | None = None) -> int:
    """Write page and picture with `--write`, else say whether they are in step; 0 where so."""
    module = "fitcheck.screens.reference.gearing"
    page = write_or_compare(module, DOCUMENT, gearing_reference, arguments)
    return max(page, write_or_compare(module, PICTURE, gearing_picture, arguments))


if __name__ == "__main__":
    sys.exit(main())
