"""`fitcheck edit`, `retire`, `check` and `schema`: catalogue files changed and judged.

An edit is shown first and written after a yes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitcheck.cli.commands import EXIT_USAGE, command
from fitcheck.cli.common import (
    console,
    echo_data,
    echo_json,
    echo_text,
    is_named,
    late,
    open_catalogue,
    passed_over_words,
    tell,
    working,
)
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import SET, catalog_option, flag, format_option, once
from fitcheck.cli.terminal import on_a_terminal
from fitcheck.errors import UsageError, clip

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.diagnostics.finding import Finding
    from fitcheck.services.upkeep import Edited
    from fitcheck.services.upkeep.checking import Checked

write_option = flag("--write", "Write it. Default: asked on a terminal, else only shown.")
"""`--write`: carry the edit out without asking."""


def refuse_demo(catalog: str | None) -> None:
    """End where the built-in demo would have to be written.

    Raises:
        UsageError: it is the demo; the line says to copy it.
    """
    from fitcheck.catalogue.locate import find_catalogue
    from fitcheck.diagnostics.finding import shown_path
    from fitcheck.services.upkeep.drafts import demo_words

    location = find_catalogue(catalog)
    if location.is_demo:
        raise UsageError(demo_words(shown_path(location.path)))


def show_and_write(edited: Edited, *, write: bool, done: str) -> int:
    """Print what an edit changes, write it where that is wanted, and say what was done.

    Args:
        edited: the edit.
        write: whether it is to be written without asking.
        done: what is done then, such as `MA-1 is retired`.

    Returns:
        The exit code: 0 written or nothing to do, 1 shown but not written.
    """
    if not edited.changed:
        tell(f"nothing to do: the catalogue says so already ({edited.record_id})")
        return 0
    console().lines(edited.diff().splitlines())
    for words in (*(f"look: {words}" for words in edited.loud), *edited.notes):
        tell(words)
    if edited.is_demo:
        tell(f"not written: {edited.demo_words}")
        return EXIT_FINDINGS
    if not write and not on_a_terminal():
        tell("nothing is written yet; --write writes it")
        return EXIT_FINDINGS
    if not write and not click.confirm("Write it?", err=True):
        tell("nothing is written")
        return EXIT_FINDINGS
    tell(f"{done}; written: {edited.save()}")
    return 0


def _edit(catalog: str | None, write: bool, done: str, edit: Callable[[Catalogue], Edited]) -> int:
    if write:
        refuse_demo(catalog)
    with open_catalogue(catalog) as catalogue:
        edited = edit(catalogue)
    return show_and_write(edited, write=write, done=f"{edited.record_id} is {done}")


_kind_option = once(
    "--kind",
    "Kind of the record, where a name may be of several.",
    click.Choice(
        ("gear-set", "machine", "family", "supplier", "tune", "vehicle-class", "tyre", "variator"),
        case_sensitive=False,
    ),
)


@command("edit", "fitcheck edit MA-1545 price=51.90 availability=to-order --write")
@click.argument("name", type=SET, metavar="RECORD")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@_kind_option
@write_option
@catalog_option
def edit_command(
    name: str, fields: tuple[str, ...], *, kind: str | None, write: bool, catalog: str | None
) -> int:
    """Change fields of a gear set or any other record, and nothing else in its file.

    RECORD is an id, part number, alias or name. Fields are named as in the file, with a dot for
    what stands inside another: interfaces.wheel_seat=ST-14, masses.rider_kg=80. A set's short words
    are teeth, housings, evidence, models and wheel; fits.FAMILY=HOUSING,HOUSING names a family.
    Lists are parted by semicolons. An empty value takes a field out. Exit code 0: written, or
    nothing to do, 1: shown but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep.edit import change_record
    from fitcheck.services.upkeep.records import find_record

    return _edit(
        catalog,
        write,
        "changed",
        lambda catalogue: change_record(catalogue, find_record(catalogue, name, kind), fields),
    )


@command("retire", "fitcheck retire SA-107-N --successor SA-107 --write")
@click.argument("name", type=SET, metavar="SET")
@once("--successor SET", "The set that takes its place.", SET)
@once("--reason TEXT", "Why; it goes into the notes of the set.")
@write_option
@catalog_option
def retire_command(
    name: str, *, successor: str | None, reason: str | None, write: bool, catalog: str | None
) -> int:
    """Mark a gear set retired: it is kept and shown, never matched.

    SET is an id, part number or alias. Whoever names it later is led to its successor. Of any other
    record one line says what to do instead. Exit code 0: written, or nothing to do, 1: shown but
    not written, 2: wrong use.
    """
    from fitcheck.services.upkeep import retire_set
    from fitcheck.services.upkeep.records import find_record, refuse_retiring

    def retire(catalogue: Catalogue) -> Edited:
        entry = find_record(catalogue, name)
        if entry.kind != "gear-set":
            raise refuse_retiring(catalogue, entry)
        return retire_set(catalogue, name, successor=successor, reason=reason)

    return _edit(catalog, write, "retired", retire)


_RENDER = {
    "jsonl": late("fitcheck.answers.finding:render_json_lines"),
    "sarif": late("fitcheck.screens.findings.programs:render_sarif"),
    "annotations": late("fitcheck.screens.findings.programs:render_annotations"),
}
"""What writes findings for other programs, by the name of the format."""


@command("check", "fitcheck check catalog --quiet")
@click.argument("paths", nargs=-1, metavar="[PATHS]...")
@flag("--strict", "Exit with 1 for warnings too.")
@flag("--quiet", "Show errors and warnings only, no advice.")
@once("--explain CODE", "As fitcheck explain.", hidden=True)
@flag("--no-demo", "Exit with 2 where no catalogue but the built-in demo is found.")
@format_option("text", *_RENDER)
@catalog_option
def check_command(
    paths: tuple[str, ...],
    *,
    strict: bool,
    quiet: bool,
    explain: str | None,
    no_demo: bool,
    output_format: str,
    catalog: str | None,
) -> int:
    """Validate the catalogue, or the files and folders in PATHS.

    A single file is compared with the catalogue it belongs to. Exit code 0: nothing wrong (or
    warnings only), 1: errors found, 2: a file, or part of one, cannot be read (FC0xx).
    """
    if explain is not None:
        from fitcheck.cli.help import print_explanation

        return print_explanation(explain)

    from fitcheck.services.upkeep.checking import check_paths

    passed_over = None if paths else _name_passed_over(catalog, no_demo=no_demo)
    with working("checking") as progress:
        checked = check_paths(paths, catalog, progress.reading)
    if checked.is_demo and not paths and not is_named(catalog):
        tell("no catalogue given: checking the built-in demo, which is invented")
    if passed_over is not None:
        tell(f"{passed_over}; --catalog names another")
    if checked.alone:
        tell(
            "no catalogue here or above, so what a file refers to is not looked for; --catalog "
            "names one"
        )
    findings = [f for f in checked.findings if not quiet or f.severity != "advice"]
    if output_format == "text":
        _print_findings(findings, checked)
    else:
        echo_data(_RENDER[output_format](findings))
    severities = {finding.severity for finding in findings}
    if checked.unreadable:
        return EXIT_USAGE
    if "error" in severities or (strict and "warning" in severities):
        return EXIT_FINDINGS
    return 0


def _name_passed_over(catalog: str | None, *, no_demo: bool) -> str | None:
    """Which folder is passed over in looking for the catalogue, in words."""
    from fitcheck.catalogue.locate import find_catalogue

    location = find_catalogue(catalog)
    if no_demo and location.origin == "demo":
        raise UsageError("no catalogue here or above; name its folder, or let it hold a YAML file")
    return passed_over_words(location)


def _print_findings(findings: Sequence[Finding], checked: Checked) -> None:
    from fitcheck.screens.findings.text import render_text

    out = console()
    if findings:
        width = out.width if sys.stdout.isatty() else None
        echo_text(render_text(findings, checked.sources, width=width, colour=out.colour))
    files, records = checked.files, checked.records
    tell(f"{files:,} file{'s' * (files != 1)}, {records:,} record{'s' * (records != 1)} checked")
    if not findings:
        out.line("nothing wrong")


@command("schema", "fitcheck schema machine")
@click.argument("kind", required=False)
@once(
    "--write FOLDER folder",
    "Write all schemas into this folder.",
    click.Path(file_okay=False, path_type=Path),
)
@once(
    "--compare FOLDER",
    "Say which schemas in this folder are out of step; exit code 1 if any is.",
    click.Path(exists=True, file_okay=False, path_type=Path),
)
@catalog_option
def schema_command(
    kind: str | None, folder: Path | None, compare: Path | None, catalog: str | None
) -> int:
    """Print the JSON Schema of one KIND of file, or write or compare them all.

    In a shop's own catalogue an editor is offered its ids: families, suppliers, tunes and so on.

    KIND is family, gear-set, machine, variator, tune, vehicle-class, tyre, supplier or shelf. For
    an answer in JSON it is match.output, why.output, road.output, identify.output, options.output,
    import.output, shelf-list.output, shelf-history.output, shelf-move.output, shelf-count.output,
    shelf-gaps.output, shelf-plan.output or finding.
    """
    from fitcheck.answers.schemas import output_schemas
    from fitcheck.catalogue import schema as schemas
    from fitcheck.diagnostics.suggest import nearest, or_list

    if sum(option is not None for option in (kind, folder, compare)) != 1:
        raise UsageError("name one kind, or give --write or --compare with a folder")
    ids = _own_ids(catalog)
    every = {**schemas.schemas(ids), **output_schemas()}
    if kind is not None:
        name = schemas.file_name(kind)
        if name not in every:
            kinds = [known.removesuffix(".schema.json") for known in every]
            near = nearest(kind, kinds)
            hint = f"did you mean {near}?" if near else f"there is {or_list(kinds)}"
            raise UsageError(f"no kind of file {clip(kind)!r}; {hint}")
        echo_json(every[name])
        return 0
    if folder is not None:
        try:
            written = schemas.write_schemas(folder, every)
        except OSError as error:
            raise UsageError(
                f"cannot write to {folder}: {error.strerror}; name another folder"
            ) from None
        for path in written:
            echo_text(f"{path}\n")
        return 0
    assert compare is not None
    stale = schemas.compare(compare, every, examples=ids is None)
    for name in stale:
        echo_text(f"{compare / name}: out of step; write it again with fitcheck schema --write\n")
    return EXIT_FINDINGS if stale else 0


def _own_ids(catalog: str | None) -> dict[str, list[str]] | None:
    """The ids of a shop's catalogue, for its schemas; None where only the demo is there."""
    from fitcheck.catalogue.locate import find_catalogue
    from fitcheck.catalogue.reader import load
    from fitcheck.services.upkeep.start import own_ids

    return None if find_catalogue(catalog).is_demo else own_ids(load(catalog))
