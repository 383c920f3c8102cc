"""Shaft ends, bearings, seats, hand and members that contradict a claim."""

from __future__ import annotations

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
KNOT = {
    "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {driver_hand: spur}, secondary: {driver_hand: left}}
    interfaces:
      input_shaft_end: D-12
      idler_seats: [KW-13]
      output_shaft_end: S15
      bearings: ["6202", "6203"]
"""
}


def test_shaft_ends_and_bearings(marked) -> None:
    marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50}, {family: <FC255>knot-50}]
    interfaces: {input_shaft_end: D13}
  MA-2:
    part_number: "2"
    pairs: {secondary: 14/46}
    fits: [{family: knot-50}]
    interfaces: {output_shaft_end: <FC255>H17, input_shaft_end: D13, bearings: ["6203"]}
  MA-3:
    part_number: "3"
    pairs: {primary: 15/43}
    fits: [{family: knot-50}]
    interfaces: {input_shaft_end: d12, bearings: <FC255>["6202", "6204"]}
  MA-4:
    part_number: "4"
    pairs: {primary: 15/43}
    listed_for: {models: [Knot 50]}
    interfaces: {input_shaft_end: D13}
"""
        }
    )


def test_a_trial_in_the_shop_does_not_silence_a_contradiction(marked) -> None:
    found = marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: knot-50, housings: [one], evidence: measured}]
    interfaces: {input_shaft_end: <FC255>D13}
"""
        }
    )
    assert found[0].message.startswith("tried in knot-50 by the shop, yet the input pinion needs")


def test_hand_of_the_helix(marked) -> None:
    found = marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43, secondary: 14/46}
    fits: [{family: knot-50}]
    geometry:
      primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driver_hand: <FC254>left}
      secondary: {normal_module_mm: 1.5, helix_angle_deg: 20, driver_hand: left}
"""
        }
    )
    assert "takes no thrust" in found[0].message or "take no thrust" in found[0].message


def test_a_seat_needs_a_mate_somewhere(marked) -> None:
    found = marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50}]
    interfaces: {wheel_seat: SG-14}
  MA-2:
    part_number: "2"
    pairs: {secondary: 14/46}
    fits: [{family: dunlin-50}]
    interfaces: {pinion_seat: sg 14}
  MA-3:
    part_number: "3"
    pairs: {secondary: 14/46}
    fits: [{family: knot-50}]
    interfaces: {pinion_seat: <FC256>SG-14}
  MA-4:
    part_number: "4"
    pairs: {secondary: 14/46}
    fits: [{family: knot-50}, {family: dunlin-50}]
    interfaces: {pinion_seat: SG-14, wheel_seat: anything}
  MA-5:
    part_number: "5"
    pairs: {primary: 15/42, secondary: 14/46}
    fits: [{family: knot-50}]
    interfaces: {wheel_seat: XX, pinion_seat: XX}
"""
        }
    )
    assert "the factory has KW-13" in found[0].message


def test_members(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43, secondary: 14/46}
    members:
      primary: [driven, driver]
      secondary: <FC257>[driven]
"""
        }
    )
    assert "only the driven of the secondary pair" in found[0].message
