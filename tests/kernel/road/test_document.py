"""The table of docs/road-model.md holds what the model gives."""

from __future__ import annotations

from pathlib import Path

from fitcheck.kernel.road.balance import HEADWIND_20, UP_5, top_speed
from fitcheck.kernel.road.driveline import Driveline, Setup
from fitcheck.kernel.road.engine import default_curve
from fitcheck.kernel.road.load import table_load

PAGE = Path(__file__).parents[3] / "docs" / "road-model.md"


def shown(setup: Setup, metres: float) -> list[str]:
    flat = top_speed(setup, metres)
    others = [top_speed(setup, metres, condition) for condition in (HEADWIND_20, UP_5)]
    return [
        f"{flat.speed_m_s * 3.6:.1f}",
        flat.limit,
        *(f"{x.speed_m_s * 3.6:.1f}" for x in others),
    ]


def test_top_speed_against_gearing() -> None:
    load = table_load(190.0, driven_rolling_n=15.0)
    variator = Driveline(2.8, 0.85, 6000.0, 3500.0, 0.75)
    fixed = Driveline(0.85, 0.85, 0.0, 3500.0, 0.75)
    curve = default_curve(3000.0, 7000.0)
    machines = [Setup(curve, line, 9000.0, load, 8.0) for line in (variator, fixed)]
    section = PAGE.read_text(encoding="utf-8").split("<!-- top speed against gearing -->")[1]
    rows = [line for line in section.splitlines() if line.startswith("|")][2:11]
    assert len(rows) == 9
    for row in rows:
        change, *cells = (cell.strip() for cell in row.strip("|").split("|"))
        metres = 0.1 * (1 + float(change.rstrip(" %").replace("−", "-")) / 100)
        assert cells == [cell for setup in machines for cell in shown(setup, metres)], change
