"""What the command line asks of an import, and what both ways of it need: drafts and prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.common import console, tell, working
from fitcheck.cli.list_sender import Sender
from fitcheck.cli.parameters import TABLES
from fitcheck.cli.terminal import on_a_terminal
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.services.price_lists.outcomes import Plan
    from fitcheck.services.price_lists.reading import SupplierList
    from fitcheck.services.price_lists.writing import Edits


@dataclass(frozen=True)
class Order:
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
    def of(cls, file: str, given: dict[str, Any], output_format: str, catalog: str | None) -> Order:
        """What some options ask for; those of the file and of the list are taken out of `given`.

        Raises:
            UsageError: they contradict each other.
        """
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


def refuse_unsure(plan: Plan) -> None:
    """A column whose cells do not agree is not written from without consent."""
    for layout in plan.layouts:
        for column in layout.columns.values():
            if column.sureness == "weak" and not column.is_asked_for:
                raise UsageError(
                    f"is {column.heading!r} the column of {column.field}? {column.reason}; "
                    "consent with --save-mapping, or write list_mapping into the supplier's file"
                )


def draft_plan(sender: Sender, plan: Plan, *, entries: bool, mapping: bool) -> Edits:
    """Drafts of all files that a plan changes."""
    from fitcheck.services.price_lists.writing import edits_of

    with working("drafting the changes"):
        return edits_of(
            sender.catalogue, plan, entries=entries, mapping=mapping, new_supplier=sender.draft
        )


def print_list_plan(
    order: Order,
    sender: Sender,
    supplier_list: SupplierList,
    plan: Plan,
    *,
    diff: str | None = None,
    long: bool = False,
) -> None:
    """Print a plan, and the diff of what it changes where that is given."""
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


def tell_written(plan: Plan, written: Sequence[str] | None, *, write: bool) -> None:
    """Say which files are written, or why none is."""
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
