"""The file that a new gear set goes into, and the place in it."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from fitcheck.catalogue.editing import Draft, new_file
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import shown_path
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import ListWords
from fitcheck.services.upkeep.edited import draft_of


def entry_at_home(catalogue: Catalogue, supplier: str) -> Entry[GearSet] | None:
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


def home_of(catalogue: Catalogue, supplier: str) -> Draft:
    """The file of a supplier's sets, opened, or a new one under `sets/`.

    Raises:
        UsageError: there is no place for one.
        EditError: the file has changed since the catalogue was read.
    """
    entry = entry_at_home(catalogue, supplier)
    if entry is not None:
        return draft_of(entry)
    path = new_path(catalogue, supplier)
    if path.exists():
        raise UsageError(
            f"{shown_path(path)} is there, but holds no valid set of {supplier}; fitcheck check "
            "says why, or move it away"
        )
    name = catalogue.suppliers[supplier].record.name
    return new_home(catalogue, supplier, path, comment=f"Gear sets of {name}.")


def new_path(catalogue: Catalogue, supplier: str) -> Path:
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


def new_home(catalogue: Catalogue, supplier: str, path: Path, *, comment: str) -> Draft:
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
    """The line that tells an editor the schema, as a neighbour has it; None where none has."""
    folder = Path(os.path.realpath(path)).parent
    for shown, source in catalogue.sources.items():
        first = source.line(1)
        if "gear-set.schema.json" in first and Path(os.path.realpath(shown)).parent == folder:
            return first
    return None


def defaults_of(draft: Draft) -> dict[str, Any]:
    """What a file gives for all its records."""
    found = getattr(draft.source.root, "value", {}).get("defaults")
    return dict(found) if isinstance(found, dict) else {}


def families_of(record: GearSet, words: ListWords) -> list[str]:
    """Families a set is for: as somebody vouches, else as the words of its list stand for."""
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
