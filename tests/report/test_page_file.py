"""Pages made from the code: written, in step, out of step, and wrong use."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.cli import reference as commands
from fitcheck.report import field_reference, json_reference, page_file
from fitcheck.report import reference as diagnostics


def test_writing_and_comparing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "docs" / "page.md"

    def run(*words: str) -> int:
        return page_file.write_or_compare("some.module", page, lambda: "# Größe\n", words)

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
    module, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    page = module.DOCUMENT
    monkeypatch.setattr(module, "DOCUMENT", tmp_path / page.name)

    assert module.main([]) == 1
    assert f"run python -m {module.__name__} --write" in capsys.readouterr().err
    assert f"python -m {module.__name__} --write" in page.read_text(encoding="utf-8")
    assert module.main(["--write"]) == 0
    assert (tmp_path / page.name).read_text(encoding="utf-8") == page.read_text(encoding="utf-8")
