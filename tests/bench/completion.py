"""What completing an id costs, on a catalogue of many sets, beside `import click`.

    python -m tests.bench.completion [--sets 10000] [--rounds 11]

The demo's sets are written again and again under new ids. The commands take turns, each in a
process of its own; shown is the median of the processor's time, and how often `import click` it is.
"""

from __future__ import annotations

import argparse
import os
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]

TYPED = ("match av", "why dunlin-ten MA-1545-", "match --supplier m", "match --tyre m-1")
"""Words after the program's name; the last is completed."""


def write_catalogue(folder: Path, sets: int) -> Path:
    """Copy the demo, with at least so many sets; the folder."""
    catalog = folder / "catalog"
    shutil.copytree(ROOT / "catalog", catalog)
    files = sorted((catalog / "sets").glob("*.yaml"))
    written = 0
    copies = 0
    while written < sets:
        for file in files:
            head, sign, records = file.read_text(encoding="utf-8").partition("records:\n")
            again, count = re.subn(
                r"^  ([A-Za-z][\w.-]*):", rf"  \1-{copies}:", records, flags=re.MULTILINE
            )
            (file.parent / f"{file.stem}-{copies}.yaml").write_text(
                head + sign + again, encoding="utf-8"
            )
            written += count
        copies += 1
    return catalog


def process_seconds(command: Sequence[str], environment: dict[str, str]) -> tuple[float, str]:
    """Processor time of a command, and what it printed."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    ran = subprocess.run(
        command, env=os.environ | environment, cwd=ROOT, capture_output=True, text=True, check=True
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, ran.stdout


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sets", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=11)
    given = parser.parse_args()
    commands = {"import click": ([sys.executable, "-c", "import click"], {})}
    with tempfile.TemporaryDirectory() as folder:
        catalog = str(write_catalogue(Path(folder), given.sets))
        for typed in TYPED:
            words = f"fitcheck {typed}"
            commands[words] = (
                [sys.executable, "-m", "fitcheck"],
                {
                    "_FITCHECK_COMPLETE": "bash_complete",
                    "COMP_WORDS": words,
                    "COMP_CWORD": str(len(words.split()) - 1),
                    "FITCHECK_CATALOG": catalog,
                },
            )
        taken: dict[str, list[float]] = {name: [] for name in commands}
        offered = dict.fromkeys(commands, 0)
        for number in range(given.rounds + 1):
            for name, (command, environment) in commands.items():
                seconds, out = process_seconds(command, environment)
                offered[name] = len(out.split())
                if number:  # the first round fills what the system caches
                    taken[name].append(seconds)
    base = statistics.median(taken["import click"])
    print("| completed | offered | median ms | × import click |")
    print("|---|---:|---:|---:|")
    for name, times in taken.items():
        middle = statistics.median(times)
        print(f"| `{name}` | {offered[name]} | {middle * 1e3:.0f} | {middle / base:.2f} |")


if __name__ == "__main__":
    main()
