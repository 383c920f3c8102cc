"""Advice that is followed must not lead into the next fault."""

from __future__ import annotations

import pytest

from fitcheck.catalogue.reader import load

SET = """kind: gear-set
records:
  A-1:
    supplier: acme
    part_number: "1"
    pairs: {{primary: 15/45}}
    {line}
"""


def _only(tmp_path, text):
    path = tmp_path / "sets.yaml"
    path.write_text(text, encoding="utf-8")
    (finding,) = load(path).findings
    return finding


@pytest.mark.parametrize(
    ("line", "mended"),
    [
        ("fits: teal-50", "fits: [{family: dunlin-50, housings: [short, mid]}]"),
        ("measured: yes", "measured: [pairs]"),
        ("aliases: B-1", "aliases: [B-1]"),
    ],
)
def test_a_list_is_shown_as_its_items_are(tmp_path, line, mended):
    finding = _only(tmp_path, SET.format(line=line))
    assert finding.code == "FC104"
    inside = mended.split("[", 1)[1].removesuffix("]")
    assert inside in finding.help
    (tmp_path / "sets.yaml").write_text(SET.format(line=mended), encoding="utf-8")
    assert load(tmp_path / "sets.yaml").findings == ()


FAMILY = """kind: family
records:
  teal-50:
    name: Teal 50
    housings: {housings}
    stages: {stages}
"""


@pytest.mark.parametrize(
    ("housings", "stages"),
    [("{short: {name: short case}}", "[primary, secondary]"), ("[short]", "{single: {}}")],
)
def test_a_list_in_place_of_a_mapping_is_shown_as_yaml(tmp_path, housings, stages):
    finding = _only(tmp_path, FAMILY.format(housings=housings, stages=stages))
    assert finding.code == "FC104"
    mended = finding.help.removeprefix("write it like ")
    text = FAMILY.format(
        housings=mended if housings == "[short]" else housings,
        stages=stages if housings == "[short]" else mended,
    )
    path = tmp_path / "sets.yaml"
    path.write_text(text, encoding="utf-8")
    assert load(path).findings == ()


def test_stages_named_in_a_list_are_kept(tmp_path):
    # With nothing measured yet a stage holds nothing: docs/catalogue-format.md, the walk.
    text = FAMILY.format(housings="{short: {name: short case}}", stages="[primary, secondary]")
    assert _only(tmp_path, text).help == "write it like {primary: {}, secondary: {}}"


def test_a_name_in_place_of_an_id_is_not_made_into_one(tmp_path):
    finding = _only(tmp_path, SET.format(line="fits: [{family: Teal 50}]"))
    assert (finding.code, finding.suggestion) == ("FC109", None)
    assert "named by its id" in finding.message


@pytest.mark.parametrize("list_", ["[?]", "[ ? , ST-14]", "\n      - ?"])
def test_a_question_mark_is_to_be_quoted(tmp_path, list_):
    machine = """kind: machine
records:
  red:
    name: red
    family: dunlin-50
    pairs: {primary: 15/45}
    idler_seats: """
    finding = _only(tmp_path, f"{machine}{list_}\n")
    assert finding.code == "FC012"
    assert finding.help == 'put quotes round it: "?"'
    text = (machine + list_).split("\n")
    assert text[finding.span.line - 1][finding.span.column - 1] == "?"
    mended = machine + list_.replace("?", '"?"')
    (tmp_path / "sets.yaml").write_text(mended, encoding="utf-8")
    assert load(tmp_path / "sets.yaml").findings == ()
