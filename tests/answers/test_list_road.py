"""Columns of the road and the law: in JSON, rows and frames, only where they are asked for.

Judges from outside: the validator of `jsonschema` (draft 2020-12), Python's csv reader, the
CommonMark parser markdown-it-py.
"""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from markdown_it import MarkdownIt

from fitcheck.answers.frames import combinations_frame
from fitcheck.answers.match import match_answer, match_table, options_answer, options_table
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.counter.match import Match, match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.road.lawful import APPROVAL
from tests.conftest import answer_schemas, some

NUMBERS = (
    "top_flat_km_h",
    "top_flat_low_km_h",
    "top_flat_high_km_h",
    "top_flat_other_km_h",
    "top_change_km_h",
    "start_force_n",
    "start_force_low_n",
    "start_force_high_n",
    "start_change_percent",
    "to_45_km_h_s",
)
LAW_WORDS = ("class", "lawful", "law")

JUDGES = {
    name: Draft202012Validator(answer_schemas()[f"{name}.output.schema.json"])
    for name in ("match", "options")
}
ASKED = {
    "road": Request(band="any", top=8, show_road=True),
    "law": Request(band="any", top=8, lawful=True),
    "both": Request(band="any", top=8, lawful=True, rank="verdict"),
}
MACHINES = ("dunlin-ten", "sanderling-drift", "turnstone-shingle", "godwit-bar")
"""In a class of 45 km/h, and in classes without a ceiling."""


def valid(answer: str, data: Any) -> Any:
    read = json.loads(json.dumps(data, allow_nan=False))
    assert [f"{e.json_path}: {e.message}" for e in JUDGES[answer].iter_errors(read)] == []
    return read


@pytest.fixture(scope="module", params=some(MACHINES, 2))
def subject(demo: Catalogue, request: pytest.FixtureRequest) -> Subject:
    return subject_of(demo, request.param)


@pytest.fixture(scope="module")
def both(demo: Catalogue) -> Match:
    result = match(subject_of(demo, "dunlin-ten"), replace(ASKED["both"], top=None))
    assert {one.lawful.answer.name for one in result.combinations if one.lawful} >= {"STRADDLES"}
    return result


# ---------------------------------------------------------------- JSON


@pytest.mark.parametrize("asked", some(["both", "law", "road"], 2))
def test_json_holds_to_its_schema_and_to_what_was_asked(subject: Subject, asked: str) -> None:
    request = ASKED[asked]
    data = valid("match", match_answer(match(subject, request)))
    assert ("road" in data) == request.show_road
    assert data["law"]["only_lawful"] is request.lawful
    assert data["law"]["approval"] == APPROVAL
    assert ("unlawful" in data["counts"]) == request.lawful
    assert data["combinations"]
    for row in data["combinations"]:
        assert ("road" in row) == request.show_road
        assert row["lawful"]["answer"] != "over" or not request.lawful
    if request.show_road:
        assert data["road"]["rank"] == request.rank
        assert data["road"]["now"]["top_change_km_h"] == 0


def test_json_is_as_ever_where_nobody_asks(subject: Subject) -> None:
    data = valid("match", match_answer(match(subject, Request(band="any", top=3))))
    assert not {"road", "law"} & set(data)
    assert not {"road", "lawful"} & {name for row in data["combinations"] for name in row}
    assert "unlawful" not in data["counts"]


def test_json_without_a_class(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten-kit")
    assert subject.entry is not None
    assert subject.entry.record.vehicle_class is None
    data = valid("match", match_answer(match(subject, ASKED["road"])))
    assert data["law"] is None
    assert {row["lawful"] for row in data["combinations"]} == {None}


def test_json_figures_are_those_of_the_answer(both: Match) -> None:
    data = valid("match", match_answer(both))
    for row, one in zip(data["combinations"], both.combinations, strict=True):
        assert one.road is not None
        assert one.lawful is not None
        assert row["road"]["top_km_h"]["value"] == pytest.approx(one.road.top.value, abs=1e-4)
        assert row["road"]["top_km_h"]["low"] <= row["road"]["top_km_h"]["high"]
        assert row["road"]["verdict"] == one.road.verdict.value
        assert row["lawful"]["top_km_h"]["high"] == pytest.approx(one.lawful.top.high, abs=1e-4)
        assert (row["road"]["to_45_km_h_s"] is None) == (one.road.time_45 is None)
    told = [each for each in data["machine"]["remarks"] if "As it stands" in each]
    assert told == [f"As it stands: {data['law']['now']['sentence']}"]


@pytest.mark.parametrize("asked", some(["both", "road", "law"], 1))
def test_options_hold_to_their_schema(demo: Catalogue, asked: str) -> None:
    family = demo.families["sanderling-50"]
    groups = list(options(demo, family, replace(ASKED[asked], top=2), tune="stock"))
    data = valid("options", options_answer(family, groups))
    assert len(data["groups"]) == len(groups) > 1
    for group in data["groups"]:
        assert ("road" in group) == ASKED[asked].show_road
        assert group["law"]["now"]["class"] == "L1e-B"


# ---------------------------------------------------------------- rows


def csv_rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_says_what_json_says(both: Match) -> None:
    rows = csv_rows(match_table(both).csv())
    data = match_answer(both)["combinations"]
    assert len(rows) == len(data) + len(both.shorter)
    for row, one in zip(rows, data, strict=False):
        road, law = one["road"], one["lawful"]
        figures = [
            *(road["top_km_h"][end] for end in ("value", "low", "high")),
            None if road["other_top"] is None else road["other_top"]["km_h"],
            road["top_change_km_h"],
            *(road["start_force_n"][end] for end in ("value", "low", "high")),
            road["start_change_percent"],
            road["to_45_km_h_s"],
        ]
        for name, figure in zip(NUMBERS, figures, strict=True):
            if figure is None:
                assert row[name] == ""
            else:
                assert float(row[name]) == pytest.approx(figure, abs=6e-4), name
        assert row["verdict"] == road["verdict"]
        assert (row["class"], row["lawful"]) == ("L1e-B", law["answer"])
        assert row["law"] == " ".join([law["sentence"], *law["others"]])


@pytest.mark.parametrize("asked", some(["both", "law", "road"], 2))
def test_columns_are_there_where_they_are_asked(subject: Subject, asked: str) -> None:
    plain = csv_rows(match_table(match(subject, Request(band="any", top=3))).csv())[0]
    request = ASKED[asked]
    row = csv_rows(match_table(match(subject, request)).csv())[0]
    road = ["verdict", *NUMBERS, "tyre_warning"] if request.show_road else []
    expected = [*plain]
    expected[-1:-1] = [*road, *LAW_WORDS]
    assert list(row) == expected


def test_markdown_has_a_cell_for_each_column(both: Match) -> None:
    tokens = MarkdownIt("commonmark").enable("table").parse(match_table(both).markdown())
    lengths: list[int] = []
    for token in tokens:
        if token.type == "tr_open":
            lengths.append(0)
        elif token.type in ("th_open", "td_open"):
            lengths[-1] += 1
    assert len(lengths) == 1 + len(both.combinations) + len(both.shorter)
    assert len(set(lengths)) == 1
    text = match_table(both).markdown()
    assert "| may be over |" in text
    assert "| top speed on the flat, km/h |" in text


def test_rows_of_options_have_the_columns_too(demo: Catalogue) -> None:
    family = demo.families["sanderling-50"]
    groups = list(options(demo, family, replace(ASKED["both"], top=2), tune="stock"))
    rows = csv_rows(options_table(groups).csv())
    assert rows
    assert {"family", "verdict", "top_flat_km_h", "lawful"} <= set(rows[0])
    assert all(None not in row and None not in row.values() for row in rows)
    assert options_table(groups).markdown().count("\n") == 2 + len(rows)


# ---------------------------------------------------------------- frames


def test_the_frame_says_what_csv_says(both: Match) -> None:
    frame = combinations_frame(both, shorter=True)
    rows = csv_rows(match_table(both).csv())
    assert len(frame) == len(rows)
    assert str(frame["verdict"].dtype) == str(frame["lawful"].dtype) == "category"
    assert frame["verdict"].cat.ordered
    for name in NUMBERS:
        assert str(frame[name].dtype) == "float64"
        for value, row in zip(frame[name], rows, strict=True):
            if row[name] == "":
                assert math.isnan(value) if name == "top_flat_other_km_h" else math.isinf(value)
            else:
                assert value == pytest.approx(float(row[name]), abs=6e-4)
    for name in ("verdict", "lawful", "class", "law"):
        assert frame[name].tolist() == [row[name] for row in rows]
    best = frame[frame["verdict"] >= "only with a tailwind"]
    assert len(best) <= len(frame)


@pytest.mark.parametrize("asked", some(["both", "law", "road"], 2))
def test_the_frame_keeps_its_shape_whatever_the_rows(demo: Catalogue, asked: str) -> None:
    subject = subject_of(demo, "dunlin-ten")
    some = combinations_frame(match(subject, ASKED[asked]))
    none = combinations_frame(match(subject, replace(ASKED[asked], top=0)))
    assert len(some) > len(none) == 0
    assert dict(some.dtypes) == dict(none.dtypes)
    plain = combinations_frame(match(subject, Request(band="any", top=2)))
    assert not {"verdict", "lawful", *NUMBERS} & set(plain.columns)
