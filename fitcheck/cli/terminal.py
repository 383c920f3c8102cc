"""What somebody at a terminal is asked: a line to type, or one key."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

import click

from fitcheck.errors import FitcheckError, UsageError

T = TypeVar("T")


def on_a_terminal() -> bool:
    """Whether somebody sits there who can be asked."""
    streams = (sys.stdin, sys.stdout, sys.stderr)
    return all(stream is not None and stream.isatty() for stream in streams)


class LaterError(Exception):
    """Somebody leaves what is asked for another time."""


def ask(
    question: str,
    read: Callable[[str], T],
    *,
    empty: str | None = None,
    like: str | None = None,
    may_wait: bool = False,
) -> T:
    """Ask until the answer can be read; what is wrong with one is said in a line.

    Args:
        question: without a mark at its end.
        read: what makes a value of the answer; what it refuses is asked again.
        empty: what an empty answer stands for; None: it is asked again.
        like: an answer, to show where an empty one will not do.
        may_wait: whether the word later leaves it.

    Raises:
        LaterError: the answer is that word.
    """

    def value(text: str) -> T:
        text = text.strip()
        if not text and empty is None:
            example = "" if like is None else f", like {like}"
            way = "write later to leave it for another time" if may_wait else "Ctrl-C stops"
            raise click.UsageError(f"an answer is needed{example}; {way}")
        if may_wait and text.lower() == "later":
            raise LaterError
        try:
            return read(text)
        except FitcheckError as error:
            raise click.UsageError(str(error)) from None

    found: T = click.prompt(
        question, value_proc=value, err=True, default=empty or "", show_default=False
    )
    return found


def ask_if_known(question: str, read: Callable[[str], T]) -> T | None:
    """Ask for what may be left open: an empty answer is None; else as `ask`."""
    question = f"{question} (empty: not known)"
    return ask(question, lambda text: read(text) if text else None, empty="")


def read_key(prompt: str = "> ") -> str:
    """One key, which is shown; `q` where the terminal is closed."""
    click.echo(prompt, nl=False)
    try:
        key = click.getchar()
    except EOFError:
        key = "q"
    key = key.lower() if key.isprintable() else ""
    click.echo(key)
    return key


def digit_keys(choices: Iterable[T]) -> dict[str, T]:
    """The first nine choices by the keys 1 to 9."""
    return dict(zip("123456789", choices, strict=False))


def pick(head: str, shown: Sequence[str], several: str) -> int:
    """Position of the one that somebody picks by one key, on a terminal.

    Args:
        head: what is asked.
        shown: a line for each; past nine the rest are counted.
        several: the refusal, where nobody is there to pick, or picks none.

    Raises:
        UsageError: with that refusal.
    """
    from fitcheck.screens.findings.wording import one_line

    if not on_a_terminal():
        raise UsageError(several)
    click.echo(f"{one_line(head)}:")
    keys = digit_keys(range(len(shown)))
    for key, at in keys.items():
        click.echo(f"  {key}  {one_line(shown[at])}")
    if len(shown) > len(keys):
        click.echo(f"     and {len(shown) - len(keys)} more: type more of the name")
    choice = f"1 to {len(keys)}" if len(keys) > 1 else "1 takes it"
    key = read_key(f"{choice}, any other key stops> ")
    if key not in keys:
        raise UsageError(several)
    return keys[key]
