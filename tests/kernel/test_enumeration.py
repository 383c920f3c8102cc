"""The enumeration held to a nested loop with `Fraction`, which is the truth here."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from math import prod

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.kernel.enumeration import (
    Choice,
    Item,
    Problem,
    Whole,
    Window,
    columns,
    count,
    layout,
    packing,
    rows,
    table,
    ties,
)
from fitcheck.kernel.teeth import Pair
from tests.conftest import some
from tests.kernel.enumerated import by_columns, listed, rows_of

# Few pairs, several of equal reduction (10/20, 12/24; 12/36, 15/45), so that ties are common.
PAIRS = [Pair(*p) for p in ((10, 20), (12, 24), (12, 36), (15, 45), (13, 49), (14, 46), (20, 30))]
# Any pair at all, up to the greatest counts a gear may have.
ANY_PAIR = st.builds(
    lambda a, b: Pair(min(a, b), max(a, b) + (a == b)), st.integers(5, 199), st.integers(5, 199)
)


def truth(
    problem: Problem,
    window: Window,
    *,
    top: int | None = None,
    max_price: int | None = None,
    max_sets: int | None = None,
    min_grade: int | None = None,
) -> list[tuple[object, ...]]:
    """Every combination by nested loops, exact fractions and one sort."""
    found = []
    for choices, items, pairs, grade, ids in every(problem):
        reduction = prod((p.reduction for p in pairs), start=Fraction(1))
        prices = [item.price for item in items]
        price = None if None in prices else sum(p for p in prices if p is not None)
        if (
            grade is None
            or (window[0] is not None and reduction < window[0])
            or (window[1] is not None and reduction > window[1])
            or (max_price is not None and (price is None or price > max_price))
            or (max_sets is not None and len(ids) > max_sets)
            or (min_grade is not None and grade < min_grade)
        ):
            continue
        order = (reduction, pairs, price is None, price or 0, ids, choices)
        found.append((order, (choices, items, reduction, pairs, price, ids, grade)))
    found.sort(key=lambda entry: entry[0])
    return [row for _, row in found[:top]]


def every(problem: Problem):
    """Choices, items, pairs, grade (None: a joint rules it out) and ids of each combination."""
    for chosen in itertools.product(*(range(len(stage)) for stage in problem.stages)):
        picks = [stage[index] for stage, index in zip(problem.stages, chosen, strict=True)]
        if all(pick.factory for pick in picks):
            continue
        grades: list[int | None] = [pick.grade for pick in picks]
        for joint, left, right in zip(problem.joints, picks, picks[1:], strict=False):
            if not (left.factory and right.factory):
                grades.append(joint[left.needs][right.brings])
        grade = None if None in grades else min(g for g in grades if g is not None)
        for items in itertools.product(*(pick.items for pick in picks)):
            ids = tuple(i.id for i, pick in zip(items, picks, strict=True) if not pick.factory)
            yield chosen, items, tuple(pick.pair for pick in picks), grade, ids
    for number, whole in enumerate(problem.wholes):
        for item in whole.items:
            yield (-1, number), (item,), whole.pairs, whole.grade, (item.id,)


ANY_STAGES = st.integers(1, 3)
FEW_PAIRS = st.sampled_from(PAIRS)


@st.composite
def problems(draw, stages=ANY_STAGES, pairs=FEW_PAIRS) -> Problem:
    number = draw(stages)
    names = iter(draw(st.permutations([f"{letter}{n}" for letter in "ABC" for n in range(20)])))
    price = st.none() | st.sampled_from([0, 1, 1, 2, 3, 100])
    seat = st.integers(0, 2)

    def items() -> list[Item]:
        return [Item(next(names), draw(price)) for _ in range(draw(st.integers(0, 3)))]

    columns = []
    for _ in range(number):
        column = [
            Choice(draw(pairs), draw(st.integers(0, 2)), draw(seat), draw(seat), items())
            for _ in range(draw(st.integers(1, 4)))
        ]
        if draw(st.booleans()):
            kept = Choice(draw(pairs), draw(st.integers(0, 3)), 0, 1, [Item("", 0)], factory=True)
            column.insert(draw(st.integers(0, len(column))), kept)
        columns.append(column)
    grade = st.sampled_from([None, None, 0, 1, 2, 3])
    joints = [[[draw(grade) for _ in range(3)] for _ in range(3)] for _ in range(number - 1)]
    wholes = [
        Whole(tuple(draw(pairs) for _ in range(number)), draw(st.integers(0, 2)), items())
        for _ in range(draw(st.integers(0, 2)))
    ]
    return Problem(columns, joints, wholes)


def windows(draw, problem: Problem) -> Window:
    """A window with its edges exactly on combinations, a hair beside them, or open."""
    reductions = sorted({prod(p.reduction for p in pairs) for _, _, pairs, *_ in every(problem)})
    hair = st.sampled_from([0, 0, 0, Fraction(1, 10**30), -Fraction(1, 10**30)])
    edge = st.none() | (
        st.builds(lambda r, h: r + h, st.sampled_from(reductions), hair)
        if reductions
        else st.just(Fraction(7, 2))
    )
    return draw(edge), draw(edge)


limit = st.none() | st.integers(0, 4)


@settings(max_examples=4 * settings().max_examples, deadline=None)
@given(st.data(), st.sampled_from([0, 3, 512]))
def test_plain_gives_the_rows_of_the_nested_loop(data, at_once):
    problem = data.draw(problems())
    window = windows(data.draw, problem)
    filters = {
        "top": data.draw(st.none() | st.integers(0, 60)),
        "max_price": data.draw(limit),
        "max_sets": data.draw(limit),
        "min_grade": data.draw(limit),
    }
    with pytest.MonkeyPatch.context() as patch:
        # Both ways of ordering rows of equal pairs: at once, and by a heap.
        patch.setattr(ties, "_SORT_AT_ONCE", at_once)
        assert listed(problem, window, **filters) == truth(problem, window, **filters)


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(st.data())
def test_both_ways_hold_for_any_tooth_counts(data):
    problem = data.draw(problems(pairs=ANY_PAIR))
    window = windows(data.draw, problem)
    expected = truth(problem, window)
    assert listed(problem, window) == expected
    assert by_columns(problem, window) == expected


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(st.data())
def test_counts_are_those_of_the_nested_loop(data):
    problem = data.draw(problems())
    window = windows(data.draw, problem)
    max_sets = data.draw(limit)
    expected = Counter(
        grade
        for _, _, pairs, grade, ids in every(problem)
        if (window[0] is None or prod(p.reduction for p in pairs) >= window[0])
        and (window[1] is None or prod(p.reduction for p in pairs) <= window[1])
        and (max_sets is None or len(ids) <= max_sets)
    )
    counts = count(problem, window, max_sets=max_sets)
    assert counts.ruled_out == expected.pop(None, 0)
    assert dict(counts.by_grade) == dict(expected)
    assert list(counts.by_grade) == sorted(counts.by_grade)
    assert counts.between(1) == sum(n for grade, n in expected.items() if grade >= 1)
    assert counts.between(0, 0) == expected[0]
    assert counts.total == sum(expected.values()) + counts.ruled_out


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(problems())
def test_counts_add_up_to_the_product_of_the_choices(problem):
    choices = prod(sum(len(c.items) for c in stage) for stage in problem.stages)
    factory = prod(sum(c.factory for c in stage) for stage in problem.stages)
    wholes = sum(len(whole.items) for whole in problem.wholes)
    assert count(problem).total == choices - factory + wholes


@settings(max_examples=4 * settings().max_examples, deadline=None)
@given(st.data(), st.sampled_from([(1 << 16, 200), (4, 0), (1, 10**9)]), st.sampled_from([1, 2]))
def test_columns_are_the_rows_of_the_nested_loop(data, sizes, threads):
    problem = data.draw(problems())
    window = windows(data.draw, problem)
    filters = {
        "top": data.draw(st.none() | st.integers(0, 60)),
        "max_price": data.draw(limit),
        "max_sets": data.draw(limit),
        "min_grade": data.draw(limit),
    }
    with pytest.MonkeyPatch.context() as patch:
        # Small blocks and both ways of sorting, which otherwise need many rows.
        patch.setattr(table, "_BLOCK_ROWS", sizes[0])
        patch.setattr(table, "_ALONE", sizes[1])
        found = columns(problem, window, threads=threads, **filters)
    assert rows_of(found) == truth(problem, window, **filters)


def small(stages: int) -> Problem:
    """A train of few choices: kept or bought, priced or not, proved or not, fitting or not."""

    def column(at: int) -> list[Choice]:
        kept = Choice(Pair(13 + at, 36), 3, 0, 0, [Item("", 0)], factory=True)
        return [
            Choice(Pair(12, 35), 1, 1, 1, [Item(f"{at}b", 5), Item(f"{at}c", None)]),
            kept,
            Choice(Pair(15, 44), 2, 0, 1, [Item(f"{at}a", 7)]),
        ]

    wholes = [
        Whole((Pair(12, 35),) * stages, 1, [Item("w", 5 * stages + 1)]),
        Whole((Pair(17, 40),) * stages, 2, [Item("v", None)]),
    ]
    joints = [[[2, 1], [None, 0]], [[None, 2], [1, 3]]]
    return Problem([column(at) for at in range(stages)], joints[: stages - 1], wholes)


SMALL = {stages: (small(stages), truth(small(stages), (None, None))) for stages in (1, 2, 3)}


@pytest.mark.parametrize("stages", SMALL)
def test_a_window_cuts_at_each_reduction_to_a_hair(stages):
    problem, everything = SMALL[stages]
    hair = Fraction(1, 10**30)
    for edge in {row[2] for row in everything}:
        for low, high in ((edge, edge), (edge + hair, None), (None, edge - hair)):
            inside = [
                row
                for row in everything
                if (low is None or low <= row[2]) and (high is None or row[2] <= high)
            ]
            assert listed(problem, (low, high)) == inside
            assert by_columns(problem, (low, high)) == inside
            counts = Counter(row[6] for row in inside)
            assert count(problem, (low, high)).by_grade == counts


@pytest.mark.parametrize("stages", SMALL)
@pytest.mark.parametrize(
    "asked",
    [
        {},
        *({"top": top} for top in (0, 1, 4, 100)),
        *({"max_price": price} for price in (0, 4, 5, 6, 7, 11, 12, 13)),
        *({"max_sets": number} for number in (0, 1, 2, 3)),
        *({"min_grade": grade} for grade in (0, 1, 2, 3)),
        {"max_price": 12, "max_sets": 2, "min_grade": 1, "top": 3},
    ],
    ids=str,
)
def test_a_filter_leaves_out_what_it_names(stages, asked, monkeypatch):
    problem, _ = SMALL[stages]
    expected = truth(problem, (None, None), **asked)
    assert listed(problem, **asked) == expected
    assert by_columns(problem, **asked) == expected
    monkeypatch.setattr(ties, "_SORT_AT_ONCE", 0)
    assert listed(problem, **asked) == expected
    if asked.keys() == {"max_sets"}:
        assert count(problem, **asked).by_grade == Counter(row[6] for row in expected)


@pytest.mark.parametrize(("stages", "last"), [(1, 57), (2, 51), (3, 46)])
def test_prices_may_fill_all_bits_but_the_last(stages, last):
    """Of 63 bits, the ranks take 3, 8 or 12 and the greatest sum of prices 3, 4 or 5.

    Dearer rows come from the plain enumeration, also beyond 64 bits.
    """
    problem, _ = SMALL[stages]

    def dear(part: Choice | Whole, bits: int) -> Choice | Whole:
        items = [Item(i.id, None if i.price is None else i.price << bits) for i in part.items]
        return replace(part, items=items)

    for bits in (*range(last - 3, last + 4), 70):
        costly = Problem(
            [[dear(choice, bits) for choice in stage] for stage in problem.stages],
            problem.joints,
            [dear(whole, bits) for whole in problem.wholes],
        )
        assert by_columns(costly) == truth(costly, (None, None))
        fits = True
        try:
            packing.pack(layout.lay_out(costly), None, None, None)
        except packing.PackingError:
            fits = False
        assert fits == (bits <= last)


def crowded(seed: int) -> Problem:
    """Two stages of few classes with many sets each, a third of unknown price."""
    draw = random.Random(seed)
    names = [f"{letter}{n:03d}" for letter in "ABC" for n in range(70)]
    draw.shuffle(names)

    def items(most: int) -> list[Item]:
        prices = (None, *draw.sample(range(100), draw.choice([1, 2])))
        return [Item(names.pop(), draw.choice(prices)) for _ in range(draw.randint(0, most))]

    def choice(most: int) -> Choice:
        return Choice(
            draw.choice(PAIRS[:4]), draw.randint(0, 2), draw.randint(0, 1), 0, items(most)
        )

    kept = Choice(draw.choice(PAIRS[:4]), 3, 1, 0, [Item("", 0)], factory=True)
    return Problem(
        [[kept, *(choice(30) for _ in range(3))], [*(choice(25) for _ in range(3)), kept]],
        [[[draw.choice([None, 0, 1])], [draw.choice([0, 2])]]],
        [Whole((draw.choice(PAIRS[:4]), draw.choice(PAIRS[:4])), 1, items(20))],
    )


@pytest.mark.parametrize("seed", some(range(60), 4))
def test_crowded_classes_are_cut_only_past_the_top(seed):
    problem = crowded(seed)
    everything = truth(problem, (None, None))
    for top in (0, 1, 2, 7, 50, 211, len(everything), len(everything) + 1):
        assert listed(problem, top=top) == everything[:top]
        assert by_columns(problem, top=top) == everything[:top]
    for price in (0, 40, 110):
        expected = truth(problem, (None, None), top=40, max_price=price)
        assert listed(problem, top=40, max_price=price) == expected
        assert by_columns(problem, top=40, max_price=price) == expected


@pytest.mark.parametrize("seed", some(range(10), 2))
@pytest.mark.parametrize("threads", [1, 3])
def test_tables_hold_together(seed, threads, monkeypatch):
    problem = crowded(seed)
    monkeypatch.setattr(table, "_BLOCK_ROWS", 50)
    found = columns(problem, threads=threads)
    expected = list(rows(problem))
    assert rows_of(found) == listed(problem)
    runs = [
        (len(list(group)), numerator, denominator)
        for (_, numerator, denominator), group in itertools.groupby(
            expected, key=lambda row: (row.pairs, row.numerator, row.denominator)
        )
    ]
    got = zip(
        (found.start[1:] - found.start[:-1]).tolist(),
        found.numerator.tolist(),
        found.denominator.tolist(),
        strict=True,
    )
    assert list(got) == runs
    for row in expected:
        assert row.numerator == prod(pair.driven for pair in row.pairs)
        assert row.denominator == prod(pair.driver for pair in row.pairs)
