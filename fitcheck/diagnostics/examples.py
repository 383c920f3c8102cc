"""What each code means, and the catalogues that show it: `data/`, read only to explain.

`data/base` is a small catalogue without a fault, over which every example is laid; `data/more`
holds further files that many examples change. The TOML files have one table a code. Its `right` and
`wrong` give each file of the example whole, or as stretches of text and what stands in their place:
those of `right` in the file of `data/`, those of `wrong` in the right one.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from fitcheck.diagnostics.codes import CODES, Code

Example = Mapping[str, str]
"""File name inside a catalogue folder to its text."""

_DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True)
class Explanation:
    """What one code means.

    Attributes:
        code: the code.
        title: one sentence saying what was found.
        why: why it matters to the shop, one or two sentences.
        bad: files that give this finding when laid over `BASE`.
        good: the same files, corrected.
    """

    code: Code
    title: str
    why: str
    bad: Example
    good: Example


def _read_folder(folder: Path) -> Example:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8") for path in files}


BASE: Example = _read_folder(_DATA / "base")
"""A small catalogue without a fault."""

_MORE = _read_folder(_DATA / "more")

TUNES, SETS = "more-tunes.yaml", "sets/more.yaml"
TUNE, SET = _MORE[TUNES], _MORE[SETS]
"""A further file of tunes, and one of gear sets, which many examples spoil in one place."""


@cache
def explanations() -> Mapping[str, Explanation]:
    """What every code means, by code, in the order of `CODES`.

    Raises:
        ValueError: an example changes text that its file does not hold.
    """
    tables: dict[str, dict[str, Any]] = {}
    for path in _DATA.glob("*.toml"):
        tables |= tomllib.loads(path.read_text(encoding="utf-8"))
    return {code: _explain(CODES[code], tables[code]) for code in CODES}


def _explain(code: Code, table: Mapping[str, Any]) -> Explanation:
    right, wrong = table.get("right", {}), table["wrong"]
    start = {**BASE, **_MORE}
    names = dict.fromkeys((*(name for name in wrong if name in start or name in right), *right))
    good = _change(start, {name: right.get(name, {}) for name in names})
    bad = _change(good, wrong)
    if "saved_as" in table:
        bad = {
            name: text.encode(table["saved_as"]).decode("utf-8", errors="surrogateescape")
            for name, text in bad.items()
        }
    return Explanation(code=code, title=table["title"], why=table["why"], bad=bad, good=good)


def _change(start: Example, given: Mapping[str, str | Mapping[str, str]]) -> dict[str, str]:
    files = {}
    for name, change in given.items():
        text = change if isinstance(change, str) else start[name]
        for old, new in () if isinstance(change, str) else change.items():
            if old not in text:
                raise ValueError(f"{old!r} does not stand in {name}")
            text = text.replace(old, new)
        files[name] = text
    return files


def lay_out(folder: Path, *layers: Example) -> None:
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
