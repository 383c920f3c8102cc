"""One sitting at a terminal over a list: its columns, its questions, and what is written of it."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitcheck.cli.common import console, tell
from fitcheck.cli.list_dialogue import Dialogue
from fitcheck.cli.list_order import (
    Order,
    draft_plan,
    print_list_plan,
    refuse_unsure,
    tell_written,
)
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.terminal import digit_keys, read_key
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitcheck.cli.list_sender import Sender
    from fitcheck.services.price_lists.outcomes import Plan
    from fitcheck.services.price_lists.reading import SupplierList
    from fitcheck.services.price_lists.tables import ColumnsMissingError
    from fitcheck.services.price_lists.writing import Edits

_MOST_KEYS = 9


class Sitting:
    """A list, its supplier as it was before the first answer, and the rows that are held back.

    Args:
        order: what the command line asks for.
        sender: whose list it is.
        supplier_list: the list.
    """

    def __init__(self, order: Order, sender: Sender, supplier_list: SupplierList) -> None:
        self.sender = sender
        self._order = order
        self._list = supplier_list
        self._digest = _digest(order.file)
        self._held: set[str] = set()

    # -- what the dialogue asks for --------------------------------------------------------------

    def plan(self, given: Mapping[str, str]) -> Plan:
        """The plan with some answers."""
        return self._order.plan(self.sender, self._list, given)

    def keep(self, key: str, answer: str | None) -> str | None:
        """Keep the answer to a question at once, None takes it back; the answer that holds."""
        from fitcheck.services.price_lists.writing import keep_answer

        return keep_answer(self.sender.entry, key, answer)

    def kept_before(self) -> dict[str, str]:
        """Answers of earlier runs, by key of their question: the last of each kind."""
        from fitcheck.services.price_lists.saved_answers import last_kept

        mapping = self.sender.entry.record.list_mapping
        return {} if mapping is None else last_kept(mapping, _MOST_KEYS)

    def take_back(self, key: str) -> None:
        """Take back an answer of an earlier run."""
        self.keep(key, None)
        self.sender = self.sender.reload(self._order.catalog)

    # -- the way of it ---------------------------------------------------------------------------

    def run(self) -> int:
        """Ask what is open, show what it comes to, and write it after a yes; the exit code."""
        out, order = console(), self._order
        dialogue = self._begin()
        counts, questions = dialogue.plan.counts, len(dialogue.plan.questions)
        if questions:
            certain = counts["new"] + counts["changed"] + counts["unchanged"]
            out.headed(
                f"{self.sender.entry.record.name}: ",
                f"{_number(certain, 'row')} certain; {_number(questions, 'question')} about "
                f"{_number(counts['review'], 'row')}",
            )
        while True:
            ended = dialogue.ask()
            kept = f"{_number(len(dialogue.given), 'answer')} kept in "
            kept += self.sender.entry.source.path
            if ended == "stopped":
                tell(f"stopped, no row is written; {kept}")
                return EXIT_FINDINGS
            plan, edits, wanted = self._show_and_confirm(dialogue.given)
            if wanted == "y":
                break
            if wanted == "n":
                tell(f"nothing is written; {kept}")
                return EXIT_FINDINGS
            dialogue.undo()
        if _digest(order.file) != self._digest:
            raise UsageError(
                f"{order.file}: the list has changed since it was read; nothing is written; "
                f"{kept}; run the command again"
            )
        tell_written(plan, edits.save(), write=True)
        return EXIT_FINDINGS if plan.open else 0

    def _begin(self) -> Dialogue:
        """The dialogue over the first plan, headings that changed asked about before."""
        from fitcheck.services.price_lists.tables import ColumnsMissingError
        from fitcheck.services.price_lists.writing import keep_columns

        try:
            return Dialogue(console(), self.sender.catalogue, self)
        except ColumnsMissingError as changed:
            columns = _ask_columns(changed, self.sender.entry.record.name)
            keep_columns(self.sender.entry, columns)
            path = self.sender.entry.source.path
            tell(f"{_number(len(columns), 'column')} changed in {path}")
            self.sender = self.sender.reload(self._order.catalog)
        return Dialogue(console(), self.sender.catalogue, self)

    def _show_and_confirm(self, given: Mapping[str, str]) -> tuple[Plan, Edits, str]:
        """Show what the answers come to, and ask whether to write it, until that is said.

        Returns:
            The plan, its edits, and y, n or u.
        """
        order = self._order
        now = self.sender.reload(order.catalog)
        whole = order.plan(now, self._list, given)
        if not order.saves_columns:
            refuse_unsure(whole)
        shown: set[str] | None = None
        while True:
            plan = whole.hold_back(self._held)
            if shown != self._held:
                print_list_plan(order, now, self._list, plan)
                shown = set(self._held)
            edits = draft_plan(now, plan, entries=True, mapping=order.saves_columns)
            if order["write"] or not (edits.changed or self._held):
                return plan, edits, "y"
            key = read_key("Write it? (y yes, n no, h hold rows, u undo, r each row, d each line) ")
            if key in ("y", "n", "u", "q"):
                return plan, edits, "n" if key == "q" else key
            if key == "d":
                console().lines(edits.diff().splitlines())
            elif key == "r":
                print_list_plan(order, now, self._list, plan, long=True)
            elif key == "h":
                self._hold_rows(whole)

    def _hold_rows(self, plan: Plan) -> None:
        """Ask for rows that are not to be written now; what is typed again is taken back."""
        text = click.prompt("  rows, like 12, 15 (empty: none)", default="", show_default=False)
        rows: dict[str, set[str]] = {}
        for row in (each for each in plan.rows if each.outcome in ("new", "changed")):
            for name in {row.address, row.address.rpartition("!")[2]}:
                rows.setdefault(name, set()).add(row.set_id)
        chosen = set[str]()
        for name in filter(None, (each.strip() for each in re.split("[,;]", text))):
            found = rows.get(name, set())
            if len(found) == 1:
                chosen |= found
            else:
                why = "on several sheets; say which" if found else "none of those to be written"
                console().paragraph(f"  row {name} is {why}")
        self._held ^= chosen


def _ask_columns(changed: ColumnsMissingError, supplier: str) -> dict[str, str | None]:
    """Ask which column each missing one is now: field to heading, None for no column."""
    from fitcheck.screens.price_lists.question import print_keys

    out, found = console(), dict[str, str | None]()
    fields = list(changed.lacking)
    while len(found) < len(fields):
        name = fields[len(found)]
        taken = set(filter(None, found.values()))
        samples = {h: s for h, s in changed.candidates(name).items() if h not in taken}
        choices = digit_keys(samples)
        out.line()
        out.paragraph(
            f"{len(found) + 1} of {len(fields)}: Which column is the {name.replace('_', ' ')} now? "
            f"{supplier}'s file says {changed.lacking[name]!r}, and the list has no such column.",
            style="bold",
        )
        keys = [f"{key} {each!r}: {samples[each] or 'empty'}" for key, each in choices.items()]
        if name not in changed.NEEDED:
            keys.append("n none")
        out.lines(f"  {each}" for each in keys)
        print_keys(out, ["u undo", "q stop"], style="dim")
        while True:
            key = read_key()
            if key in choices or (key == "n" and name not in changed.NEEDED):
                found[name] = choices.get(key)
            elif key == "u" and found:
                found.popitem()
            elif key == "q":
                raise changed
            else:
                continue
            break
    return found


def _digest(file: str) -> bytes:
    """What tells whether a file holds something else by now."""
    return hashlib.blake2b(Path(file).read_bytes()).digest()


def _number(count: int, noun: str) -> str:
    return f"{count:,} {noun}{'s' * (count != 1)}"
