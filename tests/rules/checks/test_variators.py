"""Variator kits: where their ids lead, their numbers; and tyres of the works."""

from __future__ import annotations

HEAD = "kind: variator\ndefaults: {supplier: marram}\nrecords:\n"
RATIOS = "low_ratio: 2.9, high_ratio: 0.95"


def test_supplier_and_families_lead_somewhere(marked) -> None:
    found = marked(
        {
            "variators2.yaml": HEAD
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
            "variators2.yaml": HEAD
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
