"""Sets that belong into no train of their families, and pairs at the wrong stage."""

from __future__ import annotations

import pytest

from fitcheck.diagnostics.examples import BASE

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
FAMILY, MACHINE = "families/dunlin.yaml", "machines/counter.yaml"


def changed(name: str, old: str, new: str) -> dict[str, str]:
    assert old in BASE[name]
    return {name: BASE[name].replace(old, new)}


def of(number: int, pairs: str, more: str = "") -> str:
    return (
        f'  MA-{number}:\n    part_number: "{number}"\n    pairs: {pairs}\n'
        f"    fits: [{{family: dunlin-50, housings: [short, mid]}}]\n{more}"
    )


def test_a_pair_of_no_use_at_its_stage_and_of_use_at_another(marked) -> None:
    # Over 13/48 and 12/49 the pair 16/41 is +44.1 and +59.3 %, over 14/45 it is +25.4 %, by hand.
    (found,) = marked({"sets/more.yaml": HEAD + of(1, "{<FC233>secondary: 16/41}")})
    assert "by +44 % at the least, as primary pair by +25 %" in found.message


def test_each_family_is_told_of_by_its_own_trains(marked) -> None:
    # Knot: 16/41 is +44.1 % over 13/48 and +25.4 % over 14/45, by hand; Stint: +56.1 % over 12/48.
    families = """\
kind: family
records:
  stint-50:
    name: Stint 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {primary: 14/45, secondary: 12/48}}
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 12, pairs: {primary: 14/45, secondary: 13/48}}
"""
    both = of(1, "{<FC233>secondary: 16/41}").replace(
        "{family: dunlin-50, housings: [short, mid]}", "{family: stint-50}, {family: knot-50}"
    )
    (found,) = marked({"families/more.yaml": families, "sets/more.yaml": HEAD + both})
    assert "every stint-50 by +56 % at the least" in found.message


def test_a_pair_that_some_tune_takes_is_left_alone(marked) -> None:
    # 48/13 over 45/17 is +39.5 %: beyond every band of common practice, but no proof of a slip.
    marked({"sets/more.yaml": HEAD + of(1, "{secondary: 17/45}")})


def test_a_pair_of_no_use_at_any_stage_is_no_exchange(marked) -> None:
    marked({"sets/more.yaml": HEAD + of(1, "{primary: 19/35}")})


def test_a_pair_like_those_of_another_stage(marked) -> None:
    # As secondary 15/43 is +37 %, of use to some tune, but the factory has 3.929 with 69 teeth
    # there and 3.067 with 61 at the primary stage. In logarithms, by hand: ln(3.929/2.867) +
    # 2 ln(69/58) = 0.662, ln(3.067/2.867) + 2 ln(61/58) = 0.168. 16/51 as secondary is +23 % with
    # 67 teeth: 0.279 and 0.152.
    family = """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {centre_distance_mm: 47.5}, secondary: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {primary: 15/46, secondary: 14/55}}
"""
    # 15/59 has as many teeth as the secondary pairs since they are finer: by its module it runs at
    # 1.25 * 74 / 2 / cos 13.2 deg = 47.5 mm without shift.
    fine = (
        "    geometry: {primary: {normal_module_mm: 1.25, helix_angle_deg: 13.2, "
        "profile_shift_sum: 0}}\n"
    )
    sets = of(1, "{<FC233>secondary: 15/43}") + of(2, "{secondary: 16/51}")
    sets += of(3, "{primary: 15/59}", fine)
    sets = sets.replace("{family: dunlin-50, housings: [short, mid]}", "{family: knot-50}")
    found = marked({"families/more.yaml": family, "sets/more.yaml": HEAD + sets})
    assert "like its primary pairs" in found[0].message


def test_a_single_train_exchanged_is_one_finding_at_the_family(marked) -> None:
    # Each of the four sets is unlike the factory pair of its stage, by more than 0.4 as above.
    family = """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - housing: one
        wheel_size_in: 10
        <FC288>pairs: {primary: 14/55, secondary: 15/46}
"""
    sets = of(1, "{primary: 15/44}") + of(2, "{primary: 15/43}")
    sets += of(3, "{secondary: 14/54}") + of(4, "{secondary: 15/54}")
    sets = sets.replace("{family: dunlin-50, housings: [short, mid]}", "{family: knot-50}")
    marked({"families/more.yaml": family, "sets/more.yaml": HEAD + sets})


def test_seats_of_gears_that_a_stage_does_not_have(marked) -> None:
    primary = "    interfaces: {pinion_seat: <FC234>ST-14, output_shaft_end: <FC234>H17}\n"
    secondary = "    interfaces: {wheel_seat: <FC234>ST-14, input_shaft_end: <FC234>D13}\n"
    whole = "    interfaces: {wheel_seat: A1, pinion_seat: A1, input_shaft_end: D13}\n"
    marked(
        {
            "sets/more.yaml": HEAD
            + of(1, "{primary: 15/43}", primary)
            + of(2, "{secondary: 14/46}", secondary)
            + of(3, "{primary: 15/42, secondary: 14/46}", whole)
        }
    )


def test_counts_of_a_machine_exchanged(marked) -> None:
    pairs = "{primary: 14/45, secondary: 13/48}"
    turned = "{primary: 13/48, secondary: 14/45}"
    found = marked(changed(MACHINE, f"pairs: {pairs}", f"<FC288>pairs: {turned}"))
    assert "primary 14/45, secondary 13/48 is: the stages are exchanged" in found[0].message


def test_a_train_beside_two_others(marked) -> None:
    third = """\
      - housing: mid
        wheel_size_in: 10
        <FC288>pairs: {primary: 12/50, secondary: 14/45}
"""
    marked({FAMILY: BASE[FAMILY] + third})


def test_a_train_beside_the_sets_sold_for_its_stages(marked) -> None:
    sets = of(1, "{primary: 16/41}") + of(2, "{secondary: 13/52}")
    sets += of(3, "{primary: 16/42}") + of(4, "{secondary: 13/51}")
    found = marked(
        {"sets/more.yaml": HEAD + sets}
        | changed(
            FAMILY,
            "        pairs: {primary: 14/45, secondary: 12/49}",
            "        <FC288>pairs: {primary: 12/51, secondary: 16/45}",
        )
    )
    assert "each is like the sets sold for the other stage" in found[0].message


def test_a_machine_already_changed_and_exchanged(marked) -> None:
    marked(
        changed(
            MACHINE,
            "pairs: {primary: 14/45, secondary: 13/48}",
            "<FC288>pairs: {primary: <FC282>13/48, secondary: 15/40}",
        )
    )


def test_a_whole_train_entered_with_its_pairs_exchanged(marked) -> None:
    # MA-1 is the factory train of the mid housing exchanged, MA-2 that train itself, MA-3 another
    # train the right way round. MA-4 is 12/50 and 15/44 exchanged. Beside the medians of the
    # factory, 45/14 = 3.214 with 59 teeth and (48/13 + 49/12) / 2 = 3.888 with 61, by hand: as
    # given ln(4.167/3.214) + 2 ln(62/59) + ln(3.888/2.933) + 2 ln(61/59) = 0.707, exchanged
    # ln(3.214/2.933) + 0 + ln(4.167/3.888) + 2 ln(62/61) = 0.193, which is 0.51 less.
    marked(
        {
            "sets/more.yaml": HEAD
            + of(1, "{primary: 12/49, secondary: 14/45}").replace("    pairs", "    <FC288>pairs")
            + of(2, "{primary: 14/45, secondary: 12/49}")
            + of(3, "{primary: 15/44, secondary: 13/48}")
            + of(4, "{primary: 12/50, secondary: 15/44}").replace("    pairs", "    <FC288>pairs")
            + of(5, "{primary: 15/43, secondary: 14/46}")
            + of(6, "{primary: 16/44, secondary: 14/47}")
        }
    )


LISTED = """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {primary: 15/46, secondary: 14/55}}
"""


def test_a_set_that_is_only_listed_is_judged_by_the_families_of_its_words(marked) -> None:
    # The pair of `test_a_pair_like_those_of_another_stage`; `nothing` is the word of no family.
    fits = "    fits: [{family: dunlin-50, housings: [short, mid]}]\n"
    sets = "".join(
        of(number, f"{{{mark}secondary: 15/43}}").replace(
            fits, f"    listed_for: {{models: {of_}}}\n"
        )
        for number, mark, of_ in ((1, "<FC233>", "[Knot 50]"), (2, "", "[nothing]"))
    )
    marked({"families/more.yaml": LISTED, "sets/more.yaml": HEAD + sets})


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
