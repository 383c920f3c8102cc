"""`fitcheck import`: a supplier's list into the catalogue, under review."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section
from fitcheck.cli.common import console, emit, late, open_catalogue, tell, tell_some, working
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import DAY, TABLES, flag, list_options, once
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.trade import Supplier
    from fitcheck.services.price_lists.outcomes import Plan
    from fitcheck.services.price_lists.reading import SupplierList
    from fitcheck.services.price_lists.writing import Edits

_MOST_FAULTS = 50
"""So many wrong answers are reported one by one."""


@command("import", "fitcheck import prices.csv --supplier marram")
@click.argument("file", metavar="LIST")
@section(
    "The list",
    once("--supplier NAME", "Whose list it is; needed."),
    once("--sheet NAME", "Read only this sheet of a workbook."),
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
    "Review",
    once("--review FILE", "Write the open questions into this YAML file."),
    once("--answers FILE", "Take the answers from such a file."),
)
@section(
    "Writing",
    flag("--write", "Carry the plan out; answers are remembered."),
    flag(
        "--save-mapping",
        "Save the columns found, and the answers, in the supplier's file; no columns while a "
        "question about them is open.",
    ),
    flag("--diff", "Show what writing changes, line by line."),
)
@list_options
def import_command(
    file: str,
    *,
    supplier: str | None,
    review: str | None,
    answers: str | None,
    write: bool,
    save_mapping: bool,
    diff: bool,
    output_format: str,
    catalog: str | None,
    **reading: Any,
) -> int:
    """Show what a supplier's LIST (CSV, XLSX, XLS, ODS) would change, and with --write do it.

    Every row ends in one outcome: new, changed, unchanged, to review, unreadable or ignored.
    What is not certain becomes a question; nothing is guessed. Exit code 0: nothing is open, 1:
    questions are open or rows unreadable, 2: wrong use.
    """
    if supplier is None:
        raise click.UsageError("name the supplier: --supplier NAME")
    if diff and output_format in TABLES:
        raise click.UsageError(f"--diff makes no rows; leave it out or --format {output_format}")
    saving, over = write or save_mapping, review is not None and review == answers
    if saving:
        _refuse_demo(catalog)
    elif over:
        raise click.UsageError("--review would write over the answers; name another file")
    with open_catalogue(catalog) as catalogue:
        entry = _supplier(catalogue, supplier)
        given = None if answers is None else _answers(answers, catalogue, entry.id)
        supplier_list, plan = _plan(catalogue, file, entry, given, reading)
        if write and not save_mapping:
            _refuse_unsure(plan)
        drafts = partial(_drafts, catalogue, plan, mapping=save_mapping)
        shown = drafts(entries=True).diff() if diff else None
        edits = drafts(entries=write) if saving else None
        if review is not None and plan.questions:
            from fitcheck.services.price_lists.review import refuse_place

            refuse_place(review, over_answers=over)
        if output_format == "table":
            _print(supplier_list, plan, entry.record.name, shown)
        # The answers are written over only when they are safe in the catalogue.
        written = None if edits is None else edits.save()
        asked = None if review is None else _write_review(plan, review, over=over)
    done = {"written": written, "diff": shown}
    emit(
        output_format,
        lambda _: None,  # the plan is on screen since before it was carried out
        late("fitcheck.answers.price_lists:import_answer", catalogue, supplier_list, plan, **done),
        late("fitcheck.answers.price_lists:import_table", plan),
    )
    if asked is not None:
        tell(asked)
    _doubt_date(reading["date"])
    _tell_written(plan, written, write=write)
    return EXIT_FINDINGS if plan.open else 0


def _plan(
    catalogue: Catalogue,
    file: str,
    supplier: Entry[Supplier],
    answers: dict[str, str] | None,
    reading: dict[str, Any],
) -> tuple[SupplierList, Plan]:
    from fitcheck.services.price_lists.plan import plan_list
    from fitcheck.services.price_lists.reading import read_list

    of_file = {name: reading.pop(name) for name in ("sheet", "encoding", "delimiter")}
    with working("reading the list"):
        found = read_list(file, **of_file)
        return found, plan_list(catalogue, found, supplier, answers=answers, **reading)


def _supplier(catalogue: Catalogue, name: str) -> Entry[Supplier]:
    """The supplier of a list; where it is unknown, how to make it known."""
    from fitcheck.services.counter.lookup import find_supplier

    try:
        return find_supplier(catalogue, name)
    except UsageError as error:
        id_ = "-".join(re.findall(r"[a-z0-9]+", name.lower())) or "name"
        unknown = str(error) if str(error).endswith("?") else f"{error};"
        raise UsageError(
            f"{unknown} a new supplier is a small file, suppliers/{id_}.yaml in the catalogue: "
            f"kind: supplier, records:, and below it {id_}: {{name: {name}, currency: EUR}}"
        ) from None


def _doubt_date(date: dt.date | None) -> None:
    """Tell of a date that new entries would bear and `check` would report."""
    from fitcheck.rules.checks.values import doubt_date, today

    doubt = None if date is None else doubt_date(date, today())
    if doubt is not None:
        _, words, advice = doubt
        tell(f"look: --date {words}; {advice}")


def _drafts(catalogue: Catalogue, plan: Plan, *, entries: bool, mapping: bool) -> Edits:
    from fitcheck.services.price_lists.writing import edits_of

    with working("drafting the changes"):
        return edits_of(catalogue, plan, entries=entries, mapping=mapping)


def _write_review(plan: Plan, path: str, *, over: bool) -> str:
    """Write the open questions; what to say of it."""
    from fitcheck.services.price_lists.review import write_review

    if not write_review(plan, path, over_answers=over):
        return f"no question is open; {path} is not written"
    count = len(plan.questions)
    return f"{count} question{'s' * (count != 1)} written to {path}"


def _answers(path: str, catalogue: Catalogue, supplier: str) -> dict[str, str]:
    """The answers of a file; a line for each that is invalid, and nothing goes on."""
    from fitcheck.services.price_lists.review import read_answers

    found = read_answers(path, catalogue, supplier)
    if not found.faults:
        return found.given
    first, *others = found.faults
    tell_some(others, _MOST_FAULTS - 1)
    more = len(found.faults) - _MOST_FAULTS
    raise UsageError(f"{first}" + (f" ({more} more)" if more > 0 else ""))


def _refuse_demo(named: str | None) -> None:
    """Only a checkout's own demo, named outright, may be written to."""
    from pathlib import Path

    from fitcheck.catalogue.locate import find_catalogue

    location = find_catalogue(named)
    package = Path(__file__).resolve().parents[1]
    if location.is_demo and (named is None or location.path.resolve().is_relative_to(package)):
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


def _print(supplier_list: SupplierList, plan: Plan, supplier: str, diff: str | None) -> None:
    from fitcheck.screens.price_lists.plan import print_plan

    out = console()
    print_plan(out, supplier_list, plan, supplier)
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
