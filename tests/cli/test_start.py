"""`fitcheck start`: from an empty folder to a first right answer, on a terminal or by options.

The terminal is a real one (pty, as POSIX has it); PyYAML reads what was written. What the first
match must say is worked out by hand: 45 teeth over 40 is 1.125, so +12.5 % of road speed.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitcheck.catalogue.locate import demo_folder
from tests.cli.watched import on_a_terminal

GENERAL = [
    ("Name of the shop (empty: none): ", "Tideline"),
    ("bands (common practice, no published source)? [Y/n]: ", ""),
]
LAW = [("United States (empty: none): ", "EU")]
SUPPLIER = [("First supplier (empty: later): ", "Sea Aster"), ("(empty: EUR): ", "")]
FAMILY = [
    ("First engine family (empty: later): ", "Greenshank 50"),
    ("Its housings, commas between: ", "short, long"),
    ("Teeth of a factory train, from input shaft to wheel", "14/45 13/49"),
    ("In which housing (short, long): ", "short"),
    ("Rim size of its wheel, inches: ", "10"),
    ("Centre distance of the primary stage, mm (empty: not known): ", ""),
    ("Centre distance of the secondary stage, mm (empty: not known): ", ""),
]
MACHINE = [
    ("First machine, as the counter calls it (empty: later): ", "Mia's City"),
    ("Its teeth as counted, from input shaft to wheel: ", "14/45 13/49"),
    ("Its housing (short, long) (empty: not known): ", "short"),
    ("Rim size of its driven wheel, inches (empty: not known): ", "10"),
    ("Its state of tune (stock, pipe-only, big-bore, race)", "stock"),
]
SET = [
    ("Price list of the supplier, a file (empty: later): ", ""),
    ("Add a gear set by hand? [y/N]: ", "y"),
    ("Part number: ", ""),
    ("Part number: ", "1440"),
    ("Engine family that somebody confirms", "greenshank-50"),
    ("Housings of it, of short, long (empty: not known): ", "short,long"),
    ("from input shaft to wheel: ", "14/40"),
    ("Stage of 14/40 (primary, secondary): ", "primary"),
    ("Price in EUR (empty: not known): ", "54.90"),
    ("Write it? [y/N]: ", "y"),
    ("Add a gear set by hand? [y/N]: ", "n"),
]
WHOLE = [*GENERAL, *LAW, *SUPPLIER, *FAMILY, *MACHINE, *SET]
OPTIONS = [
    *("--shop", "Tideline", "--law", "EU", "--supplier", "Sea Aster", "--currency", "EUR"),
    *("--family", "Greenshank 50", "--housing", "short,long", "--train", "short 10 14/45 13/49"),
    *("--machine", "Mia's City", "--machine-housing", "short", "--wheel", "10", "--tune", "stock"),
]
ADD = [
    *("add", "set", "--supplier", "sea-aster", "--part-number", "1440", "--teeth", "14/40"),
    *("--stage", "primary", "--family", "greenshank-50=short,long", "--price", "54.90", "--write"),
]
SECOND = [
    *("--supplier", "sea aster", "--family", "greenshank 50"),
    *("--machine", "Ben", "--teeth", "14/42,13/49"),
]
TEN_MINUTES = 600
"""Keystrokes of a stranger to keyboards, one a second."""


def started(answers: list[tuple[str, str]], cwd: Path, *words: str) -> tuple[int, str]:
    return on_a_terminal(["start", *words], answers=answers, env={"TERM": "dumb"}, cwd=cwd)


def content(folder: Path) -> dict[str, str]:
    found = sorted([*folder.rglob("*.yaml"), *folder.rglob("*.md")])
    return {str(path.relative_to(folder)): path.read_text("utf-8") for path in found}


def records(folder: Path, name: str) -> Any:
    return yaml.load((folder / "catalog" / name).read_text("utf-8"), yaml.CBaseLoader)["records"]


def test_a_stranger_comes_to_a_first_right_match_within_ten_minutes(tmp_path: Path, run) -> None:
    code, sent = started(WHOLE, tmp_path)
    assert code == 0, sent
    keys = len("fitcheck start\n") + sum(len(typed) + 1 for _, typed in WHOLE)
    assert keys < TEN_MINUTES
    assert sent.count("an answer is needed; Ctrl-C stops") == 1
    assert "nothing wrong" in sent
    (row,) = [line for line in sent.splitlines() if line.lstrip().startswith("1  14/40")]
    assert "+12.50" in row
    ends = ["add machine 'NAME'", "import LIST --supplier sea-aster", "match mias-city"]
    assert all(f"fitcheck {each}" in sent[sent.index("Next:") :] for each in ends)
    assert records(tmp_path, "machines/greenshank-50.yaml")["mias-city"] == {
        "name": "Mia's City",
        "family": "greenshank-50",
        "housing": "short",
        "pairs": {"primary": "14/45", "secondary": "13/49"},
        "wheel_size_in": "10",
        "tune": "stock",
    }
    # The same by options alone: the same files, and nothing to ask.
    other = tmp_path / "other"
    ran = run("start", "other", *OPTIONS, cwd=tmp_path)
    assert ran.code == 0, ran.err
    assert run(*ADD, cwd=other).code == 0
    by_hand = content(tmp_path / "catalog")
    assert content(other / "catalog") == by_hand
    for name, text in by_hand.items():
        if not name.endswith(".md"):
            head = text.splitlines()[0]
            assert head.startswith("# yaml-language-server: $schema=../")
            schema = (tmp_path / "catalog" / name).parent / head.partition("=")[2]
            assert schema.is_file(), name
            assert "\n# " in text  # a comment says what it is
    machine = json.loads((tmp_path / "schemas" / "machine.schema.json").read_text("utf-8"))
    suggested = machine["$defs"]["Machine"]["properties"]["family"]["examples"]
    assert suggested == ["greenshank-50"]


def test_what_is_copied_is_law_with_its_source_or_marked_as_practice(tmp_path: Path, run) -> None:
    assert run("start", "--law", "UK, Germany", cwd=tmp_path).code == 0
    assert sorted(content(tmp_path / "catalog")) == ["README.md", "classes.yaml", "tunes.yaml"]
    theirs = yaml.load((demo_folder() / "classes.yaml").read_text("utf-8"), yaml.CBaseLoader)
    wanted = {
        id_: each
        for id_, each in theirs["records"].items()
        if each["place"] in ("United Kingdom", "Germany")
    }
    assert records(tmp_path, "classes.yaml") == wanted
    assert len(wanted) > 3
    assert all(each["source"] for each in wanted.values())
    assert "no published source" in (tmp_path / "catalog" / "tunes.yaml").read_text("utf-8")
    assert run("check", "--no-demo", cwd=tmp_path).code == 0


def test_it_stops_anywhere_and_goes_on_with_what_is_missing(tmp_path: Path) -> None:
    code, sent = started([*GENERAL, *LAW, (SUPPLIER[0][0], "\x04")], tmp_path)
    assert code == 130
    assert "stopped; all that was written is kept, fitcheck start . asks for the rest" in sent
    file = tmp_path / "catalog" / "tunes.yaml"
    file.write_text(file.read_text("utf-8").replace("high: 15 ", "high: 14 "), encoding="utf-8")
    before = content(tmp_path)
    code, sent = started(
        [*SUPPLIER, (FAMILY[0][0], ""), (SET[0][0], ""), (SET[1][0], "")], tmp_path
    )
    assert code == 0, sent
    after = content(tmp_path)
    assert {name: after[name] for name in before} == before
    assert sorted(set(after) - set(before)) == ["catalog/suppliers/sea-aster.yaml"]
    # And with nothing to do it asks of nothing that is there.
    code, sent = started([(FAMILY[0][0], ""), (SET[0][0], ""), (SET[1][0], "n")], tmp_path)
    assert (code, content(tmp_path)) == (0, after), sent


WRONG = [
    (GENERAL[0], "Tide\tline", "the name holds the character"),
    (LAW[0], "Atlantis", "no law of 'atlantis' is on file; there is Australia, European Union"),
    (SUPPLIER[1], "euro", "'euro' is no currency"),
    (FAMILY[1], ",", "write at least one, such as short, long"),
    (FAMILY[2], "14/45 x", "'x' is no pair of tooth counts"),
    (FAMILY[3], "mid", "no housing mid; it has short or long"),
    (FAMILY[4], "100", "100 is out of range; give 4 to 30"),
    (FAMILY[5], "wide", "'wide' is no number"),
    (MACHINE[2], "mid", "greenshank-50 has no housing 'mid'"),
    (MACHINE[4], "stok", "did you mean stock?"),
    (SET[0], "no-such.csv", "there is no file 'no-such.csv' here"),
]


def test_bad_input_is_one_line_at_each_prompt_and_asked_again(tmp_path: Path) -> None:
    wrong = {question: typed for (question, _), typed, _ in WRONG}
    # A machine that its family refuses is asked again as a whole.
    refused = [MACHINE[0], (MACHINE[1][0], "14/45"), *MACHINE[2:]]
    answers: list[tuple[str, str]] = []
    for question, typed in [*WHOLE[: -len(SET)], SET[0], (SET[1][0], "n")]:
        if (question, typed) == MACHINE[0]:
            answers += refused
        if question in wrong:
            answers.append((question, wrong[question]))
        answers.append((question, typed))
    code, sent = started(answers, tmp_path)
    assert code == 0, sent
    for _, _, said in WRONG:
        assert sum(said in line for line in sent.splitlines()) == 1, said
    assert sent.count("greenshank-50 has 2 stages (primary, secondary), counted 1") == 1


def test_enter_says_what_is_needed_and_later_leaves_the_record(tmp_path: Path) -> None:
    wait = "; write later to leave it for another time"
    left = [FAMILY[0], (FAMILY[1][0], ""), (FAMILY[1][0], "Later")]
    code, sent = started([*GENERAL, *LAW, *SUPPLIER, *left, SET[0], (SET[1][0], "n")], tmp_path)
    assert code == 0, sent
    assert sent.count(f"an answer is needed, like short, long{wait}") == 1
    assert sent.count("left for later; nothing of it is written") == 1
    assert not (tmp_path / "catalog" / "families").exists()
    # What was left is asked another time, and a stop keeps what was written till then.
    machine = [MACHINE[0], (MACHINE[1][0], ""), (MACHINE[1][0], "\x04")]
    code, sent = started([*FAMILY, *machine], tmp_path)
    assert code == 130
    assert sent.count(f"an answer is needed, like 14/45 13/49{wait}") == 1
    assert list(records(tmp_path, "families/greenshank-50.yaml")) == ["greenshank-50"]


def test_a_shop_that_has_a_name_keeps_it(tmp_path: Path, run) -> None:
    assert run("start", "--shop", "Tideline", cwd=tmp_path).code == 0
    before = content(tmp_path)
    ran = run("start", "--shop", "Other", cwd=tmp_path)
    assert (ran.code, content(tmp_path)) == (0, before)
    assert "catalog/README.md is there already, and keeps its name" in ran.err


def test_a_shop_without_sets_is_told_how_it_gets_some(tmp_path: Path, run) -> None:
    ran = run("start", *OPTIONS, cwd=tmp_path)
    assert "fitcheck add machine 'NAME' 14/45 13/49 -f greenshank-50 -w 10" in ran.out
    ran = run("match", "mias-city", cwd=tmp_path)
    assert ran.code == 3
    words = "No gear set is on file yet: fitcheck import LIST or fitcheck add set."
    assert words in " ".join(ran.out.split())


def test_options_without_a_tune_says_what_to_do(tmp_path: Path, run) -> None:
    assert run("start", *OPTIONS[:-2], "--no-tunes", cwd=tmp_path).code == 0
    ran = run("options", "greenshank", cwd=tmp_path)
    assert ran.code == 2
    words = "no tune is on file, so no band: fitcheck start writes the usual ones, or ask fitcheck"
    assert f"{words} match 14/45 13/49 -f greenshank-50 --band any" in ran.err


def test_a_family_has_the_housings_that_its_trains_name(tmp_path: Path, run) -> None:
    words = (
        "--family",
        "Knot",
        "--train",
        "a 12 14/45 13/49",
        "--train",
        "mid case 10 14/45 13/48",
    )
    assert run("start", *words, cwd=tmp_path).code == 0
    family = records(tmp_path, "families/knot.yaml")["knot"]
    assert family["housings"] == {"a": {"name": "a"}, "mid-case": {"name": "mid case"}}
    assert [each["housing"] for each in family["factory_trains"]] == ["a", "mid-case"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "nothing is said and nobody can be asked; give --supplier, --family"),
        (["--law", "Mars"], "no law of 'mars' is on file; there is Australia"),
        (["--family", "Knot", "--housing", "one"], "how many stages has it? give a counted"),
        (["--family", "Knot", "--train", "10 14/45"], "a family has at least one housing"),
        (["--family", "K", "--housing", "a,b", "--train", "10 9/40"], "is not said; it has a or b"),
        (["--train", "14/45"], "is no factory train; write housing, rim size and pairs"),
        (["--machine", "Mia"], "the machine is of which family? give --family"),
        (["there.txt", "--shop", "x"], "there.txt is no folder; name one, which may be new"),
        ([str(demo_folder().parent), "--shop", "x"], "the built-in demo is never written"),
    ],
)
def test_without_a_terminal_what_is_missing_or_wrong_is_one_line(
    words: list[str], said: str, tmp_path: Path, run
) -> None:
    (tmp_path / "there.txt").write_text("x", encoding="utf-8")
    ran = run("start", *words, cwd=tmp_path)
    assert ran.code == 2
    assert said in ran.err.splitlines()[-1]


def test_the_only_housing_of_a_family_is_that_of_its_machine(tmp_path: Path, run) -> None:
    words = ("--family", "Knot", "--housing", "one", "--train", "10 14/45", "--machine", "Mia")
    assert run("start", *words, cwd=tmp_path).code == 0
    assert records(tmp_path, "machines/knot.yaml")["mia"]["housing"] == "one"


def test_a_price_list_is_handed_over_to_import(tmp_path: Path, run) -> None:
    lines = ["No.,teeth,stage,model,price", "1440,14/40,primary,Greenshank 50,54.90"]
    (tmp_path / "prices.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    ran = run("start", *OPTIONS, "--list", "prices.csv", cwd=tmp_path)
    assert ran.code == 0, ran.err
    lines.append("1442,14/x,primary,Greenshank 50,52.00")
    (tmp_path / "prices.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    again = run("start", *SECOND, "--list", "prices.csv", cwd=tmp_path)
    assert again.code == 1, again.err  # a row cannot be read
    # Who is there already is named, and stays; the second machine is of the family named.
    assert "sea-aster is there already, at " in again.err
    machines = records(tmp_path, "machines/greenshank-50.yaml")
    assert list(machines) == ["mias-city", "ben"]
    assert machines["ben"]["pairs"] == {"primary": "14/42", "secondary": "13/49"}
    (written,) = records(tmp_path, "sets/sea-aster.yaml").values()
    assert (written["part_number"], written["pairs"]) == ("1440", {"primary": "14/40"})
