"""A small catalogue on disk for each test, loaded anew whenever it is asked for."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.services.upkeep import Edited

FAMILY = """\
kind: family
records:
  knot-50:
    name: Knot 50
    aliases: [Red Knot]
    stages: {primary: {}, secondary: {}}
    housings: {short: {name: short case}, long: {name: long case}}
  stint-50:
    name: Stint 50
    stages: {single: {}}
    housings: {open: {name: open case}}
"""
SUPPLIERS = """\
kind: supplier
records:
  arrowgrass: {name: Arrowgrass}
  sea-blush: {name: Sea Blush, currency: GBP}
"""
SETS = """\
kind: gear-set
defaults:
  supplier: arrowgrass
  source: {list: "Spring list", date: 2026-03-02}
  also_needs: [gasket]
  availability: in-stock
records:

  # --- Knot ---
  AG-1: {part_number: "1", pairs: {primary: 15/38}, fits: [{family: knot-50, housings: [short]}]}
  AG-2:   # the good one
    part_number: "2"
    aliases: [2-B]
    pairs: {secondary: 13/47}
    fits:
      - {family: knot-50, housings: [short]}   # since spring
    price: 49.9
    notes: 'Ask first.'

  # --- others ---
  AG-9:
    part_number: "9"
    pairs: {single: 12/50}
    fits:
      - {family: stint-50, housings: [open]}
    price: 30
"""
SHELF = "kind: shelf\nrecords:\n  AG-2: {quantity: 3, place: drawer B4}\n"


@dataclass
class Shop:
    """A catalogue on disk.

    Attributes:
        root: its folder.
    """

    root: Path

    @property
    def file(self) -> Path:
        """The file of Arrowgrass's sets."""
        return self.root / "sets" / "arrowgrass.yaml"

    @property
    def catalogue(self) -> Catalogue:
        """What is on disk now."""
        return load(self.root)

    def records(self, name: str = "arrowgrass") -> dict[str, Any]:
        """The sets of a file as PyYAML reads them, every scalar as its text."""
        text = (self.root / "sets" / f"{name}.yaml").read_text("utf-8")
        found: dict[str, Any] = yaml.load(text, yaml.CBaseLoader)["records"]
        return found

    def write(self, edited: Edited) -> tuple[list[str], list[str]]:
        """Save, and give the lines taken out and put in as Python's difflib finds them."""
        before = self.file.read_text("utf-8").splitlines()
        edited.save()
        after = self.file.read_text("utf-8").splitlines()
        lines = list(difflib.ndiff(before, after))
        return (
            [line[2:] for line in lines if line.startswith("- ")],
            [line[2:] for line in lines if line.startswith("+ ")],
        )


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """Two families, two suppliers, three sets of the first, and a shelf."""
    for name, text in {
        "families.yaml": FAMILY,
        "suppliers.yaml": SUPPLIERS,
        "sets/arrowgrass.yaml": SETS,
        "shelf.yaml": SHELF,
    }.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return Shop(tmp_path)
