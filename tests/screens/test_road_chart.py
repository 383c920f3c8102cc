"""Pictures of the road: SVG and PNG files, read back by Python's own XML reader and by Pillow.

The file marks are those of the PNG specification (ISO/IEC 15948) and of SVG 1.1 (W3C).
"""

from __future__ import annotations

import builtins
import io
import re
import struct
import zlib
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from fitcheck.answers.road_words import CONDITIONS
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.screens.road.chart import (
    _COLOURS,
    _DASHES,
    _MARKS,
    _of,
    chart_bytes,
    chart_words,
    need_plotting,
    write_chart,
)
from fitcheck.services.road.results import RoadReport
from tests.conftest import EXPLORE, some

pytest.importorskip("matplotlib", reason="pictures need the extra 'chart'")

ROOT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def report(demo: Catalogue, roads) -> RoadReport:
    built = roads.road_report(demo)
    assert isinstance(built, RoadReport)
    return built


@pytest.fixture(scope="module")
def svg(report: RoadReport) -> bytes:
    return chart_bytes(report, "svg")


@pytest.fixture(scope="module")
def png(report: RoadReport) -> bytes:
    return chart_bytes(report, "png")


def texts(svg: bytes) -> list[str]:
    return ["".join(node.itertext()) for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_the_drawing_has_a_title_and_is_told_in_words(report: RoadReport, svg: bytes) -> None:
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    ids = (root.get("aria-labelledby") or "").split()
    named = {node.get("id"): node for node in root}
    assert [named[id_].tag for id_ in ids] == [f"{SVG}title", f"{SVG}desc"]
    assert named[ids[0]].text == "On the road: Dunlin Ten, factory condition"
    assert named[ids[1]].text == chart_words(report)
    assert "GW-20-108: pulls it, top speed 55 (52..58) km/h on the flat" in chart_words(report)
    all_ids = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(set(all_ids)) == len(all_ids)


def test_every_line_is_named_and_every_axis_has_its_unit(report: RoadReport, svg: bytes) -> None:
    shown = texts(svg)
    for one in (report.before, *report.after):
        assert one.label in shown
        assert f"{one.label}: " in "\n".join(shown)
    assert {f"load {words}" for words in CONDITIONS.values()} <= set(shown)
    assert "road speed, km/h" in shown
    assert "time from standstill at full throttle, s" in shown
    assert any(text.endswith(", N") for text in shown)


def test_lines_differ_without_colour(svg: bytes) -> None:
    styles = re.findall(rb'style="fill: none; (stroke[^"]*stroke-width: 1\.7[^"]*)"', svg)
    dashes = {re.sub(rb"stroke: #\w+", b"", style) for style in styles}
    # The present state and three choices: one drawn through, three with dashes of their own.
    assert len(dashes) == 4


def _path_points(svg: bytes, colour: bytes) -> list[tuple[float, float]]:
    found = re.search(
        rb'<path d="([^"]*)"[^>]*style="fill: none; stroke[^"]*' + colour + rb"[^>]*>", svg
    )
    assert found is not None
    numbers = re.findall(rb"[ML] (-?[\d.]+) (-?[\d.]+)", found[1])
    return [(float(x), float(y)) for x, y in numbers]


def test_curves_lie_where_their_points_are(report: RoadReport, svg: bytes) -> None:
    # The present thrust is drawn in one straight scale: flat to the corner, then falling.
    points = _path_points(svg, b"#1a1a1a")
    (x0, y0), (x1, y1) = points[0], points[-1]
    speeds, thrusts = report.before.curves.speed_km_h, report.before.curves.thrust_n
    across = (x1 - x0) / (speeds[-1] - speeds[0])
    up = (y1 - y0) / (0 - thrusts[0])
    wanted = [
        (x0 + across * (v - speeds[0]), y0 + up * (n - thrusts[0]))
        for v, n in zip(speeds, thrusts, strict=True)
    ]
    # The writer leaves out points on a straight line; those it keeps are ours.
    for x, y in points[:-1]:
        assert min(abs(x - a) + abs(y - b) for a, b in wanted) < 0.02


def test_the_same_answer_gives_the_same_bytes(report: RoadReport, svg: bytes, png: bytes) -> None:
    assert chart_bytes(report, "svg") == svg
    assert not EXPLORE or chart_bytes(report, "png") == png
    assert b"Matplotlib" not in svg
    assert not re.search(rb"<dc:date|20\d\d-\d\d-\d\dT", svg)


def test_the_users_own_settings_change_nothing(report: RoadReport, svg: bytes) -> None:
    import matplotlib

    with matplotlib.rc_context({"font.size": 30, "lines.linewidth": 9, "svg.hashsalt": "other"}):
        assert chart_bytes(report, "svg") == svg
        assert matplotlib.rcParams["font.size"] == 30


def test_the_picture_is_a_png_of_its_size(png: bytes) -> None:
    data = png
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    length, kind, width, height = struct.unpack(">I4sII", data[8:24])
    assert (length, kind) == (13, b"IHDR")
    assert (width, height) == (1140, 1230)
    assert struct.unpack(">I", data[29:33])[0] == zlib.crc32(data[12:29])
    assert b"On the road: Dunlin Ten" in data
    assert b"Software" not in data


def test_hostile_names_stay_text(report: RoadReport) -> None:
    bad = "<script>$\\frac{1}{0}$</script>&\x00\x1b\u202e\ud800 _x"
    first = replace(report.after[0], label=bad)
    sour = replace(
        report, subject=replace(report.subject, name=bad), after=(first, *report.after[1:])
    )
    svg = chart_bytes(sour, "svg")
    root = ElementTree.fromstring(svg)
    assert not [node for node in root.iter() if node.tag.endswith("script")]
    assert any(r"<script>$\frac{1}{0}$</script>&" in text for text in texts(svg))
    assert not EXPLORE or chart_bytes(sour, "png")


def test_a_machine_that_cannot_start_is_drawn(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [])
    stuck = replace(
        report.before,
        flat=replace(report.before.flat, speed=roads.about(0.0, 0.0), limit="start"),
        curves=replace(report.before.curves, time_s=(), time_speed_km_h=()),
    )
    assert chart_bytes(replace(report, before=stuck), "svg")


@pytest.mark.parametrize("name", some(["b.PNG", "a.svg"], 1))
def test_files_are_written_by_their_suffix(name: str, report: RoadReport, tmp_path: Path) -> None:
    write_chart(report, tmp_path / name)
    data = (tmp_path / name).read_bytes()
    assert data[:5] == b"<?xml" if name.endswith("svg") else data[:4] == b"\x89PNG"


def test_without_the_extra_one_line_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def missing(name: str, *rest: object, **more: object) -> object:
        if name.partition(".")[0] == "matplotlib":
            raise ModuleNotFoundError(name)
        return real(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(UsageError, match=r"pip install 'fitcheck\[chart\]'"):
        need_plotting()


def test_pillow_reads_the_picture(png: bytes) -> None:
    image = pytest.importorskip("PIL.Image")
    with image.open(io.BytesIO(png)) as picture:
        picture.load()
        assert picture.size == (1140, 1230)
        # White paper, and black, grey and coloured lines upon it.
        assert picture.convert("RGB").getpixel((2, 2)) == (255, 255, 255)
        assert len(picture.convert("RGB").getcolors(1 << 20)) > 20


def test_no_choice_looks_like_the_present_gearing_or_another() -> None:
    looks = [
        tuple(_of(styles, number) for styles in (_COLOURS, _DASHES, _MARKS)) for number in range(20)
    ]
    assert len(set(looks)) == len(looks)
    assert not any(set(look) & set(looks[0]) for look in looks[1:])
