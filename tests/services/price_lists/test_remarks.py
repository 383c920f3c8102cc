"""What looks wrong is told on the row; an older list changes nothing unasked."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest

from fitcheck.services.price_lists.plan import plan_list
from tests.services.price_lists.conftest import HEAD as FULL_HEAD

HEAD = "Art. no.;Text;Teeth;Stage;Price\n"


def _of_day(shop, text, day, answers=None):
    catalogue = shop.catalogue
    supplier = catalogue.suppliers["arrowgrass"]
    return plan_list(catalogue, shop.read(text), supplier, date=day, answers=answers)


def test_an_older_list_is_loud_and_changes_go_to_review(shop):
    shop.write(_of_day(shop, HEAD + "A-1;pair;15/44;primary;40.00\n", dt.date(2026, 5, 1)))
    old = HEAD + "A-1;pair;15/44;primary;39.00\n"
    plan = _of_day(shop, old, dt.date(2026, 2, 1))
    assert any("OLDER LIST" in note.text for note in plan.notes)
    (key,) = plan.questions
    assert "older than the entry" in plan.questions[key].text
    assert not plan.of("changed")
    kept = _of_day(shop, old, dt.date(2026, 2, 1), {key: "catalogue"})
    assert kept.counts["unchanged"] == 1
    taken = _of_day(shop, old, dt.date(2026, 2, 1), {key: "list"})
    assert taken.counts["changed"] == 1
    assert _of_day(shop, old, dt.date(2026, 6, 1)).counts["changed"] == 1


@pytest.mark.parametrize(
    ("teeth", "stage", "asks"),
    [
        ("16/24", "primary", "teeth"),  # a swapped digit
        ("15/84", "primary", "teeth"),
        ("14/45", "primary", ""),
        ("17/42", "primary", ""),
        ("13/48", "secondary", ""),
        ("14/55 + 15/46", "primary and secondary", "stage"),
        ("15/46 + 14/55", "secondary and primary", "stage"),
        ("15/46 + 14/55", "primary and secondary", ""),
        ("14/48 + 15/50", "primary and secondary", ""),
    ],
)
def test_swapped_digits_and_stages_are_asked(shop, teeth, stage, asks):
    line = f"A-1;set;{teeth};{stage};Dunlin Ten;;;40.00;yes"
    row = shop.row(line)
    assert [key.split(" of ")[0] for key in row.questions] == ([asks] if asks else [])
    if asks == "stage":
        answer = "secondary, primary" if "14/55 +" in teeth else "primary, secondary"
        row = shop.row(line, answers={row.questions[0]: answer})
        pairs = {stage: str(pair) for stage, pair in row.fields["pairs"].items()}
        assert pairs == {"primary": "15/46", "secondary": "14/55"}


def test_a_pair_that_no_train_of_the_family_could_hold_is_asked(shop):
    line = "A-1;pair;15/144;primary;Dunlin Ten;;;40.00;yes"
    row = shop.row(line)
    assert row.outcome == "review"
    assert row.reason == (
        "Has A-1 really primary 15/144? It has 159 teeth in all and a ratio of 9.60, the nearest "
        "factory pair 13/48 61 and 3.69."
    )
    (key,) = row.questions
    assert shop.row(line, answers={key: "15/144"}).outcome == "new"
    assert shop.row(line, answers={key: "none"}).outcome == "ignored"
    counted = shop.row(line, answers={key: "15/44"})
    assert (counted.outcome, str(counted.fields["pairs"]["primary"])) == ("new", "15/44")
    # Nothing says which family it is for, so nothing says that it is far from its gears.
    assert shop.row("A-1;pair;15/144;primary;;;;40.00;yes").outcome == "new"


@pytest.mark.parametrize(
    ("teeth", "outcome"), [("15/64", "review"), ("13/34", "review"), ("15/46", "new")]
)
def test_a_count_with_its_digits_swapped_is_asked(shop, teeth, outcome):
    """From the factory they are 15/46 and 13/43."""
    assert shop.row(f"A-1;pair;{teeth};primary;Dunlin 50;;;40.00;yes").outcome == outcome


@pytest.mark.parametrize(
    ("teeth", "stage", "asked"),
    [
        ("14/71", "secondary", True),  # far from all others
        ("15/45", "secondary", True),  # as the primary pairs are
        ("14/54", "secondary", False),
        ("15/45", "primary", False),
    ],
)
def test_a_pair_that_stands_alone_in_its_list_is_asked(shop, teeth, stage, asked):
    others = [("13/54", "secondary"), ("14/55", "secondary"), ("14/53", "secondary")]
    others += [("15/44", "primary"), ("15/46", "primary")]
    lines = [
        f"B-{at};pair;{pair};{of};Dunlin 50;;;40.00;yes" for at, (pair, of) in enumerate(others)
    ]
    *usual, row = shop.rows(*lines, f"A-1;pair;{teeth};{stage};Dunlin 50;;;40.00;yes")
    assert {each.outcome for each in usual} == {"new"}
    assert (row.outcome == "review") == asked
    # Where the list has no others, nothing is usual.
    assert shop.row(f"A-1;pair;{teeth};{stage};Dunlin 50;;;40.00;yes").outcome == "new"


@pytest.mark.parametrize(
    ("teeth", "others", "outcome"),
    [
        ("16/46", ["13/54;secondary;Dunlin 50", "14/55;secondary;Dunlin 50"], "review"),
        ("16/46", ["13/54;secondary;Dunlin 50", "17/45;secondary;Whimbrel 125"], "new"),
        ("16/46", [], "new"),
        ("15/54", ["13/54;secondary;Dunlin 50", "14/55;secondary;Dunlin 50"], "new"),
    ],
)
def test_the_only_pair_of_a_family_is_held_against_those_of_the_list(shop, teeth, others, outcome):
    """The factory has 16/46 as a primary pair, and 15/55 and 15/56 as secondary ones."""
    lines = [f"B-{at};pair;{other};;;40.00;yes" for at, other in enumerate(others)]
    rows = shop.rows(*lines, f"A-1;pair;{teeth};secondary;Turnstone 70;;;40.00;yes")
    assert rows[-1].outcome == outcome


def test_numbers_that_differ_in_a_letter_at_the_end_are_two(shop):
    row = shop.row("H-905 / H-905A;pair;15/44;primary;Dunlin Ten;;;40.00;yes")
    assert row.outcome == "review"
    assert row.reason == "it may be several"
    assert shop.row("S/108;pair;15/44;primary;Dunlin Ten;;;40.00;yes").outcome == "new"


def test_an_implausible_pair_and_price_are_remarked(shop):
    rows = shop.rows("A-1;pair;15/144;primary;;;;40.00;yes")
    assert any("15/144" in note for note in rows[0].notes)
    lines = [f"B-{n};pair;15/{40 + n};primary;Dunlin Ten;;;4{n}.00;yes" for n in range(3)]
    rows = shop.rows(*lines, "B-9;pair;16/44;primary;Dunlin Ten;;;4990.00;yes")
    assert any("4990.00 EUR is far from" in note for note in rows[-1].notes)
    assert not any(row.notes for row in rows[:-1])


def test_a_price_many_times_the_others_is_asked_until_it_is_on_file(shop):
    lines = [f"B-{n};pair;15/{40 + n};primary;Dunlin Ten;;;4{n}.00;yes" for n in range(8)]
    odd = "B-9;pair;16/44;primary;Dunlin Ten;;;449.00;yes"
    row = shop.rows(*lines, odd)[-1]
    assert (row.outcome, row.reason) == (
        "review",
        "Does B-9 really cost 449.00? The list's other prices are about 44.00.",
    )
    (key,) = row.questions
    text = FULL_HEAD + "\n".join([*lines, odd]) + "\n"
    assert "price" not in shop.plan(text, {key: "none"}).rows[-1].fields
    assert shop.plan(text, {key: "44.90"}).rows[-1].fields["price"] == Decimal("44.90")
    shop.write(shop.plan(text, {key: "449.00"}))
    assert shop.plan(text).counts["unchanged"] == 9


@pytest.mark.parametrize(
    ("heading", "count", "price", "asked"),
    [
        ("VPE Stück", "5", "225,00", "What is the price of one set, where the list says 'per 5'?"),
        ("VPE Stück", "2", "90,00", "What is the price of one set, where the list says 'per 2'?"),
        ("Mindestmenge", "5", "215,00", "The column 'Mindestmenge' says 5, and like ones cost"),
        ("", "2", "85,00", "Another column says 2, and like ones cost about 43.50."),
        ("Mindestmenge", "10", "330,00", "The column 'Mindestmenge' says 10, and like ones"),
        ("", "1", "185,00", "The list's other prices are about"),
        ("Mindestmenge", "5", "45,00", ""),
        ("", "2", "52,00", ""),
        ("", "1", "135,00", ""),
    ],
)
def test_a_price_of_as_many_as_a_column_says_is_asked(shop, heading, count, price, asked):
    top = f"Nr;Teeth;Stage;Model;{heading};Price\n"
    rows = "".join(f"A-{n};15/4{n};primary;Dunlin Ten;1;4{n},00\n" for n in range(8))
    plan = shop.plan(f"{top}{rows}A-9;16/44;primary;Dunlin Ten;{count};{price}\n")
    texts = [each.text for each in plan.questions.values()]
    assert [asked in text for text in texts] == [True] * bool(asked)


def test_a_price_above_the_list_price_beside_it_is_asked(shop):
    rows = "".join(f"A-{n};15/4{n};primary;Dunlin Ten;6{n},00;4{n},00\n" for n in range(8))
    top, odd = "Nr;Teeth;Stage;Model;UVP;Netto\n", "A-9;16/44;primary;Dunlin Ten;66,00;68,00\n"
    (key,) = shop.plan(top + rows + odd).questions
    plan = shop.plan(top + rows + odd, {key: "Netto"})
    (asked,) = plan.of("review")
    assert asked.reason == "Does A-9 really cost 68.00? The column 'UVP' says less: 66.00."


def test_a_pair_turned_round_is_told(shop):
    row = shop.row("A-1;pair;44/15;primary;Dunlin Ten;;;40.00;yes")
    assert "'44/15' is read as 15/44, the smaller as driver" in row.notes
