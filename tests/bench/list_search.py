"""What a search of a supplier's list costs, beside planning its import and one match.

    python -m tests.bench.list_search [--rows 10000] [--runs 3]

The list is the one of `tests.bench.intake`. Processor time, the least of a few runs; the bar: the
search is no slower than the plan and the match of the catalogue with the list in it.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

if not __package__:
    sys.path.insert(0, str(Path(__file__).parents[2]))

from fitcheck.catalogue.reader import load
from fitcheck.catalogue.source import gc_paused
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.match import match, match_choices
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.reading import read_list
from fitcheck.services.price_lists.row_fits import fit_rows
from fitcheck.services.price_lists.search import open_lists
from tests.bench import intake

CATALOG = Path(__file__).parents[2] / "catalog"
ASKED = Request(top=10, by_gearing=True)


def least(work: Callable[[], object], runs: int) -> float:
    """Least processor time of a few runs, seconds."""
    found = []
    for _ in range(runs):
        began = time.process_time()
        work()
        found.append(time.process_time() - began)
    return min(found)


def main() -> None:
    """Print both times and their ratio."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=10_000)
    parser.add_argument("--runs", type=int, default=3)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        intake.write_list(path, given.rows, random.Random(1))
        catalogue = load(CATALOG)
        supplier = catalogue.suppliers["cordgrass"]
        laid_over = open_lists(catalogue, [str(path)], ["cordgrass"]).catalogue
        subject = subject_of(laid_over, "dunlin-ten")

        @gc_paused()
        def search() -> None:
            lists = open_lists(catalogue, [str(path)], ["cordgrass"])
            choices = Choices.of(subject_of(lists.catalogue, "dunlin-ten"))
            request = lists.limit(ASKED, "shelf")
            match_choices(choices, request)
            fit_rows(lists, choices, request)

        plan = least(lambda: plan_list(catalogue, read_list(path), supplier), given.runs)
        one_match = least(gc_paused()(lambda: match(subject, ASKED)), given.runs)
        ours = least(search, given.runs)
    print(
        f"{given.rows:,} rows: plan {plan:.2f} s + match {one_match:.2f} s; search {ours:.2f} s: "
        f"{ours / (plan + one_match):.2f} times"
    )


if __name__ == "__main__":
    main()
