"""docs/top-speed-and-gearing.md and its picture are in step, and show the turn-over.

Common practice, no source: a standard engine takes 10 to 15 % more road speed, and more than that
often costs top speed.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

from fitcheck.screens.reference.gearing import (
    DOCUMENT,
    PICTURE,
    gearing_picture,
    gearing_reference,
    main,
)


def test_the_committed_page_and_picture_are_in_step() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == gearing_reference()
    assert PICTURE.read_text(encoding="utf-8") == gearing_picture()
    assert main([]) == 0


def test_most_standard_machines_are_best_between_5_and_20_percent() -> None:
    best = [
        int(figure)
        for figure in re.findall(r"^\| \S+ \| \+(\d+) %", gearing_reference(), re.MULTILINE)
    ]
    assert len(best) >= 20
    assert sum(5 <= percent <= 20 for percent in best) > 0.8 * len(best)


def test_every_row_rises_to_its_best_and_falls_after_it() -> None:
    rows = [line for line in gearing_reference().splitlines() if " r |" in line or "**" in line]
    for row in rows[1:]:
        figures = [float(figure) for figure in re.findall(r"(\d+\.\d)", row)]
        top = figures.index(max(figures))
        assert figures[: top + 1] == sorted(figures[: top + 1])
        assert figures[top:] == sorted(figures[top:], reverse=True)
        assert figures[-1] < figures[top]


def test_the_picture_is_well_formed_and_marks_every_turn_over() -> None:
    root = ElementTree.fromstring(gearing_picture())
    names = [element.tag.rpartition("}")[2] for element in root.iter()]
    assert names.count("polyline") == names.count("circle") == 4
    assert {"title", "desc"} <= set(names)
