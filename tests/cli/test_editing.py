"""`fitcheck add`, `edit` and `retire`: shown, asked, written, and never the demo.

The terminal is a real one (pty, as POSIX has it); PyYAML reads what was written.
"""

from __future__ import annotations

import difflib
import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.cli.watched import on_a_terminal
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[2]
ADD = [
    "add",
    "set",
    "--supplier",
    "marram",
    "--part-number",
    "1852",
    "--teeth",
    "18/52",
    "--stage",
    "primary",
]
FITS = [
    "--family",
    "dunlin-50",
    "--housing",
    "short",
    "--price",
    "58.90",
    "--source-date",
    "2026-11-03",
]
EDIT = ["edit", "MA-1544", "price=61.50"]
RETIRE = ["retire", "SA-107-N", "--successor", "SA-107"]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A folder with a copy of the demo catalogue."""
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    return tmp_path


def records(shop: Path, name: str = "marram") -> dict[str, Any]:
    text = (shop / "catalog" / "sets" / f"{name}.yaml").read_text("utf-8")
    found: dict[str, Any] = yaml.load(text, yaml.CBaseLoader)["records"]
    return found


def content(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in sorted(folder.rglob("*.yaml"))}


@pytest.mark.parametrize(
    "words", some([EDIT, [*ADD, *FITS], RETIRE], 2), ids=lambda words: words[0]
)
def test_shown_then_written_then_nothing_to_do(words: list[str], shop: Path, run) -> None:
    before = content(shop)
    shown = run(*words, cwd=shop)
    assert shown.code == 1
    assert shown.out.startswith("--- catalog/sets/")
    assert "nothing is written yet; --write writes it" in shown.err
    assert content(shop) == before

    written = run(*words, "--write", cwd=shop)
    assert written.code == 0
    assert written.out == shown.out
    assert "; written: catalog/sets/" in written.err
    after = content(shop)
    changed = [path for path in after if after[path] != before[path]]
    assert len(changed) == 1
    # The diff shows nothing else: its marks are those of Python's difflib over the two files.
    old, new = (text[changed[0]].decode().splitlines() for text in (before, after))
    marked = [line for line in shown.out.splitlines()[2:] if line[:1] in {"+", "-"}]
    judged = [line for line in difflib.unified_diff(old, new, n=0) if line[:2] != "@@"]
    assert marked == [line.rstrip() for line in judged[2:]]

    again = run(*words, "--write", cwd=shop)
    assert (again.code, again.out) == (0, "")
    assert again.err.startswith("fitcheck: nothing to do: the catalogue says so already (")
    assert content(shop) == after
    if EXPLORE or words is EDIT:
        assert run("check", "--quiet", cwd=shop).code == run("check", "--quiet", cwd=ROOT).code


@pytest.mark.night
def test_what_is_written_is_found_by_the_other_commands(shop: Path, run) -> None:
    assert run(*ADD, *FITS, "--write", cwd=shop).code == 0
    assert run(*RETIRE, "--write", cwd=shop).code == 0
    assert run("shelf", "receive", "1852", "2", cwd=shop).code == 0

    assert "MA-1852" in run("why", "dunlin-ten", "1852", cwd=shop).out
    told = "SA-107-N is retired; its successor is SA-107"
    for words in (["why", "dunlin-ten", "SA-107-N"], ["road", "dunlin-ten", "SA-107-N"]):
        assert told in " ".join(run(*words, cwd=shop).out.split())
    sheet = run("sheet", "dunlin-ten", "SA-107-N", "-o", "-", cwd=shop).out
    assert f"Do not order: {told}." in sheet
    assert sheet.count(told) == 2  # beside the choice, and in the notes on ordering
    moved = run("shelf", "receive", "SA-107-N", "1", cwd=shop)
    assert "SA-107-N" in moved.out + moved.err
    assert "takes its place" in " ".join((moved.out + moved.err).split())
    match = run("match", "dunlin-ten", "--band", "any", "--top", "0", "--format", "csv", cwd=shop)
    assert "SA-107-N" not in match.out


def test_several_families_each_with_its_housings(shop: Path, run) -> None:
    words = ["--family", "dunlin-50=short, mid", "--family", "sanderling-50"]
    shown = run(*ADD, *words, "--write", cwd=shop)
    assert shown.code == 0, shown.err
    assert records(shop)["MA-1852"]["fits"] == [
        {"family": "dunlin-50", "housings": ["short", "mid"]},
        {"family": "sanderling-50"},
    ]
    assert run(*ADD, *words, "--write", cwd=shop).err.startswith("fitcheck: nothing to do")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--housing", "mid"], "the housings of which family? give --family too"),
        (
            ["--family", "dunlin-50", "--family", "sanderling-50", "--housing", "mid"],
            "write the housings behind it: --family dunlin-50=mid",
        ),
        (
            ["--family", "dunlin-50=short", "--housing", "mid"],
            "write the housings behind it: --family dunlin-50=short,mid",
        ),
        (["--family", "dunlin-50="], "'dunlin-50=' names no family; write it like dunlin-50 or"),
        (["--family", "dunlin-50=mid", "--family", "dunlin-50"], "dunlin-50 is given twice"),
        (["--family", "dunlin-50=mod"], "dunlin-50 has no housing 'mod'"),
    ],
)
def test_whose_housing_it_is_is_not_guessed(words: list[str], said: str, shop: Path, run) -> None:
    ran = run(*ADD, *words, cwd=shop)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert said in ran.err


@pytest.mark.parametrize(
    "words", some([RETIRE, [*ADD, *FITS], EDIT], 2), ids=lambda words: words[0]
)
@pytest.mark.parametrize("named", some([["--catalog", str(ROOT / "catalog")], []], 1))
def test_the_demo_is_shown_and_never_written(words, named, tmp_path: Path, run) -> None:
    before = content(ROOT / "catalog")
    refused = run(*words, *named, "--write", cwd=tmp_path)
    assert (refused.code, refused.out, refused.err.count("\n")) == (2, "", 1)
    assert "the built-in demo is never written; copy the folder" in refused.err

    shown = run(*words, *named, cwd=tmp_path)
    assert shown.code == 1
    assert shown.out.startswith("--- ")
    assert "not written: the built-in demo is never written; copy the folder" in shown.err
    assert content(ROOT / "catalog") == before


def test_a_file_that_cannot_be_written_is_one_line(shop: Path, run, monkeypatch) -> None:
    from fitcheck.catalogue.editing import saving

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = content(shop)
    monkeypatch.setattr(saving, "_like", full)
    ran = run(*EDIT, "--write", cwd=shop)
    assert ran.code == 2
    assert ran.err.splitlines()[-1].endswith("(no space left on device); nothing written")
    assert content(shop) == before


def test_names_that_would_steer_the_terminal_are_shown_as_escapes(shop: Path, run) -> None:
    ran = run("edit", "MA-1544", "name=a\u202eb", cwd=shop)
    assert "\u202e" not in ran.out + ran.err


MACHINE = ["add", "machine", "Rosa's Ten", "15/46", "14/55", "-f", "dunl", "-w", "10"]


def test_a_machine_in_one_line_is_shown_written_asked_changed_and_not_retired(
    shop: Path, run
) -> None:
    known = ["--power", "2.4@6500", "--ratios", "2.6:0.85", "--class", "L1e-B", "notes=blue"]
    before = content(shop)
    shown = run(*MACHINE, *known, cwd=shop)
    assert (shown.code, content(shop)) == (1, before)
    assert run(*MACHINE, *known, "--write", cwd=shop).code == 0
    text = (shop / "catalog" / "machines" / "dunlin-50.yaml").read_text("utf-8")
    assert yaml.load(text, yaml.CBaseLoader)["records"]["rosas-ten"] == {
        "name": "Rosa's Ten",
        "family": "dunlin-50",
        "pairs": {"primary": "15/46", "secondary": "14/55"},
        "wheel_size_in": "10",
        "vehicle_class": "L1e-B",
        "engine": {"peak_power_kw": "2.4", "peak_power_rpm": "6500"},
        "variator": {"low_ratio": "2.6", "high_ratio": "0.85"},
        "notes": "blue",
    }
    again = run(*MACHINE, *known, "--write", cwd=shop)
    assert (again.code, "nothing to do" in again.err) == (0, True)
    assert "Rosa's Ten" in run("match", "rosas-ten", cwd=shop).out
    assert run("edit", "rosas-ten", "tune=stock", "wheel=12", "--write", cwd=shop).code == 0
    retired = run("retire", "rosas-ten", "--write", cwd=shop)
    assert (retired.code, "take it out by hand at catalog/machines/" in retired.err) == (2, True)


def test_a_family_and_a_supplier_are_added_with_what_was_said(shop: Path, run) -> None:
    family = ["add", "family", "Ruff", "--housing", "s=short case", "--housing", "long"]
    more = ["--train", "s 10 14/45 13/48", "--distance", "48", "stages.primary.tolerance_mm=0.02"]
    assert run(*family, *more, "--write", cwd=shop).code == 0
    assert run("add", "supplier", "Ruff & Reeve", "--discount", "30", "--write", cwd=shop).code == 0
    text = (shop / "catalog" / "families" / "ruff.yaml").read_text("utf-8")
    record = yaml.load(text, yaml.CBaseLoader)["records"]["ruff"]
    assert record["housings"] == {"s": {"name": "short case"}, "long": {"name": "long"}}
    assert record["stages"]["primary"] == {"centre_distance_mm": "48", "tolerance_mm": "0.02"}
    (train,) = record["factory_trains"]
    assert (train["housing"], train["pairs"]["secondary"]) == ("s", "13/48")
    text = (shop / "catalog" / "suppliers" / "ruff-reeve.yaml").read_text("utf-8")
    assert yaml.load(text, yaml.CBaseLoader)["records"]["ruff-reeve"]["discount_percent"] == "30"
    # Schemas written here suggest what the shop has, and nothing of the built-in demo's words.
    assert run("schema", "--write", "own", cwd=shop).code == 0
    machine = json.loads((shop / "own" / "machine.schema.json").read_text("utf-8"))
    assert "ruff" in machine["$defs"]["Machine"]["properties"]["family"]["examples"]
    assert run("schema", "--compare", "own", cwd=shop).code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["machine"], "the name is missing; give what the counter calls the machine"),
        (["machine", "X", "-f", "dunlin-50"], "the teeth are missing; count them, like 15/46"),
        (["machine", "X", "15/46", "14/55"], "--family is missing; with these counts there is"),
        (["machine", "X", "15/x", "-f", "dunlin-50"], "'15/x' is no pair of tooth counts"),
        (["family", "X"], "a family has at least one housing"),
        (["family", "X", "--train", "short"], "'short' is no factory train; write housing"),
        (["supplier"], "the name is missing; give what the counter calls the supplier"),
        (["supplier", "Marram", "notes=x"], "there is a supplier marram already"),
    ],
)
def test_what_a_new_record_lacks_is_one_line(words: list[str], said: str, shop: Path, run) -> None:
    ran = run("add", *words, cwd=shop)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err.splitlines()[-1]


def test_on_a_terminal_a_machine_is_asked_for_what_it_needs(shop: Path) -> None:
    code, sent = answered(
        ["add", "machine"],
        [
            ("Name: ", "Rosa's Ten"),
            ("Engine family: ", "dunlim-50"),
            ("did you mean dunlin-50?", "dunlin-50"),
            ("from input shaft to wheel: ", "15/46 14/55"),
            ("Write it? [y/N]: ", "y"),
        ],
        shop,
    )
    assert code == 0, sent
    assert "next: fitcheck match rosas-ten" in sent


# -- on a terminal ---------------------------------------------------------------------------------


def answered(
    words: Sequence[str], answers: Sequence[tuple[str, str]], cwd: Path
) -> tuple[int, str]:
    """Run fitcheck on a terminal; each answer is typed once its question stands there."""
    return on_a_terminal(words, answers=answers, env={"TERM": "dumb"}, cwd=cwd)


def test_only_what_is_needed_and_missing_is_asked(shop: Path) -> None:
    code, sent = answered(
        ["add", "set", "--family", "dunlin-50", "--housing", "short"],
        [
            ("Supplier: ", "maram"),
            ("did you mean marram?", "Marram"),
            ("Part number: ", "1852"),
            ("to wheel: ", "18"),
            ("to wheel: ", "52:18"),
            ("Stage of 18/52 (primary, secondary): ", "frist"),
            ("Stage of 18/52", "primary"),
            ("Price in EUR (empty: not known): ", ""),
            ("Write it? [y/N]: ", "y"),
        ],
        shop,
    )
    assert code == 0, sent
    assert "MA-1852 is added; written: catalog/sets/marram.yaml" in sent
    assert records(shop)["MA-1852"]["pairs"] == {"primary": "18/52"}


@pytest.mark.parametrize("answer", some(["", "n"], 1))
def test_without_a_yes_nothing_is_written(answer: str, shop: Path) -> None:
    before = content(shop)
    code, sent = answered([*ADD, *FITS], [("Write it? [y/N]: ", answer)], shop)
    assert (code, "nothing is written" in sent) == (1, True)
    assert content(shop) == before


@pytest.mark.parametrize("words", some([EDIT, RETIRE], 1), ids=lambda words: words[0])
def test_a_yes_writes_and_the_flag_does_not_ask(words: list[str], shop: Path) -> None:
    before = content(shop)
    code, sent = answered(words, [("Write it? [y/N]: ", "y")], shop)
    assert (code, "; written: " in sent) == (0, True)
    assert content(shop) != before
    code, sent = answered([*words, "--write"], [], shop)
    assert (code, "nothing to do" in sent, "Write it?" in sent) == (0, True, False)


def test_family_and_price_are_asked_and_may_stay_open(shop: Path) -> None:
    code, sent = answered(
        ADD,
        [
            ("confirms (empty: not known): ", "dunlim-50"),
            ("did you mean dunlin-50?", "dunlin-50"),
            ("of short, mid, long (empty: not known): ", "long, x9"),
            ("of short, mid, long (empty: not known): ", "mid"),
            ("Price in EUR (empty: not known): ", "58,90"),
            ("Write it? [y/N]: ", "y"),
        ],
        shop,
    )
    assert code == 0, sent
    record = records(shop)["MA-1852"]
    assert record["fits"] == [{"family": "dunlin-50", "housings": ["mid"]}]
    assert record["price"] == "58.90"
    code, sent = answered([*ADD[:5], "1853", *ADD[6:], "--write"], [], shop)
    assert code == 0, sent
    assert "nobody confirms that it fits a family" in sent


def test_an_end_of_input_writes_nothing(shop: Path) -> None:
    before = content(shop)
    code, _ = answered(["add", "set"], [("Supplier: ", "\x04")], shop)
    assert code == 130
    assert content(shop) == before


def test_what_is_loud_stands_before_the_question(shop: Path) -> None:
    code, sent = answered(["edit", "SP-12E3", "teeth=17/45"], [("Write it? [y/N]: ", "n")], shop)
    assert code == 1
    assert 0 < sent.index("look: OTHER TEETH: ") < sent.index("Write it?")
