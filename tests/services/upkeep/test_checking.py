"""What `check` looks at: a catalogue, files in the light of theirs, and files by themselves."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.catalogue.locate import ENVIRONMENT
from fitcheck.diagnostics.examples import BASE, SET, lay_out
from fitcheck.errors import UnreadableError
from fitcheck.services.upkeep.checking import Checked, check_paths

STRAY = SET.replace("marram", "nobody")


@pytest.fixture(autouse=True)
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in an empty folder, with no catalogue named."""
    monkeypatch.delenv(ENVIRONMENT, raising=False)
    folder = tmp_path / "nowhere"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A faultless catalogue with one faulty file more."""
    lay_out(tmp_path / "shop", BASE, {"sets/more.yaml": STRAY})
    return tmp_path / "shop"


def codes(checked: Checked) -> list[str]:
    return [f"{Path(f.span.path).name} {f.code}" for f in checked.findings]


def test_a_whole_catalogue(shop: Path) -> None:
    checked = check_paths([str(shop)])

    assert codes(checked) == ["more.yaml FC203"]
    assert checked.files == len(BASE) + 1
    assert checked.records == 11
    assert not checked.alone
    assert not checked.unreadable


def test_a_file_is_held_against_the_catalogue_it_lies_in(shop: Path) -> None:
    good = check_paths([str(shop / "sets" / "marram.yaml")])
    bad = check_paths([str(shop / "sets" / "more.yaml")])

    assert (codes(good), good.files, good.records) == ([], 1, 2)
    assert (codes(bad), bad.files, bad.records) == (["more.yaml FC203"], 1, 1)
    assert not good.alone


def test_a_link_to_itself_in_the_catalogue_is_no_matter_of_another_file(shop: Path) -> None:
    """Path.resolve raises for such a link up to Python 3.12."""
    loop = shop / "sets" / "loop.yaml"
    loop.symlink_to(loop)

    # Nor are references judged, while a file is unread that may hold what they lead to.
    assert codes(check_paths([str(shop / "sets" / "more.yaml")])) == []
    assert codes(check_paths([str(shop)])) == ["loop.yaml FC001"]


def test_a_file_elsewhere_is_added_to_the_catalogue_named(shop: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.yaml"
    new.write_text(STRAY.replace("MA-1:", "MA-2:").replace('"1"', '"2"'), encoding="utf-8")

    assert codes(check_paths([str(new)], str(shop))) == ["new.yaml FC203"]
    with pytest.raises(UnreadableError, match="is not there"):
        check_paths([str(new)], str(tmp_path / "gone"))


@pytest.mark.parametrize("name", ["a.yaml", "sets/more.yaml", "../elsewhere.yaml"])
def test_an_id_that_another_file_has_is_told(name: str, shop: Path) -> None:
    file = shop / name
    file.write_text(SET.replace("MA-1:", "ma-1544:"), encoding="utf-8")

    (finding,) = check_paths([str(file)], str(shop)).findings

    assert finding.code == "FC110"
    assert "capitals do not count" in finding.message
    places = [Path(each.path).name for each in (finding.span, finding.related[0].span)]
    # The one that is read first is good, the other is told of.
    assert places == (["marram.yaml", "a.yaml"] if name == "a.yaml" else [file.name, "marram.yaml"])


def test_a_file_is_not_held_against_the_demo(nowhere: Path) -> None:
    stray = nowhere / "stray.yaml"
    stray.write_text(STRAY, encoding="utf-8")

    checked = check_paths([str(stray)])

    assert codes(checked) == []
    assert checked.alone
    assert not checked.is_demo
    assert check_paths([]).is_demo


def test_several_paths_tell_of_each_fault_once(shop: Path) -> None:
    more = str(shop / "sets" / "more.yaml")
    checked = check_paths([more, str(shop / "tunes.yaml"), more])

    assert codes(checked) == ["more.yaml FC203"]
    assert checked.records == 3


def test_a_file_of_which_not_all_is_read_counts_as_unreadable(shop: Path) -> None:
    broken = shop / "tunes.yaml"
    broken.write_text("kind: tune\nrecords: [\n", encoding="utf-8")

    assert check_paths([str(broken)]).unreadable
    assert check_paths([str(shop)]).unreadable
