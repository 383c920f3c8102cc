"""What a shop's own package adds by entry points: a rule of fit, and a reader of lists."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from fitcheck.rules.fit import RULES

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "tests" / "data" / "added-package"


def install(folder: Path, code: str = "") -> dict[str, str]:
    """The example package as an installer leaves it, with other code where some is given.

    Returns:
        The environment in which fitcheck finds it.
    """
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    if code:
        (folder / "tideline_rules.py").write_text(code, encoding="utf-8")
    else:
        shutil.copy(PACKAGE / "tideline_rules.py", folder)
    info = folder / "tideline_rules-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Name: {project['name']}\nVersion: 1.0\n", encoding="utf-8")
    lines = []
    for group, points in project["entry-points"].items():
        lines += [f"[{group}]", *(f"{name} = {where}" for name, where in points.items())]
    (info / "entry_points.txt").write_text("\n".join(lines), encoding="utf-8")
    return {**os.environ, "PYTHONPATH": str(folder)}


def fitcheck(
    *words: str, env: dict[str, str], cwd: Path = ROOT
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fitcheck", *words],
        cwd=cwd,
        env={**env, "PYTHONPATH": os.pathsep.join([env.get("PYTHONPATH", ""), str(ROOT)])},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


def test_an_added_rule_is_asked_and_named(tmp_path: Path) -> None:
    env = install(tmp_path)

    told = fitcheck("why", "dunlin-ten", "MA-1540", "--format", "json", env=env)
    answer = json.loads(told.stdout)
    plain = json.loads(
        fitcheck("why", "dunlin-ten", "MA-1540", "--format", "json", env={**os.environ}).stdout
    )

    rules = {each["rule"]: each for each in answer["rules"]}
    assert rules["oil-hole"]["asks"] == "The idler wheel has the oil hole that this family needs."
    assert rules["oil-hole"]["fit"] == "unproven"
    assert (plain["combination"]["fit"], answer["combination"]["fit"]) == ("fits", "unproven")
    assert "oil-hole" not in {each["rule"] for each in plain["rules"]}
    # It is asked of this family only, so another machine's answer stays.
    others = [
        fitcheck("match", "sanderling-dash", "--format", "json", env=each).stdout
        for each in (env, {**os.environ})
    ]
    assert others[0] == others[1] != ""


def test_an_added_reader_reads_a_list(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(ROOT / "catalog", shop / "catalog")
    (tmp_path / "packages").mkdir()
    env = install(tmp_path / "packages")
    rows = ["== Prices", "No.|z1/z2|stage|for|wheel|case|net EUR|stock"]
    rows += ["1545|15/45|I|Dunlin Ten|10||52.90|yes"]
    (shop / "marram.tabs").write_text("\n".join(rows), encoding="utf-8")

    ran = fitcheck("import", "marram.tabs", "--supplier", "marram", env=env, cwd=shop)

    assert ran.returncode == 0, ran.stderr
    assert "49.90 -> 52.90" in ran.stdout
    refused = fitcheck(
        "import", "marram.tabs", "--supplier", "marram", env={**os.environ}, cwd=shop
    )
    assert refused.returncode == 2
    assert "not a kind of list that can be read" in refused.stderr


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("import nothing_of_that_name", "of the package tideline-rules cannot be imported"),
        ("def oil_hole(a, b): return 3\nread_tabs = oil_hole", "the added rule of fit 'oil-hole'"),
    ],
)
def test_a_bad_package_is_one_line(tmp_path: Path, code: str, said: str) -> None:
    ran = fitcheck("match", "dunlin-ten", env=install(tmp_path, code))

    assert ran.returncode == 2
    assert ran.stderr.count("\n") == 1
    assert said in ran.stderr


def test_a_reader_that_fails_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "packages").mkdir()
    env = install(tmp_path / "packages")
    (tmp_path / "marram.tabs").write_text("no sheet\n", encoding="utf-8")

    ran = fitcheck("import", str(tmp_path / "marram.tabs"), "--supplier", "marram", env=env)

    assert ran.returncode == 2
    assert "the added reader for .tabs failed (IndexError" in ran.stderr
    assert ran.stderr.count("\n") == 1


def test_the_example_adds_nothing_that_is_there() -> None:
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert not set(project["entry-points"]["fitcheck.fit_rules"]) & set(RULES)
