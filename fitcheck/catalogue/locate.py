"""Which catalogue is meant (given, named by the environment, near by, the demo), and its files."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fitcheck.diagnostics.finding import Finding, Span, shown_path
from fitcheck.errors import UnreadableError, UsageError, reason_of

SUFFIXES = (".yaml", ".yml")
MAX_FILES = 5000
MAX_FOLDERS_DEEP = 40

_LEFT_OUT = ("_", ".")


_LIKE_YAML = re.compile(r"\.ya?ml(?![a-z0-9])", re.IGNORECASE)
"""In names such as `sets.yaml.txt`, `sets.yml.bak` and `sets.yaml~`."""


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
            self._unreadable(folder, f"the folder cannot be read ({reason_of(error)})")
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
            elif _LIKE_YAML.search(entry.name):
                self.findings.append(
                    Finding(
                        "FC025",
                        "this file is not read, though its name is almost that of a YAML file",
                        Span(shown_path(path)),
                        help="let its name end in .yaml, move it away, or begin it with _",
                    )
                )

    def enter(self, path: Path, depth: int = 0) -> None:
        if depth > MAX_FOLDERS_DEEP:
            what = f"folders are nested more than {MAX_FOLDERS_DEEP} deep; the rest is not read"
            advice = "a catalogue needs a handful of levels; move the files up"
            self.findings.append(Finding("FC002", what, Span(shown_path(path)), help=advice))
            return
        try:
            status = path.stat()
        except OSError as error:
            self._unreadable(path, f"the folder cannot be read ({reason_of(error)})")
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


ENVIRONMENT = "FITCHECK_CATALOG"
FOLDER = "catalog"

Origin = Literal["given", "environment", "found", "demo"]

_PACKAGE = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, slots=True)
class Location:
    """Where a catalogue is, and why this one.

    Attributes:
        path: a folder, or one file.
        origin: given by the caller, named by the environment, found as ./catalog here or in a
            parent folder, or the demo that travels with the package.
        passed_over: a folder `catalog` that was nearer than the one found but holds no YAML file;
            None where there is none.
    """

    path: Path
    origin: Origin
    passed_over: Path | None = None

    @property
    def is_demo(self) -> bool:
        """Whether this is the demo catalogue, however it was come by."""
        try:
            demo = demo_folder()
        except UnreadableError:
            return False
        return self.origin == "demo" or os.path.realpath(self.path) == os.path.realpath(demo)


def find_catalogue(given: str | os.PathLike[str] | None = None) -> Location:
    """The catalogue to read.

    Args:
        given: a path the user named; it wins over everything else.

    Returns:
        The first there is of: `given`, `$FITCHECK_CATALOG`, a folder `catalog` here or in a parent
        folder, the demo inside the package.

    Raises:
        UsageError: an empty path was given, or the only folder `catalog` holds no YAML file: the
            demo never answers in the place of a catalogue that is there.
        UnreadableError: the path given, or named by the environment, does not exist or is a file
            of another kind.
    """
    if given is not None:
        return Location(_existing(os.fspath(given), "the catalogue"), "given")
    named = os.environ.get(ENVIRONMENT, "")
    if named.strip():
        return Location(_existing(named, f"the catalogue that ${ENVIRONMENT} names"), "environment")
    near, passed_over = _near()
    if near is not None:
        return Location(near, "found", passed_over)
    if passed_over is not None:
        raise UsageError(
            f"{shown_path(passed_over)} holds no YAML file, and the demo does not answer in its "
            "place; put the catalogue there, or name one with --catalog"
        )
    return Location(demo_folder(), "demo")


def demo_folder() -> Path:
    """The demo catalogue: inside the installed package, or beside it in a checkout.

    Raises:
        UnreadableError: the package came without it.
    """
    for folder in (_PACKAGE / "demo" / FOLDER, _PACKAGE.parent / FOLDER):
        if folder.is_dir():
            return folder
    raise UnreadableError(
        "the demo catalogue is missing from this installation; name a catalogue with --catalog"
    )


def _existing(text: str, what: str) -> Path:
    if not text.strip():
        raise UsageError(f"{what} is named by an empty path; name a folder or a file")
    try:
        path = Path(text).expanduser()
        there = path.exists()
    except (OSError, RuntimeError, ValueError):
        path, there = Path(text), False
    if not there:
        raise UnreadableError(f"{what} is not there: {text!r}; name a folder or a YAML file")
    if path.is_file() and path.suffix.lower() not in SUFFIXES:
        raise UnreadableError(
            f"{what} is no YAML file: {text!r}; name a folder, or a file that ends in .yaml"
        )
    return path


def _near() -> tuple[Path | None, Path | None]:
    """The nearest catalogue here or above, and the nearest folder of its name that is none."""
    passed_over: Path | None = None
    try:
        here = Path.cwd()
    except OSError:
        return None, None
    for folder in (here, *here.parents):
        candidate = folder / FOLDER
        try:
            # Other programs call a folder "catalog" too; without one YAML file it is not ours.
            if holds_catalogue(candidate):
                return candidate, passed_over
            if passed_over is None and candidate.is_dir():
                passed_over = candidate
        except OSError:
            continue
    return None, passed_over
