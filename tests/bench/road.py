"""What many gearings cost on the road: all at once with numpy, and one by one.

    python -m tests.bench.road [--gearings 10000] [--sample 200] [--rounds 5]

One scooter with the default power curve, gearings from far too short to far too tall. The single
path does an even sample of them; its time is given as if it had done all. Both must agree within
1e-6 on the sample, or the run fails.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from dataclasses import fields

import numpy as np

from fitcheck.kernel.road.balance import TopSpeed
from fitcheck.kernel.road.driveline import Driveline, Setup
from fitcheck.kernel.road.engine import default_curve
from fitcheck.kernel.road.load import table_load
from fitcheck.kernel.road.many import LIMITS, Many, many
from tests.kernel.road.single_path import Performance, performance

TOLERANCE = 1e-6

SCOOTER = Setup(
    default_curve(3000.0, 7000.0),
    Driveline(2.8, 0.85, shift_rpm=6800.0, engage_rpm=4000.0, efficiency=0.75),
    9000.0,
    table_load(190.0, driven_rolling_n=15.0),
    rotating_kg=8.0,
)


def times(rounds: int, work: Callable[[], object]) -> list[float]:
    """Seconds of some rounds, a first one not counted."""
    taken = []
    for number in range(rounds + 1):
        began = time.perf_counter()
        work()
        if number:
            taken.append(time.perf_counter() - began)
    return taken


def agree(one: float, other: float) -> bool:
    return one == other or abs(one - other) <= TOLERANCE * abs(one)


def same(single: Performance, found: Many, place: int) -> bool:
    """Whether every figure of one gearing is the same on both ways."""
    for field in fields(single):
        one, other = getattr(single, field.name), getattr(found, field.name)
        if isinstance(one, TopSpeed):
            if LIMITS[other.limit[place]] != one.limit:
                return False
            if not all(
                agree(getattr(one, name), getattr(other, name)[place])
                for name in ("speed_m_s", "rpm", "ratio")
            ):
                return False
        elif not agree(one, other[place]):
            return False
    return True


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--gearings", type=int, default=10_000)
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    gearing = np.geomspace(0.03, 1.5, given.gearings)
    places = np.unique(np.linspace(0, given.gearings - 1, given.sample).astype(int))
    found = many(SCOOTER, gearing)
    for place in places:
        if not same(performance(SCOOTER, float(gearing[place])), found, place):
            raise SystemExit(f"the ways differ at {gearing[place]} m a turn")

    ways: dict[str, tuple[Callable[[], object], int]] = {
        "many": (lambda: many(SCOOTER, gearing), given.gearings),
        "many, no times": (lambda: many(SCOOTER, gearing, times=False), given.gearings),
        "one by one (sample)": (
            lambda: [performance(SCOOTER, float(gearing[place])) for place in places],
            len(places),
        ),
    }
    taken = {name: (times(given.rounds, work), count) for name, (work, count) in ways.items()}
    base = statistics.median(taken["many"][0]) / taken["many"][1]
    print(f"| way | gearings | median s | µs a gearing | {given.gearings:,} in s | × many |")
    print("|---|---:|---:|---:|---:|---:|")
    for name, (seconds, count) in taken.items():
        middle = statistics.median(seconds)
        each = middle / count
        print(
            f"| {name} | {count:,} | {middle:.3f} | {each * 1e6:.1f} "
            f"| {each * given.gearings:.2f} | {each / base:.1f} |"
        )


if __name__ == "__main__":
    main()
