"""The overview of a family on the road: judged by the factory machine, or refused at once."""

from __future__ import annotations

from typing import Any

import pytest

from fitcheck.errors import UsageError
from fitcheck.services.counter.match import match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.road.figures import RoadAsked
from tests.services.road.conftest import CLASSES, FAMILY, MACHINE, TUNES, gear_set, without

TRAINS = [
    {"housing": "short", "wheel_size_in": 10, "pairs": {"single": "10/100"}, "tyre": "t-10"},
    {"housing": "short", "wheel_size_in": 12, "pairs": {"single": "10/110"}, "tyre": "t-12"},
]
WORKS = {
    "engine": MACHINE["engine"],
    "variator": MACHINE["variator"],
    "running_order_kg": 85,
    "vehicle_class": "slow",
    "factory_trains": TRAINS,
}


def tyre(size: str, rim: int, roll_out: int) -> dict[str, Any]:
    return {"size": size, "wheel_size_in": rim, "roll_out_mm": roll_out, "basis": "catalogue"}


TYRES = {"t-10": tyre("3.50-10", 10, 1300), "t-12": tyre("3.00-12", 12, 1450)}


@pytest.fixture(scope="module")
def world(load_records):
    def run(**works: Any):
        return load_records(
            {
                "family": {"knot": without(FAMILY, *works, **(WORKS | works))},
                "machine": {
                    "like": without(
                        MACHINE, "roll_out_mm", "masses", tyre="t-10", vehicle_class="slow"
                    )
                    | {"masses": {"running_order_kg": 85}}
                },
                "tyre": TYRES,
                "tune": TUNES,
                "vehicle-class": CLASSES,
                "supplier": {"marram": {"name": "Marram"}},
                "gear-set": {
                    f"MA-{teeth}": gear_set(f"10/{teeth}", str(teeth)) for teeth in (80, 94, 125)
                },
            }
        )

    return run


def groups(catalogue, request: Request, **wanted: Any):
    return list(options(catalogue, catalogue.families["knot"], request, **wanted))


def figures(result):
    return [
        (one.road.top, one.road.start_force, one.road.time_45, one.lawful.answer)
        for one in result.combinations
    ]


def test_the_works_machine_does_what_a_machine_of_the_same_figures_does(world):
    catalogue = world()
    request = Request(band="any", show_road=True)
    (group,) = groups(catalogue, request, wheel_size_in=10, tune="stock")
    alike = match(subject_of(catalogue, "like"), request)
    assert figures(group.result) == figures(alike) != []
    assert group.result.counts == alike.counts
    assert group.result.road.now == alike.road.now


def test_each_train_has_its_own_tyre(world):
    found = groups(world(), Request(band="any", show_road=True), tune="stock")
    ten, twelve = (group.result.road.now for group in found)
    # Pull goes with reduction over roll-out: 100/1300 against 110/1450.
    ratio = twelve.start_force.value / ten.start_force.value
    assert ratio == pytest.approx(110 / 1450 * 1300 / 100)


def test_the_tune_makes_more_of_the_works_engine(world):
    found = groups(world(), Request(band="any", show_road=True), wheel_size_in=10)
    tops = {group.tune.id: group.result.road.now.top.value for group in found}
    assert tops["stock"] < tops["pipe"] < tops["kit"]
    notes = {group.tune.id: group.result.road.notes for group in found}
    assert any("factory's figures for a kit" in note for note in notes["kit"])


def test_a_train_without_a_tyre_is_refused_at_once_and_placed(world):
    trains = [TRAINS[0], without(TRAINS[1], "tyre")]
    catalogue = world(factory_trains=trains)
    with pytest.raises(
        UsageError, match=r"the factory tyre of the .* 12 in .*add tyre: .*family\.yaml:\d+"
    ):
        options(catalogue, catalogue.families["knot"], Request(lawful=True))
    assert len(groups(catalogue, Request(lawful=True), wheel_size_in=10)) == len(TUNES)
    assert len(groups(catalogue, Request())) == 2 * len(TUNES)


def test_a_family_without_an_engine_is_refused_at_once(world):
    catalogue = world(engine={})
    with pytest.raises(UsageError, match=r"the engine power of Knot .*--power KW@RPM"):
        options(catalogue, catalogue.families["knot"], Request(show_road=True))
    given = Request(show_road=True, road=RoadAsked(power=(3, 7000)))
    assert len(groups(catalogue, given)) == 2 * len(TUNES)


def test_a_family_in_no_class_needs_one_said(world):
    catalogue = world(vehicle_class=None)
    with pytest.raises(UsageError, match="--class NAME"):
        options(catalogue, catalogue.families["knot"], Request(lawful=True))
    slow = catalogue.vehicle_classes["slow"]
    asked = Request(band="any", lawful=True, road=RoadAsked(vehicle_class=slow))
    assert all(group.result.counts.unlawful for group in groups(catalogue, asked))


def test_a_measured_speed_is_of_one_list(world):
    catalogue = world()
    asked = Request(show_road=True, road=RoadAsked(measured_top_km_h=70))
    with pytest.raises(UsageError, match="here are 6 lists; narrow them with --housing"):
        options(catalogue, catalogue.families["knot"], asked)
    with pytest.raises(UsageError, match="here are 2 lists"):
        options(catalogue, catalogue.families["knot"], asked, tune="stock")
    (group,) = groups(catalogue, asked, wheel_size_in=10, tune="stock")
    assert group.result.road.now.top.value == pytest.approx(70, abs=0.5)
