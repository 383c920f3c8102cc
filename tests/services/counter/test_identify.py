"""Which trains have these counts: every slip, held to its definition written out again."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, permutations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.answers.identify import identify_answer
from fitcheck.catalogue.reader import Catalogue
from fitcheck.kernel.teeth import Pair, TeethError, read_pair, read_train
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.identify import Slip, gear_names, identify, with_wheel
from fitcheck.services.counter.subject import subject_from_counts
from tests.conftest import demo_catalogue, some, table

CATALOGUE = demo_catalogue()
TRAINS = [
    (family.id, index, tuple(train.pairs[s] for s in family.record.train_stages), train)
    for family in CATALOGUE.families.values()
    for index, train in enumerate(family.record.factory_trains)
]


def slip_of(family_id: str, factory, train, counted, wheel) -> Slip | None:
    """The likeliest slip that turns a factory train into the counts."""
    have = [count for pair in counted for count in (pair.driver, pair.driven)]
    should = [count for pair in factory for count in (pair.driver, pair.driven)]
    if len(have) != len(should):
        missing = Counter(counted) - Counter(factory)
        return Slip.PART_COUNTED if len(have) < len(should) and not missing else None
    same_gears = [Counter(have[i::2]) == Counter(should[i::2]) for i in (0, 1)]
    tests = {
        Slip.EXACT: counted == factory and wheel in (None, train.wheel_size_in),
        Slip.OTHER_WHEEL: counted == factory,
        Slip.MISCOUNT: sum(abs(a - b) for a, b in zip(have, should, strict=True)) == 1,
        Slip.STAGES_SWAPPED: Counter(counted) == Counter(factory),
        Slip.WHEELS_SWAPPED: all(same_gears),
        Slip.GEARS_REGROUPED: Counter(have) == Counter(should),
        Slip.REGEARED: regeared(family_id, train, factory, counted),
        Slip.DIGITS_SWAPPED: any(
            [sorted(pair) for pair in zip(slipped[::2], slipped[1::2], strict=True)]
            == [[pair.driver, pair.driven] for pair in counted]
            for gear, count in enumerate(should)
            for digits in permutations(str(count))
            if sum(a != b for a, b in zip(digits, str(count), strict=True)) == 2
            for slipped in [[*should[:gear], int("".join(digits)), *should[gear + 1 :]]]
        ),
        Slip.TWO_SLIPS: any(
            sum(abs(count - known) for count, known in zip(flat(order), should, strict=True))
            == (2 if order == counted else 1)
            for order in permutations(counted)
        ),
    }
    return next((slip for slip, held in tests.items() if held), None)


def flat(pairs) -> list[int]:
    return [count for pair in pairs for count in (pair.driver, pair.driven)]


def regeared(family_id: str, train, factory, counted) -> bool:
    changed = [i for i, pair in enumerate(factory) if pair != counted[i]]
    if len(changed) != 1 or len(factory) == 1:
        return False
    stage = CATALOGUE.families[family_id].record.train_stages[changed[0]]
    return any(
        entry.record.pairs.get(stage) == counted[changed[0]]
        and family_id in {claim.family for claim in entry.record.fits}
        and goes_in(family_id, train, factory, entry)
        for entry in CATALOGUE.gear_sets.values()
    )


def goes_in(family_id: str, train, factory, entry) -> bool:
    """Whether `why` rules the set out for the machine as it left the factory."""
    subject = subject_from_counts(
        CATALOGUE,
        family_id,
        factory,
        housing_name=train.housing,
        wheel_size_in=train.wheel_size_in,
    )
    return combine(subject, [entry]).judgement.verdict is not Verdict.RULED_OUT


def check(counted: tuple[Pair, ...], wheel: int | None) -> list[Slip]:
    """Assert that the candidates are those of the definition, in order."""
    found = identify(CATALOGUE, counted, wheel)
    expected = []
    for family_id, index, factory, train in TRAINS:
        slip = slip_of(family_id, factory, train, counted, wheel)
        if slip is not None:
            strange = wheel is not None and wheel != train.wheel_size_in
            expected.append((slip, strange, family_id, index))
    assert [(one.slip, one.family.id, one.train) for one in found] == [
        (slip, family_id, index) for slip, _, family_id, index in sorted(expected)
    ]
    for one in found:
        assert one.reading
        assert bool(one.check) is (one.slip is not Slip.EXACT)
        assert one.factory_train is one.family.record.factory_trains[one.train]
        path, line, column = one.place.rsplit(":", 2)
        text = Path(path).read_text(encoding="utf-8").splitlines()[int(line) - 1]
        assert text[int(column) - 1 :].startswith("housing:")
    return [one.slip for one in found]


@pytest.mark.parametrize("train", some(TRAINS, 7), ids=lambda train: f"{train[0]}-{train[1]}")
def test_every_factory_train_and_every_miscount_of_it(train):
    family_id, index, factory, record = train
    names = [
        n for pair in gear_names(CATALOGUE.families[family_id].record.train_stages) for n in pair
    ]
    assert check(factory, None)[0] is Slip.EXACT
    assert check(factory, record.wheel_size_in)[0] is Slip.EXACT
    assert Slip.OTHER_WHEEL in check(factory, record.wheel_size_in + 1)
    counts = [count for pair in factory for count in (pair.driver, pair.driven)]
    for gear, name in enumerate(names):
        for out in (-1, 1):
            slipped = [count + out * (i == gear) for i, count in enumerate(counts)]
            pairs = tuple(Pair(*slipped[i : i + 2]) for i in range(0, len(slipped), 2))
            check(pairs, record.wheel_size_in)
            mine = [
                one
                for one in identify(CATALOGUE, pairs)
                if (one.family.id, one.train) == (family_id, index)
            ]
            assert [one.slip for one in mine] == [Slip.MISCOUNT]
            assert mine[0].check == f"count the {name} again"
            assert f"the {name} would have {counts[gear]}, counted {slipped[gear]}" in (
                mine[0].reading
            )


@pytest.mark.parametrize("train", some(TRAINS, 7), ids=lambda train: f"{train[0]}-{train[1]}")
@table("kind", ["two in one gear", "one in two gears", "one, stages swapped"])
def test_two_slips_still_lead_to_the_train(train, kind):
    """Whatever two slips were made, the train is offered, after all that one slip explains."""
    family_id, index, factory, record = train
    counts = flat(factory)
    for first, second in combinations(range(len(counts)), 2):
        slipped = list(counts)
        if kind == "two in one gear":
            slipped[first] += 2
        else:
            slipped[first] += 1
        if kind == "one in two gears":
            slipped[second] -= 1
        pairs = [slipped[i : i + 2] for i in range(0, len(slipped), 2)]
        if kind == "one, stages swapped":
            pairs.reverse()
        counted = tuple(Pair(*pair) for pair in pairs)
        check(counted, record.wheel_size_in)
        found = identify(CATALOGUE, counted)
        assert (family_id, index) in {(one.family.id, one.train) for one in found}
        slips = [one.slip for one in found]
        assert slips == sorted(slips)


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(st.data())
def test_any_mix_of_slips(data):
    _, _, factory, train = data.draw(st.sampled_from(TRAINS))
    counts = [count for pair in factory for count in (pair.driver, pair.driven)]
    done = data.draw(
        st.sampled_from(["shuffle", "swap", "part", "regear", "digits", "off", "other"])
    )
    if done == "shuffle":
        counts = data.draw(st.permutations(counts))
    elif done == "swap":
        wheels = data.draw(st.permutations(counts[1::2]))
        counts = [count for pair in zip(counts[::2], wheels, strict=True) for count in pair]
    elif done == "part":
        pairs = data.draw(st.permutations(factory))[: data.draw(st.integers(1, 3))]
        counts = [count for pair in pairs for count in (pair.driver, pair.driven)]
    elif done == "regear":
        entry = data.draw(st.sampled_from(list(CATALOGUE.gear_sets.values())))
        pair = next(iter(entry.record.pairs.values()))
        at = 2 * data.draw(st.integers(0, len(factory) - 1))
        counts[at : at + 2] = [pair.driver, pair.driven]
    elif done == "digits":
        at = data.draw(st.integers(0, len(counts) - 1))
        counts[at] = int(str(counts[at])[::-1])
    elif done == "off":
        counts = [count + data.draw(st.integers(-1, 1)) for count in counts]
    else:
        counts += [13, 40]
    try:
        pairs = tuple(read_pair(counts[i : i + 2]) for i in range(0, len(counts), 2))
    except TeethError:
        return
    check(pairs, data.draw(st.sampled_from([None, 10, 12, 13, train.wheel_size_in])))


# ------------------------------------------------------------------ written out

FAMILIES = """kind: family
records:
  knot-50:
    name: Knot 50
    housings: {short: {name: short case}, long: {name: long case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: short, wheel_size_in: 10, pairs: {primary: 14/46, secondary: 13/49}}
      - {housing: long, wheel_size_in: 13, pairs: {primary: 14/49, secondary: 13/49}}
      - {housing: long, wheel_size_in: 16, pairs: {primary: 14/46, secondary: 13/49}}
  avocet-125:
    name: Avocet 125
    housings: {short: {name: short case}}
    stages: {primary: {}, secondary: {}, tertiary: {}}
    factory_trains:
      - housing: short
        wheel_size_in: 12
        pairs: {primary: 20/41, secondary: 20/41, tertiary: 17/39}
  ruff-50:
    name: Ruff 50
    housings: {short: {name: short case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: short, wheel_size_in: 10, pairs: {primary: 21/60}}
      - {housing: short, wheel_size_in: 12, pairs: {primary: 21/60, secondary: 19/70}}
  stilt-50:
    name: Stilt 50
    housings: {short: {name: short case}}
    stages: {single: {}}
    factory_trains:
      - {housing: short, wheel_size_in: 10, pairs: {single: 13/49}}
"""
SETS = """kind: gear-set
defaults: {supplier: marram}
records:
  M1: {part_number: "1", pairs: {primary: 15/38}, fits: [{family: knot-50, housings: [short]}]}
  M2: {part_number: "2", pairs: {primary: 15/38}, fits: [{family: avocet-125}]}
  M3: {part_number: "3", pairs: {primary: 16/37}, listed_for: {models: [Knot 50]}}
  M4: {part_number: "4", pairs: {primary: 15/38}, fits: [{family: knot-50}], status: retired}
"""


@pytest.fixture(scope="module")
def small(load_files) -> Catalogue:
    return load_files({"families.yaml": FAMILIES, "sets.yaml": SETS})


def test_a_changed_stage_far_from_the_factory_is_to_be_counted_again(small):
    # 15/38 for 14/46 leaves 0.771 of the reduction, for 14/49 0.724.
    found = identify(small, read_train("15/38,13/49"), 10)
    assert [one.slip for one in found] == 3 * [Slip.REGEARED]
    assert "count it again, it changes the reduction by -22.90 %" in found[0].check
    assert "the input pinion would have 14, counted 15 and the idler wheel would have 46" in (
        found[0].check
    )
    assert identify_answer(small, read_train("15/38,13/49"), 10, found)["candidates"][0][
        "check"
    ].startswith("whether the primary pair was changed before; count it again")


@pytest.mark.parametrize(
    ("counted", "wheel", "expected"),
    [
        # 14/46 and 13/49 are a small-wheel 50 cc drive (common practice, no source).
        ("14/46,13/49", None, [("knot-50", 0, Slip.EXACT), ("knot-50", 2, Slip.EXACT)]),
        ("46/14,49/13", 10, [("knot-50", 0, Slip.EXACT), ("knot-50", 2, Slip.OTHER_WHEEL)]),
        ("14/46,13/49", 16, [("knot-50", 2, Slip.EXACT), ("knot-50", 0, Slip.OTHER_WHEEL)]),
        ("14/46,13/49", 12, [("knot-50", 0, Slip.OTHER_WHEEL), ("knot-50", 2, Slip.OTHER_WHEEL)]),
        (
            "13/49,14/46",
            16,
            [("knot-50", 2, Slip.STAGES_SWAPPED), ("knot-50", 0, Slip.STAGES_SWAPPED)],
        ),
        (
            "14/49,13/46",
            10,
            [("knot-50", 0, Slip.WHEELS_SWAPPED), ("knot-50", 2, Slip.WHEELS_SWAPPED)],
        ),
        (
            "14/13,46/49",
            10,
            [("knot-50", 0, Slip.GEARS_REGROUPED), ("knot-50", 2, Slip.GEARS_REGROUPED)],
        ),
        (
            "14/48,13/49",
            None,
            [("knot-50", 1, Slip.MISCOUNT), *(("knot-50", n, Slip.TWO_SLIPS) for n in (0, 2))],
        ),
        ("15/38,13/49", 13, [("knot-50", n, Slip.REGEARED) for n in (1, 0, 2)]),
        ("14/64,13/49", 10, [("knot-50", n, Slip.DIGITS_SWAPPED) for n in (0, 2)]),
        ("41/46,13/49", 10, [("knot-50", n, Slip.DIGITS_SWAPPED) for n in (0, 2)]),
        ("14/46,31/49", 13, [("knot-50", n, Slip.DIGITS_SWAPPED) for n in (0, 2)]),
        ("12/60,19/70", None, [("ruff-50", 1, Slip.DIGITS_SWAPPED)]),
        ("14/64,13/94", 10, []),  # in two counts
        ("16/37,13/49", 10, []),  # listed by model words only: nobody vouches
        (
            "13/49",
            None,
            [("stilt-50", 0, Slip.EXACT), *(("knot-50", n, Slip.PART_COUNTED) for n in range(3))],
        ),
        ("20/41,20/41", None, [("avocet-125", 0, Slip.PART_COUNTED)]),
        ("17/39,20/41", None, [("avocet-125", 0, Slip.PART_COUNTED)]),
        ("17/39,17/39", None, []),
        ("20/41,17/39,20/41", None, [("avocet-125", 0, Slip.STAGES_SWAPPED)]),
        ("20/39,17/41,20/41", None, [("avocet-125", 0, Slip.WHEELS_SWAPPED)]),
        ("14/46,13/49,20/41", None, []),
        ("14/44,13/49", None, [("knot-50", n, Slip.TWO_SLIPS) for n in (0, 2)]),
        ("14/43,13/49", None, []),  # three teeth out
        ("15/47,13/49", None, [("knot-50", n, Slip.TWO_SLIPS) for n in (0, 2)]),
        ("13/49,14/47", 13, [("knot-50", n, Slip.TWO_SLIPS) for n in (0, 2)]),
        ("21/60,19/70", None, [("ruff-50", 1, Slip.EXACT)]),  # after a train not on file in full
        ("5/200,5/200", None, []),
        ("90/91,92/93", 10, []),
    ],
)
def test_slips_written_out(small, counted, wheel, expected):
    found = identify(small, read_train(counted), wheel)
    assert [(one.family.id, one.train, one.slip) for one in found] == expected


def test_readings_say_what_to_look_at_again(small):
    def first(counted: str, wheel: int | None = None):
        return identify(small, read_train(counted), wheel)[0]

    assert first("14/46,13/49").reading == "the counts agree"
    assert "13 in wheel" in first("14/49,13/49", 10).reading
    assert "wheel size" in first("14/49,13/49", 10).check
    assert "input pinion" in first("13/49,14/46").check
    assert "idler wheel" in first("14/48,13/49").check
    assert "input pinion meshes" in first("14/49,13/46").check
    assert first("14/13,46/49").reading.startswith("the four figures agree")
    assert first("17/20,20/41,39/41").reading.startswith("the figures agree")
    assert "pinion and wheel of one stage together" in first("14/13,46/49").check
    two = "the idler wheel would have 46, counted 44"
    assert first("14/44,13/49").reading == f"two teeth out: {two}"
    one = "the idler wheel would have 46, counted 47"
    assert first("15/47,13/49").reading == (
        f"one tooth out in each of two gears: the input pinion would have 14, counted 15 and {one}"
    )
    assert first("13/49,14/47", 13).reading == (
        f"the stages were written in another order and one tooth is out: {one}"
    )
    assert first("17/39,20/41").reading == "counted are its tertiary, primary"
    assert "other stages" not in first("14/46").check
    assert "other stage " in first("14/46").check
    regeared = first("15/38,13/49")
    assert regeared.sets == ("M1", "M4")
    assert "whether the primary pair was changed" in regeared.check


def test_a_set_that_a_housing_rules_out_explains_no_train_there():
    found = identify(CATALOGUE, read_train("13/48 14/55"))
    explained = {one.factory_train.housing for one in found if "CG-40.04" in one.sets}
    # Its wheel is 76.92 mm over the tips; short clears 76, mid 76.5.
    assert explained == {"long"}


def test_a_wheel_that_is_given_narrows_what_goes_on():
    pairs = read_train("13/48 14/55")
    found = identify(CATALOGUE, pairs, 13)
    assert {one.factory_train.wheel_size_in for one in found} > {12, 13}
    assert {one.factory_train.wheel_size_in for one in with_wheel(found)} == {13}
    assert with_wheel(identify(CATALOGUE, pairs, 8)) == identify(CATALOGUE, pairs, 8)
