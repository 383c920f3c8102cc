"""Groups of commands that are imported when they are called, not to list them."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from importlib import import_module
from typing import Any

import click

EXIT_USAGE = 2


class LazyGroup(click.Group):
    """Commands that each live in a module of their own, as `command`.

    Attributes:
        words: the commands in the order in which a newcomer meets them, with one line each.
        home: the package that holds the modules; a dash in a name is an underscore there.
    """

    def __init__(self, *arguments: Any, **attributes: Any) -> None:
        self.words: Mapping[str, str] = attributes.pop("words")
        self.home: str = attributes.pop("home")
        super().__init__(*arguments, **attributes)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in order."""
        return list(self.words)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, or None."""
        if cmd_name not in self.words:
            return None
        module = import_module(f"{self.home}.{cmd_name.replace('-', '_')}")
        command = getattr(module, "command")  # noqa: B009
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the names and their lines into the help."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self.words.items()))

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words after the group's name; none at all is wrong use."""
        if not args and not ctx.resilient_parsing:
            # Nothing was asked: the help goes where it cannot be taken for an answer.
            click.echo(ctx.get_help(), err=True)
            ctx.exit(EXIT_USAGE)
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            error.ctx = error.ctx or ctx
            raise

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names; a near name is offered for an unknown one."""
        name = args[0] if args else ""
        if name not in self.words:
            near = get_close_matches(name.lower(), self.words, 1)
            hint = f"did you mean {near[0]}?" if near else f"there is {', '.join(self.words)}"
            shown = name if len(name) <= 40 else f"{name[:37]}..."
            raise click.UsageError(f"no command {shown!r}; {hint}", ctx)
        return super().resolve_command(ctx, args)
