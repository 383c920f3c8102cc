"""Sets added by command: what is written is what was said, in its place, and nothing else.

Judges from outside: PyYAML reads what was written, Python's difflib says which lines changed.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from fitcheck.errors import FitcheckError, UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.services.upkeep import NewSet, add_set
from fitcheck.services.upkeep.warnings import FOR_NOTHING

DAY = dt.date(2026, 11, 3)
PAIR = Pair(16, 37)


def new(**changes: Any) -> NewSet:
    said: dict[str, Any] = {
        "supplier": "Arrowgrass",
        "part_number": "12E3",
        "pairs": (PAIR,),
        "stages": ("primary",),
        "date": DAY,
    }
    return NewSet(**{**said, **changes})


def test_a_link_to_itself_keeps_nobody_from_adding(shop) -> None:
    """Path.resolve raises for such a link up to Python 3.12."""
    loop = shop.root / "sets" / "loop.yaml"
    loop.symlink_to(loop)
    shop.file.unlink()
    add_set(shop.catalogue, new(families={"Red Knot": ("Short",)}, evidence="measured")).save()

    assert list(shop.records()) == ["AR-12E3"]


def test_a_set_goes_behind_the_last_of_its_family_and_no_other_line_changes(shop) -> None:
    edited = add_set(
        shop.catalogue,
        new(
            families={"Red Knot": ("Short",)},
            evidence="measured",
            models=("Knot Sport",),
            wheel_size_in=12,
            price=Decimal("64.90"),
            also_needs=("oil, 120 ml",),
            notes="Ask: # first",
            list_name="Autumn list",
        ),
    )
    taken, put = shop.write(edited)

    assert taken == []
    assert edited.record_id == "AG-12E3"
    assert list(shop.records()) == ["AG-1", "AG-2", "AG-12E3", "AG-9"]
    assert shop.records()["AG-12E3"] == {
        "part_number": "12E3",
        "pairs": {"primary": "16/37"},
        "fits": [{"family": "knot-50", "housings": ["short"], "evidence": "measured"}],
        "listed_for": {"models": ["Knot Sport"], "wheel_size_in": "12"},
        "also_needs": ["oil, 120 ml"],
        "price": "64.90",
        "availability": "unknown",
        "source": {"list": "Autumn list", "date": "2026-11-03"},
        "notes": "Ask: # first",
    }
    # A part number that YAML 1.1 takes for a number has to stand in quotes.
    assert any('part_number: "12E3"' in line for line in put)


def test_what_was_not_said_is_not_written(shop) -> None:
    edited = add_set(shop.catalogue, new())
    shop.write(edited)

    assert shop.records()["AG-12E3"] == {
        "part_number": "12E3",
        "pairs": {"primary": "16/37"},
        "availability": "unknown",
        "source": {"date": "2026-11-03"},
    }
    assert any("also needs, as its file says for all: gasket" in note for note in edited.notes)


def test_nothing_is_written_before_it_is_saved_and_the_diff_is_what_is_written(shop) -> None:
    before = shop.file.read_bytes()
    edited = add_set(shop.catalogue, new())
    assert shop.file.read_bytes() == before

    diff = edited.diff().splitlines()
    taken, put = shop.write(edited)
    assert [line[1:] for line in diff if line.startswith("+") and line[:3] != "+++"] == put
    assert [line for line in diff if line.startswith("-") and line[:3] != "---"] == taken == []


@pytest.mark.parametrize("again", [{}, {"date": None}, {"supplier": "arrowgrass"}])
def test_twice_changes_nothing(shop, again: dict[str, Any]) -> None:
    shop.write(add_set(shop.catalogue, new(families={"knot-50": ()}, price=Decimal("64.90"))))
    before = shop.file.read_bytes()

    edited = add_set(shop.catalogue, new(families={"knot-50": ()}, price=Decimal("64.9"), **again))
    assert (edited.changed, edited.record_id, edited.diff()) == (False, "AG-12E3", "")
    assert edited.save() is None
    assert shop.file.read_bytes() == before


def test_a_number_that_is_there_with_other_words_is_told(shop) -> None:
    with pytest.raises(UsageError, match=r"number 2 .* AG-2 already.* secondary 13/47 and not"):
        add_set(shop.catalogue, new(part_number="2-b"))
    with pytest.raises(UsageError, match=r"AG-2 already.*with the same teeth; change what differs"):
        add_set(
            shop.catalogue,
            new(part_number="2", pairs=(Pair(13, 47),), stages=("secondary",), price=Decimal(1)),
        )
    with pytest.raises(UsageError, match="AG-9 already"):
        add_set(shop.catalogue, new(aliases=("9",)))


def test_a_retired_number_leads_on_and_is_given_again_only_with_an_id(shop) -> None:
    text = shop.file.read_text("utf-8")
    shop.file.write_text(text.replace("price: 30", "status: retired\n    successor: AG-1"), "utf-8")
    again = new(part_number="9", pairs=(Pair(12, 49),), stages=("single",))

    with pytest.raises(UsageError, match=r"AG-9 is retired; its successor is AG-1, .* give it an"):
        add_set(shop.catalogue, again)
    edited = add_set(
        shop.catalogue,
        new(part_number="9", pairs=(Pair(12, 49),), stages=("single",), set_id="AG-9-2026"),
    )
    assert edited.loud == ["the number 9 is AG-9's, which is retired"]
    shop.write(edited)
    assert "AG-9-2026" in shop.records()


def test_the_same_teeth_for_the_same_family_are_told_loud(shop) -> None:
    twin = new(part_number="77", pairs=(Pair(15, 38),), families={"knot-50": ("short",)})
    (words,) = add_set(shop.catalogue, twin).loud
    assert "AG-1 of arrowgrass has the same teeth (primary 15/38) for knot-50" in words
    assert "fitcheck edit AG-1 'aliases=77'" in words

    other = new(part_number="78", pairs=(Pair(15, 37),), families={"knot-50": ("short",)})
    assert add_set(shop.catalogue, other).loud == []


def test_numbers_that_a_spreadsheet_makes_one_are_told(shop) -> None:
    # 0009 opened in a spreadsheet is 9: common practice, no source.
    loud = add_set(shop.catalogue, new(part_number="0009")).loud
    assert loud == ["the number 0009 and 9 are one number to a spreadsheet; look at the list again"]


def test_no_family_is_said_to_prove_nothing_and_no_price_to_be_none(shop) -> None:
    edited = add_set(shop.catalogue, new(price=Decimal(0), families={}))
    assert any(
        note.startswith("nobody confirms that it fits a family, so no fit") for note in edited.notes
    )
    assert FOR_NOTHING in edited.loud
    vouched = add_set(shop.catalogue, new(families={"knot-50": ("short",)}))
    assert not any("confirms" in note for note in vouched.notes)


def test_no_housing_is_said_to_stay_open(shop) -> None:
    notes = add_set(shop.catalogue, new(families={"knot-50": ()})).notes
    assert any(
        "no housing of knot-50 is stated" in note and "'short' or 'long'" in note for note in notes
    )


@pytest.mark.parametrize(
    ("pairs", "stages", "family", "held"),
    [
        ((PAIR, Pair(13, 48)), (), None, {"primary": "16/37", "secondary": "13/48"}),
        ((PAIR, Pair(13, 48)), (), "knot-50", {"primary": "16/37", "secondary": "13/48"}),
        ((PAIR,), (), "stint-50", {"single": "16/37"}),
        ((PAIR,), ("secondary",), "knot-50", {"secondary": "16/37"}),
        (
            (PAIR, Pair(13, 48)),
            ("secondary", "primary"),
            None,
            {"primary": "13/48", "secondary": "16/37"},
        ),
    ],
)
def test_stages_are_those_said_or_those_without_a_choice(shop, pairs, stages, family, held) -> None:
    families = {} if family is None else {family: ()}
    edited = add_set(shop.catalogue, new(pairs=pairs, stages=stages, families=families))
    shop.write(edited)
    assert shop.records()["AG-12E3"]["pairs"] == held


def test_a_set_for_several_families_holds_a_claim_for_each(shop) -> None:
    path = shop.root / "families.yaml"
    path.write_text(
        path.read_text("utf-8")
        + "  ruff-50:\n    name: Ruff 50\n    stages: {primary: {}, secondary: {}}\n"
        + "    housings: {wide: {name: wide case}, slim: {name: slim case}}\n",
        "utf-8",
    )
    both = {"Red Knot": ("short", "long", "Short"), "ruff-50": ()}
    edited = add_set(
        shop.catalogue,
        new(families=both, pairs=(PAIR, Pair(13, 48)), stages=(), evidence="measured"),
    )
    unstated = "no housing of ruff-50 is stated, so the fit is not confirmed"
    assert edited.notes == [
        "also needs, as its file says for all: gasket",
        f"{unstated}; the family has 'wide' or 'slim'",
    ]
    shop.write(edited)
    assert shop.records()["AG-12E3"]["pairs"] == {"primary": "16/37", "secondary": "13/48"}
    assert shop.records()["AG-12E3"]["fits"] == [
        {"family": "knot-50", "housings": ["short", "long"], "evidence": "measured"},
        {"family": "ruff-50", "evidence": "measured"},
    ]
    assert list(shop.records()) == ["AG-1", "AG-2", "AG-12E3", "AG-9"]
    turned = {"ruff-50": (), "knot-50": ("long", "short")}
    same = new(families=turned, pairs=(PAIR, Pair(13, 48)), stages=(), evidence="measured")
    assert not add_set(shop.catalogue, same).changed


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stages": ()}, "the stage is not said"),
        ({"stages": (), "families": {"knot-50": ()}}, "primary or secondary of knot-50 as --stage"),
        (
            {"pairs": (PAIR, PAIR), "stages": (), "families": {"stint-50": ()}},
            "the stages of the 2 pairs",
        ),
        (
            {"stages": (), "families": {"stint-50": (), "knot-50": ()}},
            "the stage is not said; give single, primary, secondary or tertiary of stint-50 and",
        ),
        ({"families": {"knot-50": ("short",), "Red Knot": ("long",)}}, "knot-50 is named twice"),
        ({"pairs": ()}, "the teeth are missing"),
        ({"supplier": "arowgrass"}, "did you mean arrowgrass?"),
        ({"families": {"knott-50": ()}}, "did you mean knot-50?"),
        ({"families": {"knot-50": ("longg",)}}, "it has short or long"),
        ({"evidence": "measured"}, "evidence of which family"),
        ({"set_id": "ag-1"}, "the id AG-1 is there already"),
        ({"part_number": "  "}, "blank"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(shop, changes, words: str) -> None:
    before = {path: path.read_bytes() for path in shop.root.rglob("*.yaml")}
    with pytest.raises(UsageError) as refused:
        add_set(shop.catalogue, new(**changes))
    assert words in str(refused.value)
    assert {path: path.read_bytes() for path in shop.root.rglob("*.yaml")} == before


def test_a_new_error_of_the_catalogue_is_refused(shop) -> None:
    # The family has no single stage, so the fit claimed cannot be.
    with pytest.raises(UsageError, match=r"nothing written: there would be an error at .*FC2"):
        add_set(shop.catalogue, new(stages=("single",), families={"knot-50": ("short",)}))


def test_an_error_that_was_there_is_no_hindrance(shop) -> None:
    (shop.root / "shelf.yaml").write_text("kind: shelf\nrecords:\n  AG-404: {quantity: 1}\n")
    assert add_set(shop.catalogue, new()).changed


def test_a_supplier_without_a_file_gets_one(shop) -> None:
    edited = add_set(shop.catalogue, new(supplier="Sea Blush", price=Decimal(20)))
    assert edited.save() is not None

    text = (shop.root / "sets" / "sea-blush.yaml").read_text("utf-8")
    assert text.startswith("# Gear sets of Sea Blush.\n\nkind: gear-set\n")
    entry = shop.catalogue.gear_sets[edited.record_id]
    assert (entry.record.supplier, entry.record.currency) == ("sea-blush", "GBP")
    assert edited.record_id == "SB-12E3"
    assert shop.catalogue.findings == ()


def test_an_id_that_is_taken_is_told(shop) -> None:
    text = shop.file.read_text("utf-8")
    shop.file.write_text(text.replace("  AG-9:", "  AG-12E3:"), "utf-8")
    edited = add_set(shop.catalogue, new())
    assert edited.record_id == "AG-12E3-2"
    assert "the id AG-12E3 is taken; AG-12E3-2 is used" in edited.notes


def test_a_file_that_changed_meanwhile_is_not_written(shop) -> None:
    catalogue = shop.catalogue
    shop.file.write_text(shop.file.read_text("utf-8") + "# by hand\n", "utf-8")
    with pytest.raises(Exception, match="has changed since it was read; nothing written"):
        add_set(catalogue, new())


def test_fields_without_an_option_are_named_as_for_an_edit(shop) -> None:
    more = ("interfaces.wheel_seat=ST-14", "geometry.primary.face_width_mm=14,5", "source.row=7")
    more += ("geometry.primary.normal_module_mm=1.5", "geometry.primary.helix_angle_deg=20")
    edited = add_set(shop.catalogue, new(more=more, list_name="Autumn list"))
    shop.write(edited)
    record = shop.records()[edited.record_id]

    assert record["interfaces"] == {"wheel_seat": "ST-14"}
    assert record["geometry"]["primary"]["face_width_mm"] == "14.5"
    assert record["source"] == {"list": "Autumn list", "row": "7", "date": "2026-11-03"}
    assert not add_set(shop.catalogue, new(more=more, list_name="Autumn list")).changed
    with pytest.raises(UsageError, match="12E3 of arrowgrass is AG-12E3 already"):
        add_set(shop.catalogue, new(more=("source.row=8",)))
    with pytest.raises(UsageError, match="12E3 of arrowgrass is AG-12E3 already"):
        add_set(shop.catalogue, new(more=("geometry.primary.normal_module_mm=99",)))


def test_a_field_named_so_is_judged_as_its_option_is(shop) -> None:
    with pytest.raises(UsageError, match="number 2 of arrowgrass is AG-2 already"):
        add_set(shop.catalogue, new(more=("aliases=2-B",)))
    for more, option in (
        (("price=0",), {"price": Decimal(0)}),
        (("models=Red Knot",), {"models": ("Red Knot",)}),
    ):
        by_name = add_set(shop.catalogue, new(more=more))
        by_option = add_set(shop.catalogue, new(**option))
        assert (by_name.loud, by_name.notes) == (by_option.loud, by_option.notes)
        assert by_name.diff() == by_option.diff()


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("source.date=2026-11-04", "source.date is given twice; give it once"),
        ("part_number=7", "part_number is given twice"),
        ("teeth=15/40", "teeth: give teeth with --teeth"),
        ("id=AG-3", "id: give it with --id"),
        ("supplier=sea-blush", "supplier: give it with --supplier"),
        ("successor=AG-9", "successor: a new set has none; fitcheck retire SET"),
        ("successor=", "successor: a new set has none; fitcheck retire SET"),
        ("fits.knot-50=short", "families with --family"),
        ("notes=", "notes has no value"),
        ("note=x", "did you mean notes"),
        ("geometry.primary.normal_module_mm=99", "at most 10"),
    ],
)
def test_fields_that_cannot_be_given_so_are_refused(shop, word, said) -> None:
    before = shop.file.read_bytes()
    with pytest.raises(FitcheckError, match=said):
        add_set(shop.catalogue, new(more=(word,)))
    assert shop.file.read_bytes() == before
