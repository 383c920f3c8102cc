"""Which shelf file a move goes to, and that it may be written at all."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from fitcheck.catalogue.ledger import ledger_path, pending_path
from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import shown_path
from fitcheck.errors import UsageError

_NAME = "shelf.yaml"


@dataclass(frozen=True, slots=True)
class ShelfFile:
    """A shelf file, which may still be to be made, and what stands beside it.

    Attributes:
        path: the shelf file itself, links followed.
        ledger: its ledger.
        pending: the mark of a move that is being written.
        shown: its path as shown to people.
    """

    path: Path
    ledger: Path
    pending: Path
    shown: str


def shelf_files(catalogue: Catalogue) -> tuple[ShelfFile, ...]:
    """The shelf files of a catalogue; where there is none, the one that a first move makes."""
    paths = list(catalogue.shelf_files.values())
    if not paths and catalogue.root.is_dir():
        paths = [catalogue.root / _NAME]
    return tuple(_file(path) for path in paths)


def _file(path: Path) -> ShelfFile:
    real = Path(os.path.realpath(path))
    return ShelfFile(real, ledger_path(real), pending_path(real), shown_path(path))


def shelf_file(catalogue: Catalogue, part: str | None = None) -> ShelfFile:
    """The shelf file to be written for a part: the one that holds it, else the only one.

    Args:
        catalogue: the catalogue.
        part: id of a gear set; left out: any part.

    Raises:
        UsageError: nothing may be moved in this catalogue, or nobody can say in which file.
    """
    if catalogue.is_demo:
        raise UsageError(
            f"the shelf of the built-in demo is not moved; copy the folder "
            f"{shown_path(catalogue.root)} to one of your own and name that with --catalog"
        )
    if not catalogue.root.is_dir():
        raise UsageError(
            f"{shown_path(catalogue.root)} is one file, which says nothing of the parts; name the "
            "folder of the catalogue with --catalog"
        )
    files = shelf_files(catalogue)
    if len(files) == 1:
        return files[0]
    if part is not None and part in catalogue.shelf:
        where = catalogue.shelf[part].source.path
        return next(file for file in files if file.shown == where)
    own = Path(os.path.realpath(catalogue.root / _NAME))
    for file in files:
        if file.path == own:
            return file
    raise UsageError(
        f"there are {len(files)} shelf files ({files[0].shown} and {files[1].shown}) and none is "
        f"{shown_path(catalogue.root / _NAME)}; write the entry into one of them by hand first"
    )
