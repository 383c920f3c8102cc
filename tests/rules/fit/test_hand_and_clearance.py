"""Helix hand and casing clearance of a pair.

Figures come from `tests/kernel/same_casing.csv`: synthetic pairs computed at 40 digits and
confirmed by two open ISO 21771 programs.
"""

from __future__ import annotations

from operator import itemgetter

import pytest

from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.gears import casing_clearance, helix_hand

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
STATED, COMPUTED, MEASURED = Evidence.STATED, Evidence.COMPUTED, Evidence.MEASURED

STATES = "fits:\n  - <5>{family: knot-50, housings: [short]}\n"
TRIED = "fits:\n  - <5>{family: knot-50, housings: [short], evidence: measured}\n"
GEOMETRY = "geometry: {primary: <1>{normal_module_mm: 1.5, helix_angle_deg: 20%s}}"
NO_SHIFT = GEOMETRY % ""


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


@pytest.mark.parametrize("case", HAND_CASES, ids=itemgetter("name"))
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
        "says": "it depends on how its tips were cut",
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
        "says": "wheel is 77.40 mm over its tips",
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
        "name": "housing unknown, one has exactly the room and one no room on file",
        "gear_set": TIP,
        "family": room(None, short="<2>77.4"),
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


@pytest.mark.parametrize("case", CLEARANCE_CASES, ids=itemgetter("name"))
def test_casing_clearance(situate, case):
    case = {"pairs": "{primary: 14/45}", **case}
    here = situate(case)
    here.holds(casing_clearance(here.catalogue.gear_sets["S"], here.setting, "primary"))
