"""A rule of fit and a reader of lists that a shop adds to fitcheck."""

from __future__ import annotations

from pathlib import Path

from fitcheck import Answer, Entry, Evidence, GearSet, Setting, Verdict


def oil_hole(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The idler wheel has the oil hole that this family needs."""
    if setting.family.id != "dunlin-50" or "primary" not in gear_set.record.stages:
        return None
    notes = gear_set.record.notes or ""
    if "oil hole" in notes:
        return Answer("oil-hole", Verdict.FITS, Evidence.STATED, "its notes name the oil hole")
    return Answer(
        "oil-hole",
        Verdict.UNPROVEN,
        Evidence.NONE,
        "its notes name no oil hole",
        measure="look for the oil hole in the idler wheel",
    )


def read_tabs(path: Path) -> dict[str, list[list[str]]]:
    """The sheets of a till's own file: a line `== name` before each, fields between bars."""
    sheets: dict[str, list[list[str]]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("== "):
            sheets[line[3:]] = []
        else:
            sheets[list(sheets)[-1]].append(line.split("|"))
    return sheets
