"""The reference of commands, docs/commands.md, and the README's picture of one answer.

Both are made from the command line itself. `python -m fitcheck.cli.reference --write` writes them;
without `--write` it only says whether the committed files are in step.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import redirect_stderr, redirect_stdout
from html import escape
from pathlib import Path
from unittest.mock import patch

import click

from fitcheck.answers.reference import write_or_compare
from fitcheck.cli.commands import Command, LazyGroup, find_command, sections_of
from fitcheck.cli.main import COMMANDS, cli
from fitcheck.cli.parameters import SHORT

ROOT = Path(__file__).parents[2]
DOCUMENT = ROOT / "docs" / "commands.md"
PICTURE = ROOT / "docs" / "match.svg"
_SHOWN = "match dunlin-ten"

_OPENING = """\
# Commands and options

<!-- Made by `python -m fitcheck.cli.reference --write`; edit the commands, not this file. -->

Every command is run as `fitcheck COMMAND`, or as `python -m fitcheck COMMAND`. `fitcheck --help`
lists them, `fitcheck COMMAND --help` shows what is used daily of one, `fitcheck help COMMAND` all
of it, `fitcheck --version` the version. `fitcheck help` lists the pages of this manual, `fitcheck
help TOPIC` shows one; both need no network.

## What holds for all of them

**The catalogue.** `--catalog PATH` names the folder or file to read. The default is
`$FITCHECK_CATALOG`, then a folder `catalog` here or in a folder above, then the built-in demo;
stderr says so where the demo is used. Where there is a folder `catalog` without a YAML file, the
demo does not answer in its place.

**Words on the command line.** Ids, names, housings, tunes and suppliers are found whatever their
capitals, accents, spaces and dashes. A value may begin with a minus sign: `--percent -5..0`. An
option that takes one value may be given once. After `--`, nothing is taken for an option.

**Beginnings of names.** In commands that ask, the beginning of a name or of one of its
words is enough: `match skerry`, `-f dunl`, `-H sh`. A gear set is found by the beginning of its id,
part number or alias. A whole name always wins; what begins several names is answered with the list,
on a terminal to pick from by one key. A number is never completed: `5` is not `50`. What writes the
catalogue or moves stock takes whole names only.

**Counted teeth.** Pairs may stand in the place of a machine: `match 15/46 14/55`, or `15/46,14/55`,
or `15:46 14:55`. Where no family is named, the one family whose factory train it is is taken, and a
note says so. Of several families, or of trains that one slip in counting would explain, one is
picked on a terminal; else they are listed with the command lines that go on.

**Letters.** A letter means the same option in every command that has it, and letters of options
without a value may stand together: `match skerry -spn3`.

@LETTERS@

**Output.** The answer goes to stdout, everything else to stderr. JSON, CSV and Markdown are always
UTF-8 and never coloured. Tables fit the terminal; into a pipe they are 100 columns wide unless
`COLUMNS` says otherwise. A reading that takes long shows its progress while somebody watches. A
terminal or pipe whose encoding does not have one of fitcheck's own signs, as cp1252 has no arrow,
gets it in ASCII (`->`). A missing letter of a name becomes a question mark, on stderr an escape.

| Exit code | Meaning |
| ---: | --- |
| 0 | answered; `check`: nothing wrong, or warnings only |
| 1 | `check`: errors found; `schema --compare`: out of step; `import`: questions are open, or \
rows cannot be read |
| 2 | wrong use, or something that cannot be read: one line on stderr says what and what to do |
| 2 | `check`: a file, or part of one, cannot be read (FC0xx) |
| 3 | answered, but nothing fits; `identify`: no train found; `why`, `sheet`: sets are ruled out; \
`shelf list` and `shelf history`: nothing to show; `shelf gaps`: no machine to judge; \
`shelf plan`: nothing to buy |
| 70 | a fault of fitcheck itself, please report it |
| 130 | interrupted |
| 141 | the pipe was closed by its reader |

| Variable | Meaning |
| --- | --- |
| `FITCHECK_CATALOG` | the catalogue, where `--catalog` does not name one |
| `FITCHECK_BY` | who is at the till, where `--by` does not say |
| `COLUMNS` | width of the screen, 20 to 1000 |
| `NO_COLOR` | not empty: no colours |
| `FORCE_COLOR` | not empty and not 0: colours even into a pipe, unless `NO_COLOR` |
| `FITCHECK_DEBUG` | not empty: a fault of fitcheck itself shows where it happened |

**Completion in the shell.** `fitcheck completion bash --install` writes the script to where the
shell looks for it, and says what else it needs; `zsh` and `fish` likewise. Without `--install` it
is printed: `eval "$(fitcheck completion bash)"` in a start-up file does as well. Commands, options,
machines, families, suppliers, gear sets, tunes, vehicle classes, tyres, codes and topics are
completed. The files of the catalogue are only looked through for ids, so nobody waits.

**Man pages.** `fitcheck help --man ~/.local/share/man/man1` writes one for each command.
"""


def reference() -> str:
    """The whole document, in Markdown, ending in a line break."""
    opening = _OPENING.replace("@LETTERS@", _letters())
    return "\n".join([opening, *(_section(name) for name in command_names(groups=True))])


def _letters() -> str:
    """A table of the options that have a letter."""
    used = {
        name for each in command_names() for param in _command(each).params for name in param.opts
    }
    rows = [f"| `{letter}` | `{name}` |" for name, letter in SHORT.items() if letter in used]
    return "\n".join(["| Letter | Option |", "| --- | --- |", *rows])


def examples() -> list[tuple[str, str]]:
    """Each command with each of its examples, such as `fitcheck schema machine`."""
    return [(name, line) for name in command_names() for line in _examples(_command(name))]


def command_names(*, groups: bool = False) -> list[str]:
    """Every command by its words, such as `match` or `shelf list`.

    Args:
        groups: whether to name the groups too, before their commands.
    """
    names = []
    for name in COMMANDS:
        command = _command(name)
        inner = command.words if isinstance(command, LazyGroup) else {}
        if groups or not inner:
            names.append(name)
        names += [f"{name} {word}" for word in inner]
    return names


def _command(name: str) -> click.Command:
    found = find_command(click.Context(cli, info_name="fitcheck"), name.split())
    assert found is not None
    return found.command


def _examples(command: click.Command) -> Sequence[str]:
    return command.examples if isinstance(command, Command) else ()


def _section(name: str) -> str:
    command = _command(name)
    context = click.Context(command, info_name=f"fitcheck {name}")
    if isinstance(command, LazyGroup):
        rows = [f"| [`{name} {w}`](#{name}-{w}) | {line} |" for w, line in command.words.items()]
        table = "\n".join(["| Command | Meaning |", "| --- | --- |", *rows])
        return "\n\n".join([f"## {name}", _paragraphs(command.help or ""), table]) + "\n"
    usage = " ".join([f"fitcheck {name}", *command.collect_usage_pieces(context)])
    parts = [
        f"## {name}",
        _paragraphs(command.help or ""),
        f"```text\n{usage}\n```",
        "\n".join(_options(command)),
        "\n".join(["For example:\n\n```sh", *_examples(command), "```"]),
    ]
    return "\n\n".join(parts) + "\n"


def _paragraphs(text: str) -> str:
    return "\n\n".join(" ".join(part.split()) for part in text.split("\n\n"))


def _options(command: click.Command) -> Iterator[str]:
    sections = sections_of(command.params)
    for title, options in sections.items():
        if len(sections) > 1:
            yield f"**{title}**\n"
        yield "| Option | Meaning |"
        yield "| --- | --- |"
        for option in options:
            if option.hidden:
                continue
            yield f"| {_spell_option(option)} | {_cell(_explain_option(option))} |"
        if title != list(sections)[-1]:
            yield ""
    yield "| `-h`, `--help` | Show the help and exit. |"


def _spell_option(option: click.Option) -> str:
    names = ", ".join(f"`{name}`" for name in option.opts)
    if option.is_flag:
        return names
    if isinstance(option.type, click.Choice):
        return f"{names} " + _cell(" | ".join(f"`{choice}`" for choice in option.type.choices))
    return f"{names} {option.metavar}"


def _explain_option(option: click.Option) -> str:
    text = option.help or ""
    default = option.default
    if option.show_default and default:
        first = default[0] if isinstance(default, (list, tuple)) else default
        text += f" Default: `{first}`."
    return text


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("*", "\\*")


def picture() -> str:
    """The README's picture: an answer as the terminal shows it at 80 columns, as SVG."""
    out = io.StringIO()
    words = [*_SHOWN.split(), "--catalog", str(ROOT / "catalog")]
    with (
        patch.dict(os.environ, {"COLUMNS": "80", "NO_COLOR": "1"}),
        redirect_stdout(out),
        redirect_stderr(io.StringIO()),
    ):
        cli.main(words, standalone_mode=False)
    lines = [f"$ fitcheck {_SHOWN}", *out.getvalue().rstrip().splitlines()]
    height = 17 * len(lines) + 24
    rows = "".join(
        f'<text x="16" y="{17 * at + 26}" xml:space="preserve">{escape(line)}</text>\n'
        for at, line in enumerate(lines)
        if line
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 720 {height}" role="img" '
        'font-family="monospace" font-size="14">\n'
        f"<title>What fitcheck {_SHOWN} answers</title>\n"
        f'<rect width="720" height="{height}" rx="6" fill="#fbfaf7" stroke="#cbc7bd"/>\n'
        f'<g fill="#222">\n{rows}</g></svg>\n'
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Write both with `--write`, else say whether they are in step; 0 where they are."""
    module = "fitcheck.cli.reference"
    page = write_or_compare(module, DOCUMENT, reference, arguments)
    return max(page, write_or_compare(module, PICTURE, picture, arguments))


if __name__ == "__main__":
    sys.exit(main())
