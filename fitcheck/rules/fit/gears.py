"""Do the gears run in the casing: centre distance, helix hand, room for the driven gear.

Working centre distances follow ISO 21771; the tolerance left unstated by a family is js8 of
ISO 286 for its centre distance. Between that and `GREY_MM` the answer stays open, since some pairs
run there and backlash has to be measured; the limit is a judgement, no standard sets it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.driven_tip import DrivenTip, driven_tip_diameter
from fitcheck.kernel.geometry import shift_sum_for, working_centre_distance
from fitcheck.kernel.teeth import Pair
from fitcheck.kernel.tolerances import centre_distance_tolerance
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.rules.answers import Answer, Datum, Evidence, Verdict
from fitcheck.rules.fit.identity import by_statement
from fitcheck.rules.setting import Setting

__all__ = [
    "GREY_MM",
    "SHIFT_SUM_LIMIT",
    "CentreDistance",
    "casing_clearance",
    "centre_distance",
    "driven_tip",
    "helix_hand",
    "judge_centre_distance",
]

GREY_MM = 0.05
"""Beyond this difference from the casing's centre distance, mm, a pair is ruled out."""

SHIFT_SUM_LIMIT = 2.5
"""Sum of profile shift coefficients beyond which no pair can be cut, either sign (judgement)."""


@dataclass(frozen=True, slots=True)
class CentreDistance:
    """A pair's working centre distance beside the casing's.

    Attributes:
        working_mm: of the pair at zero backlash, from its shift sum; None if that is unknown.
        casing_mm: of the family.
        tolerance_mm: difference up to which the pair fits.
        shift_sum: the given sum, or the one the casing would need; None if none gives it.
    """

    working_mm: float | None
    casing_mm: float
    tolerance_mm: float
    shift_sum: float | None

    @property
    def difference_mm(self) -> float | None:
        """Working minus casing, mm; positive means tight."""
        return None if self.working_mm is None else self.working_mm - self.casing_mm


def judge_centre_distance(
    pair: Pair, given: PairGeometry, casing: Decimal, tolerance: Decimal | None
) -> CentreDistance:
    """Work out a pair's centre distance and hold it beside the casing's (ISO 21771)."""
    casing_mm = float(casing)
    allowed = float(tolerance) if tolerance is not None else _standard_tolerance(casing_mm)
    if given.profile_shift_sum is not None:
        try:
            working = working_centre_distance(
                given.normal_module_mm,
                given.helix_angle_deg,
                pair.driver,
                pair.driven,
                given.profile_shift_sum,
                pressure_deg=given.pressure_angle_deg,
            )
        except ValueError:
            return CentreDistance(None, casing_mm, allowed, None)
        return CentreDistance(working, casing_mm, allowed, given.profile_shift_sum)
    try:
        needed = shift_sum_for(
            given.normal_module_mm,
            given.helix_angle_deg,
            pair.driver,
            pair.driven,
            casing_mm,
            pressure_deg=given.pressure_angle_deg,
        )
    except ValueError:
        return CentreDistance(None, casing_mm, allowed, None)
    return CentreDistance(None, casing_mm, allowed, needed)


def centre_distance(gear_set: Entry[GearSet], setting: Setting, stage: Stage) -> Answer:
    """The pair runs at the distance of the family's shafts."""
    record = gear_set.record
    pair = record.pairs[stage]
    family_stage = setting.family.record.stages.get(stage)
    casing = family_stage.centre_distance_mm if family_stage is not None else None
    given = record.geometry.get(stage)
    vouched = setting.vouched(record)
    if given is None or casing is None:
        what = (
            "its geometry is not known" if given is None else "the casing's distance is not known"
        )
        measure = (
            f"measure the {stage} pair: module, helix angle and tip diameters"
            if given is None
            else f"measure the distance of the two {stage} shafts in the casing"
        )
        return by_statement(
            gear_set, setting, "centre-distance", what, measure=measure, subject=stage
        )
    found = judge_centre_distance(
        pair, given, casing, family_stage.tolerance_mm if family_stage is not None else None
    )
    data = (
        Datum(
            gear_set,
            ("geometry", stage),
            f"m {given.normal_module_mm:g}, helix {given.helix_angle_deg:g}°",
        ),
        Datum(setting.family, ("stages", stage, "centre_distance_mm"), f"{casing} mm"),
    )
    difference = found.difference_mm
    if difference is None:
        return _without_shift(gear_set, setting, stage, found, data)
    shown = f"{found.working_mm:.3f} mm in a casing of {found.casing_mm:.3f} mm"
    if abs(difference) <= found.tolerance_mm:
        return Answer(
            "centre-distance",
            Verdict.FITS,
            Evidence.COMPUTED,
            f"{stage} {pair} runs at {shown}, within {found.tolerance_mm:.4g} mm",
            data,
            subject=stage,
        )
    tight = "tight, without backlash" if difference > 0 else "with too much backlash"
    if abs(difference) <= GREY_MM or (vouched is not None and vouched.evidence == "measured"):
        return Answer(
            "centre-distance",
            Verdict.UNPROVEN,
            Evidence.NONE,
            f"{stage} {pair} runs at {shown}: {abs(difference):.3f} mm off, perhaps {tight}",
            data,
            measure=f"mount the {stage} pair and measure its backlash all the way round",
            subject=stage,
        )
    return Answer(
        "centre-distance",
        Verdict.RULED_OUT,
        Evidence.NONE,
        f"{stage} {pair} runs at {shown}: {abs(difference):.3f} mm off, {tight}",
        data,
        subject=stage,
    )


def _without_shift(
    gear_set: Entry[GearSet],
    setting: Setting,
    stage: Stage,
    found: CentreDistance,
    data: tuple[Datum, ...],
) -> Answer:
    pair = gear_set.record.pairs[stage]
    if found.shift_sum is None or abs(found.shift_sum) > SHIFT_SUM_LIMIT:
        return Answer(
            "centre-distance",
            Verdict.RULED_OUT,
            Evidence.NONE,
            f"{stage} {pair} of this module and helix cannot be cut to run at "
            f"{found.casing_mm:.3f} mm",
            data,
            subject=stage,
        )
    return by_statement(
        gear_set,
        setting,
        "centre-distance",
        f"its profile shift is not known ({found.shift_sum:+.3f} would be needed)",
        data,
        measure=f"measure the tip diameters of the {stage} pair, which give its profile shift",
        subject=stage,
    )


def helix_hand(gear_set: Entry[GearSet], setting: Setting, stage: Stage) -> Answer:
    """The driver's helix has the hand of the factory driver, so that thrust goes the same way."""
    given = gear_set.record.geometry.get(stage)
    family_stage = setting.family.record.stages.get(stage)
    factory = family_stage.driver_hand if family_stage is not None else None
    data: tuple[Datum, ...] = ()
    if factory is not None:
        data = (Datum(setting.family, ("stages", stage, "driver_hand"), f"driver_hand: {factory}"),)
    if given is not None and given.helix_angle_deg == 0:
        return Answer(
            "helix-hand",
            Verdict.FITS,
            Evidence.COMPUTED,
            f"the {stage} pair is spur and gives no thrust",
            (Datum(gear_set, ("geometry", stage, "helix_angle_deg"), "helix 0°"), *data),
            subject=stage,
        )
    hand = given.driver_hand if given is not None else None
    if hand is not None:
        data = (Datum(gear_set, ("geometry", stage, "driver_hand"), f"driver_hand: {hand}"), *data)
    if hand is not None and factory is not None:
        if hand == factory:
            measured = "geometry" in gear_set.record.measured
            return Answer(
                "helix-hand",
                Verdict.FITS,
                Evidence.MEASURED if measured else Evidence.STATED,
                f"the {stage} driver is cut {hand}-handed like the factory's",
                data,
                subject=stage,
            )
        why = (
            "the factory pair is spur, and its shafts take no thrust"
            if factory == "spur"
            else f"the factory's is {factory}-handed: thrust would go the other way"
        )
        return Answer(
            "helix-hand",
            Verdict.RULED_OUT,
            Evidence.NONE,
            f"the {stage} driver is cut {hand}-handed; {why}",
            data,
            subject=stage,
        )
    return by_statement(
        gear_set,
        setting,
        "helix-hand",
        "the hand of its helix is not known" if hand is None else "the factory's hand is not known",
        data,
        measure=f"lay the {stage} pinions side by side and compare the slope of the teeth",
        subject=stage,
    )


def driven_tip(pair: Pair, given: PairGeometry) -> DrivenTip | None:
    """Tip diameter of the driven gear as a window: its tips may or may not be shortened."""
    if given.profile_shift_sum is None:
        return None
    try:
        return driven_tip_diameter(
            given.normal_module_mm,
            given.helix_angle_deg,
            pair.driver,
            pair.driven,
            given.profile_shift_sum,
            driver_shift=given.driver_profile_shift,
            pressure_deg=given.pressure_angle_deg,
        )
    except ValueError:
        return None


def casing_clearance(gear_set: Entry[GearSet], setting: Setting, stage: Stage) -> Answer:
    """The casing clears the tips of the driven gear."""
    record = gear_set.record
    given = record.geometry.get(stage)
    limits = setting.tip_limits(stage)
    ask = f"measure the {stage} wheel over its tips and the room in the casing"
    window = _tip_window(record, stage)
    if window is None or given is None or not limits:
        return by_statement(
            gear_set,
            setting,
            "casing-clearance",
            "the driven gear's tip diameter is not known"
            if window is None
            else "the casing's room is not known",
            measure=ask,
            subject=stage,
        )
    least, greatest, evidence = window
    measured = given.driven_tip_diameter_mm is not None
    tip = f"{least:.2f} mm" if greatest - least < 0.005 else f"{least:.2f} to {greatest:.2f} mm"
    steps = ("geometry", stage, "driven_tip_diameter_mm") if measured else ("geometry", stage)
    data = (
        Datum(gear_set, steps, f"driven tip {tip}"),
        *(Datum(setting.family, where, f"clears {limit} mm") for where, limit in limits),
    )
    smallest = min(limit for _, limit in limits)
    largest = max(limit for _, limit in limits)
    wheel = f"the {stage} wheel is {tip} over its tips"
    if greatest <= smallest:
        return Answer(
            "casing-clearance",
            Verdict.FITS,
            evidence,
            f"{wheel}, the casing clears {smallest} mm",
            data,
            subject=stage,
        )
    # While the housing is unknown, a housing without a limit on file may still clear the wheel.
    complete = setting.housing is not None or setting.all_limits_known(stage)
    if least > largest and complete:
        return Answer(
            "casing-clearance",
            Verdict.RULED_OUT,
            Evidence.NONE,
            f"{wheel}, the casing clears {largest} mm",
            data,
            subject=stage,
        )
    if setting.housing is None:
        return Answer(
            "casing-clearance",
            Verdict.UNPROVEN,
            Evidence.NONE,
            f"{wheel}; not every housing is known to clear it",
            data,
            "look which housing the machine has",
            stage,
        )
    return by_statement(
        gear_set,
        setting,
        "casing-clearance",
        f"{wheel}, the casing clears {smallest} mm: it hangs on how far the tips were shortened",
        data,
        measure=ask,
        subject=stage,
    )


def _tip_window(record: GearSet, stage: Stage) -> tuple[float, float, Evidence] | None:
    given = record.geometry.get(stage)
    if given is None:
        return None
    if given.driven_tip_diameter_mm is not None:
        tip = float(given.driven_tip_diameter_mm)
        return tip, tip, Evidence.MEASURED if "geometry" in record.measured else Evidence.STATED
    found = driven_tip(record.pairs[stage], given)
    if found is None or not found.split_known:
        return None
    return found.least, found.greatest, Evidence.COMPUTED


def _standard_tolerance(casing_mm: float) -> float:
    try:
        return centre_distance_tolerance(casing_mm, 8).half_width
    except ValueError:
        # Outside the sizes the standard's table covers here; no scooter gearbox is.
        return GREY_MM / 2
