"""Running the command line: in this process where that will do, as a real program where not."""

from __future__ import annotations

import io
import os
import shlex
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from fitcheck.catalogue import reader
from fitcheck.catalogue.locate import Location, find_catalogue
from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.reader import load as _read
from fitcheck.diagnostics.finding import Finding
from fitcheck.services.upkeep import checking

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "data" / "sample-catalog"
KEPT = [ROOT / "catalog", SAMPLE]
"""Catalogues that no test writes to, so that they are read once from each folder."""

CLEAN = ("FITCHECK_CATALOG", "FITCHECK_DEBUG", "NO_COLOR", "FORCE_COLOR", "COLUMNS", "TERM")
"""Variables that change what is printed; a test sets those it means."""


_FAULTLESS: set[tuple[str, ...]] = set()
"""The texts of catalogues without an error."""
_find_errors = checking.errors_in


def _errors_in(catalogue: Catalogue) -> list[Finding]:
    """Check a catalogue for errors; of one without any, no other copy is checked."""
    texts = tuple(sorted(source.text for source in catalogue.sources.values()))
    if texts in _FAULTLESS:
        return []
    found = _find_errors(catalogue)
    if not found:
        _FAULTLESS.add(texts)
    return found


@dataclass(frozen=True)
class Ran:
    """What one run gave."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@cache
def _read_once(here: str, path: str | None, location: Location) -> Catalogue:
    return _read(path)


def _load(path: str | None, *, progress: reader.Progress | None = None) -> Catalogue:
    """Read a catalogue, a kept one once."""
    location = find_catalogue(path)
    if location.path.resolve() in KEPT:
        return _read_once(str(Path.cwd()), path, location)
    return _read(path, progress=progress)


def run_here(
    *words: str,
    cwd: Path = ROOT,
    env: Mapping[str, str] | None = None,
    encoding: str = "utf-8",
    together: bool = False,
) -> Ran:
    """Run the command line in this process; stdout is no terminal.

    With `together`, what goes to stderr is in `out` as well, in its place.
    """
    from fitcheck.cli import main

    out, err = io.BytesIO(), io.BytesIO()
    with pytest.MonkeyPatch.context() as patched:
        patched.chdir(cwd)
        patched.setattr(reader, "load", _load)
        patched.setattr(checking, "errors_in", _errors_in)
        for name in CLEAN:
            patched.delenv(name, raising=False)
        for name, value in (env or {}).items():
            patched.setenv(name, value)
        # The handlers of errors are those Python gives the real streams.
        stdout = io.TextIOWrapper(out, encoding)
        stderr = stdout if together else io.TextIOWrapper(err, encoding, "backslashreplace")
        patched.setattr(sys, "stdout", stdout)
        patched.setattr(sys, "stderr", stderr)
        with pytest.raises(SystemExit) as stop:
            main(list(words))
        stdout.flush()
        stderr.flush()
        code = stop.value.code
    assert isinstance(code, int)
    # Binary answers are UTF-8 whatever the terminal; all else must be in its encoding.
    return Ran(code, out.getvalue().decode("utf-8"), err.getvalue().decode(encoding))


def run_line(line: str, cwd: Path = ROOT, *, together: bool = True) -> Ran:
    """Run `NAME=value fitcheck ...` as a page shows it, on a screen of 80 columns."""
    words = shlex.split(line)
    at = words.index("fitcheck")
    env = dict(word.split("=", 1) for word in words[:at])
    return run_here(*words[at + 1 :], cwd=cwd, env={"COLUMNS": "80", **env}, together=together)


@pytest.fixture
def run() -> Run:
    """Run the command line in this process, from the root of the checkout; see `run_here`."""
    return run_here


Program = Callable[..., "subprocess.CompletedProcess[bytes]"]


@pytest.fixture
def program() -> Program:
    """Run `python -m fitcheck` as a program of its own, from the root of the checkout."""

    def call(
        *words: str | bytes,
        cwd: Path = ROOT,
        env: Mapping[str, str] | None = None,
        shell: str | None = None,
        flags: Sequence[str] = (),
    ) -> subprocess.CompletedProcess[bytes]:
        given = {name: value for name, value in os.environ.items() if name not in CLEAN}
        given["PYTHONPATH"] = str(ROOT)
        given.update(env or {})
        command = [sys.executable, *flags, "-m", "fitcheck", *words]
        if shell is not None:
            command = ["bash", "-c", shell, "bash", *command]
        return subprocess.run(command, cwd=cwd, env=given, capture_output=True, check=False)

    return call
