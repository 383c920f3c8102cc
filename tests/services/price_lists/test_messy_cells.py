"""The labelled corpus of messy cells: nothing is read wrongly, and most is read."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from fitcheck.services.price_lists.claims import Claims
from fitcheck.services.price_lists.names import names_of
from fitcheck.services.price_lists.wording.prices import read_price
from fitcheck.services.price_lists.wording.reservations import headed_by_other
from fitcheck.services.price_lists.wording.stages import read_stage
from fitcheck.services.price_lists.wording.teeth import read_teeth
from tests.conftest import demo_catalogue, table

CLAIMS = Claims(names_of(demo_catalogue()).book, {})
CELLS = [
    tuple(line.split("\t"))
    for line in Path(__file__).with_name("messy_cells.tsv").read_text("utf-8").splitlines()
    if line.strip() and not line.startswith("#")
]


def reading_of(kind: str, text: str, *, gate: bool = True) -> tuple[str, str]:
    """The status, and what was read, written as in the corpus.

    Args:
        kind: of a cell, as in the corpus.
        text: what it holds.
        gate: whether a word beside the counts that nothing explains sends it to review.
    """
    text = text.replace("\\n", "\n")
    if kind in ("free", "teeth"):
        teeth = read_teeth(text, teeth_column=kind == "teeth")
        own = frozenset(each.pair for each in teeth.value or ())
        told = (
            gate and teeth.certain and not teeth.reason and CLAIMS.left_over(text, own, kind=kind)
        )
        told = told or (gate and kind == "free" and headed_by_other(text))
        return "review" if told else teeth.status, " + ".join(map(str, teeth.value or ()))
    if kind == "stage":
        stage = read_stage(text)
        return stage.status, " + ".join(stage.value or ())
    price = read_price(text, decimal_mark={"price,": ",", "price.": "."}.get(kind))
    return price.status, str(price.value or "")


def test_the_corpus_is_what_it_says():
    assert len(CELLS) >= 680
    assert len({(kind, text) for kind, text, _ in CELLS}) == len(CELLS)
    assert {kind for kind, _, _ in CELLS} == {"free", "teeth", "stage", "price", "price,", "price."}


@table(("kind", "text", "expected"), CELLS)
def test_messy_cells(kind, text, expected):
    status, read = reading_of(kind, text)
    if expected == "-":
        assert status != "read"
    elif expected.endswith("?"):
        assert status == "review" or read == expected[:-1]
    else:
        # A word beside the counts that nothing explains is asked about.
        assert read == expected
        assert status == "read" or kind == "free"


def test_precision_and_recall(record_property):
    """Of what is read without review all is right; how much that is."""
    counts: Counter[str] = Counter()
    for kind, text, expected in CELLS:
        status, read = reading_of(kind, text)
        alone, said = reading_of(kind, text, gate=False)
        counts["alone"] += alone == "read" and said == expected.rstrip("?")
        counts["read"] += status == "read"
        counts["right"] += status == "read" and read == expected.rstrip("?")
        counts["readable"] += expected != "-"
    assert counts["right"] == counts["read"]
    recall = counts["right"] / counts["readable"]
    record_property("recall", f"{recall:.3f}")
    assert counts["alone"] / counts["readable"] > 0.9, "what the readers read by themselves"
    assert recall > 0.88
