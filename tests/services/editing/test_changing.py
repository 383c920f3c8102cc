"""Fields changed by command: one line each, in their style, and what is loud is said loud.

Judges from outside: PyYAML reads what was written, Python's difflib says which lines changed; the
figures of a change of teeth are worked out by hand in the test.
"""

from __future__ import annotations

import pytest

from fitcheck.errors import FitcheckError, UsageError
from fitcheck.model.gear_set import GearSet, PairGeometry, SetInterfaces, SetSource
from fitcheck.services.editing import change_set
from fitcheck.services.editing.set_fields import NAMES


@pytest.mark.parametrize(
    ("words", "taken", "put"),
    [
        (["price=52.50"], ["    price: 49.9"], ["    price: 52.50"]),
        (["price=52,50"], ["    price: 49.9"], ["    price: 52.50"]),
        (["notes=No hurry: #1"], ["    notes: 'Ask first.'"], ["    notes: 'No hurry: #1'"]),
        (["availability=to-order"], [], ["    availability: to-order"]),
        (
            ["housings=short,long"],
            ["      - {family: knot-50, housings: [short]}   # since spring"],
            ["      - {family: knot-50, housings: [short, long]}   # since spring"],
        ),
        (["aliases=2-B; 2 C"], ["    aliases: [2-B]"], ["    aliases: [2-B, 2 C]"]),
        (["notes="], ["    notes: 'Ask first.'"], []),
        (["aliases="], ["    aliases: [2-B]"], []),
        (["interfaces.wheel_seat=ST-14"], [], ["    interfaces: {wheel_seat: ST-14}"]),
        (
            ["wheel=12", "models=Knot Sport"],
            [],
            ["    listed_for:", "      models: [Knot Sport]", "      wheel_size_in: 12"],
        ),
        (["also_needs="], [], ["    also_needs: []"]),
        (["source.row=7"], [], ["    source: {list: Spring list, row: 7, date: 2026-03-02}"]),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_only_what_is_meant_changes(shop, words, taken, put) -> None:
    edited = change_set(shop.catalogue, "2", words)
    assert shop.write(edited) == (taken, put)
    again = change_set(shop.catalogue, "AG-2", words)
    assert (again.changed, again.diff()) == (False, "")
    assert shop.catalogue.findings == ()


def test_saying_the_same_changes_nothing(shop) -> None:
    before = shop.file.read_bytes()
    words = ["price=49.90", "teeth=13:47", "housings=short", "availability=in-stock", "wheel="]
    words += ["notes=Ask first."]
    edited = change_set(shop.catalogue, "AG-2", words[:3] + words[4:])
    assert (edited.changed, edited.save(), edited.loud) == (False, None, [])
    assert shop.file.read_bytes() == before


def test_other_teeth_are_loud(shop) -> None:
    edited = change_set(shop.catalogue, "AG-2", ["teeth=14/47"])
    # By hand: 47/13 = 3.615, 47/14 = 3.357, and 14/13 = 1.0769.
    assert edited.loud == [
        "OTHER TEETH: secondary 13/47 becomes 14/47; count them on the part",
        "of AG-2: reduction 3.615 to 3.357, road speed +7.7 %",
        "3 on the shelf are taken for the new teeth from now on",
    ]
    assert shop.write(edited) == (
        ["    pairs: {secondary: 13/47}"],
        ["    pairs: {secondary: 14/47}"],
    )


def test_teeth_with_geometry_and_counts_of_the_shop_say_so(shop) -> None:
    geometry = "geometry.single.normal_module_mm=1.5"
    shop.write(
        change_set(
            shop.catalogue,
            "AG-9",
            [geometry, "geometry.single.helix_angle_deg=0", "measured=pairs"],
        )
    )
    assert shop.records()["AG-9"]["geometry"] == {
        "single": {"normal_module_mm": "1.5", "helix_angle_deg": "0"}
    }
    loud = change_set(shop.catalogue, "AG-9", ["teeth.single=12/51"]).loud
    assert "the geometry of single was of the old teeth; look it over" in loud
    assert "the old teeth were counted in the shop (measured: pairs)" in loud


def test_a_price_that_jumps_and_another_number_are_loud(shop) -> None:
    assert change_set(shop.catalogue, "AG-2", ["price=99.80"]).loud == [
        "the price was 49.9, and is 99.80 now"
    ]
    assert change_set(shop.catalogue, "AG-2", ["price=99.79"]).loud == []
    assert change_set(shop.catalogue, "AG-2", ["part_number=22"]).loud == [
        "AG-2 was number 2, and is 22 now"
    ]


def test_a_number_of_another_set_is_refused(shop) -> None:
    with pytest.raises(UsageError, match=r"nothing written: there would be an error.*FC213"):
        change_set(shop.catalogue, "AG-2", ["part_number=1"])


def test_claims_by_family(shop) -> None:
    shop.write(change_set(shop.catalogue, "AG-1", ["fits.knot-50=long", "evidence=measured"]))
    assert shop.records()["AG-1"]["fits"] == [
        {"family": "knot-50", "housings": ["long"], "evidence": "measured"}
    ]
    shop.write(change_set(shop.catalogue, "AG-1", ["fits.Red Knot="]))
    assert "fits" not in shop.records()["AG-1"]
    shop.write(change_set(shop.catalogue, "AG-1", ["fits.knot-50=short"]))
    assert shop.records()["AG-1"]["fits"] == [{"family": "knot-50", "housings": ["short"]}]


def test_a_retired_set_is_brought_back_loud(shop) -> None:
    text = shop.file.read_text("utf-8")
    shop.file.write_text(text.replace("price: 30", "status: retired"), "utf-8")
    edited = change_set(shop.catalogue, "AG-9", ["status=active"])
    assert edited.loud == ["AG-9 was retired, and is matched again from now on"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["geometry.single.normal_module_mm=99"], "at most 10"),
        (["teeth.primary="], "pairs is missing"),
        (["members.primary=driven"], "stage the set does not hold"),
        (["measured=paris"], "paris"),
        (["currency=euro"], "FC111"),
    ],
)
def test_what_the_record_cannot_hold_is_refused(shop, words, said) -> None:
    before = shop.file.read_bytes()
    name = "AG-1" if words[0].startswith("teeth") else "AG-9"
    with pytest.raises(FitcheckError) as refused:
        change_set(shop.catalogue, name, words)
    assert said in str(refused.value)
    assert shop.file.read_bytes() == before


def test_every_field_of_a_set_can_be_named_or_is_refused_with_a_word(shop) -> None:
    named = {name.partition(".")[0] for name in NAMES}
    short = {"pairs": "teeth", "listed_for": "models"}
    other = {"supplier", "successor"}
    for field in GearSet.model_fields:
        assert short.get(field, field) in named | other, field
    for field in other:
        with pytest.raises(UsageError, match=f"{field} is not set by edit"):
            change_set(shop.catalogue, "AG-1", [f"{field}=x"])
    for top, model in (
        ("geometry.primary", PairGeometry),
        ("interfaces", SetInterfaces),
        ("source", SetSource),
    ):
        assert {f"{top}.{field}" for field in model.model_fields} <= set(NAMES)
