"""Kinds of option that every command shares: given once, and whole numbers in a range."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    _IntegerType = click.ParamType[int]
else:  # a generic class only in later releases
    _IntegerType = click.ParamType

F = TypeVar("F", bound=Callable[..., Any])

LIST_FILE = click.Path(readable=False, path_type=Path)
"""A file that its own reader opens, and says of it what is wrong."""

_LONGEST = 12
"""A whole number of more figures is out of any range."""


class Command(click.Command):
    """A command whose every refusal knows which command it came from.

    Its help shows options by section; see `section`.
    """

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words after the command's name."""
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            error.ctx = error.ctx or ctx
            raise

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options into the help, a heading for each section."""
        for title, options in sections_of(self.get_params(ctx)).items():
            records = [option.get_help_record(ctx) for option in options]
            shown = [record for record in records if record is not None]
            if shown:
                with formatter.section(title):
                    formatter.write_dl(shown)


class SignedCommand(Command):
    """A command whose words may begin with a minus sign: a number below zero is no option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the words after the command's name."""
        try:
            return super().parse_args(ctx, list(args))
        except click.NoSuchOption as error:
            if not re.match("-[0-9.,]", error.option_name):
                raise
            ctx.ignore_unknown_options = True  # one too many is refused as a word too many
            return super().parse_args(ctx, args)


class _Once(click.Option):
    """An option that takes one value; a second one is refused, since either may be meant."""

    def __init__(self, *arguments: Any, **attributes: Any) -> None:
        attributes["multiple"] = True
        super().__init__(*arguments, **attributes)

    def process_value(self, ctx: click.Context, value: Any) -> Any:
        values = super().process_value(ctx, value)
        if len(values) > 1:
            raise click.UsageError(
                f"{self.opts[0]} is given {len(values)} times; give it once", ctx
            )
        return values[0] if values else None


def once(*names: str, **attributes: Any) -> Callable[[F], F]:
    """An option of a command that may be given once; arguments as `click.option` takes them."""
    if "default" in attributes:
        attributes["default"] = [attributes["default"]]
    return click.option(*names, cls=_Once, **attributes)


_PLAIN = "Options"
"""Heading of the options that stand in no section; they come last."""


def section(title: str, *options: Callable[[F], F]) -> Callable[[F], F]:
    """Options, in order, under a heading of their own in the help."""

    def apply(function: F) -> F:
        for option in reversed(options):
            function = option(function)
            added: Any = function.__click_params__[-1]  # type: ignore[attr-defined]
            added.section = title
        return function

    return apply


def sections_of(parameters: Iterable[click.Parameter]) -> dict[str, list[click.Option]]:
    """Options by the heading they stand under, those without one last."""
    found: dict[str, list[click.Option]] = {}
    for parameter in parameters:
        if isinstance(parameter, click.Option):
            found.setdefault(getattr(parameter, "section", _PLAIN), []).append(parameter)
    if _PLAIN in found:
        found[_PLAIN] = found.pop(_PLAIN)
    return found


class WholeNumber(_IntegerType):
    """A whole number, both limits allowed.

    Attributes:
        low: the least.
        high: the greatest, or None.
    """

    name = "number"

    def __init__(self, low: int, high: int | None = None) -> None:
        self.low = low
        self.high = high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number a word of the command line stands for; fails with one line."""
        if isinstance(value, int):
            return value
        text = str(value).strip()
        shown = text if len(text) <= 30 else f"{text[:27]}..."
        if not re.fullmatch("[+-]?[0-9]+", text):
            self.fail(f"{shown!r} is no whole number; give {self._range()}", param, ctx)
        if len(text) > _LONGEST:
            most = self.high if self.high is not None else 10**_LONGEST - 1
            self.fail(f"{shown} is out of range; give {self.low} to {most}", param, ctx)
        number = int(text)
        if number < self.low or (self.high is not None and number > self.high):
            self.fail(f"{number} is out of range; give {self._range()}", param, ctx)
        return number

    def _range(self) -> str:
        return f"{self.low} to {self.high}" if self.high is not None else f"{self.low} or more"


def catalog_option(function: F) -> F:
    """`--catalog`: the folder or file to read."""
    return once(
        "--catalog",
        metavar="PATH",
        help="Catalogue folder or file. Default: $FITCHECK_CATALOG, then ./catalog here or "
        "above, then the built-in demo.",
    )(function)


def format_option(*names: str) -> Callable[[F], F]:
    """`--format` with the first name as default."""
    return once(
        "--format",
        "output_format",
        type=click.Choice(names, case_sensitive=False),
        default=names[0],
        show_default=True,
        help="How to print the answer.",
    )
