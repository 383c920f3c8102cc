"""Ids that lead nowhere, found at the very value, with the name that was meant."""

from __future__ import annotations

from pathlib import Path

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import BASE, lay_out
from fitcheck.rules.checks import check


def test_every_reference_of_a_set_at_its_very_value(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": """\
kind: gear-set
records:
  MA-1:
    supplier: <FC203>maram
    part_number: "1"
    pairs: {primary: 15/43}
    fits:
      - {family: dunlin-50, housings: [short, <FC202>midd, <FC202>ten-inch]}
      - family: <FC201>dunlin-70
    status: retired
    successor: <FC207>MA-1546
"""
        }
    )
    assert [f.suggestion for f in found] == ["marram", "mid", None, None, None]
    assert found[3].help == "add a record dunlin-70, or write one that is there: dunlin-50"
    assert found[1].related[0].label == "the family's housings"


def test_every_reference_of_a_machine(marked) -> None:
    found = marked(
        {
            "machines/more.yaml": """\
kind: machine
records:
  red:
    name: red
    family: dunlin-50
    housing: <FC202>shrot
    pairs: {primary: 14/45, secondary: 13/48}
    tyre: <FC206>t-350-10-x
    tune: <FC204>stok
    vehicle_class: <FC205>l1e-b-moped
  blue:
    name: blue
    family: <FC201>Dunlin-Ten
    housing: whatever
    pairs: {primary: 14/45, secondary: 13/48}
"""
        }
    )
    by_code = {f.code: f.suggestion for f in found}
    # A name written in place of an id leads to that id.
    assert by_code["FC201"] == "dunlin-50"
    assert by_code["FC204"] == "stock"


def test_families_that_are_all_gone_are_missed_in_a_catalogue_and_not_in_a_folder_of_it(
    tmp_path: Path,
) -> None:
    lay_out(tmp_path, BASE)
    for file in (tmp_path / "families").iterdir():
        file.unlink()
    missed = [f for f in check(load(tmp_path)) if f.code == "FC201"]
    assert missed
    assert all(f.help.endswith("the catalogue holds no engine family yet") for f in missed)
    for part in ("machines", "sets"):
        assert check(load(tmp_path / part)) == []


def test_references_of_a_family_and_the_shelf(marked) -> None:
    family = BASE["families/dunlin.yaml"]
    second = family.index("housing: mid")
    family = family[:second] + "housing: <FC202>mod" + family[second + len("housing: mid") :]
    family += "    bands:\n      stock: {high: 14}\n      <FC204>stcok: {high: 14}\n"
    marked(
        {
            "families/dunlin.yaml": family,
            "more-shelf.yaml": "kind: shelf\nrecords:\n  <FC207>MA-99: {quantity: 1}\n",
        }
    )


def test_a_housing_by_its_name_leads_to_its_id(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": """\
kind: gear-set
defaults: {supplier: marram}
records:
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50, housings: [<FC202>mid-case]}]
"""
        }
    )
    assert found[0].suggestion == "mid"


def test_a_supplier_given_once_is_told_of_once(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": """\
kind: gear-set
defaults:
  supplier: <FC203>maram
records:
  MA-1: {part_number: "1", pairs: {primary: 15/43}}
  MA-2: {part_number: "2", pairs: {primary: 15/42}}
"""
        }
    )
    assert found[0].field == ("defaults", "supplier")


def test_a_refused_record_still_holds_its_id(marked) -> None:
    marked({"tunes.yaml": BASE["tunes.yaml"] + "    <FC102>hihg: 13\n"})


def test_a_file_that_cannot_be_read_brings_no_further_faults(tmp_path: Path) -> None:
    broken = {"families/dunlin.yaml": BASE["families/dunlin.yaml"] + "  : [\n"}
    lay_out(tmp_path, BASE, broken)
    codes = {finding.code for finding in check(load(tmp_path))}
    assert len(codes) == 1
    assert not codes.pop().startswith("FC2")


def test_a_part_of_a_catalogue_is_not_blamed_for_what_lies_elsewhere(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE)
    assert check(load(tmp_path / "sets" / "marram.yaml")) == []
    assert check(load(tmp_path / "sets")) == []
    assert check(load(tmp_path / "machines")) == []


def test_in_a_whole_catalogue_a_kind_without_records_is_judged(tmp_path: Path) -> None:
    lay_out(tmp_path, {name: text for name, text in BASE.items() if name != "tyres.yaml"})
    found = check(load(tmp_path))
    assert [f.code for f in found] == ["FC206"]
    assert found[0].help == "add a record t-3.50-10; the catalogue holds no tyre yet"


def test_what_a_file_never_seen_may_hold_is_not_missed(tmp_path: Path) -> None:
    latin = {"tunes.yaml": BASE["tunes.yaml"].replace("standard", "standard \udce9")}
    lay_out(tmp_path, BASE, latin)
    assert [f.code for f in check(load(tmp_path))] == ["FC003"]
