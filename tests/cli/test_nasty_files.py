"""Nasty files on the command line: the reader's whole corpus through `match` and `check`."""

from __future__ import annotations

import contextlib
import importlib.util
import json
from pathlib import Path

import pytest

from fitcheck.diagnostics.codes import CODES
from fitcheck.diagnostics.finding import shown_path
from tests.conftest import some

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "data" / "sample-catalog"
ENV = {"FITCHECK_CATALOG": str(SAMPLE)}

MACHINE = """\
kind: machine
records:
  rosas-ten:
    name: Rosa's Ten
    family: dunlin-50
    housing: short
    pairs: {primary: 13/47, secondary: 13/49}
"""


def _corpus() -> dict[str, tuple[bytes, list[str]]]:
    """Name to bytes and the findings expected, as `line:column code`."""
    files: dict[str, tuple[bytes, list[str]]] = {}
    for name in ("test_nasty_text", "test_nasty_records"):
        path = ROOT / "tests" / "catalogue" / f"{name}.py"
        spec = importlib.util.spec_from_file_location(f"corpus_{name}", path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        files.update({f"{name[5:]}: {key}": value for key, value in module.NASTY.items()})
    return files


def as_shown(path: Path) -> str:
    """A path as the command shows it, which `run` runs from the root of the checkout."""
    with contextlib.chdir(ROOT):
        return shown_path(path)


CORPUS = _corpus()
PARTS = 4
SHOWN = some(list(CORPUS.items()), 36)
"""The reader's own tests take every one; here is asked how they are shown."""


def test_there_are_enough_of_them() -> None:
    assert len(CORPUS) >= 60


@pytest.mark.parametrize("part", range(PARTS))
def test_match_refuses_each_with_one_line(part: int, run, tmp_path: Path) -> None:
    path = tmp_path / "nasty.yaml"
    for name, (data, expected) in SHOWN[part::PARTS]:
        path.write_bytes(data)
        ran = run("match", str(path), env=ENV)

        assert (ran.code, ran.out) == (2, ""), (name, ran)
        assert ran.err.count("\n") == 1, (name, ran.err)
        line = ran.err.removesuffix("\n")
        assert line.isprintable(), (name, line)
        places = [each.split()[0] for each in expected if _severity(each) == "error"]
        if places:
            assert any(f"{as_shown(path)}:{place}: " in line for place in places), (name, line)
        else:
            assert f"{path.parent.name}/{path.name}" in line, (name, line)


@pytest.mark.parametrize("part", range(PARTS))
def test_check_names_every_fault_of_each(part: int, run, tmp_path: Path) -> None:
    path = tmp_path / "nasty.yaml"
    for name, (data, expected) in SHOWN[part::PARTS]:
        path.write_bytes(data)
        ran = run("check", str(path), env=ENV)
        lines = run("check", str(path), "--format", "jsonl", env=ENV)

        codes = [each.split()[1] for each in expected]
        errors = [code for code in codes if CODES[code].severity == "error"]
        unread = any(code.startswith("FC0") for code in errors)
        least = 2 if unread else 1 if errors else 0
        # What refers to nothing in the sample may add an error; nothing takes one away.
        assert ran.code in {least, max(least, 1)}, (name, ran)
        assert lines.code == ran.code, name
        for each in expected:
            place, code = each.split()
            head = f"{as_shown(path)}:{place}: {CODES[code].severity} {code} "
            assert any(line.startswith(head) for line in ran.out.splitlines()), (name, each, ran)
        assert all(line.isprintable() for line in ran.out.split("\n")), name
        found = [json.loads(line)["code"] for line in lines.out.splitlines()]
        assert not set(codes) - set(found), (name, found)


def _severity(expected: str) -> str:
    return CODES[expected.split()[1]].severity


def test_the_first_error_of_a_machine_is_shown_at_its_place(run, tmp_path: Path) -> None:
    path = tmp_path / "rosa.yaml"
    path.write_text(
        MACHINE.replace("13/49", "13/13").replace("  name:", "  naem:"), encoding="utf-8"
    )

    ran = run("match", str(path), env=ENV)

    assert (ran.code, ran.out) == (2, "")
    assert f"{as_shown(path)}:4:5: " in ran.err
    assert "no field 'naem'; did you mean name?" in ran.err
    assert "(and 1 more: run fitcheck check" in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("dunlin-50", "dunlim-50", ":5:13: no engine family 'dunlim-50'; did you mean dunlin-50?"),
        ("housing: short", "housing: one", ":6:14: dunlin-50 has no housing 'one'; it has short"),
        (
            "{primary: 13/47, secondary: 13/49}",
            "{single: 13/47}",
            ":7:12: counted single, but a train of dunlin-50 has primary and secondary",
        ),
        ("    housing: short", "    tune: stok", ":6:11: no tune 'stok'; did you mean stock?"),
    ],
)
def test_what_a_machine_file_refers_to_is_named_at_its_place(
    old: str, new: str, said: str, run, tmp_path: Path
) -> None:
    path = tmp_path / "rosa.yaml"
    assert MACHINE.count(old) == 1
    path.write_text(MACHINE.replace(old, new), encoding="utf-8")

    ran = run("match", str(path), env=ENV)

    assert (ran.code, ran.out) == (2, "")
    assert f"{as_shown(path)}{said}" in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (MACHINE + MACHINE.split("records:\n")[1].replace("rosas", "joans"), "holds 2 machines"),
        ("kind: tune\nrecords:\n  a: {name: A, low: 8, high: 14}\n", "holds no machine"),
        ("kind: machine\nrecords: {}\n", "holds no machine"),
    ],
)
def test_a_file_with_no_one_machine(text: str, said: str, run, tmp_path: Path) -> None:
    path = tmp_path / "rosa.yaml"
    path.write_text(text, encoding="utf-8")

    ran = run("match", str(path), env=ENV)

    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_a_good_machine_file_is_matched(run, tmp_path: Path) -> None:
    path = tmp_path / "rosa.yaml"
    path.write_text(MACHINE, encoding="utf-8")

    ran = run("match", str(path), "--percent", "-50..50", env=ENV)

    assert ran.code == 0
    assert ran.err == ""
    assert "Rosa's Ten: Dunlin 50, short case" in ran.out


def test_files_that_are_too_large(run, tmp_path: Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as stream:
        stream.truncate(1 << 30)
    for named in (path, Path("/dev/zero")):
        if not named.exists():  # a device of this system
            continue
        ran = run("match", str(named), env=ENV)
        assert (ran.code, ran.out) == (2, "")
        assert f"{as_shown(named)}:1:1: the file is larger than" in ran.err
        assert ran.err.count("\n") == 1


def test_a_catalogue_with_faults_still_answers_and_says_so(run, tmp_path: Path) -> None:
    good = tmp_path / "catalog"
    good.mkdir()
    for path in SAMPLE.rglob("*.yaml"):
        (good / path.name).write_bytes(path.read_bytes())
    (good / "rosa.yaml").write_text(MACHINE, encoding="utf-8")
    (good / "broken.yaml").write_text("kind: tyre\nrecords: [\n", encoding="utf-8")

    ran = run("match", "rosas-ten", "--percent", "-50..50", "--catalog", str(good))

    assert ran.code == 0
    assert "Rosa's Ten" in ran.out
    assert ran.err.count("\n") == 1
    assert "one error in the catalogue, do not order before it is fixed" in ran.err
    assert "broken.yaml:" in ran.err
    assert "fitcheck check shows all" in ran.err
