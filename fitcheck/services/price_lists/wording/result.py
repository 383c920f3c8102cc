"""What was read from one cell: a value, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

from fitcheck.services.price_lists.reading.cells import Cell, plain_text

T = TypeVar("T")

Status = Literal["read", "review", "unreadable", "empty"]


@dataclass(frozen=True, slots=True)
class Reading(Generic[T]):
    """A reading of one cell.

    Attributes:
        cell: address of the cell, such as `Prices!B12`.
        text: what stands there.
        status: read: `value` is certain by what the cell says; review: a person must choose, the
            `candidates` are what it may mean; unreadable: something stands there and makes no
            sense; empty: nothing of the kind stands there.
        value: the value where it is read, else None.
        candidates: what it may mean, where it is for review; may be empty.
        reason: one sentence: why not read, or how where that is not plain to see.
    """

    cell: str
    text: str
    status: Status
    value: T | None = None
    candidates: tuple[T, ...] = ()
    reason: str = ""

    @property
    def certain(self) -> bool:
        """Whether there is a value."""
        return self.status == "read"


def as_cell(cell: Cell | str) -> Cell:
    """A cell, also from bare text without an address."""
    return Cell("", plain_text(cell), cell, 0, 0) if isinstance(cell, str) else cell


def read(cell: Cell, value: T, reason: str = "") -> Reading[T]:
    """A value read for certain."""
    return Reading(cell.address, cell.text, "read", value, (), reason)


def review(cell: Cell, reason: str, *candidates: T) -> Reading[T]:
    """A cell that a person must look at."""
    return Reading(cell.address, cell.text, "review", None, candidates, reason)


def unreadable(cell: Cell, reason: str) -> Reading[T]:
    """A cell that makes no sense."""
    return Reading(cell.address, cell.text, "unreadable", None, (), reason)


def empty(cell: Cell, reason: str = "") -> Reading[T]:
    """A cell that holds nothing of the kind."""
    return Reading(cell.address, cell.text, "empty", None, (), reason)
