"""Any moves, edits by hand, stock-takes and crashes in any order: ledger and file stay of one mind.

Beside the shop a plain dictionary is kept of what should lie there; the files are read by the
auditor in conftest.py, who shares no code with fitcheck.
"""

from __future__ import annotations

import re
import shutil
import tempfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from fitcheck.catalogue.ledger.reading import read_ledger
from fitcheck.catalogue.ledger.state import rebuild
from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import lay_out
from fitcheck.errors import FitcheckError, UsageError
from fitcheck.rules.checks import check
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.shelf.count_list import Counted
from fitcheck.services.shelf.moves import issue, place, price, receive
from fitcheck.services.shelf.parts import Part
from fitcheck.services.shelf.stocktake import plan_stocktake, take_stock
from fitcheck.services.shelf.writing import Note
from tests.conftest import EXPLORE

PARTS = st.sampled_from(["MA-1544", "MA-1447", "MA-1601", "MA-1602", "MA-1605"])
QUANTITIES = st.integers(1, 6)
MONEY = st.decimals(0, 1000, places=3).map(lambda value: value.copy_abs())
WORDS = (
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" "), min_size=1)
    .map(str.strip)
    .filter(lambda word: 0 < len(word) <= 30 and word.isprintable())
)
NOTES = st.builds(Note, st.none() | WORDS, st.none() | WORDS)

Held = tuple[int, str | None, Decimal | None, Decimal | None]


class Shop(RuleBasedStateMachine):
    """One shop, one till, and somebody with an editor."""

    audit: Any
    files: dict[str, str]
    scratch: Path

    @initialize()
    def open(self) -> None:
        self.folder = Path(tempfile.mkdtemp(dir=self.scratch))
        lay_out(self.folder, self.files)
        self.catalogue = load(self.folder)
        self.auditor = self.audit(self.folder)
        self.held: dict[str, Held] = self.auditor.shelf()
        self.edited: set[str] = set()
        self.comments = re.findall(r"# .+", self.files["shelf.yaml"])

    def teardown(self) -> None:
        if hasattr(self, "folder"):
            shutil.rmtree(self.folder)

    @rule(
        part=PARTS, quantity=QUANTITIES, cost=st.none() | MONEY, where=st.none() | WORDS, note=NOTES
    )
    def receive(
        self, part: str, quantity: int, cost: Decimal | None, where: str | None, note: Note
    ) -> None:
        if self._refused(
            part, lambda: receive(self.catalogue, part, quantity, cost=cost, place=where, note=note)
        ):
            return
        old = self.held.get(part, (0, None, None, None))
        self.held[part] = (
            old[0] + quantity,
            old[1] if where is None else where,
            old[2] if cost is None else cost,
            old[3],
        )

    @rule(part=PARTS, quantity=QUANTITIES, note=NOTES)
    def issue(self, part: str, quantity: int, note: Note) -> None:
        there = self.held.get(part, (0,))[0]
        if part not in self.edited and quantity > there:
            with pytest.raises(UsageError, match="on the shelf"):
                issue(self.catalogue, part, quantity, note=note)
            return
        if not self._refused(part, lambda: issue(self.catalogue, part, quantity, note=note)):
            self.held[part] = (there - quantity, *self.held[part][1:])

    @rule(part=PARTS, amount=MONEY)
    def price(self, part: str, amount: Decimal) -> None:
        if part in self.held and not self._refused(
            part, lambda: price(self.catalogue, part, amount)
        ):
            self.held[part] = (*self.held[part][:3], amount)

    @rule(part=PARTS, where=WORDS)
    def place(self, part: str, where: str) -> None:
        if part in self.held and not self._refused(
            part, lambda: place(self.catalogue, part, where)
        ):
            self.held[part] = (self.held[part][0], where, *self.held[part][2:])

    def _refused(self, part: str, move: Any) -> bool:
        """Whether the move was refused because the part was edited by hand, as it must be."""
        if part not in self.edited:
            move()
            return False
        with pytest.raises(FitcheckError, match="as-written"):
            move()
        return True

    @rule(part=PARTS, quantity=st.integers(0, 9))
    def edit(self, part: str, quantity: int) -> None:
        """Somebody writes another quantity into the file, past the ledger, once there is one."""
        path = self.folder / "shelf.yaml"
        text = path.read_text(encoding="utf-8")
        pattern = rf"(^  {re.escape(part)}:\s*\{{?\s*quantity: )\d+"
        new, times = re.subn(pattern, rf"\g<1>{quantity}", text, flags=re.MULTILINE)
        if not times:
            return
        path.write_text(new, encoding="utf-8")
        if not self.auditor.lines():
            self.held = self.auditor.shelf()  # a first move opens with what the file says
            return
        self.edited.discard(part)
        if self.auditor.shelf()[part] != self.auditor.ledger().get(part):
            self.edited.add(part)

    @rule(complete=st.booleans(), counts=st.dictionaries(PARTS, st.integers(0, 9), max_size=4))
    def count(self, complete: bool, counts: dict[str, int]) -> None:
        said = self.auditor.shelf()
        counted = [
            Counted(Part(id_, find_set(self.catalogue, id_)), quantity, None, "")
            for id_, quantity in counts.items()
        ]
        planned = plan_stocktake(self.catalogue, counted, complete=complete)
        done = take_stock(self.catalogue, counted, complete=complete)
        assert planned.rows == done.rows
        assert len(done.lines) == len(done.changes)
        for part, quantity in counts.items():
            if part in said or quantity:
                self.held[part] = (quantity, *said.get(part, (0, None, None, None))[1:])
            self.edited.discard(part)
        if complete:
            for part in set(said) - set(counts):
                self.held[part] = (0, *said[part][1:])
            self.edited.clear()

    @rule()
    def accept(self) -> None:
        said = self.auditor.shelf()
        done = take_stock(self.catalogue, [], as_written=True)
        assert {row.part.id for row in done.changes} == self.edited
        self.held = said
        self.edited.clear()

    @rule(cut=st.integers(1, 60))
    def torn(self, cut: int) -> None:
        """A crash while a line was written: nobody was told of it, the file never had it."""
        path = self.folder / "shelf.ledger.jsonl"
        if path.exists():
            line = b'{"seq": 999, "time": "2026-11-25T10:02:41Z", "action": "issue", "part": "MA"'
            path.write_bytes(path.read_bytes() + line[:cut])
            issue_or_not = receive(self.catalogue, "MA-1603", 1)
            assert "never counted" in issue_or_not.remarks[0]
            old = self.held.get("MA-1603", (0, None, None, None))
            self.held["MA-1603"] = (old[0] + 1, *old[1:])

    @invariant()
    def of_one_mind(self) -> None:
        if not hasattr(self, "folder"):
            return
        if not self.auditor.lines():
            assert self.auditor.shelf() == self.held
            return
        ledger, said = self.auditor.ledger(), self.auditor.shelf()
        assert {part for part in ledger if ledger[part] != said.get(part)} == self.edited
        assert {p: h for p, h in said.items() if p not in self.edited} == {
            p: h for p, h in self.held.items() if p not in self.edited
        }
        rebuilt = rebuild(read_ledger(self.folder / "shelf.ledger.jsonl").moves)
        assert ledger == {p: (h.quantity, h.place, h.cost, h.price) for p, h in rebuilt.items()}
        found = [finding for finding in check(load(self.folder)) if finding.code >= "FC3"]
        assert {finding.record for finding in found} == self.edited
        assert {finding.code for finding in found} <= {"FC304"}
        text = (self.folder / "shelf.yaml").read_text(encoding="utf-8")
        assert all(text.count(comment) == 1 for comment in self.comments)


@pytest.mark.usefixtures("alone")
def test_any_moves_in_any_order(audit: Any, files: dict[str, str], tmp_path: Path) -> None:
    Shop.audit, Shop.files, Shop.scratch = staticmethod(audit), files, tmp_path
    run_state_machine_as_test(
        Shop,
        settings=settings(
            max_examples=100 if EXPLORE else 4,
            stateful_step_count=20,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
