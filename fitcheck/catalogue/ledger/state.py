"""What the shelf holds according to a ledger, and where the shelf file says otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.ledger.line import DETAILS, LedgerLine
from fitcheck.model.trade import ShelfEntry


class StateError(ValueError):
    """A line that cannot follow on what is held; the text says why, in a few words."""


@dataclass(frozen=True, slots=True)
class Held:
    """What the shelf holds of one part: pieces, where, and money for a piece."""

    quantity: int
    place: str | None = None
    cost: Decimal | None = None
    price: Decimal | None = None

    def details(self) -> dict[str, str | Decimal | None]:
        """Place, cost and price by name, those that are there."""
        found = {name: getattr(self, name) for name in DETAILS}
        return {name: value for name, value in found.items() if value is not None}


_NOTHING = Held(0)


@dataclass(frozen=True, slots=True)
class Difference:
    """One part on which ledger and shelf file do not agree.

    Attributes:
        part: its id.
        ledger: what the ledger adds up to; None: it holds nothing of it.
        shelf: what the shelf file says; None: it has no such entry.
        fields: names of the fields that differ; quantity alone where a side has no entry.
    """

    part: str
    ledger: Held | None
    shelf: Held | None
    fields: tuple[str, ...]


def pieces_of(held: Held | None) -> int:
    """Pieces that are held of a part; 0 where there is no entry."""
    return 0 if held is None else held.quantity


def held_of(entry: ShelfEntry) -> Held:
    """What an entry of the shelf file says."""
    return Held(entry.quantity, entry.place, entry.cost, entry.price)


def after(held: Held | None, line: LedgerLine) -> Held | None:
    """What is held of a part after a line, before which that was held; None: no entry.

    Raises:
        StateError: the line cannot follow: its figures do not add up.
    """
    quantity = pieces_of(held)
    if quantity + line.change != line.quantity_after:
        raise StateError(
            f"{quantity} and a change of {line.change} do not make {line.quantity_after}"
        )
    action = line.action
    if held is None and action in ("issue", "price", "place", "close"):
        raise StateError(f"{action} of a part that the shelf does not hold")
    if held is not None and action == "open":
        raise StateError("the part is opened a second time")
    if (
        (action == "receive" and line.change <= 0)
        or (action == "issue" and line.change >= 0)
        or (action in ("price", "place") and line.change)
        or (action == "close" and line.quantity_after)
    ):
        raise StateError(f"{action} with a change of {line.change}")
    if action == "close":
        return None
    old = held or _NOTHING
    if not line.sets:
        return Held(line.quantity_after, old.place, old.cost, old.price)
    details: dict[str, Any] = dict(line.sets)
    return replace(old, quantity=line.quantity_after, **details)


def rebuild(lines: Iterable[LedgerLine]) -> dict[str, Held]:
    """What the shelf holds after all the lines, by part, in the order of their first line.

    Raises:
        StateError: a line cannot follow on those before it.
    """
    state: dict[str, Held] = {}
    for line in lines:
        now = after(state.get(line.part), line)
        if now is None:
            state.pop(line.part, None)
        else:
            state[line.part] = now
    return state


def differences(ledger: Mapping[str, Held], shelf: Mapping[str, Held]) -> tuple[Difference, ...]:
    """Where the two do not agree: parts in the order of the shelf file, then of the ledger."""
    found = []
    for part in dict.fromkeys([*shelf, *ledger]):
        one, other = ledger.get(part), shelf.get(part)
        if one == other:
            continue
        if one is None or other is None:
            fields: tuple[str, ...] = ("quantity",)
        else:
            names = ("quantity", *DETAILS)
            fields = tuple(n for n in names if getattr(one, n) != getattr(other, n))
        found.append(Difference(part, one, other, fields))
    return tuple(found)
