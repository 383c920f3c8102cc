"""Lists on the road: what the law drops, what ranks first, counts that add up.

The truth is the kernel's single path, `performance`, one gearing at a time; 45 km/h stands for
class L1e-B of Regulation (EU) No 168/2013, Annex I.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from fitcheck.errors import UsageError
from fitcheck.services.counter import list_road
from fitcheck.services.counter.match import Match, match
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import LawfulAnswer, PullVerdict, RoadAsked
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.lawful import class_answer
from fitcheck.services.road.rows import RoadRows
from fitcheck.services.road.sweep import setup_of
from tests.conftest import some
from tests.kernel.road.single_path import performance
from tests.services.road.conftest import FAMILY, MACHINE, gear_set, without

WITHIN, STRADDLES, OVER = LawfulAnswer.WITHIN, LawfulAnswer.STRADDLES, LawfulAnswer.OVER


def ids(result: Match) -> list[str]:
    return [one.sets[0].id for one in result.combinations]


def ask(subject: Subject, **wanted) -> Match:
    return match(subject, Request(band="any", **wanted))


@pytest.fixture(scope="module")
def slow(make) -> Subject:
    """Registered in a class of 45 km/h, and choked so far that it does about that."""
    machine = without(MACHINE, engine={"peak_power_kw": 1.4, "peak_power_rpm": 6000})
    sets = {f"MA-{teeth}": gear_set(f"10/{teeth}", str(teeth)) for teeth in range(90, 161, 10)}
    return make(without(machine, "variator", vehicle_class="slow"), gear_set=sets)


@pytest.fixture(scope="module")
def judged(slow) -> dict[str, LawfulAnswer]:
    """The answer to each set by the single path of ranges: `compare` would say the same."""
    rows = RoadRows(slow)
    found = {}
    for one in ask(slow).combinations:
        (answer,) = rows.lawful([one.reduction]).values()
        found[one.sets[0].id] = answer.answer
    return found


# ------------------------------------------------------------------ the law


def test_the_three_answers_all_occur(judged):
    assert set(judged.values()) == {WITHIN, STRADDLES, OVER}


def test_only_what_is_over_for_certain_is_dropped(slow, judged):
    every, lawful = ask(slow), ask(slow, lawful=True)
    assert ids(lawful) == [id_ for id_ in ids(every) if judged[id_] is not OVER]
    assert all(one.lawful.answer is judged[one.sets[0].id] for one in lawful.combinations)
    over = sum(answer is OVER for answer in judged.values())
    assert lawful.counts.unlawful == over > 0
    assert lawful.counts.listed + over == every.counts.listed
    assert every.counts.unlawful is None


def test_a_missing_datum_proves_nothing(slow, judged):
    """What may be over is not proved to be within."""
    proven = ask(slow, lawful=True, proven_only=True)
    assert ids(proven) == [id_ for id_ in ids(ask(slow)) if judged[id_] is WITHIN]
    assert proven.counts.listed + proven.counts.unlawful == len(judged)


def test_the_other_counts_do_not_know_of_the_law(slow):
    every, lawful = ask(slow).counts, ask(slow, lawful=True).counts
    same = replace(lawful, listed=every.listed, unlawful=None)
    assert same == every
    assert every.fits + every.unproven + every.ruled_out == every.all_choices


def test_top_is_of_what_is_lawful(slow):
    every, first = ask(slow, lawful=True), ask(slow, lawful=True, top=2)
    assert ids(first) == ids(every)[:2]
    assert first.counts == every.counts
    none = ask(slow, lawful=True, top=0)
    assert none.combinations == []
    assert none.counts == every.counts


def test_what_is_shorter_is_held_to_the_law_too(make):
    """Strong and in a class of 45: even most of what makes it slower stays over."""
    sets = {f"MA-{teeth}": gear_set(f"10/{teeth}", str(teeth)) for teeth in (88, 105, 115, 190)}
    subject = make(without(MACHINE, vehicle_class="slow"), gear_set=sets)
    asked = Request(percent=(Fraction(0), None), lawful=True)
    found = match(subject, asked)
    assert found.combinations == []
    assert [one.sets[0].id for one in found.shorter] == ["MA-190"]
    assert found.shorter[0].lawful.answer is WITHIN
    assert found.all_shorter == 1
    assert match(subject, replace(asked, lawful=False)).all_shorter == 3


def test_the_machine_as_it_stands_is_judged_once_for_the_list(make):
    over = make(without(MACHINE, vehicle_class="slow"))
    side = ask(over, lawful=True).road
    assert side.lawful_now.answer is OVER
    assert side.now is None  # nobody asked what it does
    told = remarks_on(over, side.lawful_now)
    assert [each for each in told if "Over the 45 km/h" in each]
    assert not [each for each in told if "by design" in each]
    assert [each for each in remarks_on(over) if "at most 45 km/h by design" in each]


def test_a_class_said_at_the_counter_stands_before_the_record(make):
    subject = make(without(MACHINE, vehicle_class="slow"))
    free = subject.catalogue.vehicle_classes["free"]
    found = ask(subject, lawful=True, road=RoadAsked(vehicle_class=free))
    assert found.road.vehicle_class is free
    assert found.counts.unlawful == 0


def test_a_class_without_a_ceiling_needs_no_model(make):
    bare = without(MACHINE, "engine", "roll_out_mm", vehicle_class="free")
    found = ask(make(bare), lawful=True)
    assert len(found.combinations) == 5
    assert {one.lawful.answer for one in found.combinations} == {WITHIN}
    assert found.counts.unlawful == 0
    with pytest.raises(UsageError, match="the engine power"):
        ask(make(bare), lawful=True, show_road=True)


def test_what_else_speaks_against_a_class_needs_no_model_either(make):
    family = without(FAMILY, displacement_cm3=72)
    small = {"small": {"name": "small", "place": "Marsh", "max_displacement_cm3": 50}}
    small["small"] |= {"source": "a rule", "date": "2026-01-01"}
    bare = without(MACHINE, "engine", vehicle_class="small")
    found = ask(make(bare, family, vehicle_class=small), lawful=True)
    assert found.road.lawful_now.others == ("72 cm3 is over the 50 cm3 of small.",)
    # Gears neither make nor mend that; but lawful it is not proved to be.
    assert found.counts.listed == 5
    assert (
        ask(make(bare, family, vehicle_class=small), lawful=True, proven_only=True).counts.listed
        == 0
    )


def test_a_least_reduction_is_broken_by_the_gears_themselves(make):
    """L3e-AxE asks for an overall ratio of at least 6.0: Regulation (EU) No 168/2013 (read)."""
    least = {"name": "enduro", "place": "Marsh", "min_overall_reduction": 8, "source": "a rule"}
    enduro = {"enduro": least | {"date": "2026-01-01"}}
    subject = make(without(MACHINE, vehicle_class="enduro"), vehicle_class=enduro)
    found = ask(subject, lawful=True)
    # 0.9 in the top ratio: 8.8 and more are 7.92 and more.
    assert [one.sets[0].id for one in found.combinations] == ["MA-94", "MA-115"]
    assert found.counts.unlawful == 3
    bare = make(without(MACHINE, "engine", vehicle_class="enduro"), vehicle_class=enduro)
    with pytest.raises(UsageError, match="the engine power"):
        ask(bare, lawful=True)


@pytest.mark.parametrize("wanted", [{"lawful": True}, {"lawful": True, "rank": "verdict"}])
def test_without_a_class_nothing_is_called_lawful(it, wanted):
    with pytest.raises(UsageError, match=r"no class on file.*--class NAME"):
        ask(it, **wanted)


def test_without_an_engine_a_ceiling_cannot_be_judged(make):
    bare = without(MACHINE, "engine", vehicle_class="slow")
    with pytest.raises(UsageError, match=r"engine power.*--power KW@RPM"):
        ask(make(bare), lawful=True)
    assert ask(make(bare), lawful=True, road=RoadAsked(power=(3, 7000))).counts.listed < 5


def test_without_a_tyre_neither(make):
    bare = without(MACHINE, "roll_out_mm", vehicle_class="slow")
    with pytest.raises(UsageError, match="--roll-out MM"):
        ask(make(bare), show_road=True)


# ------------------------------------------------------------------ the road


def test_the_columns_are_the_kernels_single_path(it):
    inputs = gather(it)
    setup = setup_of(inputs, inputs.values)
    now = performance(setup, 1.2 / 10)
    found = ask(it, show_road=True)
    assert len(found.combinations) == 5
    for one in found.combinations:
        then = performance(setup, 1.2 / float(one.reduction))
        row = one.road
        assert row.top.value == pytest.approx(3.6 * then.flat.speed_m_s, rel=1e-6)
        gain = 3.6 * (then.flat.speed_m_s - now.flat.speed_m_s)
        assert row.top_change == pytest.approx(gain, abs=1e-6)
        assert row.start_force.value == pytest.approx(then.start_force_n, rel=1e-6)
        # Pull goes with the reduction, by hand: 88/100 is 12 % less.
        assert row.start_change == pytest.approx(float(one.reduction_change), rel=1e-9)
        assert row.time_45 == pytest.approx(then.time_45_s, rel=1e-6)
        assert row.top.low < row.top.value < row.top.high
        assert one.lawful is None  # in no class
    assert found.road.now.top.value == pytest.approx(3.6 * now.flat.speed_m_s, rel=1e-6)
    assert found.road.now.top_change == 0


def test_a_new_tyre_counts_as_so_much_gearing(make):
    """On a wheel that rolls 4 % less every turn of the input shaft takes it 4 % less far."""
    subject = make(gear_set={"MA-94": gear_set("10/94", "94")})
    smaller = replace(subject, roll_out_ratio=Fraction(96, 100))
    (one,) = ask(smaller, show_road=True).combinations
    inputs = gather(subject)
    then = performance(setup_of(inputs, inputs.values), 0.96 * 1.2 / 9.4)
    assert one.road.top.value == pytest.approx(3.6 * then.flat.speed_m_s, rel=1e-6)
    assert one.road.start_force.value == pytest.approx(then.start_force_n, rel=1e-6)
    found = ask(smaller, show_road=True)
    now = ask(subject, show_road=True).road.now
    assert found.road.now == now, "the present gearing stands on the present tyre"


def test_the_law_is_asked_of_the_new_tyre_too(slow):
    """A wheel that rolls 20 % less leaves more within the class."""
    lawful = set(ids(ask(slow, lawful=True, proven_only=True)))
    small = replace(slow, roll_out_ratio=Fraction(8, 10))
    assert lawful < set(ids(ask(small, lawful=True, proven_only=True)))


def test_a_measured_speed_is_what_the_present_gearing_does(it):
    found = ask(it, show_road=True, road=RoadAsked(measured_top_km_h=67))
    assert found.road.now.top.value == pytest.approx(67, abs=0.5)
    assert found.road.now.top.value != pytest.approx(ask(it, show_road=True).road.now.top.value)
    assert "measured 67 km/h" in found.road.calibrated
    free = ask(it, show_road=True).combinations
    for loose, tight in zip(free, found.combinations, strict=True):
        width = tight.road.top.high - tight.road.top.low
        assert width < loose.road.top.high - loose.road.top.low


def test_cautions_of_the_model_are_handed_on(it):
    assert any("Only peak power is known" in note for note in ask(it, show_road=True).road.notes)


def test_nothing_of_it_where_nobody_asks(it):
    found = ask(it)
    assert found.road is None
    assert {(one.road, one.lawful) for one in found.combinations} == {(None, None)}


# ------------------------------------------------------------------ ranks


@pytest.fixture(scope="module")
def weak(make) -> Subject:
    """So weak that some gearings never reach 45 km/h."""
    sets = {f"MA-{teeth}": gear_set(f"10/{teeth}", str(teeth)) for teeth in range(60, 171, 10)}
    machine = without(MACHINE, "variator", engine={"peak_power_kw": 1.4, "peak_power_rpm": 6000})
    return make(machine, gear_set=sets)


def test_most_start_off_pull_first_is_the_shortest_first(weak):
    """Thrust at standstill goes with the reduction."""
    assert ids(ask(weak, rank="start-off")) == ids(ask(weak))[::-1]


def test_most_real_top_speed_first(weak):
    found = ask(weak, rank="top-speed")
    tops = [round(one.road.top.value, 6) for one in found.combinations]
    assert tops == sorted(tops, reverse=True)
    changes = [one.road_speed_change for one in found.combinations]
    assert changes != sorted(changes, reverse=True), "more gearing costs speed here"
    assert Counter(ids(found)) == Counter(ids(ask(weak)))


def test_a_top_speed_that_no_gearing_changes_ties(weak):
    """Where the variator never comes fully out, the last digits are rounding, no order."""
    found = [one for one in ask(weak, rank="top-speed").combinations if one.reduction < 9]
    assert len(found) > 2
    assert len({one.rank for one in found}) == 1
    changes = [one.road_speed_change for one in found]
    assert changes == sorted(changes, reverse=True)


def test_least_time_first_and_never_last(weak):
    times = [one.road.time_45 for one in ask(weak, rank="0-45").combinations]
    known = [time for time in times if time is not None]
    assert 0 < len(known) < len(times)
    assert times == sorted(known) + [None] * (len(times) - len(known))


def test_what_never_gets_there_stays_in_the_usual_order(weak):
    found = ask(weak, rank="0-45").combinations
    never = [one for one in found if one.road.time_45 is None]
    changes = [one.road_speed_change for one in never]
    assert changes == sorted(changes, reverse=True)
    assert len({one.rank for one in never}) == 1


def test_what_the_engine_pulls_first(weak):
    found = ask(weak, rank="verdict").combinations
    order = list(PullVerdict)
    keys = [(order.index(one.road.verdict), -round(one.road.top.value, 6)) for one in found]
    assert keys == sorted(keys)
    assert len({one.road.verdict for one in found}) > 1


@pytest.mark.parametrize("rank", some(["top-speed", "start-off", "verdict", "0-45"], 2))
def test_the_first_of_a_long_list_are_the_first_of_all(weak, rank, monkeypatch):
    every = ask(weak, rank=rank)
    monkeypatch.setattr(list_road, "_REDUCTIONS", 3)
    monkeypatch.setattr(list_road, "_ROWS", 4)
    for top in some((0, 1, 2, 5, 100), 3):
        first = ask(weak, rank=rank, top=top)
        assert [(one.rank, one.sets) for one in first.combinations] == [
            (one.rank, one.sets) for one in every.combinations[:top]
        ]
        assert first.counts == every.counts


def test_equal_figures_share_a_rank_and_keep_their_order(make):
    """Two of one gearing, and one that comes to the same reduction by other counts."""
    sets = {
        "DEAR": gear_set("10/80", "1") | {"price": 9},
        "CHEAP": gear_set("10/80", "2") | {"price": 5},
        "OTHER": gear_set("11/88", "3"),
        "SHORT": gear_set("10/90", "4"),
    }
    found = ask(make(gear_set=sets), rank="start-off").combinations
    assert [(one.rank, one.sets[0].id) for one in found] == [
        (1, "SHORT"),
        (2, "CHEAP"),
        (2, "DEAR"),
        (2, "OTHER"),
    ]


def test_a_rank_by_the_road_shows_it():
    assert Request(rank="0-45").show_road
    assert not Request().show_road
    with pytest.raises(UsageError, match=r"no rank by 'fast'; give .*top-speed"):
        Request(rank="fast")


# ------------------------------------------------------------------ work


def test_no_reduction_is_worked_out_twice(make, monkeypatch):
    """Each with many sets, so that the chunks end in the middle of one."""
    sets = {
        f"MA-{teeth}-{number}": gear_set(f"10/{teeth}", f"{teeth}{number}")
        for teeth in (80, 84, 88, 90, 92, 94, 96)
        for number in range(5)
    }
    subject = make(without(MACHINE, vehicle_class="slow"), gear_set=sets)
    expected = ids(ask(subject, rank="top-speed"))
    worked: Counter[Fraction] = Counter()
    run = RoadRows.rows

    def counted(self, reductions, **more):
        wanted = list(reductions)
        worked.update(wanted)
        return run(self, wanted, **more)

    monkeypatch.setattr(RoadRows, "rows", counted)
    monkeypatch.setattr(list_road, "_REDUCTIONS", 2)
    monkeypatch.setattr(list_road, "_ROWS", 7)
    assert ids(ask(subject, rank="top-speed")) == expected
    assert len(worked) == 7
    assert set(worked.values()) == {1}


def test_only_what_is_shown_is_worked_out_where_the_order_stays(make, monkeypatch):
    asked: list[Fraction] = []
    run = RoadRows.rows

    def counted(self, reductions, **more):
        wanted = list(reductions)
        asked.extend(wanted)
        return run(self, wanted, **more)

    monkeypatch.setattr(RoadRows, "rows", counted)
    match(make(), Request(band="any", top=2, show_road=True, taller_only=True))
    assert asked == [Fraction(6), Fraction(8)]


def test_the_answer_is_that_of_the_class_alone(slow):
    """A list says of each gearing what `class_answer` says of its figures."""
    for one in ask(slow, lawful=True, show_road=True).combinations:
        again = class_answer(one.lawful.vehicle_class, one.lawful.top)
        assert (again.answer, again.sentence) == (one.lawful.answer, one.lawful.sentence)
        assert one.road.lawful is one.lawful
