"""A catalogue of its own for each test, lists as text, and the whole way from one to the other."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.reading import SupplierList, read_list
from fitcheck.services.price_lists.writing import Edits, edits_of

ROOT = Path(__file__).parents[3]
LISTS = ROOT / "tests" / "data" / "lists"
DAY = dt.date(2026, 2, 3)
SUPPLIER = "kind: supplier\nrecords:\n  arrowgrass:\n    name: Arrowgrass\n"
HEAD = "Art. no.;Text;Teeth;Stage;Models;Wheel;Case;Price;Stock\n"


@dataclass
class Shop:
    """A copy of the demo catalogue with one more supplier, and the lists that come to it."""

    place: Path
    supplier: str = "arrowgrass"
    untouched: tuple[Path, dict[str, bytes], Catalogue] | None = None
    """The files as every test finds them, where they are, and as read once for all tests."""
    _read: tuple[dict[str, bytes], Catalogue] | None = field(default=None, init=False)

    @cached_property
    def root(self) -> Path:
        """Its files, copied once somebody asks for them: before, nobody can have changed any."""
        if self.untouched is not None:
            shutil.copytree(self.untouched[0], self.place)
        return self.place

    @property
    def _as_found(self) -> bool:
        """Whether all files are as every test finds them."""
        if self.untouched is None:
            return False
        return "root" not in self.__dict__ or self.files() == self.untouched[1]

    @property
    def catalogue(self) -> Catalogue:
        """What is on disk; read again where a file is another than before."""
        files = self.files()
        if self._read is None or self._read[0] != files:
            self._read = files, load(self.root)
        return self._read[1]

    def put(self, name: str, text: str, encoding: str = "utf-8") -> Path:
        path = self.place.parent / name
        path.write_bytes(text.encode(encoding))
        return path

    def read(self, text: str | Path) -> SupplierList:
        return read_list(self.put("list.csv", text) if isinstance(text, str) else text)

    def plan(
        self,
        text: str | Path,
        answers: Mapping[str, str] | None = None,
        name: str | None = None,
        day: dt.date = DAY,
    ) -> Plan:
        """The plan of a list; its rows add up."""
        catalogue = self.untouched[2] if self.untouched and self._as_found else self.catalogue
        read = self.read(text)
        entry = catalogue.suppliers[self.supplier]
        plan = plan_list(catalogue, read, entry, list_name=name, date=day, answers=answers)
        plan.proof(read.row_count)
        return plan

    def rows(self, *lines: str, answers: Mapping[str, str] | None = None) -> list[RowOutcome]:
        """What becomes of article rows below a header of all fields."""
        return list(self.plan(HEAD + "\n".join(lines) + "\n", answers).rows[1:])

    def row(self, line: str, answers: Mapping[str, str] | None = None) -> RowOutcome:
        (only,) = self.rows(line, answers=answers)
        return only

    def edits(self, plan: Plan, *, mapping: bool = False) -> Edits:
        return edits_of(self.catalogue, plan, mapping=mapping)

    def write(self, plan: Plan, *, mapping: bool = False) -> list[str]:
        return self.edits(plan, mapping=mapping).save()

    def files(self) -> dict[str, bytes]:
        """Every catalogue file and its bytes."""
        return files_in(self.root)


def files_in(root: Path) -> dict[str, bytes]:
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for path in sorted(root.rglob("*.yaml"))
    }


def summary(rows: Sequence[RowOutcome]) -> list[tuple[str, str]]:
    return [(row.part_number, row.outcome) for row in rows]


@pytest.fixture(scope="session")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    root = tmp_path_factory.mktemp("untouched") / "shop"
    shutil.copytree(ROOT / "catalog", root)
    (root / "suppliers" / "arrowgrass.yaml").write_text(SUPPLIER, encoding="utf-8")
    return Shop(root.with_name("copy"), untouched=(root, files_in(root), load(root)))


@pytest.fixture
def shop(tmp_path: Path, untouched: Shop) -> Shop:
    return Shop(tmp_path / "shop", untouched=untouched.untouched)
