"""The plan of an import on screen: what must not be overlooked first, the sum last."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal

from fitcheck.answers.figures import money
from fitcheck.answers.price_lists import reason_of
from fitcheck.screens.screen import Screen
from fitcheck.services.price_lists.month import Month, PriceChange
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome
from fitcheck.services.price_lists.questions import Question
from fitcheck.services.price_lists.reading import SupplierList

_MOST = 12
"""Rows shown of each outcome; --format csv has all. Teeth that change are shown all."""

_ODD = 50
"""So many more are shown of those that look wrong."""

_LARGEST = 3
"""So many of the prices that change most are shown, and of the parts that are gone."""


def print_plan(
    out: Screen,
    supplier_list: SupplierList,
    plan: Plan,
    supplier: str,
    month: Month,
    *,
    long: bool = False,
    saves: bool = False,
    sitting: bool = False,
) -> None:
    """Print a plan: what is open, what looks wrong, and three lines on what changes.

    Args:
        out: the screen.
        supplier_list: the list as it was read.
        plan: what becomes of it.
        supplier: name of the supplier.
        month: what it changes of the month before.
        long: whether to show what becomes of each row, and all that was found out of the file.
        saves: whether the columns found are saved with the rest.
        sitting: whether the questions were just asked; then no row is left out of `long`.
    """
    out.paragraph(f"{supplier}: {plan.list_name}, {plan.date.isoformat()}", style="bold")
    for note in plan.notes:
        if long or not note.sure:
            sign, style = ("", "dim") if note.sure else ("? ", "")
            out.paragraph(note.text, sign, "  ", style=style)
    if long or plan.proposed:
        _print_columns(out, plan, saves=saves)
    if long:
        most = len(plan.rows) if sitting else _MOST
        _print_rows(out, "changed", plan.of("changed"), _changed, most)
        _print_rows(out, "new", plan.of("new"), _new, most)
    else:
        _print_odd(out, plan)
    _print_questions(out, plan, sitting=sitting)
    _print_rows(out, "unreadable", plan.of("unreadable"), _unreadable)
    if long:
        _print_gone(out, plan)
    _print_rest(out, plan, long=long)
    out.line()
    out.paragraph(plan.proof(supplier_list.row_count), style="bold")
    print_month(out, month)


def print_month(out: Screen, month: Month) -> None:
    """Print what a list changes of the month before, in three lines."""
    changed = len(month.prices)
    text = f"prices: {changed:,} of {month.known:,} changed" if changed else "prices: none changed"
    if (median := month.median_percent) is not None:
        text += f", median {_percent(median)}"
    shown = [f"{each.set_id} {_moved(each)}" for each in month.prices[:_LARGEST]]
    if changed > _LARGEST:
        shown.append(f"and {changed - _LARGEST:,} more")
    out.paragraph("; ".join([text, *shown]), "", "  ")
    if month.teeth:
        each_one = "; ".join(
            f"{row.set_id} {change.old} -> {change.new}"
            for row in month.teeth
            for change in row.changes
            if change.field == "pairs"
        )
        text = f"!! TEETH CHANGE in {_entries(len(month.teeth))}: {each_one}"
        out.paragraph(text, "", "  ", style="bold red")
    else:
        out.line("teeth: none changed")
    ids = ", ".join(each.set_id for each in month.gone[:_LARGEST])
    more = f" and {len(month.gone) - _LARGEST:,} more" if len(month.gone) > _LARGEST else ""
    out.paragraph(
        f"new: {len(month.new):,}; gone: {len(month.gone):,}" + (f" ({ids}{more})" if ids else ""),
        "",
        "  ",
    )
    if month.sold:
        told = ", ".join(
            f"{each.set_id} ({month.sold[each.set_id]:,})"
            for each in month.gone
            if each.set_id in month.sold
        )
        text = f"!! GONE, BUT IT SELLS: {told} sold from the shelf in 12 months"
        out.paragraph(text, "", "  ", style="bold red")


def _moved(change: PriceChange) -> str:
    old = "none" if change.old is None else money(change.old)
    beside = "" if change.percent is None else f" ({_percent(change.percent)})"
    return f"{old} -> {money(change.new)} {change.currency}{beside}"


def _percent(value: Decimal) -> str:
    return f"{value:+.1f} %"


def _print_odd(out: Screen, plan: Plan) -> None:
    """Rows on which something looks wrong; prices and teeth that change are told at the end."""
    odd = [
        (row, notes)
        for row in plan.rows
        if row.outcome in ("new", "changed", "unchanged")
        and (notes := [note for note in row.notes if note.startswith("!!")])
    ]
    if odd:
        _head(out, "look at", len(odd))
        for row, notes in odd[:_ODD]:
            out.paragraph(f"{row.set_id}, row {row.address}: {'; '.join(notes)}", "  ", "    ")
        _more(out, len(odd) - _ODD)


def _print_columns(out: Screen, plan: Plan, *, saves: bool) -> None:
    asked = doubtful = False
    for layout in plan.layouts:
        if not layout.found:
            continue
        where = f"{layout.sheet.name}: " if layout.sheet.name else ""
        named = []
        for column in layout.columns.values():
            sure = column.sureness in ("given", "sure")
            asked = asked or column.is_asked_for
            doubtful = doubtful or not (sure or column.is_asked_for)
            others = "".join(f", or {rival!r}" for rival in column.rivals)
            named.append(f"{column.heading!r}{others} is {column.field}{'' if sure else ' (?)'}")
        out.paragraph(f"{where}{', '.join(named)}", "", "  ", style="dim")
    if doubtful:
        consent = "saving" if saves else "--save-mapping"
        out.paragraph(f"(?) not sure of that column: look; {consent} says that it is right")
    if asked:
        out.paragraph("no column is saved until the question about the columns is answered")
    elif plan.proposed:
        how = "they are saved with the rest" if saves else "--save-mapping saves them there"
        out.paragraph(f"these columns are not in the supplier's file; {how}")


def _entries(count: int) -> str:
    return f"{count:,} {'entry' if count == 1 else 'entries'}"


def _head(out: Screen, word: str, count: int, more: str = "") -> None:
    out.line()
    out.paragraph(f"{word}, {count:,}{more}", style="bold")


def _print_rows(
    out: Screen, word: str, rows: Sequence[RowOutcome], line: object, most: int = _MOST
) -> None:
    if not rows:
        return
    assert callable(line)
    _head(out, word, len(rows))
    shown = rows[:most]
    # What looks wrong is not left to the rows that are not shown.
    odd = [row for row in rows[most:] if any(note.startswith("!!") for note in row.notes)]
    for row in [*shown, *odd[:_ODD]]:
        out.paragraph(line(row), "  ", "    ")
    _more(out, len(rows) - len(shown) - len(odd[:_ODD]))


def _more(out: Screen, count: int) -> None:
    if count > 0:
        out.paragraph(f"and {count:,} more; --format csv shows all", "  ", style="dim")


def _with_notes(text: str, notes: Iterable[str]) -> str:
    return "; ".join([text, *notes])


def _changed(row: RowOutcome) -> str:
    changes = "; ".join(("!! " if each.loud else "") + str(each) for each in row.changes)
    return _with_notes(f"{row.set_id}, row {row.address}: {changes}", row.notes)


def _new(row: RowOutcome) -> str:
    pairs = ", ".join(f"{stage} {pair}" for stage, pair in row.fields["pairs"].items())
    parts = [pairs]
    fits = row.fields.get("fits", ())
    parts += [f"stated for {each['family']} {', '.join(each['housings'])}" for each in fits]
    models = row.fields.get("listed_for", {}).get("models", ())
    if models:
        parts.append(f"listed for {', '.join(models)}")
    if "price" in row.fields:
        parts.append(f"{money(row.fields['price'])} {row.fields['currency']}")
    return _with_notes(f"{row.set_id}, row {row.address}: {', '.join(parts)}", row.notes)


def _unreadable(row: RowOutcome) -> str:
    number = f" ({row.part_number})" if row.part_number else ""
    return f"row {row.address}{number}, cell {row.cell}: {reason_of(row)}"


def _print_questions(out: Screen, plan: Plan, *, sitting: bool) -> None:
    rows = plan.of("review")
    if not rows:
        return
    count = len(plan.questions)
    noun = "question" if count == 1 else "questions"
    if sitting:
        held = [row for row in rows if not row.questions]
        if len(rows) > len(held):
            more = f"; {count:,} {noun}, asked again by the next run"
            _head(out, "left open", len(rows) - len(held), more)
        if held:
            _head(out, "held back", len(held), "; the next run brings them again")
            out.paragraph(", ".join(f"{row.address} ({row.set_id})" for row in held), "  ", "  ")
        return
    _head(out, "to review", len(rows), f"; {count:,} {noun}, --review FILE writes them")
    for question in list(plan.questions.values())[:_MOST]:
        out.paragraph(f"{question.text} {_where(question)}", "  ? ", "    ", style="yellow")
    _more(out, count - _MOST)


def _where(question: Question) -> str:
    more = question.count - len(question.where)
    return f"({', '.join(question.where)}{f' and {more:,} more' if more > 0 else ''})"


def _print_gone(out: Screen, plan: Plan) -> None:
    gone = [each for each in plan.gone if each.same_list]
    if gone:
        _head(out, "gone from the list", len(gone), "; kept here")
        for each in gone[:_MOST]:
            out.paragraph(f"{each.set_id} ({each.part_number})", "  ", "    ")
        _more(out, len(gone) - _MOST)
    others = Counter(each.list_name for each in plan.gone if not each.same_list)
    if others:
        out.line()
        for name, count in others.items():
            out.paragraph(
                f"{_entries(count)} of another list ({name}) not in this one", style="dim"
            )


def _print_rest(out: Screen, plan: Plan, *, long: bool) -> None:
    kinds = Counter(row.kind for row in plan.of("ignored"))
    if kinds and long:
        out.line()
        named = ", ".join(f"{count:,} {kind}" for kind, count in sorted(kinds.items()))
        out.paragraph(f"ignored: {named}", style="dim")
    noted = [row for row in plan.of("unchanged") if row.notes and long]
    for row in noted[:_MOST]:
        out.paragraph(_with_notes(f"{row.set_id}, row {row.address}", row.notes), "  ", "    ")
    _more(out, len(noted) - _MOST)
    if plan.unused:
        count = len(plan.unused)
        noun = "answer" if count == 1 else "answers"
        out.paragraph(f"{count} {noun} to what this list does not ask: {plan.unused[0]}")
