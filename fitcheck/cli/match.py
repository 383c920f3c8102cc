"""`fitcheck match`: every combination that fits, ranked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.common import asked_of, emit
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import (
    Command,
    WholeNumber,
    catalog_option,
    format_option,
    once,
    section,
)
from fitcheck.cli.progress import working
from fitcheck.cli.road_options import given_names, model_options, read_road
from fitcheck.cli.values import MILLIMETRES, MONEY, TEETH, WINDOW
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.counter.request import Request
    from fitcheck.services.counter.subject import Subject
    from fitcheck.services.road.asked import RoadAsked

_TABLE_ROWS = 20


def subject_options(function: Any) -> Any:
    """The machine: by id, file, or counts alone."""
    return section(
        "Machine",
        once("--family", metavar="NAME", help="Engine family, where no machine is named."),
        once(
            "--housing",
            metavar="NAME",
            help="Gearbox housing; not known, fit stays open where it matters.",
        ),
        once(
            "--teeth",
            type=TEETH,
            metavar="PAIRS",
            help="Counted pairs in order: 14/45,13/48.",
        ),
        once(
            "--idler-seats",
            metavar="CODES",
            help="Idler seats measured on it, in order: ST-14; ? for one not measured. They "
            "override the record's.",
        ),
        once(
            "--wheel",
            type=WholeNumber(4, 30),
            metavar="INCHES",
            help="Rim size of the driven wheel, 4 to 30.",
        ),
        once("--tune", metavar="NAME", help="State of tune, whose band is applied."),
        once(
            "--tyre",
            metavar="SIZE",
            help="Size of the tyre that is on now, as on its sidewall, or its id in the "
            "catalogue; overrides the machine's record.",
        ),
        once(
            "--roll-out",
            type=MILLIMETRES,
            metavar="MM",
            help="Distance per wheel turn now, as measured; overrides the machine's record.",
        ),
        once(
            "--new-roll-out",
            type=MILLIMETRES,
            metavar="MM",
            help="Distance per wheel turn with another tyre; counted into road speed.",
        ),
        once(
            "--new-tyre",
            metavar="SIZE",
            help="Tyre to change to, by its size or its id in the catalogue, instead of "
            "--new-roll-out.",
        ),
    )(function)


def filter_options(function: Any) -> Any:
    """What to list."""
    return section(
        "What to list",
        once(
            "--percent",
            type=WINDOW,
            metavar="LOW..HIGH",
            help="Road-speed change wanted, instead of the band, edges included: 10..15, "
            "-8..0, ..20.",
        ),
        once(
            "--band",
            type=click.Choice(["in", "stretch", "any"]),
            default="in",
            show_default=True,
            help="The tune's band, up to its stretch, or any change.",
        ),
        click.option(
            "--supplier",
            multiple=True,
            metavar="NAME",
            help="Only this supplier; may be given again for more.",
        ),
        once(
            "--max-price",
            type=MONEY,
            metavar="AMOUNT",
            help="Highest price of a combination, 120 or '120 CHF'; a plain number is in the "
            "shop's usual currency. Unknown prices are left out.",
        ),
        once(
            "--max-sets",
            type=WholeNumber(1, 3),
            metavar="NUMBER",
            help="Highest number of sets to buy, 1 to 3.",
        ),
        click.option("--in-stock", is_flag=True, help="Only where every set is on the shelf."),
        click.option("--taller-only", is_flag=True, help="Leave out what makes it shorter."),
        click.option("--proven-only", is_flag=True, help="Leave out what is unproven."),
        once(
            "--top",
            type=WholeNumber(0),
            metavar="NUMBER",
            help=f"Rows at most, 0 for all. Default: {_TABLE_ROWS} in a table, else all.",
        ),
    )(function)


def list_road_options(function: Any) -> Any:
    """What a list tells of the road and the law, and what is known of the machine there."""
    wanted = section(
        "On the road and before the law",
        click.option(
            "--road",
            "show_road",
            is_flag=True,
            help="Also show real top speed, pull at the wheel as it starts off, time to 45 km/h, "
            "and whether the engine pulls it.",
        ),
        once(
            "--rank",
            type=click.Choice(["change", "top-speed", "start-off", "0-45", "verdict"]),
            default="change",
            show_default=True,
            help="What comes first: most road-speed change, most real top speed, most pull as it "
            "starts off, least time to 45 km/h, or what the engine pulls. All but the first imply "
            "--road.",
        ),
        click.option(
            "--lawful",
            is_flag=True,
            help="Leave out what takes the machine over its class's speed, and mark what may; "
            "with --proven-only leave that out too.",
        ),
    )
    return wanted(model_options(function))


margins_option = click.option(
    "--margins",
    is_flag=True,
    help="Also tell what the shop earns: selling price less cost on the shelf. Not for customers.",
)
"""Shared by `match` and `why`; never on what a customer takes home."""


@click.command(
    "match",
    cls=Command,
    epilog="Example: fitcheck match dunlin-ten --percent 8..12 --max-price 120",
)
@click.argument("machine", required=False)
@subject_options
@filter_options
@section(
    "What to list",
    click.option(
        "--all", "everything", is_flag=True, help="Also show what was ruled out, and why."
    ),
    margins_option,
)
@list_road_options
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    machine: str | None,
    *,
    everything: bool,
    margins: bool,
    output_format: str,
    catalog: str | None,
    **options: Any,
) -> int:
    """List every combination of gear sets that fits MACHINE, most road speed first or by --rank.

    MACHINE is the id or name of a machine in the catalogue, or a YAML file holding one. Without
    it, give --family and --teeth, and --housing, --wheel and --tune where you know them.
    """
    from dataclasses import replace

    from fitcheck.services.counter.match import match

    with asked_of(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        request = replace(
            read_request(catalogue, options, output_format, everything), margins=margins
        )
        with working("matching"):
            result = match(subject, request)
    if output_format == "table":
        from fitcheck.screens.counter.match import print_match
        from fitcheck.screens.screen import console

        print_match(console(), result)
    else:
        from fitcheck.answers.match import match_answer, match_table

        emit(output_format, lambda: match_answer(result), lambda: match_table(result))
    return 0 if result.combinations else EXIT_NOTHING


def read_subject(catalogue: Catalogue, machine: str | None, options: dict[str, Any]) -> Subject:
    """The subject from a machine, with what the options say instead, or from counts alone.

    Raises:
        UsageError: neither is given, or an option makes no sense.
    """
    from dataclasses import replace

    from fitcheck.services.counter.lookup import find_housing, find_tune
    from fitcheck.services.counter.subject import subject_from_counts, subject_of, with_idler_seats

    family, pairs = options["family"], options["teeth"]
    if machine is not None:
        if family is not None:
            raise click.UsageError("give a machine or --family, not both")
        subject = subject_of(catalogue, machine)
        if pairs is not None:
            if len(pairs) != len(subject.stages):
                stages = subject.stages
                raise UsageError(
                    f"this train has {len(stages)} stage{'s' * (len(stages) > 1)} "
                    f"({', '.join(stages)}), counted {len(pairs)}; give the pair of every stage "
                    "in order"
                )
            subject = replace(subject, pairs=pairs)
        if options["housing"] is not None:
            subject = replace(subject, housing=find_housing(subject.family, options["housing"]))
        if options["wheel"] not in (None, subject.wheel_size_in):
            # The roll-out on record is that of a tyre for the other wheel.
            roll_out = None if subject.wheel_size_in is not None else subject.roll_out
            subject = replace(subject, wheel_size_in=options["wheel"], roll_out=roll_out)
        if options["tune"] is not None:
            subject = replace(subject, tune=find_tune(catalogue, options["tune"]))
    elif pairs is None:
        raise click.UsageError(
            "name a machine, or give --family and --teeth"
            if family is None
            else f"--teeth is missing; count the gears of the {family}, like 14/45,13/48"
        )
    elif family is None:
        raise UsageError(_offer_families(catalogue, pairs, options["wheel"]))
    else:
        subject = subject_from_counts(
            catalogue,
            family,
            pairs,
            housing_name=options["housing"],
            tune_name=options["tune"],
            wheel_size_in=options["wheel"],
        )
    if options["idler_seats"] is not None:
        subject = with_idler_seats(subject, options["idler_seats"].split(","))
    return _with_tyre(catalogue, subject, options)


def _with_tyre(catalogue: Catalogue, subject: Subject, options: dict[str, Any]) -> Subject:
    from fitcheck.services.counter.tyre_change import change_tyre, present_tyre
    from fitcheck.services.counter.tyres import name_tyre

    present_mm, new = options["roll_out"], options["new_roll_out"]
    present = None if options["tyre"] is None else name_tyre(catalogue, options["tyre"])
    if options["new_tyre"] is not None:
        if new is not None:
            raise click.UsageError("give --new-roll-out or --new-tyre, not both")
        new = name_tyre(catalogue, options["new_tyre"])
    if new is not None:
        of_record = None if subject.entry is None else subject.entry.record.wheel_size_in
        if (present, present_mm) == (None, None) and of_record not in (None, subject.wheel_size_in):
            raise UsageError(
                "a new tyre counts against the present one, and the one on record is for another "
                "wheel: give --tyre SIZE or --roll-out MM too"
            )
        return change_tyre(subject, new, present_mm, present)
    return present_tyre(subject, present, present_mm)


def read_request(
    catalogue: Catalogue, options: dict[str, Any], output_format: str, everything: bool = False
) -> Request:
    """What to list, from the filter options.

    Raises:
        UsageError: a supplier is not there.
    """
    from fitcheck.services.counter.lookup import find_supplier
    from fitcheck.services.counter.request import Request

    top, max_price = options["top"], options["max_price"]
    if top is None:
        top = _TABLE_ROWS if output_format == "table" else 0
    suppliers = frozenset(find_supplier(catalogue, name).id for name in options["supplier"])
    return Request(
        percent=options["percent"],
        band=options["band"],
        top=top or None,
        suppliers=suppliers,
        max_price=None if max_price is None else max_price.amount,
        currency=None if max_price is None else max_price.currency,
        max_sets=options["max_sets"],
        in_stock=options["in_stock"],
        taller_only=options["taller_only"],
        proven_only=options["proven_only"],
        exclusions=everything,
        show_road=options["show_road"],
        rank=options["rank"],
        lawful=options["lawful"],
        road=_read_road(catalogue, options),
    )


def _read_road(catalogue: Catalogue, options: dict[str, Any]) -> RoadAsked | None:
    """Inputs of the road model, where the road or the law is asked.

    Raises:
        UsageError: neither is, so they would be lost; or they contradict each other.
    """
    if options["show_road"] or options["lawful"] or options["rank"] != "change":
        return read_road(catalogue, options)
    given = given_names(options)
    if given:
        raise click.UsageError(
            f"{given[0]} is of the road, and nothing of the road is asked; give --road, --rank or "
            "--lawful too"
        )
    return None


def _offer_families(catalogue: Catalogue, pairs: Any, wheel: int | None) -> str:
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.identify import Slip, identify

    counted = ", ".join(map(str, pairs))
    found = identify(catalogue, pairs, wheel)
    exact = [one for one in found if one.slip <= Slip.OTHER_WHEEL]
    if exact:
        offers = or_list(
            dict.fromkeys(
                f"{one.family.id} ({one.factory_train.housing}, "
                f"{one.factory_train.wheel_size_in} in)"
                for one in exact
            )
        )
        return f"--family is missing; {counted} is a factory train of {offers}"
    found = [one for one in found if one.slip is not Slip.TWO_SLIPS] or found
    near = or_list(dict.fromkeys(one.family.id for one in found[:4]))
    hint = f"near it are trains of {near}: see fitcheck identify {' '.join(map(str, pairs))}"
    return f"--family is missing, and {counted} is no factory train on file" + (
        f"; {hint}" if found else f"; there is {or_list(catalogue.families)}"
    )
