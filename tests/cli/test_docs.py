"""The reference of commands is in step, complete and right; other pages name only what there is."""

from __future__ import annotations

import itertools
import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from fitcheck.cli.main import COMMANDS, cli
from fitcheck.cli.reference import DOCUMENT, command_names, examples, reference
from tests.cli.conftest import Ran, Run

ROOT = Path(__file__).parents[2]
PAGES = sorted(
    path
    for path in [*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), *ROOT.glob("catalog/*.md")]
    if path.is_file()
)


NAMES = command_names()
GROUPS = {name.split()[0] for name in NAMES if " " in name}


@pytest.fixture
def fitcheck(run: Run) -> Callable[..., Ran]:
    """Run the command line on the demo, or on the copy of it in another folder."""

    def call(*words: str, cwd: Path = ROOT) -> Ran:
        return run(*words, cwd=cwd, env={"FITCHECK_CATALOG": "catalog"})

    return call


def options_of(name: str) -> set[str]:
    """The options of a command, as its own help lists them."""
    ran = CliRunner().invoke(cli, ["help", *name.split()])
    assert ran.exit_code == 0
    return set(re.findall(r"^ {2,6}(?:-\w, )?(--[\w-]+)", ran.output, re.MULTILINE))


OPTIONS = {name: options_of(name) for name in NAMES}


def test_the_reference_is_in_step() -> None:
    written = DOCUMENT.read_text(encoding="utf-8")

    assert written == reference(), "run python -m fitcheck.cli.reference --write"
    assert "` None |" not in written, "an option that takes a value needs a metavar"


@pytest.mark.parametrize("name", NAMES)
def test_every_option_is_in_the_reference(name: str) -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    section = re.search(rf"^## {name}\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)

    assert section is not None
    assert "--help" in OPTIONS[name]
    described = dict(re.findall(r"^\|.*?`(--[\w-]+)`.*?\| (.*) \|$", section[1], re.MULTILINE))
    assert set(described) == OPTIONS[name]
    assert all(meaning.endswith(".") and len(meaning) > 15 for meaning in described.values())


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_does(name: str) -> None:
    command = cli.get_command(click.Context(cli), name)

    assert command is not None
    assert command.help
    assert COMMANDS[name].endswith(".")
    for line in getattr(command, "words", {}).values():
        assert line.endswith(".")


@pytest.mark.parametrize(("name", "example"), examples())
def test_the_examples_work(
    name: str, example: str, tmp_path: Path, fitcheck: Callable[..., Ran]
) -> None:
    words = shlex.split(example)
    cwd = ROOT
    if name.startswith(("shelf ", "add ")) or name in ("edit", "retire"):
        # What writes needs a catalogue of its own, and history a move to show.
        cwd = tmp_path
        shutil.copytree(ROOT / "catalog", cwd / "catalog")
        (cwd / "counted.csv").write_text("part,counted\nMA-1545,2\n", encoding="utf-8")
        if name == "shelf history":
            assert fitcheck("shelf", "receive", "MA-1545", "1", cwd=cwd).code == 0

    if name == "start":
        cwd = tmp_path

    if name == "import":
        cwd = tmp_path
        shutil.copytree(ROOT / "catalog", cwd / "catalog")
        head = "No.,z1/z2,stage,for,wheel,case,net EUR,stock"
        row = "1545,15/45,I,Dunlin Ten,10,,51.90,yes"
        (cwd / "prices.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")

    assert words[: 1 + len(name.split())] == ["fitcheck", *name.split()]
    ran = fitcheck(*words[1:], cwd=cwd)
    assert ran.code == 0, ran.err
    assert ran.out
    shown = " ".join(fitcheck(*name.split(), "--help").out.replace("\\\n", "").split())
    assert example in shown


def _commands_in(text: str) -> list[str]:
    """Command lines of fitcheck in code blocks and in code within a sentence."""
    blocks = re.findall(r"^```\w*\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()]
    lines += re.findall(
        r"`([^`\n]+)`", re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL)
    )
    found = re.compile(r"(?:^|[\s/&(])fitcheck ((?:-|[a-z]).*)")
    return [match[1] for line in lines if (match := found.search(line))]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_pages_name_only_commands_and_options_there_are(page: Path) -> None:
    for line in _commands_in(page.read_text(encoding="utf-8")):
        name, *rest = re.split(r"\s+", re.split(r"[|>;&)#`]", line)[0].strip())
        if name.startswith("-"):
            assert name in {"--help", "--version", "-h"}, line
            continue
        assert name in COMMANDS, line
        if name in GROUPS:
            if not rest or not rest[0]:
                continue
            name, rest = f"{name} {rest[0]}", rest[1:]
            assert name in OPTIONS, line
        named = {word.partition("=")[0] for word in rest if word.startswith("--") and word != "--"}
        assert named <= OPTIONS[name], line


def test_the_pages_are_found() -> None:
    text = "```sh\n.venv/bin/fitcheck match x --top 3\n```\nand `fitcheck why A B` or `--all`"

    assert DOCUMENT in PAGES
    assert _commands_in(text) == ["match x --top 3", "why A B"]


LISTS = ROOT / "tests" / "data" / "lists"
STANDING_IN = {
    "prices.xlsx": "arrowgrass-2026-02.xlsx",
    "marram.csv": "marram-2026-06.csv",
    "counted.csv": "part,counted\nMA-1545,2\n",
}
"""What stands for a shop's own files on the pages."""
HAS_LINES = re.compile(r"^```sh\n[^`]*^fitcheck", re.MULTILINE)
WITH_LINES = [
    page
    for page in PAGES
    if page != DOCUMENT and HAS_LINES.search(page.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize("page", WITH_LINES, ids=lambda page: page.name)
def test_every_command_line_of_a_page_runs(
    page: Path, tmp_path: Path, fitcheck: Callable[..., Ran]
) -> None:
    """One after the other, as a reader would, on a copy of the demo."""
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    for name, what in STANDING_IN.items():
        if "\n" in what:
            (tmp_path / name).write_text(what, encoding="utf-8")
        else:
            shutil.copy(LISTS / what, tmp_path / name)
    text = page.read_text(encoding="utf-8").replace("\\\n", " ")
    blocks = re.findall(r"^```sh\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()]
    for line in [line for line in lines if line.startswith("fitcheck ")]:
        words = shlex.split(line, comments=True)[1:]
        ran = fitcheck(*itertools.takewhile(lambda word: word != ">", words), cwd=tmp_path)
        assert ran.code in (0, 1, 3), (line, ran.err)
