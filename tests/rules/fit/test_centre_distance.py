"""Centre distance of a pair; the pairs of the table also hold the casing clearance.

Figures come from `tests/kernel/same_casing.csv`: synthetic pairs computed at 40 digits and
confirmed by two open ISO 21771 programs. Tolerances are js8 of ISO 286: 0.0195 mm for 30 to 50 mm.
"""

from __future__ import annotations

import csv
import re
from itertools import pairwise
from operator import itemgetter
from pathlib import Path

import pytest

from fitcheck.kernel.geometry import working_centre_distance
from fitcheck.kernel.tolerances import ISO_54_SERIES_I
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.advice import SHIFT_SUMS
from fitcheck.rules.fit.gears import TEETH_RATIO, casing_clearance, centre_distance

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


def distance(value: float | str, extra: str = "") -> dict[str, str]:
    return {"stages": f"{{primary: {{centre_distance_mm: <2>{value}{extra}}}, secondary: {{}}}}"}


TRAIN = "{housing: short, wheel_size_in: 10, pairs: {primary: %s, secondary: 13/49}}"
FACTORY = {"factory_trains": f"[{TRAIN % '<3>13/47'}]"}
TWO_TRAINS = {"factory_trains": f"[{TRAIN % '13/47'}, {TRAIN % '12/34'}]"}


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
        # A spur pair of sum 60 and module 2 runs at exactly 60 mm, and 1/16 is exact in binary.
        "name": "off by just the tolerance",
        "gear_set": "geometry: {primary: <1>{normal_module_mm: 2, helix_angle_deg: 0, "
        "profile_shift_sum: 0}}",
        "family": distance("60.0625", ", tolerance_mm: 0.0625"),
        "verdict": FITS,
        "evidence": COMPUTED,
        "says": "60.000 mm in a casing of 60.062 mm",
    },
    *(
        {
            # Sum 60 of module 7, 210 mm: over the 180 mm of the standard's ranges.
            "name": f"no tolerance of the standard, {casing} mm",
            "gear_set": "geometry: {primary: <1>{normal_module_mm: 7, helix_angle_deg: 0, "
            "profile_shift_sum: 0}}",
            "family": distance(casing),
            "verdict": verdict,
            "evidence": evidence,
            "says": says,
            "measure": measure,
        }
        for casing, verdict, evidence, says, measure in [
            ("210.0249", FITS, COMPUTED, "within 0.025 mm", None),
            ("210.0251", OPEN, Evidence.NONE, "0.025 mm off", "measure its backlash"),
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
    *(
        {
            # The factory pair 13/47 has 60 teeth in all: 1.6 times as many are 96.
            "name": f"geometry unknown, {pair} beside 13/47",
            "gear_set": {"stated": STATES, "tried": TRIED}[claim].replace(
                "<5>", "<5>" if verdict is FITS else ""
            ),
            "pairs": f"{{primary: {pair}}}",
            "family": distance("48.0") | (FACTORY if verdict is OPEN else {}),
            "verdict": verdict,
            "evidence": evidence,
            "says": says,
            "measure": "count the primary pair again; measure" if verdict is OPEN else None,
        }
        for pair, claim, verdict, evidence, says in [
            ("20/76", "stated", FITS, STATED, "settled by the supplier's statement"),
            ("20/77", "stated", OPEN, Evidence.NONE, "97 teeth in all, the nearest factory pair"),
            ("20/77", "tried", FITS, MEASURED, ""),
            ("10/28", "stated", FITS, STATED, ""),  # 60 are 1.58 times 38
            ("10/27", "stated", OPEN, Evidence.NONE, "13/47 60: too far apart"),  # 1.62 times 37
        ]
    ),
    {
        "name": "geometry unknown, far from one factory pair and near another",
        "gear_set": STATES,
        "pairs": "{primary: 10/27}",
        "family": distance("48.0") | TWO_TRAINS,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "geometry unknown, no factory pair on file to compare with",
        "gear_set": STATES,
        "pairs": "{primary: 5/14}",
        "family": distance("48.0") | {"factory_trains": ""},
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "casing unknown, stated, far from the factory's teeth",
        "gear_set": STATES.replace("<5>", "") + NO_SHIFT,
        "pairs": "{primary: 5/14}",
        "family": {"stages": "{primary: {}, secondary: {}}"} | FACTORY,
        "verdict": OPEN,
        "at": (1, 3),
        "says": "5/14 has 19 teeth in all",
        "measure": "count the primary pair again; measure the distance of the two primary shafts",
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
        # A spur pair of sum 60 and module 2 runs unshifted at 60 mm; a hair less is -0.00005.
        "name": "a shift that rounds to nothing has no minus",
        "gear_set": "geometry: {primary: <1>{normal_module_mm: 2, helix_angle_deg: 0}}",
        "family": distance("59.9999"),
        "verdict": OPEN,
        "says": "(+0.000 would be needed)",
        "measure": "tip diameters",
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
        "says": "runs at no distance",
    },
    {
        "name": "a shift sum that no distance gives, the casing's unknown, whatever is stated",
        "gear_set": STATES.replace("<5>", "") + GEOMETRY % ", profile_shift_sum: -5",
        "family": {"stages": "{primary: {}, secondary: {}}"},
        "verdict": OUT,
        "says": "runs at no distance",
    },
    {
        "name": "a shift sum that no distance gives, yet tried",
        "gear_set": TRIED + GEOMETRY % ", profile_shift_sum: -5",
        "family": {"stages": "{primary: {}, secondary: {}}"},
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "measure the primary pair again",
    },
]


def test_the_limit_on_teeth_is_what_module_helix_and_shift_can_make_up_for():
    """Series I of ISO 54, ISO 21771 and the usual shifts, at the 60 teeth of the factory pair."""
    modules = [module for module in ISO_54_SERIES_I if 1.25 <= module <= 2.5]
    step = max(larger / smaller for smaller, larger in pairwise(modules))
    least, most = SHIFT_SUMS
    spread = working_centre_distance(1, 30, 13, 47, most) / working_centre_distance(
        1, 0, 13, 47, least
    )
    assert step * spread == pytest.approx(TEETH_RATIO, abs=0.03)


@pytest.mark.parametrize("case", DISTANCE_CASES, ids=itemgetter("name"))
def test_centre_distance(situate, case):
    here = situate(case)
    here.holds(centre_distance(here.catalogue.gear_sets["S"], here.setting, "primary"))


@pytest.mark.parametrize(
    ("angle", "words"),
    [
        ("", "m 1.5, helix 20°, pressure angle not given, 20° taken"),
        (", pressure_angle_deg: 20", "m 1.5, helix 20°"),
    ],
)
def test_a_pressure_angle_that_is_taken_for_granted_is_told(situate, angle, words):
    here = situate({"gear_set": GEOMETRY % angle, "verdict": OPEN})
    answer = centre_distance(here.catalogue.gear_sets["S"], here.setting, "primary")
    assert answer.data[0].text == words


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
