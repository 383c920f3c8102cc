"""Ledgers in `check`: where findings point, and what is no fault.

The plain cases of each code are its examples (test_examples.py); what a ledger must hold is
docs/shelf.md.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import BASE, explanations, lay_out
from fitcheck.errors import UsageError
from fitcheck.rules.checks import check
from fitcheck.services.shelf.moves import receive
from fitcheck.services.upkeep.checking import check_paths, errors_in

SOUND = dict(explanations()["FC304"].good)
UNLIKE = dict(explanations()["FC304"].bad)
LEDGER = "shelf.ledger.jsonl"


def found(folder: Path) -> list[tuple[str, str, int]]:
    return [(f.code, Path(f.span.path).name, f.span.line) for f in check(load(folder))]


def test_a_difference_points_at_the_value_and_at_the_ledgers_last_line(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, UNLIKE)
    (finding,) = check(load(tmp_path))

    assert (finding.span.line, finding.span.column) == (4, 15)
    assert finding.field == ("records", "MA-1544", "quantity")
    assert finding.message == "the quantity here is 2, in the ledger 1"
    (related,) = finding.related
    assert (Path(related.span.path).name, related.span.line) == (LEDGER, 2)


def test_an_entry_the_ledger_does_not_know(tmp_path: Path) -> None:
    shelf = (
        UNLIKE["shelf.yaml"].replace("quantity: 2", "quantity: 1") + "  MA-1447: {quantity: 3}\n"
    )
    lay_out(tmp_path, BASE, UNLIKE, {"shelf.yaml": shelf})
    (finding,) = check(load(tmp_path))

    assert (finding.code, finding.record) == ("FC304", "MA-1447")
    assert finding.message == "the file says 3 pieces, the ledger knows nothing of MA-1447"


def test_an_entry_gone_from_the_file(tmp_path: Path) -> None:
    lay_out(
        tmp_path, BASE, UNLIKE, {"shelf.yaml": "kind: shelf\nrecords:\n  MA-1447: {quantity: 0}\n"}
    )
    codes = {(f.code, f.record): f for f in check(load(tmp_path))}

    assert set(codes) == {("FC304", "MA-1544"), ("FC304", "MA-1447")}
    assert codes["FC304", "MA-1544"].span.line == 2
    assert codes["FC304", "MA-1544"].message == (
        "the ledger holds 1 piece of MA-1544, the shelf file has no entry"
    )


def test_every_field_that_differs_is_told(tmp_path: Path) -> None:
    shelf = "kind: shelf\nrecords:\n  MA-1544: {quantity: 1, cost: 43, price: 70}\n"
    lay_out(tmp_path, BASE, UNLIKE, {"shelf.yaml": shelf})
    assert {(f.code, f.field[-1]) for f in check(load(tmp_path))} == {
        ("FC305", "cost"),
        ("FC305", "place"),
        ("FC305", "price"),
    }


def test_a_record_that_was_refused_is_not_blamed_again(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, SOUND)
    path = tmp_path / "shelf.yaml"
    path.write_text(path.read_text().replace("quantity: 1", "quantity: one"))
    assert [code for code, _, _ in found(tmp_path)] == ["FC104"]


def test_behind_a_broken_line_nothing_is_compared(tmp_path: Path) -> None:
    text = UNLIKE[LEDGER].replace('"reason": "job 214"', '"reason": "job 215"')
    lay_out(tmp_path, BASE, UNLIKE, {LEDGER: text})
    assert found(tmp_path) == [("FC303", LEDGER, 2)]


def test_a_ledger_whose_shelf_file_is_gone(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, SOUND)
    (tmp_path / "shelf.yaml").unlink()
    (finding,) = check(load(tmp_path))
    assert (finding.code, finding.span.line) == ("FC304", 2)
    assert finding.message == "the ledger holds 1 part, but there is no shelf file beside it"


def test_a_shelf_file_of_another_suffix_has_its_ledger(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, SOUND)
    (tmp_path / "shelf.yaml").rename(tmp_path / "shelf.yml")
    assert found(tmp_path) == []


def test_a_ledger_that_is_a_folder(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE)
    (tmp_path / LEDGER).mkdir()
    (finding,) = check(load(tmp_path))
    assert (finding.code, Path(finding.span.path).name) == ("FC001", LEDGER)
    assert "the ledger cannot be read" in finding.message
    assert check_paths([str(tmp_path)]).unreadable


def test_a_move_since_the_catalogue_was_read_is_no_difference(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, SOUND)
    before = load(tmp_path)
    receive(load(tmp_path), "MA-1544", 4)
    assert check(before) == []


def test_one_file_by_itself_is_held_against_its_ledger(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, UNLIKE)
    checked = check_paths([str(tmp_path / "shelf.yaml")])
    assert [f.code for f in checked.findings] == ["FC304"]
    assert any(path.endswith(LEDGER) for path in checked.sources)
    assert check_paths([str(tmp_path / "tunes.yaml")]).findings == []

    lay_out(tmp_path, {LEDGER: explanations()["FC302"].bad[LEDGER]})
    checked = check_paths([str(tmp_path / "shelf.yaml")])
    assert [(f.code, f.span.line) for f in checked.findings] == [("FC302", 2)]
    source = checked.sources[checked.findings[0].span.path]
    assert source.line(2) == "sold one to the blue Dunlin"


def test_a_ledger_is_named_with_its_shelf_file(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, SOUND)
    with pytest.raises(UsageError, match=r"fitcheck check .*shelf\.yaml"):
        check_paths([str(tmp_path / LEDGER)])


def test_line_ends_that_an_editor_turned_are_told_once(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, SOUND)
    path = tmp_path / LEDGER
    sound = path.read_bytes()
    lines = sound.count(b"\n")
    assert lines > 1
    path.write_bytes(sound.replace(b"\n", b"\r\n"))
    (finding,) = check(load(tmp_path))
    assert (finding.code, finding.span.line) == ("FC302", 1)
    assert "all lines end in CR LF" in finding.message
    assert finding.help is not None
    assert "line ends LF" in finding.help
    with pytest.raises(UsageError, match=r"CR LF.*nothing is moved.*line ends LF"):
        receive(load(tmp_path), "MA-1544", 1)

    # One line alone; and what else is wrong is still told.
    path.write_bytes(sound.replace(b"\n", b"\r\n", 1))
    (finding,) = check(load(tmp_path))
    assert "the line ends in CR LF" in finding.message
    path.write_bytes(sound.replace(b"\n", b"\r\n") + b"sold one\r\n")
    assert found(tmp_path) == [("FC302", LEDGER, 1), ("FC302", LEDGER, lines + 1)]

    path.write_bytes(sound)
    assert found(tmp_path) == []


def test_what_answers_rest_on_leaves_the_ledgers_out(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, UNLIKE)
    assert errors_in(load(tmp_path)) == []


def chain(*times: str) -> str:
    """A ledger that issues a piece at each time, after one that was opened."""
    rows, total = [], ""
    first = {"action": "open", "part": "MA-1544", "change": 9, "quantity_after": 9}
    for at, time in enumerate(times):
        move = {"action": "issue", "part": "MA-1544", "change": -1, "quantity_after": 9 - at}
        body = json.dumps({"seq": at + 1, "time": time, **(move if at else first)})[:-1]
        total = hashlib.sha256(f"{total}{body}".encode()).hexdigest()[:32]
        rows.append(f'{body}, "sum": "{total}"}}\n')
    return "".join(rows)


@pytest.mark.parametrize(
    ("times", "lines"),
    [
        (("2026-01-01T10:00:00Z", "2026-01-01T09:51:00Z"), []),  # two tills' clocks
        (("2026-01-01T10:00:00Z", "2026-01-01T09:49:00Z"), [2]),
        (("2026-01-03T10:00:00Z", "1999-01-01T10:00:00Z", "1999-01-02T10:00:00Z"), [2]),
        (("2026-01-03T10:00:00Z", "1999-01-01T10:00:00Z", "2026-01-04T10:00:00Z"), [2]),
        (("2026-01-03T10:00:00Z", "2025-01-01T10:00:00Z", "2024-01-04T10:00:00Z"), [2, 3]),
        (("2962-01-03T10:00:00Z", "2962-01-04T10:00:00Z", "2026-01-01T10:00:00Z"), [1]),
        (("2026-01-03T10:00:00Z", "2962-01-04T10:00:00Z", "2026-01-05T10:00:00Z"), [2]),
    ],
)
def test_times_that_run_backwards_or_lie_in_the_future(
    tmp_path: Path, times: tuple[str, ...], lines: list[int]
) -> None:
    """Every line of such a stretch counts, and its first one is pointed at."""
    shelf = BASE["shelf.yaml"].replace("quantity: 2", f"quantity: {10 - len(times)}")
    lay_out(tmp_path, BASE, {"shelf.yaml": shelf, LEDGER: chain(*times)})
    told = [one for one in found(tmp_path) if one[0] != "FC305"]
    assert told == [("FC309", LEDGER, line) for line in lines]
