"""A hook that looks at a catalogue must not pass for having looked at the demo."""

from __future__ import annotations

import pytest

from fitcheck.diagnostics.examples import explanations


def test_without_a_catalogue_the_demo_is_checked_unless_refused(run, tmp_path):
    assert run("check", cwd=tmp_path).code == 0
    refused = run("check", "--no-demo", cwd=tmp_path)
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.count("\n") == 1
    assert "no catalogue here or above" in refused.err


def test_an_empty_folder_is_no_catalogue(run, tmp_path):
    (tmp_path / "catalog").mkdir()
    assert run("check", "--no-demo", cwd=tmp_path).code == 2


def test_a_catalogue_that_is_there_is_checked(run, tmp_path):
    folder = tmp_path / "catalog"
    folder.mkdir()
    (folder / "tunes.yaml").write_text(
        "kind: tune\nrecords:\n  stock: {name: standard engine, low: 10, high: 15}\n",
        encoding="utf-8",
    )
    assert run("check", "--no-demo", cwd=tmp_path).code == 0


@pytest.mark.parametrize(
    "words", [["check"], ["identify", "15/45"], ["shelf", "receive", "nothing", "1"]]
)
def test_an_empty_folder_that_is_passed_over_is_told(words, run, tmp_path):
    (tmp_path / "catalog").mkdir()
    (tmp_path / "catalog" / "tunes.yaml").write_text(
        "kind: tune\nrecords:\n  stock: {name: standard engine, low: 10, high: 15}\n",
        encoding="utf-8",
    )
    (tmp_path / "shop" / "catalog").mkdir(parents=True)
    told = "catalog holds no YAML file, so ../catalog is used; --catalog names another"
    assert told in run(*words, cwd=tmp_path / "shop").err
    assert "holds no YAML file" not in run(*words, cwd=tmp_path).err


@pytest.mark.parametrize("code", ["FC001", "FC003", "FC212", "FC307"])
def test_a_code_is_explained_with_both_examples(code, run):
    told = explanations()[code]
    result = run("explain", code.lower())
    assert result.code == 0
    head, title, why = result.out.split("\n\n")[:3]
    assert head == f"{told.code.severity} {code} {told.code.name}"
    assert (title, why) == (told.title, told.why)
    wrong, right = result.out.split("\nRight:\n")
    assert "\nWrong:\n" in wrong
    assert all(f"    {name}\n" in wrong for name in told.bad)
    assert all(f"    {name}\n" in right for name in told.good)
    assert run("check", "--explain", code) == result, "as it was asked for at first"


def test_a_code_that_is_none_is_refused(run):
    result = run("explain", "FC999")
    assert result.code == 2
    assert "there is no code 'FC999'" in result.err
