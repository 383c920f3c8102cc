"""What a plan says of columns, housings and entries it leaves out."""

from __future__ import annotations

from fitcheck.services.price_lists.review import _stage_word
from fitcheck.services.price_lists.wording.teeth import read_teeth

HEAD = "Art. no.;Teeth;Stage\n"


def test_columns_that_are_not_read_are_named(shop):
    plan = shop.plan("Art. no.;Teeth;Stage;qqq;ref2\nA-1;15/44;primary;x;y\n")
    assert any("not read: " in note.text and "'qqq'" in note.text for note in plan.notes)


def test_a_column_known_by_its_cells_is_told(shop):
    plan = shop.plan("Art. no.;qqq;Stage;Price\nA-1;15/44;primary;40\nA-2;15/45;primary;41\n")
    assert any("'qqq' is read as teeth" in note.text for note in plan.notes)


def test_a_choice_offers_each_pair_alone():
    found = read_teeth("15/44 oder 15/45", teeth_column=True)
    assert [[str(each) for each in pairs] for pairs in found.candidates] == [["15/44"], ["15/45"]]


def test_an_answer_may_name_the_stage_in_the_shops_language(shop):
    assert _stage_word("primär", "", shop.catalogue, ()) == "primary"


def test_a_housing_without_a_family_is_told(shop):
    row = shop.row("A-1;pair;15/44;primary;;;short;40.00;yes")
    assert "housing 'short' left out: the row names no family it is of" in row.notes


def test_what_is_gone_does_not_hang_on_the_name_of_the_file(shop):
    first = shop.put("january.csv", HEAD + "A-1;15/44;primary\nA-2;15/45;primary\n")
    shop.write(shop.plan(first))
    plan = shop.plan(shop.put("february.csv", HEAD + "A-1;15/44;primary\n"))
    assert [(each.part_number, each.same_list) for each in plan.gone] == [("A-2", True)]
    assert any("all earlier lists" in note.text for note in plan.notes)
    other = shop.plan(shop.put("other.csv", HEAD + "A-1;15/44;primary\n"), name="Spring list")
    assert not any(each.same_list for each in other.gone)
