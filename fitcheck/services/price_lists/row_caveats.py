"""What a row says against itself: in its texts, in columns not read, in lines around it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.services.price_lists.headings.columns import DENYING, EXTRA_CHARGES, SILENT
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.questions import Asker, clean_text
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.cues import GEAR_WORDS, TEETH_WORDS
from fitcheck.services.price_lists.wording.readings import Reading, fold, words_of
from fitcheck.services.price_lists.wording.reservations import (
    gear_alone_in,
    other_pair_in,
    reservation_in,
)
from fitcheck.services.price_lists.wording.stages import stages_in
from fitcheck.services.price_lists.wording.teeth import FoundPairs

AS_READ, LEFT_OUT = "as read", "left out"
# Word lists and marks are common practice of the trade, no source.
_NOTHING = re.compile(
    r"[0.,€$%+ -]*(?:eur|nein|nessuno|aucun|ninguno|none|no|keine?)?\.?", re.IGNORECASE
)
_OLD = cues.words_in(
    "old alt alte vecchio vecchia vecchi ancien ancienne anciens antiguo antiguos viejo oem "
    "original orig originale serie series serien standard bisher vorher previous"
)
_MARKS = frozenset({"x", "✓", "✔", "●", "•", "ja", "si", "oui", "yes"})
_SHORT = 6
_NO_MARKS = frozenset({"-", "--", "no", "nein", "non", "○"})


def _joins(text: str) -> int:
    """How many signs that may join two counts; a name with one alone holds one pair at most."""
    return text.count("/") + text.count(":") + text.count("x") + text.count("-")


def marked_models(layout: Layout, row: int) -> tuple[str, tuple[str, ...]]:
    """The models whose columns bear a mark in a row, and marks that say nothing for certain."""
    models, unsure = [], []
    for column, heading in layout.matrix.items():
        text = fold(layout.sheet.cell(row, column).text).strip()
        if text in _MARKS:
            models.append(heading)
        elif text and text not in _NO_MARKS:
            unsure.append(f"{heading}: {text}")
    return ", ".join(models), tuple(unsure)


def reservations_of(
    layout: Layout,
    row: int,
    texts: Iterable[str],
    pairs: FoundPairs | None,
    stage: Reading[tuple[Stage, ...]],
    *,
    priced: bool,
) -> tuple[str, ...]:
    """What the cells of a row hold against what is read of it, each in words of the list.

    Args:
        layout: the table.
        row: the row.
        texts: its name, its remark, what it says of stock; the name first.
        pairs: its teeth, where they are certain.
        stage: its stages.
        priced: whether it has a price.
    """
    own = frozenset(each.pair for each in pairs or ())
    said: list[str] = []
    for at, text in enumerate(texts):
        if not text:
            continue
        held = reservation_in(text)
        if held is not None and (priced or held.of == "part"):
            said.append(held.said)
        elif at < 2 and own and (at or _joins(text) > 1) and (other := other_pair_in(text, own)):
            said.append(other)
        elif at == 1 and stage.certain and set(stages_in(text)) - set(stage.value or ()):
            said.append(clean_text(text))
    if layout.others:
        said += _read_beside(layout, row, own, priced=priced)
        said += _read_stages(layout, row, stage)
    return tuple(dict.fromkeys(said))


def _read_beside(layout: Layout, row: int, own: frozenset[Pair], *, priced: bool) -> Iterator[str]:
    """What columns that are none of our fields hold against a row."""
    values = layout.sheet.values[row - 1]
    for column, heading in layout.others:
        value = values[column - 1] if column <= len(values) else None
        if value is None or column == layout.successor_column:
            continue
        words = words_of(heading)
        if words in EXTRA_CHARGES:
            if priced and not _NOTHING.fullmatch(fold(str(value)).strip()):
                yield f"{heading}: {clean_text(str(value))}"
        elif (
            isinstance(value, str)
            and words not in SILENT
            and (said := _beside_in(value, heading, words, own, priced=priced))
        ):
            yield said


def _read_stages(layout: Layout, row: int, stage: Reading[tuple[Stage, ...]]) -> Iterator[str]:
    """Columns that are none of our fields and speak of another stage than is read.

    By their heading, where they bear a mark, or by what stands in them.
    """
    values = layout.sheet.values[row - 1]
    own = set(stage.value or ())
    for column, heading in layout.others:
        value = values[column - 1] if column <= len(values) else None
        if not isinstance(value, str):
            continue
        marked = len(value) < _SHORT and fold(value).strip() in _MARKS
        named = stages_in(heading if marked else value) if marked or own else ()
        if set(named) - own and words_of(heading) not in SILENT:
            yield f"{heading}: {clean_text(value)}"


def _beside_in(value: str, heading: str, words: str, own: frozenset[Pair], *, priced: bool) -> str:
    """What one such cell holds against its row; or empty."""
    if words in DENYING:
        return f"{heading}: {clean_text(value)}" if any(map(str.isalnum, value)) else ""
    if (held := reservation_in(value)) is not None:
        return held.said if priced or held.of == "part" else ""
    if alone := gear_alone_in(value):
        return alone
    if not own or not any(map(str.isdigit, value)):
        return ""
    spoken = set(words.split())
    if spoken.isdisjoint(TEETH_WORDS | GEAR_WORDS) or spoken & _OLD:
        return ""
    other = other_pair_in(value, own)
    return f"{heading}: {other}" if other else ""


def ask_reservations(
    asker: Asker, part: str, address: str, own: Iterable[str], stated: Iterable[str]
) -> list[str] | None:
    """Keys of the questions that what is said against a row raises; None where it is left out.

    Args:
        asker: where questions go.
        part: the part number.
        address: where the row stands.
        own: what its cells say.
        stated: what lines around it say; asked once for all rows they hold for.
    """
    questions = [(f"{part}, {each!r}", f"The list says {each!r} of {part}.") for each in own]
    whom = "of rows below, above or marked so"
    questions += [(repr(each), f"The list says {each!r} {whom}.") for each in stated]
    return _ask(
        asker, address, [(about, f"{text} Is all else of it as read?") for about, text in questions]
    )


def ask_unexplained(
    asker: Asker, address: str, left: Iterable[tuple[str, str]]
) -> list[str] | None:
    """Keys of the questions about words that nothing explains; None where the row is left out.

    Args:
        asker: where questions go; words are asked once for all rows that have them.
        address: where the row stands.
        left: the words, and the text they stand in.
    """
    questions = []
    for said, text in left:
        where = "" if said == text else f" in {clean_text(text)!r}"
        asked = f"What does {said!r} mean{where}? If it changes neither the gears nor what they fit"
        questions.append((repr(said), f"{asked}, the rows are as read."))
    return _ask(asker, address, questions)


def _ask(asker: Asker, address: str, questions: Iterable[tuple[str, str]]) -> list[str] | None:
    """Put questions about a row, each by what it is about and its text."""
    keys = []
    for about, text in questions:
        given = asker.answer("row", about, address)
        if given == LEFT_OUT:
            return None
        if given != AS_READ:
            keys.append(asker.ask("row", about, text, address, [AS_READ, LEFT_OUT]))
    return keys
