"""Writing a sheet to its file: whole or not at all, and over nothing but an earlier sheet."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path

from fitcheck.errors import UsageError
from fitcheck.screens.page.page import GENERATOR

_HEAD = 4096
"""Bytes in which a sheet says what it is."""


def write_sheet(path: Path, text: str, *, force: bool = False) -> None:
    """Write a page.

    The text goes into a file beside the one meant, which then takes its place in one step: who
    opens the page sees the old one or the new one, never a part. A link is followed.

    Args:
        path: the file to write.
        text: the page.
        force: also over a file that is no sheet.

    Raises:
        UsageError: something else stands there, or the place cannot be written to.
    """
    try:
        # Unlike Path.resolve, the same in every release of Python for a link to itself.
        target = Path(os.path.realpath(path))
        mode = _mode(target)
        if mode is None:
            if not target.parent.is_dir():
                raise UsageError(
                    f"{path.parent} is no folder; make it first, or name another place"
                )
        elif stat.S_ISDIR(mode):
            raise UsageError(f"{path} is a folder; name a file in it, like {path / 'sheet.html'}")
        elif not stat.S_ISREG(mode):
            raise UsageError(f"{path} is no plain file; name another, or - for stdout")
        elif not force and not is_sheet(target):
            raise UsageError(
                f"{path} is there already and is no earlier sheet; name another file, or give "
                "--force to write over it"
            )
        _replace(target, text.encode("utf-8"), mode)
    except (OSError, ValueError) as error:  # an embedded null is no OSError
        reason = getattr(error, "strerror", None) or str(error)
        raise UsageError(f"{path} cannot be written: {reason.lower()}; name another file") from None


def is_sheet(path: Path) -> bool:
    """Whether a file says of itself that it is a sheet, or is empty.

    Raises:
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        head = file.read(_HEAD)
    return not head or f'<meta name="generator" content="{GENERATOR} '.encode() in head


def _mode(path: Path) -> int | None:
    """What stands there; None where nothing does. A link that leads nowhere raises OSError."""
    try:
        return path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None


def _replace(target: Path, data: bytes, mode: int | None) -> None:
    if mode is None:
        # What the user's mask leaves of a new file.
        mask = os.umask(0)
        os.umask(mask)
        mode = 0o666 & ~mask
    handle, name = tempfile.mkstemp(prefix=".sheet-", suffix=".html", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(mode & 0o777)
        Path(name).replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
