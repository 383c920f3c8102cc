"""What of a move looks like a slip at the till: told once it is done, never refused."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from fitcheck.catalogue.ledger import Held, is_behind, local_words
from fitcheck.catalogue.ledger.line import Detail, money_text
from fitcheck.model.money import in_least_units
from fitcheck.services.shelf.parts import Part
from fitcheck.services.upkeep.jumps import is_jump

_MARK = 10
"""So many times the list price: a decimal mark slipped."""

_MANY = 100
"""Fewer pieces than these are never many."""


def odd_amounts(part: Part, before: Held | None, sets: Mapping[str, Detail]) -> list[str]:
    """What to look at of a cost or price that a move gives anew, a sentence each.

    Args:
        part: the part.
        before: what was held of it; None: nothing.
        sets: what the move gives anew.
    """
    said = []
    listed = None if part.gear_set is None else part.gear_set.record.price
    for name in ("cost", "price"):
        new = sets.get(name)
        if not isinstance(new, Decimal):
            continue
        old = None if before is None else getattr(before, name)
        shown = money_text(new)
        if old and is_jump(old, new):
            said.append(f"look: the {name} was {money_text(old)}, and is {shown} now")
        elif not new and old != 0:
            said.append(f"look: the {name} is 0 now, as of what is had for nothing")
        elif old is None and listed and is_jump(listed, new, _MARK):
            list_price = money_text(listed)
            said.append(f"look: the {name} is {shown}, where the list price is {list_price}")
        coins = new if part.currency is None else in_least_units(new, part.currency)
        if name == "price" and new != coins:
            said.append(
                f"look: the price of {shown} is finer than the least coin; {coins} is asked"
            )
    return said


def many_pieces(part: Part, before: int, now: int) -> list[str]:
    """What to look at where far more pieces lie there than before, a sentence."""
    if now - before < _MANY or now <= _MARK * before:
        return []
    return [f"look: {now:,} pieces of {part.words}, where there were {before:,}"]


def turned_back(before: str, now: str) -> list[str]:
    """What to look at where a move is dated before the last one, a sentence.

    Args:
        before: time of the ledger's last line.
        now: time of the move.
    """
    if not is_behind(now, before):
        return []
    told = f"look: the move is dated {local_words(now)}, before the last one, {local_words(before)}"
    return [f"{told}; it is written all the same; check this machine's clock"]
