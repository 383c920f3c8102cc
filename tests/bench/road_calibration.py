"""What a measured top speed does for the figures that nobody measured.

    python -m tests.bench.road_calibration [--machines 150] [--seed 1] [--taller 15] [NAME ...]

For each machine of the demo, or those named: true machines are drawn from the stated spreads and
measured with the error of a GPS, the tool calibrates, and its figures are held against the truth.
Given are the root mean square error before and after, how often the range holds the truth, and how
wide it is after over before.
"""

from __future__ import annotations

import argparse
import math

import fitcheck
from fitcheck.errors import UsageError
from fitcheck.services.road.inputs import gather
from tests.services.road.drawn import FIGURES, Drawn, drawn, width


def row(found: list[Drawn], place: int) -> str:
    """One figure as a line of the table."""

    def error(which: str) -> float:
        squares = [one.error(getattr(one, which), place) ** 2 for one in found]
        return math.sqrt(sum(squares) / len(squares))

    def held(which: str) -> float:
        return sum(one.holds(getattr(one, which), place) for one in found) / len(found)

    ratios = [
        width(one.after, place) / width(one.before, place)
        for one in found
        if width(one.before, place)
    ]
    name, index = FIGURES[place]
    wide = f"{sum(ratios) / len(ratios):.2f} (most {max(ratios):.2f})" if ratios else ""
    label = f"{name}, {'taller' if index else 'now'}"
    return (
        f"  {label:17} {error('before'):6.2f} {error('after'):6.2f}   "
        f"{100 * held('before'):4.0f} % {100 * held('after'):4.0f} %   {wide}"
    )


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--machines", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--taller", type=float, default=15.0)
    parser.add_argument("names", nargs="*", metavar="NAME")
    given = parser.parse_args()
    catalogue = fitcheck.load("catalog")
    for name in given.names or sorted(catalogue.machines):
        subject = fitcheck.subject_of(catalogue, name)
        try:
            inputs = gather(subject)
        except UsageError as error:
            print(f"{name}: {error}")
            continue
        taller = 1 + given.taller / 100
        found = drawn(inputs, float(subject.reduction), taller, given.machines, given.seed)
        print(f"{name}: {len(found)} of {given.machines} readings explained")
        print("  km/h              before  after   inside: before, after   width after/before")
        for place in range(len(FIGURES)):
            print(row(found, place))


if __name__ == "__main__":
    main()
