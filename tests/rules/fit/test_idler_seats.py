"""Idler seats: beside factory gears, between two sets, inside one, and at the second joint."""

from __future__ import annotations

from operator import itemgetter

import pytest

from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.rules.fit.seats import idler_seat, own_seat

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
STATED, MEASURED = Evidence.STATED, Evidence.MEASURED

NO_SEATS = {"interfaces": "{input_shaft_end: D13}"}
CLAIM = "fits: [{family: knot-50, housings: [short]}]\n"
TRIED = "fits:\n  - <3>{family: knot-50, housings: [short], evidence: measured}\n"


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
        "measure": "measure the idler seat of S",
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
        "unknown_make": frozenset({"secondary"}),
        "verdict": OPEN,
        "says": "the secondary pair now fitted is not known to be the factory's",
        "measure": "the secondary pinion now fitted",
    },
    {
        "name": "the pair taken out was no factory pair",
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "family": SEAT,
        "unknown_make": frozenset({"primary"}),
        "verdict": FITS,
        "evidence": STATED,
    },
    {
        "name": "the kept pair is no factory pair, and the set was tried",
        "gear_set": TRIED.replace("<3>", ""),
        "unknown_make": frozenset({"secondary"}),
        "verdict": OPEN,
        "measure": "the secondary pinion now fitted",
    },
]


COUNTED = "pairs: {primary: 14/46, secondary: 13/49}\n    "
OTHER_SEAT = "interfaces: {wheel_seat: <1>SG-99}"
WHEEL_ON_MEASURED = [
    {
        "name": "measured like the set's",
        "gear_set": OTHER_SEAT,
        "machine": "idler_seats: [<2>sg 99]",
        "verdict": FITS,
        "evidence": STATED,
        "says": "needs seat SG-99, which the pinion shaft offers",
    },
    {
        "name": "measured unlike the set's, though the set has the factory's",
        "gear_set": CLAIM + "interfaces: {wheel_seat: <1>ST-14}",
        "machine": "idler_seats: [<2>SG-99]",
        "verdict": OUT,
        "says": "needs seat ST-14, the pinion shaft offers SG-99",
    },
    {
        "name": "measured unlike the set's: a trial was with factory gears",
        "gear_set": TRIED.replace("<3>", "") + "interfaces: {wheel_seat: <1>ST-14}",
        "machine": "idler_seats: [<2>SG-99]",
        "verdict": OUT,
    },
    {
        "name": "measured as the factory's: a trial against it counts",
        "gear_set": "fits:\n  - <4>{family: knot-50, housings: [short], evidence: measured}\n"
        + OTHER_SEAT,
        "machine": "idler_seats: [<2>ST-14]",
        "verdict": OPEN,
        "measure": "measure the idler seat of S",
        "at": (1, 2, 4),
    },
    {
        "name": "measured as the factory's: a statement counts",
        "gear_set": "fits:\n  - <4>{family: knot-50, housings: [short]}",
        "machine": "idler_seats: [<2>ST-14]",
        "verdict": FITS,
        "evidence": STATED,
        "at": (2, 4),
    },
    {
        "name": "measured unlike the factory's: a statement does not count",
        "gear_set": CLAIM,
        "machine": "idler_seats: [<2>SG-99]",
        "verdict": OPEN,
        "says": "has another than the factory's",
        "measure": "measure the idler seat of S",
    },
    {
        "name": "nothing is known of the factory's: nobody knows whether a statement counts",
        "gear_set": CLAIM,
        "machine": "idler_seats: [<2>SG-99]",
        "family": NO_SEATS,
        "verdict": OPEN,
        "measure": "measure the idler seat of S",
    },
    {
        "name": "a question mark measures nothing",
        "gear_set": CLAIM + "interfaces: {wheel_seat: <1>ST-14}",
        "machine": "idler_seats: ['?']",
        "verdict": OPEN,
        "says": "not known to be the factory's",
        "measure": "measure the idler seat of the secondary pinion now fitted",
    },
]


@pytest.mark.parametrize("case", WHEEL_ON_MEASURED, ids=itemgetter("name"))
def test_a_wheel_on_a_pinion_measured_on_the_machine(situate, case):
    """The kept pair is of unknown make; what was measured on the machine decides."""
    machine = COUNTED + case["machine"]
    here = situate({**case, "machine": machine, "unknown_make": frozenset({"secondary"})})
    here.holds(idler_seat(here.catalogue.gear_sets["S"], None, 0, here.setting))


def test_what_was_measured_goes_before_what_the_factory_is_known_to_have_fitted(situate):
    case = {
        "gear_set": "interfaces: {wheel_seat: <1>ST-14}",
        "machine": COUNTED + "idler_seats: [<2>SG-99]",
        "verdict": OUT,
    }
    here = situate(case)
    here.holds(idler_seat(here.catalogue.gear_sets["S"], None, 0, here.setting))


@pytest.mark.parametrize("case", WHEEL_ON_FACTORY, ids=itemgetter("name"))
def test_a_wheel_on_the_factory_pinion(situate, case):
    here = situate(case)
    here.holds(idler_seat(here.catalogue.gear_sets["S"], None, 0, here.setting))


@pytest.mark.parametrize("case", WHEEL_ON_FACTORY, ids=itemgetter("name"))
def test_the_factory_wheel_on_a_pinion(situate, case):
    """The same cases from the other side of the joint."""

    def turned(text):
        for one, other in (("wheel_seat", "pinion_seat"), ("primary", "secondary")):
            text = text.replace(one, "\0").replace(other, one).replace("\0", other)
        return text

    case = {**case, "gear_set": turned(case["gear_set"]), "pairs": "{secondary: 13/49}"}
    case["unknown_make"] = frozenset(map(turned, case.get("unknown_make", ())))
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
        "says": "needs seat ST-14, which the pinion shaft offers",
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
        "unknown_make": frozenset({"primary", "secondary"}),
        "verdict": FITS,
        "evidence": STATED,
    },
]


@pytest.mark.parametrize("case", BETWEEN, ids=itemgetter("name"))
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


@pytest.mark.parametrize("case", OWN, ids=itemgetter("name"))
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
    here = situate({"gear_set": "", "verdict": OPEN, "unknown_make": frozenset({"primary"})})
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
    answer = here.holds(idler_seat(here.catalogue.gear_sets["S"], None, 1, here.setting))
    assert answer.subject == "S on factory pinion"
    swapped = situate({**case, "verdict": FITS, "gear_set": case["gear_set"].replace("<1>", "")})
    assert idler_seat(None, swapped.catalogue.gear_sets["S"], 0, swapped.setting).verdict is FITS
    case |= {"unknown_make": frozenset({"tertiary"}), "verdict": OPEN, "evidence": Evidence.NONE}
    kept = situate({**case, "at": (1,), "measure": "the tertiary pinion now fitted"})
    answer = kept.holds(idler_seat(kept.catalogue.gear_sets["S"], None, 1, kept.setting))
    assert answer.subject == "S on the tertiary pinion now fitted"
