"""Pages made from the code: written, in step, out of step, and wrong use."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.answers import reference as json_reference
from fitcheck.cli import reference as commands
from fitcheck.screens.reference import diagnostics
from fitcheck.screens.reference import fields as field_reference


def test_writing_and_comparing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "docs" / "page.md"

    def run(*words: str) -> int:
        return json_reference.write_or_compare("some.module", page, lambda: "# Größe\n", words)

    assert run() == 1
    assert f"{page} is out of step: run python -m some.module --write" in capsys.readouterr().err
    assert run("--write") == 0
    assert page.read_bytes() == "# Größe\n".encode()
    assert run() == 0
    page.write_text("old\n", encoding="utf-8")
    assert run() == 1
    assert run("--wrong") == 2
    assert run("--write", "--write") == 2
    assert page.read_text(encoding="utf-8") == "old\n"


@pytest.mark.parametrize("module", [commands, diagnostics, field_reference, json_reference])
def test_each_page_names_the_module_that_makes_it(
    module, capsys: pytest.CaptureFixture[str]
) -> None:
    # That the pages are in step is tested beside what they are made from.
    assert module.main(["--wrong"]) == 2
    assert f"usage: python -m {module.__name__} [--write]" in capsys.readouterr().err
    page = module.DOCUMENT.read_text(encoding="utf-8")
    assert f"python -m {module.__name__} --write" in page


def test_a_page_is_written_as_it_is_committed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    committed = field_reference.DOCUMENT
    monkeypatch.setattr(field_reference, "DOCUMENT", tmp_path / "fields.md")

    assert field_reference.main([]) == 1
    assert field_reference.main(["--write"]) == 0
    assert (tmp_path / "fields.md").read_bytes() == committed.read_bytes()
