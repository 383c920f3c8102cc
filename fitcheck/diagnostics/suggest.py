"""Near names for keys, kinds and ids; the limits live in one place."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["nearest", "or_list"]

_CUTOFF = 70.0


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name nearest to a mistyped one, or None where nothing is near.

    Digits count: a name whose digits differ is never offered for a name of fewer than four
    letters, since 50 for 70 is another engine and no slip of the finger.
    """
    from rapidfuzz import fuzz, process, utils

    if not word.strip():
        return None
    found = process.extractOne(
        word, list(known), scorer=fuzz.ratio, processor=utils.default_process, score_cutoff=_CUTOFF
    )
    return None if found is None else str(found[0])


def or_list(names: Iterable[str], limit: int = 8) -> str:
    """Names as `a, b or c`; past the limit the count of the rest."""
    all_names = list(names)
    shown = all_names[:limit]
    rest = len(all_names) - len(shown)
    if rest:
        return f"{', '.join(shown)} or {rest} more"
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} or {shown[-1]}"
