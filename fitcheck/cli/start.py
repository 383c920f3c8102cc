"""`fitcheck start`: a shop's own catalogue, from an empty folder to the first answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fitcheck.cli.add_records import GEARBOX, HOUSINGS, MEASURE, machine_fields
from fitcheck.cli.commands import EXIT_USAGE, command, section
from fitcheck.cli.common import echo_text, late, tell
from fitcheck.cli.parameters import (
    CURRENCY,
    INCHES,
    TEETH,
    Reader,
    WholeNumber,
    flag,
    once,
    read_counts,
)
from fitcheck.cli.terminal import LaterError, ask, ask_if_known, on_a_terminal
from fitcheck.errors import EditError, UsageError

if TYPE_CHECKING:
    from decimal import Decimal

    from fitcheck.catalogue.editing import Draft
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.family import Family
    from fitcheck.services.upkeep import Edited
    from fitcheck.services.upkeep.add_records import Train

T = TypeVar("T")

_REGIONS = late("fitcheck.services.upkeep.start:find_regions")

_NEEDED = ("shop", "law", "supplier", "family", "machine", "price_list")
"""Options of which at least one says what to write where nobody can be asked."""


@command(
    "start",
    "fitcheck start shop --law EU --supplier 'Sea Aster' --family Greenshank --housing short "
    "--train '10 14/45 13/49'",
)
@click.argument("home", default=".", metavar="[DIR]", type=click.Path(path_type=Path))
@section(
    "The shop",
    once("--shop NAME", "Its name, for the README of the catalogue.", daily=True),
    once(
        "--law PLACES",
        "Law that applies, whose vehicle classes are taken: EU, UK and so on.",
        Reader("places", _REGIONS),
        daily=True,
    ),
    flag("--no-tunes", "Leave out the usual states of tune and their bands."),
    once("--supplier NAME", "Name of the first supplier.", daily=True),
    once("--currency CODE", "Currency of its prices, like EUR.", CURRENCY),
)
@section(
    "The first family and machine",
    once("--family NAME", "Name of the first engine family.", daily=True),
    *GEARBOX,
    once("--machine NAME", "First machine, which is of this family.", daily=True),
    once("--teeth PAIRS", "Its teeth as counted. Default: those of --train.", TEETH),
    once("--machine-housing NAME", "Gearbox housing of that machine."),
    once("--wheel INCHES wheel_size_in", "Rim size of its driven wheel.", INCHES),
    once("--tune NAME", "Its state of tune."),
)
@once(
    "--list FILE price_list",
    "Price list of the supplier, taken in as by fitcheck import.",
    daily=True,
)
def start_command(home: Path, **given: Any) -> int:
    """Begin a shop's own catalogue in DIR: catalog/ with its files, schemas/ for the editor.

    On a terminal one question follows another; an empty answer leaves a thing for later, and so
    does the word later where an answer is needed. Elsewhere the options say what is written. Every
    record is saved as soon as it is whole, so it can be stopped at any time: start goes on with
    what is missing. Nothing that is there is overwritten. What is not invented is offered with its
    sources: classes of vehicle, usual states of tune. It ends with fitcheck check and the first
    match. Exit code 0: all that was said is written, 1: rows of the price list are open, 2: wrong
    use.
    """
    from fitcheck.services.upkeep.start import catalogue_folder

    if not on_a_terminal() and not any(given[name] for name in _NEEDED):
        raise click.UsageError(
            "nothing is said and nobody can be asked; give --supplier, --family with --housing and "
            "--train, and --machine"
        )
    start = _Start(catalogue_folder(home), given)
    try:
        start.run()
    except click.Abort:
        tell(
            f"stopped; all that was written is kept, fitcheck start {_word(home)} asks for the rest"
        )
        raise
    return start.code


def _word(path: Path) -> str:
    import shlex

    return shlex.quote(str(path))


class _Start:
    """One run: asks for what is missing and was not given, and writes each answer at once.

    Attributes:
        root: the catalogue's folder.
        given: values of the options.
        may_ask: whether somebody sits there who can be asked.
        code: exit code of taking the price list in.
    """

    def __init__(self, root: Path, given: dict[str, Any]) -> None:
        self.root = root
        self.given = given
        self.may_ask = on_a_terminal()
        self.code = 0

    def run(self) -> None:
        from fitcheck.services.upkeep.start import write_shop_schemas

        if self.may_ask:
            tell("one question after another; Ctrl-C stops, and start goes on another time")
        write_shop_schemas(self.catalogue)
        for step in (
            self._shop,
            self._tunes,
            self._classes,
            self._supplier,
            self._family,
            self._machine,
        ):
            self._repeat(step)
        self._list()
        folder = write_shop_schemas(self.catalogue)
        tell(f"wrote schemas for your editor into {folder}; they suggest this shop's own ids")
        self._first_answer()

    @property
    def catalogue(self) -> Catalogue:
        """What is on disk now."""
        from fitcheck.services.upkeep.start import read_shop

        return read_shop(self.root)

    def _repeat(self, step: Callable[[], None]) -> None:
        """Do a step; on a terminal what is refused is said, and asked again."""
        while True:
            try:
                step()
            except (UsageError, EditError) as error:
                if not self.may_ask:
                    raise
                tell(str(error))
                self.given |= dict.fromkeys(_ASKED_AGAIN.get(step.__name__, ()))
            except LaterError:
                tell("left for later; nothing of it is written")
                return
            else:
                return

    def _save(self, draft: Draft | Edited) -> None:
        from fitcheck.catalogue.editing import save
        from fitcheck.services.upkeep import Edited

        if isinstance(draft, Edited):
            for words in draft.notes:
                tell(words)
            name = draft.save()
            tell(f"{draft.record_id} is there already" if name is None else f"wrote {name}")
            return
        save([draft])
        tell(f"wrote {draft.shown}")

    def _shop(self) -> None:
        from fitcheck.diagnostics.finding import shown_path
        from fitcheck.services.upkeep.start import README, write_readme

        shop = self.given["shop"]
        if (self.root / README).exists():
            if shop is not None:
                tell(f"{shown_path(self.root / README)} is there already, and keeps its name")
            return
        if shop is None and self.may_ask:
            shop = ask("Name of the shop (empty: none)", _line, empty="")
        name = write_readme(self.root, _line(shop or ""))
        if name is not None:
            tell(f"wrote {name}")

    # -- general data ------------------------------------------------------------------------------

    def _tunes(self) -> None:
        from fitcheck.services.upkeep.start import TUNES, general_tunes

        if self.catalogue.tunes or self.given["no_tunes"] or (self.root / TUNES).exists():
            return
        question = "Take the usual states of tune and bands (common practice, no published source)?"
        if not self.may_ask or click.confirm(question, default=True, err=True):
            self._save(general_tunes(self.root))

    def _classes(self) -> None:
        from fitcheck.services.upkeep.start import CLASSES, general_classes, known_regions

        if self.catalogue.vehicle_classes or (self.root / CLASSES).exists():
            return
        regions = self.given["law"]
        if regions is None and self.may_ask:
            question = f"Law that applies: {', '.join(known_regions())} (empty: none)"
            regions = ask(question, _REGIONS, empty="")
        if regions:
            self._save(general_classes(self.root, regions))
            tell("local law decides; each class names the text it was read from")

    # -- records -----------------------------------------------------------------------------------

    def _supplier(self) -> None:
        from fitcheck.services.upkeep.add_records import NewRecord, add_supplier

        catalogue, name = self.catalogue, self.given["supplier"]
        if name is None and self.may_ask and not catalogue.suppliers:
            name = ask("First supplier (empty: later)", str, empty="")
        if not name or _is_there("supplier", catalogue, name):
            return
        currency = self.given["currency"]
        if currency is None and self.may_ask:
            currency = ask("Currency of its prices (empty: EUR)", CURRENCY.read, empty="EUR")
        self._save(add_supplier(catalogue, NewRecord(name, {"currency": currency})))

    def _family(self) -> None:
        from fitcheck.services.upkeep.add_records import NewRecord, add_family, housings_of

        catalogue, said = self.catalogue, self.given
        name = said["family"]
        housings = {id_: words for each in said["housings"] or () for id_, words in each.items()}
        trains, stages = list(said["trains"] or ()), said["stages"]
        distances: list[Decimal | None] = list(said["distances"] or ())
        if self.may_ask and name is None and not catalogue.families:
            name = ask("First engine family (empty: later)", str, empty="")
        if not name or _is_there("family", catalogue, name):
            return
        if self.may_ask:
            housings = (
                housings
                or housings_of(trains)
                or _ask_needed("Its housings, commas between", _housings, "short, long")
            )
            if not trains and stages is None:
                trains = _ask_train(housings)
            if not trains and stages is None:
                stages = _ask_needed(
                    "Stages of its trains (1, 2 or 3)", WholeNumber(1, 3).convert, "2"
                )
            if not distances:
                distances = _ask_distances(len(trains[0].pairs) if trains else stages)
        self._save(
            add_family(
                catalogue,
                NewRecord(name, {}),
                housings=housings,
                trains=trains,
                stages=stages,
                distances=distances,
            )
        )

    def _machine(self) -> None:
        from fitcheck.services.upkeep.add_records import NewRecord, add_machine

        catalogue, said = self.catalogue, self.given
        name = said["machine"]
        if self.may_ask and name is None and not catalogue.machines and catalogue.families:
            name = ask("First machine, as the counter calls it (empty: later)", str, empty="")
        if not name or _is_there("machine", catalogue, name):
            return
        family = self._family_of_machine(catalogue)
        trains = said["trains"] or ()
        pairs = said["teeth"] or (trains[0].pairs if trains else ())
        given = {key: said[key] for key in ("tune", "wheel_size_in")}
        only = next(iter(family.record.housings)) if len(family.record.housings) == 1 else None
        given["housing"] = said["machine_housing"] or only
        if self.may_ask:
            pairs = pairs or _ask_needed(
                "Its teeth as counted, from input shaft to wheel", read_counts, "14/45 13/49"
            )
            given = _ask_machine(catalogue, family, given)
        new = NewRecord(name, machine_fields(given))
        if not pairs:
            raise UsageError(
                "the teeth of the machine are missing; count them: --teeth 14/45,13/49"
            )
        self._save(add_machine(catalogue, new, family=family.id, pairs=pairs))

    def _family_of_machine(self, catalogue: Catalogue) -> Entry[Family]:
        from fitcheck.services.counter.lookup import find_family

        name = self.given["family"]
        if name is not None:
            return find_family(catalogue, name)
        if len(catalogue.families) == 1:
            return next(iter(catalogue.families.values()))
        if not self.may_ask:
            raise UsageError("the machine is of which family? give --family")
        if not catalogue.families:
            raise LaterError
        known = ", ".join(catalogue.families)
        return _ask_needed(
            f"Its engine family ({known})",
            lambda text: find_family(catalogue, text),
            next(iter(catalogue.families)),
        )

    # -- the other commands ------------------------------------------------------------------------

    def _list(self) -> None:
        """Take a price list in, or sets by hand."""
        from fitcheck.services.counter.lookup import find_supplier

        catalogue, file = self.catalogue, self.given["price_list"]
        if not catalogue.suppliers or (catalogue.gear_sets and file is None):
            return
        said = self.given["supplier"]
        supplier = (
            next(iter(catalogue.suppliers)) if not said else find_supplier(catalogue, said).id
        )
        if file is None and self.may_ask:
            file = ask("Price list of the supplier, a file (empty: later)", _file, empty="")
        if file:
            write = () if self.may_ask else ("--write",)
            self.code = self._call("import", file, "--supplier", supplier, *write)
            return
        while self.may_ask and click.confirm("Add a gear set by hand?", err=True):
            self._call("add set", "--supplier", supplier)

    def _first_answer(self) -> None:
        from fitcheck.services.upkeep.start import next_commands

        catalogue = self.catalogue
        if not catalogue.sources:
            tell("no record is written yet; start again when the first name is known")
            return
        self._call("check", "--quiet")
        machine = next(iter(catalogue.machines), None)
        if machine is not None and catalogue.gear_sets:
            self._call("match", machine)
        echo_text("\nNext:\n")
        if self.root.parent.resolve() != Path.cwd().resolve():
            echo_text(f"  cd {_word(self.root.parent)}\n")
        for line in next_commands(catalogue):
            echo_text(f"  {line}\n")

    def _call(self, name: str, *words: str) -> int:
        """Run another command on this catalogue; its exit code.

        On a terminal what it refuses is said, and start goes on.
        """
        from fitcheck.cli.main import cli

        arguments = [*name.split(), *words, "--catalog", str(self.root)]
        try:
            return int(cli.main(args=arguments, prog_name="fitcheck", standalone_mode=False) or 0)
        except (UsageError, EditError, click.UsageError) as error:
            if not self.may_ask:
                raise
            tell(str(error))
            return EXIT_USAGE


_ASKED_AGAIN = {
    "_supplier": ("supplier", "currency"),
    "_family": ("family", "housings", "trains", "stages", "distances"),
    "_machine": ("machine", "teeth", "machine_housing", "wheel_size_in", "tune"),
}
"""What a step takes from the options, and asks once that was refused."""


def _is_there(kind: str, catalogue: Catalogue, name: str) -> bool:
    """Whether a record goes by a name already; it stays as it is, and is named."""
    from fitcheck.services.upkeep.records import find_record

    try:
        found = find_record(catalogue, name, kind)
    except UsageError:
        return False
    tell(f"{found.id} is there already, at {found.span()}")
    return True


def _line(text: str) -> str:
    from fitcheck.services.upkeep.typed_values import one_line

    return one_line(text, "the name")


def _housings(text: str) -> dict[str, str]:
    found: dict[str, str] = HOUSINGS.read(text)
    if not found:
        raise UsageError("write at least one, such as short, long")
    return found


def _file(text: str) -> str:
    if text and not Path(text).is_file():
        raise UsageError(f"there is no file {text[:60]!r} here; write its path")
    return text


def _ask_needed(question: str, read: Callable[[str], T], like: str) -> T:
    """Ask for what a record cannot be without; the word later leaves the record."""
    return ask(question, read, like=like, may_wait=True)


def _ask_train(housings: dict[str, str]) -> list[Train]:
    """A factory train, as far as somebody knows one."""
    from fitcheck.services.upkeep.add_records import Train, housing_of

    pairs = ask_if_known("Teeth of a factory train, from input shaft to wheel", read_counts)
    if pairs is None:
        return []
    housing = None
    if len(housings) > 1:
        question = f"In which housing ({', '.join(housings)})"
        housing = _ask_needed(
            question, lambda text: housing_of(housings, text), next(iter(housings))
        )
    wheel = _ask_needed("Rim size of its wheel, inches", INCHES.convert, "10")
    return [Train(pairs, wheel, housing)]


def _ask_distances(stages: int) -> list[Decimal | None]:
    """The centre distances that somebody has measured."""
    from fitcheck.model.family import TRAIN_STAGES

    return [
        ask_if_known(f"Centre distance of the {stage} stage, mm", MEASURE.read)
        for stage in TRAIN_STAGES[stages]
    ]


def _ask_machine(
    catalogue: Catalogue, family: Entry[Family], given: dict[str, Any]
) -> dict[str, Any]:
    """What is known of a machine beside its teeth; what was given is not asked."""
    from fitcheck.services.counter.lookup import find_housing, find_tune

    found = dict(given)
    if found["housing"] is None:
        found["housing"] = ask_if_known(
            f"Its housing ({', '.join(family.record.housings)})",
            lambda text: find_housing(family, text),
        )
    if found["wheel_size_in"] is None:
        found["wheel_size_in"] = ask_if_known(
            "Rim size of its driven wheel, inches", INCHES.convert
        )
    if found["tune"] is None and catalogue.tunes:
        known = ", ".join(catalogue.tunes)
        found["tune"] = ask_if_known(
            f"Its state of tune ({known})", lambda text: find_tune(catalogue, text).id
        )
    return found
