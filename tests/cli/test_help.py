"""Help on one screen, all of it on request, the manual and the man pages."""

from __future__ import annotations

import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from fitcheck.cli.help import pages
from fitcheck.cli.main import COMMANDS
from fitcheck.cli.reference import command_names, examples
from tests.cli.conftest import ROOT, Run
from tests.cli.terminal import Terminal
from tests.conftest import table

MOST_LINES = 30
SCREEN = 24
"""Lines of a terminal as it opens; what the counter asks most is shown in it."""

NAMES = command_names(groups=True)
NARROW = {"COLUMNS": "80"}


@table("name", ["", *NAMES])
def test_help_fits_a_screen(run: Run, name: str) -> None:
    ran = run(*name.split(), "--help", env=NARROW)
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert len(lines) <= (SCREEN if name in ("why", "road", "options", "identify") else MOST_LINES)
    assert max(map(len, lines)) <= 80


@table("name", NAMES)
def test_nothing_of_the_help_is_lost(run: Run, name: str) -> None:
    short, whole = (
        run(*words, env=NARROW) for words in ((*name.split(), "--help"), ("help", *name.split()))
    )
    assert whole.code == 0
    assert short.out.splitlines()[0] == whole.out.splitlines()[0]
    shown = set(re.findall(r"^  (?:-\w, )?(--[\w-]+)", short.out, re.MULTILINE))
    assert shown <= set(re.findall(r"^  (?:-\w, )?(--[\w-]+)", whole.out, re.MULTILINE))
    if f"fitcheck help {name}" in short.out:
        assert len(short.out.splitlines()) < len(whole.out.splitlines())
    else:
        assert whole.out.startswith(short.out)


@table("name", NAMES)
def test_examples_use_no_option_that_the_help_leaves_out(run: Run, name: str) -> None:
    options, _, lines = run(*name.split(), "--help", env=NARROW).out.partition("\nExample")
    assert [word for word in re.findall(r"(?<= )--[\w-]+", lines) if word not in options] == []


@table("name", ["match", "why", "road", "sheet", "options", "import"])
def test_the_daily_commands_have_a_few_examples(name: str) -> None:
    assert 2 <= [each for each, _ in examples()].count(name) <= 3


def test_help_names_every_page_and_command(run: Run) -> None:
    out = run("help", env=NARROW).out
    assert [name for name in COMMANDS if f"{name}," not in out and f"{name}\n" not in out] == []
    stems = {path.stem.lower() for path in (ROOT / "docs").glob("*.md")}
    assert set(pages()) == stems
    assert [
        stem for stem in stems if not re.search(rf"^  {stem}(\.md)?  ", out, re.MULTILINE)
    ] == []


@table(
    ("words", "page"),
    [
        ("tyres", "tyres"),
        ("TYR", "tyres"),
        ("tyres.md", "tyres"),
        ("matching", "matching"),
        ("catalogue", "catalogue-format"),
        ("import.md", "import"),
    ],
)
def test_a_page_goes_into_a_pipe_as_it_is(run: Run, words: str, page: str) -> None:
    assert run("help", words).out == (ROOT / "docs" / f"{page}.md").read_text(encoding="utf-8")


@table(
    ("words", "first"),
    [
        ("ident", "Usage: fitcheck identify [OPTIONS] PAIRS..."),
        ("intake", "Usage: fitcheck import [OPTIONS] LIST"),
        ("shelf plan", "Usage: fitcheck shelf plan [OPTIONS]"),
    ],
)
def test_the_first_letters_or_a_former_name_do(run: Run, words: str, first: str) -> None:
    assert run("help", *words.split()).out.splitlines()[0] == first


def test_a_command_names_the_page_about_it(run: Run) -> None:
    assert run("help", "import").out.endswith("There is a page about it: fitcheck help import.md\n")


@table(
    ("words", "line"),
    [
        ("mat", "'mat' begins several names; give match or matching"),
        ("tires", "no command and no page 'tires'; did you mean tyres?"),
        ("qqq", "no command and no page 'qqq'; fitcheck help lists what there is"),
        ("shelf nothing", "no command and no page 'shelf nothing'; "),
    ],
)
def test_what_is_not_there_is_refused_in_a_line(run: Run, words: str, line: str) -> None:
    ran = run("help", *words.split())
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"fitcheck: {line}")
    assert ran.err.count("\n") == 1


def test_a_page_is_laid_out_on_a_terminal(tmp_path: Path) -> None:
    watched = Terminal("help", "tyres", cwd=tmp_path, env={"PAGER": "cat"}).type([])
    watched.kill()
    assert watched.code == 0
    assert "| --- |" not in watched.text
    assert "───" in watched.text
    assert "120/70-12" in watched.text


def test_every_command_has_a_man_page(run: Run, tmp_path: Path) -> None:
    ran = run("help", "--man", str(tmp_path / "man1"))
    files = sorted((tmp_path / "man1").iterdir())
    assert sorted(map(Path, ran.out.splitlines())) == files
    wanted = {"fitcheck.1", *(f"fitcheck-{name.replace(' ', '-')}.1" for name in NAMES)}
    assert {file.name for file in files} == wanted
    for file in files:
        lines = file.read_text(encoding="utf-8").splitlines()
        heads = [line for line in lines if line.startswith(".SH ")]
        assert heads[:3] == [".SH NAME", ".SH SYNOPSIS", ".SH DESCRIPTION"]
        requests = {line.split()[0] for line in lines if line.startswith((".", "'"))}
        assert requests <= {".TH", ".SH", ".SS", ".PP", ".TP", ".B"}, file
    text = (tmp_path / "man1" / "fitcheck-match.1").read_text(encoding="utf-8")
    assert ".B \\-P, \\-\\-percent LOW..HIGH\n" in text


@pytest.mark.skipif(shutil.which("groff") is None, reason="groff sets man pages")
def test_man_can_set_the_pages(run: Run, tmp_path: Path) -> None:
    run("help", "--man", str(tmp_path))
    files = map(str, tmp_path.iterdir())
    ran = subprocess.run(["groff", "-man", "-ww", "-z", *files], capture_output=True, check=True)
    assert ran.stderr == b""


def test_the_package_brings_the_manual_and_names_its_addresses_once() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    project = tomllib.loads(text)
    wheel = project["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel["force-include"]["docs"] == "fitcheck/docs"
    assert "Source" in project["project"]["urls"]
    hook = (ROOT / project["tool"]["hatch"]["metadata"]["hooks"]["custom"]["path"]).read_text(
        "utf-8"
    )
    pattern = re.search(r're\.compile\(r"(.*)"\)', hook)
    assert pattern is not None
    shown = re.sub(pattern[1], r"\1", (ROOT / "README.md").read_text(encoding="utf-8"))
    links = re.findall(r"\]\(([^)]*)\)", shown)
    assert [link for link in links if not link.startswith(("https://", "#"))] == []
    assert "docs/index.md" in shown or "The manual" in shown
