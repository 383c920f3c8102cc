"""`fitcheck add`, `edit` and `retire`: shown, asked, written, and never the demo.

The terminal is a real one (pty, as POSIX has it); PyYAML reads what was written.
"""

from __future__ import annotations

import difflib
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
