"""Files as people keep them, each edited: the text before, the edit, the very text after.

The expected texts are written by hand; PyYAML reads each of them as a second reader. What an edit
does where a file cannot be edited is one line, and the draft stays as it was.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from textwrap import dedent
from typing import Any

import pytest
import yaml

from fitcheck.catalogue.editing import Draft, EditError, draft_from_bytes, new_file
from tests.conftest import table

Edit = Callable[[Draft], None]


def value(record: str, *path: str | int, to: object) -> Edit:
    return lambda draft: draft.set_value(("records", record, *path), to)


def field(record: str, *path: str | int, to: object) -> Edit:
    return lambda draft: draft.set_field(("records", record, *path[:-1]), str(path[-1]), to)


def without(record: str, *path: str | int) -> Edit:
    return lambda draft: draft.remove_field(("records", record, *path[:-1]), str(path[-1]))


def added(record: str, after: str | None = None, **fields: object) -> Edit:
    return lambda draft: draft.add_record(record, fields or {"quantity": 2}, after)


SHELF = "kind: shelf\nrecords:\n"
SETS = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
ONE = SETS + "  A:\n    part_number: x\n    pairs: {single: 15/44}\n"

CASES: dict[str, tuple[str, list[Edit], str]] = {
    # -- scalars -----------------------------------------------------------------------------
    "the comment beside a value stays": (
        SHELF + "  A:\n    quantity:   1    # counted\n",
        [value("A", "quantity", to=12)],
        SHELF + "  A:\n    quantity:   12    # counted\n",
    ),
    "single quotes stay": (
        SETS + "  A:\n    part_number: '1544'\n    pairs: {single: 15/44}\n",
        [value("A", "part_number", to="it's 007")],
        SETS + "  A:\n    part_number: 'it''s 007'\n    pairs: {single: 15/44}\n",
    ),
    "double quotes stay": (
        SETS + '  A:\n    part_number: "1544"   # No.\n    pairs: {single: 15/44}\n',
        [value("A", "part_number", to="MA-1")],
        SETS + '  A:\n    part_number: "MA-1"   # No.\n    pairs: {single: 15/44}\n',
    ),
    "a bare text is quoted where it must be": (
        ONE,
        [value("A", "part_number", to="1544")],
        ONE.replace("part_number: x", 'part_number: "1544"'),
    ),
    "a bare date stays bare": (
        ONE + "    source: {date: 2026-03-02}\n",
        [value("A", "source", "date", to="2026-04-01")],
        ONE + "    source: {date: 2026-04-01}\n",
    ),
    "money keeps its decimals": (
        ONE + "    price: 49\n",
        [value("A", "price", to=Decimal("50.00"))],
        ONE + "    price: 50.00\n",
    ),
    "the same price in other digits is no change": (
        ONE + "    price: 49.9\n",
        [value("A", "price", to=Decimal("49.90"))],
        ONE + "    price: 49.9\n",
    ),
    "a pair in brackets, by its place": (
        SETS + "  A: {part_number: x, pairs: {primary: 15/44, secondary: 13/49}} # both\n",
        [value("A", "pairs", "secondary", to="13/50")],
        SETS + "  A: {part_number: x, pairs: {primary: 15/44, secondary: 13/50}} # both\n",
    ),
    "a folded text keeps its sign and the comment beside it": (
        ONE + "    notes: >-   # why\n      two\n      lines\n    price: 1\n",
        [value("A", "notes", to="one line: new")],
        ONE + "    notes: >-   # why\n      one line: new\n    price: 1\n",
    ),
    "a block text keeps its indent": (
        ONE + "    notes: |\n         far in\n         second\n\n    price: 1\n",
        [value("A", "notes", to="new\n\n  more\n")],
        ONE + "    notes: |\n         new\n\n           more\n\n    price: 1\n",
    ),
    "blank lines that belong to a text go with it": (
        ONE + "    notes: |+\n      text\n\n\n    price: 1\n",
        [value("A", "notes", to="new")],
        ONE + "    notes: |-\n      new\n    price: 1\n",
    ),
    "a text that no block holds is quoted": (
        ONE + "    notes: |   # why\n      text\n    price: 1\n",
        [value("A", "notes", to="  lead\n")],
        ONE + '    notes: "  lead\\n"   # why\n    price: 1\n',
    ),
    "a bare text over several lines": (
        ONE + "    notes: one\n      two\n\n      three   # end\n    price: 1\n",
        [value("A", "notes", to="short")],
        ONE + "    notes: short   # end\n    price: 1\n",
    ),
    "a value left empty": (
        SHELF + "  A:\n    quantity:\n    place:   # where\n",
        [lambda draft: draft.set_fields("A", {"quantity": 1, "place": "B4"})],
        SHELF + "  A:\n    quantity: 1\n    place: B4   # where\n",
    ),
    "a value left empty in brackets": (
        SHELF + "  A: {quantity: , place: }\n  B: {quantity, place: x}\n",
        [
            lambda draft: draft.set_fields("A", {"quantity": 1, "place": "B4"}),
            value("B", "quantity", to=3),
        ],
        SHELF + "  A: {quantity: 1, place: B4}\n  B: {quantity: 3, place: x}\n",
    ),
    "tabs between colon, value and comment": (
        SHELF + "  A:\n    quantity:\t1\t# x\n",
        [value("A", "quantity", to=2)],
        SHELF + "  A:\n    quantity:\t2\t# x\n",
    ),
    # -- anchors that no alias uses stay where they are -------------------------------------------
    "an anchor before a scalar": (
        ONE + "    price: &p 49.90   # euro\n    notes: &n a\n",
        [value("A", "price", to=Decimal("51.90")), value("A", "notes", to="b: c")],
        ONE + '    price: &p 51.90   # euro\n    notes: &n "b: c"\n',
    ),
    "an anchor before nothing": (
        SHELF + "  A:\n    quantity: &q   # none\n    place: &p\n  B: {quantity: &r , place: &s}\n",
        [
            lambda draft: draft.set_fields("A", {"quantity": 1, "place": "B4"}),
            lambda draft: draft.set_fields("B", {"quantity": 2, "place": "B5"}),
        ],
        SHELF
        + "  A:\n    quantity: &q 1   # none\n    place: &p B4\n"
        + "  B: {quantity: &r 2, place: &s B5}\n",
    ),
    "anchors before a record, a mapping, a list and its items": (
        SETS
        + "  A: &a   # base\n    part_number: x\n    aliases: &l [&b b, &c c]\n"
        + "    pairs: &p\n      single: 15/44\n",
        [field("A", "aliases", to=["c"]), value("A", "pairs", "single", to="15/45")],
        SETS
        + "  A: &a   # base\n    part_number: x\n    aliases: &l [&c c]\n"
        + "    pairs: &p\n      single: 15/45\n",
    ),
    "an anchor before lines that give way to brackets, and back": (
        ONE + "    aliases: &l   # old\n      - &b b\n      - &c c\n    notes: &n |\n      x\n",
        [
            field("A", "aliases", to=["d"]),
            field("A", "aliases", to=[]),
            field("A", "aliases", to=["e"]),
            field("A", "notes", to="y: z\n"),
        ],
        ONE + "    aliases: &l [e]   # old\n    notes: &n |\n      y: z\n",
    ),
    "an anchored item is put before another": (
        SETS + "  A:\n    part_number: x\n    aliases: [&b b]\n    pairs: {single: 15/44}\n",
        [field("A", "aliases", to=["a", "b"])],
        SETS + "  A:\n    part_number: x\n    aliases: [a, &b b]\n    pairs: {single: 15/44}\n",
    ),
    "a last text with a break at its end, in a file without one": (
        SETS + "  A:\n    part_number: x\n    pairs: {single: 15/44}",
        [added("B", part_number="v", pairs={"single": "15/46"}, notes="two\nlines\n")],
        SETS
        + "  A:\n    part_number: x\n    pairs: {single: 15/44}\n"
        + '  B:\n    part_number: v\n    pairs: {single: 15/46}\n    notes: "two\\nlines\\n"',
    ),
    "the last line without a break gets the one of the line before it": (
        "kind: shelf\nrecords:\n  A: {quantity: 1}\n  B:\r\n    quantity: 1",
        [field("B", "price", to=2)],
        "kind: shelf\nrecords:\n  A: {quantity: 1}\n  B:\r\n    quantity: 1\r\n    price: 2",
    ),
    "a new record behind one that holds a key twice": (
        SHELF + "  A:\n    quantity: 1\n    quantity: 2   # twice\n\n  B: {quantity: 1}\n",
        [added("C", "A")],
        SHELF
        + "  A:\n    quantity: 1\n    quantity: 2   # twice\n\n  C:\n    quantity: 2\n"
        + "\n  B: {quantity: 1}\n",
    ),
    # -- fields ------------------------------------------------------------------------------
    "a new field stands in the order of the kind": (
        ONE + "    price: 1\n    notes: n\n",
        [
            field("A", "currency", to="USD"),
            field("A", "aliases", to=["b"]),
            field("A", "supplier", to="glasswort"),
        ],
        SETS
        + "  A:\n    supplier: glasswort\n    part_number: x\n    aliases: [b]\n"
        + "    pairs: {single: 15/44}\n    price: 1\n    currency: USD\n    notes: n\n",
    ),
    "a new field stands before the comment of the next": (
        ONE + "    # what we take\n    price: 1\n",
        [field("A", "aliases", to=["b"]), field("A", "name", to="Set")],
        SETS
        + "  A:\n    part_number: x\n    aliases: [b]\n    name: Set\n    pairs: {single: 15/44}\n"
        + "    # what we take\n    price: 1\n",
    ),
    "a comment that goes on below a line stays with it": (
        SHELF
        + "  A:\n    quantity: 1   # counted\n                  # twice\n  B: {quantity: 1}\n",
        [field("A", "place", to="B4")],
        SHELF
        + "  A:\n    quantity: 1   # counted\n                  # twice\n    place: B4\n"
        + "  B: {quantity: 1}\n",
    ),
    "a new field in brackets": (
        SHELF + "  A: { quantity: 1, price: 2 }   # x\n",
        [field("A", "place", to="a, b"), field("A", "cost", to=Decimal("1.50"))],
        SHELF + '  A: { quantity: 1, place: "a, b", cost: 1.50, price: 2 }   # x\n',
    ),
    "a new field in brackets over several lines": (
        SHELF + "  A: {\n    quantity: 1, # one\n    price: 2 # two\n  }\n",
        [field("A", "cost", to=1), field("A", "place", to="x")],
        SHELF
        + "  A: {\n    quantity: 1, # one\n    place: x,\n    cost: 1,\n    price: 2 # two\n  }\n",
    ),
    "a last field in brackets over several lines": (
        SHELF + "  A: {\n    quantity: 1, # one\n    place: x # two\n  }\n",
        [field("A", "price", to=1)],
        SHELF + "  A: {\n    quantity: 1, # one\n    place: x, # two\n    price: 1\n  }\n",
    ),
    "a last field behind a last comma": (
        SHELF + "  A: {\n    quantity: 1,\n    place: x, # two\n  }\n",
        [field("A", "price", to=1)],
        SHELF + "  A: {\n    quantity: 1,\n    place: x, # two\n    price: 1,\n  }\n",
    ),
    "a field is taken out, its neighbours' comments stay": (
        ONE + "    # above\n    price: 1   # beside\n      # below\n    # next\n    notes: n\n",
        [without("A", "price")],
        ONE + "    # above\n    # next\n    notes: n\n",
    ),
    "a comment behind a blank line stays": (
        ONE
        + "    notes: n\n\n      # deep\n  B:\n    part_number: w\n    pairs: {single: 15/45}\n",
        [without("A", "notes"), added("M1", "A", part_number="v", pairs={"single": "15/46"})],
        ONE
        + "\n      # deep\n  M1:\n    part_number: v\n    pairs: {single: 15/46}\n"
        + "  B:\n    part_number: w\n    pairs: {single: 15/45}\n",
    ),
    "fields are taken out of brackets": (
        SHELF + "  A: {quantity: 1, place: x, cost: 1, price: 2}\n",
        [without("A", "place"), without("A", "price"), without("A", "cost")],
        SHELF + "  A: {quantity: 1}\n",
    ),
    "the last field is taken out of brackets over several lines": (
        SHELF + "  A: {\n    quantity: 1, # one\n    place: x # two\n  }\n",
        [without("A", "place")],
        SHELF + "  A: {\n    quantity: 1 # one\n  }\n",
    ),
    "the only key of a mapping is taken out": (
        ONE + "    listed_for:   # nothing\n      wheel_size_in: 10\n    price: 1\n",
        [without("A", "listed_for", "wheel_size_in")],
        ONE + "    listed_for: {}   # nothing\n    price: 1\n",
    ),
    "the first key beside a dash is taken out": (
        ONE + "    fits:\n      - evidence: stated\n        family: dunlin-50\n",
        [without("A", "fits", 0, "evidence")],
        ONE + "    fits:\n      - family: dunlin-50\n",
    ),
    "a list grows and keeps its comments": (
        ONE + "    aliases:\n    # one\n    - a   # A\n    - b   # B\n    # end\n    price: 1\n",
        [field("A", "aliases", to=["a", "b", "c: d"])],
        ONE
        + '    aliases:\n    # one\n    - a   # A\n    - b   # B\n    - "c: d"\n'
        + "    # end\n    price: 1\n",
    ),
    "a list shrinks": (
        ONE + "    aliases:\n      - a   # A\n      # about b\n      - b\n      - c\n",
        [field("A", "aliases", to=["a", "c"])],
        ONE + "    aliases:\n      - a   # A\n      # about b\n      - c\n",
    ),
    "a list in brackets over several lines": (
        ONE + "    aliases: [\n      a, # A\n      b # B\n    ]\n",
        [field("A", "aliases", to=["a", "b", "c"])],
        ONE + "    aliases: [\n      a, # A\n      b, # B\n      c\n    ]\n",
    ),
    "one item of a list of mappings": (
        ONE + "    fits:\n      - family: dunlin-50   # sure\n        housings: [mid]\n"
        "      - {family: whimbrel-125}\n",
        [
            field(
                "A",
                "fits",
                to=[
                    {"family": "dunlin-50", "housings": ["mid", "long"]},
                    {"family": "whimbrel-125", "evidence": "measured"},
                ],
            )
        ],
        ONE + "    fits:\n      - family: dunlin-50   # sure\n        housings: [mid, long]\n"
        "      - {family: whimbrel-125, evidence: measured}\n",
    ),
    "a mapping is changed where it differs": (
        SETS + "  A:\n    part_number: x\n    pairs:\n      # worn\n      primary: 15/44   # old\n",
        [field("A", "pairs", to={"primary": "15/44", "secondary": "13/49"})],
        SETS + "  A:\n    part_number: x\n    pairs:\n      # worn\n      primary: 15/44   # old\n"
        "      secondary: 13/49\n",
    ),
    "brackets in the place of lines": (
        ONE + "    aliases:   # two\n      - a\n      - b\n    price: 1\n",
        [field("A", "aliases", to=[])],
        ONE + "    aliases: []   # two\n    price: 1\n",
    ),
    # -- records -----------------------------------------------------------------------------
    "a record among lines with blank lines between": (
        SHELF
        + "\n  # Dunlin\n  A:\n    quantity: 1\n\n  B:\n    quantity: 1\n\n  # Whimbrel\n  C:\n"
        "    quantity: 1\n",
        [added("M1", "B"), added("Z")],
        SHELF
        + "\n  # Dunlin\n  A:\n    quantity: 1\n\n  B:\n    quantity: 1\n\n  M1:\n    quantity: 2\n"
        "\n  # Whimbrel\n  C:\n    quantity: 1\n\n  Z:\n    quantity: 2\n",
    ),
    "a record among brackets": (
        SHELF + "  A: {quantity: 1}   # a\n  # B is next\n  B: {quantity: 1}\n# end\n",
        [added("M1", "A", quantity=2, place="x: y"), added("Z")],
        SHELF + '  A: {quantity: 1}   # a\n  M1: {quantity: 2, place: "x: y"}\n  # B is next\n'
        "  B: {quantity: 1}\n  Z: {quantity: 2}\n# end\n",
    ),
    "a record as its neighbour is indented and quoted": (
        SETS + "     'A':\n         'part_number': '1'\n         'pairs': {'single': '15/44'}\n"
        "         'also_needs':\n         -   'oil'\n",
        [
            added("B", part_number="MA-1", pairs={"single": "15/44"}, also_needs=["seal"]),
        ],
        SETS + "     'A':\n         'part_number': '1'\n         'pairs': {'single': '15/44'}\n"
        "         'also_needs':\n         -   'oil'\n"
        "     'B':\n         'part_number': 'MA-1'\n         'pairs': {'single': '15/44'}\n"
        "         'also_needs':\n         - 'seal'\n",
    ),
    "records spread over lines in brackets": (
        SHELF + "  A: {\n    quantity: 1,\n    place: x\n  }\n",
        [added("B", quantity=2, place="w")],
        SHELF + "  A: {\n    quantity: 1,\n    place: x\n  }\n"
        "  B: {\n    quantity: 2,\n    place: w\n  }\n",
    ),
    "all in brackets, as JSON": (
        '{"kind": "shelf", "records": {"A": {"quantity": 1, "place": "x"}}}\n',
        [added("B", quantity=2, place="w"), field("A", "cost", to=Decimal("1.50"))],
        (
            '{"kind": "shelf", "records": {"A": {"quantity": 1, "place": "x", "cost": 1.50}, '
            '"B": {"quantity": 2, "place": "w"}}}\n'
        ),
    ),
    "JSON over several lines": (
        (
            '{\n  "kind": "shelf",\n  "records": {\n    "A": {"quantity": 1},\n'
            '    "C": {"quantity": 1}\n'
            "  }\n}\n"
        ),
        [added("B", "A"), added("D")],
        (
            '{\n  "kind": "shelf",\n  "records": {\n    "A": {"quantity": 1},\n'
            '    "B": {"quantity": 2},\n'
            '    "C": {"quantity": 1},\n    "D": {"quantity": 2}\n  }\n}\n'
        ),
    ),
    "the first of no records": (
        "kind: shelf\nrecords:   # none yet\n\n# end\n",
        [added("A"), added("B")],
        (
            "kind: shelf\nrecords:   # none yet\n"
            "  A:\n    quantity: 2\n  B:\n    quantity: 2\n\n# end\n"
        ),
    ),
    "the first in empty brackets": (
        "kind: shelf\nrecords: {} # none\n",
        [added("A")],
        "kind: shelf\nrecords: # none\n  A:\n    quantity: 2\n",
    ),
    "the first in the place of null": (
        "kind: shelf\nrecords: ~",
        [added("A")],
        "kind: shelf\nrecords:\n  A:\n    quantity: 2\n",
    ),
    "the first where records is missing": (
        "# mine\nkind: shelf   # a shelf\n",
        [added("A")],
        "# mine\nkind: shelf   # a shelf\nrecords:\n  A:\n    quantity: 2\n",
    ),
    "the first in brackets with a comment inside": (
        "kind: shelf\nrecords: {\n  # none yet\n}\n",
        [added("A"), added("B")],
        "kind: shelf\nrecords: {A: {quantity: 2}, B: {quantity: 2}\n  # none yet\n}\n",
    ),
    "a record before other keys of the file": (
        (
            "kind: gear-set\nrecords:\n  A:\n    part_number: x\n    pairs: {single: 15/44}\n\n"
            "# all of them\ndefaults:\n  supplier: marram\n"
        ),
        [added("B", part_number="w", pairs={"single": "15/45"})],
        (
            "kind: gear-set\nrecords:\n  A:\n    part_number: x\n    pairs: {single: 15/44}\n"
            "  B:\n    part_number: w\n    pairs: {single: 15/45}\n\n"
            "# all of them\ndefaults:\n  supplier: marram\n"
        ),
    ),
    "a record left empty": (
        SHELF + "  A:   # to count\n  B:\n    quantity: 1\n",
        [field("A", "quantity", to=1)],
        SHELF + "  A: {quantity: 1}   # to count\n  B:\n    quantity: 1\n",
    ),
    # -- the file ----------------------------------------------------------------------------
    "no break at the end": (
        SHELF + "  A:\n    quantity: 1",
        [added("B"), field("A", "place", to="x"), field("B", "place", to="w")],
        SHELF + "  A:\n    quantity: 1\n    place: x\n  B:\n    quantity: 2\n    place: w",
    ),
    "CRLF": (
        (SHELF + "  A:\n    quantity: 1\n").replace("\n", "\r\n"),
        [added("B", quantity=2, place="x"), field("A", "place", to="x")],
        (
            SHELF + "  A:\n    quantity: 1\n    place: x\n  B:\n    quantity: 2\n    place: x\n"
        ).replace("\n", "\r\n"),
    ),
    "CR alone": (
        (SHELF + "  A:\n    quantity: 1\n").replace("\n", "\r"),
        [added("B")],
        (SHELF + "  A:\n    quantity: 1\n  B:\n    quantity: 2\n").replace("\n", "\r"),
    ),
    "breaks of both kinds: as the line before": (
        "kind: shelf\nrecords:\n  A:\r\n    quantity: 1\r\n  B:\n    quantity: 1\n",
        [field("A", "place", to="x"), field("B", "place", to="w"), added("M1", "A")],
        (
            "kind: shelf\nrecords:\n  A:\r\n    quantity: 1\r\n    place: x\r\n"
            "  M1:\r\n    quantity: 2\r\n"
            "  B:\n    quantity: 1\n    place: w\n"
        ),
    ),
    "marks of the document": (
        "--- # begins\n" + SHELF + "  A: {quantity: 1}\n...\n",
        [added("B"), value("A", "quantity", to=5)],
        "--- # begins\n" + SHELF + "  A: {quantity: 5}\n  B: {quantity: 2}\n...\n",
    ),
    "a faulty neighbour stays as it is": (
        SHELF + "  A: {quantity: -1}\n  B: {quantity: 1, quantity: 2}\n  C: {quantity: 1}\n",
        [value("C", "quantity", to=2), field("A", "place", to="x"), added("D")],
        SHELF
        + "  A: {quantity: -1, place: x}\n  B: {quantity: 1, quantity: 2}\n  C: {quantity: 2}\n"
        "  D: {quantity: 2}\n",
    ),
    "keys with question marks elsewhere": (
        SHELF + "  ? A\n  : quantity: 1\n  B: {quantity: 1}\n",
        [value("B", "quantity", to=2), added("C"), added("M1", "A")],
        SHELF
        + "  ? A\n  : quantity: 1\n  M1:\n    quantity: 2\n"
        + "  B: {quantity: 2}\n  C: {quantity: 2}\n",
    ),
}


@table("name", CASES)
def test_the_very_text_after_an_edit(name: str) -> None:
    before, edits, after = CASES[name]
    draft = draft_from_bytes("a.yaml", before.encode())

    for edit in edits:
        edit(draft)

    assert draft.text == after
    # What the draft says it holds is what PyYAML reads, each scalar as its text.
    theirs = yaml.load(after.replace("\t", " "), yaml.BaseLoader)["records"]
    assert list(theirs) == list(draft.ids)


@table("name", CASES)
def test_a_byte_order_mark_stays(name: str) -> None:
    before, edits, after = CASES[name]
    draft = draft_from_bytes("a.yaml", b"\xef\xbb\xbf" + before.encode())

    for edit in edits:
        edit(draft)

    assert draft.data == b"\xef\xbb\xbf" + after.encode()


A = SHELF + "  A: {quantity: 1}   # near\n  B:\n    quantity: 1\n"

REFUSED: dict[str, tuple[str, Edit, str]] = {
    "a value that the kind refuses": (
        A,
        value("A", "quantity", to=-1),
        "a.yaml:3:17: FC107 quantity is -1; it must be at least 0;",
    ),
    "a fault in a record of lines": (
        A,
        field("B", "price", to="dear"),
        "a.yaml:6:12: FC104 price must be a number",
    ),
    "a field that the kind has not": (A, field("A", "colour", to="red"), "a.yaml:3:20: FC102 this"),
    "a field that is needed": (
        A,
        without("A", "quantity"),
        "a.yaml:3:3: FC103 quantity is missing",
    ),
    "a field that is not there": (A, without("A", "place"), "a.yaml:3:3: A has no place"),
    "a value that is not there": (A, value("A", "place", to="x"), "a.yaml:3:3: A has no place"),
    "a record that is not there": (A, value("C", "quantity", to=1), "a.yaml: there is no record C"),
    "a record nearly there": (
        SHELF + "  first-set: {quantity: 1}\n",
        value("frst-set", "quantity", to=1),
        "a.yaml: there is no record frst-set; did you mean first-set?",
    ),
    "an id that is none": (A, added("1x"), "a.yaml: '1x' is no id"),
    "an id that is taken": (A, added("b"), "a.yaml:4:3: the id B is there already"),
    "a record without what it needs": (A, added("C", place="x"), "a.yaml:6:3: FC103 quantity is"),
    "a neighbour that is not there": (A, added("C", "X"), "a.yaml: there is no record X"),
    "the kind": (
        A,
        lambda draft: draft.set_value(("kind",), "tyre"),
        "a.yaml: only records are edited",
    ),
    "a hidden character": (A, field("A", "place", to="a\x07"), "a.yaml: A: place holds the hidden"),
    "a mapping set as a value": (
        ONE,
        value("A", "pairs", to="x"),
        "a.yaml:4:3: pairs is a mapping or a list; use set_field",
    ),
    "a field inside a text": (A, field("A", "quantity", "x", to=1), "a.yaml:3:3: quantity is no"),
    "a value that comes from defaults": (
        ONE,
        value("A", "supplier", to="x"),
        "a.yaml:4:3: A has no supplier; it comes from defaults",
    ),
    "a key given twice": (
        SHELF + "  A: {quantity: 1, quantity: 2}\n",
        value("A", "quantity", to=3),
        "a.yaml:3:3: FC007 the key quantity stands here a second time",
    ),
    "a key with a question mark": (
        SHELF + "  A:\n    ? quantity\n    : 1\n",
        value("A", "quantity", to=3),
        "a.yaml:3:3: a key is written with a question mark here",
    ),
    "a text without a break at the end of the file, which would get one": (
        ONE + "    notes: |\n      no break",
        added("B", part_number="v", pairs={"single": "15/46"}),
        "a.yaml: B: the text that ends A has no line break behind it, and would get one; end the",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_done_is_one_line_and_changes_nothing(name: str) -> None:
    before, edit, trouble = REFUSED[name]
    draft = draft_from_bytes("a.yaml", before.encode())

    with pytest.raises(EditError) as refused:
        edit(draft)

    assert str(refused.value).startswith(trouble)
    assert "\n" not in str(refused.value)
    assert draft.text == before
    assert draft.diff() == ""
    assert not draft.changed
    assert draft.data == before.encode()


@pytest.mark.parametrize(
    ("text", "trouble"),
    [
        (SHELF + "  A: &a {quantity: 1}\n  B: *a\n", "a.yaml:4:6: FC009 the alias *a"),
        (SHELF + "  A: {quantity: !!int 1}\n", "a.yaml:3:17: FC008 the tag"),
        (SHELF + "  A: {quantity: 1}\n---\na: 1\n", "a.yaml:4:1: FC013 a second document"),
        (SHELF + "  A: {quantity: [1}\n", "a.yaml:3:"),
        (SHELF + "  A:\n\tquantity: 1\n", "a.yaml:4:"),
        ("", "a.yaml: the file is empty"),
        ("# nothing\n", "a.yaml: the file is empty"),
        ("records:\n  A: {quantity: 1}\n", "a.yaml:1:1: FC017 the file does not say"),
        ("kind: bolt\nrecords:\n  A: {}\n", "a.yaml:1:7: FC018 there is no kind 'bolt'"),
        ("- a\n", "a.yaml:1:1: FC016 the file holds a list"),
        ("kind: shelf\nrecords: [a]\n", "a.yaml:2:1: records is no mapping"),
        ("{kind: shelf}\n", "a.yaml: the file has no records"),
        ("{kind: shelf, records: }\n", "a.yaml: records is empty"),
        ("kind: shelf\nrecords: &r\n", "a.yaml:2:10: records is empty; take the anchor there out"),
        ("kind: shelf\nrecords: &r {}\n", "a.yaml:2:10: records is empty; take the anchor"),
    ],
)
def test_what_cannot_be_edited_at_all(text: str, trouble: str) -> None:
    with pytest.raises(EditError) as refused:
        draft_from_bytes("a.yaml", text.encode())

    assert str(refused.value).startswith(trouble)
    assert "\n" not in str(refused.value)


def test_bytes_that_are_no_text() -> None:
    with pytest.raises(EditError, match=r"^a\.yaml:3:17: FC003 byte 0xE9"):
        draft_from_bytes("a.yaml", (SHELF + "  A: {place: caf").encode() + b"\xe9}\n")


# -- several edits as one --------------------------------------------------------------------------


def test_edits_together_may_pass_through_what_is_not_valid() -> None:
    draft = draft_from_bytes(
        "a.yaml",
        (ONE + "    geometry: {single: {normal_module_mm: 1.5, helix_angle_deg: 20}}\n").encode(),
    )

    with draft.together():
        draft.set_field(("records", "A"), "pairs", {"primary": "14/45"})
        draft.set_field(
            ("records", "A"), "geometry", {"primary": {"normal_module_mm": 2, "helix_angle_deg": 0}}
        )

    assert draft.text == SETS + (
        "  A:\n    part_number: x\n    pairs: {primary: 14/45}\n"
        "    geometry: {primary: {normal_module_mm: 2, helix_angle_deg: 0}}\n"
    )
    assert draft.record("A") == {
        "part_number": "x",
        "pairs": {"primary": "14/45"},
        "geometry": {"primary": {"normal_module_mm": 2, "helix_angle_deg": 0}},
    }


def test_edits_together_are_all_taken_back() -> None:
    draft = draft_from_bytes("a.yaml", A.encode())

    def edit() -> None:
        with draft.together():
            draft.add_record("C", {"quantity": 1}, after="A")
            draft.set_field(("records", "C"), "place", "x")
            draft.set_value(("records", "B", "quantity"), -1)

    with pytest.raises(EditError, match="FC107"):
        edit()

    assert draft.text == A
    assert draft.ids == ("A", "B")
    draft.add_record("C", {"quantity": 1})
    assert draft.ids == ("A", "B", "C")


def test_an_error_of_the_callers_takes_all_back_too() -> None:
    draft = draft_from_bytes("a.yaml", A.encode())

    def fail() -> None:
        with draft.together():
            draft.set_value(("records", "B", "quantity"), 7)
            raise KeyError

    with pytest.raises(KeyError):
        fail()

    assert draft.text == A


def test_records_in_brackets_are_taken_back() -> None:
    text = '{"kind": "shelf", "records": {"A": {"quantity": 1}, "B": {"quantity": 1}}}'
    draft = draft_from_bytes("a.yaml", text.encode())

    for after in (None, "A"):
        with pytest.raises(EditError, match="FC103"):
            draft.add_record("C", {"place": "x"}, after=after)
        assert draft.text == text


def test_a_later_edit_sees_an_earlier_one() -> None:
    draft = draft_from_bytes("a.yaml", A.encode())

    draft.set_field(("records", "A"), "place", "x")
    draft.set_value(("records", "A", "place"), "y")
    draft.remove_field(("records", "A"), "place")

    assert draft.text == A
    assert draft.diff() == ""


def test_the_diff_shows_nothing_else() -> None:
    draft = draft_from_bytes("shelf.yaml", A.encode())

    draft.set_value(("records", "A", "quantity"), 4)

    assert draft.diff() == dedent(
        """\
        --- shelf.yaml
        +++ shelf.yaml
        @@ -1,5 +1,5 @@
         kind: shelf
         records:
        -  A: {quantity: 1}   # near
        +  A: {quantity: 4}   # near
           B:
             quantity: 1
        """
    )


# -- new files -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "defaults", "trouble"),
    [
        ("bolt", {}, "n.yaml: there is no kind bolt"),
        ("shelf", {"supplier": "x"}, "n.yaml: supplier cannot be given under defaults"),
        ("gear-set", {"supplier": "x", "notes": "n"}, "n.yaml: notes cannot be given"),
        ("gear-set", {"supplier": "\x00"}, "n.yaml: supplier holds the hidden"),
    ],
)
def test_a_new_file_that_would_not_do(kind: str, defaults: dict[str, Any], trouble: str) -> None:
    with pytest.raises(EditError) as refused:
        new_file("n.yaml", kind, defaults=defaults)

    assert str(refused.value).startswith(trouble)


def test_the_diff_of_a_new_file_shows_all_of_it() -> None:
    draft = new_file("n.yaml", "shelf", modeline="", comment="Mine.")
    draft.add_record("A", {"quantity": 1, "place": "yes"})

    assert draft.diff() == dedent(
        """\
        --- /dev/null
        +++ n.yaml
        @@ -0,0 +1,7 @@
        +# Mine.
        +
        +kind: shelf
        +records:
        +  A:
        +    quantity: 1
        +    place: "yes"
        """
    )
