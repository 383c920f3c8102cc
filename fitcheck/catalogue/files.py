"""The YAML files of a catalogue folder, in an order that does not depend on the disk."""

from __future__ import annotations

import os
from pathlib import Path

from fitcheck.catalogue.source import shown_path
from fitcheck.diagnostics.finding import Finding, Span

SUFFIXES = (".yaml", ".yml")
MAX_FILES = 5000
MAX_FOLDERS_DEEP = 40

_LEFT_OUT = ("_", ".")


class _Walk:
    """A walk that ends at the first file past `most`."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.files: list[Path] = []
        self.findings: list[Finding] = []
        self.seen: set[tuple[int, int]] = set()

    def folder(self, folder: Path, depth: int) -> None:
        try:
            with os.scandir(folder) as entries:
                listed = [entry for entry in entries if not entry.name.startswith(_LEFT_OUT)]
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            self._unreadable(folder, f"the folder cannot be read ({reason})")
            return
        # Names are compared ignoring case; of two that differ in case only, capitals come first.
        for entry in sorted(listed, key=lambda each: (each.name.casefold(), each.name)):
            if len(self.files) > self.most:
                return
            path = folder / entry.name
            wanted = entry.name.lower().endswith(SUFFIXES)
            try:
                is_folder = entry.is_dir()
            except OSError:
                is_folder = False
            if is_folder and wanted:
                self._unreadable(path, "this is a folder, though its name is that of a file")
            elif is_folder:
                self.enter(path, depth + 1)
            elif wanted:
                self.files.append(path)
            elif entry.is_symlink() and not path.exists():
                self._unreadable(path, "this link leads to nothing, or to itself")

    def enter(self, path: Path, depth: int = 0) -> None:
        if depth > MAX_FOLDERS_DEEP:
            what = f"folders are nested more than {MAX_FOLDERS_DEEP} deep; the rest is not read"
            advice = "a catalogue needs a handful of levels; move the files up"
            self.findings.append(Finding("FC002", what, Span(shown_path(path)), help=advice))
            return
        try:
            status = path.stat()
        except OSError as error:
            self._unreadable(path, f"the folder cannot be read ({(error.strerror or '').lower()})")
            return
        mark = (status.st_dev, status.st_ino)
        if mark in self.seen:
            self._unreadable(path, "this link leads to a folder that is read already")
            return
        self.seen.add(mark)
        self.folder(path, depth)

    def _unreadable(self, path: Path, what: str) -> None:
        self.findings.append(
            Finding(
                "FC001",
                what,
                Span(shown_path(path)),
                help="rename it, move it away, or begin its name with _ to leave it out",
            )
        )


def catalogue_files(root: Path) -> tuple[list[Path], list[Finding]]:
    """The catalogue files below a folder.

    Names that begin with a dot or an underscore are left out; `.yaml` and `.yml` are read.

    Args:
        root: the folder.

    Returns:
        The files in order, and what could not be listed; at most `MAX_FILES` files.
    """
    walk = _Walk(MAX_FILES)
    walk.enter(root)
    if len(walk.files) > MAX_FILES:
        del walk.files[MAX_FILES:]
        walk.findings.append(
            Finding(
                "FC002",
                f"the folder holds more than {MAX_FILES:,} YAML files; the rest is not read",
                Span(shown_path(root)),
                help="is this the folder of the catalogue?",
            )
        )
    return walk.files, walk.findings


def holds_catalogue(folder: Path) -> bool:
    """Whether a folder holds at least one YAML file that would be read."""
    walk = _Walk(0)
    if folder.is_dir():
        walk.enter(folder)
    return bool(walk.files)
