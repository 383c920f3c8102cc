"""Machines beside the factory trains of their family."""

from __future__ import annotations

import pytest

# The base example's family: short, 10 in, 14/45 13/48 and mid, 12 in, 14/45 12/49.

MID = "{primary: 14/45, secondary: 12/49}"


@pytest.mark.parametrize(
    "fields",
    [
        "pairs: {primary: 14/45, secondary: 13/48}",
        "pairs: {primary: 14/45, secondary: 13/48}\n    wheel_size_in: 10",
        "pairs: {primary: 14/45, secondary: 13/48}\n    idler_seats: [ST-14]",
        "pairs: {primary: 14/45, secondary: 13/48}\n    idler_seats: ['?', <FC222>ST-14]",
        "pairs: {primary: 14/45, secondary: 12/49}\n    housing: mid",
        "pairs: {primary: 14/45, secondary: 12/49}\n    housing: <FC283>short",
        "pairs: {primary: 14/45, secondary: 12/49}\n    wheel_size_in: <FC283>10",
        f"wheel_size_in: 12\n    housing: <FC283>short\n    pairs: {MID}",
        "pairs: {primary: 14/45, secondary: 12/49}\n    housing: mid\n    wheel_size_in: <FC283>13",
        "pairs: {primary: <FC282>14/44, secondary: 13/48}",
        "pairs: {primary: <FC282>14/40, secondary: 13/40}",
        "pairs: {<FC281>single: 14/45}",
        "<FC281>pairs: {primary: 14/45}",
        "pairs: {primary: 14/45, secondary: 13/48, <FC281>tertiary: 13/30}",
    ],
)
def test_counts_against_the_factory_trains(marked, fields: str) -> None:
    marked(
        {
            "machines/more.yaml": "kind: machine\nrecords:\n  red:\n    name: red\n"
            f"    family: dunlin-50\n    {fields}\n"
        }
    )


def test_one_tooth_away_asks_for_another_count(marked) -> None:
    found = marked(
        {
            "machines/more.yaml": """\
kind: machine
records:
  red:
    name: red
    family: dunlin-50
    pairs: {primary: 14/45, secondary: <FC282>13/49}
"""
        }
    )
    assert found[0].help == "count again: the factory fitted 13/48 or 12/49, one tooth away"
    assert found[0].suggestion is None


def test_two_boxes_mixed(marked) -> None:
    found = marked(
        {
            "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {primary: 14/45, secondary: 13/48}}
      - {housing: one, wheel_size_in: 12, pairs: {primary: 13/45, secondary: 13/49}}
""",
            "machines/more.yaml": """\
kind: machine
records:
  red:
    name: red
    family: knot-50
    <FC282>pairs: {primary: 14/45, secondary: 13/49}
""",
        }
    )
    assert "each pair is a factory pair" in found[0].message


def test_a_tyre_for_another_rim(marked) -> None:
    marked(
        {
            "machines/more.yaml": """\
kind: machine
records:
  red:
    name: red
    family: dunlin-50
    pairs: {primary: 14/45, secondary: 12/49}
    wheel_size_in: 12
    tyre: <FC284>t-3.50-10
"""
        }
    )


def test_a_measured_seat_one_slip_from_a_known_one(marked) -> None:
    sets = """\
kind: gear-set
defaults: {supplier: marram}
records:
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    interfaces: {wheel_seat: KV-15}
"""
    machine = """\
  red-{at}:
    name: red {at}
    family: dunlin-50
    pairs: {{primary: 14/45, secondary: 13/48}}
    idler_seats: [{seat}]
"""
    # The family has ST-14. KV-51 is one exchange from the set's seat, SV-15 one letter; `st 14` is
    # the family's own, XX-99 like none, `?` nobody has measured.
    seats = ("<FC289>KV-51", "<FC289>ST-41", "<FC289>SV-15", "st 14", "KV-15", "XX-99", '"?"')
    text = "kind: machine\nrecords:\n" + "".join(
        machine.format(at=at, seat=seat) for at, seat in enumerate(seats)
    )
    found = marked({"sets/more.yaml": sets, "machines/more.yaml": text})
    assert [each.suggestion for each in found] == ["KV-15", "ST-14", "KV-15"]
    assert found[0].help == "did you mean KV-15? no fault where it was measured so"


def test_a_measured_seat_that_only_another_family_has(marked) -> None:
    family = """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}, tertiary: {}}
    interfaces: {idler_seats: [KW-13, KW-13]}
  stint-50:
    name: Stint 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {primary: 14/45, secondary: 13/48}}
  ruff-50:
    name: Ruff 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    interfaces: {idler_seats: [SV-20]}
"""
    # A set for the Dunlin has the seat of the Ruff: its gears may be in the machine.
    sets = """\
kind: gear-set
defaults: {supplier: marram}
records:
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50, housings: [short]}]
    interfaces: {wheel_seat: <FC256>SV-20}
"""
    machine = """\
  red-{at}:
    name: red {at}
    family: {family}
    pairs: {{primary: 14/45, secondary: 13/48}}
    idler_seats: [{seat}]
"""
    # Nobody knows the seat of the Stint, so it may be that of another family.
    given = (
        ("dunlin-50", "<FC290>KW-13"),
        ("dunlin-50", "<FC290>kw 13"),
        ("dunlin-50", "ST-14"),
        ("dunlin-50", "SV-20"),
        ("dunlin-50", '"?"'),
        ("stint-50", "KW-13"),
    )
    text = "kind: machine\nrecords:\n" + "".join(
        machine.format(at=at, family=family, seat=seat) for at, (family, seat) in enumerate(given)
    )
    found = marked(
        {"families/more.yaml": family, "sets/more.yaml": sets, "machines/more.yaml": text}
    )
    assert "is that of knot-50, but dunlin-50 has ST-14" in found[0].message
