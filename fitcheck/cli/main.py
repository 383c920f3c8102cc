"""The command group, and how wrong use ends: one line on stderr and exit code 2."""

from __future__ import annotations

import codecs
import contextlib
import os
import sys
from collections.abc import Sequence
from typing import Any

import click

from fitcheck import __version__
from fitcheck.cli.commands import EXIT_USAGE, LazyGroup
from fitcheck.errors import FitcheckError, clip

EXIT_FINDINGS = 1
EXIT_NOTHING = 3
_EXIT_BUG = 70
_EXIT_INTERRUPTED = 130
_EXIT_PIPE = 141
"""What a shell reports of a program whose reader has gone; it is no verdict on anything."""

COMMANDS = {
    "match": "List every combination of gear sets that fits a machine.",
    "why": "Work one combination out on paper, with every rule's answer.",
    "road": "Say what gear sets really do on the road, before and after.",
    "sheet": "Write a page for the customer, for screen and paper.",
    "identify": "Say which factory trains have the counted teeth.",
    "options": "Show every choice for one engine family.",
    "import": "Take a supplier's price list into the catalogue, under review.",
    "add": "Add a gear set to the catalogue, judged before it is written.",
    "edit": "Change fields of a gear set, and nothing else in its file.",
    "retire": "Mark a gear set retired: kept, never matched.",
    "shelf": "Keep the shelf: what lies where, goods in and out, stock-take.",
    "check": "Validate catalogue files and say what is wrong, and where.",
    "explain": "Explain a code that check reports, by an example.",
    "schema": "Write the JSON Schemas that help an editor.",
    "completion": "Let the shell complete commands, machines and sets.",
    "help": "Show all about a command, or a page of the manual.",
}
"""The commands in the order in which a newcomer meets them, with one line each."""

_MODULES = {
    **dict.fromkeys(("match", "why", "identify", "options"), "counter"),
    **dict.fromkeys(("edit", "retire", "check", "schema"), "upkeep"),
    "import": "price_lists",
    **dict.fromkeys(("explain", "completion"), "help"),
}
"""Modules of the commands that do not have one of their own name."""

_LONGEST = 600
COMPLETE = "_FITCHECK_COMPLETE"
"""The variable by which a shell asks click to complete a word."""


@click.group(
    cls=LazyGroup,
    words=COMMANDS,
    modules={name: f"fitcheck.cli.{_MODULES.get(name, name)}" for name in COMMANDS},
    former={"intake": "import"},
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, prog_name="fitcheck")
def cli() -> None:
    """Find the final-drive gear sets that fit a scooter, and what each one does.

    Start with: fitcheck match MACHINE, or fitcheck identify 14/45 13/48 when only the teeth
    are known. Gearing changes speed, brakes, tyres and lawfulness: local law and a licensed
    mechanic decide.
    """


def main(args: Sequence[str] | None = None) -> None:
    """Run the command line and exit."""
    sys.exit(_run(None if args is None else list(args)))


def _run(args: list[str] | None) -> int:
    if sys.stdout is None:
        return _refuse("fitcheck", "stdout is closed; open it or send it to a file")
    # What programs read never comes to that: see `echo_data`.
    _set_stand_ins(sys.stdout, "replace")
    _set_stand_ins(sys.stderr, "backslashreplace")
    try:
        code = cli.main(
            args=args, prog_name="fitcheck", complete_var=COMPLETE, standalone_mode=False
        )
    except click.ClickException as error:
        code = _refuse(_command_name(error), _click_message(error))
    except click.Abort:
        code = _EXIT_INTERRUPTED
    except FitcheckError as error:
        code = _refuse("fitcheck", str(error))
    except OSError as error:
        code = _refuse("fitcheck", _system_message(error))
    except SystemExit as stop:
        # click ends this way after completing a word, or where the reader of a pipe has gone.
        code = stop.code
        if COMPLETE not in os.environ:
            _abandon_output()
            code = _EXIT_PIPE
    except Exception as error:
        if os.environ.get("FITCHECK_DEBUG"):
            raise
        _refuse(
            "fitcheck",
            f"a fault of fitcheck itself ({type(error).__name__}: {error}); please report it "
            "with the output of FITCHECK_DEBUG=1",
        )
        code = _EXIT_BUG
    return code if isinstance(code, int) else 0


_STAND_INS = str.maketrans(
    {
        "\N{RIGHTWARDS ARROW}": "->",
        "\N{MULTIPLICATION SIGN}": "x",
        "\N{MIDDLE DOT}": ".",
        "\N{DEGREE SIGN}": " deg",
        "\N{SUPERSCRIPT TWO}": "2",
        "\N{SUPERSCRIPT THREE}": "3",
        "\N{HORIZONTAL ELLIPSIS}": "...",
        "\N{EN DASH}": "-",
        "\N{EM DASH}": "-",
        "\N{MINUS SIGN}": "-",
        "\N{LEFT DOUBLE QUOTATION MARK}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{REPLACEMENT CHARACTER}": "?",
    }
)
"""Our own signs in ASCII, for an output whose encoding lacks them."""


def _set_stand_ins(stream: Any, otherwise: str) -> None:
    """Let a stream write our signs in ASCII where its encoding lacks them.

    Args:
        stream: stdout or stderr, if there is one.
        otherwise: the error handler for all other characters, such as letters of a name; a wrong
            letter would be worse than a question mark.
    """
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is None:
        return

    def written(error: UnicodeError) -> tuple[str | bytes, int]:
        if not isinstance(error, UnicodeEncodeError):
            raise error
        missing = error.object[error.start : error.end]
        shown = (char.translate(_STAND_INS) for char in missing)
        text = "".join(
            each if each.isascii() else each.encode("ascii", otherwise).decode() for each in shown
        )
        return text, error.end

    codecs.register_error(f"fitcheck-{otherwise}", written)
    reconfigure(errors=f"fitcheck-{otherwise}")


def _system_message(error: OSError) -> str:
    """What the operating system refused; without a file's name it was the output."""
    reason = error.strerror or type(error).__name__
    if error.filename is not None:
        return f"{os.fsdecode(error.filename)}: {reason}; check the path and its permissions"
    _abandon_output()
    return f"the output cannot be written: {reason}; free some room or choose another place"


def _abandon_output() -> None:
    """Keep Python from complaining a second time when it flushes stdout at its end."""
    with contextlib.suppress(OSError, ValueError):
        number = sys.stdout.fileno()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, number)
        os.close(nowhere)


def _refuse(who: str, message: str) -> int:
    from fitcheck.screens.findings.wording import one_line

    line = one_line(f"{who}: {message}")
    if len(line) > _LONGEST:
        line = f"{line[: _LONGEST - 150]} ... {line[-145:]}"
    if sys.stderr is not None:
        with contextlib.suppress(OSError):
            print(line, file=sys.stderr, flush=True)
    return EXIT_USAGE


def _click_message(error: click.ClickException) -> str:
    """What click says, ending with what to do about it."""
    if isinstance(error, click.NoSuchOption):
        near = [name for name in error.possibilities or () if name.startswith("--")]
        hint = f"did you mean {near[0]}?" if near else f"see {_command_name(error)} --help"
        return f"no option {clip(error.option_name)}; {hint}"
    message = error.format_message().rstrip(".")
    message = message[:1].lower() + message[1:]
    return message if ";" in message else f"{message}; see {_command_name(error)} --help"


def _command_name(error: click.ClickException) -> str:
    context = getattr(error, "ctx", None)
    return context.command_path if context is not None else "fitcheck"
