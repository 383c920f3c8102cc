"""Retired sets, their successors, and stock of them."""

from __future__ import annotations

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"


def retired(number: int, successor: str = "", mark: str = "") -> str:
    text = (
        f'  MA-{number}:\n    part_number: "{number}"\n    pairs: {{primary: 15/{30 + number}}}\n'
    )
    if not successor:
        return f"{text}    status: {mark}retired\n"
    return f"{text}    status: retired\n    successor: {mark}{successor}\n"


def test_circles_are_told_of_once_where_they_begin(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + retired(1, "MA-2")
            + retired(2, "MA-3", "<FC272>")
            + retired(3, "MA-4")
            + retired(4, "MA-2")
            + retired(5, "MA-5", "<FC272>")
            + retired(6, "MA-1544")
            + retired(7, "MA-6")
            + retired(8, "", "<FC271>")
            + retired(9, "MA-8")
        }
    )
    assert "MA-2 → MA-3 → MA-4 → MA-2" in found[0].message
    assert [place.label for place in found[0].related] == ["successor of MA-3", "successor of MA-4"]


def test_a_long_circle_is_told_in_short(marked) -> None:
    size = 40
    sets = [retired(1, "MA-2", "<FC272>")]
    sets += [retired(number, f"MA-{number % size + 1}") for number in range(2, size + 1)]
    (found,) = marked({"sets/more.yaml": HEAD + "".join(sets)})
    assert found.message.endswith("MA-7 → MA-8 → 32 more → MA-1")
    assert len(found.related) == 7


def test_a_successor_for_another_stage_or_for_other_families(marked) -> None:
    fits = "    fits: [{family: dunlin-50, housings: [short]}]\n"
    found = marked(
        {
            "sets/more.yaml": HEAD
            + retired(1, "MA-4", "<FC274>")
            + retired(2, "MA-3", "<FC274>").replace("    status", f"{fits}    status")
            + '  MA-3:\n    part_number: "3"\n    pairs: {primary: 15/45}\n'
            + "    fits: [{family: stint-50, housings: [open]}]\n"
            + '  MA-4: {part_number: "4", pairs: {secondary: 13/48}}\n'
            # Another gearing of the same stage, or more than the stage, may take its place.
            + retired(5, "MA-6")
            + '  MA-6: {part_number: "6", pairs: {primary: 15/41, secondary: 13/46}}\n',
            "more-families.yaml": "kind: family\nrecords:\n  stint-50:\n    name: Stint 50\n"
            "    stages: {primary: {}, secondary: {}}\n    housings: {open: {name: open case}}\n",
        }
    )
    assert found[0].message == "the successor MA-4 holds secondary, and MA-1 holds primary"
    assert found[1].message == "the successor MA-3 is for stint-50, and MA-2 for dunlin-50"


def test_stock_of_a_retired_set(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD + retired(1, "MA-1544") + retired(2, "MA-1544"),
            "more-shelf.yaml": "kind: shelf\nrecords:\n  MA-1: {quantity: <FC273>2}\n"
            "  MA-2: {quantity: 0}\n",
        }
    )
