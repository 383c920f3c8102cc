"""What `import fitcheck` hands on: every name leads somewhere, and the examples run."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

import fitcheck
from fitcheck.catalogue.reader import FIELDS
from tests.cli.conftest import run_here

ROOT = Path(__file__).parents[1]


def test_every_name_leads_to_its_home() -> None:
    assert list(fitcheck.__all__) == sorted(fitcheck._HOMES)
    for name in fitcheck.__all__:
        value = getattr(fitcheck, name)
        module, own = fitcheck._HOMES[name]
        assert value is getattr(sys.modules[module], own)
        assert name in dir(fitcheck)
    with pytest.raises(AttributeError, match="'fitcheck' has no attribute 'sell'"):
        fitcheck.sell  # noqa: B018


def test_type_checkers_see_the_same_names() -> None:
    tree = ast.parse(Path(str(fitcheck.__file__)).read_text(encoding="utf-8"))
    (typing_only,) = (node for node in tree.body if isinstance(node, ast.If))
    seen = {
        alias.asname or alias.name: (node.module, alias.name)
        for node in typing_only.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert seen == fitcheck._HOMES
    assert (ROOT / "fitcheck" / "py.typed").is_file()


def test_importing_it_loads_nothing_heavy() -> None:
    code = "import sys, fitcheck; print(*(m for m in sys.modules if m.startswith(('pyd', 'rua'))))"
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == ""


def _examples() -> dict[str, str]:
    page = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    steps = (fitcheck.__doc__ or "").split("::\n", 1)[1].split("\n\nNames")[0]
    inner = "\n".join(line.removeprefix("    ") for line in steps.splitlines())
    return {"package": inner, **{f"python.md {at}": block for at, block in enumerate(blocks)}}


@pytest.mark.parametrize("name", _examples())
def test_the_examples_run(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    held: dict[str, object] = {"__name__": "example"}
    exec(_examples()[name], held)
    assert len(held) > 3


def test_an_answer_travels_as_the_command_gives_it() -> None:
    catalogue = fitcheck.load(ROOT / "catalog")
    result = fitcheck.match(fitcheck.subject_of(catalogue, "dunlin-ten"))

    printed = json.loads(run_here("match", "dunlin-ten", "--format", "json", cwd=ROOT).out)
    mine = json.loads(result.to_json())
    assert mine["combinations"] == printed["combinations"]
    assert list(result.to_frame()["sets"])[:3] == [
        " + ".join(each["sets"]) for each in printed["combinations"][:3]
    ]


def test_records_in_memory_give_the_answers_of_files() -> None:
    """The demo's own records, carried over one by one, as `load` reads their files."""
    read = fitcheck.load(ROOT / "catalog")
    held = fitcheck.catalogue_of(
        {kind: {id_: entry.record for id_, entry in read.entries(kind).items()} for kind in FIELDS}
    )

    assert held.findings == ()
    for kind in FIELDS:
        assert {i: e.record for i, e in held.entries(kind).items()} == {
            i: e.record for i, e in read.entries(kind).items()
        }
    assert len(fitcheck.check(held)) == len(fitcheck.check(read))


def test_a_fault_in_memory_has_a_place() -> None:
    held = fitcheck.catalogue_of({"tune": {"mild": {"name": "mild", "band": "ten"}}})

    (first, *_) = held.findings
    assert str(first.span).startswith("(tune):")
    assert first.record == "mild"
