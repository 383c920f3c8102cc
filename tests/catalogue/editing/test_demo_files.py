"""The demo's own files, edited: every file may be, and what was put in comes out without trace."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.catalogue.editing import open_draft
from fitcheck.catalogue.locate import catalogue_files
from fitcheck.catalogue.reader import FIELDS, read_records
from fitcheck.model.kinds import KINDS
from tests.conftest import some

CATALOG = Path(__file__).parents[3] / "catalog"
FILES = catalogue_files(CATALOG)[0]


def name(path: Path) -> str:
    return str(path.relative_to(CATALOG))


def test_the_demo_has_files_of_every_kind() -> None:
    assert {open_draft(path).kind for path in FILES} == set(FIELDS)


@pytest.mark.parametrize("path", some(FILES, 10), ids=name)
def test_setting_what_is_there_changes_nothing(path: Path) -> None:
    draft = open_draft(path)

    for record_id in draft.ids:
        draft.set_fields(record_id, draft.record(record_id))

    assert draft.data == path.read_bytes()


def spare_field(path: Path) -> str | None:
    """A text that records of this file may have or not."""
    fields = KINDS[open_draft(path).kind].model_fields
    return next((each for each in ("notes", "place") if each in fields), None)


@pytest.mark.parametrize("path", some([path for path in FILES if spare_field(path)], 10), ids=name)
def test_a_field_put_in_and_taken_out_leaves_no_trace(path: Path) -> None:
    draft = open_draft(path)
    field = str(spare_field(path))
    value = "drawer: Z9"
    bare = [each for each in draft.ids if field not in draft.record(each)]

    for record_id in bare:
        draft.set_field(("records", record_id), field, value)
    longer = draft.text
    for record_id in bare:
        draft.remove_field(("records", record_id), field)

    assert draft.data == path.read_bytes()
    assert longer.count('"drawer: Z9"') == len(bare)


@pytest.mark.parametrize("path", some(FILES, 10), ids=name)
def test_a_copy_of_each_record_is_written_as_it_is(path: Path, tmp_path: Path) -> None:
    draft = open_draft(path)
    last = draft.ids[-1]

    draft.add_record("copy", draft.record(last))

    added = [line[1:] for line in draft.diff().splitlines() if line.startswith("+")][1:]
    lines = path.read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if line.strip().startswith(f"{last}:"))
    # As the one it was copied from, but for comments and wrapped brackets.
    first = next(line for line in added if line.strip())
    assert first == lines[at].replace(last, "copy", 1).split("  #")[0].rstrip()
    copy = tmp_path / "a.yaml"
    copy.write_bytes(draft.data)
    entries, findings = read_records(copy)
    assert findings == read_records(path)[1] == ()
    assert entries[-1].record == entries[-2].record
