"""Families that contradict themselves: each mark stands where the finding must be."""

from __future__ import annotations

import pytest

from fitcheck.diagnostics.examples import BASE

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


def test_a_distance_by_ten_beside_the_teeth_of_the_works(marked) -> None:
    (found,) = marked(_dunlin("centre_distance_mm: 62.0", "centre_distance_mm: <FC226>6.2"))
    # 2 x 6.2 mm / (13 + 48) teeth, by hand.
    assert "module of about 0.2 mm" in found.message


def _dunlin(old: str, new: str) -> dict[str, str]:
    text = BASE["families/dunlin.yaml"]
    assert old in text
    return {"families/dunlin.yaml": text.replace(old, new)}


def test_room_for_the_factory_wheel(marked) -> None:
    # 14/45 at 48 mm rolls on 2 x 48 x 45 / 59 = 73.22 mm, 13/48 at 62 mm on 97.57 mm, by hand.
    housing = "short: {name: short case, max_tip_diameter_mm: {primary: %s, secondary: %s}}"
    short = "short: {name: short case}"
    marked(_dunlin(short, housing % ("73.3", "97.6")))
    found = marked(_dunlin(short, housing % ("<FC227>73.2", "<FC227>124")))
    assert "the factory wheel rolls on a circle of 73.22 mm" in found[0].message
    assert "at 62.0 mm between the shafts a wheel of 124.0 mm" in found[1].message


def test_room_of_a_housing_that_no_factory_train_is_in(marked) -> None:
    # Of two gears of which the larger is driven, that one rolls on more than the distance, 48 mm.
    short = "short: {name: short case}"
    other = f"{short}\n      odd: {{name: odd case, max_tip_diameter_mm: {{primary: %s}}}}"
    marked(_dunlin(short, other % "<FC227>48"))
    marked(_dunlin(short, other % "48.1"))


def test_a_distance_in_doubt_is_held_against_no_room(marked) -> None:
    marked(
        _dunlin(
            "secondary: {centre_distance_mm: 62.0}",
            "secondary: {centre_distance_mm: <FC226>620, max_tip_diameter_mm: 104}",
        )
    )


def test_words_shared_by_families_and_housings(marked) -> None:
    found = marked(
        {
            "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    aliases: [K50, <FC211>DUNLIN-TEN]
    housings:
      one: {name: Large case, aliases: [big]}
      two: {name: <FC211>large-case, aliases: [bigger]}
    stages: {single: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {single: 12/89}, models: [Knot, <FC211>Dunlin 50]}
      - {housing: two, wheel_size_in: 10, pairs: {single: 12/89}, models: [Knot]}
"""
        }
    )
    # Two families: the alias and the model word; one family may use its own words twice.
    assert "dunlin-50 and knot-50" in found[0].message
    assert found[0].related[0].span.path.endswith("families/dunlin.yaml")
    assert (found[0].related[0].span.line, found[0].related[0].span.column) == (5, 15)


def test_names_of_tunes_and_suppliers(marked) -> None:
    marked(
        {
            "tunes.yaml": BASE["tunes.yaml"]
            + "  new: {name: <FC211>Standard-Engine, low: 5, high: 12}\n",
            "suppliers/more.yaml": "kind: supplier\nrecords:\n  salt: {name: <FC211>Marram}\n",
        }
    )


def test_machines_may_share_a_name(marked) -> None:
    machine = BASE["machines/counter.yaml"].replace("blue-dunlin", "other")
    marked({"machines/more.yaml": machine})
