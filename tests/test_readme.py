"""README.md and docs/counter.md show what happens: their console blocks are run and compared.

A block that begins with ```console holds lines `$ fitcheck ...` and what they print, on a screen of
80 columns unless the line itself sets COLUMNS. A line of three dots stands for any lines. To see
what a block ought to say, run its command with COLUMNS=80.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from fitcheck.cli.reference import PICTURE, picture
from tests.cli.conftest import run_line

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
RUN = ROOT / ".ci" / "run"

BLOCK = re.compile(r"^```console\n(.*?)^```", re.MULTILINE | re.DOTALL)
COMMAND = re.compile(r"\$ ((?:[A-Z_]+=\S+ )*fitcheck(?: .*)?)")


def sessions(text: str) -> list[tuple[str, list[str]]]:
    """Every command in the console blocks, and the lines it is said to print."""
    found: list[tuple[str, list[str]]] = []
    for block in BLOCK.findall(text):
        lines: list[str] | None = None
        for line in block.splitlines():
            command = COMMAND.fullmatch(line)
            if command:
                lines = []
                found.append((command[1], lines))
            elif line.startswith("$ "):
                lines = None  # another program's
            elif lines is not None:
                lines.append(line.rstrip())
    return found


def printed(command: str, *, together: bool) -> list[str]:
    """The lines a command prints, with or without what goes to stderr."""
    ran = run_line(command, together=together)
    assert ran.code in (0, 1, 3), ran
    return ran.out.splitlines()


def agrees(said: list[str], real: list[str]) -> bool:
    """Whether real lines are those said, where a line of three dots stands for any."""
    if not said:
        return not real
    if said[0].strip() == "...":
        return any(agrees(said[1:], real[skip:]) for skip in range(len(real) + 1))
    return bool(real) and said[0] == real[0] and agrees(said[1:], real[1:])


PAGES = (README, ROOT / "docs" / "counter.md")
SESSIONS = [one for page in PAGES for one in sessions(page.read_text(encoding="utf-8"))]


def test_there_are_sessions() -> None:
    shown = {command.split()[1] for command, _ in SESSIONS if "=" not in command.split()[0]}
    assert {"match", "why", "identify", "options", "check", "road"} <= shown


def test_the_readme_is_short_and_its_picture_in_step() -> None:
    assert len(README.read_bytes()) <= 8_000
    assert PICTURE.read_text(encoding="utf-8") == picture(), "cli.reference --write makes it"


@pytest.mark.parametrize(("command", "said"), SESSIONS, ids=[command for command, _ in SESSIONS])
def test_the_readme_shows_what_happens(command: str, said: list[str]) -> None:
    while said and not said[-1]:
        said = said[:-1]

    assert len(said) >= 2
    if agrees(said, printed(command, together=False)):
        return
    full = printed(command, together=True)
    if not agrees(said, full):
        # One plain comparison, so that pytest shows the first difference.
        assert said == full


def test_a_session_is_read_and_compared() -> None:
    text = "```console\n$ fitcheck a\none\n...\nnine  \n$ ls\nx\n$ COLUMNS=9 fitcheck b\ntwo\n```\n"

    assert sessions(text) == [
        ("fitcheck a", ["one", "...", "nine"]),
        ("COLUMNS=9 fitcheck b", ["two"]),
    ]
    assert agrees(["one", "...", "nine"], ["one", "nine"])
    assert agrees(["one", "...", "nine"], ["one", "two", "nine", "nine"])
    assert not agrees(["one", "...", "nine"], ["one", "two", "nine", "ten"])
    assert not agrees(["one"], ["one", "two"])
    assert not agrees(["one", "two"], ["one"])


def block_after(marker: str, text: str) -> str:
    """The code in the block after a comment."""
    found = re.search(rf"<!-- {marker} -->\n```sh\n(.*?)\n```", text, re.DOTALL)
    assert found is not None
    return found[1]


def test_ci_runs_the_test_command_of_the_readme() -> None:
    command = block_after("test command", README.read_text(encoding="utf-8"))
    taken = [line for line in RUN.read_text(encoding="utf-8").splitlines() if "README.md" in line]
    reading = next(line for line in taken if line.startswith("command="))

    ran = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", f'{reading}; printf "%s" "$command"'],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )

    assert ran.stdout == command
    assert 'bash -euo pipefail -c "$command"' in RUN.read_text(encoding="utf-8")
    assert "[test]" in command
    assert "pytest" in command


def test_the_first_command_runs_the_main_job() -> None:
    command = block_after("demo command", README.read_text(encoding="utf-8"))

    assert "pip install" in command
    assert command.endswith("fitcheck match dunlin-ten")
