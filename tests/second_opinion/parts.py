"""What is asked of each set by itself, from docs/matching.md."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.second_opinion.cases import (
    FITS,
    RULED_OUT,
    UNPROVEN,
    Answer,
    Case,
    Vouched,
    against,
    basic_number,
    code,
    met,
    settled,
    told,
)
from tests.second_opinion.claims import family_answer, housing_answer
from tests.second_opinion.gearing import (
    GREATEST_SHIFT_SUM,
    GREY_MM,
    Teeth,
    driven_tips,
    shift_sum_for,
    tolerance_mm,
    working_distance,
)
from tests.second_opinion.reading import Record, teeth


@dataclass
class Part:
    """One set against one case: its answers, and what joints need of it."""

    name: str
    record: Record
    holds: tuple[str, ...]
    answers: list[Answer]
    vouched: Vouched
    same_teeth: bool
    """Whether it has the very teeth that the machine has now."""

    @property
    def dead(self) -> list[str]:
        """Rules that rule it out by itself."""
        return [answer.rule for answer in self.answers if answer.verdict == RULED_OUT]

    def seat(self, which: str) -> str | None:
        """`wheel_seat` or `pinion_seat`, as it is compared."""
        return code((self.record.get("interfaces") or {}).get(which))

    def told(self, *data: str) -> str:
        """Stated, or measured where the record says that all of DATA were."""
        return told(self.record, *data)


def judge_part(case: Case, name: str, record: Record) -> Part:
    """Every answer about one set by itself."""
    holds = tuple(record["pairs"])
    whole = set(holds) == set(case.stages)
    in_place = whole or (len(holds) == 1 and holds[0] in case.stages)
    family, housing = family_answer(case, name, record), housing_answer(case, record)
    vouched = Vouched(housing[1] if family[0] == housing[0] == FITS else None)
    answers = [Answer("family", *family, name), Answer("housing", *housing, name)]
    if in_place:
        met["stage: whole train" if len(holds) > 1 else "stage: one"] += 1
        answers.append(Answer("stage", FITS, told(record, "pairs"), name))
    else:
        lacks = not set(holds) <= set(case.stages)
        met["stage: lacking" if lacks else "stage: some of three"] += 1
        answers.append(Answer("stage", RULED_OUT, "none", name))
    if family[0] != RULED_OUT and in_place:
        stages = [stage for stage in case.stages if stage in holds]
        answers.append(Answer("matched-pair", *pair_answer(record), name))
        answers += shaft_answers(case, name, record, stages, vouched)
        answers += bearing_answers(case, name, record, vouched)
        answers += own_seat_answers(name, record, stages, vouched)
        for stage in stages:
            answers.append(
                Answer(
                    "centre-distance", *distance_answer(case, record, stage, vouched), name, stage
                )
            )
            answers.append(
                Answer("helix-hand", *helix_answer(case, record, stage, vouched), name, stage)
            )
            answers.append(
                Answer("casing-clearance", *room_answer(case, record, stage, vouched), name, stage)
            )
    now = dict(zip(case.stages, case.pairs, strict=True))
    same = all(teeth(pair) == now.get(stage) for stage, pair in record["pairs"].items())
    return Part(name, record, holds, answers, vouched, same)


def pair_answer(record: Record) -> tuple[str, str]:
    """Are both gears of each pair in the parcel?"""
    for gears in (record.get("members") or {}).values():
        if len(set(gears)) < 2:
            met["matched-pair: one gear left out"] += 1
            return RULED_OUT, "none"
    met["matched-pair: both"] += 1
    return FITS, told(record, "pairs")


def shaft_answers(
    case: Case, name: str, record: Record, stages: list[str], vouched: Vouched
) -> list[Answer]:
    """Do the outer gears fit the shaft ends?"""
    ends = []
    if case.stages[0] in stages:
        ends.append("input_shaft_end")
    if case.stages[-1] in stages:
        ends.append("output_shaft_end")
    answers = []
    for end in ends:
        rule = end.replace("_", "-")
        own = code((record.get("interfaces") or {}).get(end))
        factory = code(case.interfaces.get(end))
        if own is None or factory is None:
            answer = settled(vouched, rule)
        elif own == factory:
            met[f"{rule}: equal, {told(record, end)}"] += 1
            answer = FITS, told(record, end)
        else:
            answer = against(vouched, rule)
        answers.append(Answer(rule, *answer, name))
    return answers


def bearing_answers(case: Case, name: str, record: Record, vouched: Vouched) -> list[Answer]:
    """Do its shafts run in the family's bearings?"""
    named = (record.get("interfaces") or {}).get("bearings")
    if not named:
        return []
    factory = {basic_number(text) for text in case.interfaces.get("bearings") or []}
    own = {basic_number(text) for text in named}
    if not factory - {None}:
        answer = settled(vouched, "bearings")
    elif own - {None} - factory:
        answer = settled(vouched, "bearings") if None in factory else against(vouched, "bearings")
    elif None in own:
        answer = settled(vouched, "bearings")
    else:
        met[f"bearings: among them, {told(record, 'bearings')}"] += 1
        answer = FITS, told(record, "bearings")
    return [Answer("bearings", *answer, name)]


def own_seat_answers(
    name: str, record: Record, stages: list[str], vouched: Vouched
) -> list[Answer]:
    """A whole two-stage train: does its wheel sit on its own pinion's shaft?"""
    interfaces = record.get("interfaces") or {}
    wheel, pinion = code(interfaces.get("wheel_seat")), code(interfaces.get("pinion_seat"))
    if len(stages) != 2 or wheel is None or pinion is None:
        return []
    if wheel == pinion:
        met["own seat: equal"] += 1
        answer = FITS, told(record, "wheel_seat", "pinion_seat")
    else:
        answer = against(vouched, "own seat")
    return [Answer("idler-seat", *answer, name)]


def geometry_of(record: Record, stage: str) -> tuple[Record, Teeth] | None:
    """What is known of one pair's geometry."""
    geometry = (record.get("geometry") or {}).get(stage)
    if not geometry:
        return None
    return geometry, Teeth(
        *teeth(record["pairs"][stage]),
        float(geometry["normal_module_mm"]),
        math.radians(float(geometry["helix_angle_deg"])),
        math.radians(float(geometry.get("pressure_angle_deg", 20))),
    )


def distance_answer(case: Case, record: Record, stage: str, vouched: Vouched) -> tuple[str, str]:
    """Does the pair run at the distance of the shafts?"""
    where = "centre-distance"
    shafts = case.family["stages"][stage] or {}
    known = geometry_of(record, stage)
    if known is None:
        return settled_by_teeth(case, record, stage, vouched, "no geometry")
    geometry, pair = known
    if "profile_shift_sum" in geometry:
        runs = working_distance(pair, float(geometry["profile_shift_sum"]))
        if runs is None:
            return against(vouched, f"{where}, no working angle")
        if "centre_distance_mm" in shafts:
            return runs_at(runs, shafts, vouched)
    if "centre_distance_mm" not in shafts:
        return settled_by_teeth(case, record, stage, vouched, "no distance on file")
    needed = shift_sum_for(pair, float(shafts["centre_distance_mm"]))
    if needed is None or abs(needed) > GREATEST_SHIFT_SUM:
        return against(vouched, f"{where}, no shift sum would do")
    return settled(vouched, f"{where}, a shift sum would do")


def settled_by_teeth(
    case: Case, record: Record, stage: str, vouched: Vouched, why: str
) -> tuple[str, str]:
    """Nothing to work with: a statement counts while some factory pair has about as many teeth."""
    own = sum(teeth(record["pairs"][stage]))
    sums = [
        sum(teeth(train["pairs"][stage]))
        for train in case.family.get("factory_trains") or []
        if stage in train["pairs"]
    ]
    far = bool(sums) and all(10 * max(own, each) > 16 * min(own, each) for each in sums)
    if far and vouched.evidence == "stated":
        met["centre-distance: teeth too far from the factory's for a statement"] += 1
        return UNPROVEN, "none"
    return settled(vouched, f"centre-distance, {why}{', teeth far off' if far else ''}")


def runs_at(runs: float, shafts: Record, vouched: Vouched) -> tuple[str, str]:
    """A pair that runs at a distance which is known, in a casing whose distance is."""
    where = "centre-distance"
    distance = float(shafts["centre_distance_mm"])
    off = abs(runs - distance)
    if off <= float(shafts.get("tolerance_mm", tolerance_mm(distance))):
        met[f"{where}: within"] += 1
        return FITS, "computed"
    if off <= GREY_MM:
        met[f"{where}: grey{', vouched' if vouched.evidence else ''}"] += 1
        return UNPROVEN, "none"
    return against(vouched, where)


def helix_answer(case: Case, record: Record, stage: str, vouched: Vouched) -> tuple[str, str]:
    """Is the driver's helix cut to the factory's hand?"""
    factory = ((case.family["stages"][stage] or {}) or {}).get("driver_hand")
    geometry = (record.get("geometry") or {}).get(stage) or {}
    hand = geometry.get("driver_hand")
    if geometry and float(geometry["helix_angle_deg"]) == 0:
        met[f"helix-hand: spur{' with a hand' if hand else ''}"] += 1
        return (UNPROVEN, "none") if hand else (FITS, "computed")
    if geometry and factory == "spur":
        met["helix-hand: helical for spur"] += 1
        return RULED_OUT, "none"
    if hand is None or factory in (None, "spur"):
        return settled(vouched, "helix-hand")
    if hand == factory:
        met[f"helix-hand: equal, {told(record, 'geometry')}"] += 1
        return FITS, told(record, "geometry")
    met[f"helix-hand: other hand{', vouched by a trial' if vouched.by_trial else ''}"] += 1
    return RULED_OUT, "none"


def room_answer(case: Case, record: Record, stage: str, vouched: Vouched) -> tuple[str, str]:
    """Does the casing clear the tips of the driven gear?"""
    where = "casing-clearance"
    rooms = [room(case, housing, stage) for housing in case.housings]
    low, high, sure, evidence = tips(record, stage)
    if low is None or high is None or all(value is None for value in rooms):
        return settled(vouched, where)
    known = [value for value in rooms if value is not None]
    over = [low > value for value in known]
    whole = len(known) == len(rooms)
    if sure and whole and all(high <= value for value in known):
        met[f"{where}: clears, {evidence}"] += 1
        return FITS, evidence
    if sure and whole and all(over):
        return against(vouched, where)
    if any(over):
        met[f"{where}: over {'all, unsure' if all(over) and not sure else 'some'}"] += 1
        return UNPROVEN, "none"
    return settled(vouched, f"{where}, {'unsure' if not sure else 'in between'}")


def room(case: Case, housing: str, stage: str) -> float | None:
    """The largest tip diameter that a housing clears."""
    own = (case.family["housings"][housing].get("max_tip_diameter_mm") or {}).get(stage)
    shared = (
        (case.family["stages"][stage] or {}).get("max_tip_diameter_mm")
        if case.family["stages"][stage]
        else None
    )
    value = own if own is not None else shared
    return None if value is None else float(value)


def tips(record: Record, stage: str) -> tuple[float | None, float | None, bool, str]:
    """Smallest and largest tip diameter, whether they are sure, and their evidence."""
    known = geometry_of(record, stage)
    if known is None:
        return None, None, False, "none"
    geometry, pair = known
    if "driven_tip_diameter_mm" in geometry:
        value = float(geometry["driven_tip_diameter_mm"])
        return value, value, True, told(record, "geometry")
    if "profile_shift_sum" not in geometry:
        return None, None, False, "none"
    shift = geometry.get("driver_profile_shift")
    window = driven_tips(
        pair, float(geometry["profile_shift_sum"]), None if shift is None else float(shift)
    )
    if window is None:
        met["casing-clearance: no x1 does"] += 1
        return None, None, False, "none"
    return *window, shift is not None, "computed"
