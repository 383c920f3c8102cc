"""The answer of `road` as JSON and as rows.

Judges from outside: the validator of `jsonschema` (draft 2020-12), Python's csv reader, and the
CommonMark parser markdown-it-py. Figures are those of the hand-built answer (road_examples.py) and
of the model over the demo.
"""

from __future__ import annotations

import csv
import io
import json
import re
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from markdown_it import MarkdownIt

from fitcheck.answers.road import road_answer, road_table
from fitcheck.answers.road_words import range_words
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.road.comparing import compare
from fitcheck.services.road.figures import Figure, OtherTop, RoadAsked
from fitcheck.services.road.results import RoadReport
from tests.conftest import answer_schemas, some

JUDGE = Draft202012Validator(
    answer_schemas()["road.output.schema.json"],
    format_checker=Draft202012Validator.FORMAT_CHECKER,
)


@pytest.fixture(scope="module")
def report(demo: Catalogue, roads) -> RoadReport:
    built = roads.road_report(demo)
    assert isinstance(built, RoadReport)
    return built


@pytest.fixture(scope="module")
def reports(demo: Catalogue) -> list[RoadReport]:
    """Demo machines whose engine is known, with two combinations and one that is shorter."""
    found, machines = [], some(list(demo.machines), 2)
    for id_ in machines:
        subject = subject_of(demo, id_)
        result = match(subject, Request(top=2))
        with suppress(UsageError):
            found.append(compare(subject, [*result.combinations, *result.shorter[:1]]))
    assert len(found) > 0.8 * len(machines)
    return found


def valid(report: RoadReport) -> Any:
    text = json.dumps(road_answer(report), allow_nan=False)
    data = json.loads(text)
    assert [f"{list(each.path)}: {each.message}" for each in JUDGE.iter_errors(data)] == []
    return data


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_json_holds_to_its_schema_and_to_the_answer(report: RoadReport) -> None:
    data = valid(report)
    assert data["answer"] == "road"
    assert [one["label"] for one in data["after"]] == [one.label for one in report.after]
    before, second = data["before"], data["after"][1]
    assert before["combination"] is before["help"] is before["top_change_km_h"] is None
    assert before["top"]["flat"] == {
        "speed_km_h": {"value": 52.0, "low": 49.0, "high": 55.0},
        "other": None,
        "rpm": 7400.0,
        "limit": "ratio",
    }
    assert before["times_s"]["to_60_km_h"] is None
    assert before["lawful"]["answer"] == "over"
    assert (second["verdict"], second["cautious_verdict"]) == (
        "only with a tailwind",
        "will not pull it",
    )
    assert second["combination"]["sets"] == ["MA-1545", "SA-107"]
    assert second["tyre_warning"].startswith("TOO FAST FOR THE TYRE")
    assert second["lawful"]["answer"] == "straddles"
    assert set(data["gear_sets"]) == {"GW-20-108", "MA-1545", "SA-107", "SA-108"}
    assert data["inputs"][2] == {
        "key": "peak_power",
        "name": "peak power",
        "value": 2.4,
        "spread": 0.1,
        "unit": "kW",
        "kind": "catalogue",
        "before": None,
        "source": "machines/dunlin-50.yaml:14:26",
    }
    assert len({len(points) for points in data["loads"].values()}) == 1


def test_json_of_demo_machines_holds_to_its_schema(reports: list[RoadReport]) -> None:
    for report in reports:
        data = valid(report)
        for one in (data["before"], *data["after"]):
            old, new = (Fraction(each["reduction"]["exact"]) for each in (data["before"], one))
            change = Fraction(one["road_speed_change_exact"])
            assert change == 100 * (old / new - 1)
            assert one["road_speed_change_percent"] == pytest.approx(float(change), abs=1e-6)
            assert Fraction(one["reduction_change_exact"]) == 100 * (new / old - 1)
            for pair in (("speed_km_h", "thrust_n"), ("time_s", "time_speed_km_h")):
                assert len({len(one["curves"][name]) for name in pair}) == 1
        assert [given["key"] for given in data["inputs"]] == list(
            dict.fromkeys(given["key"] for given in data["inputs"])
        )


def test_calibration_and_counts_alone_hold_to_the_schema_too(demo: Catalogue) -> None:
    subject = replace(subject_of(demo, "dunlin-ten"), entry=None)
    asked = RoadAsked(power=(2.4, 6500.0), measured_top_km_h=46.0, altitude_m=500.0)
    data = valid(compare(subject, [], asked))
    assert data["machine"]["id"] is None
    assert data["calibrated"]
    moved = [given for given in data["inputs"] if given["before"] is not None]
    assert moved
    assert all(given["kind"] == "calibrated" for given in moved)
    assert all(given["before"] != given["value"] for given in moved)


def test_a_second_top_speed_and_what_holds_the_pull_are_told(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [])
    other = OtherTop(47.0, "if the variator does not come out")
    before = replace(
        report.before,
        flat=replace(report.before.flat, other=other),
        force_cap="front wheel",
        gradient_cap="grip",
    )
    told = replace(report, before=before)
    found = valid(told)["before"]
    assert found["top"]["flat"]["other"] == {"km_h": 47.0, "when": other.words}
    assert found["start"]["force_cap"] == "front wheel"
    assert found["start"]["gradient_cap"] == "grip"
    (row,) = csv.DictReader(io.StringIO(road_table(told).csv(), newline=""))
    assert float(row["top_flat_other_km_h"]) == 47
    assert (row["pull_held_by"], row["hill_held_by"]) == ("front wheel", "grip")
    assert (
        "52 (49..55), or about 47 if the variator does not come out" in road_table(told).markdown()
    )
    assert "430), front lifts" in road_table(told).markdown()


def test_what_has_no_end_is_null_in_json_and_empty_in_csv(report: RoadReport) -> None:
    endless = Figure(37.0, 18.0, float("inf"))
    changed = replace(report, before=replace(report.before, time_60=endless))
    assert valid(changed)["before"]["times_s"]["to_60_km_h"] == {
        "value": 37.0,
        "low": 18.0,
        "high": None,
    }
    row = rows(road_table(changed).csv())[0]
    names = ("to_60_km_h_s", "to_60_km_h_low_s", "to_60_km_h_high_s")
    assert [row[name] for name in names] == ["37.000", "18.000", ""]
    assert "37 (18..never)" in road_table(changed).markdown()


def _broken(data: Any) -> Any:
    """The same data with one member gone or one too many, each object once."""
    if isinstance(data, dict):
        for key in data:
            yield f"without {key}", {k: v for k, v in data.items() if k != key}
            for what, child in _broken(data[key]):
                yield f"{key}: {what}", {**data, key: child}
        yield "one member more", {**data, "more": 1}
    elif isinstance(data, list):
        for number, each in enumerate(data[:1]):
            for what, child in _broken(each):
                yield f"[{number}]: {what}", [child, *data[1:]]


def test_the_schema_refuses_a_member_too_few_or_too_many(demo: Catalogue, roads) -> None:
    data = valid(roads.road_report(demo, roads.THREE[1:2]))
    found = list(_broken(data))
    passed = [what for what, broken in some(found, 60) if JUDGE.is_valid(broken)]
    free = ("gear_sets: without", "pairs: without")  # which there are is the catalogue's
    assert [what for what in passed if not any(word in what for word in free)] == []
    assert len(found) > 250


def test_csv_has_a_row_a_gearing_and_says_what_json_says(
    report: RoadReport, reports: list[RoadReport]
) -> None:
    for each in (report, *reports):
        data = road_answer(each)
        table = rows(road_table(each).csv())
        assert [row["gearing"] for row in table] == ["now", *(one.label for one in each.after)]
        for row, one in zip(table, [data["before"], *data["after"]], strict=True):
            assert {stage: row[stage] for stage in one["pairs"]} == one["pairs"]
            assert float(row["overall_reduction"]) == one["reduction"]["decimal"]
            assert float(row["road_speed_change_percent"]) == one["road_speed_change_percent"]
            assert (row["verdict"], row["cautious_verdict"]) == (
                one["verdict"],
                one["cautious_verdict"],
            )
            assert row["limited_by"] == one["top"]["flat"]["limit"]
            for name, unit, figure in [
                ("km_h_per_1000_rpm", "", one["km_h_per_1000_rpm"]),
                ("top_on_paper", "_km_h", one["paper_top_km_h"]),
                ("top_flat", "_km_h", one["top"]["flat"]["speed_km_h"]),
                ("top_headwind", "_km_h", one["top"]["headwind"]["speed_km_h"]),
                ("top_uphill", "_km_h", one["top"]["uphill"]["speed_km_h"]),
                ("top_change", "_km_h", one["top_change_km_h"]),
                ("start_force", "_n", one["start"]["force_n"]),
                ("start_change", "_percent", one["start"]["change_percent"]),
                ("start_gradient", "_percent", one["start"]["gradient_percent"]),
                ("to_30_km_h", "_s", one["times_s"]["to_30_km_h"]),
                ("to_60_km_h", "_s", one["times_s"]["to_60_km_h"]),
                ("to_200_m", "_s", one["times_s"]["to_200_m"]),
                ("to_95_percent_of_top", "_s", one["times_s"]["to_95_percent_of_top"]),
            ]:
                for end, key in (("", "value"), ("_low", "low"), ("_high", "high")):
                    cell = row[f"{name}{end}{unit}"]
                    number = None if figure is None else figure[key]
                    assert (cell == "") == (number is None)
                    assert number is None or float(cell) == pytest.approx(number, abs=6e-4)
            told = {f"rpm_at_{at['km_h']:g}_km_h": at["rpm"] for at in one["rpm_at"]}
            cells = {
                name: cell for name, cell in row.items() if name.startswith("rpm_at_") and cell
            }
            assert {name: float(cell) for name, cell in cells.items()} == pytest.approx(
                told, abs=6e-4
            )
            if one["combination"] is not None:
                assert row["price"] == (one["combination"]["price_exact"] or "")
                assert row["fit"] == one["combination"]["fit"]


def test_every_heading_of_a_figure_has_its_unit(report: RoadReport) -> None:
    head = road_table(report).csv().split("\n", 1)[0].split(",")
    unit = re.compile(r"_(km_h|n|percent|s|rpm)$|_rpm(_low|_high)?$|^overall_reduction$")
    figures = [name for name in head if re.search(r"top|start|to_|rpm|fuel|ceiling|change", name)]
    assert len(figures) > 50
    assert [name for name in figures if not unit.search(name)] == []
    assert len(set(head)) == len(head)


def test_markdown_is_one_table_with_ranges(report: RoadReport) -> None:
    text = road_table(report).markdown()
    tokens = MarkdownIt("commonmark").enable("table").parse(text)
    assert [token.type for token in tokens].count("table_open") == 1
    assert tokens[-1].type == "table_close"
    lines = [line.strip("| \n").split(" | ") for line in text.splitlines()]
    head, _, before, *after = lines
    assert len(after) == 3
    top = head.index("top speed on the flat, km/h")
    assert before[top] == range_words(report.before.flat.speed) == "52 (49..55)"
    assert after[0][head.index("against now, km/h")] == "+3.0 (+2.2..+3.8)"
    assert after[1][head.index("verdict")].startswith("only with a tailwind")
    assert after[1][head.index("lawful")] == "may be over"
    assert after[0][head.index("fuel at steady speed, %")] == "-3 (-6..0) at 40"


def test_awkward_text_stays_a_cell(report: RoadReport) -> None:
    sour = replace(report, before=replace(report.before, label="=1|2\n<b>", tyre_warning="@x"))
    row = rows(road_table(sour).csv())[0]
    assert row["gearing"] == "'=1|2 <b>"
    assert row["tyre_warning"] == "'@x"
    assert r"=1\|2 &lt;b&gt;" in road_table(sour).markdown()
