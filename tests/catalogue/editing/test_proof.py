"""The proof sees what must not happen: edits made wrong on purpose are refused and taken back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from fitcheck.catalogue.editing import Draft, EditError, draft_from_bytes
from fitcheck.catalogue.editing import region as region_module
from fitcheck.catalogue.editing.lines import Splice
from fitcheck.catalogue.editing.region import Stretch

TEXT = """\
kind: shelf
records:
  A:
    quantity: 1   # one
    # place unknown
    price: 2

  # the next
  B: {quantity: 1}
"""


def edited(monkeypatch: pytest.MonkeyPatch, *ways: tuple[str, str]) -> Draft:
    """Set the quantity of A to 5, where instead the given words of its lines are replaced."""
    draft = draft_from_bytes("a.yaml", TEXT.encode())

    def wrong(stretch: Stretch, *_: Any) -> Iterator[list[Splice]]:
        for old, new in ways:
            at = stretch.whole.index(old)
            yield [Splice(at, at + len(old), new)]

    monkeypatch.setattr(region_module, "_ways", wrong)
    draft.set_value(("records", "A", "quantity"), 5)
    return draft


@pytest.mark.parametrize(
    ("old", "new", "trouble"),
    [
        ("quantity: 1", "quantity: 6", "something else than meant"),
        ("quantity: 1", 'quantity: "5"', "something else than meant"),
        ("quantity: 1   # one\n    # place unknown\n", "quantity: 5   # one\n", "lines beside"),
        ("1   # one\n    # place unknown\n    price: 2", "5\n    price: 2", "lines beside"),
        (
            "quantity: 1   # one",
            "quantity: 5   # one\n    price: 2\n#",
            "could no longer be read",
        ),
        ("quantity: 1   # one\n    # place unknown", "quantity: [5", "could no longer be read"),
        ("quantity: 1", "quantity: 5, x: {", "could no longer be read|something else"),
        ("  A:\n    quantity: 1", "  B:\n    quantity: 5", "same records"),
        (
            "1   # one\n    # place unknown\n    price: 2\n\n",
            "5   # one\n    price: 2\n",
            "lines beside",
        ),
    ],
)
def test_a_wrong_splice_is_refused(
    monkeypatch: pytest.MonkeyPatch, old: str, new: str, trouble: str
) -> None:
    with pytest.raises(EditError, match=trouble):
        edited(monkeypatch, (old, new))


def test_the_right_splice_would_have_passed(monkeypatch: pytest.MonkeyPatch) -> None:
    draft = edited(monkeypatch, ("quantity: 1", "quantity: 6"), ("quantity: 1", "quantity: 5"))

    assert draft.text == TEXT.replace("quantity: 1   #", "quantity: 5   #")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("  B: {quantity: 1}", "  B: {quantity: 2}"),
        ("  B: {quantity: 1}", "  C: {quantity: 1}"),
        ("  B: {quantity: 1}", "  B: {quantity: 1}\n  C: {quantity: 1}"),
        ("  B: {quantity: 1}", "  B: {quantity: 1}\nmore: 1"),
        ("  B: {quantity: 1}", "  B: {quantity: 1, quantity: 1}"),
        ("  B: {quantity: 1}", "  B: {quantity: 1"),
        ("  B: {quantity: 1}", ""),
    ],
)
def test_the_whole_is_proved_before_it_is_given_out(old: str, new: str) -> None:
    draft = draft_from_bytes("a.yaml", TEXT.encode())
    draft.set_value(("records", "A", "quantity"), 5)
    slot = draft._layout.known["B"]
    slot.stretch = Stretch("B", slot.stretch.text.replace(old, new), False, slot.stretch.data)

    with pytest.raises(EditError):
        _ = draft.text
    with pytest.raises(EditError):
        _ = draft.data
    with pytest.raises(EditError):
        draft.diff()


def test_a_tampered_head_is_seen() -> None:
    draft = draft_from_bytes("a.yaml", TEXT.encode())
    draft.set_value(("records", "A", "quantity"), 5)
    draft._layout.head = draft._layout.head.replace("kind: shelf", "kind: tyre")

    with pytest.raises(EditError):
        _ = draft.text
