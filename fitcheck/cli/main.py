"""The command group, and how wrong use ends: one line on stderr and exit code 2."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from difflib import get_close_matches
from importlib import import_module
from typing import Any

import click

from fitcheck.errors import FitcheckError

__all__ = ["EXIT_FINDINGS", "EXIT_NOTHING", "EXIT_USAGE", "cli", "main"]

EXIT_FINDINGS = 1
EXIT_USAGE = 2
EXIT_NOTHING = 3
_EXIT_BUG = 70

_COMMANDS = {
    "match": "List every combination of gear sets that fits a machine.",
    "why": "Work one combination out on paper, with every rule's answer.",
    "identify": "Say which factory trains have the counted teeth.",
    "options": "Show every choice for one engine family.",
    "check": "Validate catalogue files and say what is wrong, and where.",
    "schema": "Write the JSON Schemas that help an editor.",
}


class _LazyGroup(click.Group):
    """Commands are imported when they are called, not to list them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _COMMANDS:
            return None
        command = getattr(import_module(f"fitcheck.cli.{cmd_name}"), "command")  # noqa: B009
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0] if args else ""
        if name and name not in _COMMANDS and not name.startswith("-"):
            near = get_close_matches(name, _COMMANDS, 1)
            hint = f"did you mean {near[0]}?" if near else f"there is {', '.join(_COMMANDS)}"
            raise click.UsageError(f"no command {name[:40]!r}; {hint}")
        return super().resolve_command(ctx, args)


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="fitcheck", prog_name="fitcheck")
def cli() -> None:
    """Find the final-drive gear sets that fit a scooter, and what each one does.

    Start with: fitcheck match MACHINE, or fitcheck identify 14/45 13/48 when only the teeth
    are known. Gearing changes speed, brakes, tyres and lawfulness: local law and a licensed
    mechanic decide.
    """


def main(args: Sequence[str] | None = None) -> None:
    """Run the command line and exit."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure: Any = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            # A terminal that cannot show a sign shows a question mark instead of failing.
            reconfigure(errors="replace")
    try:
        code = cli.main(args=None if args is None else list(args), standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message())
        code = EXIT_USAGE
    except click.ClickException as error:
        code = _refuse(_command_name(error), error.format_message())
    except click.Abort:
        code = 130
    except FitcheckError as error:
        code = _refuse("fitcheck", str(error))
    except BrokenPipeError:
        # The reader of the pipe has gone; a second complaint at shutdown is kept quiet too.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except Exception as error:
        if os.environ.get("FITCHECK_DEBUG"):
            raise
        code = _refuse(
            "fitcheck",
            f"a fault of fitcheck itself ({type(error).__name__}: {error}); please report it "
            "with the output of FITCHECK_DEBUG=1",
        )
        code = _EXIT_BUG
    sys.exit(code if isinstance(code, int) else 0)


def _refuse(who: str, message: str) -> int:
    line = " ".join(message.split())
    click.echo(f"{who}: {line}", err=True)
    return EXIT_USAGE


def _command_name(error: click.ClickException) -> str:
    context = getattr(error, "ctx", None)
    return context.command_path if context is not None else "fitcheck"
