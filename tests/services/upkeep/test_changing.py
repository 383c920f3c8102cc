"""Fields changed by command: one line each, in their style, and what is loud is said loud.

Judges from outside: PyYAML reads what was written, Python's difflib says which lines changed; the
figures of a change of teeth are worked out by hand in the test.
"""

from __future__ import annotations

import datetime as dt
import os
import shutil
from decimal import Decimal
from typing import Literal

import pytest

from fitcheck.catalogue.locate import demo_folder
from fitcheck.catalogue.reader import load
from fitcheck.errors import FitcheckError, UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Date, Id, Lines, Millimetres, Money, Record, Stage, Teeth, Text
from fitcheck.model.gear_set import GearSet, PairGeometry, SetInterfaces, SetSource
from fitcheck.rules.checks import check
from fitcheck.services.upkeep import change_set
from fitcheck.services.upkeep.record_fields import read_fields
from fitcheck.services.upkeep.set_fields import NAMES, read_assignments
from fitcheck.services.upkeep.warnings import FOR_NOTHING, change_words


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


@pytest.mark.parametrize("name", ["a\u00a0b", "line\nbreak", "byte\udce9"])
def test_folders_whose_names_cannot_be_shown_are_written_too(shop, name) -> None:
    if os.name == "nt":
        pytest.skip("no such names there")
    root = shop.root.with_name(name)
    shutil.copytree(shop.root, root)
    edited = change_set(load(root), "AG-2", ["price=50"])
    shown = edited.save()
    assert shown is not None
    assert shown.isprintable()
    assert load(root).gear_sets["AG-2"].record.price == 50


def test_saying_the_same_changes_nothing(shop) -> None:
    before = shop.file.read_bytes()
    words = ["price=49.90", "teeth=13:47", "housings=short", "availability=in-stock", "wheel="]
    words += ["notes=Ask first.", "also_needs=gasket", "source.list=Spring list", "currency="]
    edited = change_set(shop.catalogue, "AG-2", words)
    assert (edited.changed, edited.save(), edited.loud) == (False, None, [])
    assert shop.file.read_bytes() == before


@pytest.mark.parametrize(
    ("word", "where"),
    [("availability=to-order", "6:3"), ("also_needs=gasket;oil", "5:3"), ("source.row=4", "4:3")],
)
def test_what_the_file_says_for_all_becomes_the_sets_own_with_a_word(shop, word, where) -> None:
    field = word.partition("=")[0].partition(".")[0]
    edited = change_set(shop.catalogue, "AG-2", [word])
    (note,) = edited.notes
    assert note.startswith(f"{field} stood under defaults at ")
    assert f"arrowgrass.yaml:{where}, for every set of the file; AG-2 has its own" in note
    before = shop.catalogue.gear_sets["AG-9"].record
    shop.write(edited)
    assert shop.catalogue.gear_sets["AG-9"].record == before
    assert field in shop.records()["AG-2"]
    assert change_set(shop.catalogue, "AG-2", ["notes=now"]).notes == []


def test_what_only_the_file_says_cannot_be_left_open(shop) -> None:
    text = shop.file.read_text("utf-8")
    shop.file.write_text(text.replace("  also_needs", "  currency: GBP\n  also_needs"), "utf-8")
    with pytest.raises(UsageError, match="currency of AG-2 comes from the file's defaults; give"):
        change_set(shop.catalogue, "AG-2", ["currency="])


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


@pytest.mark.parametrize(
    ("teeth", "told"),
    [
        # By hand: (61/120) / (60/118) = 7198/7200 = 0.99972, and its inverse; 15/40 is 30/80.
        ((Pair(60, 118), Pair(61, 120)), "reduction 1.967 to 1.967, road speed -0.03 %"),
        ((Pair(61, 120), Pair(60, 118)), "reduction 1.967 to 1.967, road speed +0.03 %"),
        ((Pair(15, 40), Pair(30, 80)), "reduction 2.667 to 2.667, road speed +0.0 %"),
    ],
)
def test_a_small_change_of_road_speed_is_not_told_as_none(teeth, told) -> None:
    old, new = teeth
    assert change_words({"single": old}, {"single": new}) == told


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
    assert change_set(shop.catalogue, "AG-2", ["price=0"]).loud == [
        "the price was 49.9, and is 0 now",
        FOR_NOTHING,
    ]
    assert change_set(shop.catalogue, "AG-2", ["price="]).loud == [
        "the price was 49.9, and is not known from now on"
    ]
    assert change_set(shop.catalogue, "AG-2", ["part_number=22"]).loud == [
        "AG-2 was number 2, and is 22 now"
    ]


def test_a_list_price_that_the_shop_overrides_is_loud(shop) -> None:
    shelf = shop.root / "shelf.yaml"
    shelf.write_text(shelf.read_text("utf-8").replace("quantity: 3", "quantity: 3, price: 55.5"))
    assert change_set(shop.catalogue, "AG-2", ["price=52"]).loud == [
        "the shop still asks its own price of 55.5; fitcheck shelf price changes that"
    ]
    assert change_set(shop.catalogue, "AG-2", ["price=55.5"]).loud == []


def test_amounts_that_mean_another_sum_in_another_currency_are_loud(shop) -> None:
    shelf = shop.root / "shelf.yaml"
    shelf.write_text(shelf.read_text("utf-8").replace("quantity: 3", "quantity: 3, cost: 31.50"))
    assert change_set(shop.catalogue, "AG-2", ["currency=gbp"]).loud == [
        (
            "the currency was EUR, and is GBP now; the price of 49.9 and the shelf's cost of "
            "31.50 count as GBP from now on"
        )
    ]
    assert change_set(shop.catalogue, "AG-9", ["currency=GBP", "price=26"]).loud == [
        "the currency was EUR, and is GBP now"
    ]
    assert change_set(shop.catalogue, "AG-9", ["currency=GBP", "price=260"]).loud == [
        "the currency was EUR, and is GBP now"  # two currencies are not compared: no jump
    ]
    assert change_set(shop.catalogue, "AG-9", ["currency=EUR"]).loud == []


def test_a_currency_taken_out_leaves_the_suppliers(shop) -> None:
    suppliers = shop.root / "suppliers.yaml"
    text = suppliers.read_text("utf-8")
    suppliers.write_text(text.replace("name: Arrowgrass", "name: Arrowgrass, currency: CHF"))
    assert shop.catalogue.gear_sets["AG-9"].record.currency == "CHF"
    shop.write(change_set(shop.catalogue, "AG-9", ["currency=GBP"]))
    assert shop.catalogue.gear_sets["AG-9"].record.currency == "GBP"
    assert (
        change_set(shop.catalogue, "AG-9", ["currency="])
        .loud[0]
        .startswith("the currency was GBP, and is CHF now")
    )


@pytest.mark.parametrize("text", ["1.234", "1,234", "12,500"])
def test_a_mark_that_may_part_thousands_is_not_guessed(shop, text) -> None:
    with pytest.raises(UsageError, match=f"price: {text} may mean -?[0-9]+ or -?[0-9.]+"):
        change_set(shop.catalogue, "AG-2", [f"price={text}"])


@pytest.mark.parametrize("text", ["1,234", "-1,250", "12,500"])
def test_a_comma_that_may_part_thousands_is_asked_of_a_measure_too(shop, text) -> None:
    with pytest.raises(UsageError, match=f"{text} may mean -?[0-9]+ or -?[0-9.]+; write"):
        change_set(shop.catalogue, "AG-9", [f"geometry.single.profile_shift_sum={text}"])


@pytest.mark.parametrize(
    ("text", "read"), [("1,5", "1.5"), ("0,125", "0.125"), ("1.375", "1.375"), ("1.250", "1.250")]
)
def test_a_measure_that_can_be_read_in_one_way_is_read(text, read) -> None:
    (each,) = read_assignments([f"geometry.single.normal_module_mm={text}"])
    assert str(each.value) == read


PRICES = """\
kind: gear-set
defaults: {supplier: arrowgrass}
records:
""" + "".join(
    f"  P-{n}: {{part_number: P{n}, pairs: {{primary: {n}/50}}, price: {40 + n}}}\n"
    for n in range(12, 22)
)


def test_a_warning_that_was_there_before_is_not_repeated_with_another_figure(shop) -> None:
    odd = "  ODD: {part_number: ODD, pairs: {primary: 13/51}, price: 640}\n"
    (shop.root / "sets" / "prices.yaml").write_text(PRICES + odd, encoding="utf-8")
    catalogue = shop.catalogue
    (before,) = [each for each in check(catalogue) if each.code == "FC261"]
    assert before.record == "ODD"
    for word in ("price=", "price=70"):
        edited = change_set(catalogue, "P-12", [word])
        edited.save()
        (after,) = [each for each in check(shop.catalogue) if each.code == "FC261"]
        assert after.record == "ODD"
        assert after.message != before.message
        assert not any("FC261" in note for note in edited.notes)
        (shop.root / "sets" / "prices.yaml").write_text(PRICES + odd, encoding="utf-8")
    assert any("FC261" in note for note in change_set(catalogue, "ODD", ["price=660"]).notes)
    assert any("FC261" in note for note in change_set(catalogue, "P-12", ["price=990"]).notes)


def test_a_warning_of_another_set_that_comes_to_name_this_one_is_reported() -> None:
    catalogue = load(demo_folder())
    (known,) = [
        each
        for each in check(catalogue)
        if each.code == "FC260" and "dunlin-50" in each.message and "GW-20-108" not in each.message
    ]
    assert known.record not in (None, "GW-20-108")
    (note,) = [
        note
        for note in change_set(catalogue, "GW-20-108", ["interfaces.wheel_seat=SG-15"]).notes
        if "FC260" in note
    ]
    assert "GW-20-108" in note
    assert not any(
        "FC260" in note for note in change_set(catalogue, "GW-20-103", ["price=9"]).notes
    )


@pytest.mark.parametrize(
    ("words", "both"),
    [
        (["teeth=13/48", "teeth.secondary=13/49"], "teeth and teeth.secondary both say teeth"),
        (["housings=short", "fits.Red Knot=long"], "housings and fits.Red Knot both speak of"),
        (["fits.knot-50=short", "fits.Knot 50=long"], "fits.knot-50 and fits.Knot 50 both speak"),
        (["evidence=measured", "fits.knot-50="], "evidence and fits.knot-50 both speak of"),
    ],
)
def test_two_words_for_one_thing_are_refused(shop, words, both) -> None:
    for order in (words, words[::-1]):
        with pytest.raises(UsageError, match="both"):
            change_set(shop.catalogue, "AG-2", order)
    with pytest.raises(UsageError, match=both):
        change_set(shop.catalogue, "AG-2", words)
    assert change_set(shop.catalogue, "AG-2", ["evidence=measured", "housings=long"]).changed


def test_marks_alone_are_no_list(shop) -> None:
    assert "aliases" not in dict(change_set_record(shop, "aliases=;;"))
    assert change_set_record(shop, "aliases=b; b;c")["aliases"] == ["b", "c"]
    with pytest.raises(UsageError, match="',' names no housing; leave it empty to take out"):
        change_set(shop.catalogue, "AG-2", ["fits.knot-50=,"])


def change_set_record(shop, word):
    draft = change_set(shop.catalogue, "AG-2", [word]).draft
    assert draft is not None
    return draft.record("AG-2")


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
    for word in ("status=active", "status="):
        edited = change_set(shop.catalogue, "AG-9", [word])
        assert edited.loud == ["AG-9 was retired, and is matched again from now on"]
        assert edited.notes == []


def test_a_set_brought_back_leads_nowhere_once_its_successor_is_taken_out(shop) -> None:
    text = shop.file.read_text("utf-8")
    shop.file.write_text(text.replace("price: 30", "status: retired\n    successor: AG-1"), "utf-8")
    edited = change_set(shop.catalogue, "AG-9", ["status=", "successor="])
    assert edited.loud == ["AG-9 was retired, and is matched again from now on"]
    assert edited.notes == []
    assert (
        change_set(shop.catalogue, "AG-9", ["status="])
        .notes[0]
        .startswith("AG-9 is superseded; its successor is AG-1")
    )
    shop.write(edited)
    record = shop.catalogue.gear_sets["AG-9"].record
    assert (record.status, record.successor) == ("active", None)


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


class Inner(Record):
    """Fields that stand inside another."""

    width_mm: Millimetres | None = None
    since: Date | None = None


class Newcomer(Record):
    """A model with a field of each kind that a gear set may come to have."""

    code: Text
    remark: Lines | None
    asked: Money | None
    pieces: int
    sealed: bool
    hand: Literal["left", "right"] | None
    words: list[Text]
    rivals: list[Id]
    inner: Inner
    by_stage: dict[Stage, Inner]
    counts: dict[Stage, Teeth]
    either: Text | int | None
    several: list[Inner]


def test_a_new_field_is_named_and_read_as_its_model_says() -> None:
    read = {".".join(path): reader for path, reader in read_fields(Newcomer)}
    said = {
        "code": ("a-1", "a-1"),
        "remark": ("two\nlines", "two\nlines"),
        "asked": ("12,50", Decimal("12.50")),
        "pieces": ("3", 3),
        "sealed": ("yes", True),
        "hand": ("left", "left"),
        "words": ("a, b; c", ["a, b", "c"]),
        "rivals": ("a, b; c", ["a", "b", "c"]),
        "inner.width_mm": ("14,5", Decimal("14.5")),
        "inner.since": ("2026-03-02", dt.date(2026, 3, 2)),
        "by_stage.single.width_mm": ("9", Decimal(9)),
        "counts.primary": ("15/40", Pair(15, 40)),
    }
    assert {name: read[name](text) for name, (text, _) in said.items()} == {
        name: value for name, (_, value) in said.items()
    }
    assert (
        len(read) == 10 + 2 * 4 + 4
    )  # neither what may be one or the other, nor a list of records
    for name, text in (("code", "two\nlines"), ("hand", "up"), ("pieces", "1.5"), ("sealed", "1")):
        with pytest.raises(UsageError):
            read[name](text)
