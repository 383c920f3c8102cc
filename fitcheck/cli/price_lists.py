"""`fitcheck import`: a supplier's list into the catalogue, under review."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section
from fitcheck.cli.common import console, emit, late, open_catalogue, tell, tell_some, working
from fitcheck.cli.list_dialogue import Dialogue, read_key
from fitcheck.cli.list_sender import Sender, find_sender
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import CURRENCY, DAY, SUPPLIER, TABLES, flag, list_options, once
from fitcheck.cli.upkeep import on_a_terminal
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from fitcheck.screens.screen import Screen
    from fitcheck.services.price_lists.outcomes import Plan
    from fitcheck.services.price_lists.reading import SupplierList
    from fitcheck.services.price_lists.writing import Edits

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
    order = _Order.of(file, given, output_format, catalog)
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
            return _ask_and_write(order, sender, supplier_list)
        return _show_and_write(order, sender, supplier_list)


@dataclass(frozen=True)
class _Order:
    """What the command line asks for.

    Attributes:
        file: the list.
        output_format: how to print.
        catalog: the catalogue, as given.
        asks: whether there is somebody to be asked on a terminal.
        of_file: how the file is read.
        of_list: what the plan needs to know besides.
        options: all else, by name.
    """

    file: str
    output_format: str
    catalog: str | None
    asks: bool
    of_file: Mapping[str, Any]
    of_list: Mapping[str, Any]
    options: Mapping[str, Any]

    @classmethod
    def of(
        cls, file: str, given: dict[str, Any], output_format: str, catalog: str | None
    ) -> _Order:
        of_file = {name: given.pop(name) for name in ("sheet", "encoding", "delimiter")}
        of_list = {name: given.pop(name) for name in ("date", "list_name", "new_columns")}
        given["write"] = given["write"] or given["later"]
        review, answers, diff = given["review"], given["answers"], given["diff"]
        if diff and output_format in TABLES:
            raise click.UsageError(
                f"--diff makes no rows; leave it out or --format {output_format}"
            )
        if given["write"] or given["save_mapping"]:
            _refuse_demo(catalog)
        elif review is not None and review == answers:
            raise click.UsageError("--review would write over the answers; name another file")
        if given["new_supplier"] is None and (given["currency"] or given["id_prefix"]):
            raise click.UsageError("--currency and --id-prefix are of a --new-supplier; name it")
        quiet = review or answers or diff or given["later"] or output_format != "table"
        quiet = quiet or (given["save_mapping"] and not given["write"])
        asks = not quiet and on_a_terminal() and not _is_demo(catalog)
        return cls(
            file=file,
            output_format=output_format,
            catalog=catalog,
            asks=asks,
            of_file=of_file,
            of_list=of_list,
            options=given,
        )

    def __getitem__(self, name: str) -> Any:
        return self.options[name]

    @property
    def saves_columns(self) -> bool:
        """Whether the columns found are saved: on request, or by the yes on a terminal."""
        return self["save_mapping"] or (self.asks and not self["write"])

    def read(self, usual_encoding: str | None = None) -> SupplierList:
        """The list.

        Args:
            usual_encoding: of the supplier's earlier text files, where it is known.
        """
        from fitcheck.services.price_lists.reading import read_list

        with working("reading the list"):
            return read_list(self.file, **self.of_file, usual_encoding=usual_encoding)

    def plan(
        self, sender: Sender, supplier_list: SupplierList, answers: Mapping[str, str] | None
    ) -> Plan:
        """What becomes of the list."""
        from fitcheck.services.price_lists.plan import plan_list

        with working("judging the list"):
            return plan_list(
                sender.catalogue, supplier_list, sender.entry, answers=answers, **self.of_list
            )


# -------------------------------------------------------------------- asked on a terminal


def _ask_and_write(order: _Order, sender: Sender, supplier_list: SupplierList) -> int:
    """Ask what is open, show what it comes to, and write it after a yes."""
    from fitcheck.services.price_lists.writing import keep_answer

    out, before = console(), _digest(order.file)
    dialogue = Dialogue(
        out,
        sender.catalogue,
        lambda given: order.plan(sender, supplier_list, given),
        lambda key, answer: keep_answer(sender.entry, key, answer),
    )
    counts, questions = dialogue.plan.counts, len(dialogue.plan.questions)
    if questions:
        certain = counts["new"] + counts["changed"] + counts["unchanged"]
        out.headed(
            f"{sender.entry.record.name}: ",
            f"{_number(certain, 'row')} certain; {_number(questions, 'question')} about "
            f"{_number(counts['review'], 'row')}",
        )
    while True:
        ended = dialogue.ask()
        kept = f"{_number(len(dialogue.given), 'answer')} kept in {sender.entry.source.path}"
        if ended == "stopped":
            tell(f"stopped, no row is written; {kept}")
            return EXIT_FINDINGS
        now = sender.reload(order.catalog)
        plan = order.plan(now, supplier_list, dialogue.given)
        _print(order, now, supplier_list, plan)
        if not order.saves_columns:
            _refuse_unsure(plan)
        edits = _drafts(now, plan, entries=True, mapping=order.saves_columns)
        wanted = "y" if order["write"] or not edits.changed else _confirm(out, edits)
        if wanted == "r":
            _print(order, now, supplier_list, plan, long=True)
            wanted = _confirm(out, edits)
        if wanted == "y":
            break
        if wanted == "n":
            tell(f"nothing is written; {kept}")
            return EXIT_FINDINGS
        dialogue.undo()
    if _digest(order.file) != before:
        raise UsageError(
            f"{order.file}: the list has changed since it was read; nothing is written; {kept}; "
            "run the command again"
        )
    _tell_written(plan, edits.save(), write=True)
    return EXIT_FINDINGS if plan.open else 0


def _confirm(out: Screen, edits: Edits) -> str:
    """Whether to write: y, n, u to take the last answer back, or r to see each row first."""
    while True:
        key = read_key("Write it? (y yes, n no, u undo, r each row, d each line) ")
        if key == "d":
            out.lines(edits.diff().splitlines())
        elif key in ("y", "n", "u", "r"):
            return key
        elif key == "q":
            return "n"


def _digest(file: str) -> bytes:
    """What tells whether a file holds something else by now."""
    return hashlib.blake2b(Path(file).read_bytes()).digest()


def _number(count: int, noun: str) -> str:
    return f"{count:,} {noun}{'s' * (count != 1)}"


# -------------------------------------------------------------------- not asked


def _show_and_write(order: _Order, sender: Sender, supplier_list: SupplierList) -> int:
    """Show what a list changes, and do what the options say."""
    review, write, save_mapping = order["review"], order["write"], order["save_mapping"]
    saving, over = write or save_mapping, review is not None and review == order["answers"]
    given = None if order["answers"] is None else _answers(order["answers"], sender)
    plan = order.plan(sender, supplier_list, given)
    if write and not save_mapping:
        _refuse_unsure(plan)
    shown = (
        _drafts(sender, plan, entries=True, mapping=save_mapping).diff() if order["diff"] else None
    )
    edits = _drafts(sender, plan, entries=write, mapping=save_mapping) if saving else None
    if review is not None and plan.questions:
        from fitcheck.services.price_lists.review import refuse_place

        refuse_place(review, over_answers=over)
    if order.output_format == "table":
        _print(order, sender, supplier_list, plan, diff=shown)
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
    _tell_written(plan, written, write=write)
    return EXIT_FINDINGS if plan.open else 0


def _doubt_date(date: dt.date | None) -> None:
    """Tell of a date that new entries would bear and `check` would report."""
    from fitcheck.rules.checks.values import doubt_date, today

    doubt = None if date is None else doubt_date(date, today())
    if doubt is not None:
        _, words, advice = doubt
        tell(f"look: --date {words}; {advice}")


def _drafts(sender: Sender, plan: Plan, *, entries: bool, mapping: bool) -> Edits:
    from fitcheck.services.price_lists.writing import edits_of

    with working("drafting the changes"):
        return edits_of(
            sender.catalogue, plan, entries=entries, mapping=mapping, new_supplier=sender.draft
        )


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


def _is_demo(named: str | None) -> bool:
    """Whether it is the demo that would be written; a checkout's own, named outright, may be."""
    from fitcheck.catalogue.locate import find_catalogue

    location = find_catalogue(named)
    package = Path(__file__).resolve().parents[1]
    return location.is_demo and (named is None or location.path.resolve().is_relative_to(package))


def _refuse_demo(named: str | None) -> None:
    if _is_demo(named):
        raise UsageError(
            "the built-in demo is not written to; name your own catalogue with --catalog"
        )


def _refuse_unsure(plan: Plan) -> None:
    """A column whose cells do not agree is not written from without consent."""
    for layout in plan.layouts:
        for column in layout.columns.values():
            if column.sureness == "weak" and not column.is_asked_for:
                raise UsageError(
                    f"is {column.heading!r} the column of {column.field}? {column.reason}; "
                    "consent with --save-mapping, or write list_mapping into the supplier's file"
                )


def _print(
    order: _Order,
    sender: Sender,
    supplier_list: SupplierList,
    plan: Plan,
    *,
    diff: str | None = None,
    long: bool = False,
) -> None:
    from fitcheck.screens.price_lists.plan import print_plan
    from fitcheck.services.price_lists.month import compare_month

    out = console()
    month = compare_month(sender.catalogue, plan)
    name = sender.entry.record.name
    long = long or order["long"]
    saves, sitting = order.saves_columns, order.asks
    print_plan(out, supplier_list, plan, name, month, long=long, saves=saves, sitting=sitting)
    if diff is not None:
        out.line()
        if diff:
            out.lines(diff.splitlines())
        else:
            out.line("writing would change nothing")


def _tell_written(plan: Plan, written: Sequence[str] | None, *, write: bool) -> None:
    if written is None:
        counts = plan.counts
        if counts["new"] or counts["changed"]:
            tell("nothing is written yet; --write carries it out")
        return
    unsettled = plan.open and not plan.counts["unchanged"]
    if written:
        tell(f"written: {', '.join(written)}")
    else:
        settled = "no row is settled yet" if unsettled else "the catalogue says the same"
        tell(f"nothing to write: {settled}" if write else "nothing to save")
