"""An edit that is ready: its draft, what it does in words, and the saving."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

from fitcheck.catalogue.editing import Draft, EditError, open_draft, save
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import shown_path
from fitcheck.diagnostics.finding import Finding
from fitcheck.errors import UsageError
from fitcheck.services.upkeep.overlay import new_findings


@dataclass(slots=True)
class Edited:
    """What an edit would do; nothing is written before `save`.

    Attributes:
        set_id: id of the gear set.
        draft: the file with the edit in it; None where the catalogue says the same already.
        loud: what has to be looked at before it is written, a sentence each.
        notes: what else is worth a word.
        is_demo: whether the catalogue is the built-in demo, which is never written.
        root: the catalogue's folder or file as shown.
    """

    set_id: str
    draft: Draft | None
    loud: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    is_demo: bool = False
    root: str = ""

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
    set_id: str,
    draft: Draft,
    *,
    loud: list[str],
    notes: list[str],
    known: Collection[str] = (),
) -> Edited:
    """Hold an edit against the whole catalogue.

    Args:
        catalogue: the catalogue as it is.
        set_id: id of the set.
        draft: the file with the edit in it.
        loud: what has to be looked at.
        notes: what else is worth a word.
        known: codes of findings that the notes tell in better words.

    Raises:
        UsageError: the catalogue would have an error that it does not have now.
        EditError: the file would not be read as meant.
    """
    edited = Edited(
        set_id, draft, list(loud), list(notes), catalogue.is_demo, shown_path(catalogue.root)
    )
    if not edited.changed:
        return edited
    found = new_findings(catalogue, draft)
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
