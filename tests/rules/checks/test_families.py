"""Families that contradict themselves: each mark stands where the finding must be."""

from __future__ import annotations

import pytest

FAMILY = """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings:
      one: {name: one case, max_tip_diameter_mm: {primary: 80, <FC208>single: 70}}
    stages: {primary: {}, secondary: {}}
    interfaces: {idler_seats: [KW-13, <FC222>KW-14]}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {primary: 14/45, secondary: 13/48}}
      - <FC215>{housing: one, wheel_size_in: 10, pairs: {secondary: 48/13, primary: 14/45}}
      - {housing: one, wheel_size_in: 12, pairs: {primary: 14/45, secondary: 13/48}}
      - housing: one
        wheel_size_in: 13
        <FC209>pairs:
          primary: 14/45
          <FC208>tertiary: 13/48
"""


def test_stages_seats_and_trains(marked) -> None:
    found = marked({"families/more.yaml": FAMILY})
    twice = next(finding for finding in found if finding.code == "FC215")
    assert twice.related[0].span.line == 10


# The base example's tune has low 5, high 12, stretch 15.
@pytest.mark.parametrize(
    "band",
    [
        "{low: 12, high: 12, stretch: 12}",
        "{low: 12}",
        "{high: 5}",
        "{high: 15}",
        "{stretch: 12}",
        "{low: 13, high: 13}",
        "{low: <FC221>12.001}",
        "{low: <FC221>13, high: 12.5}",
        "{high: <FC221>4.9}",
        "{high: <FC221>15.1}",
        "{high: 15.1, stretch: 15.1}",
        "{stretch: <FC221>11}",
        "{low: <FC221>20, high: <FC221>18}",
    ],
)
def test_a_familys_band_against_its_tune(marked, band: str) -> None:
    text = FAMILY[: FAMILY.index("    factory_trains")]
    text = text.replace(", <FC208>single: 70", "").replace(", <FC222>KW-14", "")
    marked({"families/more.yaml": f"{text}    bands:\n      stock: {band}\n"})


def test_the_message_names_both_edges(marked) -> None:
    text = FAMILY[: FAMILY.index("    factory_trains")]
    text = text.replace(", <FC208>single: 70", "").replace(", <FC222>KW-14", "")
    found = marked({"families/more.yaml": f"{text}    bands:\n      stock: {{low: <FC221>13}}\n"})
    assert found[0].message == "low (13) is over the tune's high (12): no band at all"
    assert found[0].related[0].span.path.endswith("tunes.yaml")
