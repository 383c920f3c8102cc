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


def test_a_name_in_place_of_an_id_is_not_made_into_one(tmp_path):
    finding = _only(tmp_path, SET.format(line="fits: [{family: Teal 50}]"))
    assert (finding.code, finding.suggestion) == ("FC109", None)
    assert "named by its id" in finding.message
