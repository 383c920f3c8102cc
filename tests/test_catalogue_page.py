"""docs/catalogue-format.md: its first catalogue is made in an empty folder and asked.

YAML blocks of that walk name their file in the second line and are written to it; `sh` blocks are
run, and `console` blocks are run and compared with what they print. `FITCHECK_WRITE_GOLDEN=1`
writes what they print into the page.
"""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path
from typing import Any

import yaml

from fitcheck.services.upkeep.checking import check_paths
from tests.cli.conftest import run_line
from tests.test_readme import agrees

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "catalogue-format.md"
BLOCK = re.compile(r"^```(yaml|sh|console)\n(.*?)^```", re.MULTILINE | re.DOTALL)
NAMED = re.compile(r"# yaml-language-server: \$schema=(\S+)\n# (catalog/\S+\.yaml)\n")


def parsed(text: str) -> Any:
    return yaml.load(text, yaml.BaseLoader)


def test_a_first_catalogue_of_ones_own_can_be_made(tmp_path: Path) -> None:
    text = PAGE.read_text(encoding="utf-8")
    walk = text[text.index("## Start your own") : text.index("## The records")]
    asked = []
    for kind, body in BLOCK.findall(walk):
        if kind == "sh":
            for line in body.splitlines():
                if line.startswith("fitcheck "):
                    assert run_line(line.partition(" > ")[0], tmp_path).code == 0
                else:
                    subprocess.run(["bash", "-c", line], cwd=tmp_path, check=True)
        elif kind == "yaml":
            head = NAMED.match(body)
            assert head is not None, body
            path = tmp_path / head[2]
            assert (path.parent / head[1]).resolve().is_file(), head[0]
            if path.exists():  # the command made it, with the very first record
                made = path.read_text("utf-8")
                assert made.startswith(f"# yaml-language-server: $schema={head[1]}\n")
                first = next(iter(parsed(body)["records"].items()))
                assert list(parsed(made)["records"].items()) == [first]
            path.write_text(body, encoding="utf-8")
        else:
            first, *said = body.splitlines()
            while first.endswith("\\"):
                first += f"\n{said.pop(0)}"
            asked.append(" ".join(first.split()[:4]))
            ran = run_line(first[2:].replace("\\\n", " "), tmp_path)
            assert ran.code in (0, 1), ran
            real = [line.rstrip() for line in ran.out.splitlines()]
            if os.environ.get("FITCHECK_WRITE_GOLDEN"):
                text = text.replace(body, "\n".join([first, *real]) + "\n", 1)
                PAGE.write_text(text, encoding="utf-8")
                continue
            assert agrees(said, real), "\n".join(real)
    assert asked == [
        "$ fitcheck add set",
        "$ fitcheck shelf receive",
        "$ fitcheck check",
        "$ fitcheck match city",
    ]
    shelf = (tmp_path / "catalog" / "shelf.yaml").read_text("utf-8")
    assert shelf.startswith("# yaml-language-server: $schema=../schemas/shelf.schema.json\n")
    assert check_paths([str(tmp_path / "catalog")]).findings == []
