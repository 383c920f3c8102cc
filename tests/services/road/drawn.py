"""Machines drawn from the stated spreads, their present top speed measured with a GPS's error.

The truth is then known: how far off are the figures that nobody measured, and do the ranges hold
it? A half-width is two standard deviations, and ±1 km/h those of the reading.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from fitcheck.errors import UsageError
from fitcheck.services.road.calibration import calibrate
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.road.inputs import Inputs, Values
from fitcheck.services.road.sweep import Gearings, Ranged, sweep

FIGURES = (("flat", 0), ("flat", 1), ("headwind", 0), ("uphill", 0), ("headwind", 1))
"""Name and gearing: the present top speed, which is measured, and others that are not."""

READING = 0.5  # km/h, standard deviation


@dataclass(frozen=True)
class Drawn:
    """One machine: the truth, and what the model says before and after the reading.

    Attributes:
        truth: the true figures, km/h, in the order of `FIGURES`.
        before, after: the model's.
        measured: the reading, km/h.
    """

    truth: tuple[float, ...]
    before: Ranged
    after: Ranged
    measured: float

    def error(self, ranged: Ranged, place: int) -> float:
        name, index = FIGURES[place]
        return float(ranged.nominal[name][index]) - self.truth[place]

    def holds(self, ranged: Ranged, place: int) -> bool:
        """Whether a range has the truth in it; rounding apart."""
        name, index = FIGURES[place]
        low, high = ranged.low[name][index], ranged.high[name][index]
        return bool(low - 1e-9 <= self.truth[place] <= high + 1e-9)


def width(ranged: Ranged, place: int) -> float:
    name, index = FIGURES[place]
    return float(ranged.high[name][index] - ranged.low[name][index])


def drawn(inputs: Inputs, reduction: float, taller: float, count: int, seed: int) -> list[Drawn]:
    """So many machines; those whose reading is refused are left out.

    Args:
        inputs: what is on file, its spreads included.
        reduction: the present overall reduction.
        taller: of the other gearing against it, 1.15 for 15 %.
        count: how many.
        seed: of the random numbers.
    """
    rng = random.Random(seed)
    gearings = Gearings((reduction, reduction / taller), (1.0, 1.0))
    before = sweep(inputs, gearings, times=False)
    found = []
    for _ in range(count):
        truth = sweep(_known(inputs, _random(inputs, rng)), gearings, times=False)
        figures = tuple(float(truth.nominal[name][index]) for name, index in FIGURES)
        measured = figures[0] + rng.gauss(0.0, READING)
        try:
            moved = calibrate(inputs, reduction, RoadAsked(measured_top_km_h=measured))
        except UsageError:
            continue
        found.append(Drawn(figures, before, sweep(moved, gearings, times=False), measured))
    return found


def _random(inputs: Inputs, rng: random.Random) -> Values:
    return {key: rng.gauss(given.value, given.spread / 2) for key, given in inputs.givens.items()}


def _known(inputs: Inputs, values: Values) -> Inputs:
    """The machine with these values, known exactly."""
    givens = {
        key: replace(given, value=values[key], spread=0.0) for key, given in inputs.givens.items()
    }
    return replace(inputs, givens=givens)
