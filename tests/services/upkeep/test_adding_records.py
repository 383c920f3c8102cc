"""Machines, families and suppliers added by command, and any record changed.

PyYAML reads what was written, and Python's difflib says which lines changed.
"""

from __future__ import annotations

import difflib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitcheck.errors import FitcheckError, UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.model.kinds import KINDS
from fitcheck.services.upkeep import Edited
from fitcheck.services.upkeep.add_records import (
    NewRecord,
    Train,
    add_family,
    add_machine,
    add_supplier,
    read_housings,
)
from fitcheck.services.upkeep.edit import change_record
from fitcheck.services.upkeep.records import find_record, refuse_retiring

COUNTS = (Pair(15, 38), Pair(13, 47))
MACHINES = """\
kind: machine
records:
  # Customers of Knots.
  old-red:
    name: Old Red
    family: knot-50
    housing: short
    pairs: {primary: 15/38, secondary: 13/47}   # counted twice
    masses: {rider_kg: 70}
    notes: Ask first.

  # And one of a Stint.
  green: {name: Green, family: stint-50, pairs: {single: 12/50}}
"""
TUNES = "kind: tune\nrecords:\n  stock: {name: standard engine, low: 10, high: 15}\n"


@pytest.fixture
def own(shop: Any) -> Any:
    """The same shop with two machines and a tune."""
    for name, text in (("machines/all.yaml", MACHINES), ("tunes.yaml", TUNES)):
        path = shop.root / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return shop


def machine(shop: Any, name: str = "Rosa's Ten", **changes: Any) -> Edited:
    said: dict[str, Any] = {"family": "Red Knot", "pairs": COUNTS, "given": {}, "more": ()}
    said |= changes
    new = NewRecord(name, said.pop("given"), said.pop("more"), said.pop("record_id", None))
    return add_machine(shop.catalogue, new, **said)


def written(shop: Any, edited: Edited) -> tuple[str, Any, list[str]]:
    """Save: the file's name, the record as PyYAML reads it, and the lines that were touched."""
    assert edited.draft is not None
    path = Path(edited.draft.path)
    before = path.read_text("utf-8").splitlines() if path.exists() else []
    edited.save()
    text = path.read_text("utf-8")
    lines = list(difflib.ndiff(before, text.splitlines()))
    touched = [line for line in lines if line[0] in "-+" and line[2:].strip()]
    record = yaml.load(text, yaml.CBaseLoader)["records"][edited.record_id]
    return str(path.relative_to(shop.root)), record, touched


def test_a_machine_goes_behind_the_last_of_its_family_and_no_other_line_changes(own) -> None:
    given = {
        "housing": "Short case",
        "wheel_size_in": 10,
        "tune": "standard engine",
        "idler_seats": ["ST-1"],
        "engine.peak_power_kw": Decimal("2.4"),
        "engine.peak_power_rpm": Decimal(6500),
    }
    more = ["masses.rider-kg=80", "notes=Call first: # 12"]
    edited = machine(own, given=given, more=more, tyre="3.50-10")
    name, record, touched = written(own, edited)
    assert name == "machines/all.yaml"
    assert record == {
        "name": "Rosa's Ten",
        "family": "knot-50",
        "housing": "short",
        "pairs": {"primary": "15/38", "secondary": "13/47"},
        "idler_seats": ["ST-1"],
        "wheel_size_in": "10",
        "tyre_size": "3.50-10",
        "tune": "stock",
        "engine": {"peak_power_kw": "2.4", "peak_power_rpm": "6500"},
        "masses": {"rider_kg": "80"},
        "notes": "Call first: # 12",
    }
    assert all(line.startswith("+ ") for line in touched)
    assert list(own.catalogue.machines) == ["old-red", "rosas-ten", "green"]
    again = machine(own, given=given, more=more, tyre="3.50-10")
    assert (again.changed, again.record_id) == (False, "rosas-ten")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"family": None}, "--family is missing; there is knot-50 or stint-50"),
        ({"family": "knott"}, "no engine family 'knott'; did you mean knot-50?"),
        ({"pairs": COUNTS[:1]}, r"knot-50 has 2 stages \(primary, secondary\), counted 1"),
        ({"given": {"housing": "mid"}}, "housing: knot-50 has no housing 'mid'"),
        ({"given": {"tune": "stok"}}, "tune: no tune 'stok'; did you mean stock"),
        ({"tyre": "big"}, "no tyre 'big'"),
        ({"name": " "}, "the name is blank"),
        ({"name": "!"}, "makes no id; give a machine one with --id"),
        (
            {"name": "Old Red", "more": ["notes=x"]},
            "there is a machine old-red already, at .*: fitcheck edit old-red",
        ),
        ({"record_id": "1x"}, "'1x' is no id: a letter, then"),
        ({"more": ["whel=10"]}, "a machine has no field 'whel'; did you mean wheel"),
        ({"more": ["masses.rider_kg=1"]}, "rider_kg"),
        ({"more": ["tune="]}, "tune has no value"),
        ({"more": ["family=knot-50"]}, "family is given twice"),
        ({"more": ["points=3"]}, "a machine has no field 'points'"),
        ({"more": ["engine.points=3"]}, "engine.points is more than one value"),
    ],
)
def test_what_no_machine_can_be_is_refused_in_a_line(
    changes: dict[str, Any], said: str, own
) -> None:
    before = (own.root / "machines" / "all.yaml").read_bytes()
    with pytest.raises(FitcheckError, match=said) as error:
        machine(own, **changes)
    assert "\n" not in str(error.value)
    assert (own.root / "machines" / "all.yaml").read_bytes() == before


def test_counts_without_a_family_name_the_families_that_have_them(shop) -> None:
    trains = [Train((Pair(14, 45), Pair(13, 48)), 10)]
    add_family(
        shop.catalogue, NewRecord("Ruff 50", {}), housings=read_housings("one"), trains=trains
    ).save()
    with pytest.raises(UsageError, match="with these counts there is ruff-50"):
        machine(shop, family=None, pairs=trains[0].pairs)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("short, long", {"short": "short", "long": "long"}),
        ("s=short case,Große Box", {"s": "short case", "grosse-box": "Große Box"}),
    ],
)
def test_housings_in_words(text: str, found: dict[str, str]) -> None:
    assert read_housings(text) == found


@pytest.mark.parametrize("text", ["short, short", "=x", "s=", "12"])
def test_words_that_name_no_housing(text: str) -> None:
    with pytest.raises(UsageError, match="housing"):
        read_housings(text)


def test_a_family_holds_what_was_said_and_nothing_else(shop) -> None:
    edited = add_family(
        shop.catalogue,
        NewRecord("Ruff 50", {"aliases": ["Reeve"], "displacement_cm3": Decimal(49)}),
        housings=read_housings("s=short case, long"),
        trains=[Train((Pair(14, 45), Pair(13, 48)), 10, "short case")],
        distances=[None, Decimal("52.5")],
    )
    name, record, _ = written(shop, edited)
    assert name == "families.yaml"  # which holds several families
    assert record == {
        "name": "Ruff 50",
        "aliases": ["Reeve"],
        "displacement_cm3": "49",
        "housings": {"s": {"name": "short case"}, "long": {"name": "long"}},
        "stages": {"primary": {}, "secondary": {"centre_distance_mm": "52.5"}},
        "factory_trains": [
            {
                "housing": "s",
                "wheel_size_in": "10",
                "pairs": {"primary": "14/45", "secondary": "13/48"},
            }
        ],
    }


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"housings": {}}, "at least one housing"),
        ({"trains": [], "stages": None}, "how many stages"),
        ({"stages": 1}, "do not agree"),
        ({"distances": [Decimal(1)] * 3}, "do not agree"),
        ({"housings": read_housings("a,b")}, "is not said; it has a or b"),
        ({"distances": [Decimal(-1)]}, "centre_distance_mm"),
    ],
)
def test_what_no_family_can_be_is_refused(changes: dict[str, Any], said: str, shop) -> None:
    given: dict[str, Any] = {
        "housings": read_housings("one"),
        "trains": [Train((Pair(14, 45), Pair(13, 48)), 10)],
    }
    with pytest.raises(FitcheckError, match=said):
        add_family(shop.catalogue, NewRecord("Ruff", {}), **(given | changes))


def test_a_supplier_has_the_usual_currency_and_a_file_beside_the_others(shop) -> None:
    edited = add_supplier(shop.catalogue, NewRecord("Sea Aster", {}, ["discount_percent=30"]))
    name, record, touched = written(shop, edited)
    assert name == "suppliers.yaml"
    assert record == {"name": "Sea Aster", "currency": "EUR", "discount_percent": "30"}
    assert len(touched) == 4 or len(touched) == 1


def test_a_first_record_makes_its_folder_with_a_comment(shop) -> None:
    edited = machine(shop)
    name, _, _ = written(shop, edited)
    assert name == "machines/knot-50.yaml"
    text = (shop.root / name).read_text("utf-8")
    assert text.startswith("# Knot 50 machines that came to the counter.\n\nkind: machine\n")
    # The next of the family goes there; one of another family has a file of its own.
    assert written(shop, machine(shop, "Two"))[0] == name
    other = machine(shop, "Three", family="stint-50", pairs=(Pair(12, 50),))
    assert written(shop, other)[0] == "machines/stint-50.yaml"


# -- any record changed ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "words", "field", "value"),
    [
        ("Old Red", ["teeth=16/37,13/47"], "pairs", {"primary": "16/37", "secondary": "13/47"}),
        ("old-red", ["pairs.primary=16/37"], "pairs", {"primary": "16/37", "secondary": "13/47"}),
        ("old-red", ["housing=Long case"], "housing", "long"),
        ("old-red", ["wheel=10"], "wheel_size_in", "10"),
        ("old-red", ["tune=standard engine"], "tune", "stock"),
        ("old-red", ["masses.rider_kg="], "masses", None),
        ("old-red", ["idler-seats=ST-1"], "idler_seats", ["ST-1"]),
        ("knot-50", ["housings.long.name=long box"], "housings", None),
        ("knot-50", ["bands.stock.high=13"], "bands", {"stock": {"high": "13"}}),
        ("Sea Blush", ["currency=eur"], "currency", "EUR"),
        (
            "arrowgrass",
            ["list_mapping.stage_words.1. Gang=primary"],
            "list_mapping",
            {"stage_words": {"1. Gang": "primary"}},
        ),
        ("stock", ["stretch=17"], "stretch", "17"),
        ("AG-9", ["price=31"], "price", "31"),
    ],
)
def test_a_field_of_any_record_is_changed_and_no_other_line(
    name: str, words: list[str], field: str, value: Any, own
) -> None:
    entry = find_record(own.catalogue, name)
    edited = change_record(own.catalogue, entry, words)
    _, record, touched = written(own, edited)
    if value is not None:
        assert record.get(field) == value
    elif field == "masses":
        assert field not in record
    else:
        assert record[field] == {"short": {"name": "short case"}, "long": {"name": "long box"}}
    assert 1 <= len(touched) <= 3
    fresh = find_record(own.catalogue, name if entry.kind != "machine" else entry.id)
    assert not change_record(own.catalogue, fresh, words).changed


@pytest.mark.parametrize(
    ("name", "words", "said"),
    [
        ("old-red", [], "nothing to change of old-red; give field=value"),
        ("old-red", ["housing=mid"], "housing: knot-50 has no housing 'mid'"),
        ("old-red", ["family=stint-50"], "nothing written: there would be an error"),
        ("old-red", ["teeth=15/38"], "old-red holds 2 pairs"),
        ("old-red", ["teeth="], "old-red has teeth"),
        ("old-red", ["teeth=15/38,13/47", "pairs.primary=15/38"], "both say teeth"),
        ("old-red", ["notes=a", "notes=b"], "notes is given twice"),
        ("knot-50", ["bands.race.high=13"], "there is no tune race"),
        ("knot-50", ["factory_trains=1"], "factory_trains is more than one value; change it in"),
        ("stock", ["low=20"], "are they swapped"),
        ("stock", ["lo=20"], "a state of tune has no field 'lo'; did you mean low"),
    ],
)
def test_what_a_record_cannot_be_changed_to(name: str, words: list[str], said: str, own) -> None:
    with pytest.raises(FitcheckError, match=said):
        change_record(own.catalogue, find_record(own.catalogue, name), words)


@pytest.mark.parametrize(
    ("name", "kind", "found"),
    [
        ("green", None, "machine"),
        ("2-B", None, "gear-set"),
        ("Red Knot", None, "family"),
        ("knot-50", "family", "family"),
        ("standard engine", None, "tune"),
    ],
)
def test_a_record_is_found_by_what_people_call_it(name, kind, found, own) -> None:
    assert find_record(own.catalogue, name, kind).kind == found


def test_a_name_of_several_kinds_or_of_none_is_refused(own) -> None:
    edited = add_supplier(own.catalogue, NewRecord("Green", {}))
    edited.save()
    with pytest.raises(UsageError, match="is a machine or a supplier; say --kind machine"):
        find_record(own.catalogue, "green")
    assert find_record(own.catalogue, "green", "supplier").kind == "supplier"
    with pytest.raises(UsageError, match="no record 'arrowgras'; did you mean arrowgrass"):
        find_record(own.catalogue, "arrowgras")
    with pytest.raises(UsageError, match="no gear set 'zzz'"):
        find_record(own.catalogue, "zzz")


def test_a_name_of_several_records_of_a_kind_is_not_taken_for_another(own) -> None:
    """Two machines of one name; also where a supplier alone of its kind is called so."""
    machine(own).save()
    machine(own, record_id="rosas-other").save()
    for _ in range(2):
        with pytest.raises(UsageError, match="may be rosas-ten or rosas-other; name one"):
            find_record(own.catalogue, "Rosa's Ten")
        add_supplier(own.catalogue, NewRecord("Rosa's Ten", {}, record_id="rosa")).save()
    assert find_record(own.catalogue, "Rosa's Ten", "supplier").id == "rosa"


def test_what_cannot_be_retired_says_what_to_do_instead(own) -> None:
    catalogue = own.catalogue
    named = str(refuse_retiring(catalogue, catalogue.families["stint-50"]))
    # One gear set and one machine are for it.
    assert "2 places name it, so keep it: fitcheck edit stint-50 'notes=...'" in named
    change_record(catalogue, catalogue.machines["green"], ["tune=stock"]).save()
    catalogue = own.catalogue  # the only tune there is
    assert "; one place names it" in str(refuse_retiring(catalogue, catalogue.tunes["stock"]))
    alone = str(refuse_retiring(catalogue, catalogue.machines["green"]))
    assert "nothing names it: take it out by hand at " in alone
    assert "all.yaml:13:3" in alone


def test_every_field_of_every_kind_is_named_or_holds_several_values() -> None:
    from fitcheck.services.upkeep.record_fields import fields_of

    several = {"factory_trains", "fits"}
    for kind, model in KINDS.items():
        named = {name.partition(".")[0] for name in fields_of(kind)}
        assert set(model.model_fields) - named <= several, kind
