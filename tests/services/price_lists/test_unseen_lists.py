"""Lists written with their truth by somebody who had not read the readers.

Invented data; `tests/data/unseen-lists/codes.md` says what its truth looks like, and
`python -m tests.bench.unseen_lists` prints all figures.
"""

from __future__ import annotations

from functools import reduce
from operator import add

import pytest

from tests.bench.unseen_lists import Shop, ordinary_lists, settle_columns
from tests.bench.unseen_truth import Tally, judge, read_lists

# Rows that are accepted though they must be asked about, or not as they are. The list only shrinks.
KNOWN: dict[str, str] = {}


@pytest.fixture(scope="module")
def traps(tmp_path_factory: pytest.TempPathFactory) -> Tally:
    """What becomes of the lists with traps once their columns are set right."""
    tallies = []
    for listed in read_lists("traps"):
        plan, _ = settle_columns(Shop(tmp_path_factory.mktemp("traps")), listed)
        tallies.append(judge(listed, plan))
    assert len(tallies) == 20
    return reduce(add, tallies)


@pytest.fixture(scope="module")
def ordinary(tmp_path_factory: pytest.TempPathFactory) -> Tally:
    """What becomes of the first month of the ordinary lists, the file alone."""
    shop = Shop(tmp_path_factory.mktemp("ordinary"))
    tallies = [judge(first, shop.plan(first)) for first, _ in ordinary_lists()]
    assert len(tallies) == 10
    return reduce(add, tallies)


def test_nothing_of_the_ordinary_lists_is_accepted_wrongly(ordinary: Tally) -> None:
    assert [str(each) for each in ordinary.wrong] == []
    assert ordinary.accepted > ordinary.rows / 2


def test_no_other_trap_is_accepted(traps: Tally) -> None:
    places = {f"{each.file} {each.row}": str(each) for each in traps.wrong}
    assert [told for place, told in places.items() if place not in KNOWN] == []
    assert traps.must_right > traps.must / 2


@pytest.mark.parametrize("place", KNOWN)
def test_a_known_trap_is_still_accepted(traps: Tally, place: str) -> None:
    is_wrong = place in {f"{each.file} {each.row}" for each in traps.wrong}
    assert is_wrong, f"{place} is right now; take it out of KNOWN"


def test_no_row_is_lost_or_doubled(traps: Tally, ordinary: Tally) -> None:
    both = traps + ordinary
    assert (both.lost, both.doubled) == ([], [])


def test_no_other_goods_are_accepted(traps: Tally, ordinary: Tally) -> None:
    assert (traps + ordinary).other_goods == []
