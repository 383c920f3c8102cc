"""Centre distances: pairs of the sheet of proved pairs, worked out apart from this code.

15/44 of normal module 1.5 mm and helix 20° runs at 48.000 mm with a shift sum of 0.6436, as the
formulae of ISO 21771 in mpmath give it below; js8 of ISO 286 is 0.0195 mm over 30 to 50 mm.
"""

from __future__ import annotations

import re

import mpmath
import pytest

from fitcheck.diagnostics.examples import BASE

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"

SET = """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/44}
    fits:
      - {family: dunlin-50, housings: [short]}
    geometry:
      primary:
        normal_module_mm: 1.5
        helix_angle_deg: 20
"""


def shift_sum(distance: float, module: float = 1.5, helix: float = 20, teeth: int = 59) -> float:
    """Shift sum for a working centre distance: ISO 21771, at 30 digits, by mpmath."""
    with mpmath.workdps(30):
        beta, alpha = mpmath.radians(helix), mpmath.radians(20)
        at = mpmath.atan(mpmath.tan(alpha) / mpmath.cos(beta))
        reference = mpmath.mpf(module) * teeth / (2 * mpmath.cos(beta))
        aw = mpmath.acos(reference * mpmath.cos(at) / mpmath.mpf(distance))
        inv = lambda angle: mpmath.tan(angle) - angle  # noqa: E731
        return float(teeth * (inv(aw) - inv(at)) / (2 * mpmath.tan(alpha)))


def with_sum(value: float, mark: str = "") -> dict[str, str]:
    return {"sets/more.yaml": f"{HEAD}{SET}        profile_shift_sum: {mark}{value:.6f}\n"}


@pytest.mark.parametrize(
    ("distance", "code"),
    [
        (48.0, None),
        (48.019, None),
        (47.981, None),
        (48.020, "FC252"),
        (47.980, "FC252"),
        (48.0495, "FC252"),
        (48.0505, "FC251"),
        (47.9495, "FC251"),
        (49.5, "FC251"),
    ],
)
def test_distance_against_the_tolerance_and_the_grey_zone(
    marked, distance: float, code: str | None
) -> None:
    found = marked(with_sum(shift_sum(distance), f"<{code}>" if code else ""))
    if code:
        assert f"runs at {distance:.3f} mm" in found[0].message
        assert found[0].related[0].span.path.endswith("families/dunlin.yaml")


def test_a_shift_sum_that_no_distance_gives(marked) -> None:
    found = marked(with_sum(-4.9, "<FC251>"))
    assert "no working centre distance" in found[0].message


@pytest.mark.parametrize(("module", "off"), [(1.5, False), (1.75, True), (1.25, True)])
def test_without_shift_the_module_alone_may_rule_it_out(marked, module: float, off: bool) -> None:
    # 1.75 would need a sum below what the tooth form allows, 1.25 one beyond the limit of 2.5.
    text = SET.replace("mm: 1.5", f"mm: {module}")
    if off:
        text = text.replace("primary:\n", "<FC251>primary:\n")
    marked({"sets/more.yaml": HEAD + text})


def test_right_for_one_family_points_at_the_claim_for_the_other(marked) -> None:
    knot = """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {centre_distance_mm: 49.5, tolerance_mm: 0.02}, secondary: {}}
"""
    text = SET.replace("    geometry", "      - family: <FC251>knot-50\n    geometry")
    marked(
        {
            "families/more.yaml": knot,
            "sets/more.yaml": f"{HEAD}{text}        profile_shift_sum: {shift_sum(48):.6f}\n",
        }
    )


def test_retired_sets_are_left_alone(marked) -> None:
    text = with_sum(shift_sum(49))["sets/more.yaml"]
    marked({"sets/more.yaml": f"{text}    status: retired\n    successor: MA-1544\n"})


def test_a_wheel_too_large_for_one_housing_or_for_all(marked) -> None:
    marked(
        {
            "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings:
      one: {name: one case}
      two: {name: two case, max_tip_diameter_mm: {primary: 76}}
      three: {name: three case}
    stages: {primary: {max_tip_diameter_mm: 74}, secondary: {}}
""",
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/44}
    fits: [{family: knot-50, housings: [two, <FC253>one]}]
    geometry: {primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driven_tip_diameter_mm: 75}}
  MA-2:
    part_number: "2"
    pairs: {primary: 15/44}
    fits: [{family: knot-50, housings: [one, two]}]
    geometry:
      primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driven_tip_diameter_mm: <FC253>76.01}
  MA-3:
    part_number: "3"
    pairs: {primary: 15/44}
    fits: [{family: knot-50}]
    geometry: {primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driven_tip_diameter_mm: 76}}
""",
        }
    )


def test_module_and_undercut(marked) -> None:
    # Least shift of 12 spur teeth at 20°: 1 - 12 sin(20°)² / 2 = 0.2981 (ISO 21771, by hand).
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 12/44}
    geometry:
      primary:
        normal_module_mm: <FC258>1.6
        helix_angle_deg: 0
        driver_profile_shift: <FC259>0.297
  MA-2:
    part_number: "2"
    pairs: {primary: 12/44}
    geometry:
      primary: {normal_module_mm: 1.75, helix_angle_deg: 0, driver_profile_shift: 0.299}
  MA-3:
    part_number: "3"
    pairs: {primary: 12/44}
    geometry:
      primary: {normal_module_mm: 0.9, helix_angle_deg: 0}
"""
        }
    )
    # ISO 54 leaves vehicle gears out of its scope, so its series never make an error.
    assert [f.severity for f in found] == ["warning", "advice"]


# Pairs that run at 48.000 mm by ISO 21771, worked out at 40 digits with mpmath.
AT_48 = (
    ("14/45", 1.5, 20, 0.6436),
    ("17/43", 1.5, 20, 0.0752),
    ("15/43", 1.5, 24, 0.2619),
    ("16/47", 1.375, 24, 0.4442),
)


def _casing(distance: str) -> dict[str, str]:
    text = BASE["families/dunlin.yaml"]
    return {"families/dunlin.yaml": text.replace("centre_distance_mm: 48.0", distance)}


def _cut(pairs: tuple[tuple[str, float, int, float], ...], mark: str = "") -> str:
    return HEAD + "".join(
        f"""\
  MA-{at}:
    part_number: "{at}"
    pairs: {{primary: {pair}}}
    fits: [{{family: dunlin-50}}]
    geometry:
      primary:
        normal_module_mm: {module}
        helix_angle_deg: {helix}
        profile_shift_sum: {mark}{shift_sum}
"""
        for at, (pair, module, helix, shift_sum) in enumerate(pairs)
    )


def test_a_distance_that_most_sets_contradict_is_one_finding_at_the_family(marked) -> None:
    unknown = (
        '  MA-9: {part_number: "9", pairs: {primary: 13/47}, fits: [{family: dunlin-50}], '
        "geometry: {primary: {normal_module_mm: 1.5, helix_angle_deg: 20}}}\n"
    )
    (found,) = marked(
        _casing("centre_distance_mm: <FC224>84.0") | {"sets/more.yaml": _cut(AT_48) + unknown}
    )
    assert "is 84.0 mm, but 5 of 5 sets are cut for 48.00 mm" in found.message
    assert len(found.related) == 5
    assert found.suggestion == "48"


def test_one_set_beside_the_others_is_still_told_by_itself(marked) -> None:
    strange = _cut((("15/44", 1.5, 20, 0.3),), mark="<FC251>").replace("MA-0", "MA-9")
    marked(
        _casing("centre_distance_mm: <FC224>48.8")
        | {"sets/more.yaml": _cut(AT_48), "sets/strange.yaml": strange.replace('"0"', '"9"')}
    )


def test_two_sets_do_not_outvote_a_casing(marked) -> None:
    marked(
        _casing("centre_distance_mm: 49.0") | {"sets/more.yaml": _cut(AT_48[:2], mark="<FC251>")}
    )


def test_a_distance_a_little_off_is_a_warning_at_the_family(marked) -> None:
    marked(
        _casing("centre_distance_mm: <FC225>48.03") | {"sets/more.yaml": _cut(AT_48)},
    )


def test_the_range_of_one_supplier_does_not_outvote_a_casing_that_others_confirm(marked) -> None:
    theirs = _cut(AT_48[3:]).replace("marram", "reed").replace("MA-0", "RE-0")
    ours = _cut(AT_48[:3], mark="<FC251>")
    other = "kind: supplier\nrecords:\n  reed: {name: Reed}\n"
    at_casing = f"{shift_sum(48.6, 1.375, 24, 63):.6f}"
    files = {"sets/more.yaml": ours, "suppliers/more.yaml": other}
    marked(
        _casing("centre_distance_mm: 48.6")
        | files
        | {"sets/reed.yaml": theirs.replace("0.4442", at_casing)}
    )


def _unshifted(supplier: str = "marram", mark: str = "") -> str:
    text = re.sub(r"\n        profile_shift_sum: [0-9.]+", "", _cut(AT_48)).replace(
        "marram", supplier
    )
    return text.replace("      primary:\n", f"      {mark}primary:\n")


@pytest.mark.parametrize(("distance", "code"), [(50.0, "FC228"), (84.0, "FC224"), (46.2, "FC228")])
def test_sets_without_a_shift_sum_that_would_all_need_an_odd_one(
    marked, distance: float, code: str
) -> None:
    # By ISO 21771 with mpmath the four need 2.28, 1.59, 1.81 and 2.16 at 50.0 mm, over 46 at 84 mm
    # and -0.55, -0.97, -0.85 and -0.80 at 46.2 mm.
    (found,) = marked(
        _casing(f"centre_distance_mm: <{code}>{distance}") | {"sets/more.yaml": _unshifted()}
    )
    assert "4 of 4 sets would need a shift sum" in found.message
    assert len(found.related) == 4


def test_sets_that_need_a_usual_shift_sum_leave_the_casing_alone(marked) -> None:
    marked(_casing("centre_distance_mm: 48.6") | {"sets/more.yaml": _unshifted()})


def test_a_pair_of_a_known_sum_confirms_the_casing_for_those_that_give_none(marked) -> None:
    known = (
        "  MA-9:\n    part_number: n9\n    pairs: {primary: 15/44}\n"
        "    fits: [{family: dunlin-50}]\n    geometry:\n      primary: {normal_module_mm: 1.5, "
        f"helix_angle_deg: 20, profile_shift_sum: {shift_sum(50):.6f}}}\n"
    )
    found = marked(
        _casing("centre_distance_mm: 50.0")
        | {"sets/more.yaml": _unshifted() + known.replace("sum: ", "sum: <FC250>")}
    )
    assert len(found) == 1


def test_a_room_that_most_wheels_do_not_go_into_is_one_finding_at_the_family(marked) -> None:
    wheels = "".join(
        f"""\
  MA-{at}:
    part_number: "{at}"
    pairs: {{primary: 15/{44 + at}}}
    fits: [{{family: dunlin-50, housings: [short]}}]
    geometry:
      primary: {{normal_module_mm: 1.5, helix_angle_deg: 20, driven_tip_diameter_mm: {tip}}}
"""
        for at, tip in enumerate((74.1, 75.5, 75, 73.8))
    )
    room = "short: {name: short case, max_tip_diameter_mm: {primary: <FC227>74}}"
    text = BASE["families/dunlin.yaml"].replace("short: {name: short case}", room)
    (found,) = marked({"families/dunlin.yaml": text, "sets/more.yaml": HEAD + wheels})
    assert found.message.startswith("3 of the 4 sets")
