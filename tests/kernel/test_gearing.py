"""Reductions and their changes against published trains and figures of the trade."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.kernel.gearing import (
    cut,
    overall_reduction,
    paper_check,
    reduction_change,
    reduction_window,
    road_speed_change,
)
from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, Pair


def train(text: str) -> list[Pair]:
    return [Pair(*(int(count) for count in stage.split("/"))) for stage in text.split()]


class TestPublishedTrains:
    """Compound trains of the textbooks.

    Inputs follow the books' examples; the answers are those printed by their open Python companions
    (read, FOSSEE Textbook Companions, commit d34b2ae7) unless said otherwise.
    """

    @pytest.mark.parametrize(
        ("text", "exact"),
        [
            # Khurmi and Gupta, Theory of Machines, ex. 13.1 p. 432 (read)
            ("20/50 25/75 26/65", Fraction(75, 4)),
            # Wentzell, Machine Design, ex. 11.1 p. 217 (read)
            ("20/60 20/60", Fraction(9)),
            # Bhatt and Mehta, Elements of Mechanical Engineering, ex. 13.6 p. 30 (read)
            ("25/50 20/40", Fraction(4)),
            # Bevan, Theory of Machines, ex. 11.1a p. 369, change wheels 26:4 (read)
            ("25/65 30/75", Fraction(26, 4)),
            # Bevan, ex. 11.1b p. 369, change wheels 35:4 (read)
            ("30/105 40/100", Fraction(35, 4)),
            # Bevan, ex. 11.3b p. 374, reverted train (read)
            ("24/74 18/52", Fraction(481, 54)),
            # Khurmi and Gupta, ex. 13.3 p. 435, reverted train (book: memory; the companion's 99
            # teeth for 100 break its own condition, see test_geometry)
            ("28/100 36/124", Fraction(775, 63)),
        ],
    )
    def test_exact(self, text: str, exact: Fraction) -> None:
        assert overall_reduction(train(text)) == exact

    def test_speeds_and_torque(self) -> None:
        # Khurmi and Gupta: 975 to 52 rpm; Wentzell: 3600 to 400.00 rpm and 200 to 1800 lb in;
        # Bhatt and Mehta: 600 to 150.0 rpm (read).
        assert 975 / overall_reduction(train("20/50 25/75 26/65")) == 52
        assert 3600 / overall_reduction(train("20/60 20/60")) == 400
        assert 200 * overall_reduction(train("20/60 20/60")) == 1800
        assert 600 / overall_reduction(train("25/50 20/40")) == 150

    def test_printed_decimals(self) -> None:
        # Bevan prints 8.91 (read); the exact quotients at four decimals are computed.
        assert f"{float(overall_reduction(train('24/74 18/52'))):.2f}" == "8.91"
        assert f"{float(overall_reduction(train('24/74 18/52'))):.4f}" == "8.9074"
        assert f"{float(overall_reduction(train('28/100 36/124'))):.4f}" == "12.3016"
        assert float(overall_reduction(train("20/50 25/75 26/65"))) == 18.75

    def test_single_mesh(self) -> None:
        # Khurmi and Gupta, ex. 13.2 p. 433: 38/114 takes 360 to 120 rpm (read).
        assert 360 / overall_reduction(train("38/114")) == 120

    def test_axle_pairs(self) -> None:
        # A workshop article on axle gears: 41/10 is 4.10, 41/11 is 3.73 (read).
        assert f"{float(Pair(10, 41).reduction):.2f}" == "4.10"
        assert f"{float(Pair(11, 41).reduction):.2f}" == "3.73"


class TestTradeFigures:
    """Common practice, no source: figures the trade goes by; the exact ones are arithmetic."""

    FACTORY = train("14/46 13/49")

    def test_factory_train(self) -> None:
        """3.28 and 3.76 cut; 12.33 worked with the cut figures, 12.38 exactly."""
        assert overall_reduction(self.FACTORY) == Fraction(2254, 182)
        found = paper_check(self.FACTORY)
        assert found.stages == (Fraction(328, 100), Fraction(376, 100))
        assert found.product == Fraction(1233, 100)
        assert found.exact_cut == Fraction(1238, 100)
        assert not found.agrees
        assert f"{float(overall_reduction(self.FACTORY)):.4f}" == "12.3846"

    def test_primary_of_a_bigger_wheel_model(self) -> None:
        """14/49: 3.5 x 3.76 = 13.16 cut, 13.1923 exactly, and the machine gets slower."""
        longer = train("14/49 13/49")
        found = paper_check(longer)
        assert found.stages == (Fraction(7, 2), Fraction(376, 100))
        assert found.product == Fraction(1316, 100)
        assert f"{float(overall_reduction(longer)):.4f}" == "13.1923"
        assert road_speed_change(overall_reduction(self.FACTORY), overall_reduction(longer)) < 0

    @pytest.mark.parametrize(
        ("text", "speeds", "road_speed", "reduction"),
        [
            ("14/46 14/47", Fraction(49 * 14, 13 * 47), "+12.2750", "-10.9329"),
            ("15/38 13/49", Fraction(46 * 15, 14 * 38), "+29.6992", "-22.8986"),
            ("16/37 13/49", Fraction(46 * 16, 14 * 37), "+42.0849", "-29.6196"),
        ],
    )
    def test_changes(self, text: str, speeds: Fraction, road_speed: str, reduction: str) -> None:
        """About 12, roughly 30 and far over 40 percent more road speed, worked out exactly.

        `speeds` is the new road speed over the old, from the counts of the one stage that changes.
        """
        old, new = overall_reduction(self.FACTORY), overall_reduction(train(text))
        assert road_speed_change(old, new) == 100 * (speeds - 1)
        assert reduction_change(old, new) == 100 * (1 / speeds - 1)
        assert f"{float(road_speed_change(old, new)):+.4f}" == road_speed
        assert f"{float(reduction_change(old, new)):+.4f}" == reduction

    def test_a_rise_and_a_drop_differ(self) -> None:
        """A 30 percent rise of road speed is a 23 percent drop of reduction."""
        old, new = overall_reduction(self.FACTORY), overall_reduction(train("15/38 13/49"))
        assert round(road_speed_change(old, new)) == 30
        assert round(reduction_change(old, new)) == -23

    def test_order_of_tallness(self) -> None:
        """The closer the two counts, the less the reduction: 16/37, 15/38, 14/46."""
        pairs = train("16/37 15/38 14/46")
        assert sorted(train("14/46 16/37 15/38"), key=lambda pair: pair.reduction) == pairs
        assert sorted(pairs, key=lambda pair: pair.driven - pair.driver) == pairs


class TestOverallReduction:
    @pytest.mark.parametrize("pairs", [[], train("14/46 13/49 12/40 11/30")])
    def test_one_to_three_stages(self, pairs: list[Pair]) -> None:
        for function in (overall_reduction, paper_check):
            with pytest.raises(ValueError, match="one to three stages"):
                function(pairs)


pairs = st.builds(
    lambda a, b: Pair(min(a, b), max(a, b)),
    st.integers(MIN_TEETH, 100),
    st.integers(101, MAX_TEETH),
)
trains = st.lists(pairs, min_size=1, max_size=3)
reductions = st.fractions(min_value=Fraction(1, 50), max_value=500, max_denominator=10**6)
roll_outs = st.fractions(min_value=Fraction(1, 2), max_value=3, max_denominator=1000)


@given(trains)
def test_reduction_is_the_product_of_its_stages(stages: list[Pair]) -> None:
    product = Fraction(1)
    for pair in stages:
        product *= pair.reduction
    assert overall_reduction(stages) == overall_reduction(stages[::-1]) == product > 1


@given(trains)
def test_cutting_never_gains(stages: list[Pair]) -> None:
    found = paper_check(stages)
    exact = overall_reduction(stages)
    assert found.product <= found.exact_cut <= exact < found.exact_cut + Fraction(1, 100)
    assert all((100 * value).denominator == 1 for value in (*found.stages, found.product))
    if len(stages) == 1:
        assert found.agrees


def test_cut_is_towards_zero() -> None:
    assert cut(Fraction(-3289, 1000)) == Fraction(-328, 100)
    assert cut(Fraction(3289, 1000), 1) == Fraction(32, 10)
    assert cut(Fraction(3299, 1000), 0) == 3


@given(reductions, reductions, roll_outs, roll_outs)
def test_changes_undo_each_other(
    old: Fraction, new: Fraction, old_roll: Fraction, new_roll: Fraction
) -> None:
    there = 1 + road_speed_change(old, new, old_roll, new_roll) / 100
    back = 1 + road_speed_change(new, old, new_roll, old_roll) / 100
    assert there * back == 1
    # One change of gears told two ways: speed ratio and reduction ratio are reciprocal.
    speed = 1 + road_speed_change(old, new) / 100
    assert speed * (1 + reduction_change(old, new) / 100) == 1


@given(reductions, roll_outs)
def test_a_larger_tyre_alone_is_the_roll_out_ratio(reduction: Fraction, roll: Fraction) -> None:
    assert road_speed_change(reduction, reduction, roll, 2 * roll) == 100
    assert road_speed_change(reduction, reduction, roll, roll) == 0


percents = st.none() | st.decimals(-99, 400, places=3).map(Fraction)


@given(reductions, reductions, st.tuples(percents, percents), roll_outs, roll_outs)
def test_window_holds_exactly_the_changes_in_the_band(
    old: Fraction,
    new: Fraction,
    band: tuple[Fraction | None, Fraction | None],
    old_roll: Fraction,
    new_roll: Fraction,
) -> None:
    low, high = band
    least, greatest = reduction_window(old, low, high, new_roll / old_roll)
    inside = (least is None or least <= new) and (greatest is None or new <= greatest)
    change = road_speed_change(old, new, old_roll, new_roll)
    assert inside == ((low is None or low <= change) and (high is None or change <= high))
    # The edges themselves are inside, exactly.
    if greatest is not None:
        assert road_speed_change(old, greatest, old_roll, new_roll) == low
    if least is not None:
        assert road_speed_change(old, least, old_roll, new_roll) == high


def test_window_edges() -> None:
    assert reduction_window(Fraction(12), None, None) == (None, None)
    assert reduction_window(Fraction(12), Fraction(-100), None) == (None, None)
    assert reduction_window(Fraction(12), Fraction(-150), Fraction(20)) == (10, None)
    assert reduction_window(Fraction(12), Fraction(20), Fraction(50)) == (8, 10)
    least, greatest = reduction_window(Fraction(12), Fraction(50), Fraction(20))
    assert least is not None
    assert greatest is not None
    assert least > greatest


@pytest.mark.parametrize("high", [-100, -101])
def test_window_no_drive_can_give(high: int) -> None:
    with pytest.raises(ValueError, match="over -100"):
        reduction_window(Fraction(12), None, Fraction(high))


@pytest.mark.parametrize("zero", [Fraction(0), Fraction(-1)])
def test_nothing_at_or_under_zero(zero: Fraction) -> None:
    one = Fraction(1)
    for call in (
        lambda: road_speed_change(zero, one),
        lambda: road_speed_change(one, zero),
        lambda: road_speed_change(one, one, zero, one),
        lambda: road_speed_change(one, one, one, zero),
        lambda: reduction_change(zero, one),
        lambda: reduction_change(one, zero),
        lambda: reduction_window(zero, None, None),
        lambda: reduction_window(one, None, None, zero),
    ):
        with pytest.raises(ValueError, match="over zero"):
            call()
