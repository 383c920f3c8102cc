"""The sheet as one HTML file: plain view data, a template that escapes, no outside resource.

It is written whole or not at all, and over nothing but an earlier sheet.
"""

from __future__ import annotations

import base64
import contextlib
import datetime as dt
import hashlib
import os
import stat
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from fitcheck import __version__
from fitcheck.errors import UsageError
from fitcheck.rules.answers import Verdict
from fitcheck.screens.page import gear_view, road_view
from fitcheck.screens.page.chart import charts
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.quote_view import Quote, lines_of, quote_view, tax_basis
from fitcheck.screens.page.view import LETTERS, Lettered, clean, gather, shorten
from fitcheck.screens.words import CAUTION
from fitcheck.services.counter.audience import ShopWords
from fitcheck.services.counter.remarks import questions_counts
from fitcheck.services.counter.why import Explanation
from fitcheck.services.sheet.sheet import Sheet

GENERATOR = "fitcheck sheet"
"""What a sheet says of itself in its head; by this it is known again."""

_TEMPLATES = Path(__file__).parent / "templates"
_REMARK = 400

_RECOUNT = (
    "Subject to a recount of the teeth: the counts are in doubt, see the machine as counted. Fit, "
    "gains and prices hold only for the teeth as counted."
)

_HEAD = 4096
"""Bytes in which a sheet says what it is."""

_AIRY, _DENSE = 4, 13
"""Lines beside the tables that two pages hold in larger type, and in the usual type."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands over a sheet and is not of the catalogue.

    Attributes:
        date: the day it is made.
        shop, customer, remark: text of any kind; long ones are shortened.
    """

    date: dt.date
    shop: str = ""
    customer: str = ""
    remark: str = ""


def sheet_html(
    sheet: Sheet, heading: Heading, local: Local | None = None, quote: Quote | None = None
) -> str:
    """The whole page; the same for the same sheet, heading, locale and quotation."""
    view = _sheet_view(sheet, heading, local if local is not None else Local(), quote)
    style = _style()
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return (
        _environment()
        .get_template("sheet.html.jinja")
        .render(
            view=view,
            style=Markup(style),
            style_digest=digest,
            generator=GENERATOR,
            caution=CAUTION,
        )
    )


def _sheet_view(
    sheet: Sheet, heading: Heading, local: Local, quote: Quote | None = None
) -> dict[str, Any]:
    """What the template shows, worked out and put into words; empty where there is nothing."""
    subject, road, options = sheet.subject, sheet.road, sheet.options
    over = subject.name + heading.shop + heading.customer + heading.remark
    alarms = _alarms(sheet, local)
    questions = gather([_short(told.questions) for told in options])
    advice = gather([_short(told.advice) for told in options])
    sets = gear_view.set_views(sheet, local)
    quoted = None if quote is None else quote_view(sheet, quote, local)
    # What is quoted stands there already; on paper every line counts.
    covered = quoted is not None and quoted.covers_sets
    lines = len(questions) + len(advice) + len(alarms) + len(over) // 80
    lines += (0 if covered else len(sets)) + (0 if quoted is None else lines_of(quoted))
    road_groups = () if road is None else road_view.road_groups(road, local, sheet.speeds_km_h)
    return {
        "machine": shorten(subject.name, gear_view.NAME),
        "date": local.day(heading.date),
        "date_iso": heading.date.isoformat(),
        "date_language": local.date_language,
        "shop": shorten(heading.shop, gear_view.NAME),
        "customer": shorten(heading.customer, gear_view.NAME),
        "remark": shorten(heading.remark, _REMARK),
        "is_demo": subject.catalogue.is_demo,
        "facts": gear_view.facts(subject, local),
        "notes": gear_view.subject_notes(subject),
        "alarms": alarms,
        "chosen": sheet.chosen or "",
        "columns": tuple(LETTERS[: len(options)]),
        "comparison": (gear_view.gear_group(sheet, local, tax_basis(quote)), *road_groups),
        "without_road": _missing(sheet),
        "charts": () if road is None else charts(road, local),
        "road_notes": () if road is None else road_view.limits_in_words(road),
        "helps": () if road is None else _helps(sheet),
        "arithmetic": gear_view.arithmetic(sheet, local),
        "paper_note": gear_view.paper_note(sheet, local),
        "fit": gear_view.fit_matrix(sheet),
        "fit_reasons": gather([gear_view.fit_reasons(told) for told in options]),
        "questions": questions,
        "answers": tuple(
            (f"{letter}, {about}" if len(told.combination.sets) > 1 else letter, answers)
            for letter, told in zip(LETTERS, options, strict=False)
            for about, answers in gear_view.every_answer(told)
        ),
        "advice": advice,
        "parcel": () if covered else gather([_parcel(told) for told in options]),
        "orders": gather([gear_view.order_notes(told) for told in options]),
        "law": () if road is None else _as_lettered(road_view.law(road)),
        "law_sources": () if road is None else road_view.law_sources(road, local),
        "sets": sets,
        "tax_basis": tax_basis(quote),
        "quote": quoted,
        "sources": () if road is None else road_view.sources(road, local),
        "lists": gear_view.supplier_lists(sheet, local),
        "mesh": gear_view.to_count(sheet),
        "density": _density(lines),
        "version": __version__,
    }


def _density(lines: int) -> str:
    if lines > _DENSE:
        return "dense"
    return "airy" if lines <= _AIRY else ""


def _missing(sheet: Sheet) -> str:
    """Why there is no road part; what the shop could do about it is not the customer's matter."""
    if sheet.road is not None:
        return ""
    words = sheet.without_road
    if isinstance(words, ShopWords):
        return shorten(words.customer, gear_view.SENTENCE)
    return "what is on file is not enough for it"  # a sentence not sorted may hold anything


def _short(sentences: list[str]) -> list[str]:
    return [shorten(sentence, gear_view.SENTENCE) for sentence in sentences]


def _parcel(told: Explanation) -> list[str]:
    """What else to order; nothing beside gears that do not fit."""
    fits = told.combination.judgement.verdict is not Verdict.RULED_OUT
    return _short(told.parcel) if fits else []


def _as_lettered(said: list[tuple[str, str]]) -> tuple[Lettered, ...]:
    return tuple(Lettered(who, sentence) for who, sentence in said)


def _alarms(sheet: Sheet, local: Local) -> tuple[Lettered, ...]:
    """Counts in doubt, sets that do not fit, and what the road model warns of."""
    said = [("", _RECOUNT)] if questions_counts(sheet.subject) else []
    for letter, told in zip(LETTERS, sheet.options, strict=False):
        judgement = told.combination.judgement
        if judgement.verdict is Verdict.RULED_OUT:
            rules = ", ".join(map(gear_view.rule_words, judgement.weakest))
            said.append((letter, f"Does not fit, do not order: {rules}."))
        elif told.retired:
            said.append((letter, shorten(f"Do not order: {'; '.join(told.retired)}.", 400)))
    if sheet.road is not None:
        said += road_view.alarms(sheet.road, local)
    return _as_lettered(said)


def _helps(sheet: Sheet) -> tuple[Lettered, ...]:
    assert sheet.road is not None
    return gather([road_view.helps(one) for one in sheet.road.after])


@cache
def _environment() -> Environment:
    # Whatever a template puts out is cleaned, then escaped; a name that is missing is a fault.
    return Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        finalize=clean,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


@cache
def _style() -> str:
    """The style sheet, which holds no text from outside this package."""
    return (_TEMPLATES / "sheet.css").read_text(encoding="utf-8")


def write_sheet(path: Path, text: str, *, force: bool = False) -> None:
    """Write a page.

    The text goes into a file beside the one meant, which then takes its place in one step: who
    opens the page sees the old one or the new one, never a part. A link is followed.

    Args:
        path: the file to write.
        text: the page.
        force: also over a file that is no sheet.

    Raises:
        UsageError: something else stands there, or the place cannot be written to.
    """
    try:
        # Unlike Path.resolve, the same in every release of Python for a link to itself.
        target = Path(os.path.realpath(path))
        mode = _mode(target)
        if mode is None:
            if not target.parent.is_dir():
                raise UsageError(
                    f"{path.parent} is no folder; make it first, or name another place"
                )
        elif stat.S_ISDIR(mode):
            raise UsageError(f"{path} is a folder; name a file in it, like {path / 'sheet.html'}")
        elif not stat.S_ISREG(mode):
            raise UsageError(f"{path} is no plain file; name another, or - for stdout")
        elif not force and not _is_sheet(target):
            raise UsageError(
                f"{path} is there already and was not made by fitcheck; name another file, or "
                "give --force to overwrite it"
            )
        _replace(target, text.encode("utf-8"), mode)
    except (OSError, ValueError) as error:  # an embedded null is no OSError
        reason = getattr(error, "strerror", None) or str(error)
        raise UsageError(f"{path} cannot be written: {reason.lower()}; name another file") from None


def _is_sheet(path: Path) -> bool:
    """Whether a file says of itself that it is a sheet, or is empty.

    Raises:
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        head = file.read(_HEAD)
    return not head or f'<meta name="generator" content="{GENERATOR} '.encode() in head


def _mode(path: Path) -> int | None:
    """What stands there; None where nothing does. A link that leads nowhere raises OSError."""
    try:
        return path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None


def _replace(target: Path, data: bytes, mode: int | None) -> None:
    if mode is None:
        # What the user's mask leaves of a new file.
        mask = os.umask(0)
        os.umask(mask)
        mode = 0o666 & ~mask
    handle, name = tempfile.mkstemp(prefix=".sheet-", suffix=".html", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(mode & 0o777)
        Path(name).replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
