"""The enumeration beside DuckDB, a database of its own making: integer predicates, same order."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest

from fitcheck.kernel.enumeration import Choice, Item, Problem, count
from fitcheck.kernel.gearing import reduction_window
from fitcheck.kernel.teeth import Pair
from tests.conftest import some
from tests.kernel.enumerated import by_columns, listed

duckdb = pytest.importorskip("duckdb")

JOINT = [[2, None, 0], [None, 1, None], [0, 1, 2]]
# The common multiple of all products of drivers, so that the order by reduction is in integers.
UNIT = math.lcm(*range(12, 25)) * math.lcm(*range(10, 21))

QUERY = f"""
with combination as (
    select l.id as left_id, r.id as right_id,
        l.driver as d1, l.driven as n1, r.driver as d2, r.driven as n2,
        l.price + r.price as price,
        case when l.id = '' then r.id else l.id end as first_id,
        case when l.id = '' or r.id = '' then '' else r.id end as second_id,
        least(l.grade, r.grade, j.grade) as grade
    from l, r, j
    where j.needs = l.needs and j.brings = r.brings and (l.id <> '' or r.id <> '')
      and n1::hugeint * n2 * $least_d >= $least_n::hugeint * d1 * d2
      and n1::hugeint * n2 * $most_d <= $most_n::hugeint * d1 * d2
)
select left_id, right_id, price, grade from combination
order by n1 * n2 * ({UNIT}::hugeint // (d1 * d2)), d1, n1, d2, n2, price nulls last,
    first_id, second_id
"""


def stage(draw, drivers, drivens, name) -> list[tuple[str, Pair, int, int, int | None]]:
    """Id, pair, seat, grade and price of the factory pair and 299 sets."""
    names = [f"{name}{n}" for n in range(299)]
    draw.shuffle(names)
    sets = [("", Pair(draw.choice(drivers), draw.choice(drivens)), draw.randrange(3), 3, 0)]
    for each in names:
        price = draw.choice([None, draw.randrange(40, 60), draw.randrange(4000, 40000)])
        pair = Pair(draw.choice(drivers), draw.choice(drivens))
        sets.append((each, pair, draw.randrange(3), draw.randrange(3), price))
    return sets


def choices(sets) -> list[Choice]:
    classes: dict[tuple[Pair, int, int, bool], list[Item]] = {}
    for name, pair, seat, grade, price in sets:
        classes.setdefault((pair, seat, grade, name == ""), []).append(Item(name, price))
    return [
        Choice(pair, grade, seat, seat, items, factory)
        for (pair, seat, grade, factory), items in classes.items()
    ]


@pytest.mark.parametrize(("seed", "low", "high"), some([(1, 10, 15), (2, 0, 30), (3, -20, 0)], 1))
def test_duckdb_lists_the_same_rows(seed, low, high):
    draw = random.Random(seed)
    left = stage(draw, range(12, 25), range(40, 71), "m")
    right = stage(draw, range(10, 21), range(36, 63), "g")
    least, most = reduction_window(
        left[0][1].reduction * right[0][1].reduction, Fraction(low), Fraction(high)
    )
    with duckdb.connect() as connection:
        for table, sets in (("l", left), ("r", right)):
            connection.execute(
                f"create table {table} (id varchar, driver int, driven int, needs int, "
                "brings int, grade int, price bigint)"
            )
            connection.executemany(
                f"insert into {table} values (?, ?, ?, ?, ?, ?, ?)",
                [(i, p.driver, p.driven, seat, seat, g, price) for i, p, seat, g, price in sets],
            )
        connection.execute("create table j (needs int, brings int, grade int)")
        connection.executemany(
            "insert into j values (?, ?, ?)",
            [
                (needs, brings, grade)
                for needs, row in enumerate(JOINT)
                for brings, grade in enumerate(row)
                if grade is not None
            ],
        )
        edges = {
            "least_n": least.numerator,
            "least_d": least.denominator,
            "most_n": most.numerator,
            "most_d": most.denominator,
        }
        expected = connection.execute(QUERY, edges).fetchall()
    assert len(expected) > 500
    problem = Problem([choices(left), choices(right)], [JOINT])
    for found in (listed, by_columns):
        got = [
            (row.items[0].id, row.items[1].id, row.price, row.grade)
            for row in found(problem, (least, most))
        ]
        assert got == expected
    counts = count(problem, (least, most))
    assert sum(counts.by_grade.values()) == len(expected)
