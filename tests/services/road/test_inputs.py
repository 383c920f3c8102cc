"""The inputs of the road model: which source stands before which, and what each is worth."""

from __future__ import annotations

import math
import re

import pytest

from fitcheck.errors import UsageError
from fitcheck.kernel.road.load import dynamometer_load
from fitcheck.services.counter.audience import for_customer
from fitcheck.services.counter.lookup import find_tune
from fitcheck.services.counter.subject import subject_from_counts
from fitcheck.services.road import defaults
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.sweep import setup_of
from tests.services.road.conftest import FAMILY, MACHINE, without


def known(inputs, key):
    given = inputs.givens[key]
    return given.value, given.kind


def test_the_machines_own_record_is_used_with_its_places(it):
    inputs = gather(it)
    assert known(inputs, "peak_power") == (pytest.approx(3), "catalogue")
    assert known(inputs, "peak_rpm") == (7000, "catalogue")
    assert known(inputs, "rev_limit") == (9000, "catalogue")
    assert known(inputs, "low_ratio") == (2.5, "catalogue")
    assert known(inputs, "high_ratio") == (0.9, "catalogue")
    assert known(inputs, "shift_rpm") == (6500, "catalogue")
    assert known(inputs, "engage_rpm") == (3500, "catalogue")
    assert known(inputs, "running_order") == (85, "catalogue")
    assert known(inputs, "rider") == (80, "catalogue")
    assert known(inputs, "roll_out") == (1200, "counted")
    assert re.search(r"machine\.yaml:3:\d+$", inputs.givens["low_ratio"].source)
    assert not inputs.is_fixed


def test_what_is_said_at_the_counter_stands_before_the_files(it):
    asked = RoadAsked(
        power=(3.6, 7500),
        rev_limit_rpm=9500,
        shift_rpm=6900,
        engage_rpm=3800,
        ratios=(2.8, 0.8),
        efficiency=0.7,
        mass_kg=90,
        rider_kg=60,
        drag_area_m2=0.6,
        rolling_coefficient=0.02,
    )
    inputs = gather(it, asked)
    said = {
        "peak_power": 3.6,
        "peak_rpm": 7500,
        "rev_limit": 9500,
        "shift_rpm": 6900,
        "engage_rpm": 3800,
        "low_ratio": 2.8,
        "high_ratio": 0.8,
        "efficiency": 0.7,
        "running_order": 90,
        "rider": 60,
        "drag_area": 0.6,
        "rolling": 0.02,
    }
    for key, value in said.items():
        assert known(inputs, key) == (pytest.approx(value), "given"), key
    assert inputs.givens.keys() == said.keys() | {"roll_out", "engine_inertia"}


def test_works_figures_stand_in_where_the_machine_has_none(make):
    family = without(
        FAMILY,
        engine={"peak_power_kw": 2.5, "peak_power_rpm": 6000},
        variator={"low_ratio": 2.7, "high_ratio": 0.85, "efficiency": 0.88},
        running_order_kg=78,
    )
    bare = without(MACHINE, "engine", "variator", "masses", "tune")
    inputs = gather(make(bare, family))
    assert known(inputs, "peak_power") == (pytest.approx(2.5), "catalogue")
    assert "family.yaml" in inputs.givens["peak_power"].source
    assert known(inputs, "low_ratio") == (2.7, "catalogue")
    assert known(inputs, "running_order") == (78, "catalogue")
    assert known(inputs, "efficiency") == (pytest.approx(0.88 * 0.96), "catalogue")


def test_defaults_are_estimates_and_say_what_they_rest_on(make):
    machine = without(
        MACHINE, "variator", "masses", engine={"peak_power_kw": 3, "peak_power_rpm": 7000}
    )
    inputs = gather(make(machine))
    assert known(inputs, "rev_limit") == (pytest.approx(8400), "estimate")
    assert known(inputs, "shift_rpm") == (pytest.approx(6510), "estimate")
    assert known(inputs, "engage_rpm") == (pytest.approx(3500), "estimate")
    assert known(inputs, "low_ratio") == (2.6, "estimate")
    assert known(inputs, "running_order") == (90, "estimate")
    assert known(inputs, "rider") == (75, "standard")
    assert known(inputs, "efficiency") == (pytest.approx(0.83 * 0.96), "estimate")
    assert any("ratios are not on file" in note for note in inputs.notes)
    assert any("usual shape" in note for note in inputs.notes)
    for given in inputs.givens.values():
        assert given.source
        assert given.spread > 0


def test_drag_and_rolling_come_from_the_regulations_table(it):
    """40 CFR 86.529-98, Figure F98-9 (read), at 165 kg loaded, and the driven tyre's own loss."""
    inputs = gather(it)
    table = dynamometer_load(165)
    force_at_65 = table.constant_n + table.quadratic_n_per_kmh2 * 65**2
    weight = 165 * 9.80665
    driven = 0.015 * 0.6 * weight
    values = inputs.values
    assert values["road_load"] == pytest.approx(force_at_65 + driven, rel=1e-9)
    rolling = 0.088 * 165 + driven
    assert values["rolling_share"] == pytest.approx(rolling / values["road_load"], rel=1e-9)
    assert inputs.givens["road_load"].kind == "standard"
    assert inputs.givens["rolling_share"].kind == "estimate"
    load = setup_of(inputs, values).load
    assert load.constant_n == pytest.approx(rolling, rel=1e-12)
    assert load.force(65 / 3.6) == pytest.approx(values["road_load"], rel=1e-7)


def test_the_sum_of_rolling_and_air_is_surer_than_either(it):
    """The regulation proves the load at 65 km/h: one part rises as the other falls."""
    inputs = gather(it)
    split = inputs.values["rolling_share"] + inputs.givens["rolling_share"].spread
    least, most = (
        setup_of(inputs, inputs.values | {"rolling_share": share}).load for share in (0.0, split)
    )
    assert most.force(65 / 3.6) == pytest.approx(least.force(65 / 3.6), rel=1e-7)
    assert (least.constant_n, most.drag_n_s2_m2 < least.drag_n_s2_m2) == (0.0, True)
    heavier = inputs.values | {"rider": inputs.values["rider"] + 20}
    more = setup_of(inputs, heavier).load
    assert more.drag_n_s2_m2 == setup_of(inputs, inputs.values).load.drag_n_s2_m2
    assert more.constant_n / 185 == pytest.approx(
        setup_of(inputs, inputs.values).load.constant_n / 165
    )


@pytest.mark.parametrize(
    ("said", "key", "other"),
    [
        ({"drag_area_m2": 0.6}, "drag_area", "rolling"),
        ({"rolling_coefficient": 0.02}, "rolling", "drag_area"),
    ],
)
def test_where_one_part_is_said_both_parts_are_inputs(it, said, key, other):
    inputs = gather(it, RoadAsked(**said))
    assert not {"road_load", "rolling_share"} & set(inputs.givens)
    assert inputs.givens[key].kind == "given"
    part = {"drag_area": "drag_n_s2_m2", "rolling": "constant_n"}[other]
    alone, both = (setup_of(each, each.values).load for each in (inputs, gather(it)))
    assert getattr(alone, part) == pytest.approx(getattr(both, part), rel=1e-12)


def test_a_mass_outside_the_table_is_said_to_be_extrapolated(it):
    assert not any("extrapolated" in note for note in gather(it).notes)
    heavy = gather(it, RoadAsked(rider_kg=290))
    assert any("375 kg" in note and "extrapolated" in note for note in heavy.notes)
    own = gather(it, RoadAsked(rider_kg=290, drag_area_m2=0.6, rolling_coefficient=0.02))
    assert not any("extrapolated" in note for note in own.notes)


def test_points_are_the_curve_and_torque_is_turned_into_power(make):
    points = [
        {"rpm": 5000, "torque_nm": 3.0},
        {"rpm": 7000, "power_kw": 3.0},
        {"rpm": 8000, "power_kw": 2.0},
    ]
    inputs = gather(make(without(MACHINE, engine={"points": points})))
    assert inputs.curve.power_w(5000) == pytest.approx(3.0 * 5000 * 2 * math.pi / 60)
    assert known(inputs, "peak_power") == (pytest.approx(3.0), "counted")
    assert known(inputs, "rev_limit") == (8000, "estimate")
    assert not any("usual shape" in note for note in inputs.notes)
    said = gather(make(without(MACHINE, engine={"points": points})), RoadAsked(power=(6, 14000)))
    assert said.curve.power_w(16000) == pytest.approx(4000)
    assert known(said, "rev_limit") == (pytest.approx(16000), "estimate")


def test_points_of_the_works_are_not_counted_on_this_machine(make):
    points = [{"rpm": 5000, "power_kw": 1.5}, {"rpm": 7000, "power_kw": 2.5}]
    subject = make(without(MACHINE, "engine"), without(FAMILY, engine={"points": points}))
    assert known(gather(subject), "peak_power") == (pytest.approx(2.5), "catalogue")


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ({"rev_limit_rpm": 6000}, {"shift_rpm": 6000, "engage_rpm": 3500}),
        ({"rev_limit_rpm": 3000}, {"shift_rpm": 3000, "engage_rpm": 3000}),
        ({"shift_rpm": 3200}, {"engage_rpm": 3200, "rev_limit": 8400}),
        ({"shift_rpm": 9100}, {"engage_rpm": 3500, "rev_limit": 9100}),
        ({"engage_rpm": 6900}, {"shift_rpm": 6900, "rev_limit": 8400}),
    ],
)
def test_a_default_engine_speed_gives_way_to_a_known_one(make, asked, expected):
    engine = {"peak_power_kw": 3, "peak_power_rpm": 7000}
    subject = make(without(MACHINE, "variator", engine=engine))
    inputs = gather(subject, RoadAsked(**asked))
    for key, value in expected.items():
        assert known(inputs, key) == (pytest.approx(value), "estimate")


def test_a_limiter_of_ones_own_stands_before_the_works_engine(make):
    family = without(
        FAMILY, engine={"peak_power_kw": 2, "peak_power_rpm": 6000, "rev_limit_rpm": 8000}
    )
    limited = without(MACHINE, engine={"rev_limit_rpm": 7100})
    assert known(gather(make(limited, family)), "rev_limit") == (7100, "catalogue")
    assert known(gather(make(without(MACHINE, "engine"), family)), "rev_limit")[0] == 8000


def test_another_tune_scales_the_engine_by_the_catalogues_factors(make, it):
    from dataclasses import replace

    catalogue = it.catalogue
    kit = gather(replace(it, tune=find_tune(catalogue, "kit")))
    assert known(kit, "peak_power") == (pytest.approx(3 * 1.65), "estimate")
    assert known(kit, "peak_rpm") == (pytest.approx(7000 * 1.155), "estimate")
    assert known(kit, "rev_limit") == (pytest.approx(9000 * 1.155), "estimate")
    said = gather(replace(it, tune=find_tune(catalogue, "kit")), RoadAsked(power=(5, 8000)))
    assert known(said, "peak_rpm") == (8000, "given")
    assert known(said, "rev_limit") == known(kit, "rev_limit")
    piped = make(without(MACHINE, tune="pipe"))
    assert known(gather(piped), "peak_power") == (pytest.approx(3), "catalogue")
    from_pipe = gather(replace(piped, tune=find_tune(piped.catalogue, "kit")))
    assert known(from_pipe, "peak_power") == (pytest.approx(3 * 1.5), "estimate")
    assert any("rough factor" in note for note in from_pipe.notes)


def test_works_figures_of_a_machine_in_another_tune_are_scaled(make):
    family = without(FAMILY, engine={"peak_power_kw": 2, "peak_power_rpm": 6000})
    inputs = gather(make(without(MACHINE, "engine", tune="pipe"), family))
    assert known(inputs, "peak_power") == (pytest.approx(2.2), "estimate")
    assert known(inputs, "peak_rpm") == (pytest.approx(6300), "estimate")


@pytest.mark.parametrize("where", ["machine", "family", "asked"])
def test_a_fixed_ratio_has_no_variator(make, it, where):
    asked = RoadAsked()
    subject = it
    if where == "machine":
        subject = make(without(MACHINE, "variator", fixed_ratio=1.5))
    elif where == "family":
        subject = make(without(MACHINE, "variator"), without(FAMILY, fixed_ratio=1.5))
    else:
        asked = RoadAsked(ratios=(1.5, 1.5))
    inputs = gather(subject, asked)
    assert inputs.is_fixed
    assert inputs.values["low_ratio"] == 1.5
    assert not {"high_ratio", "shift_rpm"} & inputs.givens.keys()
    assert inputs.givens["low_ratio"].name == "fixed ratio"


def test_without_an_engine_one_line_says_what_to_add_and_where(make):
    with pytest.raises(
        UsageError, match=r"the engine power of it is not known; give --power KW@RPM"
    ) as error:
        gather(make(without(MACHINE, "engine")))
    assert re.search(r"machine\.yaml:\d+:\d+", str(error.value))
    assert "\n" not in str(error.value)


def test_without_a_roll_out_one_line_says_what_to_give(make):
    with pytest.raises(UsageError, match=r"how far a wheel turn .*--roll-out MM.*--tyre SIZE"):
        gather(make(without(MACHINE, "roll_out_mm")))


def test_all_that_is_missing_is_said_at_once_with_three_ways_to_give_each(make):
    with pytest.raises(UsageError) as error:
        gather(make(without(MACHINE, "engine", "roll_out_mm")))
    said = str(error.value)
    assert said.startswith("2 things are missing: the engine power of it is not known; ")
    assert "how far a wheel turn" in said
    for ways in (
        ("--power KW@RPM", "peak_power_kw", "papers"),
        ("--roll-out MM", "roll_out_mm: ...", "--tyre SIZE for an estimate"),
    ):
        assert all(way in said for way in ways)
    assert "--" not in for_customer(error.value.args[0])
    with pytest.raises(UsageError, match=r"^how far a wheel turn"):
        gather(make(without(MACHINE, "engine", "roll_out_mm")), RoadAsked(power=(2.4, 6500)))


def test_the_works_tyre_stands_in_for_one_nobody_read(make):
    tyre = {"size": "90/90-10", "wheel_size_in": 10}
    train = FAMILY["factory_trains"][0] | {"tyre": "works"}
    family = without(FAMILY, factory_trains=[train])
    bare = without(MACHINE, "roll_out_mm")
    inputs = gather(make(bare, family, tyre={"works": tyre}))
    given = inputs.givens["roll_out"]
    # d 254 and 2 x 81 are 416 mm; times 3.05 by the rule of tests/kernel/test_tyres.py.
    assert given.value == pytest.approx(3.05 * 416)
    assert given.kind == "estimate"
    assert given.spread == pytest.approx(0.06 * given.value)
    assert any("--tyre SIZE" in note for note in inputs.notes)
    other = without(bare, pairs={"single": "11/100"})
    with pytest.raises(UsageError, match="how far a wheel turn"):
        gather(make(other, family, tyre={"works": tyre}))
    wheel = without(bare, wheel_size_in=12)
    with pytest.raises(UsageError, match="how far a wheel turn"):
        gather(make(wheel, family, tyre={"works": tyre}))


def test_counts_alone_need_a_power(it):
    subject = subject_from_counts(it.catalogue, "knot", it.pairs)
    with pytest.raises(UsageError, match=r"the engine power of Knot.* is not known; give --power"):
        gather(subject)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (RoadAsked(engage_rpm=6800), "clutch engages at 6800 .* is over shift speed"),
        (RoadAsked(shift_rpm=9500), "shift speed of the variator 9500 .* is over rev limit"),
        (RoadAsked(ratios=(0.8, 2.6)), "starting ratio 0.8 is not over the top ratio 2.6.*swapped"),
    ],
)
def test_inputs_that_contradict_each_other_are_refused(it, asked, words):
    with pytest.raises(UsageError, match=words):
        gather(it, asked)


def test_a_tyre_whose_speed_symbol_nobody_knows_is_said_to_be_so(make):
    unsaid = make(without(MACHINE, "roll_out_mm", tyre_size="90/90-10"))
    assert any("speed symbol of 90/90-10 is not known" in note for note in gather(unsaid).notes)
    said = make(without(MACHINE, "roll_out_mm", tyre_size="90/90-10 50J"))
    assert not any("symbol" in note for note in gather(said).notes)
    assert any("speed symbol of the tyre is not" in note for note in gather(make()).notes)


def test_power_said_at_the_counter_takes_the_shape_of_the_points_on_file(make):
    points = [{"rpm": 5000, "power_kw": 1.5}, {"rpm": 7000, "power_kw": 2.5}]
    subject = make(without(MACHINE, engine={"points": points}))
    said = gather(subject, RoadAsked(power=(5, 7000)))
    assert said.curve.power_w(5000) == pytest.approx(3000)
    assert not any("usual shape" in note for note in said.notes)


def test_thin_and_cold_air_change_the_density(it):
    assert gather(it).air_density == pytest.approx(1.225, rel=1e-4)
    assert gather(it, RoadAsked(altitude_m=2000)).air_density == pytest.approx(1.0066, rel=1e-3)
    assert gather(it, RoadAsked(temperature_c=-10)).air_density > 1.3


def test_every_input_has_a_spread_for_every_kind_it_may_have():
    for key, kind in defaults.INPUTS.items():
        if key in {"engine_inertia", "road_load", "rolling_share"}:
            continue  # nobody can say it
        assert 0 < kind.spreads["given"] == min(kind.spreads.values()) or "counted" in kind.spreads
        assert max(kind.spreads.values()) <= 0.3
