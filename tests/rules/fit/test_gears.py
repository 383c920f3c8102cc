"""Centre distance, helix hand and casing clearance of a pair.

Figures come from `tests/kernel/same_casing.csv`: synthetic pairs computed at 40 digits and
confirmed by two open ISO 21771 programs. Tolerances are js8 of ISO 286: 0.0195 mm for 30 to 50 mm.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.gears import casing_clearance, centre_distance, helix_hand

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
STATED, COMPUTED, MEASURED = Evidence.STATED, Evidence.COMPUTED, Evidence.MEASURED

STATES = "fits:\n  - <5>{family: knot-50, housings: [short]}\n"
TRIED = "fits:\n  - <5>{family: knot-50, housings: [short], evidence: measured}\n"
ELSEWHERE = "fits:\n  - {family: knot-50, housings: [long], evidence: measured}\n"
# The factory pair 13/47 of the table: a_w 47.99993 mm.
GEOMETRY = "geometry: {primary: <1>{normal_module_mm: 1.5, helix_angle_deg: 20%s}}"
KNOWN = GEOMETRY % ", profile_shift_sum: 0.0752, driver_profile_shift: 0.288"
NO_SHIFT = GEOMETRY % ""

with (Path(__file__).parents[2] / "kernel" / "same_casing.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))


def named(case):
    return case["name"].replace(" ", "-")


def distance(value: float | str, extra: str = "") -> dict[str, str]:
    return {"stages": f"{{primary: {{centre_distance_mm: <2>{value}{extra}}}, secondary: {{}}}}"}


DISTANCE_CASES = [
    {
        "name": "runs at the casing's distance",
        "gear_set": KNOWN,
        "family": distance("48.0"),
        "verdict": FITS,
        "evidence": COMPUTED,
        "says": "runs at 48.000 mm in a casing of 48.000 mm, within 0.0195 mm",
    },
    {
        "name": "computed is stronger than stated",
        "gear_set": STATES.replace("<5>", "") + KNOWN,
        "family": distance("48.0"),
        "verdict": FITS,
        "evidence": COMPUTED,
    },
    *(
        {
            "name": f"casing at {casing} {extra}",
            "gear_set": KNOWN,
            "family": distance(casing, extra),
            "verdict": verdict,
            "evidence": COMPUTED if verdict is FITS else Evidence.NONE,
            "says": says,
            "measure": "measure its backlash" if verdict is OPEN else None,
        }
        for casing, extra, verdict, says in [
            ("48.0193", "", FITS, ""),  # 0.0194 mm of backlash side
            ("48.0195", "", OPEN, "perhaps with too much backlash"),  # 0.0196 mm
            ("48.0499", "", OPEN, "0.050 mm off"),  # 0.04997 mm
            ("48.0501", "", OUT, "with too much backlash"),  # 0.05017 mm
            ("47.9805", "", FITS, ""),  # 0.0194 mm tight
            ("47.9803", "", OPEN, "perhaps tight, without backlash"),  # 0.0196 mm
            ("47.9500", "", OPEN, "tight"),  # 0.04993 mm
            ("47.9498", "", OUT, "tight, without backlash"),  # 0.0501 mm
            ("48.0098", ", tolerance_mm: 0.01", FITS, "within 0.01 mm"),
            ("48.0101", ", tolerance_mm: 0.01", OPEN, ""),
            ("48.0790", ", tolerance_mm: 0.08", FITS, "within 0.08 mm"),
            ("48.0810", ", tolerance_mm: 0.08", OUT, ""),
        ]
    ),
    {
        "name": "off, whatever the supplier says",
        "gear_set": STATES.replace("<5>", "") + KNOWN,
        "family": distance("48.2"),
        "verdict": OUT,
        "says": "0.200 mm off, with too much backlash",
    },
    {
        "name": "a little off, whatever the supplier says",
        "gear_set": STATES.replace("<5>", "") + KNOWN,
        "family": distance("48.03"),
        "verdict": OPEN,
        "measure": "backlash",
    },
    {
        "name": "off, yet tried in the shop",
        "gear_set": TRIED + KNOWN,
        "family": distance("48.2"),
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "backlash",
    },
    {
        "name": "off, and tried in another housing",
        "gear_set": ELSEWHERE + KNOWN,
        "family": distance("48.2"),
        "verdict": OUT,
    },
    {
        "name": "geometry unknown",
        "gear_set": "",
        "family": distance("48.0"),
        "verdict": OPEN,
        "says": "its geometry is not known",
        "measure": "module, helix angle and tip diameters",
    },
    {
        "name": "geometry unknown, stated",
        "gear_set": STATES,
        "family": distance("48.0"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "geometry unknown, tried",
        "gear_set": TRIED,
        "family": distance("48.0"),
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "geometry unknown, stated for another housing",
        "gear_set": "fits: [{family: knot-50, housings: [long]}]",
        "family": distance("48.0"),
        "verdict": OPEN,
        "measure": "module",
    },
    {
        "name": "geometry unknown, listed only",
        "gear_set": "listed_for: {models: [Knot Ten], wheel_size_in: 10}",
        "family": distance("48.0"),
        "verdict": OPEN,
        "measure": "module",
    },
    {
        "name": "casing unknown",
        "gear_set": KNOWN,
        "family": {"stages": "{primary: {}, secondary: {centre_distance_mm: 48.0}}"},
        "verdict": OPEN,
        "says": "the casing's distance is not known",
        "measure": "the distance of the two primary shafts",
    },
    {
        "name": "casing unknown, stated",
        "gear_set": STATES + KNOWN,
        "family": {"stages": "{primary: {}, secondary: {}}"},
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        # 0.0752 rounded: the table's shift sum for 13/47 at 48 mm.
        "name": "shift unknown",
        "gear_set": NO_SHIFT,
        "family": distance("48.0"),
        "verdict": OPEN,
        "says": "profile shift is not known (+0.075 would be needed)",
        "measure": "tip diameters",
    },
    {
        "name": "shift unknown, stated",
        "gear_set": STATES + NO_SHIFT,
        "family": distance("48.0"),
        "verdict": FITS,
        "evidence": STATED,
        "says": "+0.075",
    },
    {
        "name": "only the driver's shift known",
        "gear_set": GEOMETRY % ", driver_profile_shift: 0.288",
        "family": distance("48.0"),
        "verdict": OPEN,
        "measure": "tip diameters",
    },
    {
        # 14/43 needs a sum of 1.9349 at 48 mm: far, but some wheel could be cut so.
        "name": "shift unknown and large",
        "gear_set": NO_SHIFT,
        "pairs": "{primary: 14/43}",
        "family": distance("48.0"),
        "verdict": OPEN,
        "says": "+1.935",
        "measure": "tip diameters",
    },
    {
        "name": "no gear of this sum can be cut for the casing",
        "gear_set": STATES.replace("<5>", "") + NO_SHIFT,
        "pairs": "{primary: 14/39}",
        "family": distance("48.0"),
        "verdict": OUT,
        "says": "cannot be cut",
    },
    {
        "name": "cannot be cut, yet tried",
        "gear_set": TRIED + NO_SHIFT,
        "pairs": "{primary: 14/39}",
        "family": distance("48.0"),
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "measure the primary pair again",
    },
    {
        "name": "a shift sum that no distance gives",
        "gear_set": GEOMETRY % ", profile_shift_sum: -5",
        "family": distance("48.0"),
        "verdict": OUT,
    },
]


@pytest.mark.parametrize("case", DISTANCE_CASES, ids=named)
def test_centre_distance(situate, case):
    here = situate(case)
    here.holds(centre_distance(here.catalogue.gear_sets["S"], here.setting, "primary"))


def pair_of(row):
    stage = {"P": "primary", "S": "secondary"}[row["stage"]]
    return stage, f"{{{stage}: {row['z1']}/{row['z2']}}}"


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['stage']}{row['z1']}-{row['z2']}")
def test_pairs_of_other_sums_run_in_the_same_casing(situate, row):
    """Every row of the table fits: 48 mm primary, 50 mm secondary, whatever its tooth sum."""
    stage, pairs = pair_of(row)
    case = {
        "gear_set": f"geometry: {{{stage}: <1>{{normal_module_mm: {row['mn']}, helix_angle_deg: "
        f"{row['beta']}, profile_shift_sum: {row['sum_x']}, driver_profile_shift: {row['x1']}}}}}",
        "pairs": pairs,
        "verdict": FITS,
        "evidence": COMPUTED,
        "family": {
            "stages": "{primary: {centre_distance_mm: 48.0, max_tip_diameter_mm: 77.39}, "
            "secondary: {centre_distance_mm: 50.0, max_tip_diameter_mm: 81.0}}"
        },
    }
    here = situate(case)
    answer = centre_distance(here.catalogue.gear_sets["S"], here.setting, stage)
    assert (answer.verdict, answer.evidence) == (FITS, COMPUTED)
    assert f"runs at {float(row['aw_from_x']):.3f} mm" in answer.reason
    # No driven gear of the table is larger than the factory's: 77.384 and 80.965 mm over its
    # shortened tips, 77.386 and 80.998 mm (d + 2 m_n (1 + x2)) over those that are not.
    clearance = casing_clearance(here.catalogue.gear_sets["S"], here.setting, stage)
    assert (clearance.verdict, clearance.evidence) == (FITS, COMPUTED)
    shortened = re.search(r"wheel is ([0-9.]+) ", clearance.reason)
    assert float(shortened[1]) == pytest.approx(float(row["da2"]), abs=0.0056)


@pytest.mark.parametrize("shift", ["", ", profile_shift_sum: 0.0752", ", profile_shift_sum: 1.2"])
@pytest.mark.parametrize(
    ("stage", "module", "pair"),
    [
        ("primary", "1.5", "14/39"),  # sum 53: reference distance 42.301 mm, 5.70 short of 48
        ("secondary", "1.5", "13/45"),  # sum 58: 46.292 mm, 3.71 short of 50
        ("primary", "1.75", "13/47"),  # sum 60: 55.869 mm, 7.87 over 48
    ],
)
def test_pairs_that_cannot_run_there_are_ruled_out(situate, stage, module, pair, shift):
    """Controls that must be refused, with the shift known or not, stated or not."""
    for claim in ("", STATES):
        here = situate(
            {
                "gear_set": f"{claim}geometry: {{{stage}: {{normal_module_mm: {module}, "
                f"helix_angle_deg: 20{shift}}}}}",
                "pairs": f"{{{stage}: {pair}}}",
                "verdict": OUT,
            }
        )
        answer = centre_distance(here.catalogue.gear_sets["S"], here.setting, stage)
        assert answer.verdict is OUT, answer.reason


def hand(factory: str) -> dict[str, str]:
    return {
        "stages": f"{{primary: {{driver_hand: <2>{factory}}}, secondary: {{driver_hand: left}}}}"
    }


HELIX = "geometry: {primary: {normal_module_mm: 1.5, helix_angle_deg: %s}}"
HAND_CASES = [
    {
        "name": "the factory's hand",
        "gear_set": HELIX % "20, driver_hand: <1>left",
        "family": hand("left"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "the factory's hand, measured",
        "gear_set": HELIX % "20, driver_hand: <1>left" + "\nmeasured: [geometry]",
        "family": hand("left"),
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "the other hand, whatever the supplier says",
        "gear_set": STATES.replace("<5>", "") + HELIX % "20, driver_hand: <1>right",
        "family": hand("left"),
        "verdict": OUT,
        "says": "cut right-handed; the factory's is left-handed",
    },
    {
        # A gearbox runs with the thrust the wrong way, for a while.
        "name": "the other hand, tried",
        "gear_set": TRIED.replace("<5>", "") + HELIX % "20, driver_hand: <1>right",
        "family": hand("left"),
        "verdict": OUT,
    },
    {
        "name": "spur in a helical gearbox",
        "gear_set": HELIX % "<1>0",
        "family": hand("left"),
        "verdict": FITS,
        "evidence": COMPUTED,
        "says": "spur and gives no thrust",
    },
    {
        "name": "spur in a spur gearbox",
        "gear_set": HELIX % "<1>0",
        "family": hand("spur"),
        "verdict": FITS,
        "evidence": COMPUTED,
    },
    {
        "name": "spur, factory unknown",
        "gear_set": HELIX % "<1>0",
        "family": {"stages": "{primary: {}, secondary: {}}"},
        "verdict": FITS,
        "evidence": COMPUTED,
    },
    {
        "name": "spur, yet of a hand",
        "gear_set": STATES.replace("<5>", "") + HELIX % "<1>0, driver_hand: <2>left",
        "family": {"stages": "{primary: {driver_hand: left}, secondary: {}}"},
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "whether the teeth of the primary pair are straight",
    },
    {
        "name": "helical in a spur gearbox",
        "gear_set": HELIX % "<1>20, driver_hand: <3>left",
        "family": hand("spur"),
        "verdict": OUT,
        "says": "its shafts take no thrust",
        "at": (1, 3, 2),
    },
    {
        "name": "helical of unknown hand in a spur gearbox, stated",
        "gear_set": STATES.replace("<5>", "") + HELIX % "<1>20",
        "family": hand("spur"),
        "verdict": OUT,
        "says": "its shafts take no thrust",
    },
    {
        "name": "hand unknown",
        "gear_set": HELIX % "20",
        "family": hand("left"),
        "verdict": OPEN,
        "says": "the hand of its helix is not known",
        "measure": "compare the slope",
    },
    {
        "name": "hand unknown, stated",
        "gear_set": STATES + HELIX % "20",
        "family": hand("left"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "geometry unknown, factory spur",
        "gear_set": "",
        "family": hand("spur"),
        "verdict": OPEN,
        "measure": "compare the slope",
    },
    {
        "name": "factory's hand unknown",
        "gear_set": HELIX % "20, driver_hand: <1>left",
        "family": {"stages": "{primary: {}, secondary: {driver_hand: right}}"},
        "verdict": OPEN,
        "says": "the factory's hand is not known",
        "measure": "compare the slope",
    },
]


@pytest.mark.parametrize("case", HAND_CASES, ids=named)
def test_helix_hand(situate, case):
    here = situate(case)
    here.holds(helix_hand(here.catalogue.gear_sets["S"], here.setting, "primary"))


def room(stage: str | None, short: str | None = None, long: str | None = None) -> dict[str, str]:
    """The casing's tip clearance: of the stage, and of either housing where it has its own."""

    def own(limit: str | None) -> str:
        return "" if limit is None else f", max_tip_diameter_mm: {{primary: {limit}}}"

    given = "" if stage is None else f"max_tip_diameter_mm: {stage}"
    return {
        "stages": f"{{primary: {{{given}}}, secondary: {{max_tip_diameter_mm: 1}}}}",
        "housings": f"{{short: {{name: short case{own(short)}}}, "
        f"long: {{name: long case{own(long)}}}}}",
    }


# 14/45 of the table is 75.590 mm over its shortened tips; unshortened, d + 2 m_n (1 + x2) =
# 71.832 + 3 x 1.2896 = 75.701 mm.
WINDOW = GEOMETRY % ", profile_shift_sum: 0.6436, driver_profile_shift: 0.354"
SUM_ONLY = GEOMETRY % ", profile_shift_sum: 0.6436"
TIP = HELIX % "20, driven_tip_diameter_mm: <1>77.4"
CLEARANCE_CASES = [
    {
        "name": "cleared even unshortened",
        "gear_set": WINDOW,
        "family": room("<2>75.71"),
        "verdict": FITS,
        "evidence": COMPUTED,
        "says": "75.59 to 75.70 mm over its tips, the casing clears 75.71 mm",
    },
    {
        "name": "fouls even shortened, whatever the supplier says",
        "gear_set": STATES.replace("<5>", "") + WINDOW,
        "family": room("<2>75.58"),
        "verdict": OUT,
        "says": "75.59 to 75.70 mm over its tips, the casing clears 75.58 mm",
    },
    {
        "name": "fouls, yet tried",
        "gear_set": TRIED + WINDOW,
        "family": room("<2>75.58"),
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "measure the primary wheel over its tips",
    },
    {
        "name": "hangs on the shortening",
        "gear_set": WINDOW,
        "family": room("<2>75.65"),
        "verdict": OPEN,
        "says": "it hangs on how its tips were cut",
        "measure": "measure the primary wheel over its tips",
    },
    {
        "name": "hangs on the shortening, stated",
        "gear_set": STATES + WINDOW,
        "family": room("<2>75.65"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "the housing's own room, smaller",
        "gear_set": WINDOW,
        "family": room("90", short="<2>75.58"),
        "verdict": OUT,
    },
    {
        "name": "the housing's own room, larger",
        "gear_set": WINDOW,
        "family": room("75.58", short="<2>90"),
        "verdict": FITS,
        "evidence": COMPUTED,
    },
    {
        "name": "another housing's room does not count",
        "gear_set": WINDOW,
        "family": room("<2>90", long="70"),
        "verdict": FITS,
        "evidence": COMPUTED,
    },
    {
        "name": "only another housing's room known",
        "gear_set": WINDOW,
        "family": room(None, long="90"),
        "verdict": OPEN,
        "says": "the casing's room is not known",
        "measure": "the room in the casing",
        "at": (),
    },
    {
        "name": "room unknown, stated",
        "gear_set": STATES + WINDOW,
        "family": room(None),
        "verdict": FITS,
        "evidence": STATED,
        "at": (5,),
    },
    {
        "name": "tip given",
        "gear_set": TIP,
        "family": room("<2>78"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "tip measured, exactly the room",
        "gear_set": TIP + "\nmeasured: [geometry]",
        "family": room("<2>77.4"),
        "verdict": FITS,
        "evidence": MEASURED,
        "says": "77.40 mm over its tips",
    },
    {
        "name": "tip measured, a hair over the room",
        "gear_set": TIP + "\nmeasured: [geometry]",
        "family": room("<2>77.399"),
        "verdict": OUT,
    },
    {
        "name": "geometry unknown",
        "gear_set": "",
        "family": room("<2>78"),
        "verdict": OPEN,
        "says": "tip diameter is not known",
        "measure": "measure the primary wheel",
    },
    {
        "name": "geometry unknown, stated",
        "gear_set": STATES,
        "family": room("<2>78"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "shift unknown",
        "gear_set": NO_SHIFT.replace("<1>", ""),
        "family": room("<2>90"),
        "verdict": OPEN,
        "measure": "measure the primary wheel",
    },
    {
        # However it is split, both gears sound; but soundness is usual, not proved.
        "name": "split unknown, room for every sound split",
        "gear_set": SUM_ONLY,
        "family": room("<2>90"),
        "verdict": OPEN,
        "measure": "measure the primary wheel",
    },
    {
        "name": "split unknown, room for every sound split, stated",
        "gear_set": STATES + SUM_ONLY,
        "family": room("<2>90"),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "split unknown, no sound split has room, stated",
        "gear_set": STATES.replace("<5>", "") + SUM_ONLY,
        "family": room("<2>70"),
        "verdict": OPEN,
        "says": "not split",
        "measure": "measure the primary wheel",
    },
    {
        "name": "housing unknown, each clears",
        "gear_set": WINDOW,
        "family": room(None, short="<2>76", long="<3>75.71"),
        "housing": None,
        "verdict": FITS,
        "evidence": COMPUTED,
        "says": "the casing clears 75.71 mm",
    },
    {
        "name": "housing unknown, one general room",
        "gear_set": WINDOW,
        "family": room("<2>76"),
        "housing": None,
        "verdict": FITS,
        "evidence": COMPUTED,
    },
    {
        "name": "housing unknown, one fouls",
        "gear_set": STATES.replace("<5>", "").replace("[short]", "[short, long]") + WINDOW,
        "family": room("<3>76", short="<2>75.5"),
        "housing": None,
        "verdict": OPEN,
        "says": "not every housing clears it",
        "measure": "look which housing",
    },
    {
        "name": "housing unknown, each fouls",
        "gear_set": WINDOW,
        "family": room("<3>75.4", short="<2>75.5"),
        "housing": None,
        "verdict": OUT,
        "says": "the casing clears 75.5 mm",
    },
    {
        # One housing clears it; of the other nobody knows, so it is not proved.
        "name": "housing unknown, one clears and one has no room on file",
        "gear_set": WINDOW,
        "family": room(None, short="<2>90"),
        "housing": None,
        "verdict": OPEN,
        "says": "a housing's room is not known",
        "measure": "the room in the casing",
    },
    {
        "name": "housing unknown, one fouls and one has no room on file",
        "gear_set": WINDOW,
        "family": room(None, short="<2>70"),
        "housing": None,
        "verdict": OPEN,
        "measure": "look which housing",
    },
    {
        "name": "housing unknown, one clears and one has no room, stated for each",
        "gear_set": STATES.replace("[short]", "[short, long]") + WINDOW,
        "family": room(None, short="<2>90"),
        "housing": None,
        "verdict": FITS,
        "evidence": STATED,
    },
]


@pytest.mark.parametrize("case", CLEARANCE_CASES, ids=named)
def test_casing_clearance(situate, case):
    case = {"pairs": "{primary: 14/45}", **case}
    here = situate(case)
    here.holds(casing_clearance(here.catalogue.gear_sets["S"], here.setting, "primary"))
