"""Writing a sheet: whole or not at all, and over nothing that somebody else made."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from fitcheck.errors import UsageError
from fitcheck.screens.page.page import write_sheet


@pytest.fixture
def text(sheet_with, render) -> str:
    return render(sheet_with(road=None, without_road="no"))


def test_a_new_file_and_an_earlier_sheet_are_written(tmp_path: Path, text: str) -> None:
    path = tmp_path / "page.html"
    write_sheet(path, text)
    assert path.read_text(encoding="utf-8") == text

    path.chmod(0o640)
    write_sheet(path, text.replace("Gearing sheet", "Newer sheet"))
    assert "Newer sheet" in path.read_text(encoding="utf-8")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [each.name for each in tmp_path.iterdir()] == ["page.html"]


def test_a_new_file_has_the_mode_that_the_mask_leaves(tmp_path: Path, text: str) -> None:
    before = os.umask(0o027)
    try:
        write_sheet(tmp_path / "page.html", text)
    finally:
        os.umask(before)

    assert stat.S_IMODE((tmp_path / "page.html").stat().st_mode) == 0o640


@pytest.mark.parametrize("held", [b"<html>my own page</html>", b"\xff\xfe\x00", b"x" * 10_000])
def test_what_is_no_sheet_is_left_alone_unless_forced(
    tmp_path: Path, text: str, held: bytes
) -> None:
    path = tmp_path / "page.html"
    path.write_bytes(held)
    with pytest.raises(UsageError, match=r"there already and was not made by fitcheck; .*--force"):
        write_sheet(path, text)
    assert path.read_bytes() == held

    write_sheet(path, text, force=True)
    assert path.read_text(encoding="utf-8") == text


def test_a_sheet_is_known_by_what_it_says_of_itself(tmp_path: Path, text: str) -> None:
    path = tmp_path / "page.html"
    for held in (text, ""):
        path.write_text(held, encoding="utf-8")
        write_sheet(path, f"{text} again")
        assert path.read_text(encoding="utf-8") == f"{text} again"
    path.write_text("fitcheck sheet", encoding="utf-8")
    with pytest.raises(UsageError, match="not made by fitcheck"):
        write_sheet(path, text)


def test_a_link_is_followed(tmp_path: Path, text: str) -> None:
    target, link = tmp_path / "target.html", tmp_path / "link.html"
    link.symlink_to(target)
    write_sheet(link, text)

    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == text


def test_a_write_that_fails_leaves_the_old_page_and_no_litter(
    tmp_path: Path, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "page.html"
    write_sheet(path, text)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(UsageError, match="cannot be written: no space left on device"):
        write_sheet(path, "new")
    assert path.read_text(encoding="utf-8") == text
    assert [each.name for each in tmp_path.iterdir()] == ["page.html"]


def test_places_that_take_no_file_are_refused_in_one_line(tmp_path: Path, text: str) -> None:
    loop = tmp_path / "loop.html"
    loop.symlink_to(loop)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path, said in (
        (tmp_path, "is a folder; name a file in it"),
        (tmp_path / "none" / "page.html", "is no folder; make it first"),
        (loop, "cannot be written: "),
        (loop / "page.html", "cannot be written: "),
        (pipe, "is no plain file"),
        (tmp_path / ("n" * 300), "cannot be written: file name too long"),
        (Path("a\0b.html"), "cannot be written: "),
    ):
        with pytest.raises(UsageError) as told:
            write_sheet(path, text, force=True)
        assert said in str(told.value)
        assert "\n" not in str(told.value)
    assert loop.is_symlink()
