"""Shaft ends and bearings, and the codes of seats and ends."""

from __future__ import annotations

from operator import itemgetter

import pytest

from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.seats import basic_bearing, bearings, input_shaft_end, output_shaft_end
from fitcheck.rules.setting import plain_code

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
STATED, MEASURED = Evidence.STATED, Evidence.MEASURED

FAMILY_END = {"interfaces": "{input_shaft_end: <2>D13}"}
CLAIM = "fits: [{family: knot-50, housings: [short]}]\n"
TRIED = "fits:\n  - <3>{family: knot-50, housings: [short], evidence: measured}\n"


END_CASES = [
    {
        "name": "the same end",
        "gear_set": "interfaces: {input_shaft_end: <1>D13}",
        "family": FAMILY_END,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "measured",
        "gear_set": "interfaces: {input_shaft_end: <1>d-13}\nmeasured: [input_shaft_end]",
        "family": FAMILY_END,
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "another thing was measured",
        "gear_set": "interfaces: {input_shaft_end: <1>D13}\nmeasured: [wheel_seat, pairs]",
        "family": FAMILY_END,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "another end, whatever the supplier says",
        "gear_set": CLAIM + "interfaces: {input_shaft_end: <1>D14}",
        "family": FAMILY_END,
        "verdict": OUT,
        "says": "needs input shaft end D14, the family has D13",
    },
    {
        "name": "another end, yet tried in the shop",
        "gear_set": TRIED + "interfaces: {input_shaft_end: <1>D14}",
        "family": FAMILY_END,
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "compare the input pinion",
        "at": (1, 2, 3),
    },
    {
        "name": "another end, tried in the other housing only",
        "gear_set": TRIED.replace("short", "long").replace("<3>", "")
        + "interfaces: {input_shaft_end: <1>D14}",
        "family": FAMILY_END,
        "verdict": OUT,
    },
    {
        "name": "marks tell ends apart",
        "gear_set": "interfaces: {input_shaft_end: <1>D1.3}",
        "family": FAMILY_END,
        "verdict": OUT,
    },
    {
        "name": "need unknown",
        "gear_set": "",
        "family": FAMILY_END,
        "verdict": OPEN,
        "says": "it needs is not known",
        "measure": "compare the input pinion",
        "at": (2,),
    },
    {
        "name": "need unknown, stated",
        "gear_set": "fits:\n  - <3>{family: knot-50, housings: [short]}",
        "family": FAMILY_END,
        "verdict": FITS,
        "evidence": STATED,
        "says": "settled by the supplier's statement",
    },
    {
        "name": "need unknown, tried",
        "gear_set": TRIED,
        "family": FAMILY_END,
        "verdict": FITS,
        "evidence": MEASURED,
        "says": "settled by the trial in the shop",
    },
    {
        "name": "need unknown, stated for another housing",
        "gear_set": CLAIM.replace("short", "long"),
        "family": FAMILY_END,
        "verdict": OPEN,
        "measure": "compare",
        "at": (2,),
    },
    {
        "name": "need unknown, stated without housing",
        "gear_set": "fits: [{family: knot-50}]",
        "family": FAMILY_END,
        "verdict": OPEN,
        "measure": "compare",
        "at": (2,),
    },
    {
        "name": "need unknown, only listed",
        "gear_set": "listed_for: {models: [Knot Ten]}",
        "family": FAMILY_END,
        "verdict": OPEN,
        "measure": "compare",
        "at": (2,),
    },
    {
        "name": "housing unknown, stated for one housing",
        "gear_set": CLAIM,
        "housing": None,
        "verdict": OPEN,
        "family": FAMILY_END,
        "measure": "compare",
        "at": (2,),
    },
    {
        "name": "housing unknown, stated for every housing",
        "gear_set": "fits:\n  - <3>{family: knot-50, housings: [short, long]}",
        "housing": None,
        "verdict": FITS,
        "evidence": STATED,
        "family": FAMILY_END,
    },
    {
        "name": "family's end unknown",
        "gear_set": "interfaces: {input_shaft_end: <1>D13}",
        "family": {"interfaces": "{output_shaft_end: D13}"},
        "verdict": OPEN,
        "says": "the family's input shaft end is not known",
        "measure": "compare",
    },
    {
        "name": "neither known",
        "gear_set": "",
        "family": {"interfaces": ""},
        "verdict": OPEN,
        "measure": "compare",
    },
    {
        # Somebody wrote a question mark on both sides: that is no equal end.
        "name": "question marks are no code",
        "gear_set": 'interfaces: {input_shaft_end: <1>"?"}',
        "family": {"interfaces": '{input_shaft_end: <2>"?"}'},
        "verdict": OPEN,
        "measure": "compare",
    },
]


@pytest.mark.parametrize("case", END_CASES, ids=itemgetter("name"))
def test_input_shaft_end(situate, case):
    here = situate(case)
    here.holds(input_shaft_end(here.catalogue.gear_sets["S"], here.setting))


@pytest.mark.parametrize("case", END_CASES, ids=itemgetter("name"))
def test_output_shaft_end(situate, case):
    def turned(value):
        if isinstance(value, dict):
            return {key: turned(each) for key, each in value.items()}
        if not isinstance(value, str):
            return value
        return value.replace("output", "IN").replace("input", "output").replace("IN", "input")

    case = {**turned(case), "pairs": "{secondary: 13/49}"}
    for field in ("says", "measure"):
        if case.get(field):
            case[field] = case[field].replace("output pinion", "final wheel")
    here = situate(case)
    here.holds(output_shaft_end(here.catalogue.gear_sets["S"], here.setting))


def test_shaft_ends_are_asked_of_the_set_that_holds_the_gear(situate):
    primary = situate({"gear_set": "", "verdict": OPEN})
    secondary = situate({"gear_set": "", "verdict": OPEN, "pairs": "{secondary: 13/49}"})
    whole = situate(
        {"gear_set": "", "verdict": OPEN, "pairs": "{primary: 13/47, secondary: 13/49}"}
    )
    asked = [
        (
            input_shaft_end(here.catalogue.gear_sets["S"], here.setting) is not None,
            output_shaft_end(here.catalogue.gear_sets["S"], here.setting) is not None,
        )
        for here in (primary, secondary, whole)
    ]
    assert asked == [(True, False), (False, True), (True, True)]


def test_the_output_shaft_end_of_three_stages_is_asked_of_the_third(situate):
    family = {"stages": "{primary: {}, secondary: {}, tertiary: {}}", "factory_trains": ""}
    asked = []
    for stage in ("primary", "secondary", "tertiary"):
        pairs = f"{{{stage}: 13/49}}"
        here = situate({"gear_set": "", "verdict": OPEN, "pairs": pairs, "family": family})
        answer = output_shaft_end(here.catalogue.gear_sets["S"], here.setting)
        asked.append(answer is not None)
    assert asked == [False, False, True]


FAMILY_BEARINGS = {"interfaces": '{bearings: <2>["6202", "6203-2RS"]}'}
BEARING_CASES = [
    {
        "name": "among the family's",
        "gear_set": 'interfaces: {bearings: <1>["6203"]}',
        "family": FAMILY_BEARINGS,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "measured",
        "gear_set": 'interfaces: {bearings: <1>["6203"]}\nmeasured: [bearings]',
        "family": FAMILY_BEARINGS,
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        # Suffixes name seals and clearance, not size: common practice, no source.
        "name": "suffixes do not count",
        "gear_set": 'interfaces: {bearings: <1>["6202 C3", "6203ZZ"]}',
        "family": FAMILY_BEARINGS,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "one that the family has not",
        "gear_set": CLAIM + 'interfaces: {bearings: <1>["6202", "6204"]}',
        "family": FAMILY_BEARINGS,
        "verdict": OUT,
        "says": "needs bearing 6204; the family has 6202, 6203-2RS",
    },
    {
        "name": "a longer number is another bearing",
        "gear_set": 'interfaces: {bearings: <1>["62022"]}',
        "family": FAMILY_BEARINGS,
        "verdict": OUT,
    },
    {
        "name": "letters before the number make another bearing",
        "gear_set": 'interfaces: {bearings: <1>["NJ 6202"]}',
        "family": FAMILY_BEARINGS,
        "verdict": OUT,
    },
    {
        "name": "tried in the shop all the same",
        "gear_set": TRIED + 'interfaces: {bearings: <1>["6204"]}',
        "family": FAMILY_BEARINGS,
        "verdict": OPEN,
        "measure": "read the numbers",
        "at": (1, 2, 3),
    },
    {
        "name": "family's bearings unknown",
        "gear_set": 'interfaces: {bearings: <1>["6202"]}',
        "family": {"interfaces": ""},
        "verdict": OPEN,
        "says": "the family's bearings are not all known",
        "measure": "read the numbers",
    },
    {
        "name": "one of the family's bearings unknown, which may be the one needed",
        "gear_set": 'interfaces: {bearings: <1>["6203"]}',
        "family": {"interfaces": '{bearings: <2>["6202", "tbd"]}'},
        "verdict": OPEN,
        "says": "the family's bearings are not all known",
        "measure": "read the numbers",
    },
    {
        "name": "one of the family's bearings unknown, another is the one needed",
        "gear_set": 'interfaces: {bearings: <1>["6202"]}',
        "family": {"interfaces": '{bearings: <2>["6202", "tbd"]}'},
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "family's bearings unknown, stated",
        "gear_set": "fits:\n  - <2>{family: knot-50, housings: [short]}\n"
        'interfaces: {bearings: <1>["6202"]}',
        "family": {"interfaces": ""},
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "one needed bearing not known",
        "gear_set": 'interfaces: {bearings: <1>["6202", "?"]}',
        "family": FAMILY_BEARINGS,
        "verdict": OPEN,
        "says": "not all known",
        "measure": "read the numbers",
    },
]


@pytest.mark.parametrize("case", BEARING_CASES, ids=itemgetter("name"))
def test_bearings(situate, case):
    here = situate(case)
    here.holds(bearings(here.catalogue.gear_sets["S"], here.setting))


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        # Basic numbers and suffixes: common practice, no source.
        ("6202", "6202-2RS", True),
        ("6202/2RS", "6202.ZZ C3", True),
        ("NU 202", "nu202 E", True),
        ("62/22", "62/22-2RS", True),
        ("608/C3", "608", True),
        ("618/8", "618/9", False),
        ("6202", "6202/16", False),
        ("6202/15.875", "6202/16", False),
        ("6202/15.875", "6202/15.875-2RS", True),
        ("62/22", "62/28", False),
        ("6202", "62/02", False),
        # Sizes and makers' own numbers only begin alike.
        ("17x40x12", "17x47x14", False),
        ("17 x 40 x 12", "17x40x12", True),
        ("100x150x24", "100x165x39", False),
        ("B1-17", "B1-20", False),
        ("BO 17", "bo17", True),
    ],
)
def test_bearings_that_take_the_same_place(one, other, same):
    assert (basic_bearing(one) == basic_bearing(other)) is same


def test_bearings_are_not_asked_of_a_set_that_names_none(situate):
    here = situate({"gear_set": "", "verdict": OPEN})
    assert bearings(here.catalogue.gear_sets["S"], here.setting) is None


@pytest.mark.parametrize(
    ("one", "other"),
    [("ST-14", "st14"), ("ST 14", "ST–14"), ("ＳＴ14", "st_14"), (" D13", "d13 ")],
)
def test_codes_that_are_one_code(one, other):
    assert plain_code(one) == plain_code(other) is not None


@pytest.mark.parametrize(
    ("one", "other"),
    [("ST-14", "SF-14"), ("H1.7", "H17"), ("ST-14+", "ST-14"), ("60/22", "6022"), ("É1", "E1")],
)
def test_codes_that_differ(one, other):
    assert plain_code(one) != plain_code(other)


@pytest.mark.parametrize("nothing", ["?", "-", "--", "unknown", "N/A", "tbd", "None", "…"])
def test_codes_that_say_nothing(nothing):
    assert plain_code(nothing) is None
