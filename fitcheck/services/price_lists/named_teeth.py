"""Teeth in a column of their own, beside what free text says of them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from fitcheck.services.price_lists.reading import Cell
from fitcheck.services.price_lists.wording import FoundPairs, Reading
from fitcheck.services.price_lists.wording.doubts import mistake_in

_TWO_NUMBERS = re.compile(r"[0-9]\D+[0-9]")


def in_doubt(own: Reading[FoundPairs], free: Sequence[Cell]) -> Reading[FoundPairs]:
    """Pairs in a column of their own, for review where free text speaks of a mistake."""
    for cell in free:
        if said := mistake_in(cell.text):
            candidates = (own.value,) if own.value else ()
            reason = f"the text says {said!r}"
            return Reading(own.cell, own.text, "review", None, candidates, reason)
    return own


def same_pairs(one: FoundPairs | None, other: FoundPairs | None) -> bool:
    """Whether two readings are of the same pairs, in whatever order."""
    return {each.pair for each in one or ()} == {each.pair for each in other or ()}


def names_the_same(pairs: FoundPairs, text: str) -> bool:
    """Whether free text holds these very pairs, or no two numbers that could be others."""
    return all(str(each.pair) in text for each in pairs) or not _TWO_NUMBERS.search(text)
