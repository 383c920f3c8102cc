"""`fitcheck road` from the command line: what is asked reaches the model, and what comes back."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.cli.subject import read_options
from fitcheck.errors import UsageError
from fitcheck.services.counter.subject import subject_of
from tests.conftest import some

ROOT = Path(__file__).parents[2]
DEMO = {"FITCHECK_CATALOG": "catalog"}


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, run) -> Any:
    """Run `road` and give back what it asked of the model: subject, choices, inputs."""
    from fitcheck.services.road import comparing

    seen: list[Any] = []
    real = comparing.compare

    def watched(subject: Any, choices: Any, told: Any) -> Any:
        seen.append((subject, choices, told))
        return real(subject, choices, told)

    monkeypatch.setattr(comparing, "compare", watched)

    def call(line: str) -> Any:
        ran = run(*line.split(), env=DEMO)
        assert ran.code in (0, 3), ran
        return seen.pop()

    return call


def test_every_option_reaches_the_model(asked) -> None:
    line = (
        "road dunlin-ten GW-20-108 --shown-top 53 --power 2,1@6600 --rev-limit 7100 --shift-rpm "
        "6000 --engage-rpm 3300 --ratios 2.8:0.92 --efficiency 0.78 --mass 85 --rider 90 "
        "--drag-area 0.55 --rolling 0.017 --altitude 450 --temperature -5 --class L1e-A --steady "
        "35 --at 33 --at 27.5 --at 33 --tune pipe-only --roll-out 1250"
    )
    subject, choices, told = asked(line)
    assert told.shown_top_km_h == 53
    assert told.measured_top_km_h is None
    assert told.power == (2.1, 6600)
    assert (told.rev_limit_rpm, told.shift_rpm, told.engage_rpm) == (7100, 6000, 3300)
    assert told.ratios == (2.8, 0.92)
    assert (told.efficiency, told.mass_kg, told.rider_kg) == (0.78, 85, 90)
    assert (told.drag_area_m2, told.rolling_coefficient) == (0.55, 0.017)
    assert (told.altitude_m, told.temperature_c) == (450, -5)
    assert told.vehicle_class.id == "L1e-A"
    assert told.steady_km_h == 35
    assert told.extra_speeds_km_h == (27.5, 33)
    assert subject.tune.id == "pipe-only"
    assert subject.roll_out_mm == 1250
    assert [[entry.id for entry in one.sets] for one in choices] == [["GW-20-108"]]


def test_what_is_not_said_is_left_to_the_files(asked) -> None:
    from fitcheck.services.road.figures import RoadAsked

    _, choices, told = asked("road dunlin-ten")
    assert list(choices) == []
    assert told == RoadAsked()


def test_a_single_ratio_is_fixed(asked) -> None:
    assert asked("road dunlin-ten --ratios 1.05 --power 2@6500")[2].ratios == (1.05, 1.05)


def test_counts_alone_make_every_word_a_choice(asked) -> None:
    line = "road --family dunlin-50 --teeth 15/46,14/55 --housing short --wheel 10 GW-20-108"
    subject, choices, _ = asked(f"{line} MA-1545+MA-21553 --power 2@6500 --roll-out 1270")
    assert subject.entry is None
    assert [len(one.sets) for one in choices] == [1, 2]


def test_choices_are_read_by_id_part_number_and_plus(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    words = ["gw-20-108", "1545+S/107", "MA-21553 + MA-1545"]
    found = read_options(demo, subject, words)
    assert [[entry.id for entry in one.sets] for one in found] == [
        ["GW-20-108"],
        ["MA-1545", "SA-107"],
        ["MA-1545", "MA-21553"],  # from input shaft to wheel, however they are named
    ]
    assert read_options(demo, subject, []) == []
    with pytest.raises(UsageError, match=r"MA-1545\+SA-107 is named twice"):
        read_options(demo, subject, ["MA-1545+SA-107", "SA-107+MA-1545"])


def test_a_part_number_may_hold_a_plus(tmp_path: Path) -> None:
    for path in (ROOT / "tests" / "data" / "sample-catalog").rglob("*.yaml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "plus.yaml").write_text(
        'kind: gear-set\nrecords:\n  P:\n    supplier: glasswort\n    part_number: "9+A"\n'
        "    pairs: {secondary: 14/47}\n",
        encoding="utf-8",
    )
    catalogue = load(tmp_path)
    subject = subject_of(catalogue, "kestrel-lane-7")
    found = read_options(catalogue, subject, ["9+A", "P+MA-1543"])
    assert [[entry.id for entry in one.sets] for one in found] == [["P"], ["MA-1543", "P"]]


@pytest.mark.parametrize("form", some(["csv", "json", "table", "markdown"], 2))
def test_every_form_tells_the_same_top_speeds(form: str, run) -> None:
    words = ["road", "dunlin-ten", "GW-20-108", "MA-1545+MA-21553"]
    data = json.loads(run(*words, "--format", "json", env=DEMO).out)
    tops = [one["top"]["flat"]["speed_km_h"] for one in (data["before"], *data["after"])]
    ran = run(*words, "--format", form, env=DEMO)
    assert (ran.code, ran.err) == (0, "")
    if form == "csv":
        table = list(csv.DictReader(io.StringIO(ran.out)))
        assert [float(row["top_flat_km_h"]) for row in table] == pytest.approx(
            [top["value"] for top in tops], abs=6e-4
        )
    elif form != "json":
        for top in tops:
            value, low, high = (f"{top[name]:.0f}" for name in ("value", "low", "high"))
            assert f"{value} ({low}..{high})" in ran.out


def test_the_exit_code_tells_when_nothing_fits(run, demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    ruled_out = next(
        id_
        for id_, entry in demo.gear_sets.items()
        if entry.record.pairs.keys() == {"primary"}
        and read_options(demo, subject, [id_])[0].judgement.verdict.value == "ruled out"
    )
    alone = run("road", "dunlin-ten", ruled_out, env=DEMO)
    assert alone.code == 3
    assert "DOES NOT FIT" in alone.out
    assert run("road", "dunlin-ten", ruled_out, "GW-20-108", env=DEMO).code == 0
    assert run("road", "dunlin-ten", env=DEMO).code == 0


@pytest.mark.parametrize("form", some(["table", "json"], 1))
def test_a_chart_is_drawn_beside_the_answer(form: str, run, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib", reason="pictures need the extra 'chart'")
    words = ["road", "dunlin-ten", "GW-20-108", "--format", form]
    plain = run(*words, env=DEMO)
    path = tmp_path / "road.svg"
    ran = run(*words, "--chart", str(path), env=DEMO)
    assert ran.code == 0
    assert ran.out == plain.out
    assert ran.err == f"fitcheck: the chart is in {path}\n"
    assert "GW-20-108: " in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("encoding", "term", "dotted"),
    [("utf-8", "xterm", True), ("utf-8", "dumb", False), ("ascii", "xterm", False)],
)
def test_braille_is_drawn_only_where_it_shows(encoding: str, term: str, dotted: bool, run) -> None:
    ran = run("road", "dunlin-ten", "--long", env={**DEMO, "TERM": term}, encoding=encoding)
    assert bool(re.search(r"[\u2801-\u28ff]", ran.out)) is dotted
    assert ran.out.isascii() is not dotted
    assert "?" not in ran.out


def test_a_measured_speed_is_met_and_said(run) -> None:
    ran = run("road", "dunlin-ten", "--measured-top", "46", "--format", "json", env=DEMO)
    data = json.loads(ran.out)
    assert data["before"]["top"]["flat"]["speed_km_h"]["value"] == pytest.approx(46, abs=0.5)
    assert any(given["before"] is not None for given in data["inputs"])
    assert data["calibrated"]


def test_speeds_asked_for_are_told(run) -> None:
    page = run("road", "dunlin-ten", "--at", "33", env=DEMO).out
    assert re.search(r"^  at 33 km/h +\d,\d{3}$", page, re.MULTILINE)


def test_a_roll_out_on_record_is_no_use_on_another_wheel(run) -> None:
    """A 12 in wheel goes some 16 % further in a turn than a 10 in one of the same section."""
    ran = run("road", "dunlin-ten", "--wheel", "12", env=DEMO)
    assert ran.code == 2
    assert "how far a wheel turn takes" in ran.err
    assert run("road", "dunlin-ten", "--wheel", "12", "--roll-out", "1440", env=DEMO).code == 0
    assert run("road", "dunlin-ten", "--wheel", "10", env=DEMO).code == 0


@pytest.mark.parametrize(
    "line",
    [
        "road dunlin-ten MA-1540",
        "match dunlin-ten --road --top 1",
        "match dunlin-ten --road --top 1 --format markdown",
        "sheet dunlin-ten MA-1540 -o -",
    ],
)
def test_an_engine_without_any_pull_has_no_change_of_it(run, line: str) -> None:
    """Its power peaks under the speed at which the clutch engages: 650 typed for 6500."""
    ran = run(*line.split(), "--power", "2.4@650", env=DEMO)
    assert ran.code == 0, ran.err
    assert not re.search(r"\b(inf|nan)\b", ran.out)
    assert "ill not pull" in ran.out
