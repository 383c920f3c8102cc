"""Verdicts in words, and what would help a taller gearing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitcheck.services.counter.combination import combine
from fitcheck.services.road.comparing import compare
from fitcheck.services.road.figures import PullVerdict, RoadAsked, pull_verdict
from fitcheck.services.road.helping import help_for
from fitcheck.services.road.inputs import gather
from tests.services.road.conftest import MACHINE, without

PULLS, WIND, NOT = PullVerdict


@pytest.mark.parametrize(
    ("reach", "gain", "tailwind", "change", "verdict"),
    [
        (1.02, 0.08, 1.2, 0.12, PULLS),
        (0.97, -0.02, 1.2, 0.12, PULLS),  # past the turn-over by a hair: nobody feels it
        (0.95, 0.06, 1.2, 0.12, PULLS),
        (0.95, 0.059, 1.2, 0.12, WIND),  # less than half of what it promises
        (0.95, 0.0, 1.2, 0.12, WIND),  # it changes nothing, and the engine does not come out
        (0.90, -0.03, 0.969, 0.12, NOT),
        (0.95, 0.0, 0.9, -0.05, NOT),  # shorter, and still past its turn-over
        (0.97, -0.02, 0.9, -0.05, PULLS),
        (0.969, 0.0, 1.1, 0.0, WIND),
        (0.99, 0.0, 1.1, 0.0, PULLS),
    ],
)
def test_verdicts(reach, gain, tailwind, change, verdict):
    assert pull_verdict(reach, gain, tailwind, 5.0, change) is verdict
    assert pull_verdict(reach, gain, tailwind, 4.99, change) is NOT


def test_a_fixed_ratio_that_does_not_start_on_5_percent_is_not_pulled(make):
    """On the flat it gets to its peak; on the hill the clutch has not the torque."""
    subject = make(without(MACHINE, "variator", fixed_ratio=0.9))
    found = compare(subject, asked=RoadAsked(engage_rpm=1200, power=(1.3, 5000), mass_kg=120))
    assert found.before.flat.limit != "start"
    assert found.before.start_gradient.value < 5
    assert found.before.verdict is NOT


def test_a_machine_that_does_not_start_has_no_steepest_hill(make):
    found = compare(make(), asked=RoadAsked(power=(0.2, 6600), ratios=(1.0, 0.9))).before
    assert found.flat.limit == "start"
    assert found.start_gradient is None
    assert found.verdict is NOT


def test_a_strong_machine_lifts_its_front_wheel_first(make):
    """0.4 of the weight on the front wheel, 0.65 m over 1.25 m: by statics of a rigid body."""
    found = compare(make(), asked=RoadAsked(power=(15, 7000))).before
    assert (found.force_cap, found.gradient_cap) == ("front wheel", "front wheel")
    assert found.start_gradient.value == pytest.approx(100 * 0.4 * 1.25 / 0.65)
    assert found.start_force.value == pytest.approx((85 + 80) * 9.80665 * 0.4 * 1.25 / 0.65)
    assert compare(make()).before.force_cap is None


def kit(low, families=("knot",)):
    return {
        "supplier": "marram",
        "part_number": f"V{low}",
        "fits": list(families),
        "low_ratio": low,
        "high_ratio": 0.9,
    }


def told(subject, number="MA-80", **asked):
    one = combine(subject, [subject.catalogue.gear_sets[number]])
    return compare(subject, [one], RoadAsked(**asked)).after[0].help


def test_the_starting_ratio_that_gives_the_old_pull_back(make):
    """Pull goes with ratio times reduction: 2.5 x 10/8 = 3.125."""
    kits = {"MA-V30": kit(3.0), "MA-V32": kit(3.2), "MA-V34": kit(3.4)}
    help_ = told(make(variator=kits))
    assert help_.start_ratio == pytest.approx(3.125)
    assert help_.variators == ("MA-V32", "MA-V34")
    assert any("MA-V32 (3.20 to 0.90)" in sentence for sentence in help_.sentences)


def test_with_that_ratio_the_pull_really_is_back(make):
    subject = make()
    now = compare(subject).before.start_force.value
    one = combine(subject, [subject.catalogue.gear_sets["MA-80"]])
    asked = RoadAsked(ratios=(3.125, 0.9))
    assert compare(subject, [one], asked).after[0].start_force.value == pytest.approx(now)


def test_kits_too_tall_or_for_others_are_not_offered(make):
    kits = {"MA-V30": kit(3.0), "MA-V35": kit(3.5, ("dunlin-50",))}
    help_ = told(make(variator=kits))
    assert help_.variators == ()
    assert any(
        "so large a starting ratio; the largest is 3.00" in sentence for sentence in help_.sentences
    )


def test_no_kit_on_file_is_said(it):
    assert any("holds no variator for Knot" in sentence for sentence in told(it).sentences)


def test_lighter_rollers_go_with_the_square_of_the_shift_rpm(it):
    """Centrifugal force is m r n^2: from 5600 to 7000 the rollers weigh (5600/7000)^2 = 64 %."""
    (rollers,) = [s for s in told(it, shift_rpm=5600).sentences if "ollers" in s]
    assert "some 64 % of the present weight" in rollers
    assert "common practice" in rollers


def test_rollers_are_not_talked_up_near_the_peak(it):
    (near,) = [s for s in told(it, shift_rpm=6950).sentences if "ollers" in s]
    assert "under 2 % more power" in near
    (past,) = [s for s in told(it, shift_rpm=7600).sentences if "ollers" in s]
    assert "noise and no pull" in past


def test_rollers_go_by_the_peak_that_a_measured_speed_has_set(it):
    """The default shape is x + x^2 - x^3 at x = rpm over peak-power rpm (from memory)."""
    inputs = gather(it, RoadAsked(shift_rpm=5600))
    peak = replace(inputs.givens["peak_rpm"], value=7700.0, kind="calibrated")
    moved = replace(inputs, givens={**inputs.givens, "peak_rpm": peak})
    (rollers,) = [s for s in help_for(it, moved, 1.25).sentences if "ollers" in s]
    x = 5600 / 7700
    gain = 100 * (1 / (x + x**2 - x**3) - 1)
    assert f"with {gain:.0f} % more power" in rollers


def test_a_shorter_gearing_needs_no_help(it):
    help_ = told(it, "MA-115")
    assert help_.start_ratio is None
    assert help_.sentences == ()


def test_a_fixed_ratio_has_no_variator_to_change(make):
    help_ = told(make(without(MACHINE, "variator", fixed_ratio=1.2)))
    assert help_.start_ratio is None
    assert help_.sentences == (
        "With a fixed ratio nothing gives the start-off pull back but shorter gears.",
    )
