"""What `road` and `match --road` print beside a second model, written from docs/road-model.md."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from fitcheck.cli.main import cli
from tests.conftest import some
from tests.second_opinion.draws import Case, draw
from tests.second_opinion.figures import (
    GPS,
    Reading,
    Study,
    calibrate,
    calibrated_runs,
    measured_top,
)
from tests.second_opinion.road import (
    KM_H,
    SLOPE,
    WIND,
    Floats,
    G,
    Ride,
    default_shape,
    load_by_mass,
)
from tests.second_opinion.road_comparison import (
    Pair,
    ask,
    compare_answer,
    compare_inputs,
    compare_lawful,
    compare_loads,
    compare_moved,
    compare_row,
    held,
    study_of,
    told_point,
)

Told = dict[str, Any]
PAGE = Path(__file__).parents[2] / "docs" / "road-model.md"
EXPLORES = bool(os.environ.get("FITCHECK_EXPLORE"))
MACHINES = range(40 if EXPLORES else 6)


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], tuple[Case, Study, Told]]:
    """A random machine, its second model and what `road` says of it; asked once."""

    @cache
    def run(seed: int) -> tuple[Case, Study, Told]:
        case = draw(seed)
        told = ask(["road", "one", "other"], case, tmp_path_factory.mktemp("catalogue"))
        return case, study_of(case), told

    return run


@pytest.mark.parametrize("module", ["road", "machine", "figures", "draws"])
def test_the_second_model_uses_nothing_of_the_first(module: str) -> None:
    source = (Path(__file__).parent / f"{module}.py").read_text(encoding="utf-8")
    imported = re.findall(r"^\s*(?:from|import) (\S+)", source, re.MULTILINE)
    assert imported
    assert not [name for name in imported if name.split(".")[0] == "fitcheck"]


def apart(pairs: Iterable[Pair]) -> list[Pair]:
    return [pair for pair in pairs if not pair.agree]


@pytest.mark.parametrize("seed", some([*MACHINES, 30, 37], 2))
def test_every_figure_is_that_of_the_second_model(
    seed: int, answer: Callable[[int], tuple[Case, Study, Told]]
) -> None:
    """Inputs, values, both ends, limits, verdicts, curves, fuel, the class's answer."""
    case, study, told = answer(seed)
    middle = np.zeros(len(study.keys))
    ranges = study.ranges(middle, study.plain_runs)
    assert not apart(compare_inputs(case, told))
    assert not apart(compare_loads(study, told))
    assert not apart(compare_answer(study, told, middle, ranges))
    assert not apart(compare_lawful(case, told, middle, study.plain_runs))


@pytest.mark.parametrize("seed", some([1, 8], 1))
def test_a_list_says_the_same(seed: int, tmp_path: Path) -> None:
    case = draw(seed)
    case.options.pop("steady", None)
    told = ask(["match", "one", "--road", "--band", "any"], case, tmp_path)
    study = study_of(case)
    middle = np.zeros(len(study.keys))
    rows = [told["road"]["now"], *(each["road"] for each in told["combinations"])]
    found = study.ranges(middle, study.plain_runs)
    for row, ranges in zip(rows, found, strict=True):
        assert not apart(compare_row("row", ranges, row))


def true_point(study: Study, seed: int) -> Floats:
    """True inputs of a machine, off by their spreads."""
    return np.random.default_rng(seed).standard_normal(len(study.keys))


def read_off(study: Study, seed: int) -> float:
    """Its top speed as GPS may show it."""
    error = GPS * float(np.random.default_rng([seed, 1]).standard_normal())
    return round(study.top_now(true_point(study, seed)) + error, 1)


@pytest.mark.parametrize(
    ("seed", "measured", "least"), some([(64, 76.1, 8.33), (112, 83.53, 0.614)], 1)
)
def test_the_most_probable_inputs_are_found_behind_kinks_and_jumps(
    seed: int, measured: float, least: float, tmp_path: Path
) -> None:
    """`least`: what `calibrate` of the second model found; worked out beforehand, as it is slow."""
    case = draw(seed)
    study = study_of(case)
    case.options["measured_top"] = measured
    told = ask(["road", "one", "other"], case, tmp_path)
    reading = Reading(measured, measured)
    if EXPLORES:
        least = reading.distance(study, calibrate(study, reading))
    # At a jump the six decimals of the inputs may lie beyond it: the speed is the one told.
    z, top = told_point(study, told), told["before"]["top"]["flat"]["speed_km_h"]["value"]
    assert float(z @ z) + (reading.miss(top) / GPS) ** 2 < least + 0.01


@pytest.mark.parametrize("seed", some([3, 9], 1))
def test_a_measured_speed_moves_the_inputs_to_the_most_probable(seed: int, tmp_path: Path) -> None:
    case = draw(seed)
    study = study_of(case)
    measured = read_off(study, seed)
    case.options["measured_top"] = measured
    told = ask(["road", "one", "other"], case, tmp_path)
    reading, z = Reading(measured, measured), told_point(study, told)
    assert reading.distance(study, z) < reading.distance(study, calibrate(study, reading)) + 0.01
    runs, left = calibrated_runs(study, z)
    ranges = study.ranges(z, runs)
    ranges[0]["top.flat"] = measured_top(study, z)
    assert not apart(compare_moved(study, told, z, left))
    # The inputs are told with six decimals, which moves the figures by some millionths.
    pairs = [
        *compare_answer(study, told, z, ranges),
        *compare_lawful(case, told, z, runs),
    ]
    assert not apart(replace(pair, allowed=1e-3 + 10 * pair.allowed) for pair in pairs)


@pytest.mark.night
@pytest.mark.parametrize(("seed", "off"), some([(9, -2.5), (0, 0.0)], 1))
def test_a_shown_speed_is_a_range(seed: int, off: float, tmp_path: Path) -> None:
    """Nothing moves inside it; outside, its nearer end is met, and no spread shrinks."""
    case = draw(seed)
    study = study_of(case)
    true = study.top_now(np.zeros(len(study.keys))) + off
    shown = round(true * 1.1 + 4 if off > 0 else true, 1)
    case.options["shown_top"] = shown
    told = ask(["road", "one", "other"], case, tmp_path)
    reading, z = Reading.shown(shown), told_point(study, told)
    assert reading.distance(study, z) < reading.distance(study, calibrate(study, reading)) + 0.01
    ranges = study.ranges(z, [(z + low, z + high) for low, high in study.plain_runs])
    ranges[0]["top.flat"] = reading.bounded(ranges[0]["top.flat"])
    pairs = compare_answer(study, told, z, ranges)
    assert not apart(replace(pair, allowed=1e-3 + 10 * pair.allowed) for pair in pairs)


@pytest.mark.night
def test_a_speed_beyond_the_spreads_is_refused(tmp_path: Path) -> None:
    case = draw(6)
    study = study_of(case)
    measured = 120.0
    z = calibrate(study, Reading(measured, measured))
    size = float(np.linalg.norm(z))
    assert size > 3
    furthest = study.top_now(z * 3 / size)
    case.options["measured_top"] = measured
    case.write(tmp_path)
    words = ["road", "one", *case.arguments, "--catalog", str(tmp_path)]
    refused = str(CliRunner().invoke(cli, words).exception)
    found = re.search(r"together, (\d+) km/h, still ([\d.]+) short", refused)
    assert found is not None, refused
    assert float(found[1]) == pytest.approx(furthest, abs=0.6)
    assert float(found[2]) == pytest.approx(measured - furthest, abs=0.1)


@pytest.mark.night
def test_ranges_hold_the_truth_19_times_in_20(
    answer: Callable[[int], tuple[Case, Study, Told]],
) -> None:
    """True inputs by their half-widths as two standard deviations; ranges as printed."""
    count: Counter[str] = Counter()
    inside: Counter[str] = Counter()
    dice = np.random.default_rng(19)
    for seed in MACHINES:
        _, study, told = answer(seed)
        for _ in range(15 if EXPLORES else 40):
            truth = study.figures(dice.standard_normal(len(study.keys)))
            for figure, hit in held(study, told, truth):
                count[figure] += 1
                inside[figure] += hit
    shares = {figure: inside[figure] / count[figure] for figure in count}
    # 240 draws or more of 0.95: 0.909 is 2.9 standard deviations down.
    assert min(shares.values()) > 0.909, shares
    assert sum(inside.values()) / count.total() < 0.975


@pytest.mark.night
def test_ranges_hold_the_truth_after_a_measured_speed(tmp_path: Path) -> None:
    """The same with a reading of each true machine; few, so all figures together."""
    hits: list[bool] = []
    for seed in range(30, 60 if EXPLORES else 36):
        case = draw(seed)
        study = study_of(case)
        case.options["measured_top"] = read_off(study, seed)
        told = ask(["road", "one", "other"], case, tmp_path)
        hits += [hit for _, hit in held(study, told, study.figures(true_point(study, seed)))]
    # 26 figures of 6 machines, those of one machine hang together.
    assert sum(hits) / len(hits) > 0.85


def test_speeds_of_the_page() -> None:
    """The page's own scooter, with a variator and with one ratio."""
    table = PAGE.read_text(encoding="utf-8").split("<!-- top speed against gearing -->")[1]
    rows = [
        line.strip("| ").split(" | ") for line in table.strip().split("\n\n")[0].splitlines()[2:]
    ]
    assert len(rows) == 9
    for row in rows:
        taller = 1 + float(row[0].replace("−", "-").replace("%", "")) / 100
        assert row[1:5] == page_speeds(0.1 * taller, {"high_ratio": 0.85, "low_ratio": 2.8})
        assert row[5:9] == page_speeds(0.1 * taller, {"low_ratio": 0.85})


def page_speeds(metres_per_turn: float, ratios: dict[str, float]) -> list[str]:
    inputs = {
        "roll_out": 1000 * metres_per_turn,
        "peak_power": 3.0,
        "peak_rpm": 7000.0,
        "rev_limit": 9000.0,
        "shift_rpm": 6000.0,
        "engage_rpm": 3500.0,
        "efficiency": 0.75,
        "running_order": 190.0,
        "rider": 0.0,
        "turning": 8.0,
        "engine_inertia": 0.0,
        "drag_area": load_by_mass(190)[0],
        "rolling": (0.088 * 190 + 15) / (190 * G),
        **ratios,
    }
    ride = Ride(inputs, default_shape(), 1.0, (1.225, 1.0))
    others = (ride.top(ride.load(WIND)).v, ride.top(ride.load(0.0, SLOPE)).v)
    return [
        f"{ride.flat.v * KM_H:.1f}",
        ride.flat.limit,
        *(f"{v * KM_H:.1f}" for v in others),
    ]
