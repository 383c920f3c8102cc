"""A plan carried out: drafts of the files it changes, shown as a diff or saved together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fitcheck.catalogue.editing import Draft, EditError, new_file, open_draft, save
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import MAX_FILE_BYTES, shown_path
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import ListMapping
from fitcheck.rules.setting import model_words, plain_word
from fitcheck.services.editing.overlay import new_findings
from fitcheck.services.intake.outcomes import Plan, RowOutcome

__all__ = ["Edits", "edits_of"]

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
    catalogue: Catalogue, plan: Plan, *, entries: bool = True, mapping: bool = False
) -> Edits:
    """Drafts of every file that a plan changes.

    Args:
        catalogue: the catalogue the plan was made against.
        plan: the plan.
        entries: whether its new and changed entries are written.
        mapping: whether a mapping proposed for the supplier is saved. Answers are remembered
            in either case.

    Raises:
        EditError: an entry cannot be written, or a file has changed since the plan was made.
        UsageError: the catalogue is one file and no place for the entries.
    """
    edits = Edits()
    if entries:
        for row in plan.of("changed"):
            entry = catalogue.gear_sets[row.set_id]
            _draft(edits, entry).set_fields(entry.id, dict(row.fields))
        new = plan.of("new")
        if new:
            _Adding(catalogue, plan.supplier, edits).add(new)
        _refuse_errors(catalogue, edits)
    _remember(catalogue, plan, edits, columns=mapping)
    return edits


def _refuse_errors(catalogue: Catalogue, edits: Edits) -> None:
    """What `check` would call an error afterwards, and does not now, is not drafted."""
    drafts = [draft for draft in edits.changed if draft.kind == "gear-set"]
    if not drafts:
        return
    written = {draft.source.path for draft in drafts}
    errors = [
        each
        for each in new_findings(catalogue, *drafts)
        if each.severity == "error" and each.span.path in written
    ]
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
        draft = edits.drafts[path] = open_draft(path)
        if draft.text != entry.source.text:
            raise EditError(
                f"{entry.source.path}: the file has changed since it was read; nothing written; "
                "run the command again"
            )
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
        defaults = _defaults(draft)
        for row in rows:
            fields = self._fields(row, defaults)
            size = _A_RECORD + len(row.set_id) + len(str(fields))
            if size > room:
                draft, room = self._next()
                last = self._last_of_family(draft)
                defaults = _defaults(draft)
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
        if currency == defaults.get("currency", "EUR"):
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
        held = Counter(entry.source.path for entry in self._of_supplier)
        named = [path for path in held if Path(path).stem.lower() == self._supplier.lower()] or [
            path for path, _ in held.most_common(1)
        ]
        if number == 1 and named:
            entry = next(e for e in self._of_supplier if e.source.path == named[0])
            return _draft(self._edits, entry)
        root = self._catalogue.root
        if not root.is_dir():
            raise UsageError(
                f"{shown_path(root)} is one file and holds no set of {self._supplier}; name the "
                "folder of the catalogue"
            )
        base = Path(named[0]) if named else root / "sets" / f"{self._supplier}.yaml"
        path = base if number == 1 else base.with_name(f"{base.stem}-{number}{base.suffix}")
        if path.exists():
            if shown_path(path) not in self._catalogue.sources:
                raise UsageError(f"{shown_path(path)}: is no file of the catalogue; move it away")
            draft = self._edits.drafts.get(path)
            if draft is None:
                draft = self._edits.drafts[path] = open_draft(path)
            return draft
        defaults: dict[str, Any] = {"supplier": self._supplier}
        if self._currency != "EUR":
            defaults["currency"] = self._currency
        name = self._catalogue.suppliers[self._supplier].record.name
        draft = new_file(
            path,
            "gear-set",
            modeline=self._modeline(path),
            comment=f"{name}: entries taken from its price lists.",
            defaults=defaults,
        )
        self._edits.drafts[path] = draft
        return draft

    def _modeline(self, path: Path) -> str:
        """The line that tells an editor the schema, as a neighbour has it."""
        for shown, source in self._catalogue.sources.items():
            first = source.line(1)
            if Path(shown).resolve().parent == path.resolve().parent and (
                "gear-set.schema.json" in first
            ):
                return first
        return ""

    def _last_of_family(self, draft: Draft) -> dict[str, str]:
        """Family to the last record of it in a file."""
        words = model_words(self._catalogue)
        here = {entry.id: entry.record for entry in self._of_supplier}
        last: dict[str, str] = {}
        for set_id in draft.ids:
            record = here.get(set_id)
            if record is not None:
                last.update(dict.fromkeys(_families(record, words), set_id))
        return last


def _families(record: GearSet, words: Mapping[str, frozenset[str]]) -> Iterable[str]:
    claimed = [claim.family for claim in record.fits]
    if claimed:
        return claimed
    return [
        family
        for model in record.listed_for.models
        for family in sorted(words.get(plain_word(model), ()))
    ]


def _defaults(draft: Draft) -> dict[str, Any]:
    root = draft.source.root
    found = getattr(root, "value", {}).get("defaults")
    return dict(found) if isinstance(found, dict) else {}


# -------------------------------------------------------------------- the supplier's file


def _remember(catalogue: Catalogue, plan: Plan, edits: Edits, *, columns: bool) -> None:
    """Answers, and on consent the columns, into the supplier's record."""
    entry = catalogue.suppliers[plan.supplier]
    old = entry.record.list_mapping or ListMapping()
    wanted: dict[str, Any] = {}
    if columns and plan.proposed and plan.mapping is not None:
        wanted["columns"] = dict(plan.mapping.columns)
        if "decimal_mark" in plan.mapping.model_fields_set:
            wanted["decimal_mark"] = plan.mapping.decimal_mark
        wanted["list_name"] = plan.list_name
    if plan.remembered is not None:
        for name in ("stage_words", "model_words", "housing_words", "settled"):
            new = getattr(plan.remembered, name)
            if new != getattr(old, name):
                wanted[name] = dict(new)
    if not wanted:
        return
    draft = _draft(edits, entry)
    has = draft.record(entry.id).get("list_mapping") or {}
    draft.set_field(("records", entry.id), "list_mapping", {**has, **wanted})
