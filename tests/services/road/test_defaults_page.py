"""docs/road-model.md tells the defaults and spreads that the code uses."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.services.road import defaults

PAGE = (Path(__file__).parents[3] / "docs" / "road-model.md").read_text(encoding="utf-8")
KINDS = ("given", "counted", "catalogue", "standard", "estimate")


def rows_after(mark: str) -> dict[str, list[str]]:
    table = PAGE.partition(mark)[2].split("\n\n")[1]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()]
    return {row[0]: row[1:] for row in rows[2:]}


def test_every_half_width():
    told = rows_after("<!-- half-widths -->")
    assert told == {
        kind.name: [
            kind.unit or "1",
            *(f"{100 * kind.spreads[k]:g} %" if k in kind.spreads else "" for k in KINDS),
        ]
        for kind in defaults.INPUTS.values()
    }


@pytest.mark.parametrize(
    ("row", "figures"),
    [
        ("belt variator, engine to gearbox", [defaults.BELT_EFFICIENCY]),
        ("one mesh of gears with its bearings", [defaults.GEAR_EFFICIENCY]),
        ("fixed drive before the gearbox", [defaults.ONE_DRIVE_EFFICIENCY]),
        ("ratios of the variator", [defaults.LOW_RATIO, defaults.HIGH_RATIO]),
        ("shift speed", [defaults.SPEED_SHARES["shift_rpm"]]),
        ("clutch engages", [defaults.SPEED_SHARES["engage_rpm"]]),
        ("rev limit", [defaults.SPEED_SHARES["rev_limit"]]),
        ("machine in running order", [kg for _, kg in defaults.RUNNING_ORDER_KG]),
        ("rider", [defaults.RIDER_KG]),
        (
            "rolling of the driven tyre",
            [defaults.DRIVEN_TYRE_ROLLING, defaults.DRIVEN_TYRE_LOAD],
        ),
        ("rotating mass", [defaults.ROTATING_SHARE]),
        ("inertia of the engine", [defaults.ENGINE_INERTIA]),
        ("friction mean effective pressure", list(defaults.FRICTION_MEP_BAR)),
    ],
)
def test_every_default(row, figures):
    taken = rows_after("source of every input it used.")[row][0]
    for figure in figures:
        words = taken.replace(",", " ").split()
        assert {f"{figure:g}", f"{figure:.1f}", f"{figure:.5f}"} & {*words}
