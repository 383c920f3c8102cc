"""The stock-take: what was counted against what the ledger says, as a plan and carried out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType
from typing import Literal

from fitcheck.catalogue.ledger.line import DETAILS, Detail, LedgerLine
from fitcheck.catalogue.ledger.state import Held, pieces_of
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.shelf.count_list import Counted
from fitcheck.services.shelf.parts import Part, successor_words, warn_of_many_pieces
from fitcheck.services.shelf.recovery import hold
from fitcheck.services.shelf.state import OpenShelf, ShelfFile, peek, shelf_file, shelf_files
from fitcheck.services.shelf.writing import Change, Note, write

_MOST_RETIRED = 5
"""So many retired parts are reported one by one."""

Outcome = Literal["same", "more", "fewer", "new", "details", "file", "gone"]


@dataclass(frozen=True, slots=True)
class PlanRow:
    """What the stock-take does to one part.

    Attributes:
        part: the part.
        held: what the ledger says; None: nothing.
        shelf: what the shelf file says; it differs where somebody edited it by hand.
        target: what both are to say; None: the entry goes out of the ledger.
        where: file and row of the count; empty where the part was not counted.
    """

    part: Part
    held: Held | None
    shelf: Held | None
    target: Held | None
    where: str

    @property
    def change(self) -> int:
        """Pieces more or less than the ledger says."""
        return pieces_of(self.target) - pieces_of(self.held)

    @property
    def sets(self) -> Mapping[str, Detail]:
        """Place, cost and price that are not what the ledger says."""
        if self.target is None:
            return MappingProxyType({})
        old = self.held or Held(0)
        new = self.target
        names = [name for name in DETAILS if getattr(old, name) != getattr(new, name)]
        return MappingProxyType({name: getattr(new, name) for name in names})

    @property
    def by_hand(self) -> bool:
        """Whether the shelf file was edited by hand, which the stock-take accepts."""
        return self.held != self.shelf

    @property
    def outcome(self) -> Outcome:
        """What comes of the part.

        `new`: it had no entry; `details`: only place or money change; `file`: the ledger was right
        and the file edited by hand; `gone`: the entry is out of the file.
        """
        if self.target is None:
            return "gone"
        if self.held is None:
            return "new"
        if self.change:
            return "more" if self.change > 0 else "fewer"
        if self.sets:
            return "details"
        return "same" if self.shelf == self.target else "file"

    @property
    def value(self) -> Decimal | None:
        """What the change is worth at the last cost; None where that is not known."""
        known = self.target or self.held
        return None if known is None or known.cost is None else self.change * known.cost


@dataclass(frozen=True, slots=True)
class StockTake:
    """A stock-take, planned or carried out.

    Attributes:
        rows: every part counted, in the list's order, then those that were not but change.
        written: whether it is carried out.
        lines: its lines in the ledger, where it is.
        not_counted: parts on the shelf that were not counted and do not change.
        remarks: what else to know, a sentence each.
        complete: whether everything was counted, so that of those there was nothing before.
    """

    rows: tuple[PlanRow, ...]
    written: bool
    not_counted: int
    lines: tuple[LedgerLine, ...] = ()
    remarks: tuple[str, ...] = ()
    complete: bool = False

    @property
    def changes(self) -> tuple[PlanRow, ...]:
        """The rows that change anything."""
        return tuple(row for row in self.rows if row.outcome != "same")

    @property
    def worth(self) -> Mapping[str | None, Decimal]:
        """What the differences are worth at the last cost, by currency; None: not known."""
        sums: dict[str | None, Decimal] = {}
        for row in self.changes:
            if row.value is not None and row.change:
                currency = row.part.currency
                sums[currency] = sums.get(currency, Decimal(0)) + row.value
        return sums

    @property
    def unknown_worth(self) -> int:
        """Pieces more or fewer whose cost is not known."""
        return sum(abs(row.change) for row in self.changes if row.value is None)


def plan_stocktake(
    catalogue: Catalogue,
    counted: Sequence[Counted],
    *,
    complete: bool = False,
    as_written: bool = False,
) -> StockTake:
    """What a stock-take would change; nothing is written.

    Args:
        catalogue: the catalogue whose shelf it is.
        counted: what was counted, each part once.
        complete: everything was counted: of other parts there is nothing.
        as_written: take what the shelf file says for counted where it differs from the ledger.

    Raises:
        FitcheckError: a file cannot be read, or the ledger is broken.
    """
    files = {file: peek(file) for file in shelf_files(catalogue)}
    plans = _plan_files(catalogue, files, counted, complete, as_written)
    return _sum_up(catalogue, files, plans, complete=complete)


def take_stock(
    catalogue: Catalogue,
    counted: Sequence[Counted],
    *,
    complete: bool = False,
    as_written: bool = False,
    note: Note | None = None,
) -> StockTake:
    """Carry a stock-take out, planned again under the lock; arguments as `plan_stocktake`.

    Of each shelf file all of it is written or nothing.

    Raises:
        FitcheckError: it cannot be carried out; nothing was changed, unless the text says so.
    """
    shelf_file(catalogue, counted[0].part.id if counted else None)  # refuses what may not be moved
    with ExitStack() as stack:
        files = {file: stack.enter_context(hold(file)) for file in shelf_files(catalogue)}
        plans = _plan_files(catalogue, files, counted, complete, as_written)
        lines: list[LedgerLine] = []
        for file, rows in plans.items():
            changes = [_change(row) for row in rows if row.outcome != "same"]
            if changes:
                lines += write(files[file], changes, note)
        done = _sum_up(catalogue, files, plans, complete=complete)
    return replace(done, written=True, lines=tuple(lines))


@dataclass(slots=True)
class _Planning:
    """The rows of one shelf file."""

    rows: list[PlanRow] = field(default_factory=list)
    counted: set[str] = field(default_factory=set)


def _plan_files(
    catalogue: Catalogue,
    files: Mapping[ShelfFile, OpenShelf],
    counted: Sequence[Counted],
    complete: bool,
    as_written: bool,
) -> dict[ShelfFile, list[PlanRow]]:
    plans = {file: _Planning() for file in files}
    for one in counted:
        file = _file_for(catalogue, files, one.part.id)
        shelf, plan = files[file], plans[file]
        plan.counted.add(one.part.id)
        id_ = one.part.id
        held, said = shelf.held.get(id_), shelf.shelf.get(id_)
        # What somebody wrote into the file stays: counting accepts it.
        base = said or held or Held(0)
        place = base.place if one.place is None else one.place
        target = Held(one.quantity, place, base.cost, base.price)
        if held is None and said is None and not one.quantity:
            held = said = target  # nothing of what was never there: no entry is made for it
        plan.rows.append(
            PlanRow(part=one.part, held=held, shelf=said, target=target, where=one.where)
        )
    for file, shelf in files.items():
        plan = plans[file]
        for part in dict.fromkeys([*shelf.shelf, *shelf.held]):
            held, said = shelf.held.get(part), shelf.shelf.get(part)
            if part in plan.counted or not (complete or (as_written and held != said)):
                continue
            # An entry that was taken out of the file by hand stays out.
            left = replace(said, quantity=0) if complete and said is not None else said
            row = PlanRow(
                part=Part(part, catalogue.gear_sets.get(part)),
                held=held,
                shelf=said,
                target=left,
                where="",
            )
            if row.outcome != "same":
                plan.rows.append(row)
    return {file: plan.rows for file, plan in plans.items()}


def _file_for(catalogue: Catalogue, files: Mapping[ShelfFile, OpenShelf], part: str) -> ShelfFile:
    for file, shelf in files.items():
        if part in shelf.shelf or part in shelf.held:
            return file
    return next(iter(files)) if len(files) == 1 else shelf_file(catalogue, part)


def _change(row: PlanRow) -> Change:
    if row.target is None:
        return Change("close", row.part.id, row.change)
    return Change("count", row.part.id, row.change, row.sets)


def _sum_up(
    catalogue: Catalogue,
    files: Mapping[ShelfFile, OpenShelf],
    plans: Mapping[ShelfFile, Sequence[PlanRow]],
    *,
    complete: bool,
) -> StockTake:
    rows = tuple(row for each in plans.values() for row in each)
    named = {row.part.id for row in rows}
    known = {part for shelf in files.values() for part in (*shelf.shelf, *shelf.held)}
    remarks = [remark for shelf in files.values() for remark in shelf.remarks]
    for row in rows:
        remarks += warn_of_many_pieces(row.part, pieces_of(row.held), pieces_of(row.target))
    retired = [
        words
        for row in rows
        if row.where and pieces_of(row.target) and (words := successor_words(catalogue, row.part))
    ]
    remarks += retired[:_MOST_RETIRED]
    if len(retired) > _MOST_RETIRED:
        remarks.append(f"{len(retired) - _MOST_RETIRED} more of what was counted are retired")
    return StockTake(
        rows=rows,
        written=False,
        not_counted=len(known - named),
        lines=(),
        remarks=tuple(remarks),
        complete=complete,
    )
