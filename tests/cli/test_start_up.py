"""Start-up: what help and shell completion import, and what they print."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import fitcheck
from fitcheck.cli.main import COMMANDS
from tests.cli.conftest import Run
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[2]
HEAVY = (
    "numpy", "pandas", "pydantic", "ruamel", "_ruamel_yaml", "rapidfuzz", "rich", "jinja2", "babel",
    "matplotlib",
)  # fmt: skip
FRAMES = ("numpy", "pandas")

# Runs command lines one after the other in a fresh interpreter, each with what it adds to the
# environment; of each, its exit code, what it printed, and what of HEAVY had come in by then.
PROBE = f"""
import contextlib, io, json, os, sys
from fitcheck.cli import main
given = dict(os.environ)
told = []
for words, env in json.loads(sys.argv.pop()):
    os.environ.clear()
    os.environ.update(given, **env)
    out = io.TextIOWrapper(io.BytesIO(), "utf-8")
    with contextlib.redirect_stdout(out):
        try:
            main(words or None)
        except SystemExit as stop:
            code = stop.code
    loaded = {{name.partition(".")[0] for name in sys.modules}} & set({HEAVY!r})
    out.flush()
    told.append([out.buffer.getvalue().decode(), code, sorted(loaded)])
print(json.dumps(told))
"""

Asked = tuple[list[str], dict[str, str]]
"""The words of a command line, and what is added to the environment."""


def probe(*asked: Asked) -> list[tuple[str, int, set[str]]]:
    """Outputs, exit codes and heavy packages of runs in a fresh interpreter."""
    ran = subprocess.run(
        [sys.executable, "-c", PROBE, json.dumps(asked)],
        cwd=ROOT,
        env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    return [(out, code, set(loaded)) for out, code, loaded in json.loads(ran.stdout)]


HELP = [
    *(["--help"], ["-h"], ["--version"], ["help"], ["completion", "zsh"]),
    *([name, "--help"] for name in COMMANDS),
    *(["help", name] for name in COMMANDS),
]


def test_help_imports_nothing_heavy() -> None:
    for words, told in zip(HELP, probe(*((words, {}) for words in HELP)), strict=True):
        out, code, loaded = told
        assert (code, loaded) == (0, set()), words
        assert "fitcheck" in "".join(out.splitlines()[:2]), words


def test_the_version_is_that_of_the_package() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    home = tomllib.loads(text)["tool"]["hatch"]["version"]["path"]

    assert (ROOT / home).samefile(str(fitcheck.__file__))
    assert re.fullmatch(r"\d+\.\d+\.\d+", fitcheck.__version__)
    ((out, _, _),) = probe((["--version"], {}))
    assert out.split()[-1] == fitcheck.__version__


SHELLS = ("bash", "zsh", "fish")


def test_the_completion_script_imports_nothing_heavy() -> None:
    # click asks bash for its version before it writes the script.
    for told in probe(*(([], {"_FITCHECK_COMPLETE": f"{shell}_source"}) for shell in SHELLS)):
        out, code, loaded = told
        assert "_FITCHECK_COMPLETE" in out
        assert (code, loaded) == (0, set())


TYPED = [
    ("fitcheck ma", {"match"}),
    ("fitcheck ", set(COMMANDS)),
    ("fitcheck match --p", {"--percent", "--proven-only"}),
    ("fitcheck options --wh", {"--wheel"}),
    ("fitcheck match --format c", {"csv"}),
    ("fitcheck check --form", {"--format"}),
    ("fitcheck match dunlin-t", {"dunlin-ten", "dunlin-tour"}),
    ("fitcheck road dunlin-ten MA-1545+SA-10", {"MA-1545+SA-107"}),
    ("fitcheck help shelf p", {"price", "plan"}),
    ("fitcheck explain fc20", {"FC206"}),
]


@pytest.mark.parametrize("shell", some(SHELLS, 1))
def test_completing_imports_nothing_heavy(shell: str) -> None:
    asked: list[Asked] = []
    for typed, _ in TYPED:
        position = str(len(typed.split(" ")) - 1)
        word = typed.rpartition(" ")[2] if shell == "fish" else position
        given = {"COMP_WORDS": typed, "COMP_CWORD": word}
        asked.append(([], {"_FITCHECK_COMPLETE": f"{shell}_complete", **given}))
    for (typed, offered), (out, code, loaded) in zip(TYPED, probe(*asked), strict=True):
        assert (code, loaded) == (0, set()), typed
        words = [word for line in out.splitlines() for word in line.replace("\t", ",").split(",")]
        assert offered <= set(words), typed


def test_an_answer_imports_only_what_it_needs() -> None:
    forms = ("json", "csv") if EXPLORE else ("csv",)
    asked = [(["match", "dunlin-ten", "--format", form], {}) for form in forms]
    asked += [(["match", "dunlin-ten", "--long"], {}), (["options", "dunlin-50"], {})]
    # Of this one nobody knows the engine, so its screen tells nothing of the road.
    unknown = (["match", "avocet-reserve"], {})
    *told, few, (_, _, by_road) = probe(*asked, unknown, (["road", "dunlin-ten"], {}))
    assert all("GW-20-108" in out for out, _, _ in told)
    for _, code, loaded in (*told, few):
        assert code == 0
        assert not loaded & {*FRAMES, "babel"}
    assert {"pydantic", "ruamel", "rich", "numpy"} <= by_road, "the probe sees what is imported"
    assert "matplotlib" not in by_road


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
