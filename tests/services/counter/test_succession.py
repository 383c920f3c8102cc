"""Where retired and superseded numbers lead, and what those who ask for one are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import UsageError
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.succession import retired_note, superseded_note, way_on, ways_on

SETS = """\
kind: gear-set
defaults: {supplier: arrowgrass}
records:
  A: {part_number: "100", pairs: {single: 12/40}, status: retired, successor: B}
  B: {part_number: "101", pairs: {single: 12/40}, status: retired, successor: C}
  C: {part_number: "100", pairs: {single: 12/41}}
  D: {part_number: "200", pairs: {single: 12/42}, status: retired}
  E: {part_number: "200", pairs: {single: 12/43}}
  F: {part_number: "300", pairs: {single: 12/44}, successor: C}
  G: {part_number: "400", pairs: {single: 12/45}, status: retired, successor: D}
  H: {part_number: "500", pairs: {single: 12/46}, status: retired, successor: I}
  I: {part_number: "600", pairs: {single: 12/47}, status: retired, successor: H}
  J: {part_number: "700", pairs: {single: 12/48}, status: retired, successor: LOST}
"""


@pytest.fixture
def catalogue(tmp_path: Path) -> Catalogue:
    (tmp_path / "sets.yaml").write_text(SETS, encoding="utf-8")
    return load(tmp_path)


@pytest.mark.parametrize(
    ("start", "steps", "end", "sold"),
    [
        ("A", ("B", "C"), "sold", "C"),
        ("B", ("C",), "sold", "C"),
        ("C", (), "sold", None),
        ("D", (), "retired", None),
        ("F", ("C",), "sold", "C"),
        ("G", ("D",), "retired", None),
        ("H", ("I", "H"), "circle", None),
        ("J", ("LOST",), "unknown", None),
    ],
)
def test_the_way_is_followed_to_its_end(catalogue, start, steps, end, sold) -> None:
    way = way_on(catalogue, catalogue.gear_sets[start])
    assert (way.steps, way.end, way.sold) == (steps, end, sold)


@pytest.mark.parametrize(
    ("id_", "note"),
    [
        ("A", "A is retired; its successor is C by way of B, with other teeth (single 12/41)"),
        ("B", "B is retired; its successor is C, with other teeth (single 12/41)"),
        ("D", "D is retired, and no successor is named"),
        ("G", "G is retired; its successor D is retired too, and no other is named"),
        ("H", "H is retired; its successors go in a circle: I → H"),
        ("J", "J is retired; its successor is LOST, which the catalogue does not hold"),
        ("F", "F is superseded; its successor is C, with other teeth (single 12/41)"),
    ],
)
def test_the_notes(catalogue, id_: str, note: str) -> None:
    entry = catalogue.gear_sets[id_]
    assert ways_on(catalogue, [entry, entry]) == [note]
    assert (retired_note(catalogue, entry) is None) == (id_ == "F")
    assert (superseded_note(catalogue, entry) is None) == (id_ != "F")


def test_a_plain_replacement_is_told_without_its_teeth(tmp_path: Path) -> None:
    (tmp_path / "sets.yaml").write_text(SETS.replace("12/41", "12/40"), encoding="utf-8")
    catalogue = load(tmp_path)
    (note,) = ways_on(catalogue, [catalogue.gear_sets["A"]])
    assert note == "A is retired; its successor is C by way of B"


def test_a_set_sold_now_needs_no_note(catalogue) -> None:
    assert ways_on(catalogue, [catalogue.gear_sets["C"], catalogue.gear_sets["E"]]) == []


def test_a_number_left_to_the_successor_means_that_one(catalogue) -> None:
    assert find_set(catalogue, "100").id == "C"
    assert find_set(catalogue, "A").id == "A"


def test_a_number_that_does_not_lead_to_the_other_stays_open(catalogue) -> None:
    with pytest.raises(UsageError) as refused:
        find_set(catalogue, "200")
    assert str(refused.value) == (
        "'200' may be D or E; name one of them (D is retired, and no successor is named)"
    )


def test_a_near_name_that_is_retired_leads_on(tmp_path: Path) -> None:
    text = SETS.replace("  B:", "  BROAD:").replace("successor: B}", "successor: BROAD}")
    (tmp_path / "sets.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(
        UsageError, match=r"mean BROAD\? \(BROAD is retired; its successor is C, with other"
    ):
        find_set(load(tmp_path), "BROADD")
