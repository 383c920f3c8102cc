"""The long frame holds the rows of `match`, in its order, to the last figure."""

from __future__ import annotations

from fractions import Fraction

import pandas as pd
import pytest

from fitcheck.answers.long_frame import long_frame
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from tests.conftest import demo_catalogue, some


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return demo_catalogue()


REQUESTS = [
    Request(),
    Request(band="any"),
    Request(percent=(-20, 0)),
    Request(band="any", top=7),
    Request(band="any", max_sets=1, proven_only=True),
    Request(band="any", suppliers=frozenset({"marram"}), max_price=120),
    Request(percent=(400, 450)),
]


# Two stages, open and closed, with sets of the whole train; one stage; three.
MACHINES = ["dunlin-ten", "dunlin-ten-closed", "whimbrel-moor", "redshank-slip", "godwit-bar"]


CASES = [(machine, request_) for request_ in REQUESTS for machine in MACHINES]
"""By day one in four of them: every machine, every request."""


@pytest.mark.parametrize(("machine", "request_"), some(CASES, 9))
def test_every_row_is_that_of_match(demo, machine, request_):
    subject = subject_of(demo, machine)
    frame = long_frame(subject, request_, threads=2)
    combinations = match(subject, request_).combinations
    assert len(frame) == len(combinations)
    for row, one in zip(frame.to_dict("records"), combinations, strict=True):
        assert row["rank"] == one.rank
        for stage, pair in one.pairs.items():
            holder = [entry.id for entry in one.sets if stage in entry.record.pairs]
            assert [row[f"{stage}_set"]] == (holder or [row[f"{stage}_set"]])
            assert pd.isna(row[f"{stage}_set"]) == (not holder)
            assert row[stage] == str(pair)
        assert Fraction(row["driven"], row["driver"]) == one.reduction
        assert row["road_speed_change_percent"] == float(one.road_speed_change)
        assert row["band"] == one.band.value
        assert (row["fit"], row["evidence"]) == (
            one.judgement.verdict.value,
            one.judgement.evidence.word,
        )
        assert pd.isna(row["price"]) if one.price is None else row["price"] == float(one.price)


def test_the_columns_are_the_same_without_rows(demo):
    subject = subject_of(demo, "dunlin-ten")
    empty = long_frame(subject, Request(percent=(400, 450)))
    full = long_frame(subject, Request(band="any"))
    assert len(empty) == 0 < len(full)
    assert list(empty.columns) == list(full.columns)
    assert empty.dtypes.astype(str).tolist() == full.dtypes.astype(str).tolist()


def test_the_road_is_refused_rather_than_left_out(demo):
    with pytest.raises(UsageError, match="combinations_frame"):
        long_frame(subject_of(demo, "dunlin-ten"), Request(lawful=True))
