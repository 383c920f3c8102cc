"""Near names: what is offered, and what is not."""

from __future__ import annotations

import pytest

from fitcheck.diagnostics.suggest import nearest, or_list

HOUSINGS = ["short", "mid", "long"]
FAMILIES = ["dunlin-50", "dunlin-70", "sanderling-50", "whimbrel-125"]


@pytest.mark.parametrize(
    ("word", "known", "near"),
    [
        ("dunlim-50", FAMILIES, "dunlin-50"),
        ("Dunlin_70", FAMILIES, "dunlin-70"),
        ("whimbrell125", FAMILIES, "whimbrel-125"),
        ("dunlin-60", FAMILIES, None),
        ("sanderling-70", FAMILIES, None),
        ("whimbrel-152", FAMILIES, None),
        ("dunlin", FAMILIES, None),
        ("dunlin", ["dunlin-50", "sanderling-50"], "dunlin-50"),
        ("shrot", HOUSINGS, "short"),
        ("SHORT", HOUSINGS, "short"),
        ("short", ["mid", "long"], None),
        ("med", ["mid"], None),
        ("MA-1545", ["MA-1544", "MA-1455"], None),
        ("MA1544", ["MA-1544", "MA-1455"], "MA-1544"),
        ("", FAMILIES, None),
        ("  ", FAMILIES, None),
        ("dunlin-50", [], None),
    ],
)
def test_nearest(word: str, known: list[str], near: str | None) -> None:
    assert nearest(word, known) == near


def test_or_list() -> None:
    assert or_list([]) == ""
    assert or_list(["a"]) == "a"
    assert or_list(["a", "b", "c"]) == "a, b or c"
    assert or_list(["a", "b", "c"], 2) == "a, b or 1 more"
