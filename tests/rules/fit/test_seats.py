"""Shaft ends, bearings and idler seats, with the seat between two sets above all."""

from __future__ import annotations

import pytest

from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.seats import (
    basic_bearing,
    bearings,
    idler_seat,
    input_shaft_end,
    output_shaft_end,
    own_seat,
)
from fitcheck.rules.setting import plain_code

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
STATED, MEASURED = Evidence.STATED, Evidence.MEASURED

NO_SEATS = {"interfaces": "{input_shaft_end: D13}"}
FAMILY_END = {"interfaces": "{input_shaft_end: <2>D13}"}
CLAIM = "fits: [{family: knot-50, housings: [short]}]\n"
TRIED = "fits:\n  - <3>{family: knot-50, housings: [short], evidence: measured}\n"


def named(case):
    return case["name"].replace(" ", "-")


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


@pytest.mark.parametrize("case", END_CASES, ids=named)
def test_input_shaft_end(situate, case):
    here = situate(case)
    here.holds(input_shaft_end(here.catalogue.gear_sets["S"], here.setting))


@pytest.mark.parametrize("case", END_CASES, ids=named)
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
        "says": "the family's bearings are not known",
        "measure": "read the numbers",
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


@pytest.mark.parametrize("case", BEARING_CASES, ids=named)
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


SEAT = {"interfaces": "{idler_seats: [<3>ST-14]}"}
WHEEL_ON_FACTORY = [
    {
        "name": "same seat",
        "gear_set": "interfaces: {wheel_seat: <1>st 14}",
        "family": SEAT,
        "verdict": FITS,
        "evidence": STATED,
        "at": (1, 3),
    },
    {
        "name": "same seat, measured",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}\nmeasured: [wheel_seat]",
        "family": SEAT,
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "the set's other seat was measured",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14, pinion_seat: ST-14}\n"
        "measured: [pinion_seat]",
        "family": SEAT,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "another seat, whatever the supplier says",
        "gear_set": CLAIM + "interfaces: {wheel_seat: <1>SF-14}",
        "family": SEAT,
        "verdict": OUT,
        "says": "needs seat SF-14, the pinion shaft offers ST-14",
    },
    {
        "name": "another seat, yet tried",
        "gear_set": "fits:\n  - <4>{family: knot-50, housings: [short], evidence: measured}\n"
        "interfaces: {wheel_seat: <1>SF-14}",
        "family": SEAT,
        "verdict": OPEN,
        "says": "one of the two is wrong",
        "measure": "measure the idler seat of S",
    },
    {
        "name": "the set's seat unknown",
        "gear_set": "interfaces: {pinion_seat: ST-14}",
        "family": SEAT,
        "verdict": OPEN,
        "says": "its idler seat is not known",
        "measure": "measure the idler seat of S and of the machine's own idler",
    },
    {
        "name": "the set's seat unknown, stated",
        "gear_set": "fits:\n  - <4>{family: knot-50, housings: [short]}",
        "family": SEAT,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "the set's seat unknown, tried",
        "gear_set": "fits:\n  - <4>{family: knot-50, housings: [short], evidence: measured}",
        "family": SEAT,
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "the set's seat unknown, stated for another housing",
        "gear_set": CLAIM.replace("short", "long"),
        "family": SEAT,
        "verdict": OPEN,
        "measure": "measure the idler seat",
    },
    {
        "name": "the factory's seat unknown",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "family": NO_SEATS,
        "verdict": OPEN,
        "says": "the factory idler seat is not known",
        "measure": "measure the idler seat",
    },
    {
        "name": "the factory's seat unknown, stated",
        "gear_set": "fits:\n  - <4>{family: knot-50, housings: [short]}\n"
        "interfaces: {wheel_seat: <1>ST-14}",
        "family": NO_SEATS,
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "question marks are no seat",
        "gear_set": 'interfaces: {wheel_seat: <1>"?"}',
        "family": {"interfaces": '{idler_seats: [<3>"?"]}'},
        "verdict": OPEN,
        "measure": "measure the idler seat",
    },
    {
        "name": "the kept pair is no factory pair",
        "gear_set": CLAIM + "interfaces: {wheel_seat: <1>ST-14}",
        "family": {"interfaces": "{idler_seats: [ST-14]}"},
        "replaced": frozenset({"secondary"}),
        "verdict": OPEN,
        "says": "the secondary pair now fitted is no factory pair",
        "measure": "the secondary pinion now fitted",
    },
    {
        "name": "the pair taken out was no factory pair",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "family": SEAT,
        "replaced": frozenset({"primary"}),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "the kept pair is no factory pair, and the set was tried",
        "gear_set": TRIED.replace("<3>", ""),
        "replaced": frozenset({"secondary"}),
        "verdict": OPEN,
        "measure": "the secondary pinion now fitted",
    },
]


@pytest.mark.parametrize("case", WHEEL_ON_FACTORY, ids=named)
def test_a_wheel_on_the_factory_pinion(situate, case):
    here = situate(case)
    here.holds(idler_seat(here.catalogue.gear_sets["S"], None, 0, here.setting))


@pytest.mark.parametrize("case", WHEEL_ON_FACTORY, ids=named)
def test_the_factory_wheel_on_a_pinion(situate, case):
    """The same cases from the other side of the joint."""

    def turned(text):
        for one, other in (("wheel_seat", "pinion_seat"), ("primary", "secondary")):
            text = text.replace(one, "\0").replace(other, one).replace("\0", other)
        return text

    case = {**case, "gear_set": turned(case["gear_set"]), "pairs": "{secondary: 13/49}"}
    case["replaced"] = frozenset(map(turned, case.get("replaced", ())))
    case["says"] = case.get("says", "").replace("secondary", "primary")
    if "SF-14" in case["says"]:
        case["says"] = "needs seat ST-14, the pinion shaft offers SF-14"
    if case.get("measure"):
        case["measure"] = case["measure"].replace("secondary pinion", "primary wheel")
    # The wheel's side comes first: here the factory's.
    marks = [m for m in (3, 1, 4) if f"<{m}>" in case["gear_set"] + str(case.get("family"))]
    here = situate({**case, "at": tuple(marks)})
    here.holds(idler_seat(None, here.catalogue.gear_sets["S"], 0, here.setting))


BETWEEN = [
    {
        "name": "equal seats",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "other": "interfaces: {pinion_seat: <2>st14}",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "equal seats that the factory has not",
        "gear_set": "interfaces: {wheel_seat: <1>SG-9}",
        "other": "interfaces: {pinion_seat: <2>SG-9}",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "one side measured",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}\nmeasured: [wheel_seat]",
        "other": "interfaces: {pinion_seat: <2>ST-14}",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "both sides measured",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}\nmeasured: [wheel_seat]",
        "other": "interfaces: {pinion_seat: <2>ST-14}\nmeasured: [pinion_seat]",
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "different seats",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "other": "interfaces: {pinion_seat: <2>SG-14}",
        "verdict": OUT,
        "says": "needs seat ST-14, the pinion shaft offers SG-14",
    },
    {
        "name": "different seats, each tried by itself",
        "gear_set": TRIED.replace("<3>", "") + "interfaces: {wheel_seat: <1>ST-14}",
        "other": TRIED.replace("<3>", "") + "interfaces: {pinion_seat: <2>SG-14}",
        "verdict": OUT,
    },
    {
        "name": "one unknown, both stated by one supplier",
        "gear_set": CLAIM + "interfaces: {wheel_seat: <1>ST-14}",
        "other": CLAIM,
        "verdict": OPEN,
        "says": "never settles the seat between two",
        "measure": "measure the idler seat of T",
    },
    {
        "name": "both unknown, both tried",
        "gear_set": TRIED.replace("<3>", ""),
        "other": TRIED.replace("<3>", ""),
        "verdict": OPEN,
        "measure": "measure the idler seat of S and T",
    },
    {
        "name": "both unknown, nothing known of the factory",
        "gear_set": "",
        "other": "",
        "family": NO_SEATS,
        "verdict": OPEN,
        "measure": "measure the idler seat of S and T",
    },
    {
        "name": "question mark on one side",
        "gear_set": 'interfaces: {wheel_seat: <1>"?"}',
        "other": 'interfaces: {pinion_seat: <2>"?"}',
        "verdict": OPEN,
        "measure": "measure the idler seat of S and T",
    },
    {
        "name": "both stages replaced before does not matter, both pairs go",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "other": "interfaces: {pinion_seat: <2>ST-14}",
        "replaced": frozenset({"primary", "secondary"}),
        "verdict": FITS,
        "evidence": STATED,
    },
]


@pytest.mark.parametrize("case", BETWEEN, ids=named)
def test_the_seat_between_two_sets(situate, case):
    here = situate(case)
    sets = here.catalogue.gear_sets
    here.holds(idler_seat(sets["S"], sets["T"], 0, here.setting))


OWN = [
    {
        "name": "equal",
        "gear_set": "interfaces: {wheel_seat: <1>SG-9, pinion_seat: <2>sg9}",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "one measured",
        "gear_set": "interfaces: {wheel_seat: <1>SG-9, pinion_seat: <2>SG-9}\n"
        "measured: [pinion_seat]",
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "both measured",
        "gear_set": "interfaces: {wheel_seat: <1>SG-9, pinion_seat: <2>SG-9}\n"
        "measured: [pinion_seat, wheel_seat]",
        "verdict": FITS,
        "evidence": MEASURED,
    },
    {
        "name": "different, whatever the supplier says",
        "gear_set": CLAIM + "interfaces: {wheel_seat: <1>SG-9, pinion_seat: <2>ST-14}",
        "verdict": OUT,
        "says": "needs seat SG-9, its own pinion shaft offers ST-14",
    },
    {
        "name": "different, yet tried",
        "gear_set": TRIED + "interfaces: {wheel_seat: <1>SG-9, pinion_seat: <2>ST-14}",
        "verdict": OPEN,
        "measure": "the first wheel of S on its own pinion shaft",
        "at": (1, 2, 3),
    },
]


@pytest.mark.parametrize("case", OWN, ids=named)
def test_the_seat_inside_a_set_of_the_whole_train(situate, case):
    here = situate({"pairs": "{primary: 13/47, secondary: 13/49}", **case})
    here.holds(own_seat(here.catalogue.gear_sets["S"], here.setting))


@pytest.mark.parametrize(
    ("pairs", "seats"),
    [
        ("{primary: 13/47}", "wheel_seat: A, pinion_seat: B"),
        ("{primary: 13/47, secondary: 13/49}", "wheel_seat: A"),
        ("{primary: 13/47, secondary: 13/49}", 'wheel_seat: A, pinion_seat: "?"'),
    ],
)
def test_a_seat_inside_is_asked_only_where_a_whole_train_gives_both(situate, pairs, seats):
    here = situate({"gear_set": f"interfaces: {{{seats}}}", "pairs": pairs, "verdict": OPEN})
    assert own_seat(here.catalogue.gear_sets["S"], here.setting) is None


def test_gears_that_both_stay_are_not_asked(situate):
    here = situate({"gear_set": "", "verdict": OPEN, "replaced": frozenset({"primary"})})
    assert idler_seat(None, None, 0, here.setting) is None


def test_the_second_joint_has_its_own_seat_and_stages(situate):
    case = {
        "gear_set": "interfaces: {wheel_seat: <1>ST-16, pinion_seat: ST-14}",
        "pairs": "{secondary: 14/40}",
        "family": {
            "stages": "{primary: {}, secondary: {}, tertiary: {}}",
            "interfaces": "{idler_seats: [ST-14, <2>ST-16]}",
            "factory_trains": "",
        },
        "verdict": FITS,
        "evidence": STATED,
    }
    here = situate(case)
    here.holds(idler_seat(here.catalogue.gear_sets["S"], None, 1, here.setting))
    swapped = situate({**case, "verdict": FITS, "gear_set": case["gear_set"].replace("<1>", "")})
    assert idler_seat(None, swapped.catalogue.gear_sets["S"], 0, swapped.setting).verdict is FITS
    case |= {"replaced": frozenset({"tertiary"}), "verdict": OPEN, "evidence": Evidence.NONE}
    kept = situate({**case, "at": (1,), "measure": "the tertiary pinion now fitted"})
    kept.holds(idler_seat(kept.catalogue.gear_sets["S"], None, 1, kept.setting))


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
