"""Answers: those a supplier's file keeps, those given now, and what the file is to keep of them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from fitcheck.catalogue.reader import Catalogue
from fitcheck.diagnostics.finding import Finding
from fitcheck.errors import UsageError
from fitcheck.model.fields import STAGES
from fitcheck.model.trade import ListMapping
from fitcheck.services.price_lists.articles import Article, Reader
from fitcheck.services.price_lists.doubtful_columns import headed_alike
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.housing_claims import BESIDE_MODELS
from fitcheck.services.price_lists.outcomes import RowOutcome
from fitcheck.services.price_lists.questions import (
    ALWAYS_HARMLESS,
    HARMLESS,
    LEFT_OUT,
    NONE,
    Asker,
    clean_text,
)
from fitcheck.services.price_lists.wording.harmless import never_in
from fitcheck.services.price_lists.wording.readings import words_of

KEPT_IN = {
    "model": "model_words",
    "stage-word": "stage_words",
    "housing-word": "housing_words",
    "word": "words",
}
"""Questions about words, whose answers have mappings of their own in the supplier's file."""
MAY_BE_NULL = ("model_words", "housing_words")
"""Those of them in which null stands for the answer none."""


def kept_answers(mapping: ListMapping) -> dict[str, str]:
    """Answers that the supplier's file keeps, by key of their question."""
    return {clean_text(key): answer for key, answer in mapping.settled.items()}


def _about(key: str, asks: str) -> str | None:
    """What a question of a kind is about, by its key; None for one of another kind."""
    head = f"{asks} of "
    return key.removeprefix(head) if key.startswith(head) else None


def kept_in(key: str) -> tuple[str, str]:
    """The part of a supplier's mapping that keeps the answer to a question, and its name there."""
    for asks, name in KEPT_IN.items():
        if (word := _about(key, asks)) is not None:
            return name, word
    return "settled", clean_text(key)


def last_kept(mapping: ListMapping, most: int) -> dict[str, str]:
    """The last answers of each kind that the supplier's file keeps, by key of their question.

    Args:
        mapping: the supplier's.
        most: how many in all.
    """
    parts = [(f"{asks} of ", getattr(mapping, name)) for asks, name in KEPT_IN.items()]
    kinds = [[(head + word, meant or NONE) for word, meant in kept.items()] for head, kept in parts]
    kinds.append(list(kept_answers(mapping).items()))
    of_each = -(-most // max(1, sum(map(bool, kinds))))
    return dict([each for kind in kinds for each in kind[: -of_each - 1 : -1]][:most])


def with_answers(mapping: ListMapping, given: Mapping[str, str]) -> ListMapping:
    """The supplier's words, those answered now added."""
    words = {name: dict(getattr(mapping, name)) for name in KEPT_IN.values()}
    for key, answer in given.items():
        name, word = kept_in(key)
        if name != "settled" and (answer != NONE or name in MAY_BE_NULL):
            words[name][word] = None if answer == NONE else answer
    return mapping.model_copy(update=words)


def with_meanings(mapping: ListMapping, families: Collection[str]) -> ListMapping:
    """A mapping whose words for a stage, a family or a housing hold what other words mean too.

    Args:
        mapping: the supplier's.
        families: ids of the families there are.
    """
    no_meaning = (HARMLESS, ALWAYS_HARMLESS, LEFT_OUT)
    told = {word: meant for word, meant in mapping.words.items() if meant not in no_meaning}
    stages = {word: meant for word, meant in told.items() if meant in STAGES}
    models = {word: meant for word, meant in told.items() if meant in families}
    housings = {w: m for w, m in told.items() if w not in stages and w not in models}
    housings |= {
        f"{word}{BESIDE_MODELS} ({family})": meant
        for word, meant in housings.items()
        for family in families
    }
    return mapping.model_copy(
        update={
            "stage_words": {**mapping.stage_words, **stages},
            "model_words": {**mapping.model_words, **models},
            "housing_words": {**mapping.housing_words, **housings},
        }
    )


def always_harmless(catalogue: Catalogue) -> dict[str, str]:
    """The words that some supplier's file calls harmless in every list, each to that answer."""
    return {
        word: meant
        for entry in catalogue.suppliers.values()
        for word, meant in (entry.record.list_mapping or ListMapping()).words.items()
        if meant == ALWAYS_HARMLESS
    }


def denied_words(catalogue: Catalogue) -> Iterator[Finding]:
    """Words that deny, doubt or limit, and that a supplier's file calls harmless."""
    for entry in catalogue.suppliers.values():
        for word, meant in (entry.record.list_mapping or ListMapping()).words.items():
            said = never_in(words_of(word).split())
            if said and meant in (HARMLESS, ALWAYS_HARMLESS):
                path = ("list_mapping", "words", word)
                yield Finding(
                    "FC245",
                    f"{word!r} cannot be {meant}: {said!r} denies, doubts or limits",
                    entry.span(*path),
                    record=entry.id,
                    field=entry.document_path(*path),
                    help=f"say {LEFT_OUT}, or take it out and answer for each text that has it",
                )


def refuse_words(catalogue: Catalogue, supplier: str) -> None:
    """Refuse words of a supplier's file that deny, doubt or limit and are said to be harmless.

    Raises:
        UsageError: there is one.
    """
    for each in denied_words(catalogue):
        if each.record == supplier:
            raise UsageError(f"{each.span}: {each.message}; {each.help}")


def is_used(key: str, asker: Asker, articles: Sequence[Article]) -> bool:
    """Whether an answer was asked for, or is about a word that the list holds."""
    if key in asker.used:
        return True
    for asks in KEPT_IN:
        word = _about(key, asks)
        if word is None:
            continue
        if asks == "housing-word":
            word = (word.rpartition(" (")[0] or word).removesuffix(BESIDE_MODELS)
        wanted = words_of(word)
        texts = {
            "model": (article.models for article in articles),
            "stage-word": (article.stage_cell for article in articles),
            "housing-word": (article.housing or article.text for article in articles),
            "word": (article.all_text for article in articles),
        }[asks]
        return any(wanted in words_of(text) for text in texts)
    return False


def without_columns(mapping: ListMapping) -> ListMapping:
    """A mapping with its words and answers, but nothing of how the list is laid out."""
    kept = mapping.model_dump(exclude={"columns", "decimal_mark"}, exclude_unset=True)
    return ListMapping(**kept)


def proposed_mapping(
    readers: Collection[Reader], mapping: ListMapping, list_name: str | None, codec: str
) -> ListMapping:
    """The supplier's mapping, columns taken from the list where it has none yet.

    Args:
        readers: of the tables that are read.
        mapping: the supplier's.
        list_name: what somebody calls the list; None: nobody said, and a file's name is that of
            one month.
        codec: the encoding of the list, where it does not say it itself; else empty.
    """
    saved: dict[str, object] = {"encoding": codec} if codec else {}
    if mapping.columns:
        return mapping.model_copy(update=saved)
    layouts = [each.layout for each in readers]
    best = max(readers, key=lambda each: len(each.layout.data_rows))
    # While it is asked which column a field is, in whatever table, none is known for next month.
    # And a heading that two columns bear says of neither that it is the one.
    asked = any(each.is_asked_for for layout in layouts for each in layout.columns.values())
    if not asked and all(_reads_alike(best.layout, each) for each in layouts):
        saved["columns"] = best.layout.headings
    if list_name is not None:
        saved["list_name"] = list_name
    # A mark that the column does not settle is none of the supplier's: a list read again by it
    # would be another list.
    if not asked and best.style.decimal_mark is not None:
        saved["decimal_mark"] = best.style.decimal_mark
    return mapping.model_copy(update=saved)


def _reads_alike(best: Layout, other: Layout) -> bool:
    """Whether the columns of one table, named by their headings, are those another is read by.

    A table that lacks some of these headings is read by its own.
    """
    if any(not each.heading or headed_alike(best, each) for each in best.columns.values()):
        return False
    headed = {*other.headings.values(), *(text for _, text in other.others)}
    return not headed.issuperset(best.headings.values()) or all(
        other.headings.get(name) == heading for name, heading in best.headings.items()
    )


def remember_answers(
    mapping: ListMapping, given: Mapping[str, str], asker: Asker, rows: Iterable[RowOutcome]
) -> ListMapping:
    """What the supplier's file is to keep of the answers given now.

    What makes an entry that cannot be is asked again.
    """
    failed = {row.address for row in rows if row.outcome == "unreadable"}
    settled = dict(mapping.settled)
    for key, answer in given.items():
        name, kept = kept_in(key)
        decides = any(_about(key, asks) is not None for asks in ("stage", "families", "counted"))
        if decides and failed.intersection(asker.used.get(key, ())):
            settled.pop(kept, None)
        elif key in asker.used and name == "settled":
            settled[kept] = answer
    return with_answers(mapping, given).model_copy(update={"settled": settled})


def spent_answers(
    given: Mapping[str, str], asker: Asker, rows: Iterable[RowOutcome]
) -> frozenset[str]:
    """Keys of answers that need not be kept once the entries are written.

    The entry itself then tells the stage, and has what the list was said to be right in; kept, the
    answer would overrule whoever sets the entry right later.
    """
    done = {row.address for row in rows if row.outcome in ("new", "changed", "unchanged")}
    return frozenset(
        kept_in(key)[1]
        for key, answer in given.items()
        if key in asker.told_by_entry or (_about(key, "counted") is not None and answer == "list")
        if set(asker.used.get(key, ())) <= done
    )
