"""What is worth knowing about a pair though it decides no fit."""

from __future__ import annotations

from decimal import Decimal
from math import tau

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.geometry import overlap_ratio
from fitcheck.kernel.shift_split import contact_ratio, undercut_shift, usual_driver_shift
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.rules.fit.gears import needed_shift_sum

LEAST_CONTACT_RATIO = 1.2
"""Transverse contact ratio that handbooks ask of spur gears at the least (Shigley, Norton and
SDP/SI, from memory)."""

SHIFT_SUMS = (-0.5, 1.2)
"""Sums of profile shift within which a pair is ordinary (judgement). Above, teeth run short and
pointed; below, the roots are weak and slide more."""


def hunting_tooth(pair: Pair) -> str | None:
    """A pair whose counts share a factor wears in patches; a preference, not a rule."""
    if pair.hunting:
        return None
    return (
        f"{pair} is not a hunting-tooth pair: the same teeth meet again every "
        f"{pair.turns_to_repeat} pinion turns, so refit both gears in the same position"
    )


def undercut(gear_set: Entry[GearSet], stage: Stage) -> str | None:
    """A pinion cut with too little shift for its teeth is undercut at the root (ISO 21771)."""
    given = gear_set.record.geometry.get(stage)
    if given is None or given.driver_profile_shift is None:
        return None
    least = undercut_shift(
        gear_set.record.pairs[stage].driver, given.helix_angle_deg, given.pressure_angle_deg
    )
    if given.driver_profile_shift >= least:
        return None
    return (
        f"the {stage} pinion has shift {given.driver_profile_shift:+z.3f} where {least:+z.3f} is "
        "needed to escape undercut: its teeth are weaker at the root"
    )


def strong_shift(pair: Pair, given: PairGeometry, stage: Stage, sum_: float) -> str | None:
    """A pair with far more, or far less, profile shift than is usual."""
    least, most = SHIFT_SUMS
    if least <= sum_ <= most:
        return None
    needed = " needs" if given.profile_shift_sum is None else ""
    known = "to run at this distance " if needed else ""
    weak = "teeth are short and near a point" if sum_ > most else "teeth are weak at the root"
    return (
        f"the {stage} pair {pair}{needed or ' has'} profile shifts of {sum_:+z.2f} in all {known}"
        f"(usual: {least:+g} to {most:+g}): its {weak}"
    )


def short_contact(pair: Pair, given: PairGeometry, stage: Stage, sum_: float) -> str | None:
    """A pair of which hardly more than one tooth is in contact at a time (ISO 21771)."""
    try:
        ratio = contact_ratio(
            given.normal_module_mm,
            given.helix_angle_deg,
            pair.driver,
            pair.driven,
            sum_,
            driver_shift=given.driver_profile_shift,
            pressure_deg=given.pressure_angle_deg,
        )
    except ValueError:
        return None
    if ratio >= LEAST_CONTACT_RATIO:
        return None
    split = ""
    if given.driver_profile_shift is None:
        taken = usual_driver_shift(
            given.helix_angle_deg, pair.driver, sum_, given.pressure_angle_deg
        )
        even = "evenly" if taken == sum_ / 2 else "so that its pinion is just free of undercut"
        split = f" if its shift is split {even}"
    whole = ""
    if given.helix_angle_deg:
        whole = "; what its helix adds depends on the face width, which is not known"
    if given.helix_angle_deg and given.face_width_mm is not None:
        overlap = overlap_ratio(
            given.normal_module_mm, given.helix_angle_deg, float(given.face_width_mm)
        )
        whole = f"; with its helix {ratio + overlap:.2f} in all"
    return (
        f"the {stage} pair {pair} has a transverse contact ratio of {ratio:.2f}{split}, under the "
        f"{LEAST_CONTACT_RATIO:g} usual of spur gears{whole}: it may run loud and wear"
    )


def _mesh(
    pair: Pair, given: PairGeometry | None, stage: Stage, casing: Decimal | None
) -> list[str]:
    """Advice on how a pair meshes, by its shift sum, else by the one its casing needs."""
    if given is None:
        return []
    sum_ = given.profile_shift_sum
    if sum_ is None and casing is not None:
        sum_ = needed_shift_sum(pair, given, casing)
    if sum_ is None:
        return []
    notes = (strong_shift(pair, given, stage, sum_), short_contact(pair, given, stage, sum_))
    return [note for note in notes if note is not None]


def pair_advice(gear_set: Entry[GearSet], stage: Stage, casing: Decimal | None = None) -> list[str]:
    """All advice on one pair of a set, in a fixed order.

    Args:
        gear_set: the set.
        stage: which of its pairs.
        casing: centre distance of the casing, mm, where it is known.
    """
    pair = gear_set.record.pairs[stage]
    notes = [hunting_tooth(pair), undercut(gear_set, stage)]
    found = [note for note in notes if note is not None]
    return found + _mesh(pair, gear_set.record.geometry.get(stage), stage, casing)


def wheel_clearance(old_roll_out: float, new_roll_out: float) -> str | None:
    """A larger tyre needs room that no gear datum shows; distances per wheel turn in mm."""
    if new_roll_out <= old_roll_out:
        return None
    growth = (new_roll_out - old_roll_out) / tau
    return (
        f"the new tyre stands about {growth:.0f} mm larger in radius: check that it clears the "
        "casing, the swing arm and the mudguard"
    )
