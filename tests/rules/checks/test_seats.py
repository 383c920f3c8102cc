"""Shaft ends, bearings, seats, hand and members that contradict a claim."""

from __future__ import annotations

from fitcheck.diagnostics.examples import BASE

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
    interfaces: {output_shaft_end: <FC255>H17, input_shaft_end: <FC234>D13, bearings: ["6203"]}
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


def test_a_seat_needs_a_mate_of_its_supplier(marked) -> None:
    found = marked(
        KNOT
        | {
            **_stating({"sedge": ["ST-14"] * 4}),
            "suppliers/reed.yaml": "kind: supplier\nrecords:\n  reed: {name: Reed}\n",
            "sets/reed.yaml": HEAD.replace("marram", "reed")
            + """\
  RE-1:
    part_number: "1"
    pairs: {primary: 15/41}
    fits: [{family: dunlin-50}]
    interfaces: {wheel_seat: ST-14}
  RE-2:
    part_number: "2"
    pairs: {secondary: 14/45}
    fits: [{family: dunlin-50}]
    interfaces: {pinion_seat: <FC256>SG-14}
""",
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50}]
    interfaces: {wheel_seat: <FC260>SG-14}
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
    pairs: {secondary: 14/44}
    fits: [{family: <FC256>knot-50}, {family: dunlin-50}]
    interfaces: {pinion_seat: SG-14}
  MA-5:
    part_number: "5"
    pairs: {primary: 15/42, secondary: 14/46}
    fits: [{family: knot-50}]
    interfaces: {wheel_seat: XX, pinion_seat: XX}
  MA-6:
    part_number: "6"
    pairs: {secondary: 14/47}
    fits: [{family: knot-50}, {family: dunlin-50}]
    interfaces: {pinion_seat: unknown}
""",
        }
    )
    by_place = {finding.record: finding.message for finding in found}
    assert "the factory has KW-13, and no other set there has it" in by_place["MA-3"]
    assert "and only marram has a mate for it, not reed" in by_place["RE-2"]
    assert by_place["MA-1"] == (
        "marram has idler seat SG-14 where the factory of dunlin-50 has ST-14: as it stands, MA-1 "
        "is ruled out beside the factory pinion, MA-2 or MA-4 beside the factory wheel, and they "
        "go only with each other"
    )


def _stating(seats: dict[str, list[str]], name: str = "wheel_seat") -> dict[str, str]:
    """Primary sets for dunlin-50 by supplier, each stating the next seat of a list."""
    files = {}
    for supplier, given in seats.items():
        text = f"kind: gear-set\ndefaults: {{supplier: {supplier}}}\nrecords:\n"
        for index, seat in enumerate(given):
            text += (
                f"  {supplier}-{index}:\n    part_number: n{index}\n"
                f"    pairs: {{primary: 15/{40 + index}}}\n    fits: [{{family: dunlin-50}}]\n"
                f"    interfaces: {{{name}: {seat}}}\n"
            )
        files[f"sets/of-{supplier}.yaml"] = text
    suppliers = "".join(f"  {supplier}: {{name: {supplier}}}\n" for supplier in seats)
    return files | {"suppliers/more.yaml": f"kind: supplier\nrecords:\n{suppliers}"}


def _family(old: str, new: str) -> dict[str, str]:
    return {"families/dunlin.yaml": BASE["families/dunlin.yaml"].replace(old, new)}


def test_many_sets_against_the_family_are_one_finding_there(marked) -> None:
    (found,) = marked(
        _family("[ST-14]", "[<FC223>ST-41]") | _stating({"reed": ["ST-14"] * 2, "sedge": ["st 14"]})
    )
    assert "idler seat ST-41, but 3 of 3 sets for dunlin-50 state ST-14" in found.message
    assert [related.span.path.rsplit("/")[-1] for related in found.related] == [
        "of-reed.yaml",
        "of-reed.yaml",
        "of-sedge.yaml",
    ]
    assert found.suggestion == "ST-14"


def test_two_sets_do_not_outvote_a_family(marked) -> None:
    marked(_stating({"reed": ["<FC256>ST-41"], "sedge": ["<FC256>ST-41"]}))


def test_no_more_than_half_do_not_outvote_it(marked) -> None:
    ours, theirs = ["<FC256>SG-1"] * 3, ["ST-14"] * 3
    marked(_stating({"reed": ours[:2], "sedge": [ours[2], *theirs]}))


def test_the_range_of_one_supplier_does_not_outvote_a_family_that_others_confirm(marked) -> None:
    marked(_stating({"reed": ["<FC256>SG-1"] * 5, "sedge": ["ST-14"]}))


def test_sets_that_contradict_each_other_are_told_one_by_one(marked) -> None:
    marked(_stating({"reed": ["<FC256>SG-1", "<FC256>SG-2"], "sedge": ["<FC256>SG-3"]}))


def test_shaft_ends_and_bearings_of_a_family_that_its_sets_contradict(marked) -> None:
    marked(
        _family("input_shaft_end: D13", "input_shaft_end: <FC223>D31")
        | _stating({"reed": ["D13"] * 2, "sedge": ["D13"]}, "input_shaft_end")
    )


def test_the_bearing_that_no_set_states_is_pointed_at(marked) -> None:
    bearings = '    interfaces:\n      bearings: ["6202", <FC223>"6230"]'
    (found,) = marked(
        _family("    interfaces:", bearings)
        | _stating({"reed": ['["6203"]'] * 2, "sedge": ['["6202", "6203-2RS"]']}, "bearings")
    )
    assert "bearing 6202, 6230, but 3 of 3 sets" in found.message


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
