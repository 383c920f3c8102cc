"""Writing a sheet to its file: whole or not at all, and over nothing but an earlier sheet."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from fitcheck.errors import UsageError
from fitcheck.report.page.page import GENERATOR

__all__ = ["is_sheet", "write_sheet"]

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
        target = path.resolve()
        if target.is_dir():
            raise UsageError(f"{path} is a folder; name a file in it, like {path / 'sheet.html'}")
        if target.exists() and not target.is_file():
            raise UsageError(f"{path} is no plain file; name another, or - for stdout")
        if not target.parent.is_dir():
            raise UsageError(f"{path.parent} is no folder; make it first, or name another place")
        if target.exists() and not force and not is_sheet(target):
            raise UsageError(
                f"{path} is there already and is no earlier sheet; name another file, or give "
                "--force to write over it"
            )
        _replace(target, text.encode("utf-8"))
    except (OSError, ValueError, RuntimeError) as error:
        # An embedded null and a link to itself are no OSError in every release of Python.
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


def _replace(target: Path, data: bytes) -> None:
    # The mode of the file that was there, or what the user's mask leaves of a new one.
    mask = os.umask(0)
    os.umask(mask)
    mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~mask
    handle, name = tempfile.mkstemp(prefix=".sheet-", suffix=".html", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(mode)
        Path(name).replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
