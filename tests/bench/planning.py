"""What gaps and plans cost: made-up coverage problems, and a made-up catalogue of that size.

    python -m tests.bench.planning [--machines 2000] [--sets 2000] [--time-limit 30] [--seed 1]
                                   [--catalogue]

The problems are of four shapes: sets of 200 families in clusters of four, sets of one of 50
families each, of one to three neighbouring families of 50, and of any three of 50; each with sets
that serve alone only, and with pairs as well. Budgets serve a part and most of the machines. Times
are of single runs; the ratios of weights are what counts. `--catalogue` also makes a catalogue
of as many machines and sets, and times gaps and plan on it from the records on.
"""

from __future__ import annotations

import argparse
import json
import random
import tempfile
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.kernel.coverage import Coverage, best_purchase
from fitcheck.kernel.coverage.greedy import greedy, upper_bound
from fitcheck.kernel.coverage.problem import reduce_coverage
from fitcheck.services.shelf.demands import demands_of
from fitcheck.services.shelf.gaps import gaps
from fitcheck.services.shelf.plan import plan

T = TypeVar("T")
SHAPES = {"clusters": 200, "single": 50, "neighbours": 50, "mixed": 50}
WIDTH, PAIR_WIDTH = 0.12, 0.075


def families_of(shape: str, chance: random.Random) -> set[int]:
    """The families a set is sold for."""
    number, count = SHAPES[shape], chance.choice([1, 1, 2, 3])
    first = chance.randrange(number)
    if shape == "clusters":
        return {first // 4 * 4 + chance.randrange(4) for _ in range(count)}
    if shape == "single":
        return {first}
    if shape == "neighbours":
        return {each for each in range(first, first + count) if each // 5 == first // 5}
    return set(chance.sample(range(number), count))


def problem(shape: str, machines: int, sets: int, pairs: float, seed: int) -> Coverage:
    """A machine wants a figure; a set that comes near serves it, or two whose mean does."""
    chance = random.Random(seed)
    wanted = [chance.random() for _ in range(machines)]
    offers: dict[int, tuple[list[int], list[int]]] = {}
    figure, prices = [], []
    for item in range(sets):
        stage = chance.randrange(2)
        figure.append(chance.random())
        prices.append(chance.randrange(3000, 12000, 50))
        for family in families_of(shape, chance):
            offers.setdefault(family, ([], []))[stage].append(item)
    ways = []
    for machine, want in enumerate(wanted):
        first, second = offers.get(machine % SHAPES[shape], ([], []))
        alone = {item for item in (*first, *second) if abs(figure[item] - want) < WIDTH}
        found: list[tuple[int, ...]] = [(item,) for item in sorted(alone)]
        if chance.random() < pairs:
            found += [
                (a, b)
                for a in first
                for b in second
                if not alone & {a, b} and abs((figure[a] + figure[b]) / 2 - want) < PAIR_WIDTH
            ]
        ways.append(tuple(found))
    return Coverage(tuple(prices), (1,) * machines, tuple(ways), 0)


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """What a piece of work gives, and its seconds."""
    began = time.perf_counter()
    found = work()
    return found, time.perf_counter() - began


def run_problems(machines: int, sets: int, limit: float, seed: int) -> None:
    """One line a problem and budget."""
    print(
        "| shape | pairs | budget | ways | sets reduced | reduce s | greedy s | bound s | all s "
        "| found by | served | greedy / served | served / bound | cheapest |"
    )
    print("|---|---:|---:|---:|---:|---:|---:|---:|---:|---|---:|---:|---:|---|")
    for shape in SHAPES:
        for pairs in (0.0, 0.3):
            plain = problem(shape, machines, sets, pairs, seed)
            for budget in (200_000, 600_000):
                coverage = Coverage(plain.prices, plain.weights, plain.ways, budget)
                smaller, reducing = timed(lambda: reduce_coverage(coverage).coverage)  # noqa: B023
                quick, buying = timed(lambda: greedy(smaller))  # noqa: B023
                _, bounding = timed(lambda: upper_bound(smaller, quick.weight))  # noqa: B023
                found, took = timed(lambda: best_purchase(coverage, limit))  # noqa: B023
                served = found.purchase.weight
                print(
                    f"| {shape} | {pairs:.0%} | {budget // 100:,} "
                    f"| {sum(map(len, plain.ways)):,} | {len(smaller.prices):,} "
                    f"| {reducing:.2f} | {buying:.2f} | {bounding:.2f} | {took:.1f} "
                    f"| {found.method} | {served:,} | {found.greedy.weight / served:.4f} "
                    f"| {served / found.bound:.4f} | {'yes' if found.cheapest else 'not proved'} |",
                    flush=True,
                )


def catalogue(machines: int, sets: int, seed: int, folder: Path) -> Catalogue:
    """A catalogue of 50 families of two stages, all of one seat, so that pairs fit together."""
    chance = random.Random(seed)
    families = [f"family-{number}" for number in range(50)]
    stage = {"primary": (12, 18, 40, 48), "secondary": (12, 16, 42, 52)}

    def pair(name: str) -> str:
        a, b, c, d = stage[name]
        return f"{chance.randint(a, b)}/{chance.randint(c, d)}"

    seats = {"input_shaft_end": "D13", "idler_seats": ["ST"], "output_shaft_end": "H17"}
    records: dict[str, dict[str, object]] = {
        "tune": {"stock": {"name": "stock", "low": 10, "high": 15}},
        "supplier": {"marram": {"name": "Marram"}},
        "family": {
            id_: {
                "name": id_,
                "housings": {"short": {"name": "short"}},
                "stages": {"primary": {}, "secondary": {}},
                "interfaces": seats,
            }
            for id_ in families
        },
        "machine": {
            f"machine-{number}": {
                "name": f"Machine {number}",
                "family": families[number % 50],
                "housing": "short",
                "pairs": {name: pair(name) for name in stage},
                "tune": "stock",
            }
            for number in range(machines)
        },
        "gear-set": {},
        "shelf": {},
    }
    for number in range(sets):
        name = chance.choice(list(stage))
        first = chance.randrange(50)
        fits = [families[(first + step) % 50] for step in range(chance.choice([1, 1, 2, 3]))]
        records["gear-set"][f"S-{number}"] = {
            "supplier": "marram",
            "part_number": f"S-{number}",
            "pairs": {name: pair(name)},
            "fits": [{"family": id_, "housings": ["short"]} for id_ in fits],
            "interfaces": {"wheel_seat": "ST"} if name == "primary" else {"pinion_seat": "ST"},
            "price": chance.randrange(3000, 12000, 5) / 100,
        }
        if chance.random() < 0.1:
            records["shelf"][f"S-{number}"] = {"quantity": chance.randint(0, 2)}
    for kind, each in records.items():
        lines = [f"  {id_}: {json.dumps(fields)}" for id_, fields in each.items()]
        (folder / f"{kind}.yaml").write_text("\n".join([f"kind: {kind}\nrecords:", *lines, ""]))
    return load(folder)


def run_catalogue(machines: int, sets: int, limit: float, seed: int) -> None:
    """Gaps and plan from the records on."""
    with tempfile.TemporaryDirectory() as folder:
        known, loading = timed(lambda: catalogue(machines, sets, seed, Path(folder)))
        assert not known.findings, known.findings[0]
    demands = demands_of(known)
    found, took = timed(lambda: gaps(demands))
    counts = {state.value: number for state, number in found.counts.items() if number}
    print(f"\ncatalogue read in {loading:.1f} s; gaps {took:.1f} s, {counts}")
    for budget in (500, 2000):
        for solver in (True, False):
            bought, took = timed(
                lambda: plan(demands, Decimal(budget), time_limit_s=limit, use_solver=solver)  # noqa: B023
            )
            quality = bought.quality
            newly = bought.after.machines - bought.before.machines
            print(
                f"plan {budget}: {took:.1f} s, {quality.method}, newly served {newly} of at most "
                f"{float(quality.most):g}, {len(bought.bought)} sets for {bought.spent}",
                flush=True,
            )


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--machines", type=int, default=2000)
    parser.add_argument("--sets", type=int, default=2000)
    parser.add_argument("--time-limit", type=float, default=30.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--catalogue", action="store_true", help="only the made-up catalogue")
    given = parser.parse_args()
    if given.catalogue:
        run_catalogue(given.machines, given.sets, given.time_limit, given.seed)
    else:
        run_problems(given.machines, given.sets, given.time_limit, given.seed)


if __name__ == "__main__":
    main()
