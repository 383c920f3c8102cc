"""What a list says against its own rows is asked, and both answers hold."""

from __future__ import annotations

import pytest

from fitcheck.services.price_lists.wording.reservations import is_reserved

LIST = """Nr;Name;Teeth;Stage;Model;Price;Remark
A-1;pair;15/44;primary;Dunlin Ten;50;
A-2;pair;15/45;primary;Dunlin Ten;50;used
A-3;pair*;15/46;primary;Dunlin Ten;50;
A-4;pair*;15/47;primary;Dunlin Ten;50;
* sample, teeth unconfirmed
"""
OWN, NOTE = "word of used", "row of '* sample, teeth unconfirmed'"


def test_a_remark_is_asked_of_its_row_and_a_footnote_once(shop):
    plan = shop.plan(LIST)
    assert set(plan.questions) == {OWN, NOTE}
    assert plan.questions[NOTE].count == 2
    assert plan.questions[OWN].choices == (
        "harmless", "always harmless", "left out", "short", "mid", "long",
    )  # fmt: skip


@pytest.mark.parametrize(("answer", "outcome"), [("harmless", "new"), ("left out", "ignored")])
def test_answers_about_what_a_list_says_against_rows(shop, answer, outcome):
    plan = shop.plan(LIST, answers={OWN: answer, NOTE: answer.replace("harmless", "as read")})
    assert not plan.questions
    assert not plan.unused
    found = {row.part_number: row.outcome for row in plan.rows if row.part_number}
    assert found == {"A-1": "new", "A-2": outcome, "A-3": outcome, "A-4": outcome}


@pytest.mark.parametrize(
    "text",
    ["", "hardened, straight cut", "gears used on Dunlin 50", "see page 4", "delivery 2 weeks"],
)
def test_plain_remarks_are_no_reservation(text):
    """Common practice, no source."""
    assert not is_reserved(text)


@pytest.mark.parametrize(
    "text",
    [
        "2. Wahl",
        "Do not order!",
        "da confermare",
        "remplacée par K-12",
        "siehe K-12",
        "Montage",
        "échantillons",
    ],
)
def test_titles_that_hold_something_against_all_rows(text):
    """Common practice, no source."""
    assert is_reserved(text)
