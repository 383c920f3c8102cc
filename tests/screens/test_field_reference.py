"""docs/fields.md is in step with the models and names every field."""

from __future__ import annotations

import pytest

from fitcheck.model.kinds import KINDS
from fitcheck.screens.reference.fields import DOCUMENT, field_reference, main


def test_the_committed_page_is_in_step() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == field_reference()
    assert main([]) == 0


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_of_a_kind_is_told(kind: str) -> None:
    section = field_reference().split(f"## kind: {kind}\n", 1)[1].split("\n## kind:", 1)[0]
    for name, field in KINDS[kind].model_fields.items():
        assert f"`{name}`" in section
        assert (f"**`{name}`**" in section) == (field.is_required() and name != "supplier")
        assert field.description
        assert field.description.split(";")[0].split(".")[0] in section
