"""`fitcheck add machine`, `family` and `supplier`: shown first, and written after a yes."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section
from fitcheck.cli.common import late, open_catalogue, tell
from fitcheck.cli.naming import whole_name
from fitcheck.cli.parameters import (
    CURRENCY,
    FAMILY,
    INCHES,
    MILLIMETRES,
    SHARE,
    TUNE,
    TYRE,
    Reader,
    WholeNumber,
    catalog_option,
    many,
    once,
    read_counts,
)
from fitcheck.cli.road import known_options
from fitcheck.cli.terminal import ask, on_a_terminal
from fitcheck.cli.upkeep import refuse_demo, show_and_write, write_option
from fitcheck.errors import UsageError, clip

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.kernel.teeth import Pair
    from fitcheck.services.upkeep.add_records import NewRecord, Train

MEASURE = Reader("number", late("fitcheck.services.upkeep.typed_values:typed_measure"))
"""A number as a caliper shows it."""
HOUSINGS = Reader("housings", late("fitcheck.services.upkeep.add_records:read_housings"))
"""Housings by id, of words with commas between."""

_id_option = once("--id ID record_id", "Id of the record. Default: made of the name.")

_ON_FILE: dict[str, tuple[str, ...]] = {
    "power": ("engine.peak_power_kw", "engine.peak_power_rpm"),
    "rev_limit_rpm": ("engine.rev_limit_rpm",),
    "ratios": ("variator.low_ratio", "variator.high_ratio"),
    "shift_rpm": ("variator.shift_rpm",),
    "engage_rpm": ("variator.engage_rpm",),
    "mass_kg": ("masses.running_order_kg",),
    "rider_kg": ("masses.rider_kg",),
    "drag_area_m2": ("drag_area_m2",),
    "rolling_coefficient": ("rolling_coefficient",),
    "vehicle_class": ("vehicle_class",),
}
"""Options of `road` that a machine's record keeps, each with the fields it fills."""


@command(
    "machine",
    'fitcheck add machine "Rosa\'s Ten" 15/46 14/55 -f dunlin-50 -w 10 --write',
)
@click.argument("name", required=False, metavar="NAME")
@click.argument("words", nargs=-1, metavar="PAIRS... [FIELD=VALUE]...")
@section(
    "The machine",
    once("--family NAME", "Engine family; needed.", FAMILY, daily=True),
    once("--housing NAME", "Gearbox housing; leave it out while nobody has looked.", daily=True),
    once(
        "--wheel INCHES wheel_size_in",
        "Rim size of the driven wheel.",
        INCHES,
        daily=True,
    ),
    once("--tune NAME", "State of tune, whose band is applied.", TUNE, daily=True),
    once(
        "--tyre SIZE",
        "Tyre of the driven wheel: its size, or its id in the catalogue.",
        TYRE,
        daily=True,
    ),
    once("--roll-out MM roll_out_mm", "Distance per wheel turn, measured, rider on.", MILLIMETRES),
    once("--idler-seats CODES", "Idler seats measured on it, in order; ? for one not measured."),
    once("--notes TEXT", "Anything worth knowing, such as a number to call.", daily=True),
    _id_option,
)
@known_options("On the road, as for fitcheck road", _ON_FILE)
@write_option
@catalog_option
def machine_command(
    name: str | None, words: tuple[str, ...], *, write: bool, catalog: str | None, **said: Any
) -> int:
    """Add a customer's machine, with the teeth counted from input shaft to wheel.

    FIELD=VALUE gives a field that has no option, named as for edit: variator.efficiency=0.83. On a
    terminal what is needed and was left out is asked. The record is shown as a diff and written
    after a yes, or with --write. Exit code 0: written, or the catalogue says so already, 1: shown
    but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep.add_records import add_machine

    if write:
        refuse_demo(catalog)
    pairs, more = _split_pairs(words)
    tyre, family = said.pop("tyre"), said.pop("family")
    with open_catalogue(catalog) as catalogue:
        name = name or _ask_name("machine")
        if family is None and on_a_terminal():
            family = ask(
                "Engine family",
                lambda text: _family_id(catalogue, text),
                like=next(iter(catalogue.families), None),
            )
        if not pairs and on_a_terminal():
            pairs = ask(
                "Teeth, driver/driven, from input shaft to wheel", read_counts, like="15/46 14/55"
            )
        if not pairs:
            raise click.UsageError("the teeth are missing; count them, like 15/46 14/55")
        family = family and whole_name(catalogue, "family", family)
        for option, kind in (("tune", "tune"), ("vehicle_class", "vehicle-class")):
            said[option] = said[option] and whole_name(catalogue, kind, said[option])
        new = _new(name, said.pop("record_id"), more, machine_fields(said))
        edited = add_machine(catalogue, new, family=family, pairs=pairs, tyre=tyre)
    code = show_and_write(edited, write=write, done=f"{edited.record_id} is added")
    if code == 0:
        tell(f"next: fitcheck match {edited.record_id}")
    return code


_TRAIN = re.compile(r"(?:(?P<housing>[^\s].*?)\s+)?(?P<wheel>[0-9]{1,2})[\s,]+(?P<pairs>\S.*/.*)")


def _read_train(text: str) -> Train:
    from fitcheck.services.upkeep.add_records import Train

    parts = _TRAIN.fullmatch(text.strip())
    if parts is None:
        raise UsageError(
            f"{clip(text)!r} is no factory train; write housing, rim size and pairs, like 'short "
            "10 14/45 13/49'"
        )
    counts = read_counts(",".join(parts["pairs"].replace(",", " ").split()))
    return Train(counts, int(parts["wheel"]), parts["housing"])


GEARBOX = (
    many(
        "--housing NAME housings",
        "Housing, or several with commas between; s=short case gives one an id. Default: what "
        "--train names.",
        HOUSINGS,
        daily=True,
    ),
    many(
        "--train TRAIN trains",
        "What a model has from the factory: housing, rim size and pairs in quotes, like 'short 10 "
        "14/45 13/49'; may be given again.",
        Reader("train", _read_train),
        daily=True,
    ),
    once("--stages NUMBER", "Stages of its trains, where no --train is given.", WholeNumber(1, 3)),
    many(
        "--distance MM distances",
        "Centre distance of a stage, measured, from input shaft to wheel.",
        MEASURE,
        daily=True,
    ),
)
"""Options that say what the gearbox of a family is."""


@command(
    "family",
    "fitcheck add family Greenshank --housing short,long --train 'short 10 14/45 13/49' --write",
)
@click.argument("name", required=False, metavar="NAME")
@click.argument("more", nargs=-1, metavar="[FIELD=VALUE]...")
@section(
    "The family",
    *GEARBOX,
    once("--displacement CM3 displacement_cm3", "Displacement as made.", MEASURE),
    many("--alias TEXT aliases", "Another name of it, in lists and talk."),
    once("--notes TEXT", "Anything worth knowing."),
    _id_option,
)
@write_option
@catalog_option
def family_command(
    name: str | None, more: tuple[str, ...], *, write: bool, catalog: str | None, **said: Any
) -> int:
    """Add an engine family: one engine whose gearbox several models share.

    FIELD=VALUE gives a field that has no option, named as for edit:
    interfaces.input_shaft_end=D13. What nobody measured is left out: it can be added later, and
    until then a fit rests on what suppliers state. Exit code 0: written, or the catalogue says so
    already, 1: shown but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep.add_records import add_family

    if write:
        refuse_demo(catalog)
    with open_catalogue(catalog) as catalogue:
        given = {key: said[key] for key in ("displacement_cm3", "notes")}
        given["aliases"] = list(said["aliases"])
        edited = add_family(
            catalogue,
            _new(name or _ask_name("family"), said["record_id"], more, given),
            housings={id_: words for each in said["housings"] for id_, words in each.items()},
            trains=said["trains"],
            stages=said["stages"],
            distances=said["distances"],
        )
    return show_and_write(edited, write=write, done=f"{edited.record_id} is added")


@command("supplier", "fitcheck add supplier 'Sea Aster' --currency EUR --discount 30 --write")
@click.argument("name", required=False, metavar="NAME")
@click.argument("more", nargs=-1, metavar="[FIELD=VALUE]...")
@section(
    "The supplier",
    once("--currency CODE", "Of its prices. Default: that of most suppliers.", CURRENCY),
    once("--discount PERCENT discount_percent", "What the shop gets off its list prices.", SHARE),
    once("--id-prefix TEXT", "What ids of its entries begin with. Default: letters of its name."),
    once("--notes TEXT", "Anything worth knowing."),
    _id_option,
)
@write_option
@catalog_option
def supplier_command(
    name: str | None,
    more: tuple[str, ...],
    *,
    record_id: str | None,
    write: bool,
    catalog: str | None,
    **given: Any,
) -> int:
    """Add a supplier; its price lists come in by fitcheck import.

    FIELD=VALUE gives a field that has no option, named as for edit. Exit code 0: written, or the
    catalogue says so already, 1: shown but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep.add_records import add_supplier

    if write:
        refuse_demo(catalog)
    with open_catalogue(catalog) as catalogue:
        new = _new(name or _ask_name("supplier"), record_id, more, given)
        edited = add_supplier(catalogue, new)
    return show_and_write(edited, write=write, done=f"{edited.record_id} is added")


def machine_fields(said: dict[str, Any]) -> dict[str, Any]:
    """Fields of a machine's record, of the values of its options by what they become."""
    given = {key: value for key, value in said.items() if key not in _ON_FILE and value is not None}
    if "roll_out_mm" in given:
        given["roll_out_mm"] = _exact(given["roll_out_mm"])
    if "idler_seats" in given:
        given["idler_seats"] = [seat.strip() for seat in given["idler_seats"].split(",")]
    for option, fields in _ON_FILE.items():
        value = said.get(option)
        if value is None:
            continue
        if option == "ratios" and value[0] == value[1]:
            given["fixed_ratio"] = _exact(value[0])
            continue
        values = value if isinstance(value, tuple) else (value,)
        given |= {
            field: _exact(each) if isinstance(each, float) else each
            for field, each in zip(fields, values, strict=True)
        }
    return given


def _split_pairs(words: Sequence[str]) -> tuple[tuple[Pair, ...], list[str]]:
    """The counted pairs among some words, and those that are `field=value`."""
    counts = [word for word in words if "=" not in word]
    pairs = read_counts(",".join(counts)) if counts else ()
    return pairs, [word for word in words if "=" in word]


def _exact(value: float | Fraction) -> Decimal:
    """A number with the digits it was given with."""
    exact = Decimal(repr(float(value)))
    return exact.quantize(Decimal(1)) if exact == exact.to_integral_value() else exact


def _new(name: str, record_id: str | None, more: Sequence[str], given: dict[str, Any]) -> NewRecord:
    from fitcheck.services.upkeep.add_records import NewRecord

    return NewRecord(name, given, tuple(more), record_id)


def _ask_name(what: str) -> str:
    """The name of a record that was left out.

    Raises:
        click.UsageError: nobody can be asked.
    """
    if not on_a_terminal():
        raise click.UsageError(f"the name is missing; give what the counter calls the {what}")
    return ask("Name", _name)


def _name(text: str) -> str:
    if not text:
        raise UsageError("write a name")
    return text


def _family_id(catalogue: Catalogue, text: str) -> str:
    from fitcheck.services.counter.lookup import find_family

    return find_family(catalogue, text).id
