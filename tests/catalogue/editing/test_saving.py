"""Drafts to files: whole or not at all, by one writer at a time, with what the file had kept.

Faults are put in at every call that touches the disk; other writers are real processes. What
POSIX promises of rename(2) and flock(2) is relied on; nothing here is timed.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import signal
import stat
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fitcheck.catalogue.editing import (
    Draft,
    EditError,
    locked,
    new_file,
    open_draft,
    save,
)
from fitcheck.catalogue.editing import saving as saving_module
from fitcheck.catalogue.locate import catalogue_files
from fitcheck.catalogue.schema import schemas, write_schemas
from fitcheck.errors import UnreadableError
from tests.conftest import EXPLORE, some

SHELF = "# counted\nkind: shelf\nrecords:\n  A-1: {quantity: 1, place: drawer A1}   # near\n"
ROOT = Path(__file__).parents[3]
SEARCHED = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH")]))
ENVIRONMENT = {**os.environ, "PYTHONPATH": SEARCHED}


def made(folder: Path, name: str = "shelf.yaml", text: str = SHELF) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def counted(path: Path, quantity: int) -> Draft:
    draft = open_draft(path)
    draft.set_value(("records", "A-1", "quantity"), quantity)
    return draft


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name != ".fitcheck.lock")


def test_only_the_value_changes(tmp_path: Path) -> None:
    path = made(tmp_path)

    assert save([counted(path, 2)]) == (path,)

    assert path.read_text(encoding="utf-8") == SHELF.replace("quantity: 1", "quantity: 2")
    assert names(tmp_path) == ["shelf.yaml"]


def test_a_draft_without_changes_is_left_alone(tmp_path: Path) -> None:
    path = made(tmp_path)
    before = path.stat()

    assert save([open_draft(path)]) == ()

    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert path.stat().st_ino == before.st_ino


def test_a_draft_goes_on_after_saving(tmp_path: Path) -> None:
    path = made(tmp_path)
    draft = counted(path, 2)
    save([draft])
    assert draft.diff() == ""

    draft.set_value(("records", "A-1", "quantity"), 3)
    save([draft])

    assert "quantity: 3" in path.read_text(encoding="utf-8")


@pytest.mark.skipif(os.name == "nt", reason="modes are POSIX")
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o755])
def test_the_mode_stays(tmp_path: Path, mode: int) -> None:
    path = made(tmp_path)
    path.chmod(mode)

    save([counted(path, 2)])

    assert stat.S_IMODE(path.stat().st_mode) == mode


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives away")
def test_the_owner_stays(tmp_path: Path) -> None:
    path = made(tmp_path)
    os.chown(path, 12345, 54321)
    path.chmod(0o640)

    save([counted(path, 2)])

    after = path.stat()
    assert (after.st_uid, after.st_gid, stat.S_IMODE(after.st_mode)) == (12345, 54321, 0o640)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives away")
def test_an_owner_that_cannot_be_given_is_no_hindrance(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made(tmp_path)
    os.chown(path, 12345, 54321)

    def refuse(*_: Any) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "fchown", refuse)
    save([counted(path, 2)])

    assert "quantity: 2" in path.read_text(encoding="utf-8")


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "kept").mkdir()
    target = made(tmp_path / "kept", "real.yaml")
    link = tmp_path / "shelf.yaml"
    link.symlink_to(target)

    save([counted(link, 2)])

    assert link.is_symlink()
    assert "quantity: 2" in target.read_text(encoding="utf-8")
    assert names(tmp_path / "kept") == ["real.yaml"]


@pytest.mark.parametrize("folders", ["", "sets", "sets/marram"])
def test_a_new_file_names_the_schema_that_lies_near(folders: str, tmp_path: Path) -> None:
    write_schemas(tmp_path / "schemas", schemas())
    home = tmp_path / "catalog" / folders
    line = new_file(home / "x.yaml", "gear-set").text.splitlines()[0]
    _, _, where = line.partition("# yaml-language-server: $schema=")
    assert Path(os.path.normpath(home / where)) == tmp_path / "schemas" / "gear-set.schema.json"
    (tmp_path / "schemas" / "gear-set.schema.json").unlink()
    assert new_file(home / "x.yaml", "gear-set").text.startswith("kind: gear-set")


def test_a_new_file(tmp_path: Path) -> None:
    path = tmp_path / "sets" / "marram.yaml"
    draft = new_file(
        path,
        "gear-set",
        modeline="yaml-language-server: $schema=../../schemas/gear-set.schema.json",
        comment="Marram.\n\nGround pairs.",
        defaults={"supplier": "marram"},
    )
    draft.add_record("MA-1", {"pairs": {"primary": "15/44"}, "part_number": "1544"})

    assert save([draft]) == (path,)

    assert path.read_text(encoding="utf-8") == textwrap.dedent(
        """\
        # yaml-language-server: $schema=../../schemas/gear-set.schema.json
        #
        # Marram.
        #
        # Ground pairs.

        kind: gear-set
        defaults: {supplier: marram}
        records:
          MA-1:
            part_number: "1544"
            pairs: {primary: 15/44}
        """
    )


def test_a_new_file_has_the_mode_that_the_user_asks_for(tmp_path: Path) -> None:
    draft = new_file(tmp_path / "shelf.yaml", "shelf")
    draft.add_record("A-1", {"quantity": 1})
    old = os.umask(0o027)
    try:
        save([draft])
    finally:
        os.umask(old)

    assert stat.S_IMODE((tmp_path / "shelf.yaml").stat().st_mode) == 0o640


# -- refusals --------------------------------------------------------------------------------------


def test_a_file_changed_meanwhile_is_refused(tmp_path: Path) -> None:
    path = made(tmp_path)
    draft = counted(path, 2)
    path.write_text(SHELF + "  B-1: {quantity: 1}\n", encoding="utf-8")

    with pytest.raises(EditError, match=r"shelf\.yaml: the file has changed since it was read; no"):
        save([draft])

    assert path.read_text(encoding="utf-8") == SHELF + "  B-1: {quantity: 1}\n"
    assert names(tmp_path) == ["shelf.yaml"]


def test_a_change_of_the_same_length_and_time_is_seen(tmp_path: Path) -> None:
    path = made(tmp_path)
    draft = counted(path, 2)
    times = (path.stat().st_atime_ns, path.stat().st_mtime_ns)
    path.write_text(SHELF.replace("A1}", "A2}"), encoding="utf-8")
    os.utime(path, ns=times)

    with pytest.raises(EditError, match="changed since it was read"):
        save([draft])


def test_a_file_gone_meanwhile_is_refused(tmp_path: Path) -> None:
    path = made(tmp_path)
    draft = counted(path, 2)
    path.unlink()

    with pytest.raises(EditError, match="the file is gone"):
        save([draft])

    assert names(tmp_path) == []


def test_a_write_protected_file_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made(tmp_path)
    path.chmod(0o444)
    if hasattr(os, "geteuid") and os.geteuid() == 0:  # nothing is protected from root
        monkeypatch.setattr(os, "access", lambda *_: False)

    with pytest.raises(EditError, match="write-protected; nothing written"):
        save([counted(path, 2)])

    assert path.read_text(encoding="utf-8") == SHELF


def test_edits_that_cancel_out_write_nothing(tmp_path: Path) -> None:
    path = made(tmp_path)
    draft = counted(path, 2)
    draft.set_value(("records", "A-1", "quantity"), 1)

    assert save([draft]) == ()


def test_a_new_file_overwrites_none(tmp_path: Path) -> None:
    draft = new_file(tmp_path / "shelf.yaml", "shelf")
    draft.add_record("A-1", {"quantity": 1})
    path = made(tmp_path)

    with pytest.raises(EditError, match="a file is there by now"):
        save([draft])

    assert path.read_text(encoding="utf-8") == SHELF


def test_a_new_file_that_comes_at_the_last_moment_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    draft = new_file(tmp_path / "shelf.yaml", "shelf")
    draft.add_record("A-1", {"quantity": 1})
    link = os.link

    def late(*args: Any, **kwargs: Any) -> None:
        made(tmp_path)
        link(*args, **kwargs)

    monkeypatch.setattr(os, "link", late)
    with pytest.raises(EditError, match="cannot be replaced"):
        save([draft])

    assert (tmp_path / "shelf.yaml").read_text(encoding="utf-8") == SHELF
    assert names(tmp_path) == ["shelf.yaml"]


def test_a_new_file_without_records_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EditError, match="no record yet"):
        save([new_file(tmp_path / "shelf.yaml", "shelf")])

    assert names(tmp_path) == []


def test_one_that_is_refused_holds_back_all(tmp_path: Path) -> None:
    one, two = made(tmp_path, "one.yaml"), made(tmp_path, "two.yaml")
    drafts = [counted(one, 2), counted(two, 2)]
    two.write_text(SHELF + "\n", encoding="utf-8")

    with pytest.raises(EditError, match=r"two\.yaml"):
        save(drafts)

    assert one.read_text(encoding="utf-8") == SHELF


def test_two_drafts_of_one_file_are_refused(tmp_path: Path) -> None:
    path = made(tmp_path)
    link = tmp_path / "link.yaml"
    link.symlink_to(path)

    with pytest.raises(EditError, match="two drafts of one file"):
        save([counted(path, 2), counted(link, 3)])

    assert path.read_text(encoding="utf-8") == SHELF


def test_a_missing_file_and_a_folder_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="cannot be read"):
        open_draft(tmp_path / "none.yaml")
    with pytest.raises(UnreadableError, match="cannot be read"):
        open_draft(tmp_path)


# -- faults at every step --------------------------------------------------------------------------


class StopError(BaseException):
    """A crash: nothing catches it."""


def calls(path: Path, monkeypatch: pytest.MonkeyPatch, fault: Callable[[int], None]) -> int:
    """Save with `fault` called before every call that touches the disk; how many there were."""
    count = 0

    def watched(function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **kwargs: Any) -> Any:
            nonlocal count
            count += 1
            fault(count)
            return function(*args, **kwargs)

        return run

    drafts = [counted(path, 2), counted(path.with_name("two.yaml"), 2)]
    with monkeypatch.context() as patch:
        for owner, name in [
            (os, "fsync"),
            (os, "fchown"),
            (os, "open"),
            (os, "close"),
            (Path, "open"),
            (Path, "chmod"),
            (Path, "replace"),
            (Path, "read_bytes"),
            (Path, "unlink"),
        ]:
            patch.setattr(owner, name, watched(getattr(owner, name)))
        save(drafts)
    return count


def ready(folder: Path) -> Path:
    made(folder, "two.yaml")
    return made(folder)


def steps_of_saving() -> int:
    import tempfile

    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        return calls(ready(Path(folder)), patch, lambda _: None)


STEPS = steps_of_saving()


def test_saving_touches_the_disk_as_often_as_was_counted() -> None:
    # Two files: each opened, synced, given its mode, replaced; its folder synced.
    assert STEPS >= 14


@pytest.mark.parametrize("at", range(1, STEPS + 1))
@pytest.mark.parametrize(
    "fault", [StopError("crash"), OSError(errno.ENOSPC, "No space left on device")]
)
def test_a_fault_at_any_step_leaves_each_file_old_or_new(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int, fault: BaseException
) -> None:
    path = ready(tmp_path)

    def strike(count: int) -> None:
        if count == at:
            raise fault

    raised: BaseException | None = None
    try:
        calls(path, monkeypatch, strike)
    except (StopError, EditError, OSError) as error:
        raised = error

    new = SHELF.replace("quantity: 1", "quantity: 2")
    texts = [each.read_text(encoding="utf-8") for each in (path, path.with_name("two.yaml"))]
    assert set(texts) <= {SHELF, new}
    # What is left over is no catalogue file, and goes with the next saving.
    files, found = catalogue_files(tmp_path)
    assert [each.name for each in files] == ["shelf.yaml", "two.yaml"]
    assert found == []
    if isinstance(raised, EditError):
        told = "nothing written" in str(raised)
        assert told == (texts == [SHELF, SHELF])
    else:
        assert raised is None or isinstance(raised, StopError)
    for each in (path, path.with_name("two.yaml")):
        save([counted(each, 5)])
    assert names(tmp_path) == ["shelf.yaml", "two.yaml"]


# -- other processes -------------------------------------------------------------------------------

COUNT_UP = """
import sys
from pathlib import Path
from fitcheck.catalogue.editing import EditError, open_draft, save

path, times, held = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3] == "held"
from fitcheck.catalogue.editing import locked
import contextlib
done = 0
while done < times:
    try:
        with locked(path.parent) if held else contextlib.nullcontext():
            draft = open_draft(path)
            record = draft.record("A-1")
            draft.set_value(("records", "A-1", "quantity"), record["quantity"] + 1)
            save([draft])
    except EditError as error:
        assert "changed since it was read" in str(error), error
        assert not held
    else:
        done += 1
"""


def started(script: str, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", script, *words],
        env=ENVIRONMENT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


WRITERS, TIMES = (4, 15) if EXPLORE else (2, 8)


@pytest.mark.parametrize("held", some(["free", "held"], 1))
def test_nothing_is_lost_among_several_writers(tmp_path: Path, held: str) -> None:
    path = made(tmp_path, text=SHELF.replace("quantity: 1", "quantity: 0"))

    writers = [started(COUNT_UP, str(path), str(TIMES), held) for _ in range(WRITERS)]

    for writer in writers:
        _, errors = writer.communicate(timeout=300)
        assert writer.returncode == 0, errors
    assert open_draft(path).record("A-1")["quantity"] == WRITERS * TIMES
    assert names(tmp_path) == ["shelf.yaml"]


TAKE_TURNS = """
import sys
from pathlib import Path
from fitcheck.catalogue.editing import locked

folder, name = Path(sys.argv[1]), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
for _ in range(60):
    with locked(folder):
        with (folder / "turns").open("a") as stream:
            stream.write(name)
"""


TAKERS = "abcd" if EXPLORE else "ab"


def test_those_who_wait_are_served_in_between(tmp_path: Path) -> None:
    takers = [started(TAKE_TURNS, str(tmp_path), name) for name in TAKERS]
    for taker in takers:
        assert taker.stdout is not None
        assert taker.stdout.readline() == "ready\n"
    for taker in takers:
        assert taker.stdin is not None
        taker.stdin.write("\n")
        taker.stdin.flush()
    for taker in takers:
        assert taker.wait(timeout=300) == 0
        taker.communicate()

    turns = (tmp_path / "turns").read_text(encoding="utf-8")
    assert sorted(turns) == sorted(TAKERS * 60)
    # Nobody is served to the end while others wait (without standing back: all 60 times running).
    waiting = turns[: turns.rindex(min(TAKERS, key=turns.rindex))]
    assert max(len(run[0]) for run in re.finditer(r"(.)\1*", waiting)) < 45


WRITE_ON = """
import sys
from pathlib import Path
from fitcheck.catalogue.editing import open_draft, save

path = Path(sys.argv[1])
print("ready", flush=True)
while True:
    draft = open_draft(path)
    quantity = draft.record("A-1")["quantity"] % 1000 + 1
    draft.set_value(("records", "A-1", "quantity"), quantity)
    save([draft])
"""


@pytest.mark.skipif(os.name == "nt", reason="kills as POSIX does")
def test_a_killed_writer_leaves_a_whole_file_and_no_lock(tmp_path: Path) -> None:
    path = made(tmp_path)
    for delay in range(6 if EXPLORE else 1):
        writer = started(WRITE_ON, str(path))
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        before = open_draft(path).record("A-1")["quantity"]
        # It is killed some writings later, wherever it then is.
        for _ in range(20_000 * (delay + 1)):
            with contextlib.suppress(UnreadableError):
                if open_draft(path).record("A-1")["quantity"] != before:
                    break
        writer.send_signal(signal.SIGKILL)
        writer.communicate(timeout=60)

        text = path.read_text(encoding="utf-8")
        assert re.sub(r"quantity: \d+", "quantity: 1", text) == SHELF
        assert open_draft(path).record("A-1")["quantity"] != before

        save([counted(path, 1)])
        assert names(tmp_path) == ["shelf.yaml"]


HOLD = """
import sys
from fitcheck.catalogue.editing import locked

with locked(sys.argv[1]):
    print("held", flush=True)
    sys.stdin.readline()
"""


def test_one_who_waits_too_long_is_told(tmp_path: Path) -> None:
    path = made(tmp_path)
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        env=ENVIRONMENT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"

    with pytest.raises(EditError, match="another program is writing here"):
        save([counted(path, 2)], wait=0.05)

    assert path.read_text(encoding="utf-8") == SHELF
    holder.communicate("\n", timeout=60)
    assert save([counted(path, 2)]) == (path,)


def test_the_lock_may_be_taken_again_by_who_holds_it(tmp_path: Path) -> None:
    path = made(tmp_path)

    with locked(tmp_path):
        draft = counted(path, 2)
        save([draft], wait=0.05)

    assert "quantity: 2" in path.read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_locked_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made(tmp_path)
    draft = counted(path, 2)

    def refuse(*_: Any, **__: Any) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(saving_module.FileLock, "acquire", refuse)
    with pytest.raises(EditError, match=r"cannot be locked \(permission denied\); nothing written"):
        save([draft])
