"""Machines for the tests of the road: one plain scooter, and random ones."""

from __future__ import annotations

from itertools import accumulate

import pytest
from hypothesis import strategies as st

from fitcheck.kernel.road.driveline import Driveline, Setup
from fitcheck.kernel.road.engine import PowerCurve, default_curve
from fitcheck.kernel.road.load import Footing, RoadLoad, table_load


@pytest.fixture(scope="session")
def scooter() -> Setup:
    """About 3 kW, a variator, 190 kg with its rider; 0.1 m a turn is a usual gearing."""
    return Setup(
        default_curve(3000.0, 7000.0),
        Driveline(2.8, 0.85, shift_rpm=6800.0, engage_rpm=4000.0, efficiency=0.75),
        9000.0,
        table_load(190.0, driven_rolling_n=15.0),
        rotating_kg=8.0,
        engine_inertia_kg_m2=0.003,
    )


@pytest.fixture(scope="session")
def dipped() -> Setup:
    """A fixed ratio and a power curve with a hole, in which thrust falls short of the load.

    With 1 m a turn, rpm / 60 are m/s and watts are 1,200 at 10 m/s, 900 at 15, 2,400 at 20 and
    1,600 at 25, straight between; the load takes 80 W a m/s. So they balance at 90/7 m/s, at
    180/11 and at 70/3.
    """
    points = ((300.0, 700.0), (600.0, 1200.0), (900.0, 900.0), (1200.0, 2400.0), (1500.0, 1600.0))
    return Setup(
        PowerCurve(points),
        Driveline(1.0, 1.0, shift_rpm=0.0, engage_rpm=300.0, efficiency=1.0),
        2000.0,
        RoadLoad(80.0, 0.0, 150.0),
    )


@st.composite
def _curves(draw: st.DrawFn) -> PowerCurve:
    if draw(st.booleans()):
        return default_curve(draw(st.floats(800, 15_000)), draw(st.floats(4_000, 10_000)))
    gaps = draw(st.lists(st.floats(150, 3_000), min_size=2, max_size=7))
    watts = draw(st.lists(st.floats(200, 12_000), min_size=len(gaps), max_size=len(gaps)))
    rpm = accumulate(gaps, initial=1_500.0)
    return PowerCurve(tuple(zip(list(rpm)[1:], watts, strict=True)))


@st.composite
def _drivelines(draw: st.DrawFn) -> Driveline:
    engage = draw(st.just(0.0) | st.floats(1_500, 5_000))
    high = draw(st.floats(0.6, 1.5))
    fixed = draw(st.booleans())
    low = high if fixed else high * draw(st.floats(1.05, 3.5))
    shift = max(engage, draw(st.floats(2_000, 9_500)))
    return Driveline(low, high, shift, engage, draw(st.floats(0.5, 1.0)))


_footings = st.builds(Footing, st.floats(0.2, 2), st.floats(0.3, 0.8), st.floats(0.3, 0.9))


@st.composite
def _setups(draw: st.DrawFn) -> Setup:
    load = RoadLoad(
        draw(st.floats(1, 120)), draw(st.just(0.0) | st.floats(0.05, 0.6)), draw(st.floats(80, 400))
    )
    return Setup(
        draw(_curves()),
        draw(_drivelines()),
        draw(st.floats(3_000, 11_000)),
        load,
        draw(st.floats(0, 30)),
        draw(st.just(0.0) | st.floats(0.0005, 0.02)),
        draw(st.none() | _footings),
    )


@pytest.fixture(scope="session")
def setups() -> st.SearchStrategy[Setup]:
    """Random machines: fixed ratio or variator, with holes in the power curve, and worse."""
    return _setups()


@pytest.fixture(scope="session")
def gearings() -> st.SearchStrategy[float]:
    """Random metres per turn of the input shaft, 0.02 to 1 m."""
    return st.floats(0.02, 1.0)
