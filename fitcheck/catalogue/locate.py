"""Which catalogue is meant: given, named by the environment, near by, or the demo."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fitcheck.catalogue.files import SUFFIXES, holds_catalogue
from fitcheck.errors import UnreadableError, UsageError

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
        passed_over: a folder `catalog` that was nearer but holds no YAML file; None where there
            is none.
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
        UsageError: an empty path was given.
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
    return Location(demo_folder(), "demo", passed_over)


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
