"""The worked examples of DEVELOPERS.md: each names every file that such a change touches."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import EXPLORE

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
EXAMPLES = PAGE.split("## Four worked examples")[1].split("\n## ")[0]
SEARCHED = ("fitcheck", "catalog", "schemas", "docs", "tests", "README.md")
# The change log tells of everything, the benches and this test name what they will; suppliers'
# lists come in any encoding.
ASIDE = (
    "docs/changelog.md",
    "tests/bench/",
    "tests/data/unseen-lists/",
    "tests/test_developers_page.py",
)


def named(head: str) -> set[str]:
    """The files that an example names; a folder it names ends in a slash."""
    (text,) = re.findall(rf"\*\*{head}\*\*(.*?)(?=\n\*\*|\Z)", EXAMPLES, re.DOTALL)
    return {word for word in re.findall(r"`([^`]+)`", text) if "/" in word or word.endswith(".md")}


def mentioning(pattern: str) -> set[str]:
    """The files of the project in which something is named."""
    found = set()
    for name in SEARCHED:
        top = ROOT / name
        for path in [top] if top.is_file() else sorted(top.rglob("*")):
            inside = path.relative_to(ROOT).as_posix()
            is_text = path.suffix in {".py", ".md", ".yaml", ".json", ".txt"}
            if is_text and not inside.startswith(ASIDE):
                found |= {inside} if re.search(pattern, path.read_text(encoding="utf-8")) else set()
    return found


@pytest.mark.parametrize(
    ("head", "pattern"),
    [
        ("A rule of fit", "helix[-_]hand"),
        ("A field of a gear set", "face_width_mm"),
        ("A vehicle class", r"\bUK-AM\b"),
    ],
)
def test_an_example_names_every_file_to_touch(head: str, pattern: str) -> None:
    files = named(head)
    folders = tuple(name for name in files if name.endswith("/"))

    assert {name for name in mentioning(pattern) if not name.startswith(folders)} == {
        name for name in files if not name.endswith("/")
    }
    for folder in folders:
        assert any(name.startswith(folder) for name in mentioning(pattern)), folder


def test_a_format_of_lists_takes_its_name_and_a_method() -> None:
    """A format that nobody has written, given to every command that lists something."""
    assert named("A format of lists") == {
        "fitcheck/answers/tables.py",
        "fitcheck/cli/parameters.py",
        "docs/commands.md",
    }
    if not EXPLORE:
        return
    program = """
import fitcheck.cli.parameters as parameters
parameters.LISTED += ("tabs",)
from fitcheck.answers.tables import Table
Table.tabs = lambda self: self.csv().replace(",", "\\t")
from fitcheck.cli import main
for words in ("match dunlin-ten", "identify 14/45", "shelf list"):
    try:
        main([*words.split(), "--format", "tabs", "--catalog", "catalog"])
    except SystemExit as stop:
        print(f"--- {stop.code}")
"""
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )
    answers = re.findall(r"(.*?)^--- (\d+)$", ran.stdout, re.MULTILINE | re.DOTALL)
    assert len(answers) == 3, ran
    for said, code in answers:
        assert code in ("0", "3"), ran
        assert "\t" in said.strip().splitlines()[0]
