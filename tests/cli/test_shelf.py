"""`fitcheck shelf` from the command line: what it prints, refuses and leaves behind.

Judges from outside: the library jsonschema for the JSON answers, Python's csv for the rows; sums
are worked out here anew from the shelf file as PyYAML reads it.
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from filelock import FileLock
from jsonschema import Draft202012Validator

from fitcheck.catalogue.editing import saving
from fitcheck.catalogue.ledger.line import LedgerLine
from fitcheck.cli.shelf import COMMANDS
from fitcheck.services.shelf import recovery
from tests.conftest import answer_schemas, some

ROOT = Path(__file__).parents[2]
JSON = {
    "shelf-list": ["list", "--low", "1"],
    "shelf-history": ["history"],
    "shelf-move": ["receive", "MA-1545", "2", "--cost", "33.5"],
    "shelf-count": ["count", "counted.csv", "--write"],
}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A folder with a copy of the demo catalogue and a list of what was counted."""
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    rows = "part,counted,place\nMA-1545,3,shed\nGW-20-103,0,\nMA-1643,1,\nSP-10E1,4,\n"
    text = (tmp_path / "catalog" / "shelf.yaml").read_text("utf-8")
    assert all(f"  {part}: {{quantity: 1," in text for part in ("MA-1545", "GW-20-103"))
    (tmp_path / "counted.csv").write_text(rows.replace("SP-10E1", "CG-40.03"), encoding="utf-8")
    return tmp_path


def records(shop: Path) -> dict[str, dict[str, Any]]:
    text = (shop / "catalog" / "shelf.yaml").read_text("utf-8")
    found: dict[str, dict[str, Any]] = yaml.load(text, yaml.CBaseLoader)["records"]
    return found


@pytest.fixture
def shelf(run: Any, shop: Path) -> Any:
    def call(*words: str, **options: Any) -> Any:
        return run("shelf", *words, cwd=shop, **options)

    return call


# ---------------------------------------------------------------- moves


def test_a_day_at_the_counter(shelf: Any, shop: Path) -> None:
    noted = ["--reason", "order 118", "--by", "kit"]
    first = shelf("receive", "MA-1545", "3", "--cost", "33,50", *noted)
    assert (first.code, first.out) == (
        0,
        "MA-1545 (no. 1545): 1 → 4 on the shelf, drawer A4\n  cost 33.50 EUR a piece\n",
    )
    assert "shelf.ledger.jsonl: opened with what the shelf file says" in first.err
    second = shelf("issue", "1545", "4", env={"FITCHECK_BY": "ruff"})
    assert second.out == (
        "MA-1545 (no. 1545): 4 → 0 on the shelf, drawer A4\nThat was the last one.\n"
    )
    assert second.err == ""
    assert shelf("price", "1545", "52.9").out == (
        "MA-1545 (no. 1545): price 49.90 EUR → 52.90 EUR\n"
    )
    assert shelf("place", "1545", "-2+3").out == "MA-1545 (no. 1545): drawer A4 → -2+3\n"
    assert shelf("place", "1545", "drawer B2").out == "MA-1545 (no. 1545): -2+3 → drawer B2\n"
    assert records(shop)["MA-1545"] == {
        "quantity": "0",
        "place": "drawer B2",
        "cost": "33.50",
        "price": "52.90",
    }

    rows = list(csv.DictReader(io.StringIO(shelf("history", "MA-1545", "--format", "csv").out)))
    assert [(r["action"], r["change"], r["quantity_after"], r["by"]) for r in rows[:3]] == [
        ("open", "1", "1", "kit"),
        ("receive", "3", "4", "kit"),
        ("issue", "-4", "0", "ruff"),
    ]
    assert [r["price"] for r in rows] == ["49.90", "", "", "52.90", "", ""]
    assert rows[1]["reason"] == "order 118"
    shown = shelf("history", "1545", "--last", "2").out
    assert "Moves of MA-1545 (no. 1545): 6 lines, the last 2 of them; times are UTC" in shown
    assert "place -2+3" in shown
    assert "place drawer B2" in shown


def test_moves_change_the_parts_line_of_the_file_and_the_ledgers_end(
    shelf: Any, shop: Path
) -> None:
    before = (shop / "catalog" / "shelf.yaml").read_bytes().split(b"\n")
    assert shelf("issue", "GW-20-116", "1").code == 0
    after = (shop / "catalog" / "shelf.yaml").read_bytes().split(b"\n")
    assert after.pop(before.index(b"records:")).startswith(b"ledger: {line: ")
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        (
            b"  GW-20-116: {quantity: 4, place: drawer A3, cost: 33.24, price: 54.50}",
            b"  GW-20-116: {quantity: 3, place: drawer A3, cost: 33.24, price: 54.50}",
        )
    ]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["issue", "MA-1545", "2"], "only 1 of MA-1545 (no. 1545) on the shelf, 2 asked for"),
        (["issue", "MA-21553", "1"], "none of MA-21553 (no. 21553) on the shelf"),
        (["issue", "CG-40.03", "1"], "is not on the shelf; fitcheck shelf receive CG-40.03 1"),
        (["issue", "MB-1545", "1"], "no gear set 'MB-1545'; did you mean MA-1545?"),
        (["issue", "MA-1545", "-1"], "-1 is out of range; give 1 to 1000000"),
        (["issue", "MA-1545", "9" * 23], f"{'9' * 23} is out of range; give 1 to 1000000"),
        (["price", "MA-1545", "-5", "--by", "kit"], "-5 is below zero; give an amount"),
        (["receive", "MA-1545", "-x"], "no option -x; see fitcheck shelf receive --help"),
        (["list", "--catalog", "counted.csv"], "is no YAML file: 'counted.csv'; name a folder"),
        (["issue", "MA-1545", "0"], "0 is out of range; give 1 to 1000000"),
        (["issue", "MA-1545", "1.5"], "'1.5' is no whole number"),
        (["issue", "MA-1545"], "'QUANTITY'"),
        (["receive", "MA-1545", "1", "--cost", "-2"], "-2 is below zero"),
        (["receive", "MA-1545", "1", "--place", " "], "the place is blank"),
        (["receive", "MA-1545", "1", "--reason", "a\nb"], "the reason holds the character"),
        (["price", "MA-1545", "63.505"], "write 63505, or 63.50 or 63.51"),
        (["price", "MA-1545", "dear"], "'dear' is no sensible number"),
        (["place", "MA-1545", ""], "the place is blank"),
        (["count"], "name the file that was counted, or give --as-written"),
        (["count", "--complete", "--as-written"], "--complete needs the file"),
        (["count", "none.csv"], "none.csv: there is no such file"),
        (["history", "MB-1545"], "did you mean MA-1545?"),
        (["list", "--supplier", "marran"], "no supplier 'marran'; did you mean marram?"),
        (["list", "--family", "dunlyn"], "no engine family 'dunlyn'"),
        (["list", "--low", "-1"], "-1 is out of range; give 0 or more"),
        (["lst"], "no command 'lst'; did you mean list?"),
        (["sell"], "no command 'sell'; there is list, receive, issue"),
        (["--format", "csv"], "no option --format; see fitcheck shelf --help"),
    ],
)
def test_wrong_use_is_one_line_and_changes_nothing(
    words: list[str], says: str, shelf: Any, shop: Path
) -> None:
    before = {p: p.read_bytes() for p in (shop / "catalog").rglob("*.yaml")}
    ran = shelf(*words)

    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.count("\n") == 1, ran.err
    assert says in ran.err
    assert {p: p.read_bytes() for p in (shop / "catalog").rglob("*.yaml")} == before
    assert not (shop / "catalog" / "shelf.ledger.jsonl").exists()


def test_without_a_command_the_help_goes_to_stderr(shelf: Any) -> None:
    ran = shelf()
    assert (ran.code, ran.out) == (2, "")
    assert all(f"  {name} " in ran.err for name in COMMANDS)


def test_the_demo_is_refused(run: Any, tmp_path: Path) -> None:
    for words in (["receive", "MA-1545", "1"], ["count", "--as-written", "--write"]):
        ran = run("shelf", *words, cwd=tmp_path)
        assert ran.code == 2
        assert ran.err.count("\n") == 1
        assert "the shelf of the built-in demo is not moved; copy the folder" in ran.err
        assert "asked of" not in ran.err, "it names the way out once"
    assert run("shelf", "list", cwd=tmp_path).code == 0
    ran = run("shelf", "history", cwd=tmp_path)
    assert (ran.code, ran.out) == (3, "There is no ledger here: the next move opens one.\n")


def test_another_till_that_does_not_end_its_move(
    shelf: Any, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recovery, "WAIT_SECONDS", 0.05)
    with FileLock(shop / "catalog" / saving.LOCK_NAME):
        ran = shelf("receive", "MA-1545", "1")
    assert ran.code == 2
    assert ran.err.count("\n") == 1
    assert "another program is writing here" in ran.err
    assert not (shop / "catalog" / "shelf.ledger.jsonl").exists()


def test_a_folder_that_cannot_be_written(program: Any, shop: Path) -> None:
    (shop / "catalog").chmod(0o555)
    try:
        if (shop / "catalog").stat().st_uid == 0:
            pytest.skip("root writes everywhere")
        ran = program("shelf", "receive", "MA-1545", "1", cwd=shop)
    finally:
        (shop / "catalog").chmod(0o755)
    assert ran.returncode == 2
    assert ran.stderr.count(b"\n") == 1


# ---------------------------------------------------------------- list


def test_list_adds_up_to_the_last_cent(shelf: Any, shop: Path) -> None:
    data = json.loads(shelf("list", "--format", "json").out)
    (total,) = data["totals"]
    known = records(shop)
    cost = sum(int(r["quantity"]) * Decimal(r["cost"]) for r in known.values())
    priced = [r for r in known.values() if "price" in r]
    price = sum(int(r["quantity"]) * Decimal(r["price"]) for r in priced)

    assert total["at_cost"]["exact"] == f"{cost:.2f}"
    assert total["at_price"]["exact"] == f"{price:.2f}"
    assert total["pieces"] == sum(int(r["quantity"]) for r in known.values())
    assert total["pieces_without_price"] == total["pieces"] - sum(
        int(r["quantity"]) for r in priced
    )
    assert (total["currency"], total["entries"]) == ("EUR", len(known))
    assert [e["part"] for e in data["entries"]] == list(known)


def test_list_filters(shelf: Any, shop: Path) -> None:
    def ids(*words: str) -> list[str]:
        out = shelf("list", *words, "--format", "csv").out
        return [row["id"] for row in csv.DictReader(io.StringIO(out))]

    known = records(shop)
    assert ids() == list(known)
    assert ids("--low", "0") == [i for i, r in known.items() if r["quantity"] == "0"]
    assert ids("--place", "DRAWER b") == [
        i for i, r in known.items() if r["place"].startswith("drawer B")
    ]
    assert ids("--supplier", "Marram") == [i for i in known if i.startswith("MA-")]
    godwit = ids("--family", "godwit-200")
    assert "CG-140.54" in godwit
    assert set(godwit) < set(known)
    both = ids("--family", "godwit-200", "--low", "0")
    assert both == [i for i in godwit if known[i]["quantity"] == "0"]
    none = shelf("list", "--place", "attic")
    assert none.code == 3
    assert "Nothing on the shelf is like that." in none.out
    assert "nothing lies at 'attic'; there is drawer" in none.err

    # A word of the place will do, its beginning too, but not its middle.
    at = {i: r["place"].split() for i, r in known.items()}
    number = next(words[1] for words in at.values() if len(words) == 2)
    for asked in (number, number.lower(), f"{number} DRAWER", f"drawer{number}"):
        assert ids("--place", asked) == [
            i for i, words in at.items() if words[-1].startswith(number)
        ]
    assert shelf("list", "--place", "rawer").code == 3
    near = shelf("list", "--place", "drawr " + number).err
    assert near.startswith(f"fitcheck: nothing lies at 'drawr {number}'; there is ")
    assert f"drawer {number}" in near


def test_two_currencies_are_never_added_up(shelf: Any, shop: Path) -> None:
    files = (shop / "catalog" / "sets").rglob("*.yaml")
    path = next(file for file in files if "  MA-1545:" in file.read_text("utf-8"))
    text = path.read_text("utf-8")
    head, mark, rest = text.partition("  MA-1545:\n")
    assert mark
    path.write_text(f"{head}{mark}    currency: CHF\n{rest}", encoding="utf-8")
    data = json.loads(shelf("list", "--format", "json").out)
    assert {t["currency"]: t["entries"] for t in data["totals"]} == {
        "EUR": len(records(shop)) - 1,
        "CHF": 1,
    }
    assert "CHF" in shelf("list").out


def test_edits_by_hand_are_told_by_list(shelf: Any, shop: Path) -> None:
    shelf("receive", "MA-1643", "1")
    path = shop / "catalog" / "shelf.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("MA-1545: {quantity: 1", "MA-1545: {quantity: 9"), "utf-8")
    ran = shelf("list")
    assert ran.code == 0
    assert "the shelf file and its ledger differ on MA-1545: edited by hand?" in ran.err
    (one,) = json.loads(shelf("list", "--format", "json").out)["differences"]
    assert (one["ledger"]["quantity"], one["shelf_file"]["quantity"]) == (1, 9)

    plan = shelf("count", "--as-written")
    assert "1 to change" in plan.out
    assert "Edited by hand in the shelf file since the last move: MA-1545." in plan.out
    assert "nothing is written yet; --write carries it out" in plan.err
    assert shelf("count", "--as-written", "--write").code == 0
    assert shelf("list").err == ""


# ---------------------------------------------------------------- stock-take


def test_a_stock_take_shows_its_plan_then_carries_it_out(shelf: Any, shop: Path) -> None:
    plan = shelf("count", "counted.csv")
    assert plan.code == 0
    assert "Stock-take, the plan" in plan.out
    assert "3 to change; 1 as counted before; 61 not counted and left alone" in plan.out
    assert "counted.csv:2" in plan.out
    assert records(shop)["MA-1545"]["quantity"] == "1"

    zero = sum(r["quantity"] == "0" for r in records(shop).values())
    complete = shelf("count", "counted.csv", "--complete").out
    assert f"; 1 as counted before; {zero} not counted and at 0 already" in complete

    done = shelf("count", "counted.csv", "--write", "--reason", "year's end")
    assert "Stock-take, carried out" in done.out
    assert "3 changed" in done.out
    known = records(shop)
    assert (known["MA-1545"]["quantity"], known["MA-1545"]["place"]) == ("3", "shed")
    assert known["GW-20-103"]["quantity"] == "0"
    assert known["CG-40.03"] == {"quantity": "4"}
    again = shelf("count", "counted.csv", "--write")
    assert "0 changed; 4 as counted before" in again.out
    lines = (shop / "catalog" / "shelf.ledger.jsonl").read_text("utf-8").splitlines()
    assert [json.loads(line)["reason"] for line in lines[-3:]] == ["year's end"] * 3


def test_faulty_rows_are_all_told_and_nothing_is_written(shelf: Any, shop: Path) -> None:
    rows = "part,counted\nMA-1545,3\nMA-9,1\nMA-1643,-1\n"
    (shop / "counted.csv").write_text(rows, encoding="utf-8")
    ran = shelf("count", "counted.csv", "--write")

    assert (ran.code, ran.out) == (2, "")
    lines = ran.err.splitlines()
    assert [line.split(": ")[1] for line in lines] == [
        "counted.csv:3",
        "counted.csv:4",
        "counted.csv",
    ]
    assert "2 rows cannot be taken, so nothing is; fix the file and count again" in lines[-1]
    assert records(shop)["MA-1545"]["quantity"] == "1"
    assert not (shop / "catalog" / "shelf.ledger.jsonl").exists()


# ---------------------------------------------------------------- every format


@pytest.mark.parametrize("answer", JSON)
def test_json_holds_to_its_schema(answer: str, shelf: Any) -> None:
    judge = Draft202012Validator(answer_schemas()[f"{answer}.output.schema.json"])
    shelf("place", "GW-20-101", "drawer A2")
    ran = shelf(*JSON[answer], "--format", "json")
    data = json.loads(ran.out)

    assert ran.code == 0
    assert [error.message for error in judge.iter_errors(data)] == []
    assert data["answer"] == answer
    assert [what for what, broken in some(list(faults(data)), 20) if judge.is_valid(broken)] == []


def faults(data: Any, free: tuple[str, ...] = ("sets", "pairs")) -> Iterator[tuple[str, Any]]:
    """The same data with one member gone or one too many, each place once."""
    if isinstance(data, dict):
        for key in data:
            yield f"without {key}", {k: v for k, v in data.items() if k != key}
            if key not in free:
                for what, child in faults(data[key]):
                    yield f"{key}: {what}", {**data, key: child}
        yield "one member more", {**data, "surplus": 1}
    elif isinstance(data, list):
        for number, each in enumerate(data[:3]):
            for what, child in faults(each):
                yield f"[{number}]: {what}", [*data[:number], child, *data[number + 1 :]]
    else:
        yield f"an object for {data!r}", {"object": True}


@pytest.mark.parametrize(
    "words", [["list"], ["history"], ["count", "counted.csv"]], ids=lambda words: words[0]
)
def test_rows_say_what_json_says(words: list[str], shelf: Any) -> None:
    shelf("receive", "MA-1545", "2", "--reason", "=1+1", "--place", "-5")
    data = json.loads(shelf(*words, "--format", "json").out)
    rows = list(csv.DictReader(io.StringIO(shelf(*words, "--format", "csv").out)))
    page = shelf(*words, "--format", "markdown").out.splitlines()
    inner = data.get("entries") or data.get("lines") or data["rows"]

    assert len(rows) == len(inner) == len(page) - 2
    for row, one in zip(rows, inner, strict=True):
        assert row.get("id", row.get("part")) == one["part"]
        assert row["part_number"] == one["part_number"].lstrip("'")
        for name in ("cost", "price"):
            money = one.get(name, one.get("sets", {}).get(name))
            assert row[name] == ("" if money is None else money["exact"])
        if "change" in row:
            assert int(row["change"]) == one["change"]
    if words == ["history"]:
        assert rows[-1]["reason"] == "'=1+1"
        assert rows[-1]["place"] == "'-5"
    assert not any(re.match(r"[=+@\t\r]", cell or "") for row in rows for cell in row.values())


@pytest.mark.parametrize("width", some([40, 20, 60, 80, 100, 200], 1))
def test_no_line_is_wider_than_the_screen(width: int, shelf: Any) -> None:
    shelf("receive", "MA-1545", "2", "--reason", "a long reason " * 12, "--cost", "33.50")
    for words in (["list"], ["history"], ["history", "MA-1545"], ["count", "counted.csv"]):
        ran = shelf(*words, env={"COLUMNS": str(width)})
        assert ran.code == 0
        assert max(map(len, ran.out.splitlines())) <= width


@pytest.mark.parametrize("width", some([30, 60, 80, 100], 1))
def test_history_says_by_whom_on_every_screen(width: int, shelf: Any) -> None:
    shelf("receive", "MA-1545", "2", "--by", "kit", "--reason", "a long reason " * 4)
    shelf("issue", "MA-1545", "1", "--by", "ruff")
    screen = {"env": {"COLUMNS": str(width)}}
    both = " ".join(shelf("history", "--last", "2", **screen).out.split())
    assert both.index("kit") < both.index("ruff")
    for words in (["MA-1545", "--last", "1"], ["--last", "1"]):
        one = " ".join(shelf("history", *words, **screen).out.split())
        assert "times are UTC; all by ruff" in one
        assert "what issue" not in one


def test_a_list_that_may_not_be_read_is_told_by_name(
    shelf: Any, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = shop / "counted.csv"
    path.chmod(0)
    monkeypatch.setattr("os.access", lambda *given, **more: False)  # as for others than root
    ran = shelf("count", "counted.csv")
    assert "Path " not in ran.err
    if ran.code:
        assert "fitcheck: counted.csv: cannot be read (permission denied" in ran.err


def test_what_would_steer_a_terminal_is_shown_as_it_is(shelf: Any, shop: Path) -> None:
    shelf("receive", "MA-1643", "1")
    path = shop / "catalog" / "shelf.ledger.jsonl"
    last = json.loads(path.read_text("utf-8").splitlines()[-1])
    place = {"place": "a\x1b[31mb\u202e"}
    line = LedgerLine(last["seq"] + 1, last["time"], "place", "MA-1643", 0, 2, place, "c\x1b[2J")
    with path.open("a", encoding="utf-8", newline="\n") as stream:
        stream.write(line.written(last["sum"])[0] + "\n")

    for words in (["history"], ["history", "--format", "csv"], ["history", "--format", "json"]):
        ran = shelf(*words)
        assert ran.code == 0
        assert not set("\x1b\u202e") & set(ran.out)
    assert r"a\x1b[31mb" in shelf("history").out
    moved = shelf("issue", "MA-1643", "1")
    assert moved.code == 2
    assert moved.err.count("\n") == 1
    assert "\x1b" not in moved.err


def test_a_shelf_file_that_cannot_be_read_is_not_called_empty(shelf: Any, shop: Path) -> None:
    path = shop / "catalog" / "shelf.yaml"
    path.write_text(path.read_text("utf-8").replace("records:", "records: ["), "utf-8")
    ran = shelf("list")
    assert (ran.code, ran.out) == (2, "")
    assert "shelf.yaml:" in ran.err
    assert "fix the shelf file" in ran.err
