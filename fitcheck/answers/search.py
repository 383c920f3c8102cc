"""The part of `match` and `options` that tells of suppliers' lists searched with --list."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, TypedDict, get_args

from fitcheck.answers.shapes import At, Exact, More, Name, Place, Size, Whole, fill, words
from fitcheck.services.price_lists.list_fit import Fit, ListFit

_MEANINGS = {
    "fits": "with some combination of the list and what may stand beside it, proved",
    "may-fit": "nothing speaks against it, but something is open or would be asked by import",
    "unknown-engine": "for an engine that nobody here knows by its name",
    "does-not-fit": "a rule rules it out",
    "other-family": "for other engine families",
    "no-gear-set": "a heading, other goods, a row left out",
}


class _Row(TypedDict):
    """One row of the list."""

    sheet: Annotated[str | None, At("row.sheet")]
    """Name of the sheet; null for a text file."""
    row: Annotated[Size, At("row.row")]
    """Its number."""
    address: Annotated[str, At("row.address")]
    """Where it stands, such as `Prices!12`."""
    says: Annotated[str | None, More(description="Its cells, joined by middle dots.")]
    part_number: Annotated[str | None, At("row.part_number")]
    """The supplier's number, where read."""
    set: Annotated[str | None, At("entry.id")]
    """Id of the gear set that it is, or would be once imported."""
    fit: Annotated[
        str,
        More(description="; ".join(f"{k}: {v}" for k, v in _MEANINGS.items()) + "."),
        words(get_args(Fit)),
    ]
    reason: str | None
    """Why, or under which condition; null for what fits alone."""
    rule: str | None
    """Id of the rule of fit that is open or rules it out."""
    places: list[Place]
    """Where the data stand that this rests on: in the list, or in the catalogue."""
    beside: list[Name]
    """Ids of the sets that must come with it, where it does not fit alone."""
    change: Exact | None
    """Road-speed change of it alone, percent; null where it is not judged, and in `options`."""
    questions: Annotated[list[Name], At("row.questions")]
    """Keys of the questions that import would ask."""


class _Counts(TypedDict):
    """How many rows are what; the others together are `rows`."""

    rows: Whole
    """All rows of the list."""
    fits: Whole
    """Those that fit."""
    may_fit: Whole
    """Those that may."""
    unknown_engine: Whole
    """Those for engines that are not on file."""
    does_not_fit: Whole
    """Those that a rule rules out."""
    other_family: Whole
    """Those for other families."""
    no_gear_set: Whole
    """All others: headings, other goods."""


class SearchedList(TypedDict):
    """One supplier's list, searched as it is."""

    path: Annotated[str, At("opened.path")]
    """The file, as given."""
    supplier: Annotated[str, At("opened.supplier.id")]
    """Id of the supplier; where nobody here is known to send it, one made of the file's name."""
    supplier_known: Annotated[bool, At("opened.is_known")]
    """Whether the supplier is on file."""
    counts: _Counts
    rows: list[_Row]
    """Every row, in order."""


def searched_lists(lists: Iterable[ListFit]) -> list[SearchedList]:
    """Suppliers' lists as plain data."""
    return [
        fill(
            SearchedList,
            each,
            counts={
                "rows": each.opened.read.row_count,
                **{fit.replace("-", "_"): number for fit, number in each.counts.items()},
            },
            rows=[fill(_Row, one, says=each.opened.words(one.row)) for one in each.rows],
        )
        for each in lists
    ]
