"""Start-up: what help and shell completion import, and what they print."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import fitcheck
from fitcheck.cli.main import COMMANDS
from tests.cli.conftest import Run

ROOT = Path(__file__).parents[2]
HEAVY = (
    "numpy", "pandas", "pydantic", "ruamel", "_ruamel_yaml", "rapidfuzz", "rich", "jinja2", "babel"
)  # fmt: skip
FRAMES = ("numpy", "pandas")

# Runs the command line in a fresh interpreter, then lists on the last line what of HEAVY came in.
PROBE = f"""
import sys
from fitcheck.cli import main
try:
    main(sys.argv[1:] or None)
except SystemExit as stop:
    code = stop.code
loaded = sorted({{name.partition(".")[0] for name in sys.modules}} & set({HEAVY!r}))
sys.stdout.flush()
print("\\n" + " ".join([str(code), *loaded]))
"""


def probe(*words: str, **env: str) -> tuple[str, int, set[str]]:
    """Output, exit code and heavy packages of a run in a fresh interpreter."""
    ran = subprocess.run(
        [sys.executable, "-c", PROBE, *words],
        cwd=ROOT,
        env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT), **env},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    out, _, last = ran.stdout.rstrip("\n").rpartition("\n")
    code, *loaded = last.split()
    return out.rstrip("\n"), int(code), set(loaded)


HELP = [["--help"], ["-h"], ["--version"], *([name, "--help"] for name in COMMANDS)]


@pytest.mark.parametrize("words", HELP, ids=" ".join)
def test_help_imports_nothing_heavy(words: list[str]) -> None:
    out, code, loaded = probe(*words)

    assert code == 0
    assert not loaded
    assert "fitcheck" in out.splitlines()[0]


def test_the_version_is_that_of_the_package() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    home = tomllib.loads(text)["tool"]["hatch"]["version"]["path"]

    assert (ROOT / home).samefile(str(fitcheck.__file__))
    assert re.fullmatch(r"\d+\.\d+\.\d+", fitcheck.__version__)
    assert probe("--version")[0].split()[-1] == fitcheck.__version__


def test_the_probe_sees_what_is_imported() -> None:
    _, code, loaded = probe("check", "catalog", "--quiet")

    assert code == 0
    assert {"pydantic", "ruamel", "rich"} <= loaded


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_completion_script_imports_nothing_heavy(shell: str) -> None:
    # click asks bash for its version before it writes the script.
    out, code, loaded = probe(_FITCHECK_COMPLETE=f"{shell}_source")

    assert "_FITCHECK_COMPLETE" in out
    assert not loaded
    assert code == 0


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("fitcheck ma", {"match"}),
        ("fitcheck ", set(COMMANDS)),
        ("fitcheck match --p", {"--percent", "--proven-only"}),
        ("fitcheck options --wh", {"--wheel"}),
        ("fitcheck match --format c", {"csv"}),
        ("fitcheck check --form", {"--format"}),
    ],
)
@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completing_imports_nothing_heavy(shell: str, typed: str, offered: set[str]) -> None:
    position = len(typed.split(" ")) - 1
    given = {"COMP_WORDS": typed, "COMP_CWORD": str(position)}
    if shell == "fish":
        given["COMP_CWORD"] = typed.rpartition(" ")[2]
    out, code, loaded = probe(_FITCHECK_COMPLETE=f"{shell}_complete", **given)

    assert code == 0
    assert not loaded
    words = [word for line in out.splitlines() for word in line.replace("\t", ",").split(",")]
    assert offered <= set(words)


@pytest.mark.parametrize("form", ["table", "json", "csv"])
def test_a_demo_match_needs_no_frames(form: str) -> None:
    out, code, loaded = probe("match", "dunlin-ten", "--format", form)

    assert code == 0
    assert "GW-20-108" in out
    assert not loaded & {*FRAMES, "babel"}


def test_importing_the_package_is_light() -> None:
    code = f"import sys, fitcheck; print(sorted(set(sys.modules) & set({HEAVY!r})), fitcheck.Pair)"
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )

    assert ran.stdout.startswith("[] ")


def test_the_help_of_schema_names_every_kind(run: Run) -> None:
    kinds = [path.name.removesuffix(".schema.json") for path in (ROOT / "schemas").iterdir()]
    shown = re.sub(r"-\n\s+", "-", run("schema", "--help").out)
    words = set(re.findall(r"[a-z][a-z.-]*[a-z]", shown))
    assert [kind for kind in kinds if kind not in words] == []
