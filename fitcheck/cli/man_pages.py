"""Man pages, one a command, made from the command line itself."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path

import click

from fitcheck import __version__
from fitcheck.cli.commands import Command, LazyGroup, find_command, sections_of


def write_man_pages(root: click.Context, folder: Path) -> list[Path]:
    """Write a page for the program and each of its commands, such as `fitcheck-shelf-list.1`.

    Args:
        root: the context of the whole command line.
        folder: where man looks for section 1; made where it is not there.

    Returns:
        The files, in the order of the commands.

    Raises:
        OSError: a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for context in _contexts(root):
        path = folder / f"{_title(context)}.1"
        path.write_text("".join(f"{line}\n" for line in _page(context)), encoding="utf-8")
        written.append(path)
    return written


def _contexts(context: click.Context) -> Iterator[click.Context]:
    yield context
    if isinstance(context.command, LazyGroup):
        for word in context.command.words:
            found = find_command(context, [word])
            assert found is not None
            yield from _contexts(found)


def _title(context: click.Context) -> str:
    return context.command_path.replace(" ", "-")


def _page(context: click.Context) -> Iterator[str]:
    """The lines of a page, in the language of man (roff)."""
    command = context.command
    first, *paragraphs = inspect.cleandoc(command.help or "").split("\n\n")
    yield f'.TH "{_title(context).upper()}" 1 "" "fitcheck {__version__}"'
    yield ".SH NAME"
    yield f"{_text(_title(context))} \\- {_text(first.rstrip('.'))}"
    yield ".SH SYNOPSIS"
    yield _text(" ".join([context.command_path, *command.collect_usage_pieces(context)]))
    yield ".SH DESCRIPTION"
    for paragraph in (first, *paragraphs):
        yield ".PP"
        yield _text(paragraph)
    inner = command.words if isinstance(command, LazyGroup) else {}
    if inner:
        yield ".SH COMMANDS"
    for word, words in inner.items():
        yield ".TP"
        yield f".B {_text(_title(context))}\\-{_text(word)}(1)"
        yield _text(words)
    yield ".SH OPTIONS"
    for title, options in sections_of(command.get_params(context)).items():
        yield f".SS {_text(title)}"
        for option in options:
            record = option.get_help_record(context)
            if record is not None:
                yield ".TP"
                yield f".B {_text(record[0])}"
                yield _text(record[1])
    if isinstance(command, Command):
        yield ".SH EXAMPLES"
        for example in command.examples:
            yield ".PP"
            yield _text(example)


def _text(words: str) -> str:
    """Words in one line of roff: nothing in them is taken for a sign or a request."""
    line = " ".join(words.split()).replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{line}" if line.startswith((".", "'")) else line
