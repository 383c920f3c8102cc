"""`fitcheck help`, `explain` and `completion`: what helps at the keyboard, offline."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import click
from click.shell_completion import get_completion_class

from fitcheck.cli.commands import WHOLE, LazyGroup, command, find_command
from fitcheck.cli.common import console, echo_text, tell
from fitcheck.cli.parameters import flag, once
from fitcheck.errors import UsageError, clip

_PACKAGE = Path(__file__).parents[1]
_WIDEST = 100
"""A paragraph of longer lines is hard to read."""


def pages() -> dict[str, Path]:
    """The pages of the manual by their names, such as `tyres`.

    They are inside the installed package, or beside it in a checkout.
    """
    for folder in (_PACKAGE / "docs", _PACKAGE.parent / "docs"):
        if folder.is_dir():
            found = {path.stem.casefold(): path for path in folder.rglob("*.md")}
            return dict(sorted(found.items()))
    return {}


def _topics(commands: LazyGroup) -> dict[str, Path]:
    """The pages by the words that ask for them: a page named like a command keeps its ending."""
    named = pages().items()
    return {f"{name}.md" if name in commands.words else name: path for name, path in named}


def _complete_topics(ctx: click.Context, _: click.Parameter, incomplete: str) -> list[str]:
    words = ctx.params.get("words") or ()
    found = find_command(ctx.find_root(), words)
    group = None if found is None else found.command
    known = [*group.words] if isinstance(group, LazyGroup) else []
    if not words and isinstance(group, LazyGroup):
        known += _topics(group)
    return [word for word in known if word.startswith(incomplete)]


@command("help", "fitcheck help match", "fitcheck help shelf plan", "fitcheck help tyres")
@click.argument("words", nargs=-1, metavar="[COMMAND | TOPIC]", shell_complete=_complete_topics)
@once(
    "--man FOLDER",
    "Write a man page of each command into this folder, such as ~/.local/share/man/man1.",
    click.Path(file_okay=False, path_type=Path),
)
def help_command(words: tuple[str, ...], man: Path | None) -> int:
    """Show all that there is about a COMMAND, or a page of the manual about a TOPIC.

    Without either, the pages are listed. The first letters of a name do where they are enough. A
    page named like a command is asked for with its ending: fitcheck help import.md. On a terminal
    the page is laid out; into a pipe it goes as Markdown.
    """
    root = click.get_current_context().find_root()
    if man is not None:
        from fitcheck.cli.man_pages import write_man_pages

        for path in write_man_pages(root, man):
            echo_text(f"{path}\n")
        return 0
    if not words:
        _list_pages(root)
        return 0
    found = _find_topic(root, words)
    if isinstance(found, Path):
        _print_page(found.read_text(encoding="utf-8"))
        return 0
    found.meta[WHOLE] = True
    click.echo(found.get_help())
    page = f"{words[0]}.md"
    assert isinstance(root.command, LazyGroup)
    if page in _topics(root.command):
        click.echo(f"\nThere is a page about it: fitcheck help {page}")
    return 0


def _list_pages(root: click.Context) -> None:
    assert isinstance(root.command, LazyGroup)
    formatter = root.make_formatter()
    formatter.write_text("fitcheck help COMMAND shows all options of a command:")
    with formatter.indentation():
        formatter.write_text(", ".join(root.command.words))
    formatter.write_paragraph()
    formatter.write_text("fitcheck help TOPIC shows a page of the manual:")
    titles = [
        (word, path.read_text(encoding="utf-8").partition("\n")[0].lstrip("# "))
        for word, path in _topics(root.command).items()
    ]
    with formatter.indentation():
        formatter.write_dl(titles)
    echo_text(formatter.getvalue())


def _find_topic(root: click.Context, words: tuple[str, ...]) -> click.Context | Path:
    """The command or the page that words name.

    Raises:
        UsageError: they name none, or the beginning of several.
    """
    from fitcheck.diagnostics.suggest import nearest, or_list

    assert isinstance(root.command, LazyGroup)
    word = words[0].casefold()
    topics = _topics(root.command)
    known = [*root.command.words, *topics]
    if len(words) == 1 and word not in known and word.removesuffix(".md") in topics:
        word = word.removesuffix(".md")
    begun = [name for name in known if name.startswith(word)]
    if word not in known and len(begun) > 1:
        raise UsageError(f"{clip(word)!r} begins several names; give {or_list(begun)}")
    if word not in known and begun:
        word = begun[0]
    if len(words) == 1 and word in topics:
        return topics[word]
    found = find_command(root, (word, *words[1:]))
    if found is not None:
        return found
    asked = " ".join(words)
    near = nearest(asked, known)
    hint = f"did you mean {near}?" if near else "fitcheck help lists what there is"
    raise UsageError(f"no command and no page {clip(asked)!r}; {hint}")


def _print_page(text: str) -> None:
    """Print Markdown: laid out where somebody watches, as it is for programs."""
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "")
    if not sys.stdout.isatty() or encoding != "utf8":
        echo_text(text)
        return
    from io import StringIO

    from rich.console import Console
    from rich.markdown import Markdown

    out, laid_out = console(), StringIO()
    paper = Console(
        file=laid_out,
        width=min(out.width, _WIDEST),
        force_terminal=out.colour,
        color_system="standard" if out.colour else None,
        legacy_windows=False,
    )
    paper.print(Markdown(text, hyperlinks=False))
    shown = laid_out.getvalue()
    if shown.count("\n") < shutil.get_terminal_size().lines:
        echo_text(shown)
    else:
        click.echo_via_pager(shown, color=out.colour)


def _complete_codes(_: click.Context, __: click.Parameter, incomplete: str) -> list[str]:
    from fitcheck.diagnostics.codes import CODES

    return [code for code in CODES if code.startswith(incomplete.upper())]


@command("explain", "fitcheck explain FC206")
@click.argument("code", shell_complete=_complete_codes)
def explain_command(code: str) -> int:
    """Explain a CODE of `fitcheck check`: what it means, with a wrong and a right example."""
    return print_explanation(code)


def print_explanation(code: str) -> int:
    """Print what a code means; the exit code is 0.

    Raises:
        UsageError: there is no such code.
    """
    from fitcheck.diagnostics.examples import explanations
    from fitcheck.screens.findings.text import render_explanation

    known = explanations()
    explained = known.get(code.strip().upper())
    if explained is None:
        raise UsageError(
            f"there is no code {clip(code)!r}; `fitcheck check` prints codes such as FC212"
        )
    echo_text(render_explanation(explained))
    return 0


def _places() -> dict[str, tuple[Path, str]]:
    """Where each shell looks for the script of a program, and what it needs besides."""
    home = Path.home()
    data = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    config = Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config")
    functions = Path(os.environ.get("ZDOTDIR") or home) / ".zfunc"
    return {
        "bash": (
            data / "bash-completion" / "completions" / "fitcheck",
            "a new shell has it, where the package bash-completion is installed",
        ),
        "zsh": (
            functions / "_fitcheck",
            f"a new shell has it, once fpath=({functions} $fpath) is in .zshrc before compinit",
        ),
        "fish": (config / "fish" / "completions" / "fitcheck.fish", "a new shell has it"),
    }


@command(
    "completion",
    "fitcheck completion bash",
    "fitcheck completion fish --install",
)
@click.argument("shell", type=click.Choice(("bash", "zsh", "fish")))
@flag("--install", "Write it where the shell looks for it.")
def completion_command(shell: str, *, install: bool) -> int:
    """Print the script by which a SHELL completes commands, options, and ids of the catalogue.

    Machines, families, suppliers, gear sets, tunes, classes and tyres are completed from the
    catalogue that answers, or the one that --catalog names before them.
    """
    from fitcheck.cli.main import COMPLETE, cli

    kind = get_completion_class(shell)
    assert kind is not None
    script = kind(cli, {}, "fitcheck", COMPLETE).source()
    if not install:
        echo_text(script)
        return 0
    place, needs = _places()[shell]
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(script, encoding="utf-8")
    echo_text(f"{place}\n")
    tell(needs)
    return 0
