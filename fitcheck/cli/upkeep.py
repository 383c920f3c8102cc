"""`fitcheck edit` and `retire`: a gear set changed, shown first, written after a yes."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

import click

from fitcheck.cli.commands import command
from fitcheck.cli.common import asked_of, console, tell
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import catalog_option, flag, once
from fitcheck.errors import FitcheckError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.upkeep import Edited

T = TypeVar("T")

write_option = flag("--write", "Write it. Default: asked on a terminal, else only shown.")
"""`--write`: carry the edit out without asking."""


def on_a_terminal() -> bool:
    """Whether somebody sits there who can be asked."""
    streams = (sys.stdin, sys.stdout, sys.stderr)
    return all(stream is not None and stream.isatty() for stream in streams)


def refuse_demo(catalog: str | None) -> None:
    """End where the built-in demo would have to be written.

    Raises:
        UsageError: it is the demo; the line says to copy it.
    """
    from fitcheck.catalogue.locate import find_catalogue
    from fitcheck.catalogue.source import shown_path
    from fitcheck.errors import UsageError
    from fitcheck.services.upkeep.drafts import demo_words

    location = find_catalogue(catalog)
    if location.is_demo:
        raise UsageError(demo_words(shown_path(location.path)))


def ask(question: str, read: Callable[[str], T], *, empty: str | None = None) -> T:
    """Ask until the answer can be read; what is wrong with one is said in a line.

    Args:
        question: without a mark at its end.
        read: what makes a value of the answer; what it refuses is asked again.
        empty: what an empty answer stands for; None: it is asked again.
    """

    def value(text: str) -> T:
        try:
            return read(text.strip())
        except FitcheckError as error:
            raise click.UsageError(str(error)) from None

    found: T = click.prompt(question, value_proc=value, err=True, default=empty, show_default=False)
    return found


def ask_if_known(question: str, read: Callable[[str], T]) -> T | None:
    """Ask for what may be left open: an empty answer is None; else as `ask`."""
    question = f"{question} (empty: not known)"
    return ask(question, lambda text: read(text) if text else None, empty="")


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
        tell(f"nothing to do: the catalogue says so already ({edited.set_id})")
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
    with asked_of(catalog) as catalogue:
        edited = edit(catalogue)
    return show_and_write(edited, write=write, done=f"{edited.set_id} is {done}")


@command("edit", "fitcheck edit MA-1545 price=51.90 availability=to-order --write")
@click.argument("name", metavar="SET")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@write_option
@catalog_option
def edit_command(name: str, fields: tuple[str, ...], *, write: bool, catalog: str | None) -> int:
    """Change fields of a gear set, and nothing else in its file.

    SET is an id, part number or alias. Fields are named as in the file, with a dot for what stands
    inside another: interfaces.wheel_seat=ST-14. Short words are teeth, housings, evidence, models
    and wheel; fits.FAMILY=HOUSING,HOUSING names a family. Lists are parted by semicolons. An empty
    value takes a field out. Exit code 0: written, or nothing to do, 1: shown but not written, 2:
    wrong use.
    """
    from fitcheck.services.upkeep import change_set

    return _edit(catalog, write, "changed", lambda catalogue: change_set(catalogue, name, fields))


@command("retire", "fitcheck retire SA-107-N --successor SA-107 --write")
@click.argument("name", metavar="SET")
@once("--successor SET", "The set that takes its place.")
@once("--reason TEXT", "Why; it goes into the notes of the set.")
@write_option
@catalog_option
def retire_command(
    name: str, *, successor: str | None, reason: str | None, write: bool, catalog: str | None
) -> int:
    """Mark a gear set retired: it is kept and shown, never matched.

    SET is an id, part number or alias. Whoever names it later is led to its successor. Exit code
    0: written, or nothing to do, 1: shown but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep import retire_set

    return _edit(
        catalog,
        write,
        "retired",
        lambda catalogue: retire_set(catalogue, name, successor=successor, reason=reason),
    )
