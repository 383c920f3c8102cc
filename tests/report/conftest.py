"""Catalogues the answers are made from: the demo, and a small one with everything awkward."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from fitcheck.catalogue.reader import Catalogue, load

ROOT = Path(__file__).parents[2]

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
    """The module of hand-built answers of the road model, tests/report/road_examples.py."""
    path = Path(__file__).parent / "road_examples.py"
    spec = importlib.util.spec_from_file_location("road_examples", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
