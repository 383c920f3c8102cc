"""How far `road` lies from the second model, and how often its ranges hold the truth.

    python -m tests.bench.second_opinion_road [--machines 1000] [--draws 20] [--readings 200]

For each figure of random machines: how often it was told, the largest difference from the model in
tests/second_opinion, as a share of what rounding allows, and the seed. Then, for true inputs drawn
by their half-widths, the share of the ranges that hold the true figure; again with a measured top
speed, one reading for each draw.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from tests.second_opinion.draws import draw
from tests.second_opinion.figures import GPS, Reading, Study, calibrate
from tests.second_opinion.road_comparison import (
    Pair,
    ask,
    compare_answer,
    compare_inputs,
    compare_lawful,
    compare_loads,
    held,
    study_of,
    told_point,
)

TOLERANCE = 0.01


def asked(seed: int, **said: float) -> tuple[Study, dict[str, Any], Iterator[Pair]]:
    """A machine's second model, what `road` says of it, and both beside each other."""
    case = draw(seed)
    case.options.update(said)
    with tempfile.TemporaryDirectory() as folder:
        told = ask(["road", "one", "other"], case, Path(folder))
    study = study_of(case)

    def pairs() -> Iterator[Pair]:
        middle = np.zeros(len(study.keys))
        ranges = study.ranges(middle, study.plain_runs)
        yield from compare_inputs(case, told)
        yield from compare_loads(study, told)
        yield from compare_answer(study, told, middle, ranges)
        yield from compare_lawful(case, told, middle, study.plain_runs)

    return study, told, pairs()


def show_differences(worst: dict[str, tuple[float, int]], count: Counter[str]) -> None:
    print("| figure | told | largest difference, of what rounding allows | seed |")
    print("|---|---:|---:|---:|")
    for figure, (apart, seed) in sorted(worst.items()):
        print(f"| {figure} | {count[figure]:,} | {apart:.3g} | {seed} |")


def show_coverage(count: Counter[str], inside: Counter[str]) -> None:
    print("| figure | ranges | hold the truth |")
    print("|---|---:|---:|")
    for figure in sorted(count):
        print(f"| {figure} | {count[figure]:,} | {100 * inside[figure] / count[figure]:.1f} % |")


def compare_machines(machines: int, draws: int) -> None:
    """Every figure, and the ranges without a measured speed."""
    worst: dict[str, tuple[float, int]] = {}
    told_of, count, inside = Counter[str](), Counter[str](), Counter[str]()
    dice = np.random.default_rng(machines)
    for seed in range(machines):
        study, told, pairs = asked(seed)
        for pair in pairs:
            told_of[pair.figure] += 1
            apart = pair.apart / pair.allowed if pair.allowed else pair.apart
            if apart >= worst.get(pair.figure, (0.0, 0))[0]:
                worst[pair.figure] = apart, seed
        for _ in range(draws):
            truth = study.figures(dice.standard_normal(len(study.keys)))
            for figure, hit in held(study, told, truth):
                count[figure] += 1
                inside[figure] += hit
    show_differences(worst, told_of)
    print()
    show_coverage(count, inside)


def measure(readings: int) -> None:
    """The ranges after a measured speed, and whether it found the most probable inputs."""
    count, inside = Counter[str](), Counter[str]()
    refused, missed = 0, []
    for seed in range(readings):
        dice = np.random.default_rng(seed)
        study = study_of(draw(seed))
        true = dice.standard_normal(len(study.keys))
        read = round(study.top_now(true) + GPS * dice.standard_normal(), 2)
        try:
            _, told, _ = asked(seed, measured_top=read)
        except AssertionError:
            refused += 1
            continue
        reading, z = Reading(read, read), told_point(study, told)
        over = reading.distance(study, z) - reading.distance(study, calibrate(study, reading))
        if over > TOLERANCE:
            missed.append(f"{seed} ({over:.2g})")
        for figure, hit in held(study, told, study.figures(true)):
            count[figure] += 1
            inside[figure] += hit
    print()
    print(
        f"{readings} readings, {refused} refused; J over the least found by more than {TOLERANCE}:"
    )
    print(", ".join(missed) or "none")
    show_coverage(count, inside)


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--machines", type=int, default=1000)
    parser.add_argument("--draws", type=int, default=20)
    parser.add_argument("--readings", type=int, default=200)
    given = parser.parse_args()
    compare_machines(given.machines, given.draws)
    measure(given.readings)


if __name__ == "__main__":
    main()
