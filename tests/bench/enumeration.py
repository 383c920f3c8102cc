"""The enumeration beside nested loops, a pandas cross merge and DuckDB, in one run.

    python -m tests.bench.enumeration [--min-n 30] [--max-n 3000] [--seed 1]

Every way lists the same rows in the same order: overall reduction rising, pairs, price, ids. The
ways take turns within one process, each once unmeasured (so that it finds its own caches and
memory, not its neighbour's) and once measured; the median is shown. Trust the ratios further than
the times. Row counts and a checksum over the ordered rows must agree, or the run fails.

Data: N sets a stage for one family and housing, counts uniform (pinions 12-24 and 10-20, wheels
40-70 and 36-62), one seat of three between the stages, a price each; row 0 is the factory pair.
DuckDB keeps its connection and tables open; its two rows are two ways to write the join. It and
the arrays have two threads. What each way prepares once is listed apart.
"""

from __future__ import annotations

import argparse
import gc
import statistics
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np

if not __package__:
    sys.path.insert(0, str(Path(__file__).parents[2]))

from fitcheck.kernel.enumeration import Choice, Item, Problem, count, rows
from fitcheck.kernel.enumeration.layout import lay_out
from fitcheck.kernel.enumeration.table import table
from fitcheck.kernel.gearing import reduction_window
from fitcheck.kernel.teeth import Pair

SEATS = 3
JOINT = [[0 if needs == brings else None for brings in range(SEATS)] for needs in range(SEATS)]
FACTORY = (Pair(15, 50), Pair(13, 49))
SIZES = (30, 300, 3_000, 30_000)
BANDS = ((10, 15), (0, 30))
GIB = 1 << 30

Found = tuple[int, int]
"""Number of rows and checksum over them in order."""


class Columns(NamedTuple):
    """The sets of one stage, one row each, the factory pair first; rank stands for the id."""

    driver: np.ndarray
    driven: np.ndarray
    needs: np.ndarray
    price: np.ndarray
    rank: np.ndarray


class Way(NamedTuple):
    """One way to list the rows."""

    name: str
    run: Callable[[tuple[Fraction, Fraction], int | None], tuple[np.ndarray, np.ndarray]]
    largest: int
    """Sets a stage up to which it is run for all rows."""
    largest_top: int
    """Sets a stage up to which it is run for the top rows."""
    bytes_a_row: int
    """Rough memory for each row listed."""


def stage(draw: np.random.Generator, teeth, factory: Pair, ranks: np.ndarray) -> Columns:
    n = len(ranks)
    driver, driven = (draw.integers(*counts, n) for counts in teeth)
    seat, price = draw.integers(0, SEATS, n), draw.integers(4_000, 40_000, n)
    rank = draw.permutation(ranks)
    driver[0], driven[0], price[0], rank[0] = factory.driver, factory.driven, 0, 0
    return Columns(driver, driven, seat, price, rank)


def problem_of(left: Columns, right: Columns) -> Problem:
    """The same sets as classes; an id is the rank in ten digits, its number the row."""

    def choices(columns: Columns) -> list[Choice]:
        classes: dict[tuple[int, ...], list[Item]] = {}
        every = zip(*(field.tolist() for field in columns), strict=True)
        for row, (driver, driven, seat, price, rank) in enumerate(every):
            item = Item(f"{rank:010d}" if rank else "", price, row)
            classes.setdefault((driver, driven, seat, rank == 0), []).append(item)
        return [
            Choice(Pair(driver, driven), 0, seat, seat, items, bool(factory))
            for (driver, driven, seat, factory), items in classes.items()
        ]

    return Problem([choices(left), choices(right)], [JOINT])


def checksum(left: np.ndarray, right: np.ndarray) -> Found:
    total = np.uint64(0)
    for begin in range(0, len(left), 1 << 20):
        end = min(begin + (1 << 20), len(left))
        place = np.arange(begin + 1, end + 1, dtype=np.uint64)
        row = left[begin:end].astype(np.uint64) * np.uint64(30_011)
        row += right[begin:end].astype(np.uint64)
        with np.errstate(over="ignore"):
            total += (row * place).sum(dtype=np.uint64)
    return len(left), int(total)


def ordered(entries: list[tuple[object, ...]], top: int | None) -> tuple[np.ndarray, np.ndarray]:
    """Sort rows whose last two fields are their places, and give the places."""
    entries.sort()
    kept = entries[:top]
    return np.array([e[-2] for e in kept], int), np.array([e[-1] for e in kept], int)


def row_lists(columns: Columns) -> list[tuple[int, ...]]:
    return list(zip(*(field.tolist() for field in columns), range(len(columns.rank)), strict=True))


def fraction_loops(left: Columns, right: Columns):
    lefts, rights = row_lists(left), row_lists(right)

    def run(window, top):
        found = []
        for d1, n1, seat, price1, rank1, i in lefts:
            for d2, n2, offered, price2, rank2, j in rights:
                reduction = Fraction(n1, d1) * Fraction(n2, d2)
                if seat == offered and (i or j) and window[0] <= reduction <= window[1]:
                    ids = (rank1, rank2) if i and j else (rank1 or rank2,)
                    found.append((reduction, d1, n1, d2, n2, price1 + price2, ids, i, j))
        return ordered(found, top)

    return run


def integer_loops(left: Columns, right: Columns):
    lefts, rights = row_lists(left), row_lists(right)

    def run(window, top):
        (p, q), (r, s) = (edge.as_integer_ratio() for edge in window)
        found = []
        for d1, n1, seat, price1, rank1, i in lefts:
            for d2, n2, offered, price2, rank2, j in rights:
                if seat == offered and (i or j):
                    n, d = n1 * n2, d1 * d2
                    if n * q >= p * d and n * s <= r * d:
                        ids = (rank1, rank2) if i and j else (rank1 or rank2,)
                        key = (n << 32) // d
                        found.append((key, d1, n1, d2, n2, price1 + price2, ids, i, j))
        return ordered(found, top)

    return run


def pandas_cross(left: Columns, right: Columns):
    import pandas as pd

    def frame(columns: Columns, side: str) -> pd.DataFrame:
        names = ("driver", "driven", "needs", "price", "rank")
        data = {f"{name}{side}": getattr(columns, name) for name in names}
        return pd.DataFrame(data | {f"row{side}": np.arange(len(columns.rank))})

    first, second = frame(left, "1"), frame(right, "2")

    def run(window, top):
        (p, q), (r, s) = (edge.as_integer_ratio() for edge in window)
        both = first.merge(second, how="cross")
        n, d = both.driven1 * both.driven2, both.driver1 * both.driver2
        both = both[
            (both.needs1 == both.needs2)
            & (n * q >= p * d)
            & (n * s <= r * d)
            & ((both.row1 > 0) | (both.row2 > 0))
        ]
        alone = (both.row1 == 0) | (both.row2 == 0)
        both = both.assign(
            key=(both.driven1 * both.driven2 * 2**32) // (both.driver1 * both.driver2),
            price=both.price1 + both.price2,
            id1=both.rank1.where(both.row1 > 0, both.rank2),
            id2=both.rank2.where(~alone, 0),
        ).sort_values(["key", "driver1", "driven1", "driver2", "driven2", "price", "id1", "id2"])
        kept = both if top is None else both.head(top)
        return kept.row1.to_numpy(), kept.row2.to_numpy()

    return run


def duckdb_join(connection, seats: str):
    def run(window, top):
        (p, q), (r, s) = (edge.as_integer_ratio() for edge in window)
        # The join's float edges are a hair wide; the whole-number ones decide.
        low, high = float(window[0]) * (1 - 1e-12), float(window[1]) * (1 + 1e-12)
        found = connection.execute(
            f"""
            select l.row as i, r.row as j, l.price + r.price as price
            from l join r on {seats}
              and r.reduction >= {low!r} / l.reduction and r.reduction <= {high!r} / l.reduction
            where l.driven * r.driven * {q} >= {p} * l.driver * r.driver
              and l.driven * r.driven * {s} <= {r} * l.driver * r.driver
              and (l.row > 0 or r.row > 0)
            order by ((l.driven * r.driven) << 32) // (l.driver * r.driver),
              l.driver, l.driven, r.driver, r.driven, l.price + r.price,
              case when l.row = 0 then r.rank else l.rank end,
              case when l.row = 0 or r.row = 0 then 0 else r.rank end
            {"" if top is None else f"limit {top}"}
            """
        ).fetchnumpy()
        return found["i"], found["j"]

    return run


def duckdb_tables(left: Columns, right: Columns):
    import duckdb
    import pandas as pd

    connection = duckdb.connect()
    connection.execute("set threads = 2")
    connection.execute("set memory_limit = '12GB'")
    for name, columns in (("l", left), ("r", right)):
        fields = ("driver", "driven", "needs", "price", "rank")
        frame = pd.DataFrame({field: getattr(columns, field) for field in fields})
        frame["row"] = np.arange(len(frame), dtype=np.int32)
        connection.register("frame", frame)
        connection.execute(
            f"create table {name} as select *, driven / driver as reduction from frame"
        )
        connection.unregister("frame")
    return connection


def by_arrays(layout):
    row_of = [np.array([place.item.number for place in places]) for places in layout.places]

    def run(window, top):
        found = table(layout, window, top=top, threads=2)
        return tuple(numbers[row] for numbers, row in zip(row_of, found.rows, strict=True))

    return run


def by_plain(problem: Problem):
    def run(window, top):
        found = [[item.number for item in row.items] for row in rows(problem, window, top=top)]
        return tuple(np.array(found, int).reshape(-1, 2).T)

    return run


def available() -> int:
    """Bytes of memory free for use, or 4 GiB where the system does not say."""
    try:
        lines = Path("/proc/meminfo").read_text(encoding="ascii").splitlines()
        return next(int(x.split()[1]) * 1024 for x in lines if x.startswith("MemAvailable"))
    except (OSError, StopIteration):
        return 4 * GIB


def timed(action: Callable[[], object]) -> tuple[float, object]:
    gc.collect()
    began = time.perf_counter()
    result = action()
    return time.perf_counter() - began, result


def shown(seconds: float) -> str:
    return f"{seconds * 1e3:.2f} ms" if seconds < 1 else f"{seconds:.2f} s"


def measure(n: int, seed: int) -> None:
    draw = np.random.default_rng(seed)
    odd, even = np.arange(n) * 2 + 1, np.arange(n) * 2 + 2
    left = stage(draw, ((12, 25), (40, 71)), FACTORY[0], odd)
    right = stage(draw, ((10, 21), (36, 63)), FACTORY[1], even)
    classed, problem = timed(lambda: problem_of(left, right))
    laid_out, layout = timed(lambda: lay_out(problem))
    built, connection = timed(lambda: duckdb_tables(left, right))
    ways = [
        Way("fitcheck arrays", by_arrays(layout), 10**9, 10**9, 34),
        Way("fitcheck plain", by_plain(problem), 3_000, 10**9, 400),
        Way("nested loops, Fraction", fraction_loops(left, right), 300, 300, 400),
        Way("nested loops, integers", integer_loops(left, right), 3_000, 300, 500),
        Way("pandas cross merge", pandas_cross(left, right), 3_000, 300, 500),
        Way("DuckDB, seats equal and range", duckdb_join(connection, "l.needs = r.needs"),
            10**9, 10**9, 110),
        Way("DuckDB, range join, seats filtered", duckdb_join(connection, "l.needs - r.needs = 0"),
            10**9, 3_000, 110),
    ]  # fmt: skip
    old = FACTORY[0].reduction * FACTORY[1].reduction
    for low, high in BANDS:
        window = reduction_window(old, Fraction(low), Fraction(high))
        counting, counts = timed(lambda window=window: count(problem, window))
        number = sum(counts.by_grade.values())
        for top in (50, None):
            line = f"| {n:,} | {low}–{high} | {top or 'all'} |"
            out = number if top is None else min(top, number)
            rounds = 9 if n <= 300 else 3 if number < 30_000_000 or top else 1
            taken = compare(ways, n, window, top, out=out, rounds=rounds)
            base = statistics.median(taken["fitcheck arrays"])
            for name, times in taken.items():
                if not times:
                    print(f"{line} {out:,} | {name} | not run: too little memory free | |")
                    continue
                middle = statistics.median(times)
                print(f"{line} {out:,} | {name} | {shown(middle)} | {middle / base:.2f} |")
        print(
            f"| {n:,} | {low}–{high} | count | {number:,} | fitcheck plain, counted, not listed "
            f"| {shown(counting)} | |",
            flush=True,
        )
    print(f"| {n:,} | | once | | classes for both ways of fitcheck | {shown(classed)} | |")
    print(f"| {n:,} | | once | | columns for fitcheck arrays | {shown(laid_out)} | |")
    print(f"| {n:,} | | once | | tables for DuckDB | {shown(built)} | |", flush=True)
    connection.close()


def compare(
    ways: list[Way],
    n: int,
    window: tuple[Fraction, Fraction],
    top: int | None,
    *,
    out: int,
    rounds: int,
) -> dict[str, list[float]]:
    """The times of each way that is run, taking turns; their rows must agree."""
    taken: dict[str, list[float]] = {}
    agreed: Found | None = None
    for _ in range(rounds):
        for way in ways:
            if n > (way.largest if top is None else way.largest_top):
                continue
            times = taken.setdefault(way.name, [])
            crossed = 200 * n * n if way.name.startswith("pandas") else 0
            if available() < way.bytes_a_row * out + crossed + 2 * GIB:
                continue
            if len(times) >= 2 and sum(times) > 20:
                continue
            way.run(window, top)
            seconds, result = timed(lambda way=way: way.run(window, top))
            times.append(seconds)
            found = checksum(*result)
            del result
            agreed = agreed or found
            if found != agreed or found[0] != out:
                raise SystemExit(f"{way.name}: {found} rows and checksum, expected {agreed}, {out}")
    return taken


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--max-n", type=int, default=SIZES[-1], help="largest sets a stage")
    parser.add_argument("--min-n", type=int, default=0, help="smallest sets a stage")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print("| sets a stage | band % | asked | rows | way | median | × fitcheck arrays |")
    print("|---:|---|---|---:|---|---:|---:|", flush=True)
    for n in SIZES:
        if given.min_n <= n <= given.max_n:
            measure(n, given.seed)


if __name__ == "__main__":
    main()
