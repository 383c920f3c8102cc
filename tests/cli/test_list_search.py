"""`match --list` and `options --list` as commands: one screen, all formats, one line of refusal."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from fitcheck.answers.schemas import output_schemas
from tests.cli.conftest import Run

LIST = "tests/data/lists/marram-2026-06.csv"
STRANGE = "tests/data/lists/arrowgrass-2026-01.csv"


@pytest.mark.parametrize("lists", [["--list", LIST], ["--list", LIST, "--list", STRANGE]])
def test_the_answer_is_one_screen(run: Run, lists: list[str]) -> None:
    out = run("match", "dunlin-ten", *lists, env={"COLUMNS": "80"}, together=False).out
    lines = out.splitlines()
    assert len(lines) < 24
    assert max(map(len, lines)) <= 80
    assert "5 fit" in out
    assert ("Suppliers" in out) == (len(lists) > 2)


SHORT = {
    "notes on the machine": (
        "15/46 14/55 -f dunlin-50 --list LIST",
        ["2 more: --long", "only with MA-21450", "LEAVE THE CLASS"],
    ),
    "the band": (
        "dunlin-ten --list LIST",
        ["the band of standard engine, to +17 % with care, with an article of the list"],
    ),
    "what ranks": ("dunlin-ten --list LIST --rank 0-45", ["by time to 45 km/h"]),
    "what is unlawful": (
        "dunlin-ten --list LIST --lawful",
        ["Nothing lawful; 7 choices are over the 45 km/h of its class, left out"],
    ),
    "what may be cheaper, and currencies": (
        "dunlin-ten --list LIST --band any --max-price 90 --beside catalogue",
        ["with a price in another currency than EUR are left out by --max-price (in EUR)"],
    ),
    "prices in several currencies": (
        "dunlin-ten --list LIST --band any --beside catalogue",
        ["CHF", "in different currencies are not compared"],
    ),
}


@pytest.mark.parametrize("case", SHORT)
def test_the_short_answer_says_what_that_of_match_says(run: Run, tmp_path: Path, case: str) -> None:
    words, parts = SHORT[case]
    shutil.copytree("catalog", tmp_path / "catalog")
    francs = tmp_path / "catalog" / "suppliers" / "samphire.yaml"
    francs.write_text(francs.read_text("utf-8").replace("EUR", "CHF"), "utf-8")
    given = [LIST if word == "LIST" else word for word in words.split()]
    env = {"COLUMNS": "80", "FITCHECK_CATALOG": str(tmp_path / "catalog")}
    out = " ".join(run("match", *given, env=env).out.split())
    assert all(part in out for part in parts), out


def test_more_gearings_are_one_option_away(run: Run) -> None:
    words = ("match", "dunlin-ten", "--list", LIST, "--band", "any")
    short, every = (run(*words, *more, env={"COLUMNS": "80"}).out for more in ([], ["--top", "0"]))
    assert "more gearings: --top 0" in short
    assert len(every.splitlines()) > 2 * len(short.splitlines())
    assert "more gearings" not in every


def test_every_row_is_told_at_length(run: Run) -> None:
    out = run("match", "dunlin-ten", "--list", LIST, "--long", together=False).out
    assert "row 3 1544 15/44: for mid or long, not for short (catalog/sets/marram.yaml:" in out
    assert "if 'short, Rennsport' is the right housing" in " ".join(out.split())


@pytest.mark.parametrize("words", [("match", "dunlin-ten"), ("options", "dunlin-50")])
def test_json_holds_to_its_schema_and_adds_up(run: Run, words: tuple[str, str]) -> None:
    ran = run(*words, "--list", LIST, "--list", STRANGE, "--format", "json", together=False)
    data = json.loads(ran.out)
    schema = output_schemas()[f"{words[0]}.output.schema.json"]
    Draft202012Validator(schema).validate(data)
    known, unknown = data["lists"]
    assert (known["supplier"], known["supplier_known"]) == ("marram", True)
    assert not unknown["supplier_known"]
    for each in data["lists"]:
        rows, counts = each["rows"], each["counts"]
        assert len(rows) == counts.pop("rows") == sum(counts.values())
        assert counts["fits"] == sum(row["fit"] == "fits" for row in rows)


@pytest.mark.parametrize("form", ["csv", "markdown"])
def test_rows_for_programs_are_the_combinations(run: Run, form: str) -> None:
    out = run("match", "dunlin-ten", "--list", LIST, "--format", form, together=False).out
    assert "MA-21553" in out
    assert "SA-107" not in out


REFUSED = {
    "no such list": (["--list", "nowhere.csv"], "nowhere.csv: there is no such file"),
    "no columns": (["--list", "words.csv"], "words.csv: no header row was found"),
    "no such supplier": (
        ["--list", LIST, "--supplier", "nobody"],
        "'nobody'",
    ),
    "one supplier for two": (
        ["--list", LIST, "--list", STRANGE, "--supplier", "marram"],
        "2 lists and 1 suppliers: give --supplier once for each --list",
    ),
    "beside nothing": (["--beside", "list"], "--beside is of a --list"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_makes_no_sense_is_one_line(run: Run, tmp_path: Path, case: str) -> None:
    words, told = REFUSED[case]
    (tmp_path / "words.csv").write_text("only words\nand more\n", encoding="utf-8")
    words = [str(tmp_path / word) if word == "words.csv" else word for word in words]
    ran = run("match", "dunlin-ten", *words)
    assert ran.code == 2
    assert told in ran.err
    assert (ran.out, len(ran.err.splitlines())) == ("", 1)


HEADER = "Part number;Teeth;Stage;Models;Housing;Price;Stock"
NONE_CERTAIN = {
    "header only": "",
    "only other goods": "1;;;Gearbox oil;;4,00;yes",
    "all in question": "1;15/44;primary;Dunlin 50 Xylofix;short;40,00;yes",
}


@pytest.mark.parametrize("words", [("match", "dunlin-ten"), ("options", "dunlin-50")])
@pytest.mark.parametrize("case", NONE_CERTAIN)
def test_a_list_without_a_certain_row_makes_nothing(
    run: Run, tmp_path: Path, words: tuple[str, str], case: str
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(f"{HEADER}\n{NONE_CERTAIN[case]}\n", encoding="utf-8")
    given = (*words, "--list", str(path), "--band", "any")
    for beside in ("list", "shelf", "catalogue"):
        ran = run(*given, "--beside", beside, "--format", "json", together=False)
        data = json.loads(ran.out)
        lists = [data] if words[0] == "match" else data["groups"]
        assert ran.code == 3
        assert all(one["combinations"] == [] for one in lists)
        for form in ("csv", "markdown"):
            out = run(*given, "--beside", beside, "--format", form, together=False).out
            assert len(out.splitlines()) <= 2, "a header and nothing below"
        for more in ((), ("--long",)):
            out = run(*given, "--beside", beside, *more, together=False).out
            assert "othing of this list fits for certain" in " ".join(out.split())
