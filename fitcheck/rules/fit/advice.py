"""What is worth knowing about a pair though it decides no fit."""

from __future__ import annotations

from math import tau

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.teeth import Pair
from fitcheck.kernel.tooth_form import undercut_shift
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet

__all__ = ["hunting_tooth", "pair_advice", "undercut", "wheel_clearance"]


def hunting_tooth(pair: Pair) -> str | None:
    """A pair whose counts share a factor wears in patches; a preference, not a rule."""
    if pair.hunting:
        return None
    return (
        f"{pair} share a factor: the same teeth meet again every {pair.turns_to_repeat} pinion "
        "turns, so mark and keep their mesh"
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
        f"the {stage} pinion has shift {given.driver_profile_shift:+.3f} where {least:+.3f} is "
        "needed to escape undercut: its teeth are weaker at the root"
    )


def pair_advice(gear_set: Entry[GearSet], stage: Stage) -> list[str]:
    """All advice on one pair of a set, in a fixed order."""
    notes = [hunting_tooth(gear_set.record.pairs[stage]), undercut(gear_set, stage)]
    return [note for note in notes if note is not None]


def wheel_clearance(old_roll_out: float, new_roll_out: float) -> str | None:
    """A larger tyre needs room that no gear datum shows; distances per wheel turn in mm."""
    if new_roll_out <= old_roll_out:
        return None
    growth = (new_roll_out - old_roll_out) / tau
    return (
        f"the new tyre stands about {growth:.0f} mm larger in radius: check that it clears the "
        "casing, the swing arm and the mudguard"
    )
