"""Open questions as a small YAML file that a person answers and feeds back."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path

from fitcheck.errors import UsageError
from fitcheck.services.price_lists.asking import NONE
from fitcheck.services.price_lists.outcomes import Asks, Plan, Question

KIND = "intake-review"

ANSWERS: dict[Asks, str] = {
    "model": f"the engine family, by id or name; {NONE} if it is none of ours",
    "families": f"all, {NONE}, or ids of families with commas between",
    "stage-word": "primary, secondary, tertiary or single",
    "stage": "one of these for each pair, with commas between, in the order of the pairs",
    "teeth": f"like 15/44, or 15/44, 13/48 for a train; {NONE} leaves the row out",
    "housing-word": f"the housing, by id or name; {NONE} if the word says nothing",
    "price": f"an amount like 64.90; {NONE} if there is no price",
    "part-number": f"the number as the supplier writes it, quoted; {NONE} leaves the row out",
    "row": "a letter, the first choice being a",
    "counted": "list or catalogue",
    "column": "one of the choices, as it is written there, or its letter, the first being a",
}
"""What an answer to each kind of question looks like."""

_WIDTH = 96
_KIND_LINE = re.compile(rf"^kind: {KIND}\s*$", re.MULTILINE)
_ANSWERED = re.compile(r"^\s*(?:- )?answer:[ \t]*[^\s#]|answer: *[^\s,}#]", re.MULTILINE)


def review_text(plan: Plan) -> str:
    """The open questions of a plan as the text of a YAML file; empty where there are none."""
    if not plan.questions:
        return ""
    kinds = list(dict.fromkeys(question.asks for question in plan.questions.values()))
    lines = [
        *_comment(
            f"Open questions of the list {Path(plan.path).name}. Write each answer behind its "
            "answer:, then feed the file back with --answers; what stays empty is asked again.",
            "",
        ),
        "#",
        *(line for kind in kinds for line in _comment(f"{kind}: {ANSWERS[kind]}", "", "  ")),
        "",
        f"kind: {KIND}",
        f"supplier: {_quoted(plan.supplier)}",
        "questions:",
    ]
    for question in plan.questions.values():
        lines += ["", *_entry(question)]
    return "\n".join(lines) + "\n"


def _entry(question: Question) -> Iterable[str]:
    yield from _comment(question.text, "  ")
    more = question.count - len(question.where)
    places = ", ".join(question.where) + (f" and {more} more" if more > 0 else "")
    yield from _comment(f"in {places}", "  ")
    yield f"  - asks: {question.asks}"
    yield f"    about: {_quoted(question.about)}"
    if question.choices:
        if question.asks == "row":
            yield "    choices:"
            for at, choice in enumerate(question.choices):
                yield f"      - {_quoted(choice)} # {chr(ord('a') + at)}"
        else:
            yield f"    choices: [{', '.join(_quoted(choice) for choice in question.choices)}]"
    yield "    answer:"


def _quoted(text: str) -> str:
    # A JSON string is a YAML one too.
    return json.dumps(text, ensure_ascii=False)


def _comment(text: str, indent: str, hanging: str = "") -> Iterable[str]:
    """A text in comment lines; a word too long for one stays whole."""
    line = f"{indent}#"
    for word in text.split():
        if len(line) + 1 + len(word) > _WIDTH and line.strip() != "#":
            yield line
            line = f"{indent}# {hanging}".rstrip()
        line += f" {word}"
    yield line


def write_review(plan: Plan, path: str, *, over_answers: bool = False) -> bool:
    """Write the open questions into a file, whole or not at all.

    A file that is there is written over only if it is an earlier one of its kind, without answers.

    Args:
        plan: the plan.
        path: where to.
        over_answers: whether the answers that are there have been taken, so that they may go.

    Returns:
        Whether there was anything to write.

    Raises:
        UsageError: a file of another kind is there, or answers that would be lost.
    """
    text = review_text(plan)
    if not text:
        return False
    refuse_place(path, over_answers=over_answers)
    target = Path(path)
    handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(target)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return True


def refuse_place(path: str, *, over_answers: bool = False) -> None:
    """Refuse a place where the questions cannot be written.

    Args:
        path: where to.
        over_answers: whether answers that are there may go.

    Raises:
        UsageError: there is no such folder, a file of another kind is there, or answers that
            would be lost.
    """
    target = Path(path)
    if not target.absolute().parent.is_dir():
        raise UsageError(f"{path}: there is no such folder; make it or name another file")
    there = _head_of(target)
    if there is not None:
        if not _KIND_LINE.search(there):
            raise UsageError(f"{path}: a file of another kind is there; name another file")
        if _ANSWERED.search(there) and not over_answers:
            raise UsageError(
                f"{path}: answers are in it; feed them back with --answers, or name another file"
            )


def _head_of(path: Path) -> str | None:
    """The text of a file that is there; of one too large to be ours its beginning."""
    try:
        with path.open("rb") as stream:
            return stream.read(1 << 24).decode(errors="replace")
    except FileNotFoundError:
        return None
    except OSError:
        return ""
