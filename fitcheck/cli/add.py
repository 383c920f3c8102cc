"""`fitcheck add`: entries added to the catalogue from what somebody says of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import LazyGroup, command, section
from fitcheck.cli.common import open_catalogue
from fitcheck.cli.parameters import (
    DAY,
    INCHES,
    MONEY,
    SUPPLIER,
    TEETH,
    Money,
    Reader,
    catalog_option,
    many,
    once,
    read_counts,
)
from fitcheck.cli.terminal import ask, ask_if_known, on_a_terminal
from fitcheck.cli.upkeep import refuse_demo, show_and_write, write_option
from fitcheck.errors import UsageError, clip

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from decimal import Decimal

    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.kernel.teeth import Pair
    from fitcheck.model.fields import Stage

COMMANDS = {
    "set": "Add a gear set: what is sold under one part number.",
    "machine": "Add a customer's machine: its family and the teeth counted.",
    "family": "Add an engine family: its housings, its stages and what is known of them.",
    "supplier": "Add a supplier of gear sets.",
}
"""The commands, with one line each."""


@click.group(
    "add",
    cls=LazyGroup,
    words=COMMANDS,
    modules={
        "set": __name__,
        **dict.fromkeys(("machine", "family", "supplier"), "fitcheck.cli.add_records"),
    },
)
def add_command() -> None:
    """Add entries to the catalogue, judged and shown before they are written."""


_STAGES = ("single", "primary", "secondary", "tertiary")


def _family(text: str) -> tuple[str, tuple[str, ...]]:
    """A family's name, and the words that name housings of it."""
    name, sign, words = text.partition("=")
    housings = tuple(word for word in (part.strip() for part in words.split(",")) if word)
    if not name.strip() or (sign and not housings):
        raise UsageError(
            f"{clip(text)!r} names no family; write it like dunlin-50 or dunlin-50=short,mid"
        )
    return name.strip(), housings


@command(
    "set",
    "fitcheck add set --supplier marram --part-number 1852 --teeth 18/52 --stage "
    "primary --family dunlin-50=short,mid --price 58.90 --write",
)
@section(
    "The set",
    once("--supplier NAME", "Needed: whose set it is.", SUPPLIER, daily=True),
    once("--part-number TEXT", "Needed: the supplier's number.", daily=True),
    many(
        "--teeth PAIRS trains",
        "Needed: tooth counts, driver/driven; several pairs from input shaft to wheel.",
        TEETH,
        daily=True,
    ),
    many(
        "--stage stages",
        "Stage of each pair, in the same order. Needed where it can be one of several.",
        click.Choice(_STAGES, case_sensitive=False),
        daily=True,
    ),
    once("--name TEXT", "The supplier's words for it."),
    many("--alias TEXT aliases", "Another number of it."),
    once("--id ID set_id", "Id of the entry. Default: as the supplier's are."),
)
@section(
    "What it fits",
    many(
        "--family NAME[=HOUSING,HOUSING] families",
        "Engine family that somebody confirms, and its housings; may be given again for others.",
        Reader("family", _family),
        daily=True,
    ),
    many(
        "--housing NAME housings",
        "Housing of the one family that is confirmed; may be given several times.",
    ),
    once(
        "--evidence",
        "stated by the supplier, or measured: tried in the shop; of every family given. "
        "Default: stated.",
        click.Choice(("stated", "measured"), case_sensitive=False),
    ),
    many("--model TEXT models", "Model words of the supplier's list: information, never proof."),
    once("--wheel INCHES wheel_size_in", "Rim size that the list gives, 4 to 30.", INCHES),
)
@section(
    "Buying it",
    once(
        "--price AMOUNT",
        "Price, in the supplier's currency: 58.90 or '58.90 EUR'.",
        MONEY,
        daily=True,
    ),
    once(
        "--availability",
        "What the supplier says of its own stock.",
        click.Choice(
            ("in-stock", "to-order", "out-of-stock", "discontinued", "unknown"),
            case_sensitive=False,
        ),
    ),
    many(
        "--also-needs TEXT",
        "What else the job needs. Default: as the supplier's file says for all.",
    ),
    once("--notes TEXT", "Anything worth knowing."),
    once("--source-list TEXT list_name", "Name of the list it comes from."),
    once("--source-date DATE date", "Date of it. Default: today.", DAY),
)
@click.argument("more", nargs=-1, metavar="[FIELD=VALUE]...")
@write_option
@catalog_option
def set_command(*, write: bool, catalog: str | None, **said: Any) -> int:
    """Add a gear set to the file of its supplier.

    FIELD=VALUE gives a field that has no option, named as for edit: interfaces.wheel_seat=ST-14.

    On a terminal what is needed and was left out is asked, and without --write also family,
    housings and price, which may stay open. The entry is shown as a diff and written after a yes,
    or with --write. Nothing that was not said is put in. Exit code 0: written, or the catalogue
    says so already, 1: shown but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep import NewSet, add_set

    may_ask = on_a_terminal()
    if write:
        refuse_demo(catalog)
    with open_catalogue(catalog) as catalogue:
        pairs = tuple(pair for train in said.pop("trains") for pair in train)
        stages = tuple(said["stages"])
        families = _families(said.pop("families"), said.pop("housings"))
        if may_ask:
            said["supplier"], said["part_number"] = _ask_who(catalogue, said)
            if not write:
                families = families or _ask_families(catalogue)
            pairs, stages = _ask_teeth(catalogue, families, pairs, stages)
            if not write and said["price"] is None:
                said["price"] = _ask_price(catalogue, said["supplier"])
        else:
            _refuse_missing(said, pairs)
        if said["price"] is not None:
            said["price"] = _price(catalogue, said["supplier"], said["price"])
        said |= {"pairs": pairs, "stages": stages, "families": families}
        edited = add_set(catalogue, NewSet(**said | {"also_needs": said["also_needs"] or None}))
    return show_and_write(edited, write=write, done=f"{edited.record_id} is added")


def _families(
    given: Sequence[tuple[str, tuple[str, ...]]], housings: Sequence[str]
) -> dict[str, tuple[str, ...]]:
    """Housings by family; `--housing` is of the one family given.

    Raises:
        UsageError: of which family a housing is, or which housings are meant, is not clear.
    """
    names = [name for name, _ in given]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise UsageError(f"--family {twice} is given twice; name its housings together")
    if not housings:
        return dict(given)
    if not given:
        raise UsageError("the housings of which family? give --family too")
    if len(given) > 1 or given[0][1]:
        raise UsageError(
            f"--housing of which family? write the housings behind it: --family "
            f"{names[0]}={','.join((*given[0][1], *housings))}"
        )
    return {names[0]: tuple(housings)}


def _refuse_missing(said: dict[str, Any], pairs: Sequence[Pair]) -> None:
    """One line where something needed is left out."""
    needed = {
        "--supplier": said["supplier"],
        "--part-number": said["part_number"],
        "--teeth": pairs or None,
    }
    missing = [name for name, value in needed.items() if value is None]
    if missing:
        raise click.UsageError(
            f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing; a gear set "
            "needs --supplier, --part-number and --teeth"
        )


def _ask_who(catalogue: Catalogue, said: dict[str, Any]) -> tuple[str, str]:
    from fitcheck.services.counter.lookup import find_supplier

    supplier = said["supplier"]
    if supplier is None:
        supplier = ask("Supplier", lambda text: find_supplier(catalogue, text).id)
    number = said["part_number"]
    if number is None:
        number = ask("Part number", _word)
    return supplier, number


def _ask_families(catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    """The family that somebody confirms and its housings, as far as they are known."""
    from fitcheck.services.counter.lookup import find_family, find_housing

    family = ask_if_known(
        "Engine family that somebody confirms", lambda text: find_family(catalogue, text)
    )
    if family is None:
        return {}

    def housings(text: str) -> tuple[str, ...]:
        words = [word.strip() for word in text.split(",") if word.strip()]
        return tuple(find_housing(family, word) for word in words)

    known = ", ".join(family.record.housings)
    return {family.id: ask_if_known(f"Housings of it, of {known}", housings) or ()}


def _ask_price(catalogue: Catalogue, supplier: str) -> Money | None:
    from fitcheck.services.counter.lookup import find_supplier

    currency = find_supplier(catalogue, supplier).record.currency

    def price(text: str) -> Money:
        return Money(_price(catalogue, supplier, MONEY.read(text)), None)

    return ask_if_known(f"Price in {currency}", price)


def _price(catalogue: Catalogue, supplier: str, money: Money) -> Decimal:
    """An amount in the supplier's currency.

    Raises:
        UsageError: it is in another one.
    """
    from fitcheck.services.counter.lookup import find_supplier

    currency = find_supplier(catalogue, supplier).record.currency
    if money.currency not in (None, currency):
        raise UsageError(
            f"the price is in {money.currency}, and {supplier} sells in {currency}; give it in that"
        )
    return money.amount


def _ask_teeth(
    catalogue: Catalogue,
    families: Iterable[str],
    pairs: tuple[Pair, ...],
    stages: tuple[Stage, ...],
) -> tuple[tuple[Pair, ...], tuple[Stage, ...]]:
    from fitcheck.services.counter.lookup import find_family
    from fitcheck.services.upkeep.add import stages_for

    known = [find_family(catalogue, name) for name in families]
    if not pairs:
        question = "Teeth, driver/driven, from input shaft to wheel"
        pairs = ask(question, read_counts, like="15/46 14/55")
    if not stages and stages_for(len(pairs), known) is None:
        trains = [family.record.train_stages for family in known]
        shared = tuple(s for s in _STAGES if all(s in train for train in trains))
        choice: tuple[str, ...] = shared or _STAGES
        stages = tuple(
            ask(f"Stage of {pair} ({', '.join(choice)})", _choice(choice)) for pair in pairs
        )
    return pairs, stages


def _word(text: str) -> str:
    if not text:
        raise UsageError("write the supplier's number")
    return text


def _choice(known: Sequence[str]) -> Callable[[str], Any]:
    def read(text: str) -> str:
        from fitcheck.diagnostics.suggest import nearest, or_list

        if text.lower() in known:
            return text.lower()
        near = nearest(text, known)
        raise UsageError(f"did you mean {near}?" if near else f"write {or_list(known)}")

    return read
