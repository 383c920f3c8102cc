"""What it costs to start: an empty Python, `--help`, and one match from the demo catalogue.

    python -m tests.bench.startup [--rounds 11] [--machine avocet-lagoon]

The commands take turns, each in a process of its own, and the median is shown; times include
what the system caches after the first round, which is not counted.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]


def seconds(command: list[str], answers: tuple[int, ...]) -> float:
    """Run once; an answer that is not expected ends the benchmark."""
    environment = os.environ | {"NO_COLOR": "1", "PYTHONPATH": str(ROOT)}
    began = time.perf_counter()
    run = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, check=False)
    took = time.perf_counter() - began
    if run.returncode not in answers:
        raise SystemExit(f"{' '.join(command)} answered {run.returncode}: {run.stderr.decode()}")
    return took


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=11)
    parser.add_argument("--machine", default="avocet-lagoon", help="a machine of the catalogue")
    given = parser.parse_args()
    fitcheck = [sys.executable, "-m", "fitcheck"]
    commands = {
        "python -c pass": ([sys.executable, "-c", "pass"], (0,)),
        "python -c 'import numpy'": ([sys.executable, "-c", "import numpy"], (0,)),
        "python -c 'import pandas'": ([sys.executable, "-c", "import pandas"], (0,)),
        "fitcheck --help": ([*fitcheck, "--help"], (0,)),
        f"fitcheck match {given.machine}": ([*fitcheck, "match", given.machine], (0, 3)),
        f"fitcheck match {given.machine} --format json": (
            [*fitcheck, "match", given.machine, "--format", "json"],
            (0, 3),
        ),
    }
    taken: dict[str, list[float]] = {name: [] for name in commands}
    for number in range(given.rounds + 1):
        for name, (command, answers) in commands.items():
            took = seconds(command, answers)
            if number:
                taken[name].append(took)
    base = statistics.median(taken["python -c pass"])
    print("| command | median ms | least ms | × python -c pass |")
    print("|---|---:|---:|---:|")
    for name, times in taken.items():
        middle = statistics.median(times)
        print(f"| `{name}` | {middle * 1e3:.1f} | {min(times) * 1e3:.1f} | {middle / base:.1f} |")


if __name__ == "__main__":
    main()
