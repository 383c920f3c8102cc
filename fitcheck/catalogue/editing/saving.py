"""Drafts of files, opened or made, and saved.

All or none are saved where that can be; each file is old or new, and never half.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

from fitcheck.catalogue.editing.draft import Draft
from fitcheck.catalogue.editing.record_text import write_entry
from fitcheck.catalogue.editing.style import Style
from fitcheck.catalogue.editing.values import plain_data
from fitcheck.catalogue.problems import shown
from fitcheck.catalogue.schema import file_name
from fitcheck.catalogue.source import MAX_FILE_BYTES
from fitcheck.diagnostics.finding import shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import EditError, UnreadableError, reason_of
from fitcheck.model.kinds import DEFAULTABLE, KINDS

_SCHEMAS, _NEAR = "schemas", 3
"""Name of the folder of schemas, and so many folders above a file it is looked for."""


def draft_from_bytes(path: Path | str, data: bytes) -> Draft:
    """A draft of a file whose bytes were read already.

    Raises:
        EditError: the file cannot be edited: it is no YAML, or none of a catalogue.
    """
    return Draft(Path(path), data, data)


def open_draft(path: Path | str) -> Draft:
    """Read a file to edit it.

    Args:
        path: a catalogue file; a link is followed, and stays.

    Raises:
        UnreadableError: it is missing, or cannot be read.
        EditError: it cannot be edited: it is no YAML, or none of a catalogue.
    """
    where = Path(path)
    try:
        with where.open("rb") as stream:
            data = stream.read(MAX_FILE_BYTES + 1)
    except (OSError, ValueError) as error:
        name = shown_path(where)
        raise UnreadableError(f"{name}: the file cannot be read ({reason_of(error)})") from None
    return draft_from_bytes(where, data)


def new_file(
    path: Path | str,
    kind: str,
    *,
    modeline: str | None = None,
    comment: str = "",
    defaults: Mapping[str, object] | None = None,
) -> Draft:
    """A draft of a file that is still to be made; it needs a record before it can be saved.

    Args:
        path: where it will be; saving refuses if a file is there by then.
        kind: a key of `KINDS`.
        modeline: first line, such as `yaml-language-server: $schema=...`; a comment. None: the
            one that leads to the kind's schema, where `fitcheck schema --write` has put it into a
            folder `schemas` beside the file or above it.
        comment: text of the comment below it.
        defaults: fields given once for all records.

    Raises:
        EditError: there is no such kind, or the defaults are none of it.
    """
    name = shown_path(path)
    if kind not in KINDS:
        raise EditError(f"{name}: there is no kind {shown(kind)}")
    if modeline is None:
        modeline = _schema_line(Path(path), kind)
    head = [f"# {modeline.removeprefix('#').strip()}", "#"] if modeline else []
    head += [f"# {line}".rstrip() for line in comment.splitlines()]
    if head:
        head = [*(head if comment else head[:-1]), ""]
    lines = [*head, f"kind: {kind}"]
    try:
        given = plain_data(dict(defaults or {}), "defaults")
    except ValueError as error:
        raise EditError(f"{name}: {error}") from None
    if given:
        lines += write_entry("defaults", given, 0, (), Style([]))
    lines += ["records:"]
    draft = Draft(Path(path), ("\n".join(lines) + "\n").encode(), None)
    if set(given) - set(DEFAULTABLE.get(kind, ())):
        wrong = or_list(sorted(set(given) - set(DEFAULTABLE.get(kind, ()))))
        raise EditError(f"{name}: {wrong} cannot be given under defaults")
    return draft


def _schema_line(path: Path, kind: str) -> str:
    """The line that names the schema of a file for an editor; empty where none is near.

    A file two folders below the catalogue's, with the schemas beside that, is the deepest usual.
    """
    name = file_name(kind)
    folder = path.absolute().parent
    for steps, above in enumerate((folder, *folder.parents)[: _NEAR + 1]):
        if (above / _SCHEMAS / name).is_file():
            return f"yaml-language-server: $schema={'../' * steps}{_SCHEMAS}/{name}"
    return ""


LOCK_NAME = ".fitcheck.lock"
"""Beside the files it guards; names that begin with a dot are no catalogue files."""

WAIT_SECONDS = 30.0

_TEMPORARY = ".fitcheck-tmp"

# Whoever lets go and asks again at once stands back for several looks of those who wait, or it
# would be served time and again before them.
LOOK_SECONDS = 0.004
STAND_BACK_SECONDS = 0.016

# One lock object a folder: taken twice by one thread it counts, instead of waiting for itself.
_LOCKS: dict[Path, FileLock] = {}
_LET_GO: dict[Path, float] = {}
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_LOCKS.clear)  # a lock is that of the process that made it


@contextmanager
def locked(*folders: Path | str, wait: float = WAIT_SECONDS) -> Iterator[None]:
    """Hold the locks of some folders, against every other program that asks for them.

    May be taken again by the thread that holds it. Folders are taken in one order, so that two
    programs never wait for each other.

    Args:
        folders: folders that hold catalogue files.
        wait: seconds to wait for a lock that another program holds.

    Raises:
        EditError: another program held a lock all that time, or no lock can be made there.
    """
    with ExitStack() as stack:
        for folder in sorted({Path(os.path.realpath(each)) for each in folders}):
            lock = _LOCKS.setdefault(folder, FileLock(folder / LOCK_NAME))
            name = shown_path(folder)
            try:
                since = time.monotonic() - _LET_GO.get(folder, -1.0)
                if not lock.is_locked and since < STAND_BACK_SECONDS:
                    time.sleep(STAND_BACK_SECONDS)
                lock.acquire(timeout=wait, poll_interval=LOOK_SECONDS)
            except Timeout:
                raise EditError(
                    f"{name}: another program is writing here; nothing was written; try again"
                ) from None
            except OSError as error:
                raise _refusal(name, "the folder cannot be locked", error) from None
            stack.callback(_release, lock, folder)
        yield


def _release(lock: FileLock, folder: Path) -> None:
    # The work is done by then; the system lets go of what cannot be closed when we end.
    with contextlib.suppress(OSError):
        lock.release()
    _LET_GO[folder] = time.monotonic()


@dataclass(slots=True)
class _Planned:
    draft: Draft
    target: Path
    data: bytes
    temporary: Path | None = None


def save(drafts: Iterable[Draft], *, wait: float = WAIT_SECONDS) -> tuple[Path, ...]:
    """Write drafts to their files.

    Every draft is proved and every new file written beside its old one, before the first old one
    is replaced. A crash leaves each file old or new, whole.

    Args:
        drafts: the drafts; one without changes is left alone.
        wait: seconds to wait for another program that writes there.

    Returns:
        The files that were written.

    Raises:
        EditError: a draft does not hold, a file has changed since it was read, another program
            holds the folder, or the disk refuses. Nothing was written then, unless it says so.
    """
    planned = [
        _Planned(draft, Path(os.path.realpath(draft.path)), draft.data)
        for draft in drafts
        if draft.changed
    ]
    _refuse_twice(planned)
    for each in planned:
        if not each.draft.ids:
            raise EditError(f"{each.draft.shown}: the new file has no record yet; nothing written")
        if each.draft.base is None:
            _make_folder(each)
    with locked(*{each.target.parent for each in planned}, wait=wait):
        for each in planned:
            _refuse_changed(each)
        try:
            for each in planned:
                _write_beside(each)
            _replace_all(planned)
            for folder in sorted({each.target.parent for each in planned}):
                _confirm_folder(folder)
        finally:
            for each in planned:
                if each.temporary is not None:
                    with contextlib.suppress(OSError):
                        each.temporary.unlink()
    return tuple(each.draft.path for each in planned)


def _refusal(name: str, what: str, error: OSError) -> EditError:
    return EditError(f"{name}: {what} ({reason_of(error)}); nothing written")


def _refuse_twice(planned: list[_Planned]) -> None:
    seen: set[Path] = set()
    for each in planned:
        if each.target in seen:
            raise EditError(f"{each.draft.shown}: two drafts of one file; nothing written")
        seen.add(each.target)


def _make_folder(each: _Planned) -> None:
    try:
        each.target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refusal(each.draft.shown, "its folder cannot be made", error) from None


def _refuse_changed(each: _Planned) -> None:
    name, base = each.draft.shown, each.draft.base
    try:
        there: bytes | None = each.target.read_bytes()
    except FileNotFoundError:
        there = None
    except OSError as error:
        raise _refusal(name, "the file cannot be read again", error) from None
    if there == base:
        if base is not None and not os.access(each.target, os.W_OK):
            raise EditError(f"{name}: the file is write-protected; nothing written")
        return
    if base is None:
        what = "a file is there by now"
    elif there is None:
        what = "the file is gone since it was read"
    else:
        what = "the file has changed since it was read"
    raise EditError(f"{name}: {what}; nothing written; read it again and repeat the edit")


def _write_beside(each: _Planned) -> None:
    folder, name = each.target.parent, each.target.name
    # What an earlier crash left; whoever writes here holds the lock.
    for left in folder.glob(f".{_escape_name(name)}.*{_TEMPORARY}"):
        with contextlib.suppress(OSError):
            left.unlink()
    temporary = folder / f".{name}.{secrets.token_hex(6)}{_TEMPORARY}"
    each.temporary = temporary
    try:
        with temporary.open("xb") as stream:
            stream.write(each.data)
            if each.draft.base is not None:
                _like(each.target, stream.fileno(), temporary)
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as error:
        raise _refusal(each.draft.shown, "the new file cannot be written", error) from None


def _escape_name(name: str) -> str:
    return "".join(f"[{char}]" if char in "*?[" else char for char in name)


def _like(target: Path, descriptor: int, temporary: Path) -> None:
    """Give the new file the owner and the mode of the old one, where we may."""
    old = target.stat()
    if hasattr(os, "fchown"):
        own = os.fstat(descriptor)
        if (own.st_uid, own.st_gid) != (old.st_uid, old.st_gid):
            with contextlib.suppress(OSError):
                os.fchown(descriptor, old.st_uid, old.st_gid)
    # After the owner: a change of owner takes bits of the mode away.
    temporary.chmod(stat.S_IMODE(old.st_mode))


def _replace_all(planned: list[_Planned]) -> None:
    done: list[str] = []
    for each in planned:
        assert each.temporary is not None
        try:
            _put_in_place(each)
        except OSError as error:
            rest = f"; written before it: {', '.join(done)}" if done else "; nothing written"
            what = f"cannot be replaced ({reason_of(error)})"
            raise EditError(f"{each.draft.shown}: {what}{rest}") from None
        each.temporary = None
        each.draft.take_written(each.data)
        done.append(each.draft.shown)


def _put_in_place(each: _Planned) -> None:
    assert each.temporary is not None
    if each.draft.base is None:
        # A link, unlike a replacement, refuses where a file has come meanwhile.
        try:
            os.link(each.temporary, each.target)
        except FileExistsError:
            raise
        except OSError:
            pass  # a disk without links
        else:
            each.temporary.unlink()
            return
    each.temporary.replace(each.target)


def sync_folder(folder: Path) -> None:
    """Have the disk keep what a folder lists.

    Raises:
        OSError: the disk refuses.
    """
    if os.name == "nt":
        return  # folders cannot be opened there
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _confirm_folder(folder: Path) -> None:
    try:
        sync_folder(folder)
    except OSError as error:
        raise EditError(
            f"{shown_path(folder)}: written, but the disk did not confirm it "
            f"({reason_of(error)}); look at it"
        ) from None
