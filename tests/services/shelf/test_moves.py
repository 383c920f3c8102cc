"""Moves of single parts: what they write, and what they refuse.

The files are judged by an auditor of their own (conftest.py). What a move does to a shelf is the
plain arithmetic of a stock card, common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import os
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from fitcheck.catalogue.ledger.state import Held
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.diagnostics.examples import BASE, lay_out
from fitcheck.errors import FitcheckError, UsageError
from fitcheck.rules.checks import check
from fitcheck.services.shelf.count_list import read_count_list
from fitcheck.services.shelf.moves import issue, place, price, receive
from fitcheck.services.shelf.stock import history, stock
from fitcheck.services.shelf.stocktake import take_stock
from fitcheck.services.shelf.writing import Note
from tests.services.shelf.conftest import FILES

NOTE = Note("order 118", "kit", "2026-11-25T14:03:09Z")


def near_the_till(price: str) -> str:
    held = f"{{quantity: 5, place: drawer B5, cost: 41.50, price: {price}}}"
    return f"  MA-1601: {held}   # near the till"


def text(shop: Path) -> str:
    return (shop / "shelf.yaml").read_text(encoding="utf-8")


def test_goods_in_and_out(catalogue: Catalogue, auditor: Any) -> None:
    one = receive(catalogue, "MA-1544", 3, cost=Decimal("33.5"), place="drawer C1", note=NOTE)
    two = issue(catalogue, "MA-1544", 4, note=Note("job 214"))

    assert one.before == Held(2, "drawer B4", None, Decimal("69.90"))
    assert one.held == Held(5, "drawer C1", Decimal("33.5"), Decimal("69.90"))
    assert two.held == Held(1, "drawer C1", Decimal("33.50"), Decimal("69.90"))
    assert auditor.agree()["MA-1544"] == (1, "drawer C1", Decimal("33.50"), Decimal("69.90"))
    opened, *moves = auditor.lines()[2:]
    assert opened["action"] == "open"
    assert moves[0] == {
        "seq": 4,
        "time": "2026-11-25T14:03:09Z",
        "action": "receive",
        "part": "MA-1544",
        "change": 3,
        "quantity_after": 5,
        "place": "drawer C1",
        "cost": "33.50",
        "reason": "order 118",
        "by": "kit",
        "sum": one.line.sum,
    }
    assert (moves[1]["change"], moves[1]["quantity_after"]) == (-4, 1)


def test_price_and_place(catalogue: Catalogue, auditor: Any) -> None:
    price(catalogue, "MA-1601", Decimal("66.95"))
    place(catalogue, "MA-1602", " drawer É 7: the “last” #1 ")
    held = auditor.agree()

    assert held["MA-1601"] == (5, "drawer B5", Decimal("41.50"), Decimal("66.95"))
    assert held["MA-1602"] == (1, "drawer É 7: the “last” #1", Decimal("38.125"), None)


def test_only_the_values_meant_change_in_the_file(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    before = text(shop).splitlines()
    issue(catalogue, "MA-1544", 1)
    price(catalogue, "MA-1601", Decimal("66.95"))
    after = text(shop).splitlines()

    # One line is new, above the records: where the ledger ends.
    last = auditor.lines()[-1]
    end = f'ledger: {{line: {last["seq"]}, sum: "{last["sum"]}"}}'
    assert after.pop(before.index("records:")) == end
    assert len(after) == len(before)
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert changed == [
        ("    quantity: 2     # counted twice", "    quantity: 1     # counted twice"),
        (
            near_the_till("64"),
            near_the_till("66.95"),
        ),
    ]
    auditor.agree()


def test_a_first_move_opens_the_ledger_with_what_the_file_says(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    said = auditor.shelf()
    moved = receive(catalogue, "MA-1544", 1)
    again = receive(catalogue, "MA-1544", 1)

    opened = auditor.lines()[:3]
    assert [line["action"] for line in opened] == ["open"] * 3
    assert [line["part"] for line in opened] == list(said)
    assert [line["quantity_after"] for line in opened] == [held[0] for held in said.values()]
    assert len(auditor.lines()) == 5
    assert any("opened with what the shelf file says" in each for each in moved.remarks)
    assert again.remarks == ()
    assert auditor.agree() == {**said, "MA-1544": (4, *said["MA-1544"][1:])}
    assert not check(load(shop))


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        (None, "earlier moves is lost (5 lines): bring"),
        (b'{"seq": 6, "shelf": ""}', "earlier moves is lost (5 lines): bring"),
        (b"{", "earlier moves is lost (5 lines): bring"),
    ],
)
def test_a_ledger_that_was_emptied_is_told(
    mark: bytes | None, said: str, shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    receive(catalogue, "MA-1544", 1)
    (shop / "shelf.ledger.jsonl").write_bytes(b"")
    if mark is not None:
        (shop / ".shelf.pending").write_bytes(mark)
    moved = receive(catalogue, "MA-1544", 1)

    assert said in moved.remarks[0]
    assert "opened with what the shelf file says" in moved.remarks[-1]
    assert auditor.agree()["MA-1544"][0] == 5
    assert receive(catalogue, "MA-1544", 1).remarks == ()


@pytest.mark.parametrize("gone", ["removed", "emptied"])
def test_a_ledger_that_is_lost_is_told_by_check_and_by_the_one_opened_after_it(
    gone: str, shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    last = auditor.lines()[-1]
    ledger = shop / "shelf.ledger.jsonl"
    if gone == "removed":
        ledger.unlink()
    else:
        ledger.write_bytes(b"")

    (finding,) = check(load(shop))
    assert (finding.code, finding.span.line, finding.severity) == ("FC308", 4, "error")
    what = "is not there" if gone == "removed" else "is empty"
    assert f"{what}, but the shelf file was written behind line 4" in finding.message
    assert [what in each for each in stock(load(shop)).lost] == [True]
    moved = receive(load(shop), "MA-1544", 1)
    assert "lost (4 lines)" in moved.remarks[0]
    assert check(load(shop)) == []
    (reason,) = auditor.reasons()
    assert f"4 lines with the sum {last['sum']}" in reason


def test_an_empty_ledger_is_told_though_the_shelf_file_says_nothing_of_it(shop: Path) -> None:
    (shop / "shelf.ledger.jsonl").write_bytes(b"")
    (finding,) = check(load(shop))
    assert (finding.code, Path(finding.span.path).name) == ("FC308", "shelf.ledger.jsonl")
    # Beside the mark of a first move it is what a crash left.
    (shop / ".shelf.pending").write_bytes(b'{"seq": 4, "shelf": ""}')
    assert check(load(shop)) == []


def test_a_ledger_set_aside_is_no_loss(shop: Path, catalogue: Catalogue, auditor: Any) -> None:
    receive(catalogue, "MA-1544", 1)
    (shop / "shelf.ledger.jsonl").rename(shop / "_2026.ledger.jsonl")
    assert check(load(shop)) == []
    assert not any("lost" in each for each in receive(load(shop), "MA-1544", 1).remarks)
    assert auditor.lines()[0]["reason"] == "goes on from line 4 of _2026.ledger.jsonl"
    assert check(load(shop)) == []


def test_another_ledger_in_its_place_is_told(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1, note=Note(time="2026-01-01T00:00:00Z"))
    other = (shop / "shelf.ledger.jsonl").read_bytes()
    said = text(shop)
    (shop / "shelf.ledger.jsonl").unlink()
    (shop / "shelf.yaml").write_text(FILES["shelf.yaml"], encoding="utf-8")
    receive(load(shop), "MA-1544", 1)
    assert text(shop) != said
    (shop / "shelf.ledger.jsonl").write_bytes(other)

    (finding,) = check(load(shop))
    assert finding.code == "FC308"
    assert "is another one" in finding.message
    with pytest.raises(UsageError, match=r"is another one: .*; nothing is moved"):
        receive(load(shop), "MA-1544", 1)
    assert (shop / "shelf.ledger.jsonl").read_bytes() == other


def test_a_key_that_says_no_end_is_told_and_not_written_over(
    shop: Path, catalogue: Catalogue
) -> None:
    receive(catalogue, "MA-1544", 1)
    rows = [r for r in text(shop).splitlines(keepends=True) if not r.startswith("ledger:")]
    (shop / "shelf.yaml").write_text("".join(["ledger: mine\n", *rows]), encoding="utf-8")
    ledger = (shop / "shelf.ledger.jsonl").read_bytes()
    (finding,) = check(load(shop))
    assert (finding.code, finding.span.line) == ("FC308", 1)
    with pytest.raises(FitcheckError, match="take that key out"):
        receive(load(shop), "MA-1544", 1)
    assert (shop / "shelf.ledger.jsonl").read_bytes() == ledger


def test_a_shelf_file_in_brackets_says_no_end(shop: Path, auditor: Any) -> None:
    (shop / "shelf.yaml").write_text("{kind: shelf, records: {MA-1544: {quantity: 2}}}\n")
    receive(load(shop), "MA-1544", 1)
    assert text(shop) == "{kind: shelf, records: {MA-1544: {quantity: 3}}}\n"
    assert check(load(shop)) == []


def test_nothing_is_written_that_the_ledger_could_not_read_back(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    ledger, said = (shop / "shelf.ledger.jsonl").read_bytes(), text(shop)
    with pytest.raises(UsageError, match=r"the price has 21 decimals; give at most 20"):
        price(load(shop), "MA-1601", Decimal(f"9.{'1' * 21}"))
    with pytest.raises(UsageError, match=r"MA-1601 cannot be written .*time is not .*nothing was"):
        price(load(shop), "MA-1601", Decimal(60), note=Note(time="yesterday"))
    assert (shop / "shelf.ledger.jsonl").read_bytes() == ledger
    assert text(shop) == said
    # As many as it takes are kept to the last.
    most = Decimal(f"999999.{'1' * 20}")
    price(load(shop), "MA-1601", most)
    assert auditor.agree()["MA-1601"][3] == most
    assert [item.at_price for item in stock(load(shop)).items if item.part.id == "MA-1601"] == [
        Decimal("4999995.55")  # 5 pieces at 999999.11, as it is asked
    ]


def test_a_shelf_file_that_no_ledger_could_open_is_named(shop: Path, catalogue: Catalogue) -> None:
    edit(shop, "cost: 38.125", f"cost: 38.{'1' * 25}")
    with pytest.raises(UsageError, match=r"shelf\.yaml:14:3: MA-1602 cannot be written"):
        receive(load(shop), "MA-1544", 1)
    assert not (shop / "shelf.ledger.jsonl").exists()


def test_a_first_move_that_was_broken_off_loses_no_history(
    shop: Path, catalogue: Catalogue
) -> None:
    (shop / "shelf.ledger.jsonl").write_bytes(b"")
    # Behind the lines that open a shelf of three entries.
    (shop / ".shelf.pending").write_bytes(b'{"seq": 4, "shelf": ""}')
    assert not any("lost" in each for each in receive(catalogue, "MA-1544", 1).remarks)


def test_lines_gone_from_the_end_are_told_where_a_mark_knows_of_them(
    shop: Path, catalogue: Catalogue
) -> None:
    receive(catalogue, "MA-1544", 1)
    (shop / ".shelf.pending").write_bytes(b'{"seq": 7, "shelf": ""}')
    (told,) = receive(catalogue, "MA-1544", 1).remarks
    assert (
        "the last 2 lines of it went missing" in told
    )  # 4 are there, the mark stands before a 7th


def test_a_part_without_an_entry_gets_one(catalogue: Catalogue, auditor: Any, shop: Path) -> None:
    moved = receive(catalogue, "MA-1447", 2, cost=Decimal(30), place="drawer Z")

    assert moved.before is None
    assert auditor.agree()["MA-1447"] == (2, "drawer Z", Decimal(30), None)
    assert "  # at the back\n" in text(shop)
    assert set(load(shop).shelf) == {"MA-1544", "MA-1601", "MA-1602", "MA-1447"}


def test_a_catalogue_without_a_shelf_gets_one(tmp_path: Path, audit: Any) -> None:
    lay_out(tmp_path, {name: text for name, text in BASE.items() if name != "shelf.yaml"})
    receive(load(tmp_path), "MA-1544", 2)

    assert audit(tmp_path).agree() == {"MA-1544": (2, None, None, None)}
    assert not check(load(tmp_path))
    with pytest.raises(UsageError, match=r"MA-1447 .* is not on the shelf"):
        issue(load(tmp_path), "MA-1447", 1)


@pytest.mark.parametrize("name", ["MA-1601", "ma-1601", "1601", "SEA 16", "sea16"])
def test_a_part_is_found_by_its_names(name: str, catalogue: Catalogue, auditor: Any) -> None:
    assert issue(catalogue, name, 1).part.id == "MA-1601"
    assert auditor.agree()["MA-1601"][0] == 4


def test_a_retired_part_says_what_takes_its_place_in_the_end(
    catalogue: Catalogue, auditor: Any
) -> None:
    moved = receive(catalogue, "1603", 1)

    assert moved.remarks[-1] == (
        "MA-1603 (no. 1603) is retired; MA-1605 (no. 1605) takes its place"
    )
    assert auditor.agree()["MA-1603"][0] == 1


def test_successors_in_a_circle_end(shop: Path) -> None:
    path = shop / "sets" / "more.yaml"
    path.write_text(path.read_text().replace("successor: MA-1605", "successor: MA-1603"))
    assert receive(load(shop), "1603", 1).remarks[-1].endswith("MA-1604 (no. 1604) takes its place")


def test_what_the_catalogue_no_longer_knows_can_still_be_sold(shop: Path, auditor: Any) -> None:
    path = shop / "shelf.yaml"
    path.write_text(path.read_text() + "  MA-9: {quantity: 1}\n")
    moved = issue(load(shop), "MA-9", 1)

    assert moved.held.quantity == 0
    assert auditor.agree()["MA-9"][0] == 0


REFUSED = {
    "more than there are": (lambda c: issue(c, "1544", 3), "only 2 of MA-1544 .*, 3 asked for"),
    "of what is at zero": (
        lambda c: (issue(c, "1602", 1), issue(c, "1602", 1)),
        "none of MA-1602 .* 1 asked for",
    ),
    "of what has no entry": (lambda c: issue(c, "1447", 1), "is not on the shelf; .* receive"),
    "price of no entry": (lambda c: price(c, "1447", Decimal(1)), "is not on the shelf"),
    "place of no entry": (lambda c: place(c, "1447", "A"), "is not on the shelf"),
    "unknown": (lambda c: issue(c, "MA-154", 1), r"'MA-154'; did you mean MA-1544 \(no"),
    "near": (lambda c: issue(c, "MB-1544", 1), "did you mean MA-1544"),
    "none": (lambda c: receive(c, "1544", 0), "give 1 or more"),
    "minus one": (lambda c: issue(c, "1544", -1), "give 1 or more"),
    "too many": (lambda c: receive(c, "1544", 999_999), "1,000,001 pieces are more than"),
    "a blank place": (lambda c: place(c, "1544", "  "), "the place is blank"),
    "a place with a line break": (lambda c: place(c, "1544", "a\nb"), r"the place holds .* \\n"),
    "a long reason": (
        lambda c: issue(c, "1544", 1, note=Note("x" * 501)),
        "the reason has 501 characters; write at most 500",
    ),
    "half a character": (
        lambda c: issue(c, "1544", 1, note=Note("a\udc80")),
        r"the reason holds the character \\udc80",
    ),
    "a price beyond measure": (
        lambda c: price(c, "1544", Decimal(99999999)),
        "the price of 99999999.00 is over 1,000,000",
    ),
    "of what is retired": (lambda c: issue(c, "1603", 1), "is retired; MA-1605 .* takes its place"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_one_line(
    name: str, catalogue: Catalogue, auditor: Any
) -> None:
    action, words = REFUSED[name]
    with pytest.raises(FitcheckError) as caught:
        action(catalogue)
    line = str(caught.value)

    assert re.search(words, line), line
    assert "\n" not in line
    if name != "of what is at zero":
        assert auditor.lines() == []
        assert auditor.shelf()["MA-1544"][0] == 2
    else:
        assert auditor.agree()["MA-1602"][0] == 0


@pytest.mark.parametrize(
    ("move", "says"),
    [
        (lambda c: price(c, "MA-1544", Decimal(6990)), ["look: the price was 69.90, and is 6990"]),
        (lambda c: price(c, "MA-1544", Decimal(0)), ["look: the price was 69.90, and is 0.00 now"]),
        (lambda c: price(c, "MA-1544", Decimal("63.505")), ["look: the price of 63.505 is finer"]),
        (lambda c: price(c, "MA-1544", Decimal(139)), []),
        (
            lambda c: price(c, "MA-1602", Decimal(610)),
            ["look: the price is 610.00, where the list"],
        ),
        (lambda c: price(c, "MA-1602", Decimal(122)), []),  # the shop's own price may well be twice
        (lambda c: receive(c, "1601", 1, cost=Decimal(4150)), ["look: the cost was 41.50, and is"]),
        (lambda c: receive(c, "MA-1544", 1, cost=Decimal(0)), ["look: the cost is 0 now"]),
        (
            lambda c: receive(c, "MA-1544", 1000),
            ["look: 1,002 pieces of MA-1544 (no. 1544), where"],
        ),
        (lambda c: receive(c, "MA-1544", 20), []),
        (lambda c: issue(c, "MA-1544", 2), []),
    ],
)
def test_what_looks_like_a_slip_is_done_and_told(
    move: Any, says: list[str], catalogue: Catalogue
) -> None:
    told = [each for each in move(catalogue).remarks if each.startswith("look: ")]
    assert len(told) == len(says)
    assert all(each.startswith(words) for each, words in zip(told, says, strict=True))


def test_a_price_after_none_or_nothing_is_compared_with_the_list(shop: Path) -> None:
    price(load(shop), "MA-1602", Decimal(0))
    (said,) = [
        each for each in price(load(shop), "MA-1602", Decimal(610)).remarks if "look" in each
    ]
    assert said == "look: the price is 610.00, where the list price is 61.00"


def test_the_demo_is_not_moved() -> None:
    root = Path(__file__).parents[3] / "catalog"
    with pytest.raises(UsageError, match="built-in demo is not moved; copy the folder"):
        receive(load(root), "MA-1545", 1)
    assert not (root / "shelf.ledger.jsonl").exists()
    assert not (root / ".fitcheck.lock").exists()


def test_one_file_is_no_catalogue_to_move_in(shop: Path) -> None:
    path = shop / "sets" / "marram.yaml"
    with pytest.raises(UsageError, match="name the folder of the catalogue"):
        receive(load(path), "MA-1544", 1)


def test_two_shelf_files_each_have_their_ledger(shop: Path, audit: Any) -> None:
    (shop / "annex").mkdir()
    (shop / "annex" / "shelf.yaml").write_text("kind: shelf\nrecords:\n  MA-1605: {quantity: 1}\n")
    catalogue = load(shop)
    receive(catalogue, "MA-1605", 2)
    receive(catalogue, "MA-1544", 1)
    receive(catalogue, "MA-1447", 1)

    assert audit(shop / "annex").agree() == {"MA-1605": (3, None, None, None)}
    assert audit(shop).agree()["MA-1447"][0] == 1
    assert not [f for f in check(load(shop)) if f.code >= "FC3"]


def test_two_shelf_files_neither_of_which_is_the_shelf(shop: Path) -> None:
    (shop / "shelf.yaml").rename(shop / "front.yaml")
    (shop / "back.yaml").write_text("kind: shelf\nrecords:\n  MA-1605: {quantity: 1}\n")
    catalogue = load(shop)
    assert receive(catalogue, "MA-1605", 2).held.quantity == 3
    with pytest.raises(UsageError, match=r"2 shelf files .* write the entry into one of them"):
        receive(catalogue, "MA-1447", 1)


def test_a_shelf_file_that_is_a_link_stays_one(shop: Path, audit: Any) -> None:
    (shop / "real").mkdir()
    (shop / "shelf.yaml").rename(shop / "real" / "shelf.yaml")
    (shop / "shelf.yaml").symlink_to(Path("real") / "shelf.yaml")
    catalogue = load(shop)
    assert [f.code for f in catalogue.findings] == ["FC110"] * 3
    (shop / "real").rename(shop / "_real")
    (shop / "shelf.yaml").unlink()
    (shop / "shelf.yaml").symlink_to(Path("_real") / "shelf.yaml")
    receive(load(shop), "MA-1544", 1)

    assert (shop / "shelf.yaml").is_symlink()
    assert audit(shop / "_real").agree()["MA-1544"][0] == 3
    assert not check(load(shop))


def test_an_error_in_the_shelf_file_stops_every_move(shop: Path, auditor: Any) -> None:
    path = shop / "shelf.yaml"
    path.write_text(path.read_text().replace("quantity: 5", "quantity: five"))
    with pytest.raises(UsageError, match=r"shelf.yaml:11:23: .* before that is fixed"):
        receive(load(shop), "MA-1544", 1)
    assert auditor.lines() == []


# ---------------------------------------------------------------- edits by hand


def edit(shop: Path, old: str, new: str) -> None:
    path = shop / "shelf.yaml"
    assert path.read_text().count(old) == 1
    path.write_text(path.read_text().replace(old, new))


def test_a_part_edited_by_hand_is_not_moved_and_others_say_so(
    shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    edit(shop, "quantity: 5", "quantity: 4")
    with pytest.raises(UsageError) as caught:
        issue(catalogue, "MA-1601", 1)
    other = issue(catalogue, "MA-1544", 1)

    assert "MA-1601 was changed by hand: quantity 4, in the ledger 5" in str(caught.value)
    assert "nothing was moved; fitcheck shelf count --as-written" in str(caught.value)
    assert "shelf.yaml:12:3" in str(caught.value)
    assert any("MA-1601 was changed by hand" in each for each in other.remarks)
    assert auditor.shelf()["MA-1601"][0] == 4
    assert auditor.ledger()["MA-1601"][0] == 5


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("cost: 41.50", "cost: 41.60", "cost 41.60, in the ledger 41.50"),
        (", price: 64", "", "price none, in the ledger 64.00"),
        ("place: drawer B5, ", "place: shed, ", "place shed, in the ledger drawer B5"),
        ("  MA-1601:", "  MA-1605:", "no entry MA-1601, of which the ledger holds 5 pieces"),
    ],
)
def test_every_field_edited_by_hand_is_seen(
    old: str, new: str, words: str, shop: Path, catalogue: Catalogue
) -> None:
    receive(catalogue, "MA-1544", 1)
    edit(shop, old, new)
    with pytest.raises(UsageError, match=re.escape(words)):
        receive(catalogue, "MA-1601", 1)


@pytest.mark.parametrize("new", ["price: 64.0", "price: 64.00", "price: 64  # still"])
def test_the_same_written_otherwise_is_no_difference(
    new: str, shop: Path, catalogue: Catalogue, auditor: Any
) -> None:
    receive(catalogue, "MA-1544", 1)
    if "#" in new:
        edit(shop, "# by the door", "# at the door")
    else:
        edit(shop, "price: 64", new)
    assert receive(catalogue, "MA-1601", 1).remarks == ()
    auditor.agree()


def test_a_broken_ledger_stops_every_move(shop: Path, catalogue: Catalogue) -> None:
    receive(catalogue, "MA-1544", 1)
    path = shop / "shelf.ledger.jsonl"
    path.write_text(path.read_text().replace('"change": 5', '"change": 6'))
    before = path.read_bytes(), text(shop)
    with pytest.raises(UsageError, match=r"jsonl:2: the check sum .* bring the ledger"):
        receive(catalogue, "MA-1544", 1)
    assert (path.read_bytes(), text(shop)) == before


def test_a_write_protected_shelf_file_is_told_before_anything_moves(
    shop: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    receive(catalogue, "MA-1544", 1)
    ledger = (shop / "shelf.ledger.jsonl").read_bytes()
    real = os.access
    # As the administrator sees it nothing is protected, so the answer of the system is made.
    monkeypatch.setattr(
        os, "access", lambda p, mode: Path(p).name != "shelf.yaml" and real(p, mode)
    )
    with pytest.raises(UsageError, match="write-protected; nothing was moved"):
        receive(load(shop), "MA-1544", 1)
    assert (shop / "shelf.ledger.jsonl").read_bytes() == ledger
    assert not (shop / ".shelf.pending").exists()


@pytest.mark.parametrize(
    ("minutes", "told"), [(60, False), (0, False), (-9, False), (-11, True), (-14_000_000, True)]
)
def test_a_clock_set_back_is_told_with_both_times(
    shop: Path, catalogue: Catalogue, auditor: Any, minutes: int, told: bool
) -> None:
    """A move of 1999 behind one of 2026 went in without a word."""
    first = dt.datetime(2026, 11, 25, 14, 3, 9)
    then = first + dt.timedelta(minutes=minutes)
    receive(catalogue, "MA-1544", 1, note=Note(time=f"{first:%Y-%m-%dT%H:%M:%SZ}"))
    moved = receive(load(shop), "MA-1544", 1, note=Note(time=f"{then:%Y-%m-%dT%H:%M:%SZ}"))

    assert auditor.agree()["MA-1544"][0] == 4, "it is written in any case"
    looks = [each for each in moved.remarks if "is dated" in each]
    assert bool(looks) == told
    if told:
        assert f"dated {then} (UTC), before the last one, {first} (UTC);" in looks[0]
    found = [(each.code, each.span.line) for each in check(load(shop))]
    assert found == ([("FC309", len(auditor.lines()))] if told else [])


def test_a_stock_take_tells_of_a_clock_set_back_too(shop: Path, catalogue: Catalogue) -> None:
    receive(catalogue, "MA-1544", 1, note=Note(time="2026-11-25T14:03:09Z"))
    (shop / "counted.csv").write_text("MA-1601,6\n")
    rows = read_count_list(load(shop), shop / "counted.csv").rows
    take = take_stock(load(shop), rows, note=Note(time="2020-11-25T14:03:09Z"))
    assert any("is dated 2020-11-25" in each for each in take.remarks)


def test_a_clock_set_back_leaves_each_ledgers_lines_in_their_order(
    shop: Path, catalogue: Catalogue
) -> None:
    (shop / "shelf-annex.yaml").write_text("kind: shelf\nrecords:\n  MA-1605: {quantity: 1}\n")
    for hour in (9, 7, 11):  # set back by two hours in between
        receive(load(shop), "MA-1544", 1, note=Note(time=f"2026-11-25T{hour:02}:00:00Z"))
    receive(load(shop), "MA-1605", 1, note=Note(time="2026-11-25T10:00:00Z"))

    assert len(history(load(shop)).ledgers) == 2
    told = [(one.part.id, one.line.change) for one in history(load(shop)).lines]
    assert [part for part, _ in told[-5:]] == [
        "MA-1544",
        "MA-1544",
        "MA-1605",
        "MA-1605",
        "MA-1544",
    ]
    seqs = [one.line.seq for one in history(load(shop), "MA-1544").lines]
    assert seqs == sorted(seqs)
