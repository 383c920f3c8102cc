"""Band edges, ties, laziness and what the enumeration refuses.

The naive float way stands beside the exact one where it goes wrong, so that these tests are
known to be able to fail.
"""

from __future__ import annotations

import random
import subprocess
import sys
from bisect import bisect_left, bisect_right
from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import islice, pairwise, product
from math import prod

import pytest

from fitcheck.kernel.enumeration import Choice, Item, Problem, Whole, columns, count, rows, ties
from fitcheck.kernel.enumeration.layout import lay_out
from fitcheck.kernel.enumeration.packing import PackingError, pack
from fitcheck.kernel.enumeration.problem import code
from fitcheck.kernel.gearing import reduction_window, road_speed_change
from fitcheck.kernel.teeth import Pair
from tests.conftest import EXPLORE, some
from tests.kernel.enumerated import by_columns, listed

PRIMARIES = [Pair(a, b) for a in range(12, 25) for b in range(40, 71)]
SECONDARIES = [Pair(a, b) for a in range(10, 21) for b in range(36, 63)]


@cache
def every_pair() -> Problem:
    """Every pair of the usual counts once, all seats alike."""
    return Problem(
        [
            [Choice(pair, 0, 0, 0, [Item(f"{name}{pair}", 100)]) for pair in pairs]
            for name, pairs in (("P", PRIMARIES), ("S", SECONDARIES))
        ],
        [[[0]]],
    )


@cache
def reductions() -> dict[Fraction, int]:
    """How often each overall reduction of them comes, from the least reduction up."""
    pairs = [[pair.reduction for pair in stage] for stage in (PRIMARIES, SECONDARIES)]
    return dict(sorted(Counter(a * b for a, b in product(*pairs)).items()))


def naive_change(old: Fraction, first: Pair, second: Pair) -> float:
    """Road-speed change as one would write it with floats."""
    ratio = (first.driven / first.driver) * (second.driven / second.driver)
    return 100 * (float(old) / ratio - 1)


@pytest.mark.parametrize("seed", some(range(4), 1))
@pytest.mark.parametrize("band", some([(0, 30), (-30, 0)], 1))
def test_combinations_on_the_edge_are_inside_where_floats_drop_some(seed, band):
    draw = random.Random(seed)
    exact = dropped = 0
    for _ in range(8 if EXPLORE else 3):
        old = draw.choice(PRIMARIES).reduction * draw.choice(SECONDARIES).reduction
        window = reduction_window(old, *(Fraction(edge) for edge in band))
        on_edge = reductions()[old]
        assert count(every_pair(), (old, old)).total == on_edge
        assert count(every_pair(), window).total == sum(
            number
            for reduction, number in reductions().items()
            if window[0] <= reduction <= window[1]
        )
        assert band[0] <= road_speed_change(old, old) <= band[1]
        edge = list(rows(every_pair(), (old, old)))
        assert [row.reduction for row in edge] == [old] * on_edge
        exact += on_edge
        dropped += sum(not band[0] <= naive_change(old, *row.pairs) <= band[1] for row in edge)
    assert 0 < dropped < exact


def test_combinations_on_a_decimal_edge_are_inside():
    # Trains exactly 12.5 % apart are looked for, then asked for as the edge of a band.
    found, ordered = 0, list(reductions())
    for old in random.Random(4).sample(ordered, 60 if EXPLORE else 25):
        new = old / Fraction("1.125")
        if new not in reductions():
            continue
        found += reductions()[new]
        hair = Fraction(1, 10**40)
        for low, high, inside in (
            (Fraction("12.5"), Fraction(30), True),
            (Fraction(0), Fraction("12.5"), True),
            (Fraction("12.5") + hair, Fraction(30), False),
            (Fraction(0), Fraction("12.5") - hair, False),
        ):
            window = reduction_window(old, low, high)
            first = next(rows(every_pair(), window)).reduction
            assert (first == new) is (inside and high == Fraction("12.5"))
            between = ordered[bisect_left(ordered, window[0]) : bisect_right(ordered, window[1])]
            assert (new in between) is inside
            assert count(every_pair(), window).total == sum(reductions()[r] for r in between)
    assert found > 3


def test_float_ties_cut_a_top_fifty_wrong():
    draw = random.Random(11)
    wrong = 0
    for _ in range(5 if EXPLORE else 2):
        stages = [
            [
                Choice(pair, 0, 0, 0, [Item(f"{name}{n}", draw.randint(40, 400))])
                for n, pair in enumerate(draw.choices(pairs, k=120))
            ]
            for name, pairs in (("P", PRIMARIES), ("S", SECONDARIES))
        ]
        problem = Problem(stages, [[[0]]])
        old = draw.choice(PRIMARIES).reduction * draw.choice(SECONDARIES).reduction
        window = reduction_window(old, Fraction(0), Fraction(30))
        combinations = [
            (first, second)
            for first, second in product(*stages)
            if window[0] <= first.pair.reduction * second.pair.reduction <= window[1]
        ]

        def key(both, change):
            items = [choice.items[0] for choice in both]
            return (
                change,
                tuple(choice.pair for choice in both),
                sum(item.price for item in items),
                tuple(item.id for item in items),
            )

        exactly = sorted(key(b, b[0].pair.reduction * b[1].pair.reduction) for b in combinations)
        floats = sorted(key(b, -naive_change(old, b[0].pair, b[1].pair)) for b in combinations)
        for found in (listed, by_columns):
            got = [row.ids for row in found(problem, window, top=50)]
            assert got == [entry[3] for entry in exactly[:50]]
        wrong += sum(a[3] != b[3] for a, b in zip(exactly[:50], floats[:50], strict=True))
    assert wrong


def test_closest_reductions_of_the_largest_counts_are_told_apart():
    # Counts up to 200: among some million trains, the closest different reductions of all.
    pairs = [Pair(a, b) for a in range(180, 200) for b in range(a + 1, 201)]
    trains = sorted(
        {(a.reduction * b.reduction, a, b) for a, b in product(pairs, repeat=2)},
        key=lambda train: train[0],
    )
    gaps = [
        (after[0] - before[0], before, after)
        for before, after in pairwise(trains)
        if after[0] != before[0]
    ]
    for gap, below, above in sorted(gaps, key=lambda entry: entry[0])[: 20 if EXPLORE else 8]:
        assert gap < Fraction(1, 5 * 10**7)
        stages = [
            [Choice(train[1 + n], 0, 0, 0, [Item(f"{n}{name}", 1)]) for name, train in both]
            for n, both in enumerate([[("a", below), ("b", above)]] * 2)
        ]
        problem = Problem(stages, [[[0]]])
        for found in (listed, by_columns):
            assert ("0a", "1a") in [row.ids for row in found(problem, (None, below[0]))]
            assert ("0b", "1b") not in [row.ids for row in found(problem, (None, below[0]))]
            assert ("0a", "1a") not in [row.ids for row in found(problem, (above[0], None))]
            every = [row.reduction for row in found(problem)]
            assert every == sorted(every)


@pytest.mark.parametrize(
    "trains",
    [
        # Found by search: so near that floor(reduction * 2**39) is the same.
        [((150, 176), (177, 187), (183, 196)), ((148, 179), (152, 163), (169, 173))],
        [((163, 199), (167, 181), (178, 187)), ((141, 168), (142, 149), (143, 159))],
    ],
)
def test_closest_reductions_of_three_stages_are_told_apart(trains):
    one, other = ([Pair(*pair) for pair in train] for train in trains)
    reductions = [prod(pair.reduction for pair in train) for train in (one, other)]
    assert 0 < abs(reductions[0] - reductions[1]) < Fraction(1, 2**39)
    stages = [
        [
            Choice(pair, 0, 0, 0, [Item(f"{stage}{name}")])
            for name, pair in zip("ab", both, strict=True)
        ]
        for stage, both in enumerate(zip(one, other, strict=True))
    ]
    problem = Problem(stages, [[[0]]] * 2)
    everything = listed(problem)
    assert [row.reduction for row in everything] == sorted(row.reduction for row in everything)
    assert by_columns(problem) == everything
    for edge in reductions:
        for window in ((edge, None), (None, edge), (edge, edge)):
            assert by_columns(problem, window) == listed(problem, window)


def test_the_first_rows_build_little_of_a_large_class(monkeypatch):
    stages = [
        [Choice(pair, 1, 0, 0, [Item(f"{name}{n}", n % 97) for n in range(3000)])]
        for name, pair in (("P", Pair(15, 38)), ("S", Pair(13, 49)))
    ]
    built = Counter()
    join = ties._join

    def counted(parts):
        built["rows"] += 1
        return join(parts)

    monkeypatch.setattr(ties, "_join", counted)
    found = rows(Problem(stages, [[[1]]]))
    assert built["rows"] == 0
    assert [row.price for row in islice(found, 50)] == [0] * 50
    assert 50 <= built["rows"] < 200


def test_neither_the_package_nor_its_plain_way_imports_numpy():
    program = (
        "import sys; from fitcheck.kernel.enumeration import columns, count, rows; "
        "sys.exit(any(m.split('.')[0] in ('numpy', 'pandas') for m in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


FACTORY = Choice(Pair(15, 38), 2, 0, 0, [Item("", 0)], factory=True)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ([Item("a", 1 << 62)], [Item("b", 1 << 62)]),
        ([Item("a", 1 << 70)], [Item("b", None)]),
        ([Item("a", 3)], [Item("a", 4)]),
    ],
)
def test_what_does_not_fit_columns_goes_the_plain_way(left, right):
    problem = Problem(
        [
            [FACTORY, Choice(Pair(16, 38), 1, 0, 0, left)],
            [FACTORY, Choice(Pair(13, 49), 1, 0, 0, right)],
        ],
        [[[1]]],
    )
    with pytest.raises(PackingError):
        pack(lay_out(problem), None, None, None)
    assert by_columns(problem) == listed(problem)
    assert len(listed(problem)) == 3


@pytest.mark.parametrize(
    ("max_sets", "bought"),
    [
        (None, [("a",), ("a", "b"), ("b",), ("w",)]),
        (2, [("a",), ("a", "b"), ("b",), ("w",)]),
        (1, [("a",), ("b",), ("w",)]),
        (0, []),
    ],
)
def test_a_set_of_the_whole_train_counts_as_one(max_sets, bought):
    pair = Pair(15, 38)
    problem = Problem(
        [[FACTORY, Choice(pair, 1, 0, 0, [Item(id_, 1)])] for id_ in "ab"],
        [[[1]]],
        [Whole((pair, pair), 1, [Item("w", 1)])],
    )
    for found in (listed, by_columns):
        assert sorted(row.ids for row in found(problem, max_sets=max_sets)) == bought
    assert count(problem, max_sets=max_sets).total == len(bought)


def test_a_set_of_the_whole_train_is_inside_on_each_edge_and_not_a_hair_beyond():
    pair, hair = Pair(15, 38), Fraction(1, 10**40)
    problem = Problem([[FACTORY], [FACTORY]], [[[1]]], [Whole((pair, pair), 1, [Item("w", 1)])])
    now = pair.reduction**2
    for window, inside in (
        ((now, None), 1),
        ((None, now), 1),
        ((now, now), 1),
        ((now + hair, None), 0),
        ((None, now - hair), 0),
    ):
        assert len(list(rows(problem, window))) == inside
        assert len(columns(problem, window)) == inside
        assert count(problem, window).total == inside
    for grade, inside in ((1, 1), (2, 0)):
        assert len(list(rows(problem, min_grade=grade))) == inside
        assert len(columns(problem, min_grade=grade)) == inside


def test_sets_of_the_whole_train_come_in_the_order_of_rows():
    pairs = {"slow": Pair(15, 38), "fast": Pair(16, 37)}
    wholes = [Whole((pair,), 1, [Item(id_, 1)]) for id_, pair in pairs.items()]
    for found in (listed, by_columns):
        assert [row.ids for row in found(Problem([[]], [], wholes))] == [("fast",), ("slow",)]


def test_counts_name_each_grade_that_occurs_and_no_other_grades_rising():
    pair = Pair(15, 38)
    items = {2: [Item("a")], 1: [Item("b"), Item("c")], 0: []}
    stage = [Choice(pair, grade, 0, 0, found) for grade, found in items.items()]
    problem = Problem([stage], [], [Whole((pair,), 4, []), Whole((pair,), 3, [Item("w")])])
    assert list(count(problem).by_grade.items()) == [(1, 2), (2, 1), (3, 1)]


def test_pairs_as_one_number_keep_the_order_of_pairs():
    """Up to the greatest counts that a gear may have, 199 and 200."""
    pairs = [Pair(5, 6), Pair(5, 200), Pair(6, 7), Pair(127, 198), Pair(128, 129), Pair(199, 200)]
    codes = [code(train) for train in product(pairs, repeat=3)]
    assert codes == sorted(set(codes))


def choice(needs: int = 0, brings: int = 0) -> Choice:
    return Choice(Pair(15, 38), 1, needs, brings, [Item("a", 1)])


@pytest.mark.parametrize(
    ("build", "words"),
    [
        (lambda: Problem([]), "one to three stages, not 0"),
        (lambda: Problem([[], [], [], []], [[[1]]] * 3), "one to three stages, not 4"),
        (lambda: Problem([[], []]), "one joint between"),
        (lambda: Problem([[choice(needs=1)], [choice()]], [[[1]]]), "outside the joint"),
        (lambda: Problem([[choice(needs=-1)], [choice()]], [[[1]]]), "outside the joint"),
        (lambda: Problem([[choice()], [choice(brings=1)]], [[[1]]]), "outside the joint"),
        (lambda: Problem([[choice(), choice(1)], [choice()]], [[[1]]]), "outside the joint"),
        (lambda: Problem([[choice()], [choice(), choice(0, 1)]], [[[1]]]), "outside the joint"),
        (lambda: Problem([[choice(1)], [choice(0, 1)]], [[[1, 1], [1]]]), "outside the joint"),
        (lambda: Problem([[], [choice()]], [[]]), "outside the joint"),
        (
            lambda: Problem([[]], wholes=[Whole((Pair(15, 38), Pair(13, 49)), 1, [])]),
            "one pair a stage",
        ),
        (
            lambda: Problem([[Choice(Pair(15, 38), 1, 0, 0, [Item("a"), Item("a", 2)])]]),
            "listed twice",
        ),
        (lambda: Problem([[Choice(Pair(15, 38), 1, 0, 0, [], factory=True)]]), "is one item"),
        (lambda: rows(Problem([[choice()]]), top=-1), "zero or more"),
        (lambda: columns(Problem([[choice()]]), top=-1), "zero or more"),
        (lambda: columns(Problem([[Choice(Pair(15, 38), 1, 0, 0, [Item("a", -1)])]])), "negative"),
    ],
)
def test_wrong_use_is_refused(build, words):
    with pytest.raises(ValueError, match=words):
        build()
