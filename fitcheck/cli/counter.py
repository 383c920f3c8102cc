"""`fitcheck match`, `why`, `options` and `identify`: what fits, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section, together
from fitcheck.cli.common import console, emit, late, open_catalogue, tell, working
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.naming import whole_housing, whole_name
from fitcheck.cli.parameters import (
    FAMILY,
    INCHES,
    MACHINE,
    MACHINE_AND_SETS,
    MONEY,
    SUPPLIER,
    TUNE,
    WINDOW,
    WholeNumber,
    catalog_option,
    flag,
    format_option,
    list_options,
    long_option,
    many,
    once,
    read_counts,
)
from fitcheck.cli.road import list_given, model_options, read_road
from fitcheck.cli.subject import (
    conclude_family,
    read_subject,
    split_alone,
    split_sets,
    split_words,
    subject_options,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.family import Family
    from fitcheck.services.counter.choices import Choices
    from fitcheck.services.counter.request import Request
    from fitcheck.services.counter.subject import Subject
    from fitcheck.services.price_lists.list_fit import ListFit
    from fitcheck.services.price_lists.search import OpenLists
    from fitcheck.services.road.figures import RoadAsked

_TABLE_ROWS = 20
_GEARINGS = 10


filter_options = section(
    "What to list",
    once(
        "--percent LOW..HIGH",
        "Road-speed change wanted, as 8..12, -8..0 or ..20; replaces the band, edges included.",
        WINDOW,
        daily=True,
    ),
    once(
        "--band",
        "The tune's band, up to its stretch, or any change.",
        click.Choice(["in", "stretch", "any"]),
        default="in",
    ),
    many("--supplier NAME", "Only this supplier; may be given again for more.", SUPPLIER),
    once(
        "--max-price AMOUNT",
        "Highest price of a combination, 120 or '120 CHF'; a plain number is in the "
        "shop's usual currency. Unknown prices are left out.",
        MONEY,
        daily=True,
    ),
    once("--max-sets NUMBER", "Highest number of sets to buy, 1 to 3.", WholeNumber(1, 3)),
    flag("--in-stock", "Only where every set is on the shelf.", daily=True),
    flag("--orderable", "Only what can be had: no set discontinued and not on the shelf."),
    flag("--taller-only", "Leave out what makes it shorter."),
    flag("--proven-only", "Leave out what is unproven.", daily=True),
    once(
        "--top NUMBER",
        "Gearings at most, with --long choices, 0 for all. Default: what one screen holds, with "
        f"--long {_TABLE_ROWS}; all in other formats.",
        WholeNumber(0),
    ),
)
"""What to list."""


list_road_options = together(
    section(
        "On the road and before the law",
        flag(
            "--road show_road",
            "Also show what each does on the road; real top speed, pull at the wheel as it starts "
            "off, time to 45 km/h, and whether the engine pulls it.",
            daily=True,
        ),
        once(
            "--rank",
            "What comes first: most road-speed change, most real top speed, most pull as it "
            "starts off, least time to 45 km/h, or what the engine pulls. All but the first imply "
            "--road.",
            click.Choice(["change", "top-speed", "start-off", "0-45", "verdict"]),
            default="change",
        ),
        flag(
            "--lawful",
            "Leave out what takes the machine over its class's speed, and mark what may; "
            "with --proven-only leave that out too.",
            daily=True,
        ),
    ),
    model_options,
)
"""What a list tells of the road and the law, and what is known of the machine there."""

search_options = section(
    "Suppliers' lists, searched as they are",
    many(
        "--list FILE lists",
        "List only what an article of this supplier's list (CSV, XLSX, XLS, ODS) makes, and what "
        "each row is; may be given again. Nothing is written; --supplier says whose each list is.",
        daily=True,
    ),
    once(
        "--beside",
        "What may stand beside articles of the lists: nothing else, what lies on the shelf, or "
        "any set of the catalogue.",
        click.Choice(["list", "shelf", "catalogue"]),
        default="shelf",
    ),
)
"""Lists to search."""

margins_option = flag(
    "--margins",
    "Also show what the shop earns: selling price less cost on the shelf. Not for customers.",
)
"""Shared by `match` and `why`; never on what a customer takes home."""


@command(
    "match",
    "fitcheck match dunlin-ten --percent 8..12 --max-price 120",
    "fitcheck match dunlin-ten --in-stock --proven-only",
    "fitcheck match 15/46 14/55 -f dunlin-50 -w 10",
)
@click.argument("words", nargs=-1, metavar="MACHINE", type=MACHINE)
@subject_options
@filter_options
@section(
    "What to list",
    flag("--all everything", "Also show what was ruled out, and why.", daily=True),
    margins_option,
)
@search_options
@list_road_options
@long_option
@list_options
def match_command(
    words: tuple[str, ...],
    *,
    everything: bool,
    margins: bool,
    long: bool,
    output_format: str,
    catalog: str | None,
    **options: Any,
) -> int:
    """List every combination of gear sets that fits MACHINE, most road speed first or by --rank.

    MACHINE is the id or name of a machine in the catalogue, or how one of its words begins; a YAML
    file holding one; or its counted teeth, like 15/46 14/55, with --family, --housing, --wheel and
    --tune where you know them.
    """
    from dataclasses import replace

    from fitcheck.services.counter.choices import Choices
    from fitcheck.services.counter.match import match_choices

    with open_catalogue(catalog) as catalogue:
        machine = split_alone(catalogue, words, options)
        lists, known = _open_lists(catalogue, options)
        subject = read_subject(known, machine, options)
        request = replace(_read_request(known, options, output_format, everything), margins=margins)
        short = output_format == "table" and not long
        if short:
            request = at_a_glance(subject, request, options["top"])
        if lists is not None:
            request = lists.limit(request, options["beside"])
        with working("matching"):
            choices = Choices.of(subject)
            result = match_choices(choices, request)
            searched = None if lists is None else _fit_rows(lists, [choices], request)
    show = late("fitcheck.screens.counter.match:print_match", result)
    whole = options["top"] is not None
    if searched is not None:
        how = {"long": long, "whole": whole}
        show = late("fitcheck.screens.price_lists.search:print_search", result, searched, **how)
    elif short:
        show = late("fitcheck.screens.counter.glance:print_glance", result, whole=whole)
    emit(
        output_format,
        show,
        late("fitcheck.answers.match:match_answer", result, searched),
        late("fitcheck.answers.match:match_table", result),
    )
    return 0 if result.counts.listed else EXIT_NOTHING


def _open_lists(
    catalogue: Catalogue, options: dict[str, Any]
) -> tuple[OpenLists | None, Catalogue]:
    """The lists to search, with a line on whose each is, and the catalogue with them.

    The suppliers given are theirs then, and filter nothing.

    Raises:
        UsageError: a list makes no sense, or --beside is given without one.
    """
    if not options["lists"]:
        if options["beside"] != "shelf":
            raise click.UsageError("--beside is of a --list; give the list too")
        return None, catalogue
    from fitcheck.services.price_lists.search import open_lists

    suppliers = [whole_name(catalogue, "supplier", name) for name in options["supplier"]]
    with working("reading the lists"):
        lists = open_lists(catalogue, options["lists"], suppliers)
    options["supplier"] = ()
    for one in lists.opened:
        if one.note:
            tell(f"{one.path}: {one.note}")
    return lists, lists.catalogue


def _fit_rows(lists: OpenLists, trains: Iterable[Choices], request: Request) -> Sequence[ListFit]:
    """What each row of the lists is to a machine, or to the best of several factory trains."""
    from fitcheck.services.price_lists.list_fit import best_of
    from fitcheck.services.price_lists.row_fits import fit_rows

    return best_of([fit_rows(lists, choices, request) for choices in trains])


def at_a_glance(subject: Subject, request: Request, top: int | None) -> Request:
    """The same by gearing, and on the road where the files say enough for that."""
    from dataclasses import replace

    from fitcheck.services.road.inputs import is_known_on_road

    return replace(
        request,
        by_gearing=True,
        skips_gone=top is None,
        top=_GEARINGS if top is None else top or None,
        show_road=request.show_road or is_known_on_road(subject),
    )


def _read_request(
    catalogue: Catalogue, options: dict[str, Any], output_format: str, everything: bool = False
) -> Request:
    """What to list, from the filter options.

    Raises:
        UsageError: a supplier is not there.
    """
    from fitcheck.services.counter.lookup import find_supplier
    from fitcheck.services.counter.request import Request

    suppliers = [whole_name(catalogue, "supplier", name) for name in options["supplier"]]

    top, max_price = options["top"], options["max_price"]
    if top is None:
        top = _TABLE_ROWS if output_format == "table" else 0
    filters = ("percent", "band", "max_sets", "in_stock", "orderable", "taller_only", "proven_only")
    of_road = ("show_road", "rank", "lawful")
    return Request(
        top=top or None,
        suppliers=frozenset(find_supplier(catalogue, name).id for name in suppliers),
        max_price=None if max_price is None else max_price.amount,
        currency=None if max_price is None else max_price.currency,
        exclusions=everything,
        road=_read_road(catalogue, options),
        **{name: options[name] for name in (*filters, *of_road)},
    )


def _read_road(catalogue: Catalogue, options: dict[str, Any]) -> RoadAsked | None:
    """Inputs of the road model, where the road or the law is asked.

    Raises:
        UsageError: neither is, so they would be lost; or they contradict each other.
    """
    if options["show_road"] or options["lawful"] or options["rank"] != "change":
        return read_road(catalogue, options)
    given = list_given(options)
    if given:
        raise click.UsageError(
            f"{given[0]} is of the road, and nothing of the road is asked; give --road, --rank or "
            "--lawful too"
        )
    return None


@command("why", "fitcheck why dunlin-ten GW-20-108", "fitcheck why dunlin-ten MA-1545+SA-107")
@click.argument("words", nargs=-1, type=MACHINE_AND_SETS, metavar="MACHINE SETS...")
@subject_options
@margins_option
@long_option
@format_option("table", "json")
@catalog_option
def why_command(
    words: tuple[str, ...],
    *,
    margins: bool,
    long: bool,
    output_format: str,
    catalog: str | None,
    **options: Any,
) -> int:
    """Work out what SETS do to MACHINE, and say why they fit or not.

    SETS are ids or part numbers, joined by a space or a plus. With --family and --teeth no machine
    is named and every word is a set. The exit code is 3 where the sets are ruled out.
    """
    from fitcheck.rules.answers import Verdict
    from fitcheck.services.counter.why import explain

    machine, names = split_words(words, options)
    with open_catalogue(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        if not names:
            raise click.UsageError("name the gear sets after the machine: fitcheck why MACHINE SET")
        told = explain(subject, [one for word in names for one in split_sets(catalogue, word)])
    show = late("fitcheck.screens.counter.why:print_verdict", told, margins=margins)
    if long:
        show = late("fitcheck.screens.counter.why:print_why", told, margins=margins)
    emit(
        output_format,
        show,
        late("fitcheck.answers.why:why_answer", told, margins=margins),
    )
    return EXIT_NOTHING if told.combination.judgement.verdict is Verdict.RULED_OUT else 0


_OPTIONS_ROWS = 5


@command(
    "options",
    "fitcheck options dunlin-50 --housing short",
    "fitcheck options dunlin-50 --in-stock --proven-only",
)
@click.argument("words", nargs=-1, required=True, metavar="FAMILY", type=FAMILY)
@section(
    "Which lists",
    once("--housing NAME", "Only this gearbox housing."),
    once("--wheel INCHES", "Only this wheel size.", INCHES),
    once("--tune NAME", "Only this state of tune.", TUNE),
)
@filter_options
@search_options
@list_road_options
@long_option
@list_options
def options_command(
    words: tuple[str, ...],
    *,
    tune: str | None,
    long: bool,
    output_format: str,
    catalog: str | None,
    **filters: Any,
) -> int:
    """Show every choice for one engine FAMILY, by housing, wheel size and tune.

    FAMILY is its id, name or alias, or how one of their words begins; or the counted teeth of a
    factory train, like 15/46 14/55.

    The table shows the first gearings of each list, --top 0 all of them; --long and --format csv
    give every choice. On the road each factory train is judged with the factory's engine, variator
    and tyre.
    """
    from dataclasses import replace

    from fitcheck.services.counter.lookup import find_tune
    from fitcheck.services.counter.options import options

    short = output_format == "table" and not long
    with open_catalogue(catalog) as catalogue:
        lists, known = _open_lists(catalogue, filters)
        entry, housing, wheel = _read_family(known, words, dict(filters))
        if not (whole := filters["top"] is not None) and output_format == "table":
            filters["top"] = _GEARINGS if short else _OPTIONS_ROWS
        request = _read_request(known, filters, output_format)
        request = replace(request, by_gearing=short, skips_gone=short and not whole)
        if lists is not None:
            request = lists.limit(request, filters["beside"])
        groups = options(
            known,
            entry,
            request,
            housing=housing,
            wheel_size_in=wheel,
            tune=tune and find_tune(known, whole_name(known, "tune", tune)).id,
        )
    screen = late("fitcheck.screens.counter.options:print_options", entry.id, entry.record, groups)
    if output_format == "table" and long and lists is None:
        return 0 if screen(console()) else EXIT_NOTHING  # each list as soon as it is known
    with working("matching"):
        all_groups = list(groups)
        trains = {group.train: group.choices for group in all_groups}
        searched = None if lists is None else _fit_rows(lists, trains.values(), request)
    told = (entry.id, entry.record, all_groups)
    show = late("fitcheck.screens.counter.overview:print_overview", *told, whole=whole)
    if searched is not None:
        how = {"long": long, "whole": whole}
        show = late("fitcheck.screens.price_lists.search:print_choices", *told, searched, **how)
    emit(
        output_format,
        show,
        late("fitcheck.answers.match:options_answer", entry, all_groups, searched),
        late("fitcheck.answers.match:options_table", all_groups),
    )
    return 0 if any(group.result.counts.listed for group in all_groups) else EXIT_NOTHING


def _read_family(
    catalogue: Catalogue, words: tuple[str, ...], options: dict[str, Any]
) -> tuple[Entry[Family], str | None, int | None]:
    """The family named or concluded from its counted train, and the housing and wheel asked about.

    Raises:
        UsageError: more words than one family has, or it cannot be found.
    """
    from fitcheck.services.counter.audience import for_customer
    from fitcheck.services.counter.lookup import find_family

    options |= {"family": None, "teeth": None}
    name = split_alone(catalogue, words, options)
    housing, wheel = options["housing"], options["wheel"]
    if name is not None:
        family = find_family(catalogue, whole_name(catalogue, "family", name))
    else:
        trains, said = conclude_family(catalogue, options)
        family = trains[0].family
        if len(trains) == 1 and said is not None:
            train = trains[0].factory_train
            housing, wheel = housing or train.housing, wheel or train.wheel_size_in
            tell(f"{for_customer(said)}, {train.housing}, {train.wheel_size_in} in")
    return family, None if housing is None else whole_housing(family, housing), wheel


@command("identify", "fitcheck identify 15/46 14/55 --wheel 10")
@click.argument("counts", nargs=-1, required=True, metavar="PAIRS...")
@once("--wheel INCHES", "Rim size of the driven wheel, 4 to 30.", INCHES)
@list_options
def identify_command(
    counts: tuple[str, ...], wheel: int | None, output_format: str, catalog: str | None
) -> int:
    """Say which families, housings and factory trains have the counted PAIRS.

    Write the pairs from input shaft to wheel: fitcheck identify 14/45 13/48. Exact trains come
    first, then those that one slip in counting or writing would explain.
    """
    from fitcheck.services.counter.identify import identify

    pairs = read_counts(" ".join(counts))
    with open_catalogue(catalog) as catalogue:
        found = identify(catalogue, pairs, wheel)
    emit(
        output_format,
        late("fitcheck.screens.counter.identify:print_candidates", pairs, found),
        late("fitcheck.answers.identify:identify_answer", catalogue, pairs, wheel, found),
        late("fitcheck.answers.identify:identify_table", found),
    )
    return 0 if found else EXIT_NOTHING
