"""A plan carried out: drafts of the files it changes, shown as a diff or saved together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fitcheck.catalogue.editing import Draft, locked, open_draft, save
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import MAX_FILE_BYTES
from fitcheck.diagnostics.finding import shown_path
from fitcheck.errors import UsageError
from fitcheck.model.trade import ListMapping, Supplier
from fitcheck.rules.setting import ListWords
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome
from fitcheck.services.price_lists.questions import NONE
from fitcheck.services.price_lists.saved_answers import KEPT_IN, MAY_BE_NULL, kept_in
from fitcheck.services.upkeep.drafts import (
    defaults_of,
    draft_of,
    families_of,
    find_target_entry,
    new_errors,
    new_target_file,
    target_path,
)

_ROOM = MAX_FILE_BYTES - MAX_FILE_BYTES // 8
"""Bytes up to which new entries go into a file; the rest is for the shop's own."""

_A_RECORD = 160
"""Bytes of a record's keys, marks and indents, at most."""


@dataclass(slots=True)
class Edits:
    """The files a plan changes, as drafts; nothing is written before `save`.

    Attributes:
        drafts: by path, in the order in which they were opened.
    """

    drafts: dict[Path, Draft] = field(default_factory=dict)

    @property
    def changed(self) -> list[Draft]:
        """Drafts that saving would write."""
        return [draft for draft in self.drafts.values() if draft.changed]

    def diff(self) -> str:
        """What saving would change, as one unified diff; empty where nothing."""
        return "".join(draft.diff() for draft in self.changed)

    def save(self) -> list[str]:
        """Write all files, each proved first; the names of those written.

        Raises:
            EditError: a draft does not hold, or a file has changed since it was read.
        """
        return [shown_path(path) for path in save(self.changed)]


def edits_of(
    catalogue: Catalogue,
    plan: Plan,
    *,
    entries: bool = True,
    mapping: bool = False,
    new_supplier: Draft | None = None,
) -> Edits:
    """Drafts of every file that a plan changes.

    Args:
        catalogue: the catalogue the plan was made against.
        plan: the plan.
        entries: whether its new and changed entries are written.
        mapping: whether a mapping proposed for the supplier is saved. Answers are remembered
            in either case.
        new_supplier: the draft of its file, where the supplier is none of the catalogue's yet.

    Raises:
        EditError: an entry cannot be written, or a file has changed since the plan was made.
        UsageError: the catalogue is one file and no place for the entries.
    """
    edits = Edits()
    if new_supplier is not None:
        edits.drafts[Path(new_supplier.source.path)] = new_supplier
    if entries:
        for row in plan.of("changed"):
            entry = catalogue.gear_sets[row.set_id]
            _draft(edits, entry).set_fields(entry.id, dict(row.fields))
        new = plan.of("new")
        if new:
            _Adding(catalogue, plan.supplier, edits).add(new)
        _refuse_errors(catalogue, edits)
    _remember(catalogue, plan, edits, columns=mapping, entries=entries)
    return edits


def _refuse_errors(catalogue: Catalogue, edits: Edits) -> None:
    """What `check` would call an error afterwards, and does not now, is not drafted."""
    drafts = [draft for draft in edits.changed if draft.kind == "gear-set"]
    if not drafts:
        return
    errors = new_errors(catalogue, *drafts)
    if errors:
        first = errors[0]
        more = f" ({len(errors) - 1:,} more)" if len(errors) > 1 else ""
        raise UsageError(
            f"nothing written: there would be an error {first.code} at {first.span}: "
            f"{first.message}{more}; {first.help or 'correct the list or the catalogue'}"
        )


def _draft(edits: Edits, entry: Entry[Any]) -> Draft:
    """The draft of an entry's file; it must be as it was when the catalogue was read."""
    path = Path(entry.source.path)
    draft = edits.drafts.get(path)
    if draft is None:
        draft = edits.drafts[path] = draft_of(entry)
    return draft


# -------------------------------------------------------------------- new entries


class _Adding:
    """Puts new entries into the supplier's file, beside those of the same family."""

    def __init__(self, catalogue: Catalogue, supplier: str, edits: Edits) -> None:
        self._catalogue = catalogue
        self._supplier = supplier
        self._currency = catalogue.suppliers[supplier].record.currency
        self._edits = edits
        self._of_supplier = [
            entry for entry in catalogue.gear_sets.values() if entry.record.supplier == supplier
        ]
        self._number = 1

    def add(self, rows: Iterable[RowOutcome]) -> None:
        draft, room = self._next()
        last = self._last_of_family(draft)
        defaults = defaults_of(draft)
        for row in rows:
            fields = self._fields(row, defaults)
            size = _A_RECORD + len(row.set_id) + len(str(fields))
            if size > room:
                draft, room = self._next()
                last = self._last_of_family(draft)
                defaults = defaults_of(draft)
                fields = self._fields(row, defaults)
            room -= size
            family = row.families[0] if row.families else ""
            draft.add_record(row.set_id, fields, after=last.get(family))
            if family:
                last[family] = row.set_id

    def _fields(self, row: RowOutcome, defaults: Mapping[str, Any]) -> dict[str, Any]:
        fields = dict(row.fields)
        if defaults.get("supplier") != self._supplier:
            fields["supplier"] = self._supplier
        # What the file gives for all is no word of the list about this one.
        if "availability" in defaults:
            fields.setdefault("availability", "unknown")
        currency = fields.get("currency", self._currency)
        if currency == defaults.get("currency", self._currency):
            fields.pop("currency", None)
        elif "price" in fields:
            fields["currency"] = currency
        for name in ("supplier", "availability"):
            if name in fields and fields[name] == defaults.get(name):
                del fields[name]
        if defaults.get("source") == fields["source"]:
            del fields["source"]
        return fields

    def _next(self) -> tuple[Draft, int]:
        """The next file with room, opened or made."""
        while True:
            draft = self._file(self._number)
            self._number += 1
            size = 0 if draft.base is None else len(draft.base)
            if size < _ROOM:
                return draft, _ROOM - size

    def _file(self, number: int) -> Draft:
        """The supplier's file, or the one of a number behind it."""
        entry = find_target_entry(self._catalogue, self._supplier)
        if number == 1 and entry is not None:
            return _draft(self._edits, entry)
        base = (
            target_path(self._catalogue, self._supplier)
            if entry is None
            else Path(entry.source.path)
        )
        path = base if number == 1 else base.with_name(f"{base.stem}-{number}{base.suffix}")
        draft = self._edits.drafts.get(path)
        if draft is not None:
            return draft
        if not path.exists():
            name = self._catalogue.suppliers[self._supplier].record.name
            comment = f"{name}: entries taken from its price lists."
            draft = new_target_file(self._catalogue, self._supplier, path, comment=comment)
        elif shown_path(path) in self._catalogue.sources:
            draft = open_draft(path)
        else:
            raise UsageError(f"{shown_path(path)}: is not a file of the catalogue; move it away")
        self._edits.drafts[path] = draft
        return draft

    def _last_of_family(self, draft: Draft) -> dict[str, str]:
        """Family to the last record of it in a file."""
        words = ListWords.of(self._catalogue)
        here = {entry.id: entry.record for entry in self._of_supplier}
        last: dict[str, str] = {}
        for set_id in draft.ids:
            record = here.get(set_id)
            if record is not None:
                last.update(dict.fromkeys(families_of(record, words), set_id))
        return last


# -------------------------------------------------------------------- the supplier's file


def keep_answer(supplier: Entry[Supplier], key: str, answer: str | None) -> str | None:
    """Write one answer into its supplier's file at once, or take it out again.

    The file is read again and replaced whole, under the lock of its folder, so that nothing is lost
    that was answered elsewhere meanwhile, nor by a program that is killed.

    Args:
        supplier: whose list it is about, as it was read.
        key: key of the question.
        answer: the answer; None to take it out.

    Returns:
        The answer that holds: another one where somebody gave that meanwhile.

    Raises:
        EditError: the file cannot be edited, or the disk refuses.
    """
    path = supplier.source.file
    name, kept = kept_in(key)
    before = getattr(supplier.record.list_mapping or ListMapping(), name)
    with locked(path.parent):
        draft = open_draft(path)
        mapping = dict(draft.record(supplier.id).get("list_mapping") or {})
        answers = dict(mapping.get(name) or {})
        is_new = kept in answers and (kept not in before or answers[kept] != before[kept])
        if answer is not None and is_new:
            return NONE if answers[kept] is None else str(answers[kept])
        answers.pop(kept, None)
        if answer is not None:
            answers[kept] = None if answer == NONE and name in MAY_BE_NULL else answer
        left = {part: value for part, value in {**mapping, name: answers}.items() if value != {}}
        if left:
            draft.set_field(("records", supplier.id), "list_mapping", left)
        elif "list_mapping" in draft.record(supplier.id):
            draft.remove_field(("records", supplier.id), "list_mapping")
        save([draft])
    return answer


def keep_columns(supplier: Entry[Supplier], columns: Mapping[str, str | None]) -> None:
    """Write into a supplier's file which columns of its list are others by now.

    Args:
        supplier: whose list it is.
        columns: field to the heading of its column; None for no column.

    Raises:
        EditError: the file cannot be edited, or the disk refuses.
    """
    path = supplier.source.file
    with locked(path.parent):
        draft = open_draft(path)
        mapping = dict(draft.record(supplier.id).get("list_mapping") or {})
        named = {**(mapping.get("columns") or {}), **columns}
        mapping["columns"] = {name: text for name, text in named.items() if text is not None}
        draft.set_field(("records", supplier.id), "list_mapping", mapping)
        save([draft])


def _remember(
    catalogue: Catalogue, plan: Plan, edits: Edits, *, columns: bool, entries: bool
) -> None:
    """Answers, and on consent the columns, into the supplier's record."""
    entry = catalogue.suppliers[plan.supplier]
    old = entry.record.list_mapping or ListMapping()
    wanted: dict[str, Any] = {}
    if columns and plan.mapping is not None and plan.mapping.encoding != old.encoding:
        wanted["encoding"] = plan.mapping.encoding
    if columns and plan.proposed and plan.mapping is not None:
        proposed = plan.mapping.model_dump(exclude_unset=True)
        held = old.model_dump(exclude_unset=True)
        for name in ("columns", "decimal_mark", "list_name"):
            if name in proposed and proposed[name] != held.get(name):
                wanted[name] = proposed[name]
        if "columns" in wanted and "decimal_mark" in held:
            # The mark kept was that of the columns before.
            wanted["decimal_mark"] = proposed.get("decimal_mark")
    if plan.remembered is not None:
        for name in (*KEPT_IN.values(), "settled"):
            before = getattr(old, name)
            new = {
                key: answer
                for key, answer in getattr(plan.remembered, name).items()
                if not (entries and name == "settled" and key in plan.spent)
            }
            if new != before:
                wanted[name] = new
    if not wanted:
        return
    draft = _draft(edits, entry)
    has = draft.record(entry.id).get("list_mapping") or {}
    mapping = {name: each for name, each in {**has, **wanted}.items() if each is not None}
    draft.set_field(("records", entry.id), "list_mapping", mapping)
