"""What `import fitcheck` hands on: every name leads somewhere, and the examples run."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

import fitcheck

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
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    steps = (fitcheck.__doc__ or "").split("::\n", 1)[1].split("\n\nNames")[0]
    inner = "\n".join(line.removeprefix("    ") for line in steps.splitlines())
    return {"package": inner, **{f"DEVELOPERS {at}": block for at, block in enumerate(blocks)}}


@pytest.mark.parametrize("name", _examples())
def test_the_examples_run(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    held: dict[str, object] = {}
    exec(_examples()[name], held)
    assert {"catalogue", "subject", "result", "told"} <= set(held)
