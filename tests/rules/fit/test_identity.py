"""Family, housing, stage and matched pair: what a claim settles, and what it does not."""

from __future__ import annotations

from dataclasses import replace
from operator import itemgetter

import pytest

from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.identity import family, housing, matched_pair, stage
from fitcheck.rules.setting import ListWords

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
STATED, MEASURED = Evidence.STATED, Evidence.MEASURED


FAMILY_CASES = [
    {
        "name": "stated for this family",
        "gear_set": "fits: [{family: <1>knot-50, housings: [short]}]",
        "verdict": FITS,
        "evidence": STATED,
        "says": "stated by the supplier",
    },
    {
        "name": "tried in the shop in this family",
        "gear_set": "fits: [{family: <1>knot-50, housings: [short], evidence: measured}]",
        "verdict": FITS,
        "evidence": MEASURED,
        "says": "tried in the shop",
    },
    {
        "name": "the claim for this housing counts, not a stronger one for another",
        "gear_set": """
fits:
  - {family: knot-50, housings: [long], evidence: measured}
  - {family: <1>knot-50, housings: [short]}
""",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "stated for this family but for no housing",
        "gear_set": "fits: [{family: stint-50}, {family: <1>knot-50}]",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "stated and tried, both for another housing: the stronger counts",
        "gear_set": """
fits:
  - {family: knot-50, housings: [long]}
  - {family: <1>knot-50, housings: [long], evidence: measured}
""",
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "stated for another family",
        "gear_set": "fits: [{family: <1>stint-50, housings: [short]}]",
        "verdict": OUT,
        "says": "stint-50, not for knot-50",
    },
    {
        "name": "stated for another family and listed under this one",
        "gear_set": """
fits: [{family: <1>stint-50, housings: [short]}]
listed_for: {models: [Knot Ten]}
""",
        "verdict": OUT,
    },
    {
        # A trial speaks of the gearbox it was made on; a supplier's list of families is complete.
        "name": "tried in another family only",
        "gear_set": "fits: [{family: <1>stint-50, housings: [short], evidence: measured}]",
        "verdict": OPEN,
        "says": "tried in stint-50; nobody says whether it goes into knot-50",
        "measure": "ask the supplier",
    },
    {
        "name": "tried in another family and stated for a third",
        "gear_set": """
fits:
  - {family: stint-50, housings: [short], evidence: measured}
  - {family: <1>plover-50, housings: [short]}
""",
        "verdict": OUT,
        "says": "for plover-50, not for knot-50",
    },
    {
        "name": "tried in another family and listed for it",
        "gear_set": """
fits: [{family: stint-50, housings: [short], evidence: measured}]
listed_for: <1>{models: [Stint Ten]}
""",
        "verdict": OUT,
        "says": "listed for Stint Ten, which is stint-50",
    },
    {
        "name": "listed under this family, nobody vouches",
        "gear_set": "listed_for: <1>{models: [Knot Ten], wheel_size_in: 10}",
        "verdict": OPEN,
        "says": "no supplier or trial confirms",
        "measure": "ask the supplier whether it fits Knot 50",
    },
    {
        "name": "listed under a model nobody here knows",
        "gear_set": "listed_for: <1>{models: [Nightjar]}",
        "verdict": OPEN,
        "measure": "ask the supplier",
    },
    {
        "name": "listed under another family's model and one nobody knows, which may be this one",
        "gear_set": "listed_for: <1>{models: [Stint Ten, Nightjar]}",
        "verdict": OPEN,
        "says": "no supplier or trial confirms",
        "measure": "ask the supplier",
    },
    {
        "name": "listed under another family's models only",
        "gear_set": "listed_for: <1>{models: [Stint Ten, Stint 50]}",
        "verdict": OUT,
        "says": "listed for Stint Ten, Stint 50, which is stint-50",
    },
    {
        "name": "nothing known at all",
        "gear_set": "",
        "verdict": OPEN,
        "says": "nothing says which family",
        "measure": "ask the supplier",
        "at": (0,),
    },
]


@pytest.mark.parametrize("case", FAMILY_CASES, ids=itemgetter("name"))
def test_family(situate, case):
    here = situate(case)
    here.holds(family(here.catalogue.gear_sets["S"], here.setting))


def test_families_of_a_model_word_are_named_in_one_order(situate):
    here = situate({"gear_set": "listed_for: {models: [Nightjar]}", "verdict": OUT})
    setting = replace(here.setting, words=ListWords({"nightjar": frozenset("fedcba")}))
    answer = family(here.catalogue.gear_sets["S"], setting)
    assert "which is a, b, c, d, e or f;" in answer.reason


HOUSING_CASES = [
    {
        "name": "stated for this housing",
        "gear_set": "fits: [{family: knot-50, housings: <1>[long, short]}]",
        "verdict": FITS,
        "evidence": STATED,
        "says": "short case",
    },
    {
        "name": "tried in this housing",
        "gear_set": """
fits:
  - {family: knot-50, housings: [short, long]}
  - {family: knot-50, housings: <1>[short], evidence: measured}
""",
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "stated for other housings",
        "gear_set": "fits: [{family: knot-50, housings: <1>[long]}]",
        "verdict": OUT,
        "says": "for long, not for short",
    },
    {
        "name": "a claim for another family says nothing of this one's housings",
        "gear_set": """
fits:
  - {family: stint-50, housings: [short]}
  - {family: knot-50, housings: <1>[long]}
""",
        "verdict": OUT,
    },
    {
        "name": "housings not stated",
        "gear_set": "fits:\n  - <1>{family: knot-50}",
        "verdict": OPEN,
        "says": "not stated",
        "measure": "which housings S fits",
    },
    {
        "name": "housings not stated once and stated once",
        "gear_set": "fits: [{family: knot-50}, {family: knot-50, housings: <1>[long]}]",
        "verdict": OUT,
    },
    {
        # A trial speaks of the gearbox it was made on; a supplier's list of housings is complete.
        "name": "tried in another housing only",
        "gear_set": "fits: [{family: knot-50, housings: <1>[long], evidence: measured}]",
        "verdict": OPEN,
        "says": "tried in long; nobody says whether it goes into short",
        "measure": "which housings S fits",
    },
    {
        "name": "tried in one housing and stated for it alone",
        "gear_set": """
fits:
  - {family: knot-50, housings: [long], evidence: measured}
  - {family: knot-50, housings: <1>[long]}
""",
        "verdict": OUT,
    },
    {
        "name": "no supplier or trial confirms the family",
        "gear_set": "listed_for: {models: [Knot Ten]}",
        "verdict": OPEN,
        "measure": "which housings",
        "at": (0,),
    },
    {
        "name": "two trials in another housing",
        "gear_set": "fits:\n  - {family: knot-50, housings: <1>[long], evidence: measured}\n"
        "  - {family: knot-50, housings: <2>[long], evidence: measured}",
        "verdict": OPEN,
        "says": "tried in long; nobody says whether it goes into short",
        "measure": "which housings",
    },
    {
        "name": "housing unknown, stated for each",
        "gear_set": "fits: [{family: knot-50, housings: <1>[short, long]}]",
        "housing": None,
        "verdict": FITS,
        "evidence": STATED,
        "says": "need not be known",
    },
    {
        "name": "housing unknown, stated for one",
        "gear_set": "fits: [{family: knot-50, housings: <1>[short]}]",
        "housing": None,
        "verdict": OPEN,
        "says": "housing is not known",
        "measure": "look which housing the machine has: short or long",
    },
    {
        "name": "housing unknown, stated for each by two claims",
        "gear_set": "fits:\n  - {family: knot-50, housings: <1>[short]}\n"
        "  - {family: knot-50, housings: <2>[long]}",
        "housing": None,
        "verdict": FITS,
        "evidence": STATED,
        "says": "need not be known",
    },
    {
        "name": "housing unknown, one tried and the other stated",
        "gear_set": "fits:\n  - {family: knot-50, housings: <2>[short], evidence: measured}\n"
        "  - {family: knot-50, housings: <1>[long]}",
        "housing": None,
        "verdict": FITS,
        "evidence": STATED,
        "at": (1, 2),
    },
    {
        "name": "housing unknown, each tried",
        "gear_set": "fits:\n  - {family: knot-50, housings: <1>[short], evidence: measured}\n"
        "  - {family: knot-50, housings: <2>[long], evidence: measured}",
        "housing": None,
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "housing unknown, none stated",
        "gear_set": "fits:\n  - <1>{family: knot-50}",
        "housing": None,
        "verdict": OPEN,
        "measure": "which housings",
    },
]


@pytest.mark.parametrize("case", HOUSING_CASES, ids=itemgetter("name"))
def test_housing(situate, case):
    here = situate(case)
    here.holds(housing(here.catalogue.gear_sets["S"], here.setting))


THREE = (
    "{primary: {centre_distance_mm: 40}, secondary: {centre_distance_mm: 42}, "
    "tertiary: {centre_distance_mm: 44}}"
)
STAGE_CASES = [
    {
        "name": "one stage of two",
        "pairs": "<1>{secondary: 13/49}",
        "verdict": FITS,
        "evidence": STATED,
        "says": "the secondary stage",
    },
    {
        "name": "counted in the shop",
        "pairs": "<1>{secondary: 13/49}",
        "gear_set": "measured: [pairs]",
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "whole train of two",
        "pairs": "<1>{primary: 13/47, secondary: 13/49}",
        "verdict": FITS,
        "evidence": STATED,
        "says": "the whole train",
    },
    {
        "name": "whole train of one",
        "pairs": "<1>{single: 13/47}",
        "family": {"stages": "{single: {}}", "interfaces": "", "factory_trains": ""},
        "verdict": FITS,
        "evidence": STATED,
        "says": "the single stage",
    },
    {
        "name": "a stage this train lacks",
        "pairs": "<1>{tertiary: 13/49}",
        "verdict": OUT,
        "says": "holds tertiary; this train has primary and secondary",
    },
    {
        "name": "a single pair for a train of two",
        "pairs": "<1>{single: 13/49}",
        "verdict": OUT,
    },
    {
        "name": "a train of two for a family of three",
        "pairs": "<1>{primary: 13/47, secondary: 13/49}",
        "family": {"stages": THREE, "interfaces": "", "factory_trains": ""},
        "verdict": OUT,
    },
    {
        "name": "a train of three for a family of two",
        "pairs": "<1>{primary: 13/47, secondary: 13/49, tertiary: 14/40}",
        "verdict": OUT,
    },
]


@pytest.mark.parametrize("case", STAGE_CASES, ids=itemgetter("name"))
def test_stage(situate, case):
    here = situate({"gear_set": "", **case})
    here.holds(stage(here.catalogue.gear_sets["S"], here.setting))


MEMBER_CASES = [
    {
        "name": "nothing said of the parcel",
        "pairs": "<1>{primary: 13/47}",
        "gear_set": "",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "counted in the shop",
        "pairs": "<1>{primary: 13/47}",
        "gear_set": "measured: [pairs]",
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "both gears named",
        "gear_set": "members: <1>{primary: [driven, driver]}",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "only the pinion",
        "gear_set": "members: {primary: <1>[driver]}",
        "verdict": OUT,
        "says": "the primary wheel is not in the parcel",
    },
    {
        "name": "only the wheel",
        "gear_set": "members: {primary: <1>[driven]}",
        "verdict": OUT,
        "says": "the primary pinion is not in the parcel",
    },
    {
        "name": "neither",
        "gear_set": "members: {primary: <1>[]}",
        "verdict": OUT,
        "says": "the primary pair is not in the parcel",
    },
    {
        "name": "whole train with half a pair",
        "pairs": "{primary: 13/47, secondary: 13/49}",
        "gear_set": "members: {secondary: <1>[driver]}",
        "verdict": OUT,
        "says": "secondary wheel",
    },
]


@pytest.mark.parametrize("case", MEMBER_CASES, ids=itemgetter("name"))
def test_matched_pair(situate, case):
    here = situate(case)
    here.holds(matched_pair(here.catalogue.gear_sets["S"], here.setting))
