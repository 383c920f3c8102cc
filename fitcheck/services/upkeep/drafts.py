"""The draft of an edit: its file, the catalogue with it, what to say of it, and the saving."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fitcheck.catalogue.editing import Draft, EditError, new_file, open_draft, save
from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.reader import FIELDS, Catalogue, Entry
from fitcheck.catalogue.shape import shape_of
from fitcheck.diagnostics.finding import Finding, shown_path
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.model.kinds import KINDS
from fitcheck.rules.checks import check
from fitcheck.rules.setting import ListWords


def lay_over(catalogue: Catalogue, draft: Draft) -> Catalogue:
    """The catalogue with one file as a draft has it.

    Records that were refused stay refused: an edit corrects or breaks none but its own, which the
    draft has validated.
    """
    kind, source = draft.kind, draft.source
    shape = shape_of(source)
    known = catalogue.entries(kind)
    entries = dict(known)
    folded = {record_id.lower(): record_id for record_id in entries}
    records = shape.records.entries if shape.records is not None else {}
    for record_id, (_, node) in records.items():
        before = known.get(record_id)
        elsewhere = before is not None and before.source.path != source.path
        repeated = folded.get(record_id.lower(), record_id) != record_id
        refused = record_id in catalogue.failed[kind] or not isinstance(node, MapNode)
        if elsewhere or repeated or refused:
            continue
        assert isinstance(node, MapNode)
        record = KINDS[kind].model_validate({**shape.defaults, **node.value})
        entries[record_id] = Entry(kind, record_id, record, source)
    changed: dict[str, Any] = {FIELDS[kind]: MappingProxyType(entries)}
    sources = MappingProxyType({**catalogue.sources, source.path: source})
    return replace(catalogue, sources=sources, **changed)


def new_errors(catalogue: Catalogue, *drafts: Draft) -> list[Finding]:
    """Errors that drafts would make in their own files, and that are not there now.

    The catalogue as it is is checked only where there is an error that it may have already.
    """
    own = {draft.source.path for draft in drafts}
    found = check(_apply_drafts(catalogue, drafts), with_ledgers=False)
    errors = [each for each in found if each.severity == "error" and each.span.path in own]
    return _find_new(catalogue, errors) if errors else []


def _apply_drafts(catalogue: Catalogue, drafts: Iterable[Draft]) -> Catalogue:
    edited = catalogue
    for draft in drafts:
        edited = lay_over(edited, draft)
    return edited


def _find_new(
    catalogue: Catalogue, findings: Iterable[Finding], record_id: str | None = None
) -> list[Finding]:
    """Findings that the catalogue does not give now.

    Args:
        catalogue: the catalogue as it is.
        findings: what is wrong with it once it is edited.
        record_id: the one record that is edited. A finding about another record that only says
            another figure now, such as a usual price that the edit has moved, is not new then,
            unless it names that one.
    """
    # Lines move with an edit above them; the fingerprint does not.
    before = check(catalogue, with_ledgers=False)
    had = Counter((each.fingerprint, each.message) for each in before)
    changed: list[Finding] = []
    for finding in findings:
        mark = (finding.fingerprint, finding.message)
        if had[mark]:
            had[mark] -= 1
        else:
            changed.append(finding)
    if record_id is None:
        return changed
    left: Counter[str] = Counter()
    for (fingerprint, _), times in had.items():
        left[fingerprint] += times
    fresh: list[Finding] = []
    for finding in changed:
        if left[finding.fingerprint] and not _speaks_of(finding, record_id):
            left[finding.fingerprint] -= 1
        else:
            fresh.append(finding)
    return fresh


def _speaks_of(finding: Finding, record_id: str) -> bool:
    """Whether a finding is about a record, or names it."""
    words = (finding.message, *(each.label for each in finding.related))
    name = re.compile(rf"(?<![\w.-]){re.escape(record_id)}(?!\.?[\w-])")
    return finding.record == record_id or any(map(name.search, words))


@dataclass(slots=True)
class Edited:
    """What an edit would do; nothing is written before `save`.

    Attributes:
        record_id: id of the record.
        draft: the file with the edit in it; None where the catalogue says the same already.
        loud: what has to be looked at before it is written, a sentence each.
        notes: what else is worth a word.
        is_demo: whether the catalogue is the built-in demo, which is never written.
        root: the catalogue's folder or file as shown.
    """

    record_id: str
    draft: Draft | None
    loud: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    is_demo: bool = False
    root: str = ""

    @classmethod
    def of(cls, catalogue: Catalogue, record_id: str, draft: Draft | None = None) -> Edited:
        """An edit of a catalogue's record; without a draft one that changes nothing."""
        root = shown_path(catalogue.root)
        return cls(record_id, draft, is_demo=catalogue.is_demo, root=root)

    @property
    def changed(self) -> bool:
        """Whether saving would write anything."""
        return self.draft is not None and self.draft.changed

    def diff(self) -> str:
        """What saving would change, as a unified diff; empty where nothing."""
        return self.draft.diff() if self.draft is not None and self.changed else ""

    def save(self) -> str | None:
        """Write the file; its name, or None where there was nothing to write.

        Raises:
            UsageError: the catalogue is the built-in demo.
            EditError: the file has changed since it was read, or the disk refuses.
        """
        if self.draft is None or not self.changed:
            return None
        if self.is_demo:
            raise UsageError(self.demo_words)
        save([self.draft])
        return self.draft.shown

    @property
    def demo_words(self) -> str:
        """Why the demo is not written, and what to do."""
        return demo_words(self.root)


def demo_words(root: str) -> str:
    """Why the demo in some folder is not written, and what to do."""
    return (
        f"the built-in demo is never written; copy the folder {root} to one of your own and name "
        "that with --catalog"
    )


def draft_of(entry: Entry[Any]) -> Draft:
    """The draft of an entry's file, which must be as it was when the catalogue was read.

    Raises:
        EditError: it has changed meanwhile, or cannot be edited.
    """
    draft = open_draft(entry.source.file)
    if draft.text != entry.source.text:
        raise EditError(
            f"{entry.source.path}: the file has changed since it was read; nothing written; "
            "run the command again"
        )
    return draft


def judge(
    catalogue: Catalogue,
    record_id: str,
    draft: Draft,
    *,
    loud: list[str],
    notes: list[str],
    known: Collection[str] = (),
) -> Edited:
    """Hold an edit against the whole catalogue.

    Args:
        catalogue: the catalogue as it is.
        record_id: id of the record.
        draft: the file with the edit in it.
        loud: what has to be looked at.
        notes: what else is worth a word.
        known: codes of findings that the notes report in better words.

    Raises:
        UsageError: the catalogue would have an error that it does not have now.
        EditError: the file would not be read as meant.
    """
    edited = Edited.of(catalogue, record_id, draft)
    edited.loud += loud
    edited.notes += notes
    if not edited.changed:
        return edited
    # No edit touches the ledgers of the shelf.
    after = check(_apply_drafts(catalogue, [draft]), with_ledgers=False)
    found = _find_new(catalogue, after, record_id)
    errors = [each for each in found if each.severity == "error"]
    if errors:
        more = f" ({len(errors) - 1} more)" if len(errors) > 1 else ""
        raise UsageError(f"nothing written: there would be {_words(errors[0])}{more}")
    edited.notes += [_words(each) for each in found if each.code not in known]
    return edited


def _words(finding: Finding) -> str:
    article = "a warning" if finding.severity == "warning" else "an error"
    what = "advice" if finding.severity == "advice" else article
    advice = f"; {finding.help}" if finding.help else ""
    return f"{what} at {finding.span}: {finding.code} {finding.message}{advice}"


def find_target_entry(catalogue: Catalogue, supplier: str) -> Entry[GearSet] | None:
    """A set in the file that new ones of a supplier go into; None where it has no set yet.

    That is the file named like the supplier, else the one with most of its sets.
    """
    own = [entry for entry in catalogue.gear_sets.values() if entry.record.supplier == supplier]
    if not own:
        return None
    held = Counter(entry.source.path for entry in own)
    named = [path for path in held if Path(path).stem.lower() == supplier.lower()]
    chosen = named[0] if named else held.most_common(1)[0][0]
    return next(entry for entry in own if entry.source.path == chosen)


def open_target_file(catalogue: Catalogue, supplier: str) -> Draft:
    """The file of a supplier's sets, opened, or a new one under `sets/`.

    Raises:
        UsageError: there is no place for one.
        EditError: the file has changed since the catalogue was read.
    """
    entry = find_target_entry(catalogue, supplier)
    if entry is not None:
        return draft_of(entry)
    path = target_path(catalogue, supplier)
    if path.exists():
        raise UsageError(
            f"{shown_path(path)} is there, but holds no valid set of {supplier}; fitcheck check "
            "says why, or move it away"
        )
    name = catalogue.suppliers[supplier].record.name
    return new_target_file(catalogue, supplier, path, comment=f"Gear sets of {name}.")


def target_path(catalogue: Catalogue, supplier: str) -> Path:
    """Where the first file of a supplier's sets goes.

    Raises:
        UsageError: the catalogue is one file and no folder.
    """
    root = catalogue.root
    if not root.is_dir():
        raise UsageError(
            f"{shown_path(root)} is one file and holds no set of {supplier}; name the folder of "
            "the catalogue with --catalog"
        )
    return root / "sets" / f"{supplier}.yaml"


def new_target_file(catalogue: Catalogue, supplier: str, path: Path, *, comment: str) -> Draft:
    """A new file for a supplier's sets.

    Args:
        catalogue: the catalogue.
        supplier: id of the supplier.
        path: where the file will be.
        comment: what its head says.
    """
    return new_file(
        path,
        "gear-set",
        modeline=_modeline(catalogue, path),
        comment=comment,
        defaults={"supplier": supplier},
    )


def _modeline(catalogue: Catalogue, path: Path) -> str | None:
    """The line that names the schema for an editor, as a neighbour has it; else None."""
    folder = Path(os.path.realpath(path)).parent
    for shown, source in catalogue.sources.items():
        first = source.line(1)
        if "gear-set.schema.json" in first and Path(os.path.realpath(shown)).parent == folder:
            return first
    return None


def defaults_of(one: Draft | Entry[Any]) -> dict[str, Any]:
    """What a file, or that of an entry, gives for all its records."""
    found = getattr(one.source.root, "value", {}).get("defaults")
    return dict(found) if isinstance(found, dict) else {}


def families_of(record: GearSet, words: ListWords) -> list[str]:
    """Families a set is for: as somebody confirms, else as the words of its list stand for."""
    return [claim.family for claim in record.fits] or words.listed(record)


def last_of_family(catalogue: Catalogue, draft: Draft, families: Iterable[str]) -> str | None:
    """The last set of a file that is for one of some families; None: none is."""
    wanted = set(families)
    words = ListWords.of(catalogue)
    found = None
    for set_id in draft.ids:
        entry = catalogue.gear_sets.get(set_id)
        if entry is not None and wanted & set(families_of(entry.record, words)):
            found = set_id
    return found
