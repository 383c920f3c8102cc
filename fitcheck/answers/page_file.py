"""A page of docs/ that is made from the code: written, or held to what the code says today."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path


def write_or_compare(
    module: str, document: Path, make: Callable[[], str], arguments: Sequence[str] | None = None
) -> int:
    """Write a page with `--write`, else say on stderr whether the committed one is in step.

    Args:
        module: what follows `python -m` to come here.
        document: the page's file.
        make: gives the page's text.
        arguments: words of the command line; left out: those of this process.

    Returns:
        The exit code: 0 written or in step, 1 out of step, 2 wrong use.
    """
    asked = sys.argv[1:] if arguments is None else list(arguments)
    if asked not in ([], ["--write"]):
        print(f"usage: python -m {module} [--write]", file=sys.stderr)
        return 2
    text = make()
    if asked:
        document.parent.mkdir(exist_ok=True)
        document.write_text(text, encoding="utf-8", newline="\n")
        return 0
    if document.is_file() and document.read_text(encoding="utf-8") == text:
        return 0
    print(f"{document} is out of step: run python -m {module} --write", file=sys.stderr)
    return 1
