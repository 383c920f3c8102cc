"""A crash at any call to the disk, and a disk that refuses at any call.

What must hold is a ledger's own promise (docs/shelf.md): the old state or the new one, the ledger
says which, and the next move sets right what is half done. The files are judged by the auditor in
conftest.py, who shares no code with fitcheck.
"""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from fitcheck.catalogue.ledger import pair
from fitcheck.catalogue.ledger.line import LedgerLine
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import FitcheckError, UsageError
from fitcheck.rules.checks import check
from fitcheck.services.shelf import writing
from fitcheck.services.shelf.count_list import read_count_list
from fitcheck.services.shelf.moves import issue, receive
from fitcheck.services.shelf.stocktake import plan_stocktake, take_stock
from fitcheck.services.shelf.writing import Note
from tests.conftest import some

ROOT = Path(__file__).parents[3]
DRIVER = Path(__file__).parent / "crash_driver.py"
MOVE = "the move"
MOVES = [("receive", True), ("issue", False), ("count", False), ("new", False), ("count", True)]
"""Of these, whether it is the first move of its ledger."""
AFTER = {
    "receive": {"MA-1544": 5},
    "issue": {"MA-1544": 1},
    "new": {"MA-1605": 1},
    "count": {"MA-1544": 9, "MA-1601": 0, "MA-1605": 7},
}


pytestmark = pytest.mark.usefixtures("alone")


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Do not wait for a move that a dead process will never end."""
    monkeypatch.setattr(pair, "_PAUSE_S", 0)


def codes(folder: Path) -> list[str]:
    return [finding.code for finding in check(load(folder))]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize(("move", "first"), some(MOVES, 1))
def test_a_crash_at_any_call_leaves_old_or_new_and_the_next_move_sets_it_right(
    move: str, first: bool, shop: Path, tmp_path: Path, audit: Any
) -> None:
    if not first:
        receive(load(shop), "MA-1602", 1)
    elsewhere = tmp_path / "_turns"
    shutil.copytree(shop, tmp_path / "_shop", ignore=shutil.ignore_patterns("_*"))
    elsewhere.mkdir()
    old = {part: held[0] for part, held in audit(shop).shelf().items()}
    new = {**old, **AFTER[move]}
    ran = subprocess.run(
        [sys.executable, str(DRIVER), str(tmp_path / "_shop"), str(elsewhere), move],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    died_at = ran.stdout.split()
    assert {"open", "write", "fsync", "replace", "unlink"} <= set(died_at)
    seen = set()
    for turn, call in enumerate(died_at, start=1):
        folder = elsewhere / str(turn)
        auditor = audit(folder)
        before = {part: held[0] for part, held in auditor.shelf().items()}
        assert before in (old, new), (turn, call)
        found = {f.code for f in check(load(folder))}
        assert found <= {"FC301", "FC307"}, (turn, call)
        planned = plan_stocktake(load(folder), [], as_written=True) if not found else None
        assert planned is None or planned.changes == ()

        told = receive(load(folder), "MA-1447", 1).remarks
        after = {part: held[0] for part, held in auditor.agree().items()}
        counted = auditor.reasons()[MOVE] > 0
        assert auditor.reasons()[MOVE] == (len(AFTER[move]) if counted else 0), (turn, call)
        assert after == {**(new if counted else old), "MA-1447": 1}, (turn, call)
        assert codes(folder) == []
        # Whoever sees the new file saw a move that counts.
        assert counted or before == old
        if "FC301" in found:
            assert not counted
            assert any("it never counted" in t or "never counted" in t for t in told), told
        if "FC307" in found:
            assert counted
            assert any("do not repeat it" in t for t in told), told
        seen.add((before == new, counted, *sorted(found)))
    # Nothing begun, a torn line, in the ledger alone, in both.
    assert {
        (False, False),
        (False, False, "FC301"),
        (False, True, "FC307"),
        (True, True),
    } <= seen


@contextmanager
def refusing(turn: int, *, forever: bool, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Let the disk be full from the n-th call that needs it on, or at that call alone."""
    done: list[str] = []

    def wrapped(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **options: Any) -> Any:
            done.append(name)
            if len(done) == turn or (forever and len(done) > turn):
                if name == "write" and len(done) == turn:
                    real(arguments[0], bytes(arguments[1])[: len(arguments[1]) // 2])
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), "disk")
            return real(*arguments, **options)

        return call

    with monkeypatch.context() as patched:
        for name in ("open", "write", "fsync", "ftruncate", "replace", "link", "unlink"):
            patched.setattr(os, name, wrapped(name, getattr(os, name)))
        yield done


@pytest.mark.parametrize(
    ("first", "forever"), some([(True, True), (True, False), (False, False), (False, True)], 2)
)
def test_a_disk_that_refuses_at_any_call(
    first: bool, forever: bool, shop: Path, audit: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    tmp_path = shop
    if not first:
        receive(load(shop), "MA-1602", 1)
    shutil.copytree(shop, tmp_path / "_shop", ignore=shutil.ignore_patterns("_*"))
    refused = in_ledger = 0
    for turn in range(1, 200):
        folder = tmp_path / f"_{turn}"
        shutil.copytree(tmp_path / "_shop", folder)
        catalogue = load(folder)
        message = ""
        with refusing(turn, forever=forever, monkeypatch=monkeypatch) as done:
            try:
                issue(catalogue, "MA-1544", 1, note=Note(MOVE))
            except FitcheckError as error:
                message = str(error)
        auditor = audit(folder)
        told = receive(load(folder), "MA-1447", 1).remarks
        assert not any("lost" in each for each in told), (turn, done, told)
        counted = auditor.reasons()[MOVE]
        assert auditor.agree()["MA-1544"][0] == 2 - counted
        assert counted == (not message or "do not repeat it" in message), (turn, done, message)
        assert "\n" not in message
        if message and not counted:
            assert "nothing was moved" in message or "nothing written" in message, message
            refused += 1
        in_ledger += bool(message) and counted
        if len(done) < turn:
            assert not message
            break
    else:
        pytest.fail("it never succeeds")
    assert refused >= 3
    if forever:
        assert in_ledger >= 3


def test_the_whole_tail_of_a_stock_take_goes(shop: Path, audit: Any, catalogue: Catalogue) -> None:
    receive(catalogue, "MA-1544", 1)
    auditor = audit(shop)
    good = auditor.lines()
    path = shop / "shelf.ledger.jsonl"
    data = path.read_bytes()
    text, _ = LedgerLine(
        len(good) + 1, "2026-11-25T10:00:00Z", "count", "MA-1601", 1, 6, more=1
    ).written(good[-1]["sum"])
    path.write_bytes(data + text.encode() + b"\n")

    assert codes(shop) == ["FC301"]
    (finding,) = check(load(shop))
    assert finding.span.line == len(good) + 1
    told = receive(load(shop), "MA-1544", 1).remarks
    assert "never counted" in told[0]
    assert [each["seq"] for each in auditor.lines()] == list(range(1, len(good) + 2))
    assert auditor.agree()["MA-1601"][0] == 5


@pytest.mark.parametrize("cut", [1, 2, 40, 110])
def test_a_tail_of_any_length(cut: int, shop: Path, audit: Any, catalogue: Catalogue) -> None:
    receive(catalogue, "MA-1544", 1)
    lines = audit(shop).lines()
    receive(catalogue, "MA-1544", 1)
    path = shop / "shelf.ledger.jsonl"
    path.write_bytes(path.read_bytes()[:-cut])
    whole = cut == 1  # only the line break is gone: nothing of the move is lost
    assert codes(shop) == ([] if whole else ["FC308"])
    if whole:
        receive(load(shop), "MA-1544", 1)
        assert audit(shop).agree()["MA-1544"][0] == 5
        return
    # Without the mark of a crash nobody takes a line that was told to somebody for unsaid.
    torn = path.read_bytes()
    for part in ("MA-1544", "MA-1601"):
        with pytest.raises(UsageError, match=r"ends at line 4, but .* behind line 5; nothing is"):
            receive(load(shop), part, 1)
    assert path.read_bytes() == torn
    # A shelf file that says nothing of its ledger's end proves nothing of it either.
    shelf = shop / "shelf.yaml"
    rows = shelf.read_text().splitlines(keepends=True)
    shelf.write_text("".join(row for row in rows if not row.startswith("ledger:")))
    assert codes(shop) == ["FC301", "FC304"]
    with pytest.raises(UsageError, match=r"in the ledger 3; .*; before that, .* not whole went"):
        receive(load(shop), "MA-1544", 1)
    assert audit(shop).lines() == lines
    assert audit(shop).shelf()["MA-1544"][0] == 4


def test_a_file_of_zeros_at_the_end_is_a_tail(shop: Path, audit: Any, catalogue: Catalogue) -> None:
    receive(catalogue, "MA-1544", 1)
    path = shop / "shelf.ledger.jsonl"
    path.write_bytes(path.read_bytes() + b"\0" * 512)

    assert codes(shop) == ["FC301"]
    receive(load(shop), "MA-1544", 1)
    assert audit(shop).agree()["MA-1544"][0] == 4


@pytest.mark.parametrize(
    "mark",
    [
        b"",
        b"{",
        b"[]",
        b"[" * 5000,
        b'{"seq": ' + b"9" * 5000 + b"}",
        b"\xff\xfe",
        b'{"seq": 1}',
        b'{"seq": "x", "shelf": ""}',
        b'{"seq": 99, "shelf": ""}',
        b'{"seq": 1, "shelf": ""}',
    ],
)
def test_a_mark_by_itself_changes_nothing(
    mark: bytes, shop: Path, audit: Any, catalogue: Catalogue
) -> None:
    receive(catalogue, "MA-1544", 1)
    (shop / ".shelf.pending").write_bytes(mark)
    assert codes(shop) == []
    receive(load(shop), "MA-1544", 1)
    assert audit(shop).agree()["MA-1544"][0] == 4


class Crash(BaseException):
    """The till dies."""


def test_a_stock_take_of_what_was_edited_by_hand_is_carried_on(
    shop: Path, audit: Any, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ledger 5 and 2, file 7 and 1 by hand, counted 6 and 2: the crash leaves the file to do."""
    receive(catalogue, "MA-1602", 1)
    path = shop / "shelf.yaml"
    text = path.read_text().replace("quantity: 5", "quantity: 7")
    path.write_text(text.replace("quantity: 2 ", "quantity: 1 "))
    (shop / "counted.csv").write_text("MA-1601,6\nMA-1544,2\n")
    rows = read_count_list(load(shop), shop / "counted.csv").rows

    def dies(drafts: object) -> None:
        raise Crash

    with monkeypatch.context() as patched:
        patched.setattr(writing, "save", dies)
        with pytest.raises(Crash):
            take_stock(load(shop), rows)
    assert codes(shop) == ["FC307"]
    told = receive(load(shop), "MA-1447", 1).remarks

    assert "do not repeat it" in told[0]
    assert audit(shop).agree()["MA-1601"][0] == 6
    assert audit(shop).agree()["MA-1544"][0] == 2
    assert codes(shop) == []


def test_an_edit_by_hand_behind_a_crash_stays(shop: Path, audit: Any, catalogue: Catalogue) -> None:
    receive(catalogue, "MA-1544", 1)
    before = (shop / "shelf.yaml").read_text()
    receive(catalogue, "MA-1601", 1)
    receive(catalogue, "MA-1544", 1)
    seq = audit(shop).lines()[-1]["seq"]
    (shop / "shelf.yaml").write_text(before.replace("quantity: 3 ", "quantity: 8 "))
    (shop / ".shelf.pending").write_text(f'{{"seq": {seq}, "shelf": "00"}}')

    with pytest.raises(UsageError, match="changed by hand: quantity 8, in the ledger 4"):
        receive(load(shop), "MA-1544", 1)
    assert audit(shop).shelf()["MA-1544"][0] == 8
    assert codes(shop) == ["FC304", "FC304"]


@contextmanager
def editor(shop: Path, old: str, new: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """An editor knows no lock: it saves between the ledger's lines and the file's replacing."""
    real = os.fsync
    calls = []

    def fsync(descriptor: int) -> None:
        real(descriptor)
        calls.append(descriptor)
        if len(calls) == 3:  # the mark, its folder, the ledger: the move counts now
            path = shop / "shelf.yaml"
            path.write_text(path.read_text().replace(old, new))

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", fsync)
        yield


def test_a_hand_that_edits_the_part_that_is_moved(
    shop: Path, audit: Any, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    receive(catalogue, "MA-1602", 1)
    with (
        editor(shop, "quantity: 5", "quantity: 9", monkeypatch),
        pytest.raises(UsageError, match="quantity 9, in the ledger 4") as caught,
    ):
        issue(catalogue, "MA-1601", 1, note=Note(MOVE))

    assert "do not repeat it" in str(caught.value)
    assert audit(shop).reasons()[MOVE] == 1
    assert (audit(shop).shelf()["MA-1601"][0], audit(shop).ledger()["MA-1601"][0]) == (9, 4)
    assert codes(shop) == ["FC304"]


def test_a_hand_that_saves_the_file_in_the_middle_of_a_move(
    shop: Path, audit: Any, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    receive(catalogue, "MA-1602", 1)
    with editor(shop, "price: 69.90", "price: 71.00", monkeypatch):
        moved = issue(catalogue, "MA-1601", 1, note=Note(MOVE))

    assert moved.held.quantity == 4
    assert audit(shop).shelf()["MA-1601"][0] == 4
    assert audit(shop).shelf()["MA-1544"][3] == Decimal("71.00")
    assert audit(shop).reasons()[MOVE] == 1
    assert codes(shop) == ["FC305"]
