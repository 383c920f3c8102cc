"""`fitcheck import`: a supplier's list into the catalogue, under review."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section
from fitcheck.cli.common import emit, late, open_catalogue, tell, tell_some
from fitcheck.cli.list_order import (
    Order,
    draft_plan,
    print_list_plan,
    refuse_unsure,
    tell_written,
)
from fitcheck.cli.list_sender import Sender, find_sender
from fitcheck.cli.list_sitting import Sitting
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import CURRENCY, DAY, SUPPLIER, flag, list_options, once
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    import datetime as dt

    from fitcheck.services.price_lists.outcomes import Plan
    from fitcheck.services.price_lists.reading import SupplierList

_MOST_FAULTS = 50
"""So many wrong answers are reported one by one."""


@command(
    "import",
    "fitcheck import prices.csv --supplier marram",
    "fitcheck import prices.csv --supplier marram --review questions.yaml",
)
@click.argument("file", metavar="LIST")
@section(
    "The supplier",
    once(
        "--supplier NAME",
        "Whose list it is. Default: known by its file, headings and numbers.",
        SUPPLIER,
        daily=True,
    ),
    once("--new-supplier NAME", "Make this supplier, whose list it is."),
    once("--currency CODE", "Currency of a new supplier's prices, like EUR.", CURRENCY),
    once("--id-prefix TEXT", "What ids of its entries begin with. Default: letters of its name."),
)
@section(
    "The list",
    once("--sheet NAME", "Read only this sheet of a workbook.", daily=True),
    once("--encoding NAME", "Encoding of a text file. Default: detected."),
    once("--delimiter MARK", "Delimiter of a text file. Default: detected."),
    once("--date DATE", "Date written in new entries. Default: today.", DAY),
    once(
        "--list-name TEXT",
        "What entries say they come from. Default: as the supplier's file says, else the "
        "name of the list's file.",
    ),
    flag("--new-columns", "Find the columns again, whatever the supplier's file says of them."),
)
@section(
    "Questions",
    flag(
        "--later",
        "Ask nothing: write the rows that are certain; the next run asks the rest.",
        daily=True,
    ),
    once(
        "--review FILE",
        "Write the open questions into this YAML file, and ask none here.",
        daily=True,
    ),
    once("--answers FILE", "Take the answers from such a file.", daily=True),
)
@section(
    "Writing",
    flag(
        "--write", "Carry the plan out. Default: asked on a terminal, else only shown.", daily=True
    ),
    flag(
        "--save-mapping",
        "Save the columns found, and the answers, in the supplier's file; no columns while a "
        "question about them is open.",
    ),
    flag("--diff", "Show what writing changes, line by line.", daily=True),
    flag(
        "--long",
        "Show what becomes of each row, and all that was found out about the file.",
        daily=True,
    ),
)
@list_options
def import_command(file: str, *, output_format: str, catalog: str | None, **given: Any) -> int:
    """Show what a supplier's LIST (CSV, XLSX, XLS, ODS) would change, and with --write do it.

    Every row ends in one outcome: new, changed, unchanged, to review, unreadable or ignored.
    What is not certain becomes a question, asked on a terminal at once; nothing is guessed. Exit
    code 0: nothing is open, 1: questions are open or rows unreadable, 2: wrong use.
    """
    order = Order.of(file, given, output_format, catalog)
    with open_catalogue(catalog) as catalogue:
        supplier_list = order.read()
        sender = find_sender(
            catalogue, supplier_list, order.options, asks=order.asks, catalog=catalog
        )
        mapping = sender.entry.record.list_mapping
        if mapping is not None and mapping.encoding:
            # Whose list it is, only the list itself could tell.
            supplier_list = order.read(mapping.encoding)
        if order.asks:
            return Sitting(order, sender, supplier_list).run()
        return _show_and_write(order, sender, supplier_list)


# -------------------------------------------------------------------- not asked


def _show_and_write(order: Order, sender: Sender, supplier_list: SupplierList) -> int:
    """Show what a list changes, and do what the options say."""
    review, write, save_mapping = order["review"], order["write"], order["save_mapping"]
    saving, over = write or save_mapping, review is not None and review == order["answers"]
    given = None if order["answers"] is None else _answers(order["answers"], sender)
    plan = order.plan(sender, supplier_list, given)
    if write and not save_mapping:
        refuse_unsure(plan)
    shown = (
        draft_plan(sender, plan, entries=True, mapping=save_mapping).diff()
        if order["diff"]
        else None
    )
    edits = draft_plan(sender, plan, entries=write, mapping=save_mapping) if saving else None
    if review is not None and plan.questions:
        from fitcheck.services.price_lists.review import refuse_place

        refuse_place(review, over_answers=over)
    if order.output_format == "table":
        print_list_plan(order, sender, supplier_list, plan, diff=shown)
    # The answers are written over only when they are safe in the catalogue.
    written = None if edits is None else edits.save()
    asked = None if review is None else _write_review(plan, review, over=over)
    done = {"written": written, "diff": shown}
    emit(
        order.output_format,
        lambda _: None,  # the plan is on screen since before it was carried out
        late(
            "fitcheck.answers.price_lists:import_answer",
            sender.catalogue,
            supplier_list,
            plan,
            **done,
        ),
        late("fitcheck.answers.price_lists:import_table", plan),
    )
    if asked is not None:
        tell(asked)
    _doubt_date(order.of_list["date"])
    tell_written(plan, written, write=write)
    return EXIT_FINDINGS if plan.open else 0


def _doubt_date(date: dt.date | None) -> None:
    """Tell of a date that new entries would bear and `check` would report."""
    from fitcheck.rules.checks.values import doubt_date, today

    doubt = None if date is None else doubt_date(date, today())
    if doubt is not None:
        _, words, advice = doubt
        tell(f"look: --date {words}; {advice}")


def _write_review(plan: Plan, path: str, *, over: bool) -> str:
    """Write the open questions; what to say of it."""
    from fitcheck.services.price_lists.review import write_review

    if not write_review(plan, path, over_answers=over):
        return f"no question is open; {path} is not written"
    count = len(plan.questions)
    return f"{count} question{'s' * (count != 1)} written to {path}"


def _answers(path: str, sender: Sender) -> dict[str, str]:
    """The answers of a file; a line for each that is invalid, and nothing goes on."""
    from fitcheck.services.price_lists.review import read_answers

    found = read_answers(path, sender.catalogue, sender.entry.id)
    if not found.faults:
        return found.given
    first, *others = found.faults
    tell_some(others, _MOST_FAULTS - 1)
    more = len(found.faults) - _MOST_FAULTS
    raise UsageError(f"{first}" + (f" ({more} more)" if more > 0 else ""))
