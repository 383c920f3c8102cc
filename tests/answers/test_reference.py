"""docs/json.md is in step, and each of its examples is what the command prints today."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest

from fitcheck.answers.reference import json_reference
from fitcheck.answers.schemas import output_schemas
from fitcheck.cli.main import cli

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "json.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```console\n\$ ([^\n]+)\n```\n\n```json\n(.*?)\n```\n", PAGE, re.DOTALL)


def test_the_page_is_in_step() -> None:
    assert json_reference() == PAGE, "run python -m fitcheck.answers.reference --write"


@pytest.mark.parametrize(
    ("command", "shown"),
    EXAMPLES,
    ids=["match", "law", "why", "road", "identify", "shelf", "check"],
)
def test_each_example_is_what_the_command_prints(
    command: str,
    shown: str,
    monkeypatch: pytest.MonkeyPatch,
    capsysbinary: pytest.CaptureFixture[bytes],
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.delenv("FITCHECK_CATALOG", raising=False)
    words, _, member = command.partition("  # .")
    cli.main(shlex.split(words)[1:], prog_name="fitcheck", standalone_mode=False)
    printed = capsysbinary.readouterr().out.decode("utf-8")
    if member:
        found = json.loads(printed)
        for name in member.split("."):
            found = found[name]
        assert json.loads(shown) == found
    else:
        assert shown + "\n" == printed


def test_every_member_of_every_schema_is_on_the_page() -> None:
    for name, schema in output_schemas().items():
        for member in schema["properties"]:
            assert f"| `{member}` |" in PAGE, (name, member)
        for title, definition in schema.get("$defs", {}).items():
            for member in definition.get("properties", {}):
                assert f"| `{member}` |" in PAGE, (title, member)
