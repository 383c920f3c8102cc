"""Lists and mappings that are there but hold nothing."""

from __future__ import annotations

from fitcheck.diagnostics.examples import BASE

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"


def test_every_list_that_decides_something(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50, housings: <FC217>[]}, {family: dunlin-50}]
    interfaces: {bearings: <FC217>[]}
    geometry: <FC217>{}
  MA-2:
    part_number: "2"
    pairs: {primary: 15/42}
    fits: <FC217>[]
    members: {primary: <FC217><FC257>[]}
""",
            "families/dunlin.yaml": BASE["families/dunlin.yaml"].replace("[ST-14]", "<FC217>[]"),
        }
    )
    assert any(f.message.startswith("housings holds nothing") for f in found)


def test_lists_of_which_an_empty_one_says_none(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    aliases: []
    also_needs: []
    measured: []
    listed_for: {models: []}
    pairs: {primary: 15/43}
"""
        }
    )
