"""Kinds of command: imported when called, options by section, refusals that name the command."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from functools import reduce
from importlib import import_module
from typing import Any

import click

from fitcheck.errors import clip

EXIT_USAGE = 2

Option = Callable[[Any], Any]
"""What adds an option, or several, to a command."""


class _Named(click.Command):
    """A command or group whose every refusal knows which one it came from."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words after the name; `-family` is refused, not read as `-f amily`."""
        names = {name for param in self.params for name in param.opts}
        for word in args:
            name = f"-{word.partition('=')[0]}"
            if word[:1] == "-" and word[1:2] != "-" and name in names:
                raise click.UsageError(f"no option {name[1:]}; did you mean {name}?", ctx)
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            error.ctx = error.ctx or ctx
            raise


class LazyGroup(_Named, click.Group):
    """Commands whose modules are imported when they are called, not to list them.

    Attributes:
        words: the commands in the order in which a newcomer meets them, with one line each.
        modules: the module that holds each, as `NAME_command`.
        former: names that commands had before, each to the one of today; they are not listed.
    """

    def __init__(self, *arguments: Any, **attributes: Any) -> None:
        self.words: Mapping[str, str] = attributes.pop("words")
        self.modules: Mapping[str, str] = attributes.pop("modules")
        self.former: Mapping[str, str] = attributes.pop("former", {})
        attributes |= {"no_args_is_help": False, "subcommand_metavar": "COMMAND [ARGUMENTS]..."}
        super().__init__(*arguments, **attributes)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in order."""
        return list(self.words)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, or None."""
        if cmd_name not in self.words:
            return None
        command = getattr(import_module(self.modules[cmd_name]), f"{cmd_name}_command")
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
        return super().parse_args(ctx, args)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names; a near name is offered for an unknown one."""
        args = [self.former.get(word, word) for word in args[:1]] + args[1:]
        name = args[0] if args else ""
        if name not in self.words:
            near = get_close_matches(name.lower(), self.words, 1)
            hint = f"did you mean {near[0]}?" if near else f"there is {', '.join(self.words)}"
            raise click.UsageError(f"no command {clip(name)!r}; {hint}", ctx)
        return super().resolve_command(ctx, args)


class Command(_Named):
    """A command whose help shows its options by section; see `section`."""

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options into the help, a heading for each section."""
        for title, options in sections_of(self.get_params(ctx)).items():
            records = [option.get_help_record(ctx) for option in options]
            shown = [record for record in records if record is not None]
            if shown:
                with formatter.section(title):
                    formatter.write_dl(shown)


def command(
    name: str, example: str, cls: type[Command] = Command
) -> Callable[[Callable[..., int]], click.Command]:
    """A command, and the example that ends its help."""
    return click.command(name, cls=cls, epilog=f"Example: {example}")


class SignedCommand(Command):
    """A command whose words may begin with a minus sign: a number below zero is no option.

    Its options have no letters: in `-5 CHF` the C would be one.
    """

    def __init__(self, *arguments: Any, **attributes: Any) -> None:
        super().__init__(*arguments, **attributes)
        for param in self.params:
            param.opts = [name for name in param.opts if name[:2] == "--" or name[:1] != "-"]

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words after the command's name."""
        try:
            return super().parse_args(ctx, list(args))
        except click.NoSuchOption as error:
            if not re.match("-[0-9.,]", error.option_name):
                raise
            ctx.ignore_unknown_options = True  # one too many is refused as a word too many
            return super().parse_args(ctx, args)


_PLAIN = "Options"
"""Heading of the options that stand in no section; they come last."""


def section(title: str, *options: Option) -> Option:
    """Options, in order, under a heading of their own in the help."""

    def apply(function: Any) -> Any:
        for option in reversed(options):
            function = option(function)
            function.__click_params__[-1].section = title
        return function

    return apply


def together(*options: Option) -> Option:
    """Several options or sections as one, in order."""
    return lambda function: reduce(lambda made, option: option(made), reversed(options), function)


def sections_of(parameters: Iterable[click.Parameter]) -> dict[str, list[click.Option]]:
    """Options by the heading they stand under, those without one last."""
    found: dict[str, list[click.Option]] = {}
    for parameter in parameters:
        if isinstance(parameter, click.Option):
            found.setdefault(getattr(parameter, "section", _PLAIN), []).append(parameter)
    if _PLAIN in found:
        found[_PLAIN] = found.pop(_PLAIN)
    return found
