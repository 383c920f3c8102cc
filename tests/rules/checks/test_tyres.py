"""Tyres that contradict their own sizes; the limit of 8 percent is a judgement, no rule."""

from __future__ import annotations

import pytest

HEAD = "kind: tyre\nrecords:\n"
MACHINE = """kind: machine
records:
  red-dunlin:
    name: the red Dunlin
    family: dunlin-50
    pairs: {primary: 14/45, secondary: 13/48}
"""


def tyres(*records: str) -> dict[str, str]:
    lines = (f"  t-{number}: {{{record}}}\n" for number, record in enumerate(records))
    return {"tyres/more.yaml": HEAD + "".join(lines)}


def machine(fields: str) -> dict[str, str]:
    return {"machines/more.yaml": MACHINE + fields}


COUNTED = "roll_out_mm: 1436, basis: counted"


def test_sizes_that_cannot_be_read_say_what_to_do(marked) -> None:
    first, second = marked(
        {
            **tyres(
                f"size: <FC291>120/700-12, wheel_size_in: 12, {COUNTED}",
                "size: 120/70-12, wheel_size_in: 12",
                # The rim alone tells, not the roll-out, which is another wheel's.
                "size: 120/70-10, wheel_size_in: <FC292>12, roll_out_mm: 1436, basis: counted",
            ),
            **machine("    tyre_size: <FC291>350-10\n"),
        }
    )[::2]
    assert (first.message, first.help) == (
        "'350-10' is no tyre size",
        "did you mean 3.50-10?",
    )
    assert second.help == "read the sidewall again and correct one of the two"


@pytest.mark.parametrize("rim", [12, 10])
def test_a_size_on_another_rim_than_the_machine_has(marked, rim: int) -> None:
    mark = "" if rim == 12 else "<FC284>"
    train = "primary: 14/45, secondary: " + ("12/49" if rim == 12 else "13/48")
    files = machine(f"    wheel_size_in: {rim}\n    tyre_size: {mark}120/70-12\n")
    files = {
        name: text.replace("primary: 14/45, secondary: 13/48", train)
        for name, text in files.items()
    }
    marked(files)


# 120/70-12 by rule: 3.05 x 473 = 1442.65 mm; 8 percent to either side end at 1327.24 and 1558.06.
@pytest.mark.parametrize(
    ("roll_out", "far"),
    [("1327.2", True), ("1327.3", False), ("1442", False), ("1558", False), ("1558.1", True)],
)
def test_roll_outs_far_from_the_rule(marked, roll_out: str, far: bool) -> None:
    value = f"{'<FC293>' * far}{roll_out}"
    marked(tyres(f"size: 120/70-12, wheel_size_in: 12, roll_out_mm: {value}, basis: catalogue"))


@pytest.mark.parametrize(("roll_out", "far"), [("1423", False), ("1424", True)])
def test_a_machine_measured_far_from_the_rule_of_its_tyre(marked, roll_out: str, far: bool) -> None:
    base = "    tyre: t-3.50-10\n    wheel_size_in: 10\n    roll_out_mm: "
    # 3.50-10 near the rule: 3.05 x 432 = 1317.6 mm, so up to 1423.0.
    found = marked(machine(f"{base}{'<FC293>' * far}{roll_out}\n"))
    assert ["1318 mm that the rule gives for 3.50-10" in each.message for each in found] == (
        [True] * far
    )


def test_a_figure_just_over_the_limit_does_not_read_like_it(marked) -> None:
    (found,) = marked(
        tyres("size: 120/70-12, wheel_size_in: 12, roll_out_mm: <FC293>1558.1, basis: counted")
    )
    assert found.message.startswith("1558.1 mm is +8.003 % from")


@pytest.mark.parametrize(
    ("size", "fields"),
    [
        ("120/70-12 51L", "speed_symbol: <FC294>P"),
        ("120/70-12 51L", "speed_symbol: L, load_index: 51"),
        ("120/70-12 51L", "speed_symbol: L, load_index: <FC294>58"),
        ("120/70-12", "speed_symbol: L, load_index: 51"),
        ("120/70ZR12", "speed_symbol: W, load_index: 58"),
        ("120/70ZR12 58W", "speed_symbol: <FC294>V"),
    ],
)
def test_service_descriptions_given_twice(marked, size: str, fields: str) -> None:
    marked(tyres(f"size: {size}, wheel_size_in: 12, {fields}"))


def test_a_tyre_needs_a_roll_out_or_a_size_that_gives_one(marked) -> None:
    found = marked(
        tyres(
            "<FC113>size: 120/700-12, wheel_size_in: 12",
            "size: 120/70-12, wheel_size_in: 12, <FC113>basis: counted",
            "size: 120/70-12, wheel_size_in: 12, <FC113>roll_out_mm: 1436",
        )
    )
    assert found[0].message.startswith("size gives no roll-out, since a section height of 700 %")


def test_a_tyre_by_id_or_by_size_not_both(marked) -> None:
    marked(machine("    tyre: t-3.50-10\n    <FC113>tyre_size: 3.50-10\n"))
