"""docs/start.md: its first catalogue is made in an empty folder and asked.

`console` blocks are run, each command in turn, and compared with what they print.
`FITCHECK_WRITE_GOLDEN=1` writes what they print into the page.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

from fitcheck.services.upkeep.checking import check_paths
from tests.cli.conftest import run_line
from tests.test_readme import agrees

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "start.md"
BLOCK = re.compile(r"^```console\n(.*?)^```", re.MULTILINE | re.DOTALL)
COMMAND = re.compile(r"^\$ ((?:.*\\\n)*.*)\n((?:(?!\$ ).*\n)*)", re.MULTILINE)


def test_a_first_catalogue_of_ones_own_can_be_made(tmp_path: Path) -> None:
    text = PAGE.read_text(encoding="utf-8")
    asked = []
    for body in BLOCK.findall(text):
        written = body
        for line, said in COMMAND.findall(body):
            asked.append(" ".join(line.split()[1:3]))
            ran = run_line(line.replace("\\\n", " "), tmp_path)
            assert ran.code == 0, ran
            real = [each.rstrip() for each in ran.out.splitlines()]
            shown = "\n".join([f"$ {line}", *real]) + "\n"
            written = written.replace(f"$ {line}\n{said}", shown, 1)
            if not os.environ.get("FITCHECK_WRITE_GOLDEN"):
                assert agrees(said.splitlines(), real), "\n".join(real)
        text = text.replace(body, written, 1)
    if os.environ.get("FITCHECK_WRITE_GOLDEN"):
        PAGE.write_text(text, encoding="utf-8")
    assert asked == [
        "start --shop",
        "add set",
        "add set",
        "shelf receive",
        "check",
        "match mias-city",
        "add machine",
        "edit rosas-city",
        "edit greenshank-50",
    ]
    shelf = (tmp_path / "catalog" / "shelf.yaml").read_text("utf-8")
    assert shelf.startswith("# yaml-language-server: $schema=../schemas/shelf.schema.json\n")
    assert check_paths([str(tmp_path / "catalog")]).findings == []
