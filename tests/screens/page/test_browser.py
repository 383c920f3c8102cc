"""The sheet in a real browser: paper, phone, light and dark, and for those who cannot see it.

Run where there is a headless Chromium with its driver (Debian: chromium, chromium-driver) and
pdfinfo (poppler-utils), and only where it is asked for:

    FITCHECK_BROWSER=1 FITCHECK_AXE=.../node_modules/axe-core/axe.min.js \
        python -m pytest tests/screens/page/test_browser.py

axe-core is an accessibility checker; `npm install axe-core` in a folder outside this one brings it.
Without it only its checks are skipped. The browser is spoken to by the W3C WebDriver protocol and,
through it, by Chromium's own commands.
"""

from __future__ import annotations

import base64
import datetime as dt
import json
import os
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from fitcheck.screens.page.locale import named_local
from fitcheck.screens.page.quote_view import Quote
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.sheet.quotation import Labour, Terms, quotations
from fitcheck.services.sheet.sheet import Sheet, sheet_of

NEEDED = ("chromium", "chromedriver", "pdfinfo")

pytestmark = pytest.mark.skipif(
    not os.environ.get("FITCHECK_BROWSER"),
    reason="tests in a browser are run on request only: set FITCHECK_BROWSER=1",
)

ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PAPER = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11)}  # ISO 216; ANSI/ASME Y14.1
WIDTHS = (360, 800, 1280)


class Browser:
    """One headless Chromium."""

    def __init__(self, profile: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self._address = f"http://127.0.0.1:{port}"
        driver = shutil.which("chromedriver")
        assert driver is not None
        quiet = subprocess.DEVNULL
        self._driver = subprocess.Popen([driver, f"--port={port}"], stdout=quiet, stderr=quiet)
        self._session = ""
        self._wait()
        options = {
            "args": [*ARGUMENTS, f"--user-data-dir={profile}"],
            "binary": shutil.which("chromium"),
        }
        wanted = {
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": {"browser": "ALL"},
        }
        session = self._call("POST", "/session", {"capabilities": {"alwaysMatch": wanted}})
        self._session = f"/session/{session['sessionId']}"

    def _wait(self) -> None:
        for _ in range(100):
            try:
                urllib.request.urlopen(f"{self._address}/status", timeout=5).close()
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise RuntimeError("chromedriver does not answer")

    def _call(self, method: str, path: str, body: Any = None) -> Any:
        request = urllib.request.Request(
            f"{self._address}{self._session}{path}",
            data=None if body is None else json.dumps(body).encode(),
            headers={"Content-Type": "application/json"},
            method=method,
        )
        try:
            with urllib.request.urlopen(request, timeout=120) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            said = error.read().decode()[:500]
            error.close()
            raise RuntimeError(said) from None

    def command(self, name: str, **given: Any) -> Any:
        """A command of Chromium's own protocol."""
        return self._call("POST", "/goog/cdp/execute", {"cmd": name, "params": given})

    def open(self, path: Path) -> None:
        self._call("POST", "/url", {"url": path.as_uri()})

    def ask(self, script: str, *given: Any) -> Any:
        return self._call("POST", "/execute/sync", {"script": script, "args": list(given)})

    def ask_later(self, script: str, *given: Any) -> Any:
        return self._call("POST", "/execute/async", {"script": script, "args": list(given)})

    def complaints(self) -> list[str]:
        return [each["message"] for each in self._call("POST", "/se/log", {"type": "browser"})]

    def see(self, width: int, *, dark: bool = False) -> None:
        self.command(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=900, deviceScaleFactor=1, mobile=width < 500,
        )  # fmt: skip
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.command("Emulation.setEmulatedMedia", media="", features=[scheme])

    def print(self, path: Path, size: tuple[float, float]) -> dict[str, str]:
        """Print to PDF; what pdfinfo says of it."""
        self.command("Emulation.clearDeviceMetricsOverride")
        made = self.command("Page.printToPDF", paperWidth=size[0], paperHeight=size[1])
        path.write_bytes(base64.b64decode(made["data"]))
        told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
        return dict(line.split(":", 1) for line in told.splitlines() if ":" in line)

    def close(self) -> None:
        try:
            self._call("DELETE", "")
        finally:
            self._driver.terminate()
            self._driver.wait(timeout=20)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    missing = [name for name in NEEDED if shutil.which(name) is None]
    if missing:
        pytest.skip(f"not installed here: {', '.join(missing)}")
    opened = Browser(tmp_path_factory.mktemp("profile"))
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def axe() -> str:
    path = os.environ.get("FITCHECK_AXE")
    if not path:
        pytest.skip("no accessibility checker: set FITCHECK_AXE to axe-core's axe.min.js")
    return Path(path).read_text(encoding="utf-8")


_OVERFLOWING = """
    return [...document.querySelectorAll('th, td')].filter(each => {
        if (each.closest('.stack thead, details')) { return false; }
        const words = document.createRange();
        words.selectNodeContents(each);
        const inside = words.getBoundingClientRect(), box = each.getBoundingClientRect();
        return inside.right > box.right + 0.5 || inside.left < box.left - 0.5;
    }).map(each => each.closest('table').className + ': ' + each.textContent.slice(0, 40));
"""
"""The cells whose words stand out at a side; a table kept for screen readers has no width."""

REMARK = "Wants to keep up with traffic; commutes 12 km with one long hill, sometimes two up."
NASTY = "<b>" + "W" * 2000 + "\u202e \u0301\u0301\u0301\u0301\u0301\u0301"


def _quote(sheet: Sheet) -> Quote:
    """Every option that may be ordered, with all that a quotation can hold."""
    terms = Terms(
        {"gasket": Decimal("3.50"), "gear oil, 250 ml": Decimal("7.20"), "shims": Decimal(4)},
        Labour(hours=Decimal("1.5"), rate=Decimal(48)),
        Decimal(22),
        prices_exclude_tax=True,
    )
    quoted = quotations(sheet.options, None, terms)
    return Quote(quoted, terms, dt.date(2026, 12, 9))


@pytest.fixture(scope="module")
def pages(demo, sheet_with, render, tmp_path_factory) -> dict[str, Path]:
    """Sheets of every kind, as files."""
    ten, bar = subject_of(demo, "dunlin-ten"), subject_of(demo, "godwit-bar")
    everything = match(bar, Request(band="any")).combinations
    # Most sets and most that is open: what fills the paper.
    heaviest = sorted(
        everything, key=lambda one: (-len(one.sets), -len(one.notes), one.judgement.evidence)
    )[:4]
    hand_built = sheet_with()
    nasty = replace(hand_built, subject=replace(hand_built.subject, name=NASTY))
    # Four options to order, thousands in a cell, and something to be told.
    named = (["MA-1545", "SA-107"], ["SA-106"], ["SA-108"], ["GW-20-117"])
    four = sheet_of(ten, [explain(ten, names).combination for names in named])
    dear = Terms(labour=Labour(Decimal("1234.5")), tax_percent=Decimal(22))
    quoted_four = quotations(four.options, None, dear)
    german = named_local("de_DE")
    single = Sheet(ten, (explain(ten, ["SA-108"]),), None, None, "no engine on file; give it")
    made = {
        "chosen": render(sheet_of(ten, []), german, shop="Tideline", customer="Rosa"),
        "built": render(hand_built, shop="Tideline", customer="Rosa", remark=REMARK),
        "heavy": render(sheet_of(bar, heaviest), shop="Tideline", remark=REMARK),
        "without-road": render(single),
        "quoted": render(
            sheet_of(ten, []), german, _quote(sheet_of(ten, [])), shop="Tideline", customer="Rosa"
        ),
        "quoted-heavy": render(
            sheet_of(bar, heaviest), None, _quote(sheet_of(bar, heaviest)), remark=REMARK
        ),
        "quoted-four": render(four, None, Quote(quoted_four, dear, dt.date(2026, 12, 9))),
        "nasty": render(nasty, shop=NASTY, customer=NASTY, remark=NASTY),
    }
    folder = tmp_path_factory.mktemp("pages")
    for name, text in made.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}


NAMES = (
    "chosen",
    "built",
    "heavy",
    "without-road",
    "nasty",
    "quoted",
    "quoted-heavy",
    "quoted-four",
)


@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize("name", NAMES)
def test_it_prints_on_one_or_two_pages(
    name: str, paper: str, browser: Browser, pages, tmp_path: Path
) -> None:
    browser.open(pages[name])
    told = browser.print(tmp_path / "sheet.pdf", PAPER[paper])

    assert int(told["Pages"]) <= 2
    width, height = (float(word) / 72 for word in told["Page size"].split()[0:3:2])
    assert (width, height) == pytest.approx(PAPER[paper], abs=0.02)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_stands_out_at_the_side(name: str, width: int, browser: Browser, pages) -> None:
    browser.open(pages[name])
    browser.see(width)
    browser.ask("document.querySelectorAll('details').forEach(each => { each.open = true })")

    # What is kept for screen readers alone is clipped and of no width.
    out = browser.ask("""
        const wide = document.documentElement.clientWidth;
        return [...document.querySelectorAll('body *')].filter(each => {
            const box = each.getBoundingClientRect();
            return box.width > 1 && (box.right > wide + 0.5 || box.left < -0.5)
                && !each.closest('.hidden, .stack thead, svg');
        }).map(each => each.tagName + ' ' + each.textContent.slice(0, 40));
    """)
    assert out == []
    assert browser.ask("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [360, 700, 900, 1100, 1400])
@pytest.mark.parametrize("name", NAMES)
def test_no_cell_runs_into_the_next(name: str, width: int, browser: Browser, pages) -> None:
    browser.open(pages[name])
    browser.see(width)
    assert browser.ask(_OVERFLOWING) == []


@pytest.mark.parametrize("name", NAMES)
def test_no_cell_runs_into_the_next_on_paper(name: str, browser: Browser, pages) -> None:
    browser.open(pages[name])
    browser.see(718)  # A4 without its margins, at 96 px an inch
    browser.command("Emulation.setEmulatedMedia", media="print")
    assert browser.ask(_OVERFLOWING) == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("name", NAMES)
def test_the_accessibility_checker_finds_nothing(
    name: str, width: int, browser: Browser, *, dark: bool, axe: str, pages
) -> None:
    browser.open(pages[name])
    browser.see(width, dark=dark)
    browser.ask("document.querySelectorAll('details').forEach(each => { each.open = true })")
    browser.ask(f"{axe}; return null")
    found = browser.ask_later("""
        const done = arguments[arguments.length - 1];
        axe.run(document, {resultTypes: ['violations', 'incomplete']}).then(done);
    """)

    assert [
        (each["id"], node["target"], node.get("failureSummary"))
        for each in found["violations"]
        for node in each["nodes"]
    ] == []
    assert len(found["passes"]) > 20
    assert "color-contrast" in {each["id"] for each in found["passes"]}


def test_the_checker_would_see_a_fault(browser: Browser, axe: str, tmp_path: Path) -> None:
    page = tmp_path / "bad.html"
    page.write_text("<title>x</title><input><p style='color:#ccc'>pale", encoding="utf-8")
    browser.open(page)
    browser.see(360)
    browser.ask(f"{axe}; return null")
    found = browser.ask_later("axe.run().then(arguments[0])")

    assert {each["id"] for each in found["violations"]} >= {"label", "color-contrast"}


def test_its_policy_lets_its_style_through_and_nothing_is_asked_for(
    browser: Browser, pages
) -> None:
    browser.complaints()
    browser.open(pages["built"])
    browser.see(1280)

    assert (
        browser.ask("return getComputedStyle(document.querySelector('.sheet')).maxWidth") != "none"
    )
    assert browser.complaints() == []
    assert browser.ask("return performance.getEntriesByType('resource').length") == 0


def test_dark_and_light_differ_and_lines_differ_without_colour(browser: Browser, pages) -> None:
    browser.open(pages["built"])
    seen = []
    for dark in (False, True):
        browser.see(1280, dark=dark)
        seen.append(browser.ask("return getComputedStyle(document.body).backgroundColor"))
    assert seen[0] != seen[1]
    dashes = browser.ask("""
        return [...document.querySelectorAll('figure:first-of-type polyline.line')]
            .map(each => getComputedStyle(each).strokeDasharray
                + ' ' + getComputedStyle(each).strokeWidth);
    """)
    assert len(dashes) == len(set(dashes)) == 7


def test_the_labels_of_the_charts_stay_within_them(browser: Browser, pages) -> None:
    for name in ("chosen", "built", "heavy"):
        browser.open(pages[name])
        for width in WIDTHS:
            browser.see(width)
            out = browser.ask("""
                return [...document.querySelectorAll('figure svg')].flatMap(svg => {
                    const frame = svg.getBoundingClientRect();
                    return [...svg.querySelectorAll('text')].filter(each => {
                        const box = each.getBoundingClientRect();
                        return box.right > frame.right + 1 || box.left < frame.left - 1
                            || box.bottom > frame.bottom + 1 || box.top < frame.top - 1;
                    }).map(each => each.textContent);
                });
            """)
            assert out == [], (name, width)
