"""Kinds of option and of their values, read before any catalogue is."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click
from click.types import StringParamType as _TextType

from fitcheck.cli.commands import Option, mark_daily, together
from fitcheck.cli.common import late
from fitcheck.errors import FitcheckError, UsageError, clip

if TYPE_CHECKING:
    from fractions import Fraction

    from click.shell_completion import CompletionItem

    from fitcheck.kernel.teeth import Pair

    _IntegerType = click.ParamType[int]
    _AnyType = click.ParamType[Any]
else:  # a generic class only in later releases
    _IntegerType = _AnyType = click.ParamType


class Id(_TextType):
    """What an entry of the catalogue is called; the shell completes its id.

    Attributes:
        kind: of the entry, such as `gear-set`.
        later: kind of all words after the first, where one argument takes both; the first is of
            that kind too where `--family` stands for it.
    """

    def __init__(self, kind: str, later: str | None = None) -> None:
        self.kind = kind
        self.later = later

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Ids that begin as typed."""
        from fitcheck.cli.completion import offer_ids

        is_later = ctx.params.get(param.name or "") or ctx.params.get("family")
        kind = self.later if self.later is not None and is_later else self.kind
        return offer_ids(kind, ctx, incomplete)


MACHINE, MACHINE_AND_SETS = Id("machine"), Id("machine", "gear-set")
SET, FAMILY, SUPPLIER = Id("gear-set"), Id("family"), Id("supplier")
TUNE, TYRE, VEHICLE_CLASS = Id("tune"), Id("tyre"), Id("vehicle-class")

LIST_FILE = click.Path(readable=False, path_type=Path)
"""A file that its own reader opens, and says of it what is wrong."""

_LONGEST = 12
"""A whole number of more figures is out of any range."""


SHORT = {
    "--all": "-a",
    "--band": "-b",
    "--catalog": "-C",
    "--family": "-f",
    "--format": "-F",
    "--housing": "-H",
    "--in-stock": "-s",
    "--list": "-L",
    "--long": "-l",
    "--max-price": "-m",
    "--output": "-o",
    "--percent": "-P",
    "--proven-only": "-p",
    "--road": "-r",
    "--supplier": "-S",
    "--teeth": "-t",
    "--top": "-n",
    "--tune": "-T",
    "--wheel": "-w",
}
"""The letter of each option of every day; a letter means the same in every command."""


class _Many(click.Option):
    """An option with a value, which a refusal names by its word, not by its letter too."""

    def get_error_hint(self, ctx: click.Context | None) -> str:
        """What a refused value is called."""
        return f"'{self.opts[0]}'"


class _Once(_Many):
    """An option that takes one value; a second one is refused, since either may be meant."""

    def process_value(self, ctx: click.Context, value: Any) -> Any:
        values = super().process_value(ctx, value)
        if len(values) > 1:
            raise click.UsageError(
                f"{self.opts[0]} is given {len(values)} times; give it once", ctx
            )
        return values[0] if values else None


def once(written: str, words: str, kind: Any = None, **more: Any) -> Option:
    """An option that may be given once.

    Args:
        written: as the help shows it, with what its value is called there unless it is a choice,
            and perhaps the name of what it becomes: `--date DATE day`.
        words: the help.
        kind: type of the value; text without.
        more: as `click.option` takes it; a default is shown. With `daily` the command's `--help`
            shows it, which leaves out all others.
    """
    if "default" in more:
        more |= {"default": [more["default"]], "show_default": True}
    return many(written, words, kind, cls=_Once, **more)


def many(written: str, words: str, kind: Any = None, **more: Any) -> Option:
    """An option that may be given several times; arguments as of `once`."""
    parts = written.split()
    metavar = next((part for part in parts if part.isupper()), None)
    names = _with_letter([part for part in parts if part != metavar])
    more.setdefault("cls", _Many)
    return _option(*names, multiple=True, metavar=metavar, help=words, type=kind, **more)


def flag(written: str, words: str, **more: Any) -> Option:
    """An option without a value; arguments as of `once`."""
    return _option(*_with_letter(written.split()), is_flag=True, help=words, **more)


def _with_letter(names: list[str]) -> list[str]:
    letter = SHORT.get(names[0])
    return names if letter is None else [names[0], letter, *names[1:]]


def _option(*names: str, daily: bool = False, **more: Any) -> Option:
    option = click.option(*names, **more)
    return mark_daily(option) if daily else option


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

    def convert(
        self, value: Any, param: click.Parameter | None = None, ctx: click.Context | None = None
    ) -> int:
        """The number a word of the command line stands for; fails with one line."""
        if isinstance(value, int):
            return value
        text = str(value).strip()
        shown = clip(text, 30)
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


INCHES = WholeNumber(4, 30)
"""Rim size of a wheel."""


catalog_option = once(
    "--catalog PATH",
    "Catalogue folder or file. Default: $FITCHECK_CATALOG, then ./catalog here or "
    "above, then the built-in demo.",
)
"""`--catalog`: the folder or file to read."""


long_option = flag(
    "--long", "Show all there is to say, not only what fits on one screen.", daily=True
)
"""`--long`: the whole answer for people; other formats hold all of it anyway."""


TABLES = ("csv", "markdown")
"""Formats of an answer that has rows; each is a method of `answers.tables.Table`."""
LISTED = ("table", "json", *TABLES)
"""Formats of a command that lists something."""


def format_option(*names: str) -> Option:
    """`--format` with the first name as default."""
    kind = click.Choice(names, case_sensitive=False)
    return once("--format output_format", "How to print the answer.", kind, default=names[0])


def list_options(function: Any) -> Any:
    """`--format` and `--catalog` of a command that lists something."""
    return together(format_option(*LISTED), catalog_option)(function)


class Reader(_AnyType):
    """A value that a function reads; what it refuses ends in one line that names the option."""

    def __init__(self, name: str, read: Callable[[str], Any]) -> None:
        self.name = name
        self.read = read

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """What a word of the command line stands for; fails with one line."""
        if not isinstance(value, str) or (ctx is not None and ctx.resilient_parsing):
            return value
        try:
            return self.read(value)
        except FitcheckError as error:
            self.fail(str(error), param, ctx)


def read_counts(text: str) -> tuple[Pair, ...]:
    """Read counted pairs, from input shaft to wheel.

    Raises:
        UsageError: what was counted makes no train.
    """
    from fitcheck.kernel.teeth import TeethError, read_train

    try:
        return read_train(text)
    except TeethError as error:
        raise UsageError(f"tooth counts: {error}") from None


_TYPED = "fitcheck.services.upkeep.typed_values"
"""What reads most values, imported when there is one."""

_quantity = late(f"{_TYPED}:typed_quantity")


def _currency(text: str) -> str:
    from fitcheck.model.money import known_currencies

    code = text.strip().upper()
    if code not in known_currencies():
        raise UsageError(f"{text[:30]!r} is no currency; give its ISO 4217 code, like EUR")
    return code


class Money(NamedTuple):
    """An amount, and its currency where that is given."""

    amount: Decimal
    currency: str | None


_AMOUNT_AND_CODE = re.compile(r"([^a-z]*[^a-z\s])\s*([a-z]+)", re.IGNORECASE | re.ASCII)


def _money(read_amount: Callable[[str], Decimal]) -> Callable[[str], Money]:
    """A reader of money, whose amount is read by that function."""

    def read(text: str) -> Money:
        parts = _AMOUNT_AND_CODE.fullmatch(text.strip())
        if parts is None:
            return Money(read_amount(text), None)
        return Money(read_amount(parts[1]), _currency(parts[2]))

    return read


def one_currency(given: Mapping[str, str | None]) -> str | None:
    """The one currency that options name; None where none does.

    Args:
        given: the currency by the option that names it, or None.

    Raises:
        click.UsageError: two options name different ones.
    """
    named = [(option, code) for option, code in given.items() if code is not None]
    for option, code in named[1:]:
        first, wanted = named[0]
        if code != wanted:
            raise click.UsageError(
                f"{first} is in {wanted} and {option} in {code}; give one currency"
            )
    return named[0][1] if named else None


def _millimetres(text: str) -> Fraction:
    from fractions import Fraction

    value = _quantity(text, "millimetres like 1340", Decimal(300), Decimal(5000))
    if not 300 <= value <= 5000:
        raise UsageError(f"{text} mm is no roll-out of a wheel; give millimetres, 300 to 5000")
    return Fraction(value)


def quantity(low: str, high: str, unit: str, what: str, example: str) -> Reader:
    """A number that physics takes, both limits allowed.

    Args:
        low: the least, as it is shown.
        high: the greatest.
        unit: such as `km/h`, or empty.
        what: what it would be, such as `mass of a machine`.
        example: a sensible one.
    """
    beside = f" {unit}" if unit else ""

    def read(text: str) -> float:
        like = f"a number{' in' * bool(unit)}{beside} like {example}"
        least, most = Decimal(low), Decimal(high)
        value = _quantity(text, like, least, most)
        if not least <= value <= most:
            raise UsageError(f"{text.strip()}{beside} is no {what}; give {low} to {high}{beside}")
        return float(value)

    return Reader("number", read)


TEETH = Reader("pairs", read_counts)

WINDOW = Reader("window", late(f"{_TYPED}:read_window"))

DAY = Reader("date", late(f"{_TYPED}:typed_day"))

CURRENCY = Reader("currency", _currency)

MONEY = Reader("amount", _money(late(f"{_TYPED}:typed_amount")))
"""An amount with or without its currency: 120, 120 CHF."""

PRICE = Reader("amount", _money(late(f"{_TYPED}:typed_price")))
"""The same to be paid in coins, so that thousandths are asked back."""

SHARE = Reader("number", late(f"{_TYPED}:typed_share"))
"""Hours, or a rate in percent: too small for a mark between thousands, so 8.125 is what it says."""

MILLIMETRES = Reader("millimetres", _millimetres)
