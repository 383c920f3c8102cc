"""Which catalogue is read: the order of places, and what is said when one is not there."""

from __future__ import annotations

import pytest

from fitcheck.catalogue import locate
from fitcheck.catalogue.locate import ENVIRONMENT, find_catalogue
from fitcheck.errors import UnreadableError, UsageError


@pytest.fixture
def places(tmp_path, monkeypatch):
    """A catalogue in every place; tests take them away from the front."""
    for name in ("given", "named", "work/catalog", "pack/demo/catalog"):
        folder = tmp_path / name
        folder.mkdir(parents=True)
        (folder / "tunes.yaml").write_text("kind: tune\nrecords: {}\n")
    (tmp_path / "work" / "deep" / "er").mkdir(parents=True)
    monkeypatch.setattr(locate, "_PACKAGE", tmp_path / "pack")
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "named"))
    monkeypatch.chdir(tmp_path / "work")
    return tmp_path


def test_what_is_given_wins(places):
    found = find_catalogue(str(places / "given"))
    assert (found.path, found.origin, found.is_demo) == (places / "given", "given", False)


def test_then_the_environment(places):
    found = find_catalogue()
    assert (found.path, found.origin, found.is_demo) == (places / "named", "environment", False)


@pytest.mark.parametrize("here", ["work", "work/deep", "work/deep/er"])
@pytest.mark.parametrize("value", [None, "", "  "])
def test_then_a_folder_called_catalog_here_or_above(places, monkeypatch, here, value):
    if value is None:
        monkeypatch.delenv(ENVIRONMENT)
    else:
        monkeypatch.setenv(ENVIRONMENT, value)
    monkeypatch.chdir(places / here)
    found = find_catalogue()
    assert (found.path, found.origin) == (places / "work" / "catalog", "found")
    assert not found.is_demo


def test_a_folder_called_catalog_without_yaml_is_passed_over(places, monkeypatch):
    monkeypatch.delenv(ENVIRONMENT)
    (places / "work" / "deep" / "catalog").mkdir()
    (places / "work" / "deep" / "catalog" / "_draft.yaml").write_text("kind: tune\n")
    monkeypatch.chdir(places / "work" / "deep")
    found = find_catalogue()
    assert found.path == places / "work" / "catalog"
    assert found.passed_over == places / "work" / "deep" / "catalog"
    monkeypatch.chdir(places / "work")
    assert find_catalogue().passed_over is None


def test_at_last_the_demo_in_the_package(places, monkeypatch):
    monkeypatch.delenv(ENVIRONMENT)
    monkeypatch.chdir(places / "given")
    found = find_catalogue()
    assert found.path == places / "pack" / "demo" / "catalog"
    assert (found.origin, found.is_demo) == ("demo", True)


def test_in_a_checkout_the_demo_stands_beside_the_package(places, monkeypatch):
    monkeypatch.delenv(ENVIRONMENT)
    monkeypatch.setattr(locate, "_PACKAGE", places / "work" / "fitcheck")
    monkeypatch.chdir(places / "given")
    found = find_catalogue()
    assert (found.path, found.is_demo) == (places / "work" / "catalog", True)


def test_the_demo_is_known_however_it_was_named(places):
    demo = places / "pack" / "demo" / "catalog"
    assert find_catalogue(str(demo)).is_demo
    assert find_catalogue(str(demo / ".." / "catalog")).is_demo


def test_one_file_can_be_given(places):
    assert find_catalogue(str(places / "given" / "tunes.yaml")).path.name == "tunes.yaml"


@pytest.mark.parametrize("given", ["", "  "])
def test_an_empty_path_is_wrong_use(places, given):
    with pytest.raises(UsageError, match="empty path"):
        find_catalogue(given)


@pytest.mark.parametrize("given", ["nowhere", "nul\0byte", "x" * 5000, "~nobodyhere/catalog"])
def test_a_path_that_is_not_there_is_said_in_one_line(places, given):
    with pytest.raises(UnreadableError) as caught:
        find_catalogue(given)
    assert str(caught.value).startswith("the catalogue is not there: ")
    assert "\n" not in str(caught.value)


def test_a_missing_path_in_the_environment_names_the_variable(places, monkeypatch):
    monkeypatch.setenv(ENVIRONMENT, "/nowhere/at/all")
    with pytest.raises(UnreadableError, match=r"\$FITCHECK_CATALOG names is not there"):
        find_catalogue()


def test_an_installation_without_a_demo_says_so(places, monkeypatch):
    monkeypatch.delenv(ENVIRONMENT)
    monkeypatch.setattr(locate, "_PACKAGE", places / "given")
    monkeypatch.chdir(places / "given")
    with pytest.raises(UnreadableError, match="demo catalogue is missing"):
        find_catalogue()
