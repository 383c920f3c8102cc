"""Whose list an import is of: named, new, recognised, or asked on a terminal."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.common import console, tell
from fitcheck.cli.parameters import CURRENCY
from fitcheck.cli.terminal import ask, digit_keys, read_key
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitcheck.catalogue.editing import Draft
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.trade import Supplier
    from fitcheck.services.price_lists.reading import SupplierList
    from fitcheck.services.price_lists.suppliers import Candidate


@dataclass(frozen=True)
class Sender:
    """Whose list it is.

    Attributes:
        catalogue: the catalogue, with the supplier in it.
        entry: the supplier.
        draft: the draft of its file, where that is still to be made.
        known_by: what it was recognised by; empty where somebody named it.
    """

    catalogue: Catalogue
    entry: Entry[Supplier]
    draft: Draft | None = None
    known_by: str = ""

    def reload(self, catalog: str | None) -> Sender:
        """The same as the files have it by now.

        Args:
            catalog: the catalogue, as given.
        """
        from fitcheck.catalogue.reader import load

        catalogue = load(catalog)
        return Sender(catalogue, catalogue.suppliers[self.entry.id], known_by=self.known_by)


def find_sender(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    named: Mapping[str, Any],
    *,
    asks: bool,
    catalog: str | None,
) -> Sender:
    """The supplier that was named, is new, or is recognised, which is said in one line.

    Args:
        catalogue: the catalogue.
        supplier_list: the list.
        named: what `--supplier`, `--new-supplier`, `--currency` and `--id-prefix` say, by name.
        asks: whether somebody can be asked.
        catalog: the catalogue, as given.

    Raises:
        UsageError: nobody knows; the line says what to do.
    """
    from fitcheck.services.price_lists.suppliers import find_candidates, is_sure

    if named["supplier"] is not None and named["new_supplier"] is not None:
        raise click.UsageError("--supplier and --new-supplier: name one of them")
    if named["new_supplier"] is not None:
        currency = named["currency"] or (_ask_currency(catalogue) if asks else None)
        if currency is None:
            raise click.UsageError("--new-supplier needs --currency, like EUR")
        sender = _new_sender(catalogue, named["new_supplier"], currency, named["id_prefix"])
        return _save_now(sender).reload(catalog) if asks else sender
    if named["supplier"] is not None:
        return Sender(catalogue, _named_supplier(catalogue, named["supplier"]))
    found = find_candidates(catalogue, supplier_list)
    if is_sure(found):
        sender = Sender(catalogue, found[0].supplier, known_by=found[0].words)
        name = sender.entry.record.name
        tell(f"{supplier_list.path}: a list of {name}, known by {sender.known_by}")
        return sender
    if asks:
        return _ask_sender(catalogue, supplier_list.path, found).reload(catalog)
    raise UsageError(_whose_words(supplier_list.path, found))


def _whose_words(file: str, found: Sequence[Candidate]) -> str:
    """What to do where nobody knows whose list it is."""
    if not found:
        return (
            f"{file}: no supplier here is known to send this; name it with --supplier NAME, or "
            "make it: --new-supplier NAME --currency EUR"
        )
    first = f"fitcheck import {file} --supplier {found[0].supplier.id}"
    told = " or ".join(f"{each.supplier.id} ({each.words})" for each in found[:3])
    return f"{file}: whose list is it? Perhaps of {told}; say so: {first}"


def _new_sender(catalogue: Catalogue, name: str, currency: str, id_prefix: str | None) -> Sender:
    from fitcheck.services.price_lists.suppliers import add_supplier, id_of_name

    catalogue, draft = add_supplier(catalogue, name, currency=currency, id_prefix=id_prefix)
    return Sender(catalogue, catalogue.suppliers[id_of_name(name)], draft)


def _ask_currency(catalogue: Catalogue) -> str:
    from fitcheck.services.price_lists.suppliers import usual_currency

    usual = usual_currency(catalogue)
    found: str = ask(f"Currency of its prices (empty: {usual})", CURRENCY.read, empty=usual)
    return found


def _ask_sender(catalogue: Catalogue, file: str, found: Sequence[Candidate]) -> Sender:
    """Ask whose list it is; a new supplier is made, and its file written at once."""
    from fitcheck.screens.price_lists.question import print_keys
    from fitcheck.services.counter.lookup import find_supplier
    from fitcheck.services.price_lists.entries import read_prefix, usual_prefix
    from fitcheck.services.price_lists.suppliers import id_of_name

    out, keys = console(), digit_keys(found)
    out.headed(f"{file}: ", "whose list is it?")
    print_keys(
        out,
        [
            *(f"{key} {each.supplier.record.name} ({each.words})" for key, each in keys.items()),
            *(["o another one on file"] if catalogue.suppliers else []),
            "n a new supplier",
            "q stop",
        ],
    )
    while (key := read_key()) not in (*keys, "n", *("o" if catalogue.suppliers else "")):
        if key == "q":
            raise UsageError(_whose_words(file, found))
    if key in keys:
        return Sender(catalogue, keys[key].supplier)
    if key == "o":
        return Sender(catalogue, ask("Its name or id", partial(find_supplier, catalogue)))
    like = " ".join(re.findall(r"[^\W\d_]+", Path(file).stem)).title() or "Supplier"
    name = ask(f"Its name (empty: {like})", str, empty=like)
    currency = _ask_currency(catalogue)
    id_ = id_of_name(name) or "supplier"
    prefix = usual_prefix(catalogue, id_)
    own = ask(
        f"Ids of its entries begin with (empty: {prefix})",
        partial(read_prefix, catalogue, id_),
        empty=prefix,
    )
    return _save_now(_new_sender(catalogue, name, currency, own))


def _save_now(sender: Sender) -> Sender:
    """Write the file of a new supplier, so that answers can be kept in it."""
    from fitcheck.catalogue.editing import save

    assert sender.draft is not None
    save([sender.draft])
    tell(f"written: {sender.draft.shown}")
    return sender


def _named_supplier(catalogue: Catalogue, name: str) -> Entry[Supplier]:
    """The supplier of a name; where it is unknown, how to make it known."""
    from fitcheck.services.counter.lookup import find_supplier
    from fitcheck.services.price_lists.suppliers import id_of_name

    try:
        return find_supplier(catalogue, name)
    except UsageError as error:
        unknown = str(error) if str(error).endswith("?") else f"{error};"
        id_ = id_of_name(name) or "name"
        raise UsageError(
            f"{unknown} a new supplier is made with --new-supplier {name!r} --currency EUR, or is "
            f"a small file, suppliers/{id_}.yaml in the catalogue: kind: supplier, "
            f"records:, and below it {id_}: {{name: {name}, currency: EUR}}"
        ) from None
