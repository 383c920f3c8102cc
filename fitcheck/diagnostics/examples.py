"""A small catalogue without a fault, over which the example of every code is laid."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fitcheck.diagnostics.code import Example

BASE: Example = {
    "families/dunlin.yaml": """\
kind: family
records:
  dunlin-50:
    name: Dunlin 50
    aliases: [Dunlin Ten]
    displacement_cm3: 49.4
    housings:
      short: {name: short case}
      mid: {name: mid case}
    stages:
      primary: {centre_distance_mm: 48.0}
      secondary: {centre_distance_mm: 62.0}
    interfaces:
      input_shaft_end: D13
      idler_seats: [ST-14]
      output_shaft_end: H17
    factory_trains:
      - housing: short
        wheel_size_in: 10
        pairs: {primary: 14/45, secondary: 13/48}
        models: [Dunlin Ten]
      - housing: mid
        wheel_size_in: 12
        pairs: {primary: 14/45, secondary: 12/49}
""",
    "sets/marram.yaml": """\
kind: gear-set
defaults:
  supplier: marram
  source: {list: Marram spring list, date: 2026-03-01}
records:
  MA-1544:
    part_number: "1544"
    pairs: {primary: 15/44}
    fits:
      - {family: dunlin-50, housings: [short, mid]}
    price: 64.90
  MA-1447:
    part_number: "1447"
    pairs: {secondary: 14/47}
    fits:
      - {family: dunlin-50, housings: [short]}
    price: 71.50
""",
    "suppliers/marram.yaml": """\
kind: supplier
records:
  marram:
    name: Marram
""",
    "machines/counter.yaml": """\
kind: machine
records:
  blue-dunlin:
    name: the blue Dunlin
    family: dunlin-50
    housing: short
    pairs: {primary: 14/45, secondary: 13/48}
    wheel_size_in: 10
    tyre: t-3.50-10
    tune: stock
    vehicle_class: l1e-b
""",
    "tunes.yaml": """\
kind: tune
records:
  stock:
    name: standard engine
    low: 5
    high: 12
    stretch: 15
""",
    "classes.yaml": """\
kind: vehicle-class
records:
  l1e-b:
    name: L1e-B
    place: European Union
    max_displacement_cm3: 50
    max_speed_km_h: 45
    max_power_w: 4000
    source: Regulation (EU) 168/2013, Annex I
    date: 2026-11-25
""",
    "tyres.yaml": """\
kind: tyre
records:
  t-3.50-10:
    size: 3.50-10
    wheel_size_in: 10
    roll_out_mm: 1310
    basis: counted
""",
    "variators.yaml": """\
kind: variator
records:
  MA-7105:
    supplier: marram
    part_number: "7105"
    fits: [dunlin-50]
    low_ratio: 2.9
    high_ratio: 0.95
    price: 79.00
""",
    "shelf.yaml": """\
kind: shelf
records:
  MA-1544:
    quantity: 2
    place: drawer B4
""",
}
"""File name inside a catalogue folder to its text."""

TUNES = "more-tunes.yaml"
TUNE = """\
kind: tune
records:
  pipe:
    name: pipe only
    low: 8
    high: 14
"""
"""A further file of tunes, which the examples of many codes spoil in one place."""

SETS = "sets/more.yaml"
SET = """\
kind: gear-set
defaults: {supplier: marram}
records:
  MA-1:
    part_number: "1"
    pairs: {primary: 15/44}
"""
"""A further file of gear sets, likewise."""


def lay_out(folder: Path, *layers: Mapping[str, str]) -> None:
    """Write layers of example files into a folder, later ones over earlier ones.

    Args:
        folder: where to write; made if it is not there.
        layers: file name (with folders) to text. A lone surrogate U+DC80 to U+DCFF stands for
            one byte, so that an example can show a file that is not UTF-8.
    """
    for layer in layers:
        for name, text in layer.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode("utf-8", errors="surrogateescape"))
