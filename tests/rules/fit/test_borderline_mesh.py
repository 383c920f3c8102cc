"""Advice on pairs that mesh at the border of what is usual.

The pairs that raise none are those of `tests/kernel/same_casing.csv`. Contact ratios beside them
come from the formulae of ISO 21771, worked out below with the tips shortened. 1.2 as the least for
spur gears is Shigley's, Norton's and SDP/SI's, from memory.
"""

from __future__ import annotations

import csv
import math
from decimal import Decimal
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import BASE, lay_out
from fitcheck.kernel.shift_split import contact_ratio
from fitcheck.kernel.teeth import read_pair
from fitcheck.model.gear_set import PairGeometry
from fitcheck.rules.fit.advice import pair_advice, short_contact, strong_shift
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain
from tests.conftest import table

SHEET = Path(__file__).parents[2] / "kernel" / "same_casing.csv"
with SHEET.open(encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(lines))


def cut(row: dict[str, str], *, split: bool = True) -> PairGeometry:
    return PairGeometry(
        normal_module_mm=float(row["mn"]),
        helix_angle_deg=float(row["beta"]),
        face_width_mm=Decimal(14),
        profile_shift_sum=float(row["sum_x"]),
        driver_profile_shift=float(row["x1"]) if split else None,
    )


@pytest.mark.parametrize("split", [True, False], ids=["split", "sum only"])
@table("row", ROWS)
def test_pairs_that_work_raise_nothing(row: dict[str, str], split: bool) -> None:
    pair, given = read_pair(f"{row['z1']}/{row['z2']}"), cut(row, split=split)
    assert strong_shift(pair, given, "primary", float(row["sum_x"])) is None
    assert short_contact(pair, given, "primary", float(row["sum_x"])) is None


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['z1']}/{r['z2']}m{r['mn']}b{r['beta']}")
def test_contact_ratio_of_a_split(row: dict[str, str]) -> None:
    ratio = contact_ratio(
        float(row["mn"]),
        float(row["beta"]),
        int(row["z1"]),
        int(row["z2"]),
        float(row["sum_x"]),
        driver_shift=float(row["x1"]),
    )
    assert ratio == pytest.approx(float(row["eps_alpha"]), abs=0.0006)


def by_hand(z1: int, z2: int, x1: float, distance: float) -> float:
    """Transverse contact ratio of m 1.5, 20°, with tips d_a1 = 2 a - d2 + 2 m (1 - x2)."""
    module, helix = 1.5, 20
    beta, normal = math.radians(helix), math.radians(20)
    at = math.atan(math.tan(normal) / math.cos(beta))
    mt = module / math.cos(beta)
    awt = math.acos(mt * (z1 + z2) / 2 * math.cos(at) / distance)
    inv = lambda angle: math.tan(angle) - angle  # noqa: E731
    x2 = (z1 + z2) * (inv(awt) - inv(at)) / (2 * math.tan(normal)) - x1
    reach = 0.0
    for teeth, mate, shift in ((z1, z2, x2), (z2, z1, x1)):
        tip = 2 * distance - mate * mt + 2 * module * (1 - shift)
        reach += math.sqrt(tip**2 - (teeth * mt * math.cos(at)) ** 2) / 2
    return (reach - distance * math.sin(awt)) / (math.pi * mt * math.cos(at))


@pytest.mark.parametrize(
    ("pair", "sum_", "says"),
    [
        ("13/45", 1.2649, "of +1.26 in all (usual: -0.5 to +1.2): its teeth are short"),
        ("15/47", -0.8791, "of -0.88 in all (usual: -0.5 to +1.2): its teeth are weak"),
        ("15/49", -0.6656, "of -0.67 in all"),
        ("14/47", 0.9487, None),
        ("14/47", -0.4349, None),
    ],
)
def test_sums_of_shift(pair: str, sum_: float, says: str | None) -> None:
    given = PairGeometry(normal_module_mm=1.5, helix_angle_deg=20, profile_shift_sum=sum_)
    note = strong_shift(read_pair(pair), given, "primary", sum_)
    assert note is None if says is None else says in (note or "")


def test_short_contact_names_both_ratios() -> None:
    sum_ = 1.26485  # of 13/45 at 48 mm
    given = PairGeometry(
        normal_module_mm=1.5,
        helix_angle_deg=20,
        face_width_mm=Decimal(14),
        profile_shift_sum=sum_,
        driver_profile_shift=0.7,
    )
    ratio = by_hand(13, 45, 0.7, 48.0)
    overlap = 14 * math.sin(math.radians(20)) / (math.pi * 1.5)
    assert ratio == pytest.approx(1.155, abs=0.001)
    note = short_contact(read_pair("13/45"), given, "primary", sum_)
    assert note is not None
    assert f"transverse contact ratio of {ratio:.2f}, under the 1.2 usual of spur gears" in note
    assert f"with its helix {ratio + overlap:.2f} in all" in note


@pytest.mark.parametrize(
    ("pair", "sum_", "split"),
    [
        # No undercut, spur, 20 degrees: x1 >= 1 - 7 sin^2(20) / 2 = 0.591, more than 0.9 / 2.
        ("7/30", 0.9, "so that its pinion is just free of undercut"),
        ("13/45", 2.0, "evenly"),
    ],
)
def test_short_contact_says_which_split_it_took(pair: str, sum_: float, split: str) -> None:
    given = PairGeometry(normal_module_mm=1.5, helix_angle_deg=0, profile_shift_sum=sum_)
    note = short_contact(read_pair(pair), given, "primary", sum_)
    assert note is not None
    assert f" if its shift is split {split}, under" in note


def test_a_sum_that_the_casing_asks_for(tmp_path: Path) -> None:
    lay_out(
        tmp_path,
        BASE,
        {
            "sets/more.yaml": """\
kind: gear-set
defaults: {supplier: marram}
records:
  MA-1:
    part_number: "1"
    pairs: {primary: 13/45}
    fits: [{family: dunlin-50, housings: [short, mid]}]
    geometry: {primary: {normal_module_mm: 1.5, helix_angle_deg: 20}}
"""
        },
    )
    catalogue = load(tmp_path)
    entry = catalogue.gear_sets["MA-1"]
    assert pair_advice(entry, "primary") == []
    told = explain(subject_of(catalogue, "blue-dunlin"), ["MA-1"]).advice
    assert "needs profile shifts of +1.26 in all to run at this distance" in told[0]
    assert "if its shift is split evenly" in told[1]
    assert "depends on the face width" in told[1]
