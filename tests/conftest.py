"""Small catalogues for tests: from YAML text, or from plain dicts."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import pytest
from hypothesis import settings

from fitcheck.catalogue import source
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.catalogue.tree import Tree

# The gate draws the same examples every time; FITCHECK_EXPLORE=1 draws new ones, twenty times as
# many, and takes every case of the long lists.
# FITCHECK_EXAMPLES says how many. A test that wants more or fewer asks for a multiple of it.
EXPLORE = bool(os.environ.get("FITCHECK_EXPLORE"))
settings.register_profile(
    "gate",
    max_examples=int(os.environ.get("FITCHECK_EXAMPLES", "500" if EXPLORE else "25")),
    derandomize=not EXPLORE,
    database=None,
    deadline=None,
)
settings.load_profile("gate")

# Times are shown in the machine's zone; a test of another sets it.
os.environ["TZ"] = "UTC"
if hasattr(time, "tzset"):
    time.tzset()

DEMO = Path(__file__).parents[1] / "catalog"

LoadFiles = Callable[[Mapping[str, str]], Catalogue]
LoadRecords = Callable[[Mapping[str, Mapping[str, Any]]], Catalogue]
T = TypeVar("T")


def some(items: Sequence[T], few: int) -> list[T]:
    """So many of them in the gate, evenly spread; all of them with FITCHECK_EXPLORE=1."""
    if EXPLORE or len(items) <= few:
        return list(items)
    return [items[n * len(items) // few] for n in range(few)]


@cache
def demo_catalogue() -> Catalogue:
    """The demo, read once for all tests; lists of cases need it before there are fixtures."""
    return load(DEMO)


@pytest.fixture(scope="session")
def demo() -> Catalogue:
    """The demo catalogue, which nobody changes."""
    return demo_catalogue()


@pytest.fixture(scope="session", autouse=True)
def _parse_the_demo_once() -> Iterator[None]:
    """Parse each file of the demo once, however many tests read a copy of it.

    A tree depends on nothing but the text, and nobody changes it. Records are read anew each time.
    """
    texts = {path.read_text(encoding="utf-8") for path in DEMO.rglob("*.yaml")}
    parse, known = source._tree, dict[str, Tree]()

    def parse_once(text: str, parser: source.Parser | None) -> Tree:
        if parser is not None or text not in texts:
            return parse(text, parser)
        if text not in known:
            known[text] = parse(text, parser)
        return known[text]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(source, "_tree", parse_once)
        yield


@pytest.fixture(scope="session")
def load_files(tmp_path_factory: pytest.TempPathFactory) -> LoadFiles:
    """Load a catalogue from file names and their text."""

    def run(files: Mapping[str, str]) -> Catalogue:
        folder = tmp_path_factory.mktemp("catalogue")
        for name, text in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return load(folder)

    return run


@pytest.fixture(scope="session")
def load_records(load_files: LoadFiles) -> LoadRecords:
    """Load a catalogue from records: kind to id to fields; decimals stay exact.

    Asserts that the reader finds nothing wrong with them.
    """

    def run(kinds: Mapping[str, Mapping[str, Any]]) -> Catalogue:
        files = {
            f"{kind}.yaml": f"kind: {kind}\nrecords:\n"
            + "".join(f"  {id_}: {_flow(fields)}\n" for id_, fields in records.items())
            for kind, records in kinds.items()
            if records
        }
        catalogue = load_files(files)
        assert not catalogue.findings, catalogue.findings
        return catalogue

    return run


def _flow(value: Any) -> str:
    """A value in YAML's flow style."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list | tuple | frozenset):
        return "[" + ", ".join(map(_flow, value)) + "]"
    if isinstance(value, Decimal):
        return f"{value:f}"
    return json.dumps(value)
