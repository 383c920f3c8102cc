"""Small catalogues for tests: from YAML text, or from plain dicts."""

from __future__ import annotations

import gc
import inspect
import json
import os
import pickle
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cache, lru_cache, wraps
from pathlib import Path
from types import ModuleType
from typing import Any, TypeVar

import pytest
from hypothesis import settings

from fitcheck.catalogue import source
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.catalogue.text import c_parser_available
from fitcheck.catalogue.tree import Tree
from fitcheck.model.fields import Record

# By day the same examples are drawn every time, long lists give evenly spread cases, and sweeps
# marked `night` are left out; FITCHECK_EXPLORE=1 takes all, and draws thirty times as many.
# FITCHECK_EXAMPLES says how many. A test that wants more or fewer asks for a multiple of it.
EXPLORE = bool(os.environ.get("FITCHECK_EXPLORE"))
settings.register_profile(
    "gate",
    max_examples=int(os.environ.get("FITCHECK_EXAMPLES", "300" if EXPLORE else "10")),
    derandomize=not EXPLORE,
    database=None,
    deadline=None,
)
settings.load_profile("gate")

# Workers and children start Python many times: what they import is compiled once and kept.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# Times are shown in the machine's zone; a test of another sets it.
os.environ["TZ"] = "UTC"
if hasattr(time, "tzset"):
    time.tzset()

DEMO = Path(__file__).parents[1] / "catalog"

LoadFiles = Callable[[Mapping[str, str]], Catalogue]
LoadRecords = Callable[[Mapping[str, Mapping[str, Any]]], Catalogue]
T = TypeVar("T")
Test = Callable[..., None]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what is for the night."""
    if not EXPLORE:
        left_out = [item for item in items if item.get_closest_marker("night")]
        items[:] = [item for item in items if not item.get_closest_marker("night")]
        config.hook.pytest_deselected(items=left_out)


def pytest_collection_finish() -> None:
    """Spare the garbage collector what stays anyhow, all modules and tests; let it come seldom."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(200_000, 20, 100)


def some(items: Sequence[T], few: int) -> list[T]:
    """So many of them by day, evenly spread; all of them with FITCHECK_EXPLORE=1."""
    if EXPLORE or len(items) <= few:
        return list(items)
    return [items[n * len(items) // few] for n in range(few)]


def table(names: str | Sequence[str], rows: Iterable[Any]) -> Callable[[Test], Test]:
    """Like `parametrize`, with one test for all rows: each of its own costs 4 ms.

    Every row is tried, with the same fixtures. Those that fail are shown together.
    """
    keys = re.findall(r"\w+", names) if isinstance(names, str) else list(names)
    cases = [row if len(keys) > 1 else (row,) for row in rows]
    assert cases

    def of(test: Test) -> Test:
        @wraps(test)
        def run(*self: Any, **fixtures: Any) -> None:
            failed = []
            for case in cases:
                try:
                    test(*self, **fixtures, **dict(zip(keys, case, strict=True)))
                except Exception as error:
                    error.add_note(f"row {dict(zip(keys, case, strict=True))!r}")
                    failed.append(error)
            if failed:
                raise ExceptionGroup(f"{len(failed)} of {len(cases)} rows", failed)

        signature = inspect.signature(test)
        left = [each for name, each in signature.parameters.items() if name not in keys]
        run.__signature__ = signature.replace(parameters=left)  # type: ignore[attr-defined]
        return run

    return of


@cache
def demo_catalogue() -> Catalogue:
    """The demo, read once for all tests; lists of cases need it before there are fixtures."""
    return load(DEMO)


@cache
def answer_schemas() -> dict[str, dict[str, Any]]:
    """The schema of every answer, by file name, made once; nobody changes one."""
    from fitcheck.answers.schemas import output_schemas

    return output_schemas()


@pytest.fixture(scope="session")
def demo() -> Catalogue:
    """The demo catalogue, which nobody changes."""
    return demo_catalogue()


@pytest.fixture(scope="session", autouse=True)
def _read_each_text_once() -> Iterator[None]:
    """Parse each text and make each record once, in however many copies it is read.

    A tree depends on nothing but the text, a record on nothing but the data, and nobody changes it.
    """
    parse, make = source._tree, Record.model_validate.__func__  # type: ignore[attr-defined]
    made: dict[tuple[type[Record], str], Record] = {}

    @lru_cache(maxsize=256)
    def known(text: str, with_c: bool) -> Tree:
        return parse(text, None)

    def parse_once(text: str, parser: source.Parser | None) -> Tree:
        if parser is not None or len(text) > 100_000:
            return parse(text, parser)
        return known(text, c_parser_available())

    def make_once(cls: type[Record], data: Any, **how: Any) -> Record:
        if how or not isinstance(data, dict):
            return make(cls, data, **how)
        key = cls, repr(data)
        if key not in made:
            made[key] = make(cls, data)
        return made[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(source, "_tree", parse_once)
        patched.setattr(Record, "model_validate", classmethod(make_once))
        yield


@pytest.fixture(scope="session", autouse=True)
def _run_each_machine_once() -> Iterator[None]:
    """Run a machine once for the same inputs and gearings, whoever asks; not so at night."""
    from fitcheck.services.road import comparing, rows, sweep

    known: dict[bytes, sweep.Ranged] = {}

    def sweep_once(*given: Any, **how: Any) -> sweep.Ranged:
        key = pickle.dumps((given, how))
        if key not in known:
            known[key] = sweep.sweep(*given, **how)
        return known[key]

    with pytest.MonkeyPatch.context() as patched:
        for module in (comparing, rows) if not EXPLORE else ():
            patched.setattr(module, "sweep", sweep_once)
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


# What answers and screens are made from: the demo, and a small catalogue with everything awkward.

AWKWARD = {
    "families/families.yaml": """\
kind: family
records:
  stint-50:
    name: Stint 50
    housings: {a: {name: case A}, b: {name: case B}}
    stages: {primary: {}, secondary: {}}
  knot-50:
    name: Knot 50
    housings: {one: {name: the only case}}
    stages: {single: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {single: 13/60}}
""",
    "sets/sets.yaml": """\
kind: gear-set
defaults: {supplier: eelgrass}
records:
  EQ:
    part_number: "=HYPERLINK(\\"http://bad.example\\",\\"x\\")"
    pairs: {primary: 15/44}
    fits: [{family: stint-50, housings: [a, b]}]
    listed_for: {models: ["@SUM(1)|<b>*bold*</b>"], wheel_size_in: 12}
    price: 64.955
  PLUS:
    part_number: "+1 | two\\nlines"
    pairs: {primary: 16/44}
    fits: [{family: stint-50, housings: [a, b]}]
  MINUS:
    part_number: "-2+3"
    pairs: {secondary: 14/47}
    fits: [{family: stint-50, housings: [a, b]}]
    price: 50
    currency: SEK
  TAB:
    part_number: "\\t=1"
    pairs: {secondary: 15/46}
    fits: [{family: stint-50, housings: [a, b]}]
    price: 0.1
    availability: discontinued
    also_needs: ["gasket, \\"thick\\"", oil]
  WHOLE:
    part_number: "_under_ `code` [link](http://x.example) & co"
    pairs: {primary: 17/43, secondary: 15/44}
    fits: [{family: stint-50, housings: [a, b]}]
    price: 120
  SINGLE:
    part_number: "1E5"
    pairs: {single: 14/58}
    fits: [{family: knot-50, housings: [one]}]
""",
    "machines/machines.yaml": """\
kind: machine
records:
  bare:
    name: "=bare | <i>"
    family: stint-50
    pairs: {primary: 14/45, secondary: 13/48}
  knot:
    name: Knot
    family: knot-50
    housing: one
    pairs: {single: 13/60}
    wheel_size_in: 10
    tune: calm
    roll_out_mm: 1300.5
""",
    "suppliers.yaml": "kind: supplier\nrecords:\n  eelgrass: {name: Eelgrass}\n",
    "shelf.yaml": "kind: shelf\nrecords:\n  SINGLE: {quantity: 0}\n  EQ: {quantity: 3}\n",
    "tunes.yaml": """\
kind: tune
records:
  calm: {name: calm, low: 8.5, high: 12.25}
  slower: {name: hill work, low: -20, high: -5}
""",
}


@pytest.fixture(scope="session")
def awkward(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    folder = tmp_path_factory.mktemp("awkward")
    for name, text in AWKWARD.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    catalogue = load(folder)
    assert not catalogue.findings, [str(each) for each in catalogue.findings]
    return catalogue


@pytest.fixture(scope="session")
def roads() -> ModuleType:
    """The module of hand-built answers of the road model."""
    from tests.screens import road_examples

    return road_examples
