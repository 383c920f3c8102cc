"""Do the gears run in the casing: centre distance, helix hand, room for the driven gear.

Working centre distances follow ISO 21771; the tolerance left unstated by a family is js8 of
ISO 286 for its centre distance. Between that and `GREY_MM` the answer stays open, since some pairs
run there and backlash has to be measured; the limit is a judgement, no standard sets it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.finding import DocumentPath
from fitcheck.kernel.geometry import shift_sum_for, working_centre_distance
from fitcheck.kernel.shift_split import DrivenTip, driven_tip_diameter
from fitcheck.kernel.teeth import Pair
from fitcheck.kernel.tolerances import centre_distance_tolerance
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.rules.answers import Answer, Datum, Evidence
from fitcheck.rules.fit.case import Case, own_evidence
from fitcheck.rules.setting import Setting

GREY_MM = 0.05
"""Beyond this difference from the casing's centre distance, mm, a pair is ruled out."""

SHIFT_SUM_LIMIT = 2.5
"""Sum of profile shift coefficients beyond which no pair can be cut, either sign (judgement)."""

TEETH_RATIO = 1.6
"""So many times the teeth of a factory pair, or the reverse, no statement settles (judgement).

One casing takes other numbers of teeth by one step of module in series I of ISO 54 (4/3 at most
from 1.25 to 2.5 mm), a helix of 0 to 30 degrees (1.155) and the usual profile shifts (1.05).
"""


def teeth_ratio(pair: Pair, teeth: float) -> float:
    """How many times as many teeth the larger has: a pair or another for the same shafts.

    At one module the sum of a pair's teeth stands for the distance of its shafts.

    Args:
        pair: the pair.
        teeth: sum of the other's teeth.
    """
    own = pair.driver + pair.driven
    return max(own, teeth) / min(own, teeth)


@dataclass(frozen=True, slots=True)
class CentreDistance:
    """A pair's working centre distance beside the casing's.

    Attributes:
        working_mm: of the pair at zero backlash, from its shift sum; None if that is unknown.
        casing_mm: of the family.
        tolerance_mm: difference up to which the pair fits.
        shift_sum: the given sum, else the one the casing would need; None if none gives it.
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
    """Work out a pair's centre distance and compare it with the casing's (ISO 21771)."""
    casing_mm = float(casing)
    allowed = float(tolerance) if tolerance is not None else _standard_tolerance(casing_mm)
    if given.profile_shift_sum is not None:
        working = _working_mm(pair, given)
        return CentreDistance(working, casing_mm, allowed, given.profile_shift_sum)
    return CentreDistance(None, casing_mm, allowed, needed_shift_sum(pair, given, casing))


def needed_shift_sum(pair: Pair, given: PairGeometry, casing: Decimal) -> float | None:
    """Shift sum at which a pair runs at the casing's distance, mm; None where none does."""
    try:
        return shift_sum_for(
            given.normal_module_mm,
            given.helix_angle_deg,
            pair.driver,
            pair.driven,
            float(casing),
            pressure_deg=given.pressure_angle_deg,
        )
    except ValueError:
        return None


def centre_distance(gear_set: Entry[GearSet], setting: Setting, stage: Stage) -> Answer:
    """The pair runs at the distance of the family's shafts."""
    case = Case("centre-distance", gear_set, setting, stage)
    record = gear_set.record
    pair = record.pairs[stage]
    family_stage = setting.family.record.stages.get(stage)
    casing = family_stage.centre_distance_mm if family_stage is not None else None
    given = record.geometry.get(stage)
    if given is not None and not _has_distance(pair, given):
        return case.against(
            f"{stage} {pair} with shift sum {given.profile_shift_sum:+g} runs at no distance",
            *_known(case, stage),
            measure=f"measure the {stage} pair again: module, helix angle and tip diameters",
        )
    if given is None or casing is None:
        return _without_distance(case, stage)
    found = judge_centre_distance(
        pair, given, casing, family_stage.tolerance_mm if family_stage is not None else None
    )
    data = _known(case, stage)
    difference = found.difference_mm
    if difference is None:
        return _without_shift(case, stage, found)
    shown = f"{found.working_mm:.3f} mm in a casing of {found.casing_mm:.3f} mm"
    if abs(difference) <= found.tolerance_mm:
        reason = f"{stage} {pair} runs at {shown}, within {found.tolerance_mm:.4g} mm"
        return case.fits(Evidence.COMPUTED, reason, *data)
    tight = "tight, without backlash" if difference > 0 else "with too much backlash"
    off = f"{stage} {pair} runs at {shown}: {abs(difference):.3f} mm off"
    backlash = f"mount the {stage} pair and measure its backlash all the way round"
    if abs(difference) <= GREY_MM:
        return case.unproven(f"{off}, perhaps {tight}", *data, measure=backlash)
    return case.against(f"{off}, {tight}", *data, measure=backlash)


def _without_distance(case: Case, stage: Stage) -> Answer:
    """The answer where the pair's geometry or the casing's distance is not on file.

    A supplier's statement settles no pair with far more or fewer teeth than every factory pair.
    """
    if stage in case.gear_set.record.geometry:
        what = "the casing's distance is not known"
        measure = f"measure the distance of the two {stage} shafts in the casing"
    else:
        what = "its geometry is not known"
        measure = f"measure the {stage} pair: module, helix angle and tip diameters"
    data = _known(case, stage)
    pair = case.gear_set.record.pairs[stage]
    factory = nearest_factory_pair(case.setting.family.record, stage, pair)
    if factory is None or case.is_tried:
        return case.by_statement(what, *data, measure=measure)
    teeth, usual = pair.driver + pair.driven, factory[1].driver + factory[1].driven
    if teeth_ratio(pair, usual) <= TEETH_RATIO:
        return case.by_statement(what, *data, measure=measure)
    return case.unproven(
        f"{what}, and {stage} {pair} has {teeth} teeth in all, the nearest factory pair "
        f"{factory[1]} {usual}: too far apart for a statement to settle",
        *data,
        Datum(case.setting.family, factory[0], f"factory pair {factory[1]}"),
        measure=f"count the {stage} pair again; {measure}",
    )


def nearest_factory_pair(
    family: Family, stage: Stage, pair: Pair
) -> tuple[DocumentPath, Pair] | None:
    """The family's factory pair of a stage with the nearest number of teeth, and its place.

    Args:
        family: the family.
        stage: the stage.
        pair: the pair to compare with; `teeth_ratio` says how far the two are apart.
    """
    return min(
        (
            (("factory_trains", index, "pairs", stage), train.pairs[stage])
            for index, train in enumerate(family.factory_trains)
            if stage in train.pairs
        ),
        key=lambda one: teeth_ratio(pair, one[1].driver + one[1].driven),
        default=None,
    )


def _has_distance(pair: Pair, given: PairGeometry) -> bool:
    """Whether there is a working angle for the shift sum, where one is given."""
    return given.profile_shift_sum is None or _working_mm(pair, given) is not None


def _working_mm(pair: Pair, given: PairGeometry) -> float | None:
    """Distance at which a pair runs without backlash, mm; None where its shift sum gives none."""
    assert given.profile_shift_sum is not None
    try:
        return working_centre_distance(
            given.normal_module_mm,
            given.helix_angle_deg,
            pair.driver,
            pair.driven,
            given.profile_shift_sum,
            pressure_deg=given.pressure_angle_deg,
        )
    except ValueError:
        return None


def _known(case: Case, stage: Stage) -> tuple[Datum, ...]:
    """What is on file of the pair's geometry and of the distance of the shafts."""
    data: tuple[Datum, ...] = ()
    gear_set, family = case.gear_set, case.setting.family
    given = gear_set.record.geometry.get(stage)
    if given is not None:
        words = f"m {given.normal_module_mm:g}, helix {given.helix_angle_deg:g}°"
        if "pressure_angle_deg" not in given.model_fields_set:
            words += f", pressure angle not given, {given.pressure_angle_deg:g}° taken"
        data += (Datum(gear_set, ("geometry", stage), words),)
    casing = family.record.stages[stage].centre_distance_mm
    if casing is not None:
        data += (Datum(family, ("stages", stage, "centre_distance_mm"), f"{casing} mm"),)
    return data


def _without_shift(case: Case, stage: Stage, found: CentreDistance) -> Answer:
    data = _known(case, stage)
    if found.shift_sum is None or abs(found.shift_sum) > SHIFT_SUM_LIMIT:
        return case.against(
            f"{stage} {case.gear_set.record.pairs[stage]} of this module and helix cannot be cut "
            f"to run at {found.casing_mm:.3f} mm",
            *data,
            measure=f"measure the {stage} pair again: module, helix angle and tip diameters",
        )
    return case.by_statement(
        f"its profile shift is not known ({found.shift_sum:+z.3f} would be needed)",
        *data,
        measure=f"measure the tip diameters of the {stage} pair, which give its profile shift",
    )


def helix_hand(gear_set: Entry[GearSet], setting: Setting, stage: Stage) -> Answer:
    """The driver's helix has the hand of the factory driver, so that thrust goes the same way."""
    case = Case("helix-hand", gear_set, setting, stage)
    given = gear_set.record.geometry.get(stage)
    family_stage = setting.family.record.stages.get(stage)
    factory = family_stage.driver_hand if family_stage is not None else None
    hand = given.driver_hand if given is not None else None
    theirs = Datum(setting.family, ("stages", stage, "driver_hand"), f"driver_hand: {factory}")
    ours = Datum(gear_set, ("geometry", stage, "driver_hand"), f"driver_hand: {hand}")
    angle = ("geometry", stage, "helix_angle_deg")
    at_factory = () if factory is None else (theirs,)
    if given is not None and given.helix_angle_deg == 0:
        spur = Datum(gear_set, angle, "helix 0°")
        if hand is None:
            reason = f"the {stage} pair is spur and gives no thrust"
            return case.fits(Evidence.COMPUTED, reason, spur, *at_factory)
        return case.unproven(
            f"the {stage} pair is given as spur and as cut {hand}-handed; one of the two is wrong",
            spur,
            ours,
            measure=f"look whether the teeth of the {stage} pair are straight",
        )
    data = at_factory if hand is None else (ours, *at_factory)
    if given is not None and factory == "spur":
        return case.ruled_out(
            f"the {stage} pair is helical; the factory pair is spur, and its shafts take no thrust",
            Datum(gear_set, angle, "helical"),
            *data,
        )
    if hand is None or factory is None:
        whose = "the hand of its helix" if hand is None else "the factory's hand"
        slope = f"lay the {stage} pinions side by side and compare the slope of the teeth"
        return case.by_statement(f"{whose} is not known", *data, measure=slope)
    if hand == factory:
        reason = f"the {stage} driver is cut {hand}-handed like the factory's"
        return case.fits(own_evidence(gear_set.record, "geometry"), reason, *data)
    return case.ruled_out(
        f"the {stage} driver is cut {hand}-handed; the factory's is {factory}-handed: thrust "
        "would go the other way",
        *data,
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
    """The casing clears the tips of the driven gear, in the machine's housing or in every one."""
    case = Case("casing-clearance", gear_set, setting, stage)
    limits = setting.tip_limits(stage)
    known = list(dict.fromkeys(limit for limit in limits if limit is not None))
    room = tuple(Datum(setting.family, where, f"clears {limit} mm") for where, limit in known)
    ask = f"measure the {stage} wheel over its tips and the room in the casing"
    tips = _tips(gear_set.record, stage)
    if tips is None or not known:
        what = "the driven gear's tip diameter" if tips is None else "the casing's room"
        return case.by_statement(f"{what} is not known", *room, measure=ask)
    steps = ("geometry", stage, "driven_tip_diameter_mm") if tips.given else ("geometry", stage)
    data = (Datum(gear_set, steps, f"driven tip {tips}"), *room)
    smallest, largest = min(limit for _, limit in known), max(limit for _, limit in known)
    wheel = f"the {stage} wheel is {tips} over its tips, the casing clears"
    # In one housing alone, or in one of those the machine may have, it fouls for certain.
    fouls = [limit is not None and tips.least > limit[1] for limit in limits]
    clears = [limit is not None and tips.greatest <= limit[1] for limit in limits]
    if all(clears) and tips.sure:
        return case.fits(tips.evidence, f"{wheel} {smallest} mm", *data)
    if all(fouls) and tips.sure:
        return case.against(f"{wheel} {largest} mm", *data, measure=ask)
    if all(fouls):
        reason = f"{wheel} {smallest} mm; its profile shift is not split between the gears"
        return case.unproven(reason, *data, measure=ask)
    if any(fouls):
        reason = f"{wheel} {smallest} mm; not every housing clears it"
        return case.unproven(reason, *data, measure="look which housing the machine has")
    reason = f"{wheel} {smallest} mm: it depends on how its tips were cut"
    if None in limits:
        reason = "a housing's room is not known"
    return case.by_statement(reason, *data, measure=ask)


@dataclass(frozen=True, slots=True)
class _Tips:
    """The driven gear's tip diameter, mm, as a window, and how it is known.

    `sure` is whether the true diameter is certain to lie in the window; `given` whether the
    record gives it.
    """

    least: Decimal | float
    greatest: Decimal | float
    evidence: Evidence
    sure: bool = True
    given: bool = False

    def __str__(self) -> str:
        if float(self.greatest) - float(self.least) < 0.005:
            return f"{self.least:.2f} mm"
        return f"{self.least:.2f} to {self.greatest:.2f} mm"


def _tips(record: GearSet, stage: Stage) -> _Tips | None:
    given = record.geometry.get(stage)
    if given is None:
        return None
    if given.driven_tip_diameter_mm is not None:
        tip = given.driven_tip_diameter_mm
        return _Tips(tip, tip, own_evidence(record, "geometry"), given=True)
    found = driven_tip(record.pairs[stage], given)
    if found is None:
        return None
    return _Tips(found.least, found.greatest, Evidence.COMPUTED, sure=found.split_known)


def _standard_tolerance(casing_mm: float) -> float:
    try:
        return centre_distance_tolerance(casing_mm, 8).half_width
    except ValueError:
        # Outside the sizes the standard's table covers here; no scooter gearbox is.
        return GREY_MM / 2
