"""fitcheck beside the second matcher of tests/second_opinion, on many random worlds.

    python -m tests.bench.second_opinion [--rows 200000] [--seed 0] [--size 2] [--keep FOLDER]

Prints rows, worlds, differences by kind with an example each, and the branches of docs/matching.md
that were met. Everything hangs on the seed: a run that was broken off goes on with --seed at the
number it printed last. --keep writes the files of the first world of each kind of difference.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

if not __package__:
    sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.second_opinion.cases import met
from tests.second_opinion.comparison import Tally, compare_worlds
from tests.second_opinion.worlds import build


def main() -> None:
    """Compare until so many rows were."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rows", type=int, default=200_000)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--size", type=int, default=2, help="how many times as many sets")
    options.add_argument("--show", type=int, default=1, help="examples of each kind")
    options.add_argument("--keep", type=Path, help="where to write worlds that differ")
    given = options.parse_args()
    tally, seed, start = Tally(), given.seed, time.perf_counter()
    while tally.rows < given.rows:
        compare_worlds(range(seed, seed + 1), tally, given.size)
        seed += 1
        if seed % 10 == 0:
            print(
                f"seed {seed}: {tally.rows} rows, {len(tally.differences)} differences", flush=True
            )
    print(
        f"\n{tally.rows} rows, {tally.choices} choices, {tally.explained} explained, "
        f"{tally.asked} answers, {tally.worlds} worlds (seeds {given.seed} to {seed - 1}), "
        f"{time.perf_counter() - start:.0f} s"
    )
    print("\nBranches met")
    for branch, times in sorted(met.items()):
        print(f"{times:9}  {branch}")
    print(f"\n{len(tally.differences)} differences")
    for kind, times in tally.kinds.most_common():
        alike = [d for d in tally.differences if d.kind == kind]
        print(f"\n{times:6} x {kind}, in {len({d.seed for d in alike})} worlds")
        for difference in alike[: given.show]:
            print(difference)
        if given.keep:
            build(alike[0].seed, given.keep / str(alike[0].seed), given.size)
    sys.exit(bool(tally.differences))


if __name__ == "__main__":
    main()
