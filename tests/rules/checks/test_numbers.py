"""Part numbers given twice, of sets and kits, and what follows a retired set."""

from __future__ import annotations

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
SUPPLIER = {"suppliers/more.yaml": "kind: supplier\nrecords:\n  glasswort: {name: Glasswort}\n"}


def test_numbers_and_aliases_with_other_teeth_and_the_same(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1: {part_number: <FC213>"15 44", pairs: {primary: 15/43}}
  MA-2: {part_number: "2", aliases: ["2-A", <FC213>"1447"], pairs: {secondary: 15/47}}
  MA-3: {part_number: <FC214>"2-a", pairs: {secondary: 15/47}}
"""
        }
    )
    assert found[0].related[0].span.path.endswith("sets/marram.yaml")
    assert found[0].message == (
        "number 15 44 of marram is MA-1544 with primary 15/44, here with primary 15/43"
    )


def test_a_number_is_its_suppliers_own_and_retired_sets_keep_theirs(marked) -> None:
    marked(
        SUPPLIER
        | {
            "sets/more.yaml": HEAD
            + """\
  GW-1: {supplier: glasswort, part_number: "1544", pairs: {primary: 15/43}}
  MA-1: {part_number: "1544", pairs: {primary: 15/43}, status: retired, successor: MA-1544}
  MA-2: {part_number: "2", aliases: ["2"], pairs: {primary: 15/43}}
"""
        }
    )


def test_same_part_twice_needs_the_same_gearboxes_and_no_difference(marked) -> None:
    claim = "fits: [{family: dunlin-50, housings: [mid, short]}]"
    parcel = "{primary: [driver, driven]}"
    marked(
        SUPPLIER
        | {
            "sets/more.yaml": HEAD
            + f"""\
  MA-1: {{part_number: <FC212>"1", pairs: {{primary: 44/15}}, {claim}}}
  MA-2: {{part_number: "2", pairs: {{primary: 15/44}}, fits: [{{family: dunlin-50}}]}}
  MA-3: {{part_number: "3", pairs: {{primary: 15/44}}, {claim}, interfaces: {{wheel_seat: ST-14}}}}
  MA-4: {{part_number: "4", pairs: {{primary: 15/44}}, {claim}, members: {parcel}}}
  MA-5: {{part_number: "5", pairs: {{primary: 15/44, secondary: 14/47}}, {claim}}}
  MA-6: {{part_number: "6", pairs: {{primary: 15/44}}}}
  MA-7: {{part_number: "7", pairs: {{primary: 15/44}}}}
  MA-8: {{part_number: "8", pairs: {{primary: 15/41}}, listed_for: {{models: [Dunlin Ten]}}}}
  MA-9: {{part_number: <FC212>"9", pairs: {{primary: 15/41}}, listed_for: {{models: [dunlin-ten]}}}}
  GW-1: {{supplier: glasswort, part_number: "1", pairs: {{primary: 15/44}}, {claim}}}
"""
        }
    )


KITS = "kind: variator\ndefaults: {supplier: marram}\nrecords:\n"
RATIOS = "low_ratio: 2.9, high_ratio: 0.95"


def test_supplier_and_families_lead_somewhere(marked) -> None:
    found = marked(
        {
            "variators2.yaml": KITS
            + f"""\
  MA-1: {{part_number: "1", fits: [dunlin-50, <FC201>dunlim-50], {RATIOS}}}
  MA-2: {{supplier: <FC203>maram, part_number: "2", fits: [dunlin-50], {RATIOS}}}
"""
        }
    )
    assert [finding.suggestion for finding in found] == ["dunlin-50", "marram"]


def test_a_number_belongs_to_one_part_only(marked) -> None:
    found = marked(
        {
            "suppliers/more.yaml": "kind: supplier\nrecords:\n  glasswort: {name: Glasswort}\n",
            "variators2.yaml": KITS
            + f"""\
  MA-1: {{part_number: <FC216>"71 05", fits: [dunlin-50], {RATIOS}}}
  MA-2: {{part_number: "2", aliases: ["2", <FC216>"1544"], fits: [dunlin-50], {RATIOS}}}
  GW-1: {{supplier: glasswort, part_number: "7105", fits: [dunlin-50], {RATIOS}}}
""",
        }
    )
    assert [finding.message for finding in found] == [
        "number 71 05 of marram is the variator kit MA-7105 already",
        "number 1544 of marram is the gear set MA-1544 already",
    ]
    assert found[0].related[0].span.path.endswith("variators.yaml")


def test_tyres_and_class_of_the_works_lead_somewhere(marked) -> None:
    marked(
        {
            "families/more.yaml": """\
kind: family
records:
  whimbrel-125:
    name: Whimbrel 125
    housings: {one: {name: one}}
    stages: {single: {}}
    vehicle_class: <FC205>l3e
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {single: 14/66}, tyre: t-3.50-10}
      - {housing: one, wheel_size_in: 10, pairs: {single: 13/66}, tyre: <FC206>t-3.50-11}
      - {housing: one, wheel_size_in: 12, pairs: {single: 12/66}, tyre: <FC284>t-3.50-10}
"""
        }
    )


def retired(number: int, successor: str = "", mark: str = "") -> str:
    text = (
        f'  MA-{number}:\n    part_number: "{number}"\n    pairs: {{primary: 15/{30 + number}}}\n'
    )
    if not successor:
        return f"{text}    status: {mark}retired\n"
    return f"{text}    status: retired\n    successor: {mark}{successor}\n"


def test_circles_are_told_of_once_where_they_begin(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + retired(1, "MA-2")
            + retired(2, "MA-3", "<FC272>")
            + retired(3, "MA-4")
            + retired(4, "MA-2")
            + retired(5, "MA-5", "<FC272>")
            + retired(6, "MA-1544")
            + retired(7, "MA-6")
            + retired(8, "", "<FC271>")
            + retired(9, "MA-8")
        }
    )
    assert "MA-2 → MA-3 → MA-4 → MA-2" in found[0].message
    assert [place.label for place in found[0].related] == ["successor of MA-3", "successor of MA-4"]


def test_a_long_circle_is_told_in_short(marked) -> None:
    size = 40
    sets = [retired(1, "MA-2", "<FC272>")]
    sets += [retired(number, f"MA-{number % size + 1}") for number in range(2, size + 1)]
    (found,) = marked({"sets/more.yaml": HEAD + "".join(sets)})
    assert found.message.endswith("MA-7 → MA-8 → 32 more → MA-1")
    assert len(found.related) == 7


def test_a_successor_for_another_stage_or_for_other_families(marked) -> None:
    fits = "    fits: [{family: dunlin-50, housings: [short]}]\n"
    found = marked(
        {
            "sets/more.yaml": HEAD
            + retired(1, "MA-4", "<FC274>")
            + retired(2, "MA-3", "<FC274>").replace("    status", f"{fits}    status")
            + '  MA-3:\n    part_number: "3"\n    pairs: {primary: 15/45}\n'
            + "    fits: [{family: stint-50, housings: [open]}]\n"
            + '  MA-4: {part_number: "4", pairs: {secondary: 13/48}}\n'
            # Another gearing of the same stage, or more than the stage, may take its place.
            + retired(5, "MA-6")
            + '  MA-6: {part_number: "6", pairs: {primary: 15/41, secondary: 13/46}}\n',
            "more-families.yaml": "kind: family\nrecords:\n  stint-50:\n    name: Stint 50\n"
            "    stages: {primary: {}, secondary: {}}\n    housings: {open: {name: open case}}\n",
        }
    )
    assert found[0].message == "the successor MA-4 holds secondary, and MA-1 holds primary"
    assert found[1].message == "the successor MA-3 is for stint-50, and MA-2 for dunlin-50"


def test_stock_of_a_retired_set(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD + retired(1, "MA-1544") + retired(2, "MA-1544"),
            "more-shelf.yaml": "kind: shelf\nrecords:\n  MA-1: {quantity: <FC273>2}\n"
            "  MA-2: {quantity: 0}\n",
        }
    )
