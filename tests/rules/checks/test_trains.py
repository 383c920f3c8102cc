"""Stages and changes of a set beside the factory trains it is for.

That no set doubles or halves road speed is a judgement of this project, no rule of the trade.
"""

from __future__ import annotations

import pytest

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
KNOT = {
    "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {single: {}}
"""
}


def test_stages_of_another_train(marked) -> None:
    found = marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {<FC231>tertiary: 15/43}
    fits: [{family: dunlin-50}, {family: knot-50}]
  MA-2:
    part_number: "2"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50}, {family: <FC231>knot-50}]
  MA-3:
    part_number: "3"
    pairs: {primary: 15/43, secondary: 13/48, <FC231>tertiary: 14/30}
    fits: [{family: dunlin-50}]
  MA-4:
    part_number: "4"
    pairs: {primary: 15/43, secondary: 13/47}
    fits: [{family: dunlin-50}]
"""
        }
    )
    assert "a train of dunlin-50 has primary and secondary" in found[0].message


# Factory primary 14/45 of the base example: 28/45 doubles the road speed, 14/90 halves it.
@pytest.mark.parametrize(
    "pairs",
    [
        "{primary: 28/45}",
        "{primary: 14/90}",
        "{primary: <FC232>29/45}",
        "{primary: <FC232>14/91}",
        "{primary: 14/45, secondary: 26/48}",
        "{primary: 28/45, secondary: 13/96}",
        "<FC232>{primary: 28/45, secondary: 13/47}",
    ],
)
def test_the_limit_is_double_and_half_and_inside(marked, pairs: str) -> None:
    marked(
        {
            "sets/more.yaml": HEAD
            + '  MA-1: {part_number: "1", pairs: PAIRS, fits: [{family: dunlin-50}]}\n'.replace(
                "PAIRS", pairs
            )
        }
    )


def test_one_sensible_train_among_the_claims_is_enough(marked) -> None:
    marked(
        {
            "families/more.yaml": KNOT["families/more.yaml"].replace(
                "stages: {single: {}}",
                "stages: {primary: {}, secondary: {}}\n"
                "    factory_trains: [{housing: one, wheel_size_in: 10, "
                "pairs: {primary: 22/45, secondary: 13/48}}]",
            ),
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 30/45}
    fits: [{family: dunlin-50}, {family: knot-50}]
""",
        }
    )
