"""What a shop's own package adds by entry points: a rule of fit, and a reader of lists."""

from __future__ import annotations

import json
import shutil
import sys
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fitcheck.catalogue.extensions import extensions
from fitcheck.rules.fit import RULES
from tests.cli.conftest import run_here as run

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "tests" / "data" / "added-package"


@pytest.fixture
def install(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., None]]:
    """Put the example package in a folder as an installer leaves it, with other code if given."""

    def lay_out(folder: Path, code: str = "") -> None:
        project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
        own = (PACKAGE / "tideline_rules.py").read_text(encoding="utf-8")
        (folder / "tideline_rules.py").write_text(code or own, encoding="utf-8")
        info = folder / "tideline_rules-1.0.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Name: {project['name']}\nVersion: 1.0\n", encoding="utf-8")
        lines = []
        for group, points in project["entry-points"].items():
            lines += [f"[{group}]", *(f"{name} = {where}" for name, where in points.items())]
        (info / "entry_points.txt").write_text("\n".join(lines), encoding="utf-8")
        monkeypatch.syspath_prepend(folder)
        extensions.cache_clear()

    yield lay_out
    extensions.cache_clear()
    sys.modules.pop("tideline_rules", None)


def test_an_added_rule_is_asked_and_named(tmp_path: Path, install: Callable[..., None]) -> None:
    asked = ("why", "dunlin-ten", "MA-1540", "--format", "json")
    plain, other = json.loads(run(*asked).out), run("match", "sanderling-dash", "-F", "json").out
    install(tmp_path)

    answer = json.loads(run(*asked).out)

    rules = {each["rule"]: each for each in answer["rules"]}
    assert rules["oil-hole"]["asks"] == "The idler wheel has the oil hole that this family needs."
    assert rules["oil-hole"]["fit"] == "unproven"
    assert (plain["combination"]["fit"], answer["combination"]["fit"]) == ("fits", "unproven")
    assert "oil-hole" not in {each["rule"] for each in plain["rules"]}
    # It has nothing to ask of another family.
    assert run("match", "sanderling-dash", "-F", "json").out == other != ""


def test_an_added_reader_reads_a_list(tmp_path: Path, install: Callable[..., None]) -> None:
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    rows = ["== Prices", "No.|z1/z2|stage|for|wheel|case|net EUR|stock"]
    rows += ["1545|15/45|I|Dunlin Ten|10||52.90|yes"]
    (tmp_path / "marram.tabs").write_text("\n".join(rows), encoding="utf-8")
    asked = ("import", "marram.tabs", "--supplier", "marram")

    refused = run(*asked, cwd=tmp_path)
    assert refused.code == 2
    assert "not a kind of list that can be read" in refused.err
    (tmp_path / "packages").mkdir()
    install(tmp_path / "packages")
    taken = run(*asked, cwd=tmp_path)
    assert taken.code == 0, taken.err
    assert "49.90 -> 52.90" in taken.out


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("import nothing_of_that_name", "of the package tideline-rules cannot be imported"),
        ("def oil_hole(a, b): return 3\nread_tabs = oil_hole", "the added rule of fit 'oil-hole'"),
    ],
)
def test_a_bad_package_is_one_line(
    tmp_path: Path, install: Callable[..., None], code: str, said: str
) -> None:
    install(tmp_path, code)

    ran = run("match", "dunlin-ten", env={"FITCHECK_CATALOG": str(ROOT / "catalog")})

    assert ran.code == 2
    assert ran.err.count("\n") == 1
    assert said in ran.err


def test_a_reader_that_fails_is_one_line(tmp_path: Path, install: Callable[..., None]) -> None:
    install(tmp_path)
    (tmp_path / "marram.tabs").write_text("no sheet\n", encoding="utf-8")

    ran = run("import", str(tmp_path / "marram.tabs"), "--supplier", "marram")

    assert ran.code == 2
    assert "the added reader for .tabs failed (IndexError" in ran.err
    assert ran.err.count("\n") == 1


def test_the_example_adds_nothing_that_is_there() -> None:
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert not set(project["entry-points"]["fitcheck.fit_rules"]) & set(RULES)
