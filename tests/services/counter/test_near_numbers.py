"""What is offered for a number that no set goes by, in the demo catalogue.

What a spreadsheet does to numbers (zeros gone, powers of ten) and which letters are misread as
figures is common practice, no source.
"""

from __future__ import annotations

import pytest

from fitcheck.errors import UsageError
from fitcheck.services.counter.lookup import find_set
from tests.conftest import demo_catalogue

DEMO = demo_catalogue()


@pytest.mark.parametrize(
    ("name", "says"),
    [
        (
            "108",
            "did you mean GW-20-108 (no. 20-108), GW-40-108 (no. 40-108) or SA-108 (no. S/108)?",
        ),
        ("12", "did you mean SB-0012 (no. 0012)? (a spreadsheet takes zeros from the front"),
        ("ma-154O", "did you mean MA-1540 (no. 1540)?"),
        ("no. 1540", "did you mean MA-1540 (no. 1540)?"),
        ("MB-1545", "did you mean MA-1545?"),
        ("1.20E+04", "a spreadsheet writes long numbers as powers of ten: import that column"),
        ("MA-1645", "did you mean MA-1545 (no. 1545) or MA-1643 (no. 1643)?"),
        ("5140", "did you mean MA-1540 (no. 1540)"),
        ("MA-2145", "MA-21450 (no. 21450), MA-21451 (no. 21451) or MA-21452 (no. 21452)?"),
        ("GW-2", "and none like it of 202"),
        ("9999", "and none like it of 202; give the id or the whole part number"),
        (" ", "no part is named; give an id, a part number or an alias"),
    ],
)
def test_near_numbers_are_offered_and_never_a_heap_of_others(name: str, says: str) -> None:
    with pytest.raises(UsageError) as refused:
        find_set(DEMO, name)
    assert says in str(refused.value)
    assert "there is" not in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("teeth", "there"),
    [
        ("15/40", "of these teeth there is GW-20-108 or MA-1540"),
        (" 15 / 40 ", "of these teeth there is GW-20-108 or MA-1540"),
        ("15/4", "no set has these teeth"),
    ],
)
def test_teeth_are_no_part_number(teeth: str, there: str) -> None:
    """MA-1540 is number 1540, and other sets of 15/40 are cheaper: nothing is taken for it."""
    with pytest.raises(UsageError) as refused:
        find_set(DEMO, teeth)

    assert str(refused.value) == f"{teeth.strip()} are teeth, not the number of a gear set; {there}"
    assert find_set(DEMO, "1540").id == "MA-1540"


def test_a_supplier_may_write_a_number_like_teeth(load_records) -> None:
    record = {"supplier": "s", "part_number": "12/345", "pairs": {"primary": "15/40"}}
    catalogue = load_records(
        {"supplier": {"s": {"name": "S", "currency": "EUR"}}, "gear-set": {"A": record}}
    )
    assert find_set(catalogue, "12/345").id == "A"
