"""Sets retired by command: kept, marked, and leading on.

Judges from outside: PyYAML reads what was written, Python's difflib says which lines changed.
"""

from __future__ import annotations

import pytest

from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.rules.checks import check
from fitcheck.services.upkeep import add_set, change_set, retire_set
from fitcheck.services.upkeep.add import NewSet


@pytest.fixture
def chain(shop):
    """AG-1, AG-2B and AG-2C hold one stage; AG-2B is retired for AG-2C."""
    text = shop.file.read_text("utf-8")
    more = (
        '  AG-2B: {part_number: "2B2", pairs: {secondary: 13/47}, status: retired, '
        "successor: AG-2C, fits: [{family: knot-50, housings: [short]}]}\n"
        '  AG-2C: {part_number: "2C", pairs: {secondary: 13/46}, '
        "fits: [{family: knot-50, housings: [short]}]}\n"
    )
    shop.file.write_text(text + more, "utf-8")
    return shop


def test_it_is_kept_marked_and_nothing_else_changes(chain) -> None:
    edited = retire_set(chain.catalogue, "2-B", successor="2C", reason="no longer cut")
    assert chain.write(edited) == (
        ["    notes: 'Ask first.'"],
        [
            "    status: retired",
            "    successor: AG-2C",
            "    notes: 'Ask first. Retired: no longer cut'",
        ],
    )
    again = retire_set(chain.catalogue, "AG-2", successor="AG-2C", reason="no longer cut")
    assert not again.changed
    assert not retire_set(chain.catalogue, "AG-2").changed


@pytest.mark.parametrize(
    ("notes", "taken", "put"),
    [
        ("|\n      Ask.\n\n      Then go.\n", "Then go.", "Then go. Retired: no: cut"),
        (">+\n      Ask\n      first.\n\n\n", "first.", "first. Retired: no: cut"),
        ('"Ask \\\n      first."\n', 'first."', 'first. Retired: no: cut"'),
        ("'Ask\n\n      first.'\n", "first.'", "first. Retired: no: cut'"),
    ],
)
def test_notes_of_several_lines_keep_their_lines(shop, notes, taken, put) -> None:
    text = shop.file.read_text("utf-8")
    shop.file.write_text(text.replace("'Ask first.'\n", notes), "utf-8")
    before = shop.catalogue.gear_sets["AG-2"].record.notes.rstrip()
    edited = retire_set(shop.catalogue, "AG-2", reason="no: cut")
    assert shop.write(edited) == ([f"      {taken}"], ["    status: retired", f"      {put}"])
    assert shop.catalogue.gear_sets["AG-2"].record.notes.rstrip() == f"{before} Retired: no: cut"


def test_what_differs_and_what_lies_on_the_shelf_is_told(chain) -> None:
    edited = retire_set(chain.catalogue, "AG-2", successor="2C")
    # By hand: 47/46 = 1.0217.
    (teeth,) = edited.loud
    assert teeth == (
        "AG-2C has other teeth, secondary 13/46 for secondary 13/47: reduction 3.615 to 3.538, "
        "road speed +2.2 %"
    )
    (shelf,) = edited.notes
    assert shelf.startswith("3 of AG-2 on the shelf, drawer B4: never matched from now on; ")


def test_a_chain_is_followed_to_its_end(chain) -> None:
    loud = retire_set(chain.catalogue, "AG-2", successor="AG-2B").loud
    assert loud[0] == "AG-2B leads on to AG-2C, which is sold now"


def test_a_retired_end_is_not_passed_over(chain) -> None:
    chain.write(retire_set(chain.catalogue, "AG-2C"))
    loud = retire_set(chain.catalogue, "AG-2", successor="AG-2B").loud
    assert loud[0].startswith("the way ends at AG-2C by way of AG-2B, which is retired itself")


def test_no_circle_is_made(chain) -> None:
    before = chain.file.read_bytes()
    with pytest.raises(UsageError, match="in a circle: AG-2C → AG-2B → AG-2C; name the set sold"):
        retire_set(chain.catalogue, "AG-2C", successor="AG-2B")
    with pytest.raises(UsageError, match="AG-2 cannot be its own successor"):
        retire_set(chain.catalogue, "AG-2", successor="2-B")
    assert chain.file.read_bytes() == before


def test_no_successor_is_said(shop) -> None:
    edited = retire_set(shop.catalogue, "AG-9")
    assert [each.partition(":")[0] for each in edited.loud] == ["no successor is named"]
    shop.write(edited)
    assert shop.records()["AG-9"]["status"] == "retired"


def test_a_successor_can_be_named_or_changed_later(chain) -> None:
    chain.write(retire_set(chain.catalogue, "AG-2"))
    chain.write(retire_set(chain.catalogue, "AG-2", successor="AG-2B"))
    edited = retire_set(chain.catalogue, "AG-2", successor="AG-2C")
    assert "the successor of AG-2 was AG-2B" in edited.loud
    chain.write(edited)
    assert chain.records()["AG-2"]["successor"] == "AG-2C"


def test_sets_that_led_here_are_told(chain) -> None:
    notes = retire_set(chain.catalogue, "AG-2C", successor="AG-2").notes
    assert "those who ask for AG-2B are led on over AG-2C from now on" in notes


def test_families_nobody_vouches_for_any_more_are_told(shop) -> None:
    loud = retire_set(shop.catalogue, "AG-1", successor="AG-9").loud
    assert "nobody confirms that AG-9 fits knot-50, as AG-1 does" in loud


def test_any_row_of_edits_leaves_a_catalogue_without_errors(chain) -> None:
    new = NewSet("arrowgrass", "3", (Pair(13, 45),), ("secondary",), {"knot-50": ("short",)})
    chain.write(add_set(chain.catalogue, new))
    chain.write(retire_set(chain.catalogue, "AG-2C", successor="3"))
    chain.write(change_set(chain.catalogue, "3", ["price=10", "housings=long;short"]))
    found = check(chain.catalogue)
    assert [each for each in found if each.severity == "error"] == []
