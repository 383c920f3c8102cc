"""The exceptions a caller may meet, and how their messages show a long word.

Faults in the shop's data are never raised: they are gathered as diagnostics. An exception
means wrong use or input that cannot be read at all.
"""

from __future__ import annotations


def reason_of(error: Exception) -> str:
    """Why the system refused, in its own words and small letters."""
    return (getattr(error, "strerror", None) or str(error)).lower()


class FitcheckError(Exception):
    """Base of every error fitcheck raises on purpose; its text is one plain sentence."""


class UsageError(FitcheckError):
    """The caller asked for something that cannot be done: an unknown id, a clash of options."""


class UnreadableError(FitcheckError):
    """A file or folder cannot be read at all."""


class EditError(FitcheckError):
    """An edit, or a saving, was refused; the text is one line: where, what, what to do.

    The draft is as it was before the edit, and no file was touched, unless the text says so.
    """


def clip(text: str, most: int = 40) -> str:
    """A text that others wrote, short enough for a message of one line."""
    return text if len(text) <= most else f"{text[: most - 3]}..."
