"""The combinations as a DataFrame, held to the JSON of the same answer."""

from __future__ import annotations

import io

import pandas as pd
import pytest

from fitcheck.answers.frames import combinations_frame
from fitcheck.answers.match import match_answer
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of

DTYPES = {
    "rank": "Int64",
    "sets": "string",
    "part_numbers": "string",
    "suppliers": "string",
    "set_count": "int64",
    "reduction": "float64",
    "reduction_exact": "string",
    "road_speed_change_percent": "float64",
    "road_speed_change_exact": "string",
    "reduction_change_percent": "float64",
    "band": "category",
    "fit": "category",
    "evidence": "category",
    "price": "float64",
    "currency": "string",
    "price_from": "category",
    "availability": "category",
    "on_shelf": "int64",
    "orderable": "bool",
    "shelf_places": "string",
    "note": "string",
}


@pytest.mark.parametrize("machine", ["redshank-slip", "redshank-creek", "dunlin-ten", "godwit-bar"])
@pytest.mark.parametrize("top", [1, None])
def test_columns_and_dtypes_whatever_the_rows(
    demo: Catalogue, machine: str, top: int | None
) -> None:
    result = match(subject_of(demo, machine), Request(top=top))
    frame = combinations_frame(result)
    stages = dict.fromkeys(result.subject.stages, "string")
    names = list(DTYPES)
    assert list(frame.columns) == [*names[:5], *stages, *names[5:]]
    assert {name: str(dtype) for name, dtype in frame.dtypes.items()} == DTYPES | stages
    assert list(frame.index) == list(range(len(result.combinations)))


def test_margins_are_columns_where_they_are_asked(demo: Catalogue) -> None:
    result = match(subject_of(demo, "dunlin-ten"), Request(margins=True))
    frame = combinations_frame(result)
    wanted = [one["margin"] for one in match_answer(result)["combinations"]]
    names = {"cost": "cost", "margin": "amount", "margin_percent": "percent"}
    for column, name in names.items():
        found = [None if pd.isna(value) else value for value in frame[column]]
        assert found == [one[name] for one in wanted]
        assert None in found
        assert any(found)
    assert list(frame["price_from"].cat.categories) == ["shelf", "supplier", "both"]


def test_rows_say_what_json_says(demo: Catalogue) -> None:
    result = match(subject_of(demo, "dunlin-ten"), Request())
    data = match_answer(result)
    frame = combinations_frame(result, shorter=True)
    wanted = [*data["combinations"], *data["shorter"]]
    assert len(frame) == len(wanted) > len(data["combinations"]) > 0
    for name in ("road_speed_change_percent", "reduction_change_percent", "price", "on_shelf"):
        assert frame[name].tolist() == [one[name] for one in wanted], name
    for name in ("band", "fit", "evidence", "road_speed_change_exact", "currency", "availability"):
        assert frame[name].tolist() == [one[name] for one in wanted], name
    assert frame["sets"].str.split(" + ", regex=False).tolist() == [one["sets"] for one in wanted]
    assert frame["set_count"].tolist() == [len(one["sets"]) for one in wanted]
    assert frame["primary"].tolist() == [one["pairs"]["primary"] for one in wanted]
    assert frame["reduction_exact"].tolist() == [one["reduction"]["exact"] for one in wanted]
    assert frame["rank"].isna().sum() == len(data["shorter"])


def test_evidence_and_fit_can_be_compared_and_unknown_prices_are_missing(
    demo: Catalogue, awkward: Catalogue
) -> None:
    frame = combinations_frame(match(subject_of(demo, "dunlin-ten"), Request(band="any")))
    assert (frame["fit"] >= "fits").sum() == (frame["evidence"] >= "stated").sum() > 0
    assert (frame["fit"] == "unproven").sum() > 0
    bare = combinations_frame(match(subject_of(awkward, "bare"), Request()))
    unknown = bare["sets"].str.contains("PLUS")
    assert bare.loc[unknown, "price"].isna().all()
    assert bare.loc[unknown, "currency"].isna().all()
    assert (bare["band"] == "none").all()


def test_a_frame_can_be_filtered_grouped_and_written(demo: Catalogue) -> None:
    frame = combinations_frame(match(subject_of(demo, "dunlin-twelve"), Request(band="any")))
    best = frame[frame["fit"] == "fits"].groupby("band", observed=True)["price"].min()
    assert isinstance(best, pd.Series)
    assert best.notna().any()
    back = pd.read_json(io.StringIO(frame.to_json(orient="records")), orient="records")
    assert len(back) == len(frame)
