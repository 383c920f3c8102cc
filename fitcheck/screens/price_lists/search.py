"""A search of suppliers' lists on screen: what fits, what may, and why the rest does not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.text import Text

from fitcheck.kernel.rounding import percent
from fitcheck.model.family import Family
from fitcheck.screens.counter.glance import (
    foot_lines,
    list_lines,
    machine_lines,
    more_words,
    note_lines,
    notes_on,
    title_lines,
    warnings,
)
from fitcheck.screens.counter.match import print_match
from fitcheck.screens.counter.options import print_options
from fitcheck.screens.counter.overview import print_overview
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import Screen, labelled, shorten
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.options import OptionGroup
from fitcheck.services.price_lists.list_fit import FITS, Fit, ListFit, RowFit

_LEAST_ROWS = 3
_SHORT = 30
_SOME = 3
"""So many rows of a list that may fit, or do not, are shown at once."""

_WORDS: dict[Fit, str] = {
    "fits": "fit",
    "may-fit": "may fit",
    "unknown-engine": "for engines not on file",
    "does-not-fit": "do not",
    "other-family": "for other families",
    "no-gear-set": "no gear set",
}
_HEADS: dict[Fit, str] = {
    "fits": "Fits",
    "may-fit": "May fit",
    "unknown-engine": "Not on file",
    "does-not-fit": "Does not",
}


def print_search(
    out: Screen,
    result: Match,
    lists: Sequence[ListFit],
    *,
    long: bool,
    whole: bool,
) -> None:
    """Print what lists have for a machine.

    Args:
        out: where.
        result: the match, by gearing unless it is `long`.
        lists: what the rows of each list are.
        long: print every combination and every row.
        whole: show every gearing at hand; else as many as one screen holds.
    """
    if long or result.exclusions:
        print_match(out, result)
        _print_lists(out, lists, long=True)
        return
    notes = notes_on(result.subject)

    def page(rows: int, most: int, some: int) -> list[Text]:
        return _page(result, lists, (rows, most, some), out.width)

    cuts = () if whole else ((1, 1), (0, _LEAST_ROWS), (2, 1), (0, 1))
    out.lines(shorten(page, (len(result.combinations), len(notes), _SOME), cuts))


def _page(
    result: Match, lists: Sequence[ListFit], sizes: tuple[int, int, int], width: int
) -> list[Text]:
    """All lines with so many gearings, notes on the machine, and rows of a kind."""
    rows, most, some = sizes
    subject, shown = result.subject, result.combinations[:rows]
    lines = [*machine_lines(subject, width), *_list_lines(lists, width)]
    title = f", with an article of the list{'s' * (len(lists) > 1)}"
    lines += title_lines(result, width, title)
    lines += note_lines(subject, notes_on(subject)[:most], width)
    lines += [Text(), *list_lines(result, shown, width), Text()]
    if len(lists) > 1 and shown:
        lines += labelled("Suppliers", _suppliers(result, shown), width)
    for fit in _HEADS:
        lines += _some_lines(lists, fit, width, some)
    more = "; ".join([*more_words(result, shown), "every row of the list and why: --long"])
    return [*lines, *foot_lines([*warnings(result, shown), ("More", more, "")], width)]


def print_choices(
    out: Screen,
    family_id: str,
    family: Family,
    groups: Sequence[OptionGroup],
    lists: Sequence[ListFit],
    *,
    long: bool,
    whole: bool,
) -> None:
    """Print what lists have for the factory trains of a family, as `options` prints its choices."""
    if long:
        print_options(out, family_id, family, groups)
    else:
        print_overview(out, family_id, family, groups, whole=whole)
    _print_lists(out, lists, long=long)


def _print_lists(out: Screen, lists: Sequence[ListFit], *, long: bool) -> None:
    """Print what the rows of lists are; with `long` each of them that concerns the family."""
    out.line()
    out.lines(_list_lines(lists, out.width))
    for fit, head in _HEADS.items():
        if not long:
            out.lines(_some_lines(lists, fit, out.width, _SOME))
            continue
        found = [(each, one) for each in lists for one in each.of(fit)]
        if found:
            out.line(f"{head}: {len(found):,} row{'s' * (len(found) != 1)}", "bold")
        for each, one in found:
            out.paragraph(_row_words(each, one, several=len(lists) > 1), "  ", "      ")


def _list_lines(lists: Sequence[ListFit], width: int) -> Iterator[Text]:
    """A list and how many of its rows are what."""
    for each in lists:
        counts, supplier = each.counts, each.opened.supplier.record.name
        whose = supplier if each.opened.is_known else "supplier unknown"
        told = ", ".join(f"{counts[fit]:,} {_WORDS[fit]}" for fit in FITS if counts[fit])
        rows = each.opened.read.row_count
        yield from labelled("List", f"{each.opened.path} ({whose}), {rows:,} rows: {told}", width)


def _some_lines(lists: Sequence[ListFit], fit: Fit, width: int, some: int) -> Iterator[Text]:
    """The first rows of a kind that need a word, one line each, and how many more there are."""
    found = [(each, one) for each in lists for one in each.of(fit) if one.reason]
    for at, (each, one) in enumerate(found[:some]):
        label = f"{_HEADS[fit] if at == 0 else '':<12}"
        words = one_line(_row_words(each, one, several=len(lists) > 1, long=False))
        more = f" (+{len(found) - some:,})" if at == some - 1 and len(found) > some else ""
        room = max(width - len(label) - len(more), len("..."))
        clipped = words if len(words) <= room else f"{words[: room - 3]}..."
        line = Text(f"{label}{clipped}{more}")
        line.stylize("bold", 0, len(label.rstrip()))
        yield line


def _row_words(each: ListFit, one: RowFit, *, several: bool, long: bool = True) -> str:
    """A row: where it stands, what it says, and why it is what it is.

    Args:
        each: its list.
        one: the row.
        several: whether other lists are told of too.
        long: all of its words, and where the data stand that speak against it.
    """
    row = one.row
    place = f"row {row.row}" if not row.sheet else row.address
    name = Path(each.opened.path).name
    told = [f"{name}:{row.address}" if several else place, row.part_number]
    if long and one.fit in ("may-fit", "unknown-engine"):
        told[1] = repr(each.opened.words(row))
    elif one.entry is not None:
        told += map(str, one.entry.record.pairs.values())
    elif not row.part_number:
        told.append(repr(each.opened.words(row)[:_SHORT]))
    told.append("" if one.change is None else percent(one.change))
    reason = f": {one.reason}" if one.reason else ""
    places = [str(span) for span in one.places if not str(span).startswith(each.opened.path)]
    where = f" ({', '.join(dict.fromkeys(places))})" if places and long else ""
    return " ".join(filter(None, told)) + reason + (where if one.fit == "does-not-fit" else "")


def _suppliers(result: Match, shown: Sequence[Combination]) -> str:
    """Whose the article of each gearing is, such as `1, 3 from Marram; 2 from Samphire`."""
    suppliers, needs = result.subject.catalogue.suppliers, result.request.needs or frozenset()
    ranks: dict[str, dict[str, None]] = {}
    for one in shown:
        ids = dict.fromkeys(entry.record.supplier for entry in one.sets if entry.id in needs)
        names = " + ".join(suppliers[id_].record.name for id_ in ids)
        ranks.setdefault(names, {})[str(one.rank)] = None
    return "; ".join(f"{', '.join(those)} from {names}" for names, those in ranks.items())
