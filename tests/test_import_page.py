"""docs/import.md is a walk that can be walked: its blocks are run in order, in one folder.

YAML blocks that begin with `# name` are written to that file. Console blocks are run as those of
README are, with what goes to stderr; `FITCHECK_WRITE_GOLDEN=1` writes what they print into the
page.
"""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import yaml

from fitcheck.services.upkeep.checking import check_paths
from tests.cli.conftest import run_line
from tests.test_readme import agrees

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "import.md"
BLOCK = re.compile(r"^```(yaml|console)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def start(folder: Path) -> None:
    shutil.copytree(ROOT / "catalog", folder / "catalog")
    for path in (ROOT / "tests" / "data" / "lists").glob("arrowgrass*"):
        shutil.copy(path, folder)


def test_the_walk_can_be_walked(tmp_path: Path) -> None:
    start(tmp_path)
    text = PAGE.read_text(encoding="utf-8")
    commands = 0
    for kind, body in BLOCK.findall(text):
        first, *said = body.splitlines()
        if kind == "yaml":
            named = re.fullmatch(r"# (\S+\.yaml)", first)
            if named:
                (tmp_path / named[1]).write_text(body, encoding="utf-8")
            continue
        while first.endswith("\\"):
            first += f"\n{said.pop(0)}"
        assert first.startswith("$ fitcheck import ")
        commands += 1
        ran = run_line(first[2:].replace("\\\n", " "), tmp_path)
        assert ran.code in (0, 1), ran
        real = [line.rstrip() for line in ran.out.splitlines()]
        if os.environ.get("FITCHECK_WRITE_GOLDEN") and said[:1] != ["..."]:
            text = text.replace(body, "\n".join([first, *real]) + "\n", 1)
            PAGE.write_text(text, encoding="utf-8")
            continue
        assert agrees(said, real), "\n".join(real)
    assert commands == 5
    written = yaml.safe_load((tmp_path / "catalog/sets/arrowgrass.yaml").read_text("utf-8"))
    assert len(written["records"]) == 14
    checked = check_paths([str(tmp_path / "catalog")])
    assert [each for each in checked.findings if each.severity == "error"] == []
