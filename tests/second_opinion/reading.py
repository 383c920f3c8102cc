"""The second opinion's own reader: YAML files to plain records, every number still text.

Written from docs/catalogue-format.md alone and importing nothing of fitcheck, so that a slip in one
reader shows against the other.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import Any

import yaml

Record = dict[str, Any]
Records = dict[str, dict[str, Record]]
"""Records by kind and id."""

ORDERS = (("single",), ("primary", "secondary"), ("primary", "secondary", "tertiary"))
"""The stages of a train, from the input shaft to the wheel."""


def read_catalogue(folder: Path) -> Records:
    """Read every YAML file under FOLDER."""
    found: Records = defaultdict(dict)
    for path in sorted(folder.rglob("*.y*ml")):
        if any(part[0] in "._" for part in path.relative_to(folder).parts):
            continue
        content = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
        defaults = content.get("defaults") or {}
        for name, record in content["records"].items():
            found[content["kind"]][name] = {**defaults, **record}
    return found


def teeth(pair: str) -> tuple[int, int]:
    """Driver and driven count of 15/44."""
    driver, driven = pair.split("/")
    return int(driver), int(driven)


def train_of(pairs: dict[str, str], stages: tuple[str, ...]) -> tuple[tuple[int, int], ...]:
    """The counts of every stage, in order."""
    return tuple(teeth(pairs[stage]) for stage in stages)


def stages_of(family: Record) -> tuple[str, ...]:
    """The stages of a family's trains, in order."""
    return next(order for order in ORDERS if set(order) == set(family["stages"]))
