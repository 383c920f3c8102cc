"""What a customer must not read: options of commands, places in files, YAML, the shop's folders.

Pages of many machines, each short of something else, are searched as a whole, what is folded away
and attributes included; only the style sheet is left out, which is this package's own.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import read_train
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.page import Heading, sheet_html
from fitcheck.screens.page.quote_view import Quote
from fitcheck.services.counter.audience import ShopWords, around, for_customer, with_hint
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.subject import Subject, subject_from_counts, subject_of
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.sheet.quotation import Labour, Terms, quotations
from fitcheck.services.sheet.sheet import Sheet, sheet_of
from tests.conftest import some

ROOT = Path(__file__).parents[3]
DAY = dt.date(2026, 11, 25)
_YAML = YAML(typ="safe")
_YAML.sort_base_mapping_type_on_output = False

SHOPS_OWN = {
    "an option": re.compile(r"(?<![\w-])--?[a-z][a-z-]*(?![\w-]*:)"),
    "a file": re.compile(r"[\w-]+\.(ya?ml|jsonl?|csv|xlsx?)\b", re.IGNORECASE),
    "a place in a file": re.compile(r"\S+:[0-9]+:[0-9]+"),
    "a path": re.compile(r"(?<![\w<])[\w.~-]*/(tmp|home|work|catalog|sets|machines|families)\b"),
    "a folder": re.compile(r"\bcatalog/|\bsuppliers/|\bmachines/|\bfamilies/"),
    "YAML": re.compile(r"[{}]|\b\w+_\w+:"),
    "the program": re.compile(r"\bfitcheck (check|match|why|sheet|edit|add)\b"),
}


def without(*fields: str):
    """A change of the demo that takes fields out of every machine and family."""

    def change(kind: str, record: dict) -> None:
        if kind in ("machine", "family"):
            for name in fields:
                record.pop(name, None)
            if "tyre" in fields:
                for train in record.get("factory_trains", []):
                    train.pop("tyre", None)

    return change


def _unread_tyre(kind: str, record: dict) -> None:
    if kind == "machine":
        for name in ("tyre", "roll_out_mm"):
            record.pop(name, None)
        record["tyre_size"] = "round and black"


def _one_tooth_off(kind: str, record: dict) -> None:
    if kind == "machine":
        first = next(iter(record["pairs"]))
        driver, driven = str(record["pairs"][first]).split("/")
        record["pairs"][first] = f"{driver}/{int(driven) + 1}"


def _contradicts(kind: str, record: dict) -> None:
    if kind == "machine":
        record["engine"] = {"peak_power_kw": 2, "peak_power_rpm": 7000, "rev_limit_rpm": 2000}


def _no_class_on_file(kind: str, record: dict) -> None:
    if kind == "machine":
        record["vehicle_class"] = "L9z"


CHANGES = {
    "as it is": lambda kind, record: None,
    "no engine figures": without("engine"),
    "no tyre": without("tyre", "tyre_size", "roll_out_mm"),
    "no variator": without("variator", "fixed_ratio"),
    "no class of its own": lambda kind, record: (
        record.pop("vehicle_class", None) if kind == "machine" else None
    ),
    "no class": without("vehicle_class"),
    "class not on file": _no_class_on_file,
    "no housing": lambda kind, record: record.pop("housing", None) if kind == "machine" else None,
    "tyre size not read": _unread_tyre,
    "one tooth off": _one_tooth_off,
    "figures that contradict": _contradicts,
    "masses and drag not known": without("masses", "drag_area_m2", "running_order_kg"),
}


NO_ROAD = ("no engine figures", "figures that contradict")
"""Changes that leave no machine a road part."""


@pytest.fixture(scope="module", params=some(sorted(CHANGES), 2))
def changed(request, tmp_path_factory) -> tuple[str, Catalogue]:
    """The demo in a folder of its own, with one change of every machine and family."""
    folder = tmp_path_factory.mktemp("world") / "catalog"
    shutil.copytree(ROOT / "catalog", folder)
    for path in (*folder.glob("machines/*.yaml"), *folder.glob("families/*.yaml")):
        data = _YAML.load(path.read_text("utf-8"))
        for record in data["records"].values():
            CHANGES[request.param](data["kind"], record)
        _YAML.dump(data, path)
    return request.param, load(folder)


def sheets(catalogue: Catalogue, turn: int) -> Iterator[Sheet]:
    """Sheets of some machines: chosen by rule, and of sets that fit, may fit, and do not."""
    machines = list(catalogue.machines)
    for id_ in ("dunlin-ten", machines[turn % len(machines)]):
        try:
            subject = subject_of(catalogue, id_)
        except UsageError:
            continue
        yield from _of_subject(subject)
    if turn == 0:
        for teeth in ("15/46,14/55", "15/47,13/54"):
            yield from _of_subject(subject_from_counts(catalogue, "dunlin-50", read_train(teeth)))


def _of_subject(subject: Subject) -> Iterator[Sheet]:
    sets = list(subject.catalogue.gear_sets.values())
    own = [one for one in sets if subject.family.id in {claim.family for claim in one.record.fits}]
    chosen_sets = dict.fromkeys([*own[:2], sets[0], sets[-1]])
    named = sheet_of(subject, [combine(subject, [entry]) for entry in chosen_sets])
    assert named is not None
    yield named
    if subject.band is not None and subject.entry is not None and subject.entry.id != "dunlin-ten":
        chosen = sheet_of(subject, [])
        if chosen is not None:
            yield chosen


def searched(page: str) -> str:
    """A page without its style sheet, the policy that names its digest, and its own tags."""
    page = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    page = re.sub(r"<meta [^>]*>", "", page)
    text = re.sub(r"<[^>]*>", " ", page)
    attributes = re.findall(r'(?:aria-label|title|data-of|alt|href)="([^"]*)"', page)
    return "\n".join([text, *attributes])


def hold(page: str, catalogue: Catalogue) -> None:
    """Assert that nothing of the shop's own stands on a page."""
    text = searched(page)
    for what, pattern in SHOPS_OWN.items():
        found = pattern.search(text)
        assert found is None, f"{what}: {text[max(0, found.start() - 80) : found.end() + 40]!r}"
    assert str(catalogue.root) not in page
    assert str(catalogue.root.parent) not in page


def test_no_page_holds_what_is_the_shops_own(changed: tuple[str, Catalogue]) -> None:
    name, catalogue = changed
    shown = 0
    for sheet in sheets(catalogue, sorted(CHANGES).index(name)):
        hold(sheet_html(sheet, Heading(DAY), Local()), catalogue)
        shown += 1
        if name in NO_ROAD and sheet.subject.entry is not None:
            assert isinstance(sheet.without_road, ShopWords)
            assert for_customer(sheet.without_road) != sheet.without_road
    assert shown >= 2


def test_no_page_speaks_of_what_the_catalogue_holds(tmp_path: Path) -> None:
    """A family without a variator on file: the shop reads of the catalogue, the customer not."""
    folder = tmp_path / "catalog"
    shutil.copytree(ROOT / "catalog", folder)
    (folder / "variators.yaml").unlink()
    for path in (*folder.glob("machines/*.yaml"), *folder.glob("families/*.yaml")):
        data = _YAML.load(path.read_text("utf-8"))
        for record in data["records"].values():
            record.pop("variator", None)
        _YAML.dump(data, path)
    catalogue = load(folder)
    subject = subject_of(catalogue, "dunlin-ten")
    sheet = sheet_of(
        subject,
        [combine(subject, [catalogue.gear_sets["GW-20-108"]])],
        RoadAsked(ratios=(2.7, 0.95)),
    )
    assert sheet is not None
    assert sheet.road is not None
    help_ = sheet.road.after[0].help
    assert help_ is not None
    assert "The catalogue holds no variator for Dunlin 50." in help_.sentences
    text = searched(sheet_html(sheet, Heading(DAY), Local()))
    assert "The shop knows no variator for Dunlin 50." in text
    assert "catalogue holds" not in text


def test_a_quotation_and_road_inputs_bring_none_of_it(tmp_path: Path) -> None:
    folder = tmp_path / "catalog"
    shutil.copytree(ROOT / "catalog", folder)
    catalogue = load(folder)
    subject = subject_of(catalogue, "dunlin-ten")
    named = [combine(subject, [catalogue.gear_sets[each]]) for each in ("SA-108", "SP-12E3")]
    sheet = sheet_of(subject, named, RoadAsked(measured_top_km_h=46.0, rider_kg=90.0))
    assert sheet is not None
    terms = Terms(labour=Labour(Decimal(45)), tax_percent=Decimal(22))
    quoted = quotations(sheet.options, None, terms)
    hold(sheet_html(sheet, Heading(DAY), Local(), Quote(quoted, terms, DAY)), catalogue)


@pytest.mark.parametrize(
    "text",
    [
        "give --power KW@RPM",
        "or add engine: {peak_power_kw: ...}",
        "at catalog/machines/customers.yaml:4:3",
        "as in customers.yaml",
        "fitcheck check says why",
        "under /home/shop/catalog",
    ],
)
def test_the_search_finds_what_it_looks_for(text: str) -> None:
    assert any(pattern.search(searched(f"<p>{text}</p>")) for pattern in SHOPS_OWN.values())


def test_words_for_the_shop_and_for_the_customer_stay_apart() -> None:
    words = with_hint("no power is known", "give --power")
    assert (str(words), for_customer(words)) == (
        "no power is known; give --power",
        "no power is known",
    )
    longer = around(words, "so: ", "!")
    assert (longer, for_customer(longer)) == (
        "so: no power is known; give --power!",
        "so: no power is known!",
    )
    assert for_customer("the same for all") == "the same for all"
    assert for_customer(around("a", "b", "c")) == "bac"
    assert for_customer(ShopWords("x.yaml:1:1", "the record")) == "the record"
