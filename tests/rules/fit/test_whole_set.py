"""All rules of one set together, the fold into one verdict, and advice."""

from __future__ import annotations

from itertools import product

import pytest

from fitcheck.kernel.teeth import Pair
from fitcheck.rules.answers import Answer, Evidence, Verdict, judge
from fitcheck.rules.fit import RULES, idler_seat, set_answers
from fitcheck.rules.fit.advice import hunting_tooth, undercut, wheel_clearance
from fitcheck.rules.setting import ListWords, Setting, model_words

FITS, OPEN, OUT = Verdict.FITS, Verdict.UNPROVEN, Verdict.RULED_OUT
NONE, STATED, COMPUTED, MEASURED = Evidence

FULL = """
fits: [{family: knot-50, housings: [short]}]
geometry:
  primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driver_hand: left,
            profile_shift_sum: 0.0752, face_width_mm: 14, driver_profile_shift: 0.288}
interfaces: {input_shaft_end: D13, wheel_seat: ST-14, bearings: ["6202"]}
"""


def answer(rule: str, verdict: Verdict, evidence: Evidence = NONE) -> Answer:
    return Answer(rule, verdict, evidence, "")


def test_the_worst_answer_decides():
    """Every mix of up to three answers, by the definition written out."""
    kinds = [(FITS, STATED), (FITS, COMPUTED), (FITS, MEASURED), (OPEN, NONE), (OUT, NONE)]
    for number in (1, 2, 3):
        for mix in product(kinds, repeat=number):
            verdict = judge(answer(str(i), *kind) for i, kind in enumerate(mix))
            if OUT in [kind[0] for kind in mix]:
                wanted, weakest = (OUT, NONE), [k == (OUT, NONE) for k in mix]
            elif OPEN in [kind[0] for kind in mix]:
                wanted, weakest = (OPEN, NONE), [k == (OPEN, NONE) for k in mix]
            else:
                least = min(kind[1] for kind in mix)
                wanted, weakest = (FITS, least), [k[1] == least for k in mix]
            assert (verdict.verdict, verdict.evidence) == wanted
            assert verdict.weakest == tuple(str(i) for i, weak in enumerate(weakest) if weak)


def test_nothing_answered_is_no_fit():
    with pytest.raises(ValueError, match="at least one"):
        judge([])


def test_evidence_is_ordered_as_the_design_says():
    assert MEASURED > COMPUTED > STATED > NONE
    assert [each.word for each in Evidence] == ["none", "stated", "computed", "measured"]


def rules_of(here) -> dict[tuple[str, str], Answer]:
    found = set_answers(here.catalogue.gear_sets["S"], here.setting)
    by_rule = {(each.rule, each.subject): each for each in found}
    assert len(by_rule) == len(found), "a rule answers once for each stage"
    assert {each.rule for each in found} <= set(RULES)
    return by_rule


def test_a_set_with_everything_known_answers_every_rule_but_the_ends_it_has_not(situate):
    here = situate({"gear_set": FULL, "verdict": FITS})
    found = rules_of(here)
    assert [rule for rule, _ in found] == [
        rule for rule in RULES if rule not in ("idler-seat", "output-shaft-end")
    ]
    assert {each.verdict for each in found.values()} == {FITS}
    verdict = judge(found.values())
    assert (verdict.verdict, verdict.evidence) == (FITS, STATED)
    assert "centre-distance" not in verdict.weakest


def test_measured_through_and_through_is_measured(situate):
    gear_set = """
fits: [{family: knot-50, housings: [short], evidence: measured}]
geometry: {primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driver_hand: left,
                     driven_tip_diameter_mm: 77.3}}
interfaces: {input_shaft_end: D13, wheel_seat: ST-14}
measured: [pairs, geometry, input_shaft_end, wheel_seat]
"""
    here = situate({"gear_set": gear_set, "verdict": FITS})
    entry = here.catalogue.gear_sets["S"]
    seat = idler_seat(entry, None, 0, here.setting)
    verdict = judge([*set_answers(entry, here.setting), seat])
    assert (verdict.verdict, verdict.evidence) == (FITS, MEASURED)


@pytest.mark.parametrize(
    ("gone", "opened"),
    [
        ("", set()),
        ("input_shaft_end: D13, ", {"input-shaft-end"}),
        (", driver_hand: left", {"helix-hand"}),
        ("profile_shift_sum: 0.0752, ", {"centre-distance", "casing-clearance"}),
        (", driver_profile_shift: 0.288", {"casing-clearance"}),
        ("primary: {normal", {"centre-distance", "helix-hand", "casing-clearance"}),
    ],
)
def test_each_datum_is_needed_where_nobody_states_the_housing(situate, gone, opened):
    """Take any datum away: what is left never proves what it stood for."""
    text = FULL.replace("[{family: knot-50, housings: [short]}]", "[{family: knot-50}]")
    if gone.startswith("primary"):
        text = text[: text.index("geometry")] + text[text.index("interfaces") :]
    elif gone:
        assert gone in text
        text = text.replace(gone, "")
    here = situate({"gear_set": text, "verdict": OPEN})
    found = rules_of(here)
    open_rules = {rule for (rule, _), each in found.items() if each.verdict is OPEN}
    assert open_rules == {"housing", *opened}
    assert judge(found.values()).verdict is OPEN
    assert all(each.measure for each in found.values() if each.verdict is OPEN)


def test_a_set_for_another_train_answers_no_more_than_that(situate):
    here = situate({"gear_set": FULL.replace("knot", "stint"), "verdict": OUT})
    found = set_answers(here.catalogue.gear_sets["S"], here.setting)
    assert [each.rule for each in found] == ["family", "housing", "stage"]
    assert judge(found).verdict is OUT


def test_a_wrong_housing_does_not_hide_the_other_answers(situate):
    here = situate({"gear_set": FULL, "housing": "long", "verdict": OUT})
    found = rules_of(here)
    assert judge(found.values()).weakest == ("housing",)
    assert found["centre-distance", "primary"].verdict is FITS


def test_a_whole_train_answers_for_each_stage(situate):
    gear_set = "fits: [{family: knot-50, housings: [short]}]\n"
    here = situate(
        {"gear_set": gear_set, "pairs": "{secondary: 13/49, primary: 13/47}", "verdict": FITS}
    )
    found = rules_of(here)
    assert [key for key in found if key[1]] == [
        (rule, stage)
        for stage in ("primary", "secondary")
        for rule in ("centre-distance", "helix-hand", "casing-clearance")
    ]
    assert ("input-shaft-end", "") in found
    assert ("output-shaft-end", "") in found
    assert judge(found.values()).verdict is FITS


def test_model_words_stand_for_every_family_that_uses_them(load_files):
    text = """kind: family
records:
  knot-50:
    name: Knot 50
    aliases: [Knot Two, Shore]
    housings: {short: {name: short}}
    stages: {single: {}}
    factory_trains:
      - {housing: short, wheel_size_in: 10, pairs: {single: 13/47}, models: [Knöt Ten!]}
  stint-50:
    name: Stint
    aliases: [Shore]
    housings: {short: {name: short}}
    stages: {single: {}}
"""
    words = model_words(load_files({"family.yaml": text}))
    assert words == {
        "knot50": {"knot-50"},
        "knottwo": {"knot-50"},
        "shore": {"knot-50", "stint-50"},
        "knotten": {"knot-50"},
        "stint50": {"stint-50"},
        "stint": {"stint-50"},
    }


def test_an_answered_word_counts_unless_a_family_has_it_or_the_answer_is_not_on_file(load_files):
    family = """kind: family
records:
  knot-50:
    name: Knot 50
    housings: {short: {name: short}}
    stages: {single: {}}
"""
    supplier = """kind: supplier
records:
  marram:
    name: Marram
    list_mapping:
      columns: {part_number: no}
      model_words: {Knot 50: null, Rail: stint-50, Nightjar: knot-50, Crake: null}
"""
    catalogue = load_files({"family.yaml": family, "supplier.yaml": supplier})
    assert ListWords.of(catalogue).answered == {"marram": {"nightjar": {"knot-50"}, "crake": set()}}
    # What was answered to be no family on file stands for none.
    assert model_words(catalogue) == {"knot50": {"knot-50"}, "nightjar": {"knot-50"}}


def test_a_word_two_families_share_rules_neither_out(load_files, situate):
    here = situate({"gear_set": "listed_for: {models: [Shore]}", "verdict": OPEN})
    shared = ListWords({"shore": frozenset({"knot-50", "stint-50"})})
    setting = Setting(here.setting.family, "short", here.setting.stages, shared)
    assert set_answers(here.catalogue.gear_sets["S"], setting)[0].verdict is OPEN
    others = ListWords({"shore": frozenset({"stint-50"})})
    setting = Setting(here.setting.family, "short", here.setting.stages, others)
    assert set_answers(here.catalogue.gear_sets["S"], setting)[0].verdict is OUT


def test_hunting_tooth_advice():
    # Gleason, Gear Technology Solutions, page 96: 21x22 hunts; 11x30 and 11x31 both do.
    assert all(hunting_tooth(Pair(*pair)) is None for pair in [(21, 22), (11, 30), (11, 31)])
    # 14/42 meet again every 42 / gcd = 3 pinion turns.
    assert "every 3 pinion turns" in hunting_tooth(Pair(14, 42))


@pytest.mark.parametrize(
    ("shift", "weak"), [("0.098", False), ("0.099", False), ("0.097", True), (None, False)]
)
def test_undercut_advice(situate, shift, weak):
    """x1_min of 13 teeth at 20 degrees of helix is 0.098 (tests/kernel/same_casing.csv)."""
    given = "" if shift is None else f", driver_profile_shift: {shift}"
    gear_set = f"geometry: {{primary: {{normal_module_mm: 1.5, helix_angle_deg: 20{given}}}}}"
    here = situate({"gear_set": gear_set, "verdict": FITS})
    note = undercut(here.catalogue.gear_sets["S"], "primary")
    assert (note is not None) is weak
    if note is not None:
        assert "+0.097" in note
        assert "+0.098" in note


def test_a_larger_tyre_needs_room():
    # 1300 mm to 1394.2 mm a turn is 15 mm more radius.
    assert "about 15 mm larger" in wheel_clearance(1300.0, 1394.25)
    assert wheel_clearance(1300.0, 1300.0) is None
    assert wheel_clearance(1300.0, 1250.0) is None
