"""What the road costs a list: 10,000 combinations at once beside one gearing at a time.

    python -m tests.bench.road_columns [--rounds 5] [--sets 99] [--machine dunlin-ten]

The list: N sets a stage for one family and housing, every one with every other, so (1 + N)² - 1
combinations, with few reductions alike. Each way to ask `match` is timed whole, from the choices to
the first 20 rows with their ranges, or to all of them. The single path gives the same figures of
some of the reductions, one gearing and one set of inputs at a time, by `performance` and
`top_speed`; its time is scaled up to all of them. Figures of the two must agree within 1e-6, or the
run fails. The ways take turns; median wall time and processor time are shown. At the end the demo's
`match` runs as a process of its own, with and without the road.
"""

from __future__ import annotations

import argparse
import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import NamedTuple

if not __package__:
    sys.path.insert(0, str(Path(__file__).parents[2]))

from fitcheck.catalogue.reader import load
from fitcheck.kernel.road.balance import top_speed
from fitcheck.kernel.road.driveline import speed_at, start_force_n
from fitcheck.kernel.road.spread import combined
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.road.defaults import LEGAL_RIDER_KG
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.road.inputs import Inputs, gather
from fitcheck.services.road.rows import RoadRows
from fitcheck.services.road.sweep import setup_of
from tests.bench.startup import seconds
from tests.kernel.road.single_path import performance

SEED = 1
SAMPLE = 40
"""Reductions that the single path works out."""

FIRST: dict[str, object] = {"band": "any", "top": 20}
ALL: dict[str, object] = {"band": "any"}
WAYS: dict[str, dict[str, object]] = {
    "first 20, nothing of the road": FIRST,
    "first 20, the road shown": FIRST | {"show_road": True},
    "first 20 of the lawful": FIRST | {"lawful": True},
    "first 20 by real top speed": FIRST | {"rank": "top-speed"},
    "first 20 of the lawful by verdict": FIRST | {"rank": "verdict", "lawful": True},
    "all, nothing of the road": ALL,
    "all of the lawful by time to 45 km/h": ALL | {"rank": "0-45", "lawful": True},
    "all by time to 45 km/h": ALL | {"rank": "0-45"},
}

RECORDS = {
    "family.yaml": """\
kind: family
records:
  knot:
    name: Knot
    displacement_cm3: 50
    housings: {short: {name: short case}}
    stages: {primary: {}, secondary: {}}
    interfaces: {idler_seats: [ST-14]}
    factory_trains:
      - {housing: short, wheel_size_in: 10, pairs: {primary: 15/46, secondary: 14/55}}
""",
    "machine.yaml": """\
kind: machine
records:
  it:
    name: it
    family: knot
    housing: short
    pairs: {primary: 15/46, secondary: 14/55}
    wheel_size_in: 10
    roll_out_mm: 1262
    tune: stock
    vehicle_class: slow
    engine: {peak_power_kw: 2.4, peak_power_rpm: 6500, rev_limit_rpm: 8000}
    variator: {low_ratio: 2.7, high_ratio: 0.95, shift_rpm: 6000, engage_rpm: 3200}
    masses: {running_order_kg: 82, rider_kg: 80}
""",
    "tune.yaml": """\
kind: tune
records:
  stock: {name: standard engine, low: 10, high: 15}
""",
    "class.yaml": """\
kind: vehicle-class
records:
  slow: {name: slow, place: Marsh, max_speed_km_h: 55, source: a rule, date: 2026-01-01}
""",
    "supplier.yaml": """\
kind: supplier
records:
  marram: {name: Marram}
""",
}


class Took(NamedTuple):
    """Wall and processor time, s."""

    wall: float
    cpu: float


def build(folder: Path, sets: int) -> Subject:
    """A catalogue of so many sets a stage, and its one machine."""
    for name, text in RECORDS.items():
        (folder / name).write_text(text)
    draw = random.Random(SEED)
    lines = ["kind: gear-set", "defaults: {supplier: marram}", "records:"]
    for stage, drivers, driven in (
        ("primary", range(13, 23), range(36, 60)),
        ("secondary", range(12, 22), range(40, 66)),
    ):
        pairs = [(a, b) for a in drivers for b in driven]
        for number, (a, b) in enumerate(draw.sample(pairs, sets)):
            seats = "{wheel_seat: ST-14, pinion_seat: ST-14}"
            lines.append(
                f"  {stage[0].upper()}{number}: {{part_number: {stage[0]}{number}, "
                f"pairs: {{{stage}: {a}/{b}}}, fits: [{{family: knot, housings: [short]}}], "
                f"interfaces: {seats}, price: {draw.randint(40, 90)}}}"
            )
    (folder / "sets.yaml").write_text("\n".join(lines) + "\n")
    catalogue = load(folder)
    if catalogue.findings:
        raise SystemExit(str(catalogue.findings[0]))
    return subject_of(catalogue, "it")


def timed(run: Callable[[], object]) -> Took:
    wall, cpu = time.perf_counter(), time.process_time()
    run()
    return Took(time.perf_counter() - wall, time.process_time() - cpu)


def single(inputs: Inputs, tested: Inputs, reduction: Fraction) -> tuple[tuple[float, ...], ...]:
    """Top speed with its range, as it is and with the rider of the law; pull; time to 45 km/h."""

    def metres(values: dict[str, float]) -> float:
        return values["roll_out"] / 1000 / float(reduction)

    def top(inputs: Inputs, values: dict[str, float]) -> float:
        return 3.6 * top_speed(setup_of(inputs, values), metres(values)).speed_m_s

    def limit(inputs: Inputs, values: dict[str, float]) -> float:
        setup = setup_of(inputs, values)
        return 3.6 * speed_at(setup, metres(values), setup.highest_rpm)

    def pull(inputs: Inputs, values: dict[str, float]) -> float:
        return start_force_n(setup_of(inputs, values), metres(values))

    def ranged(
        figure: Callable[[Inputs, dict[str, float]], float], inputs: Inputs, **instead: float
    ) -> tuple[float, float, float]:
        values = inputs.values
        ends = []
        for key, given in inputs.givens.items():
            both = [
                figure(inputs, {**values, key: given.value + side * given.spread, **instead})
                for side in (-1, 1)
            ]
            ends.append((both[0], both[1]))
        nominal = figure(inputs, {**values, **instead})
        return nominal, *combined(nominal, ends)

    def capped(inputs: Inputs, **instead: float) -> tuple[float, float, float]:
        """No range of a top speed goes beyond the rev limit."""
        nominal, low, high = ranged(top, inputs, **instead)
        return nominal, low, min(high, max(nominal, ranged(limit, inputs, **instead)[2]))

    values = inputs.values
    whole = performance(setup_of(inputs, values), metres(values))
    law = capped(tested, rider=LEGAL_RIDER_KG)
    return capped(inputs), ranged(pull, inputs), law, (whole.time_45_s,)


def compare(subject: Subject, reductions: list[Fraction]) -> Took:
    """The time of the single path for each of some reductions, once it agrees with the list."""
    inputs, tested = gather(subject), gather(subject, RoadAsked(rider_kg=LEGAL_RIDER_KG))
    sample = random.Random(SEED).sample(reductions, min(SAMPLE, len(reductions)))
    found: dict[Fraction, tuple[tuple[float, ...], ...]] = {}
    took = timed(lambda: found.update({each: single(inputs, tested, each) for each in sample}))
    for reduction, row in RoadRows(subject).rows(sample).items():
        assert row.lawful is not None
        assert row.lawful.top is not None
        told: list[tuple[float, ...]] = [
            (one.value, one.low, one.high) for one in (row.top, row.start_force)
        ]
        told.append((row.lawful.top.value, row.lawful.top.low, row.lawful.top.high))
        told.append((float("inf") if row.time_45 is None else row.time_45,))
        for several, alone in zip(told, found[reduction], strict=True):
            for one, other in zip(several, alone, strict=True):
                if one != other and abs(one - other) > 1e-6 * abs(other):
                    raise SystemExit(f"{float(reduction)}: {one} in a list, {other} alone")
    return Took(took.wall / len(sample), took.cpu / len(sample))


def processes(machine: str, rounds: int) -> None:
    """Times of whole processes on the demo."""
    fitcheck = [sys.executable, "-m", "fitcheck", "match", machine, "--long"]
    commands = {
        "": fitcheck,
        " --road": [*fitcheck, "--road"],
        " --rank verdict --lawful": [*fitcheck, "--rank", "verdict", "--lawful"],
    }
    taken: dict[str, list[float]] = {words: [] for words in commands}
    for number in range(rounds + 1):
        for words, command in commands.items():
            took = seconds(command, (0, 3))
            if number:
                taken[words].append(took)
    base = statistics.median(taken[""])
    print("\n| process | median ms | × without the road |")
    print("|---|---:|---:|")
    for words, times in taken.items():
        middle = statistics.median(times)
        print(f"| `fitcheck match {machine}{words}` | {middle * 1e3:.0f} | {middle / base:.1f} |")


def main() -> None:
    """Run the benchmark."""
    assert __doc__ is not None
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--sets", type=int, default=99, help="sets a stage, up to 240")
    parser.add_argument("--machine", default="dunlin-ten", help="a machine of the demo")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        subject = build(Path(folder), given.sets)
    every = match(subject, Request(band="any"))
    reductions = list({one.reduction for one in every.combinations})
    rows = len(every.combinations)
    print(f"{rows:,} combinations, {len(reductions):,} reductions, {os.cpu_count()} cores\n")
    alone = compare(subject, reductions)
    whole = Took(alone.wall * len(reductions), alone.cpu * len(reductions))
    taken: dict[str, list[Took]] = {name: [] for name in WAYS}
    for number in range(given.rounds + 1):
        for name, wanted in WAYS.items():
            request = Request(**wanted)  # type: ignore[arg-type]
            took = timed(partial(match, subject, request))
            if number:
                taken[name].append(took)
    print("| asked | wall ms | processor ms | single path, processor ms | × |")
    print("|---|---:|---:|---:|---:|")
    for name, times in taken.items():
        wall = statistics.median(one.wall for one in times)
        cpu = statistics.median(one.cpu for one in times)
        beside = "rank" in WAYS[name]
        ratio = f"{whole.cpu * 1e3:,.0f} | {whole.cpu / cpu:.0f}" if beside else " |"
        print(f"| {name} | {wall * 1e3:,.0f} | {cpu * 1e3:,.0f} | {ratio} |")
    processes(given.machine, given.rounds)


if __name__ == "__main__":
    main()
