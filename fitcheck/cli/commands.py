"""Kinds of command: imported when called, options by section, refusals that name the command."""

from __future__ import annotations

import inspect
import re
import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
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


WHOLE = "fitcheck.whole-help"
"""What a context's `meta` holds where the help shows everything, not only what is used daily."""


_FIRST_PART = re.compile(r"[.;] .*", re.DOTALL)
"""What follows the first sentence of an option's help, or the first half of it."""


class Command(_Named):
    """A command whose help shows what is used daily, or all its options by section.

    `--help` shows the options marked `daily`, those of the examples and the first paragraph,
    `fitcheck help NAME` everything. A command that marks none as daily always shows everything.

    Attributes:
        examples: command lines that end the help.
    """

    def __init__(self, *arguments: Any, examples: Sequence[str] = (), **attributes: Any) -> None:
        super().__init__(*arguments, **attributes)
        self.examples = examples

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write what the command does into the help."""
        text = inspect.cleandoc(self.help or "")
        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(text.partition("\n\n")[0] if self._is_short(ctx) else text)

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options into the help: the daily ones, or a heading for each section."""
        sections = sections_of(self.get_params(ctx))
        if self._is_short(ctx):
            every = [option for options in sections.values() for option in options]
            used = {word for example in self.examples for word in example.split()}
            daily = [one for one in every if _is_daily(one) or not used.isdisjoint(one.opts)]
            sections = {"Used daily": daily}
        for title, options in sections.items():
            records = [option.get_help_record(ctx) for option in options]
            shown = [record for record in records if record is not None]
            if self._is_short(ctx):
                shown = [(name, _FIRST_PART.sub(".", words)) for name, words in shown]
            if shown:
                with formatter.section(title):
                    formatter.write_dl(shown)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples into the help, and where the rest of it is."""
        with formatter.section(f"Example{'s' * (len(self.examples) > 1)}"):
            for example in self.examples:
                lines = textwrap.wrap(
                    example,
                    width=formatter.width - formatter.current_indent - 2,
                    subsequent_indent="  ",
                    break_long_words=False,
                    break_on_hyphens=False,
                )
                indent = " " * formatter.current_indent
                formatter.write(indent + f" \\\n{indent}".join(lines) + "\n")
        if self._is_short(ctx):
            name = ctx.command_path.partition(" ")[2]
            formatter.write_paragraph()
            formatter.write_text(f"All options and more: fitcheck help {name}")

    def _is_short(self, ctx: click.Context) -> bool:
        return not ctx.meta.get(WHOLE) and any(map(_is_daily, self.params))


def command(
    name: str, *examples: str, cls: type[Command] = Command
) -> Callable[[Callable[..., int]], click.Command]:
    """A command, and the examples that end its help."""
    return click.command(name, cls=cls, examples=examples)


def find_command(root: click.Context, words: Sequence[str]) -> click.Context | None:
    """The context of a command that words name below a group, or None where none is so named."""
    found = root
    for word in words:
        if not isinstance(found.command, LazyGroup):
            return None
        name = found.command.former.get(word, word)
        command = found.command.get_command(found, name)
        if command is None:
            return None
        found = click.Context(command, info_name=name, parent=found)
    return found


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
    """Options, in order, under a heading of their own in the whole help."""
    return _mark("section", title, options)


def mark_daily(*options: Option) -> Option:
    """Options or sections, in order, that `--help` shows; it leaves out what is not marked so."""
    return _mark("daily", True, options)


def _mark(mark: str, value: object, options: Iterable[Option]) -> Option:
    """Options, in order, that carry a mark."""

    def apply(function: Any) -> Any:
        before = len(getattr(function, "__click_params__", ()))
        function = together(*options)(function)
        for option in function.__click_params__[before:]:
            setattr(option, mark, value)
        return function

    return apply


def _is_daily(option: click.Parameter) -> bool:
    return getattr(option, "daily", False) or "--help" in option.opts


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
